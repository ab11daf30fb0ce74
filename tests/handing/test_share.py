"""What is handed on opens elsewhere, says what it is, and hides what it must."""

import json
import sqlite3
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import gpxpy
import numpy as np
import numpy.testing as npt
import pyogrio
import pytest
import rasterio
from shapely import from_wkb, get_coordinates
from shapely.geometry import shape

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import Merge, Split, trace_streaks
from pennyweight.errors import CallError, TooLittleError
from pennyweight.exchange.coordinates import MapGrid, open_grid
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.handing import fieldraster as fieldraster_module
from pennyweight.handing import layers as layers_module
from pennyweight.handing.blurring import blur_log
from pennyweight.handing.geopackage import make_geopackage
from pennyweight.handing.globe import right_handed
from pennyweight.handing.layers import MapFeature, MapLayer, gather_layers
from pennyweight.handing.share import BLURRED, TRUE, share_record
from pennyweight.records import Dig, Ground, Log

SECRETS = ("Hidden", "Secretsmith", "Nowhereville", "2026-07", "9QX", "Zzyx")
ENDINGS = (".zip", ".gpkg", ".geojson", ".kml", ".gpx", ".tif")
KML = "{http://www.opengis.net/kml/2.2}"
TENTH_MILLIMETER = 1e-4
CENTIMETER = 0.01

Sharing = Callable[..., Path]


@pytest.fixture(scope="module")
def shared(
    reading: Reading, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str], Path]:
    """Share the ground truly, each ending once."""
    folder = tmp_path_factory.mktemp("true")

    def share(ending: str) -> Path:
        path = folder / f"creek{ending}"
        if not path.exists():
            share_record(reading, path)
        return path

    return share


@pytest.fixture(scope="module")
def blurred(
    reading: Reading, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str], Path]:
    """Share the ground blurred, each ending once."""
    folder = tmp_path_factory.mktemp("blurred")
    # Blurred once, so that it is answered once.
    kept = Reading(
        book=BookName(name="Blurred record", id=""),
        revision="",
        log=blur_log(reading.log),
        made_at="",
    )

    def share(ending: str) -> Path:
        path = folder / f"creek{ending}"
        if not path.exists():
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr("pennyweight.handing.share._blurred", lambda _: kept)
                share_record(reading, path, public=True)
        return path

    return share


def test_the_blurred_reading_has_nothing_of_the_true_one(
    reading: Reading, tmp_path: Path
) -> None:
    """Without the patch of the fixture: names and dates are gone from a KML."""
    path = tmp_path / "x.kml"
    few = replace(reading.log, samples=(), tallies=(), weighings=(), grains=())
    share_record(replace(reading, log=few, _kept={}), path, public=True)
    found = [secret for secret in SECRETS if secret in path.read_text()]
    assert found == []


def bare_reading(log: Log) -> Reading:
    """Return a reading of a record of one's own."""
    book = BookName(name="b", id="b")
    return Reading(book=book, revision="1", log=log, made_at="")


def true_places(reading: Reading) -> Any:
    """Return easting and northing of all digs."""
    places = [(dig.easting_m, dig.northing_m) for dig in reading.log.digs]
    return np.array(places, dtype=np.float64)


def table(path: Path, name: str) -> tuple[Any, dict[str, list[Any]]]:
    """Return geometries and columns of a layer as GDAL reads them."""
    meta, _, geometry, columns = pyogrio.raw.read(path, layer=name)
    names = [str(field) for field in meta["fields"]]
    return geometry, dict(zip(names, (list(one) for one in columns), strict=True))


def test_a_geopackage_opens_in_gdal_with_its_layers_and_system(
    shared: Sharing,
) -> None:
    found = {str(name): kind for name, kind in pyogrio.list_layers(shared(".gpkg"))}
    assert found["digs"] == "Point"
    assert found["streaks"] == "LineString"
    assert found["cut"] == "Polygon"
    assert {"lines", "samples", "crossings", "next_digs", "about"} <= set(found)
    assert pyogrio.read_info(shared(".gpkg"), layer="digs")["crs"] == "EPSG:32633"


def test_digs_lie_where_they_lie_with_what_is_known(
    shared: Sharing, reading: Reading
) -> None:
    geometry, columns = table(shared(".gpkg"), "digs")
    npt.assert_allclose(
        get_coordinates(from_wkb(geometry)),
        true_places(reading),
        atol=TENTH_MILLIMETER,
    )
    assert columns["dig"][0] == "Hidden A1"
    assert columns["bottom_m"][0] == 1.2
    assert columns["grade_p50_mg_m3"][1] > columns["grade_p50_mg_m3"][0]


def test_samples_carry_grades_and_reliability(shared: Sharing) -> None:
    geometry, columns = table(shared(".gpkg"), "samples")
    assert len(geometry) == 12
    low, high = columns["grade_p10_mg_m3"], columns["grade_p90_mg_m3"]
    assert all(p10 < p90 for p10, p90 in zip(low, high, strict=True))
    assert set(columns["reliability"]) <= {"good", "fair", "poor", "none"}


def test_a_geopackage_says_what_its_reader_must_know(shared: Sharing) -> None:
    with sqlite3.connect(shared(".gpkg")) as connection:
        says = dict(connection.execute("SELECT about, says FROM about"))
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        sound = connection.execute("PRAGMA integrity_check").fetchone()[0]
        keys = connection.execute("PRAGMA foreign_key_check").fetchall()
    connection.close()
    assert says["place"] == TRUE
    assert "not a mineral resource or reserve" in says["meaning"]
    assert any(key.startswith("assumed ") for key in says)
    assert (version, sound, keys) == (10201, "ok", [])


def test_a_system_without_a_number_is_written_out(tmp_path: Path) -> None:
    grid = MapGrid("+proj=tmerc +lat_0=46 +lon_0=14.5 +datum=WGS84 +units=us-ft")
    point = MapFeature("A", (np.array([[3.048006096, 0.0]]),), {"n": 1, "x": None})
    path = tmp_path / "own.gpkg"
    path.write_bytes(
        make_geopackage([MapLayer("digs", "Digs", "point", (point,))], grid, [])
    )
    geometry, columns = table(path, "digs")
    npt.assert_allclose(get_coordinates(from_wkb(geometry)), [[10.0, 0.0]], atol=1e-6)
    assert columns["n"] == [1]
    assert "Transverse_Mercator" in str(pyogrio.read_info(path, layer="digs")["crs"])


def test_geojson_is_in_degrees_and_right_handed(
    shared: Sharing, reading: Reading
) -> None:
    data = json.loads(shared(".geojson").read_bytes())
    digs = [one for one in data["features"] if one["properties"]["layer"] == "digs"]
    east, north = open_grid("EPSG:32633").to_grid(
        *np.transpose([one["geometry"]["coordinates"] for one in digs])
    )
    npt.assert_allclose(
        np.column_stack([east, north]),
        true_places(reading),
        atol=2 * CENTIMETER,
    )
    areas = [one for one in data["features"] if one["geometry"]["type"] == "Polygon"]
    assert len(areas) >= 4
    for area in areas:
        outer = shape(area["geometry"]).exterior
        assert outer.is_ccw
        assert outer.is_closed
    assert "crs" not in data


def test_geojson_reads_in_gdal(shared: Sharing) -> None:
    info = pyogrio.read_info(shared(".geojson"))
    assert info["crs"] == "EPSG:4326"
    assert info["features"] > 30


def test_kml_is_well_formed_and_has_a_folder_a_layer(shared: Sharing) -> None:
    root = ElementTree.parse(shared(".kml")).getroot()  # noqa: S314 - our own file
    folders = [one.findtext(f"{KML}name") for one in root.iter(f"{KML}Folder")]
    assert folders[:2] == ["Digs", "Lines of digs"]
    marks = list(root.iter(f"{KML}Placemark"))
    first = marks[0].find(f"{KML}Point/{KML}coordinates")
    assert first is not None
    longitude, latitude = (float(one) for one in (first.text or "").split(","))
    assert (longitude, latitude) == pytest.approx((14.5, 46.05), abs=0.01)
    assert TRUE in (root.findtext(f".//{KML}description") or "")


def test_gpx_holds_digs_to_walk_to_and_streaks_to_walk_along(shared: Sharing) -> None:
    found = gpxpy.parse(shared(".gpx").read_bytes())
    names = [one.name for one in found.waypoints]
    assert "Hidden A1" in names
    assert "Next 1" in names
    assert any(track.name == "Streak A" for track in found.tracks)
    assert "grade_p50_mg_m3" in str(found.waypoints[0].description)


def test_the_raster_holds_accumulation_and_chance_on_the_grounds_grid(
    shared: Sharing, reading: Reading
) -> None:
    with rasterio.open(shared(".tif")) as raster:
        assert raster.crs.to_epsg() == 32633
        assert "median accumulation" in raster.descriptions[0]
        median, chance = raster.read()
        rich = next(iter(raster.sample([(461315.0, 5099708.0)])))
        poor = next(iter(raster.sample([(461315.0, 5099704.5)])))
    assert np.nanmin(chance) >= 0.0
    assert np.nanmax(chance) <= 1.0
    assert np.isnan(median).any()
    assert rich[0] > poor[0] > 0.0
    assert trace_streaks(reading).fields


def test_a_field_log_is_handed_on_without_loss(
    reading: Reading, tmp_path: Path
) -> None:
    plain = Log(ground=reading.log.ground, waypoints=reading.log.waypoints)
    path = tmp_path / "log"
    summary = share_record(bare_reading(plain), path)
    assert read_fieldlog(path).log == plain
    assert summary.counts == {"waypoints": 1}
    assert str(summary) == f"{TRUE} It holds: waypoints 1."


@pytest.mark.parametrize("ending", ENDINGS)
def test_nothing_blurred_holds_a_name_or_a_date(blurred: Sharing, ending: str) -> None:
    path = blurred(ending)
    content = path.read_bytes()
    if ending == ".zip":
        with zipfile.ZipFile(path) as archive:
            content = b"".join(archive.read(name) for name in archive.namelist())
    found = [secret for secret in SECRETS if secret.encode() in content]
    assert found == []


def test_nothing_blurred_lies_where_the_ground_does(blurred: Sharing) -> None:
    digs = table(blurred(".gpkg"), "digs")[0]
    assert get_coordinates(from_wkb(digs)).min() == 0.0
    assert get_coordinates(from_wkb(digs)).max() < 60.0
    assert "EPSG" not in str(pyogrio.read_info(blurred(".gpkg"), layer="digs")["crs"])
    data = json.loads(blurred(".geojson").read_bytes())
    for one in data["features"]:
        assert np.abs(get_coordinates(shape(one["geometry"]))).max() < 0.01
    with rasterio.open(blurred(".tif")) as raster:
        assert raster.crs is None
        assert abs(raster.bounds.left) < 100.0
    point = gpxpy.parse(blurred(".gpx").read_bytes()).waypoints[0]
    assert abs(point.latitude) < 0.01


def test_a_blurred_file_says_so(blurred: Sharing) -> None:
    with sqlite3.connect(blurred(".gpkg")) as connection:
        says = dict(connection.execute("SELECT about, says FROM about"))
    connection.close()
    assert says["place"] == BLURRED
    assert {"ground", "made at"}.isdisjoint(says)


def test_a_blurred_log_reads_as_a_log(blurred: Sharing) -> None:
    log = read_fieldlog(blurred(".zip")).log
    assert (len(log.digs), len(log.samples), log.ground.crs) == (12, 12, None)


def test_what_could_not_be_answered_is_told(reading: Reading, tmp_path: Path) -> None:
    summary = share_record(reading, tmp_path / "x.gpkg", public=True)
    assert any(one.startswith("cut: ") for one in summary.left_out)
    assert "Left out: cut" in str(summary)
    assert "cut" not in summary.counts


def test_merges_and_splits_lie_on_the_map(
    reading: Reading, monkeypatch: pytest.MonkeyPatch
) -> None:
    trace = trace_streaks(reading)
    place = {"s_m": 1.0, "easting_m": 2.0, "northing_m": 3.0, "probability": 0.5}
    changed = replace(
        trace,
        merges=(Merge(from_=("A", "B"), into="C", **place),),
        splits=(Split(from_="C", into=("D", "E"), **place),),
    )
    monkeypatch.setattr(layers_module, "trace_streaks", lambda _reading: changed)
    found = {one.name: one for one in gather_layers(reading).layers}["merges"]
    assert [(one.name, one.values["kind"]) for one in found.features] == [
        ("A+B into C", "merge"),
        ("C into D+E", "split"),
    ]


def test_an_answer_that_cannot_be_given_leaves_its_layers_out(
    reading: Reading, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(one: Reading) -> None:
        msg = f"{len(one.log.samples)} samples are too few"
        raise TooLittleError(msg)

    monkeypatch.setattr(layers_module, "trace_streaks", refuse)
    content = gather_layers(reading)
    assert "streaks" not in {one.name for one in content.layers}
    assert content.left_out == ("streaks: 12 samples are too few",)


def test_a_streak_of_one_line_is_a_point(
    reading: Reading, monkeypatch: pytest.MonkeyPatch
) -> None:
    trace = trace_streaks(reading)
    (streak, *_) = trace.streaks
    alone = replace(streak, path=(replace(streak.path[0], line=None),))
    changed = replace(trace, streaks=(alone,))
    monkeypatch.setattr(layers_module, "trace_streaks", lambda _reading: changed)
    found = {one.name: one for one in gather_layers(reading).layers}
    assert "streaks" not in found
    assert found["crossings"].features[0].name == f"Streak {streak.id} at its line"


def test_a_field_of_one_row_gives_a_raster_of_nothing(
    reading: Reading, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    trace = trace_streaks(reading)
    field = trace.fields[0]
    thin = replace(
        field,
        n_m=field.n_m[:1],
        accumulation_mg_m2=field.accumulation_mg_m2[:, :, :1],
        probability_above=field.probability_above[:, :1],
        sampled=np.zeros_like(field.sampled[:, :1]),
    )
    changed = replace(trace, fields=(thin,))
    monkeypatch.setattr(fieldraster_module, "trace_streaks", lambda _reading: changed)
    path = share_record(reading, tmp_path / "x.tif").path
    with rasterio.open(path) as raster:
        assert np.isnan(raster.read(1)).all()


def test_samples_of_a_dig_without_a_place_stay_off_the_map(reading: Reading) -> None:
    digs = [replace(reading.log.digs[0], easting_m=None), *reading.log.digs[1:]]
    lost = replace(reading, log=replace(reading.log, digs=tuple(digs)), _kept={})
    found = {one.name: len(one.features) for one in gather_layers(lost).layers}
    assert (found["digs"], found["samples"]) == (11, 11)


@pytest.mark.parametrize("ending", [".geojson", ".kml", ".gpx"])
def test_degrees_need_a_system(placeless: Reading, tmp_path: Path, ending: str) -> None:
    with pytest.raises(CallError, match=r"no coordinate system.*share as \.gpkg"):
        share_record(placeless, tmp_path / f"x{ending}")
    assert list(tmp_path.iterdir()) == []


def test_a_ground_on_a_grid_of_its_own_goes_into_a_geopackage(
    placeless: Reading, tmp_path: Path
) -> None:
    share_record(placeless, tmp_path / "x.gpkg")
    geometry, columns = table(tmp_path / "x.gpkg", "cut")
    assert len(geometry) >= 1
    assert columns["currency"][0] == "USD"


def test_an_empty_record_is_handed_on_as_such(tmp_path: Path) -> None:
    summary = share_record(bare_reading(Log()), tmp_path / "x.zip")
    assert (str(summary), summary.kind) == (TRUE, "field log")


def test_an_unknown_ending_is_a_wrong_call(reading: Reading, tmp_path: Path) -> None:
    with pytest.raises(CallError, match=r"x\.shp ends in \.shp"):
        share_record(reading, tmp_path / "x.shp")


def test_a_record_without_samples_has_its_digs_but_no_raster(tmp_path: Path) -> None:
    dig = Dig(dig="T1", easting_m=461300.0, northing_m=5099700.0)
    lost = Dig(dig="T2")
    log = Log(ground=Ground(crs="EPSG:32633"), digs=(dig, lost))
    bare = bare_reading(log)
    assert share_record(bare, tmp_path / "x.gpkg").counts["digs"] == 1
    with pytest.raises(TooLittleError):
        share_record(bare, tmp_path / "x.tif")


def test_rings_are_closed_and_turned_the_right_way() -> None:
    square = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]])
    outer = right_handed(square, outer=True)
    npt.assert_array_equal(outer[0], outer[-1])
    npt.assert_array_equal(outer[1], [1.0, 1.0])
    npt.assert_array_equal(right_handed(outer, outer=False)[1], [0.0, 1.0])
