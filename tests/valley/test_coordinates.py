"""Valley coordinates against an arc drawn by hand, and there and back."""

import numpy as np
import numpy.testing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pennyweight.valley.coordinates import Centerline, propose_centerline

MILLIMETER = 1e-3
CENTIMETER = 1e-2


def draw_arc(radius_m: float, turn_rad: float, n_points: int) -> Centerline:
    """Return an arc around (0, 0) that starts at (radius, 0), running clockwise."""
    angle = np.linspace(0.0, -turn_rad, n_points)
    return Centerline(radius_m * np.cos(angle), radius_m * np.sin(angle))


def draw_wave() -> Centerline:
    """Return a valley with bends both ways; the tightest has a radius of 32 m."""
    along = np.arange(0.0, 401.0, 10.0)
    return Centerline(along + 1000.0, 20.0 * np.sin(along / 25.0) + 500.0)


def test_an_arc_of_fifty_meters_agrees_with_hand_geometry() -> None:
    """Radius 50 m, a point at radius 55 m and 0.5 rad: s = 25 m, |n| = 5 m.

    On an arc that runs clockwise the outer side is the left. A natural spline is
    straight at its very ends, so that the arc starts 0.5 rad before the point.
    """
    line = draw_arc(50.0, 2.0, 401)
    start_s, _ = line.to_valley([50.0 * np.cos(0.5)], [-50.0 * np.sin(0.5)])
    s_m, n_m = line.to_valley([55.0 * np.cos(1.0)], [-55.0 * np.sin(1.0)])
    npt.assert_allclose(s_m - start_s, 25.0, atol=CENTIMETER)
    npt.assert_allclose(n_m, 5.0, atol=MILLIMETER)


def test_a_cell_on_the_outer_side_is_larger_than_its_straight_twin() -> None:
    """A cell with ds 10 m, n 0 to 5 m at radius 50 m is 52.5 m2, not 50 m2."""
    line = draw_arc(50.0, 2.0, 401)
    s_m = np.concatenate([np.linspace(40.0, 50.0, 201), np.linspace(50.0, 40.0, 201)])
    n_m = np.repeat([5.0, 0.0], 201)
    east, north = line.to_map(s_m, n_m)
    area = 0.5 * abs(np.dot(east, np.roll(north, 1)) - np.dot(north, np.roll(east, 1)))
    npt.assert_allclose(area, 52.5, atol=0.01)


def test_stretch_is_the_area_of_a_cell_over_its_straight_twin() -> None:
    """At n = 2.5 m outside of radius 50 m: 1.05; inside 0.95; beyond the center 0."""
    line = draw_arc(50.0, 2.0, 401)
    stretch = line.stretch([45.0, 45.0, 45.0], [2.5, -2.5, -60.0])
    npt.assert_allclose(stretch, [1.05, 0.95, 0.0], atol=1e-3)


def test_length_of_an_arc_is_radius_times_angle() -> None:
    npt.assert_allclose(draw_arc(50.0, 2.0, 81).length_m, 100.0, atol=CENTIMETER)


def test_two_points_make_a_straight_line() -> None:
    line = Centerline(np.array([0.0, 30.0]), np.array([0.0, 40.0]))
    npt.assert_allclose(line.length_m, 50.0)
    s_m, n_m = line.to_valley([3.0 - 4.0], [4.0 + 3.0])
    npt.assert_allclose([s_m[0], n_m[0]], [5.0, 5.0], atol=1e-9)


def test_left_is_positive_looking_downstream() -> None:
    north = Centerline(np.array([0.0, 0.0]), np.array([0.0, 100.0]))
    assert north.to_valley([-3.0], [50.0])[1][0] == pytest.approx(3.0)


def test_parameter_of_the_line_is_its_arc_length() -> None:
    line = draw_wave()
    s_m = np.linspace(0.0, line.length_m, 20001)
    east, north = line.to_map(s_m, np.zeros_like(s_m))
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))])
    npt.assert_allclose(walked, s_m, atol=2.0 * MILLIMETER)


@settings(max_examples=200, derandomize=True, deadline=None)
@given(s_m=st.floats(-60.0, 520.0), n_m=st.floats(-25.0, 25.0))
def test_there_and_back_within_a_millimeter(s_m: float, n_m: float) -> None:
    line = draw_wave()
    back = line.to_valley(*line.to_map([s_m], [n_m]))
    npt.assert_allclose([back[0][0], back[1][0]], [s_m, n_m], atol=MILLIMETER)


@settings(max_examples=100, derandomize=True, deadline=None)
@given(east=st.floats(900.0, 1500.0), north=st.floats(400.0, 600.0))
def test_back_and_there_holds_for_any_place_even_in_a_fold(
    east: float, north: float
) -> None:
    line = draw_wave()
    again = line.to_map(*line.to_valley([east], [north]))
    npt.assert_allclose([again[0][0], again[1][0]], [east, north], atol=MILLIMETER)


def test_the_foot_is_the_nearest_place_by_brute_force() -> None:
    line = draw_wave()
    rng = np.random.default_rng(5)
    east, north = rng.uniform(1000, 1400, 200), rng.uniform(440, 560, 200)
    _, n_m = line.to_valley(east, north)
    fine = np.column_stack(
        line.to_map(np.linspace(-100, line.length_m + 100, 80001), np.zeros(80001))
    )
    nearest = [
        np.hypot(fine[:, 0] - x, fine[:, 1] - y).min()
        for x, y in zip(east, north, strict=True)
    ]
    npt.assert_allclose(np.abs(n_m), nearest, atol=CENTIMETER)


def test_beyond_the_ends_the_line_runs_on_straight() -> None:
    line = draw_wave()
    east, north = line.to_map([-10.0, -20.0, -30.0], [0.0, 0.0, 0.0])
    npt.assert_allclose(np.diff(east, 2), 0.0, atol=1e-9)
    npt.assert_allclose(np.hypot(np.diff(east), np.diff(north)), 10.0)


def test_straight_part_beyond_an_end_wins_where_it_passes_nearer() -> None:
    """A hairpin: the tail runs back beside the head, 40 m off."""
    angle = np.linspace(np.pi / 2, -np.pi / 2, 61)
    east = np.concatenate(
        [np.linspace(-100, 0, 21)[:-1], 20 * np.cos(angle), np.arange(-2, -31, -2)]
    )
    north = np.concatenate([np.full(20, 20.0), 20 * np.sin(angle), np.full(15, -20.0)])
    line = Centerline(east, north)
    s_m, n_m = line.to_valley([-80.0], [-21.0])
    npt.assert_allclose([s_m[0], n_m[0]], [line.length_m + 50.0, 1.0], atol=0.05)


def test_a_tight_bend_is_reported_with_its_place() -> None:
    folds = draw_arc(10.0, 2.0, 81).find_folds(12.0)
    assert len(folds) == 1
    assert "radius is" in folds[0].problem
    assert "12.0 m looked at" in folds[0].problem
    assert folds[0].where.startswith("centerline at")


def test_a_wide_bend_is_not_reported() -> None:
    assert draw_arc(50.0, 2.0, 81).find_folds(12.0) == []


def test_smoothing_takes_out_the_wiggles_of_a_receiver() -> None:
    rng = np.random.default_rng(3)
    along = np.arange(0.0, 300.0, 3.0)
    walked = Centerline(along, rng.normal(0.0, 1.0, len(along)))
    assert walked.find_folds(15.0)
    calm = walked.smoothed(20.0)
    assert calm.find_folds(15.0) == []
    assert calm.length_m == pytest.approx(300.0, rel=0.02)


def test_smoothing_leaves_a_straight_line_and_its_ends() -> None:
    line = Centerline(np.array([0.0, 30.0, 60.0]), np.array([0.0, 40.0, 80.0]))
    calm = line.smoothed(10.0)
    npt.assert_allclose(calm.length_m, 100.0)
    npt.assert_allclose([calm.easting_m[-1], calm.northing_m[-1]], [60.0, 80.0])


def test_smoothing_over_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"over_m is 0.0 m"):
        draw_wave().smoothed(0.0)


@pytest.mark.parametrize("points", [[(1.0, 2.0)], [(1.0, 2.0), (1.0, 2.0)]])
def test_a_line_without_length_is_refused(points: list[tuple[float, float]]) -> None:
    place = np.array(points)
    with pytest.raises(ValueError, match=f"centerline of {len(points)} points"):
        Centerline(place[:, 0], place[:, 1])


def lines_across(
    middles: list[tuple[float, float]],
) -> tuple[list[float], list[float], list[int]]:
    """Return three digs around each middle."""
    east = [x + step for x, _ in middles for step in (-4.0, 0.0, 4.0)]
    north = [y for _, y in middles for _ in range(3)]
    return east, north, [index for index in range(len(middles)) for _ in range(3)]


def test_a_proposed_line_runs_through_the_middles_in_written_order() -> None:
    east, north, index = lines_across([(0.0, 0.0), (0.0, -30.0), (0.0, -60.0)])
    line = propose_centerline(east, north, index)
    assert line.proposed
    npt.assert_allclose(line.length_m, 100.0)
    s_m, n_m = line.to_valley([3.0], [-30.0])
    npt.assert_allclose([s_m[0], n_m[0]], [50.0, 3.0], atol=1e-6)


def test_a_proposed_line_runs_downhill_when_elevations_tell() -> None:
    east, north, index = lines_across([(0.0, 0.0), (0.0, -30.0), (0.0, -60.0)])
    heights = [100.0] * 3 + [np.nan] * 3 + [103.0] * 3
    line = propose_centerline(east, north, index, elevation_m=heights)
    assert line.to_valley([0.0], [-60.0])[0] < line.to_valley([0.0], [0.0])[0]


def test_lines_in_a_valley_that_bends_back_keep_their_order() -> None:
    angle = np.linspace(0.0, 1.5 * np.pi, 10)
    middles = [(60 * np.cos(one), 60 * np.sin(one)) for one in angle]
    line = propose_centerline(*lines_across(middles))
    s_m, _ = line.to_valley([x for x, _ in middles], [y for _, y in middles])
    assert np.all(np.diff(s_m) > 20.0)


def test_crowded_lines_do_not_break_the_proposal() -> None:
    middles = [(0.0, 0.0), (0.0, -1.5), (0.0, -3.0), (0.0, -4.5), (0.0, -40.0)]
    line = propose_centerline(*lines_across(middles))
    assert line.length_m == pytest.approx(80.0, abs=2.0)


def test_two_lines_in_one_place_still_get_a_line() -> None:
    line = propose_centerline(*lines_across([(0.0, 0.0), (0.0, 0.0)]))
    assert line.length_m > 40.0


def test_one_line_gets_a_centerline_square_to_it() -> None:
    line = propose_centerline([0.0, 10.0, 20.0], [0.0, 0.0, 0.0], [0, 0, 0])
    s_m, n_m = line.to_valley([0.0, 20.0], [0.0, 0.0])
    npt.assert_allclose(s_m, [20.0, 20.0])
    npt.assert_allclose(np.abs(n_m), [10.0, 10.0])


def test_one_dig_gets_a_centerline_too() -> None:
    assert propose_centerline([5.0], [5.0], [0]).length_m == pytest.approx(40.0)


def test_no_dig_is_refused() -> None:
    with pytest.raises(ValueError, match="0 digs have a position"):
        propose_centerline([], [], [])


@pytest.mark.parametrize("heights", [[100.0] * 9, [100.0] * 3 + [np.nan] * 6])
def test_heights_that_tell_nothing_leave_the_written_order(
    heights: list[float],
) -> None:
    east, north, index = lines_across([(0.0, 0.0), (0.0, -30.0), (0.0, -60.0)])
    line = propose_centerline(east, north, index, elevation_m=heights)
    assert line.to_valley([0.0], [0.0])[0] < line.to_valley([0.0], [-60.0])[0]
