"""The frame of a ground: centerline, places, lines in order downstream."""

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
from pyproj import Transformer

from pennyweight.answers import frame
from pennyweight.answers.answer import BookName
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.reading import Reading
from pennyweight.exchange.rasters import write_raster
from pennyweight.records import (
    Attachment,
    Dig,
    Feature,
    Ground,
    Log,
    Sample,
    Tally,
)

CRS = "EPSG:32610"
EAST_0, NORTH_0 = 500_000.0, 5_400_000.0


def read(log: Log) -> Reading:
    return Reading(
        book=BookName(name="Invented Creek", id="b1"),
        revision="r1",
        log=log,
        made_at="2026-01-01T00:00:00+00:00",
    )


def frame_of(
    *digs: Dig, features: tuple[Feature, ...] = (), crs: str | None = CRS
) -> Frame:
    log = Log(ground=Ground(crs=crs), digs=digs, features=features)
    return frame_ground(read(log))


def dig(name: str, east: float, north: float, **more: Any) -> Dig:
    return Dig(dig=name, easting_m=EAST_0 + east, northing_m=NORTH_0 + north, **more)


def drawn(role: str, *places: tuple[float, float], kind: str = "LineString") -> Feature:
    back = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    degrees = [list(back.transform(EAST_0 + x, NORTH_0 + y)) for x, y in places]
    shape = [degrees] if kind == "Polygon" else degrees
    geometry = {"type": kind, "coordinates": shape}
    return Feature(number=1, role=role, name="drawn", geometry=geometry)


def test_valley_coordinates_follow_the_drawn_centerline() -> None:
    """The valley runs north; a dig 40 m up it and 3 m to the west is 3 m left."""
    frame = frame_of(
        dig("A", -3.0, 40.0, line="1"),
        features=(drawn("centerline", (0.0, 0.0), (0.0, 100.0)),),
    )
    place = frame.places["A"]
    npt.assert_allclose([place.s_m, place.n_m], [40.0, 3.0], atol=1e-3)
    assert frame.assumptions == {}


def test_the_longest_of_several_centerlines_is_taken() -> None:
    frame = frame_of(
        dig("A", 0.0, 40.0),
        features=(
            drawn("centerline", (0.0, 0.0), (5.0, 0.0)),
            drawn("centerline", (0.0, 0.0), (0.0, 0.0), (0.0, 100.0)),
        ),
    )
    assert frame.centerline is not None
    assert frame.centerline.length_m == pytest.approx(100.0, abs=1e-3)


def test_without_a_drawing_the_line_is_proposed_and_said_so() -> None:
    frame = frame_of(
        dig("A1", -4.0, 60.0, line="A"),
        dig("A2", 4.0, 60.0, line="A"),
        dig("B1", -4.0, 0.0, line="B"),
        dig("B2", 4.0, 0.0, line="B"),
    )
    assert frame.assumptions == {"centerline": "through the middles of the lines"}
    assert [line.line for line in frame.lines] == ["A", "B"]
    assert frame.places["A1"].n_m == pytest.approx(-4.0)


def test_lines_run_downstream_and_their_digs_from_left_to_right() -> None:
    frame = frame_of(
        dig("B1", 5.0, 60.0, line="B"),
        dig("A1", 5.0, 20.0, line="A"),
        dig("A2", -5.0, 20.0, line="A"),
        features=(drawn("centerline", (0.0, 0.0), (0.0, 100.0)),),
    )
    assert [line.line for line in frame.lines] == ["A", "B"]
    assert frame.lines[0].digs == ("A2", "A1")


def test_unnamed_digs_join_a_near_line_or_one_another() -> None:
    frame = frame_of(
        dig("A1", 0.0, 20.0, line="A"),
        dig("loose", 4.0, 21.0),
        dig("p1", 0.0, 50.0),
        dig("p2", 6.0, 52.0),
        dig("p3", 6.0, 80.0),
        features=(drawn("centerline", (0.0, 0.0), (0.0, 100.0)),),
    )
    assert [(line.line, line.digs) for line in frame.lines] == [
        ("A", ("A1", "loose")),
        ("near 51 m", ("p1", "p2")),
        ("near 80 m", ("p3",)),
    ]


def test_digs_scattered_along_a_creek_without_lines_are_grouped() -> None:
    places = [(0.0, 90.0), (5.0, 88.0), (1.0, 50.0), (-4.0, 10.0), (4.0, 11.0)]
    frame = frame_of(*(dig(f"p{at}", *place) for at, place in enumerate(places)))
    assert [line.digs for line in frame.lines] == [
        ("p1", "p0"),
        ("p2",),
        ("p4", "p3"),
    ]


def test_one_dig_has_a_frame_and_one_without_a_place_is_left_out() -> None:
    frame = frame_of(dig("A", 0.0, 0.0), Dig(dig="lost"))
    assert list(frame.places) == ["A"]
    assert frame.places["A"].n_m == pytest.approx(0.0)


def test_nothing_placed_and_nothing_drawn_has_no_centerline() -> None:
    frame = frame_of(Dig(dig="lost"))
    assert frame.centerline is None
    assert frame.lines == ()


def test_a_walked_track_is_smoothed_until_it_folds_nowhere() -> None:
    rng = np.random.default_rng(4)
    track = [(float(rng.normal(0.0, 1.0)), y) for y in np.arange(0.0, 300.0, 3.0)]
    frame = frame_of(dig("A", -8.0, 150.0), features=(drawn("centerline", *track),))
    assert frame.assumptions["centerline_smoothed_over_m"] in (5.0, 10.0, 20.0)
    assert "the line was smoothed over" in frame.findings[0].problem
    assert frame.places["A"].n_m == pytest.approx(8.0, abs=1.0)


def test_a_centerline_drawn_upstream_is_doubted() -> None:
    frame = frame_of(
        *(
            dig(f"A{y}", 1.0, float(y), line=str(y), elevation_m=100.0 + 0.1 * y)
            for y in (10, 40, 70)
        ),
        features=(drawn("centerline", (0.0, 0.0), (0.0, 100.0)),),
    )
    assert "rises by 10.0 m in 100 m" in frame.findings[0].problem


def test_features_without_a_coordinate_system_are_named_and_left_out() -> None:
    feature = drawn("boundary", (0, 0), (0, 10), (10, 10), (0, 0), kind="Polygon")
    frame = frame_of(dig("A", 0.0, 0.0), features=(feature,), crs=None)
    assert frame.features == ()
    assert "1 drawn features" in frame.findings[0].problem


def test_areas_come_back_closed_and_in_meters() -> None:
    feature = drawn("worked", (0, 0), (0, 10), (10, 10), (0, 0), kind="Polygon")
    frame = frame_of(dig("A", 0.0, 0.0), features=(feature,))
    assert frame.features[0].closed
    npt.assert_allclose(
        frame.features[0].parts[0][1] - [EAST_0, NORTH_0], [0.0, 10.0], atol=1e-3
    )


def test_a_coordinate_system_in_feet_still_gives_meters() -> None:
    """EPSG:2229 (California 5, US survey feet): a step of 100 m stays 100 m."""
    metric, feet = GroundMap("EPSG:26945"), GroundMap("EPSG:2229")
    for ground_map in (metric, feet):
        east, north = ground_map.from_degrees([-118.0, -118.0], [34.0, 34.0009])
        assert np.hypot(*np.diff([east, north])[:, 0]) == pytest.approx(99.8, abs=0.2)
    back = feet.to_degrees(*feet.from_degrees([-118.0], [34.0]))
    npt.assert_allclose([back[0][0], back[1][0]], [-118.0, 34.0], atol=1e-9)


def test_a_polygon_is_closed_and_runs_counterclockwise() -> None:
    ring = GroundMap(CRS).polygon(
        EAST_0 + np.array([0.0, 0.0, 10.0]), NORTH_0 + np.array([0.0, 10.0, 0.0])
    )["coordinates"][0]
    assert ring[0] == ring[-1]
    east, north = np.array(ring).T
    assert np.dot(east[:-1], north[1:]) - np.dot(east[1:], north[:-1]) > 0.0


def test_a_polygon_without_a_coordinate_system_stays_in_meters() -> None:
    ring = GroundMap(None).polygon([0.0, 10.0, 0.0], [0.0, 0.0, 10.0])
    assert ring["coordinates"][0][1] == [10.0, 0.0]
    with pytest.raises(
        ValueError, match=r"no coordinate system.*on the page, or as crs"
    ):
        GroundMap(None).to_degrees([0.0], [0.0])


@pytest.mark.parametrize(
    ("geometry", "sizes", "closed"),
    [
        ({"type": "Point", "coordinates": [-123.0, 48.0]}, [1], False),
        (
            {"type": "MultiLineString", "coordinates": [[[-123, 48], [-123, 49]]]},
            [2],
            False,
        ),
        (
            {"type": "MultiPolygon", "coordinates": [[[[-123, 48], [-123, 49]]]]},
            [2],
            True,
        ),
        (
            {
                "type": "GeometryCollection",
                "geometries": [{"type": "Point", "coordinates": [-123.0, 48.0, 7.0]}],
            },
            [1],
            False,
        ),
        ({"type": "Unheard", "coordinates": [1]}, [], False),
    ],
)
def test_every_geometry_comes_apart(
    geometry: dict[str, Any], sizes: list[int], closed: bool
) -> None:
    parts, is_area = GroundMap(CRS).parts(geometry)
    assert [len(part) for part in parts] == sizes
    assert is_area is closed


def test_the_frame_is_made_once() -> None:
    reading = read(Log(ground=Ground(crs=CRS), digs=(dig("A", 0.0, 0.0),)))
    assert frame_ground(reading) is frame_ground(reading)


def test_a_fold_that_no_smoothing_mends_is_reported(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(frame, "SMOOTH_OVER_M", ())
    rng = np.random.default_rng(4)
    track = [(float(rng.normal(0.0, 1.0)), y) for y in np.arange(0.0, 90.0, 3.0)]
    found = frame_of(dig("A", -8.0, 45.0), features=(drawn("centerline", *track),))
    assert found.assumptions == {}
    assert found.findings[0].weight == "doubt"


def test_heights_come_from_the_elevation_model_unless_typed() -> None:
    heights = np.full((20, 20), 640.0)
    content = write_raster(
        {"elevation_m": heights},
        west_m=EAST_0 - 10.0,
        north_m=NORTH_0 + 10.0,
        cell_m=1.0,
        crs=CRS,
    )
    model = Attachment(
        file="surface.tif",
        kind="elevation",
        media_type="image/tiff",
        sha256="",
        content=content,
    )
    photo = replace(model, kind="photo")
    digs = (dig("A", 0.0, 0.0), dig("B", 2.0, 0.0, elevation_m=655.5))
    log = Log(ground=Ground(crs=CRS), digs=digs, attachments=(photo, model))
    found = frame_ground(read(log))
    assert found.places["A"].surface_m == pytest.approx(640.0)
    assert found.places["B"].surface_m == 655.5
    assert found.elevation is not None


def test_unwashed_samples_and_a_laid_centerline_are_said() -> None:
    log = Log(
        ground=Ground(crs=CRS, name="Invented"),
        digs=(dig("A", 0.0, 0.0), Dig(dig="lost", bottom_m=0.5)),
        samples=(Sample(sample="A-1", dig="A"), Sample(sample="A-2", dig="A")),
        tallies=(Tally(sample="A-2", size_class="all", colors=0),),
    )
    answer = show_ground(read(log))
    assert answer.unwashed == ("A-1",)
    assert [one.samples for one in answer.digs] == [2, 0]
    assert answer.digs[1].s_m is None
    assert answer.counts["samples"] == 2
    assert any("No centerline was drawn" in one for one in answer.cautions)
    assert any("1 sample is not washed yet" in one for one in answer.cautions)


def test_a_made_up_line_never_takes_the_name_of_a_real_one() -> None:
    found = frame_of(
        dig("A1", 0.0, 20.0, line="near 50 m"),
        dig("p1", 0.0, 50.0),
        features=(drawn("centerline", (0.0, 0.0), (0.0, 100.0)),),
    )
    assert [line.line for line in found.lines] == ["near 50 m", "near 50 m'"]


def tile(name: str, height: float, *, east: float) -> Attachment:
    """Return a level tile of 10 x 10 cells of 2 m; its corner lies at (east, 0)."""
    content = write_raster(
        {"elevation_m": np.full((10, 10), height)},
        west_m=EAST_0 + east,
        north_m=NORTH_0 + 20.0,
        cell_m=2.0,
        crs=CRS,
    )
    return Attachment(
        file=name,
        kind="elevation",
        media_type="image/tiff",
        sha256="0" * 64,
        content=content,
    )


def test_tiles_of_an_elevation_model_are_read_as_one() -> None:
    tiles = (tile("a.tif", 600.0, east=0.0), tile("b.tif", 610.0, east=20.0))
    log = Log(
        ground=Ground(crs=CRS),
        digs=(dig("A", 5.0, 5.0), dig("B", 35.0, 5.0)),
        attachments=tiles,
    )
    found = frame_ground(read(log))
    assert found.elevation is not None
    assert found.elevation.elevation_m.shape == (10, 20)
    assert found.places["A"].surface_m == pytest.approx(600.0)
    assert found.places["B"].surface_m == pytest.approx(610.0)


def test_a_model_that_misses_the_ground_is_told_with_the_frame() -> None:
    log = Log(
        ground=Ground(crs=CRS),
        digs=(dig("A", 500.0, 5.0), dig("B", 520.0, 5.0)),
        attachments=(tile("a.tif", 600.0, east=0.0),),
    )
    said = [one.problem for one in frame_ground(read(log)).findings]
    assert any("knows no height at 2 of 2 digs" in problem for problem in said)


def test_what_the_user_says_the_heights_are_is_believed() -> None:
    """elevation_unit = "ft" in ground.toml: 1000 ft are 304.8 m."""
    log = Log(
        ground=Ground(crs=CRS, extra={"elevation_unit": '"ft"'}),
        digs=(dig("A", 5.0, 5.0),),
        attachments=(tile("a.tif", 1000.0, east=0.0),),
    )
    assert frame_ground(read(log)).places["A"].surface_m == pytest.approx(304.8)
