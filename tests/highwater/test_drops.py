"""Drops joined, promised around, and found in the shape of made ground."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.highwater.drops import Drop, Reason, join_drops, promise_at
from pennyweight.highwater.dropshapes import (
    find_benches,
    find_lees,
    find_shape_drops,
)
from pennyweight.terrain.drawnstreams import join_lines
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.naming import DrawnLine
from pennyweight.terrain.slopebreaks import SlopeBreak
from pennyweight.terrain.valleyshape import Creek, main_stem, survey_creek

FloatArray = np.ndarray


def drop(east: float, kind: str = "inner_bend", strength: float = 1.0) -> Drop:
    return Drop(
        easting_m=east,
        northing_m=0.0,
        reasons=(Reason(kind=kind, strength=strength),),
    )


def straight(
    *,
    left_m: FloatArray | float = 6.0,
    right_m: FloatArray | float = 6.0,
    breaks: tuple[SlopeBreak, ...] = (),
) -> Creek:
    """Return a straight creek of 300 m that runs east."""
    at = np.linspace(0.0, 300.0, 151)
    flat = np.zeros(151)
    return Creek(
        distance_m=at,
        easting_m=at,
        northing_m=flat,
        elevation_m=100.0 - 0.02 * at,
        slope=flat + 0.02,
        curvature_1_m=flat,
        left_m=flat + left_m,
        right_m=flat + right_m,
        area_m2=flat + np.nan,
        breaks=breaks,
        confluences=(),
    )


def test_reasons_are_joined_as_if_each_could_fail_alone() -> None:
    """0.60 and 0.50 at full strength: 1 - 0.4 x 0.5 = 0.8."""
    (joined,) = join_drops([drop(0.0), drop(3.0, "widening")])
    assert joined.score == pytest.approx(0.8)
    assert [one.kind for one in joined.reasons] == ["inner_bend", "widening"]
    assert joined.easting_m == 0.0


def test_two_reasons_of_one_kind_do_not_count_twice() -> None:
    (joined,) = join_drops([drop(0.0, strength=0.4), drop(2.0, strength=0.9)])
    assert joined.score == pytest.approx(0.54)


def test_reasons_that_rest_on_the_same_do_not_count_twice() -> None:
    """A high bar and a bench of one place are the same level ground."""
    (joined,) = join_drops([drop(0.0, "high_bar"), drop(2.0, "bench")])
    assert [one.kind for one in joined.reasons] == ["high_bar"]
    flow = Reason(kind="slackening", strength=0.5, facts={"lost_share": 0.5})
    lee = Reason(kind="lee", strength=0.9, facts={"lost_share": 0.9})
    stone = Reason(kind="lee", strength=0.2, facts={"size_m": 0.5})
    assert flow.witness == lee.witness
    assert stone.witness != lee.witness


def test_far_drops_stay_apart_and_the_best_comes_first() -> None:
    joined = join_drops([drop(0.0, "bench"), drop(50.0), drop(90.0, strength=0.2)])
    assert [one.easting_m for one in joined] == [50.0, 0.0, 90.0]
    assert len(join_drops(joined, most=2)) == 2


def test_the_promise_fades_with_distance() -> None:
    """At one standard deviation, 6 m, 0.6 x exp(-1/2) = 0.364."""
    found = promise_at([drop(0.0)], [0.0, 6.0, 600.0], [0.0, 0.0, 0.0])
    npt.assert_allclose(found, [0.6, 0.6 * np.exp(-0.5), 0.0], atol=1e-12)


def test_a_bend_drops_its_gravel_on_the_inner_side() -> None:
    """Half a circle of 20 m around the origin, turning left: nearer to the origin."""
    angle = np.linspace(0.0, np.pi, 181)
    line = DrawnLine(20.0 * np.column_stack([np.cos(angle), np.sin(angle)]), None, True)
    streams = join_lines([line])
    found = find_shape_drops(survey_creek(streams, main_stem(streams)))
    bends = [one for one in found if one.kind == "inner_bend"]
    assert len(bends) == 1
    assert np.hypot(bends[0].easting_m, bends[0].northing_m) < 19.5
    assert bends[0].reasons[0].facts["radius_m"] == pytest.approx(20.0, rel=0.2)


def test_a_straight_even_creek_has_no_drop() -> None:
    assert find_shape_drops(straight()) == []


def test_a_floor_that_widens_downstream_is_a_drop_below_it() -> None:
    at = np.linspace(0.0, 300.0, 151)
    wide = np.where(at > 150.0, 14.0, 5.0)
    found = find_shape_drops(straight(left_m=wide, right_m=wide))
    assert [one.kind for one in found] == ["widening"]
    assert 150.0 < found[0].easting_m < 200.0
    assert found[0].reasons[0].facts["ratio"] == pytest.approx(2.8, rel=0.05)


def test_a_wide_floor_above_narrows_is_a_drop_in_the_wide_part() -> None:
    at = np.linspace(0.0, 300.0, 151)
    narrow = np.where(at > 150.0, 5.0, 14.0)
    found = find_shape_drops(straight(left_m=narrow, right_m=narrow))
    assert [one.kind for one in found] == ["above_narrows"]
    assert 90.0 < found[0].easting_m < 150.0


def test_only_a_break_to_a_flatter_fall_is_a_drop() -> None:
    """Half a width, 6 m, below the break; 0.9 x (1 - 0.01 / 0.04) = 0.675 strong."""
    eases = SlopeBreak(
        distance_m=100.0,
        low_m=95.0,
        high_m=105.0,
        probability=0.9,
        slope_above=0.04,
        slope_below=0.01,
    )
    steepens = SlopeBreak(
        distance_m=200.0,
        low_m=190.0,
        high_m=210.0,
        probability=1.0,
        slope_above=0.01,
        slope_below=0.04,
    )
    (found,) = find_shape_drops(straight(breaks=(eases, steepens)))
    assert found.kind == "slope_break"
    assert found.easting_m == pytest.approx(106.0, abs=0.1)
    assert found.reasons[0].strength == pytest.approx(0.675)


def test_a_feeder_from_the_left_drops_on_the_left_below_its_mouth() -> None:
    main = DrawnLine(np.array([[0.0, 0.0], [200.0, 0.0]]), "Main", main=True)
    feeder = DrawnLine(np.array([[100.0, 60.0], [100.0, 0.0]]), "Left")
    streams = join_lines([main, feeder])
    found = find_shape_drops(survey_creek(streams, main_stem(streams)))
    mouths = [one for one in found if one.kind == "confluence"]
    assert len(mouths) == 1
    assert mouths[0].easting_m == pytest.approx(110.0, abs=2.0)
    assert mouths[0].northing_m > 0.5


def test_the_lee_of_a_stone_lies_downstream_of_it() -> None:
    """A stone of 1 m at (50, 2) in a creek that runs east: 1.5 m further east."""
    found = find_lees(
        np.array([50.0, 80.0]),
        np.array([2.0, 2.0]),
        np.array([1.0, 0.2]),
        creek=straight(),
    )
    assert len(found) == 1
    assert (found[0].easting_m, found[0].northing_m) == pytest.approx((51.5, 2.0))
    assert found[0].reasons[0].strength == pytest.approx(1.0 - np.exp(-1.0))


def test_a_level_step_beside_the_creek_is_a_bench() -> None:
    """A terrace 3 m up, from 10 m to 25 m left of the creek."""
    north = 40.0 - (np.arange(80) + 0.5)
    height = np.where(north > 10.0, 3.0, 0.0)
    height = np.where(north > 25.0, 3.0 + 0.8 * (north - 25.0), height)
    height = np.where(north < -8.0, 0.8 * (-8.0 - north), height)
    surface = np.repeat(height[:, None], 300, axis=1)
    model = ElevationModel(surface, 0.0, 40.0, 1.0)
    found = find_benches(model, surface, straight())
    assert [one.kind for one in found] == ["bench"]
    assert found[0].reasons[0].facts["above_m"] == pytest.approx(3.0)
    assert 10.0 < found[0].northing_m < 14.0
