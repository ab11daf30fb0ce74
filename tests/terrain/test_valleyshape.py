"""The shape of a creek along its way, on valleys made by formula."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.drawnstreams import join_lines
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.naming import DrawnLine
from pennyweight.terrain.routing import route_water
from pennyweight.terrain.streams import find_streams
from pennyweight.terrain.valleyshape import level_streams, main_stem, survey_creek


def circle(radius_m: float = 50.0) -> DrawnLine:
    """Return half a circle that turns left, drawn downstream."""
    angle = np.linspace(0.0, np.pi, 181)
    places = radius_m * np.column_stack([np.cos(angle), np.sin(angle)])
    return DrawnLine(places, "Bend", main=True)


def straight_valley(floor_m: float = 12.0) -> ElevationModel:
    """Return a flat-floored valley along northing 0 that falls east, 2 m in 100."""
    east = np.arange(200) + 0.5
    north = 40.0 - (np.arange(80) + 0.5)
    wall = np.maximum(np.abs(north) - floor_m / 2.0, 0.0)[:, None]
    rill = -0.3 * (np.abs(north) < 1.0)[:, None]
    return ElevationModel(50.0 - 0.02 * east + 0.8 * wall + rill, 0.0, 40.0, 1.0)


def test_a_circle_has_the_curvature_of_its_radius() -> None:
    """1 / 50 m, positive since it turns left."""
    streams = join_lines([circle()])
    creek = survey_creek(streams, main_stem(streams))
    inner = slice(10, -10)
    npt.assert_allclose(creek.curvature_1_m[inner], 0.02, rtol=0.05)


def test_the_line_keeps_its_ends_and_nearly_its_length() -> None:
    streams = join_lines([circle()])
    creek = survey_creek(streams, main_stem(streams))
    npt.assert_allclose([creek.easting_m[0], creek.northing_m[0]], [50.0, 0.0])
    assert creek.distance_m[-1] == pytest.approx(50.0 * np.pi, rel=0.02)


def test_places_left_of_the_creek_lie_to_the_left_going_down() -> None:
    """On a left turn around the origin, left is toward the origin."""
    streams = join_lines([circle()])
    creek = survey_creek(streams, main_stem(streams))
    east, north = creek.place([creek.distance_m[-1] / 2.0], [10.0])
    assert np.hypot(east, north)[0] == pytest.approx(40.0, abs=1.5)


def test_the_floor_is_as_wide_as_it_was_made() -> None:
    """12 m flat, and walls of 0.8 up to 1.5 m above the rill: 1.5 m more a side."""
    model = straight_valley()
    streams = find_streams(route_water(model), least_area_m2=800.0)
    creek = survey_creek(streams, main_stem(streams), model=model)
    middle = creek.width_m[len(creek.width_m) // 3 : -5]
    npt.assert_allclose(np.median(middle), 12.0 + 2.0 * 1.2 / 0.8, atol=1.5)


def test_the_fall_is_that_of_the_valley() -> None:
    model = straight_valley()
    streams = find_streams(route_water(model), least_area_m2=800.0)
    creek = survey_creek(streams, main_stem(streams), model=model)
    npt.assert_allclose(np.median(creek.slope), 0.02, rtol=0.1)
    assert np.all(np.diff(creek.elevation_m) <= 1e-9)


def test_feeders_are_told_with_their_side() -> None:
    main = DrawnLine(np.array([[0.0, 0.0], [200.0, 0.0]]), "Main", main=True)
    left = DrawnLine(np.array([[80.0, 60.0], [100.0, 0.0]]), "Left")
    right = DrawnLine(np.array([[150.0, -60.0], [150.0, 0.0]]), "Right")
    streams = join_lines([main, left, right])
    creek = survey_creek(streams, main_stem(streams))
    first, second = creek.confluences
    assert first.distance_m == pytest.approx(100.0, abs=1.0)
    assert first.from_left
    assert not second.from_left
    assert second.angle_deg == pytest.approx(90.0, abs=1.0)


def test_the_creek_follows_the_larger_water_up_and_runs_to_the_outlet() -> None:
    main = DrawnLine(np.array([[0.0, 0.0], [200.0, 0.0]]), "Main", main=True)
    long_one = DrawnLine(np.array([[50.0, 300.0], [100.0, 0.0]]), "Long")
    streams = join_lines([main, long_one])
    stem = main_stem(streams)
    assert [streams.name[r] for r in stem] == ["Long", "Main"]
    drawn = np.array([name == "Main" for name in streams.name])
    stem = main_stem(streams, along=drawn)
    assert [streams.name[r] for r in stem] == ["Main", "Main"]


def test_no_tree_is_no_creek() -> None:
    with pytest.raises(ValueError, match="a tree of 0 reaches"):
        main_stem(join_lines([]))


def test_surveyed_levels_are_carried_along_a_drawn_creek() -> None:
    """Levels 10, 12, 11, 14 up the creek: 12 and 11 are out of order, so 11.5 each."""
    main = DrawnLine(np.array([[0.0, 0.0], [300.0, 0.0]]), "Main", main=True)
    streams = join_lines([main])
    levels = level_streams(
        streams, [0.0, 100.0, 200.0, 300.0], [10.0, 12.0, 11.0, 14.0]
    )
    npt.assert_allclose(levels, [14.0, 10.0])
    halves = join_lines(
        [DrawnLine(np.column_stack([np.arange(0.0, 301.0, 50.0), np.zeros(7)]), "Main")]
    )
    levels = level_streams(halves, [0.0, 100.0, 200.0, 300.0], [10.0, 12.0, 11.0, 14.0])
    npt.assert_allclose(levels, [14.0, 12.75, 11.5, 11.5, 11.5, 10.75, 10.0])


def test_one_level_is_too_little_for_a_fall() -> None:
    main = DrawnLine(np.array([[0.0, 0.0], [300.0, 0.0]]), "Main", main=True)
    assert np.isnan(level_streams(join_lines([main]), [50.0], [10.0])).all()
