"""Elevation models onto the ground's grid; sheets told from heights."""

from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
import rasterio
from rasterio.crs import CRS
from rasterio.io import MemoryFile
from rasterio.transform import Affine

from pennyweight.errors import RefusedError
from pennyweight.exchange import rasters
from pennyweight.exchange.coordinates import open_grid
from pennyweight.exchange.rasters import (
    read_elevation,
    read_facts,
    read_mosaic,
    write_raster,
)

UTM33 = "EPSG:32633"
TEN_METERS = Affine(10, 0, 500000, 0, -10, 5100000)
SLOPE = 300.0 + np.arange(12.0).reshape(3, 4)
ASCII = (
    "ncols 4\nnrows 3\nxllcorner {x}\nyllcorner {y}\ncellsize {cell}\n"
    "NODATA_value -9999\n{rows}\n"
)


def tiff(
    values: Any = SLOPE,
    *,
    crs: Any = UTM33,
    transform: Affine = TEN_METERS,
    unit: str = "",
    scale: tuple[float, float] = (1.0, 0.0),
    **profile: Any,
) -> bytes:
    """Return a small GeoTIFF."""
    array = np.asarray(values)
    array = array if array.ndim == 3 else array[None]
    options = {"dtype": array.dtype, "nodata": None, **profile}
    with rasters._quiet(), MemoryFile() as memory:  # noqa: SLF001 - the same silence
        with rasterio.open(
            memory.name,
            "w",
            driver="GTiff",
            count=array.shape[0],
            height=array.shape[1],
            width=array.shape[2],
            crs=crs,
            transform=transform,
            **options,
        ) as raster:
            raster.write(array)
            raster.scales, raster.offsets = [[one] * len(array) for one in scale]
            if unit:
                raster.set_band_unit(1, unit)
        return bytes(memory.read())


def refusal_of(read: Any, *given: Any, **options: Any) -> Any:
    with pytest.raises(RefusedError) as refused:
        read(*given, **options)
    return refused.value.refusals[0]


def test_a_model_on_the_grounds_own_grid_is_not_resampled() -> None:
    model = read_elevation(tiff(), UTM33)
    npt.assert_array_equal(model.elevation_m, SLOPE)
    assert (model.west_m, model.north_m, model.cell_m) == (500000.0, 5100000.0, 10.0)


def test_unknown_cells_are_nan_whether_declared_or_impossible() -> None:
    values = SLOPE.copy()
    values[0, 0], values[1, 1], values[2, 2] = 0.0, -9999.0, 3.4e38
    model = read_elevation(tiff(values, nodata=0.0), UTM33)
    assert np.isnan(model.elevation_m).sum() == 3


def test_heights_in_feet_become_meters() -> None:
    model = read_elevation(tiff(SLOPE, unit="ft"), UTM33)
    npt.assert_allclose(model.elevation_m, SLOPE * 0.3048, rtol=1e-12)
    assert read_facts(tiff(SLOPE, unit="US survey foot"), "x.tif").in_feet


def test_a_compound_system_tells_feet_by_its_height_part() -> None:
    """NAD83 / UTM 10N with NAVD88 heights in US survey feet."""
    feet = tiff(SLOPE, crs=CRS.from_string("EPSG:26910+6360"))
    meters = tiff(SLOPE, crs=CRS.from_string("EPSG:26910+5703"))
    assert read_facts(feet, "x.tif").in_feet
    assert not read_facts(meters, "x.tif").in_feet


def test_scale_and_offset_of_a_band_are_applied() -> None:
    content = tiff(np.full((3, 4), 100, dtype=np.int16), scale=(0.5, 200.0))
    assert read_elevation(content, UTM33).elevation_m[0, 0] == 250.0


def test_only_the_region_wanted_is_kept_in_whole_cells() -> None:
    region = (500012.0, 500028.0, 5099972.0, 5099988.0)
    model = read_elevation(tiff(), UTM33, region=region)
    assert model.region == (500010.0, 500030.0, 5099970.0, 5099990.0)
    npt.assert_array_equal(model.elevation_m, SLOPE[1:3, 1:3])


def test_a_model_that_misses_the_region_is_refused() -> None:
    refusal = refusal_of(read_elevation, tiff(), UTM33, region=(0.0, 9.0, 0.0, 9.0))
    assert "that covers (0.0, 9.0, 0.0, 9.0)" in refusal.expected


def test_a_large_model_is_coarsened_by_averages() -> None:
    plane = np.add.outer(np.arange(40.0), np.arange(40.0)) + 100.0
    model = read_elevation(tiff(plane), UTM33, most_cells=100)
    assert model.elevation_m.shape == (10, 10)
    assert model.cell_m == pytest.approx(40.0)
    assert np.nanmean(model.elevation_m) == pytest.approx(plane.mean(), abs=1e-6)


def test_a_model_in_another_zone_is_warped_to_the_ground() -> None:
    """A plane rising 1 m per 100 m eastward must keep its height at a known place."""
    east = 500000.0 + 10.0 * (np.arange(200) + 0.5)
    plane = np.broadcast_to(300.0 + (east - 500000.0) / 100.0, (200, 200))
    model = read_elevation(tiff(np.array(plane)), "EPSG:32632")
    x, y = open_grid("EPSG:32632").to_grid(
        *open_grid(UTM33).to_globe(501000.0, 5099000.0)
    )
    column = int((float(x) - model.west_m) / model.cell_m)
    row = int((model.north_m - float(y)) / model.cell_m)
    assert model.elevation_m[row, column] == pytest.approx(310.0, abs=0.2)
    assert np.isnan(model.elevation_m).any()


def test_a_ground_that_counts_feet_gets_its_model_in_meters() -> None:
    """A cell of 10 US survey feet is 3.048006 m."""
    content = tiff(crs="EPSG:2230", transform=Affine(10, 0, 6.5e6, 0, -10, 1.9e6))
    model = read_elevation(content, "EPSG:2230")
    assert model.cell_m == pytest.approx(12000 / 3937, rel=1e-9)
    assert model.west_m == pytest.approx(6.5e6 * 1200 / 3937, rel=1e-12)


def test_a_turned_raster_is_put_north_up() -> None:
    turned = Affine.translation(500000, 5100000) @ Affine.rotation(-30)
    content = tiff(np.full((40, 40), 250.0), transform=turned @ Affine.scale(10, -10))
    model = read_elevation(content, UTM33)
    assert np.nanmax(model.elevation_m) == pytest.approx(250.0)
    assert np.isnan(model.elevation_m[0, 0])


def test_an_ascii_grid_in_degrees_is_known_by_its_numbers() -> None:
    text = ASCII.format(x=14.5, y=46.05, cell=0.001, rows="300 301 302 303\n" * 3)
    facts = read_facts(text.encode(), "dem.asc")
    assert facts.crs is None
    assert facts.degrees == pytest.approx((14.5, 14.504, 46.05, 46.053))
    model = read_elevation(text.encode(), UTM33)
    assert 460000 < model.west_m < 462000


def test_an_ascii_grid_in_meters_is_taken_to_lie_on_the_grounds_grid() -> None:
    text = ASCII.format(x=500000, y=5100000, cell=10, rows="300 301 302 -9999\n" * 3)
    assert read_facts(text.encode(), "dem.asc").degrees is None
    model = read_elevation(text.encode(), UTM33)
    assert model.region == (500000.0, 500040.0, 5100000.0, 5100030.0)
    assert np.isnan(model.elevation_m[:, 3]).all()


def test_without_any_system_a_model_stays_where_it_lies() -> None:
    text = ASCII.format(x=1000, y=2000, cell=5, rows="300 301 302 303\n" * 3)
    assert read_elevation(text.encode(), None).west_m == 1000.0
    coarse = read_elevation(text.encode(), None, most_cells=4)
    assert coarse.elevation_m.size <= 4


def test_degrees_need_a_ground_with_a_system() -> None:
    text = ASCII.format(x=14.5, y=46.05, cell=0.001, rows="300 301 302 303\n" * 3)
    refusal = refusal_of(read_elevation, text.encode(), None)
    assert refusal.found == "an elevation model in degrees"


@pytest.mark.parametrize(
    ("values", "kind"),
    [
        (SLOPE.astype("float32"), "elevation"),
        (SLOPE.astype("int16"), "elevation"),
        (np.zeros((3, 8, 8), dtype="uint8"), "sheet"),
        (np.zeros((8, 8), dtype="uint8"), "sheet"),
    ],
)
def test_sheets_are_told_from_heights(values: Any, kind: str) -> None:
    assert read_facts(tiff(values), "x.tif").kind == kind


def test_a_file_falls_where_its_own_system_says() -> None:
    """A wrong zone in the header is seen by where the file falls."""
    right = read_facts(tiff(crs="EPSG:32610"), "x.tif").degrees
    wrong = read_facts(tiff(crs="EPSG:32611"), "x.tif").degrees
    assert right is not None
    assert wrong is not None
    assert wrong[0] - right[0] == pytest.approx(6.0, abs=1e-6)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"no raster",
        tiff()[:100],
        b'<VRTDataset rasterXSize="1" rasterYSize="1"></VRTDataset>',
    ],
)
def test_what_is_no_raster_is_refused(content: bytes) -> None:
    refusal = refusal_of(read_facts, content, "x.tif")
    assert refusal.file == "x.tif"
    assert "save it again from its source" in refusal.expected


def test_a_system_that_lies_nowhere_on_earth_is_refused() -> None:
    plane = 'LOCAL_CS["mine",UNIT["meter",1],AXIS["E",EAST],AXIS["N",NORTH]]'
    refusal = refusal_of(read_facts, tiff(crs=CRS.from_wkt(plane)), "x.tif")
    assert "save it again from its source" in refusal.expected


def test_an_absurdly_large_raster_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rasters, "MOST_CELLS", 11)
    assert refusal_of(read_facts, tiff(), "x.tif").found == "4 x 3 cells"


def test_bands_are_written_with_their_names_and_place() -> None:
    bands = {"median": SLOPE, "chance": np.where(SLOPE > 305, np.nan, 0.5)}
    content = write_raster(
        bands, west_m=500000.0, north_m=5100000.0, cell_m=2.0, crs=UTM33
    )
    with MemoryFile(content) as memory, rasterio.open(memory.name) as raster:
        assert raster.descriptions == ("median", "chance")
        assert raster.crs.to_epsg() == 32633
        assert tuple(raster.bounds) == (500000.0, 5099994.0, 500008.0, 5100000.0)
        npt.assert_allclose(raster.read(1), SLOPE)
        assert np.isnan(raster.read(2)[2, 3])


def test_a_raster_without_a_system_is_written_without_one() -> None:
    content = write_raster(
        {"median": SLOPE}, west_m=0.0, north_m=30.0, cell_m=10.0, crs=None
    )
    assert read_facts(content, "x.tif").crs is None


def test_what_was_written_reads_back_as_the_same_model() -> None:
    content = write_raster(
        {"heights": SLOPE}, west_m=500000.0, north_m=5.1e6, cell_m=10.0, crs=UTM33
    )
    npt.assert_allclose(read_elevation(content, UTM33).elevation_m, SLOPE)


def test_tiles_side_by_side_are_one_model() -> None:
    """The second tile begins 40 m further east, where the first ends."""
    east = Affine(10, 0, 500040, 0, -10, 5100000)
    model = read_mosaic(
        [("a.tif", tiff()), ("b.tif", tiff(SLOPE + 100.0, transform=east))], UTM33
    )
    npt.assert_array_equal(model.elevation_m, np.hstack([SLOPE, SLOPE + 100.0]))
    assert model.region == (500000.0, 500080.0, 5099970.0, 5100000.0)


def test_where_tiles_overlap_the_finer_one_gives_the_height() -> None:
    coarse = tiff(np.full((2, 2), 50.0), transform=Affine(30, 0, 500000, 0, -30, 5.1e6))
    model = read_mosaic([("coarse.tif", coarse), ("fine.tif", tiff())], UTM33)
    assert model.cell_m == 10.0
    npt.assert_array_equal(model.elevation_m[:3, :4], SLOPE)
    npt.assert_allclose(model.elevation_m[3:, :], 50.0)


def test_a_hole_of_one_tile_is_filled_by_another() -> None:
    holed = SLOPE.copy()
    holed[1, 1] = -9999.0
    tiles = [("a.tif", tiff(holed, nodata=-9999.0)), ("b.tif", tiff(SLOPE + 1.0))]
    model = read_mosaic(tiles, UTM33)
    assert model.elevation_m[1, 1] == SLOPE[1, 1] + 1.0
    assert model.elevation_m[0, 0] == SLOPE[0, 0]


def test_tiles_of_different_systems_meet_on_the_grid_of_the_ground() -> None:
    """A tile in zone 34 beside one in zone 33; both slope by the same plane."""
    other = read_elevation(tiff(np.full((40, 40), 7.0)), "EPSG:32634")
    west = read_mosaic(
        [
            ("a.tif", tiff(np.full((20, 20), 7.0))),
            (
                "b.tif",
                write_raster(
                    {"elevation_m": other.elevation_m},
                    west_m=other.west_m,
                    north_m=other.north_m,
                    cell_m=other.cell_m,
                    crs="EPSG:32634",
                ),
            ),
        ],
        UTM33,
    )
    assert np.nanmin(west.elevation_m) == pytest.approx(7.0)
    assert np.nanmax(west.elevation_m) == pytest.approx(7.0)
    assert np.isfinite(west.elevation_m).sum() > 1000


def test_far_cells_are_given_up_before_near_ones_are_coarsened() -> None:
    """Of 10,000 cells 400 may be kept: 20 by 20 around the ground, still 10 m."""
    heights = np.arange(10000.0).reshape(100, 100)
    middle = (500500.0, 500510.0, 5099500.0, 5099510.0)
    model = read_mosaic(
        [("a.tif", tiff(heights))], UTM33, around=middle, most_cells=400
    )
    assert model.cell_m == pytest.approx(10.0, rel=0.06)
    assert model.elevation_m.size <= 441
    west, east, south, north = model.region
    assert west <= 500500
    assert east >= 500510
    assert south <= 5099500
    assert north >= 5099510


def test_the_user_says_what_the_heights_are() -> None:
    """100 ft are 30.48 m, whatever the file says."""
    as_feet = read_mosaic([("a.tif", tiff(np.full((2, 2), 100.0)))], UTM33, unit="ft")
    npt.assert_allclose(as_feet.elevation_m, 30.48)
    meters = tiff(np.full((2, 2), 100.0), unit="ft")
    as_meters = read_mosaic([("a.tif", meters)], UTM33, unit="m")
    npt.assert_allclose(as_meters.elevation_m, 100.0)


def test_a_tile_named_by_its_corner_is_read_where_its_name_says() -> None:
    """An HGT of three seconds: 1201 x 1201 heights, big-endian, named N45E014."""
    heights = np.full((1201, 1201), 321, dtype=">i2").tobytes()
    facts = read_facts(heights, "N45E014.hgt")
    assert facts.kind == "elevation"
    assert facts.degrees == pytest.approx((14.0, 15.0, 45.0, 46.0), abs=0.001)


def test_a_surfer_grid_is_read() -> None:
    """DSAA: columns, rows, west to east, south to north, lowest and highest height."""
    text = "DSAA\n3 2\n500005 500025\n5099985 5099995\n1 6\n1 2 3\n4 5 6\n"
    model = read_mosaic([("a.grd", text.encode())], UTM33)
    # Its first row is the southern one.
    npt.assert_allclose(model.elevation_m, [[4.0, 5.0, 6.0], [1.0, 2.0, 3.0]])


def test_a_raster_cut_short_is_refused() -> None:
    """Its last row of cells is not there."""
    grid = ASCII.format(x=500000, y=5099970, cell=10, rows="1 2 3 4\n5 6 7 8\n9 10")
    with pytest.raises(RefusedError, match="that is whole"):
        read_facts(grid.encode(), "h.asc")
