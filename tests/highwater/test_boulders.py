"""Old floods from stones: which count, and what they say."""

import numpy as np
import pytest

from pennyweight.highwater.boulders import (
    BoulderFlow,
    Channel,
    flow_of_clasts,
    mix_discharges,
)
from pennyweight.highwater.clasts import Clasts, gather_clasts, middle_axis_m
from pennyweight.highwater.sections import Section
from pennyweight.records import Rock
from pennyweight.spread import Spread

CREEK = Channel(slope=0.02, stones_m=0.25, width_m=12.0)


def stone(number: int, middle_m: float | None, **other: object) -> Rock:
    """Return a boulder of dig T4 that water set down, leaning downstream."""
    fields = {
        "dig": "T4",
        "kind": "boulder",
        "set_down_by": "water",
        "imbricated": True,
    }
    return Rock(number=number, middle_m=middle_m, **(fields | other))  # type: ignore[arg-type]


def one_place(*rocks: Rock) -> Clasts:
    """Return the only place of some rocks."""
    (place,) = gather_clasts(rocks)
    return place


def read(clasts: Clasts, channel: Channel | None = CREEK, seed: int = 1) -> BoulderFlow:
    """Return what the stones of a place say."""
    flow = flow_of_clasts(clasts, channel, rng=np.random.default_rng(seed))
    assert flow is not None
    return flow


def test_the_three_largest_are_averaged() -> None:
    """1.0, 0.9 and 0.8 of four: 0.9 m."""
    place = one_place(stone(1, 0.3), stone(2, 0.9), stone(3, 1.0), stone(4, 0.8))
    assert place.sizes_m == (1.0, 0.9, 0.8)
    assert place.size_m == pytest.approx(0.9)
    assert place.n_stones == 4
    assert place.warnings == ()


def test_stones_of_slides_and_people_are_left_out_and_told() -> None:
    place = one_place(
        stone(1, 2.0, set_down_by="slide"),
        stone(2, 1.5, set_down_by="people"),
        stone(3, 0.6),
        stone(4, 0.5),
        stone(5, 0.5),
    )
    assert place.sizes_m == (0.6, 0.5, 0.5)
    assert any(
        "2 of 5 stones set down by people and slide" in s for s in place.warnings
    )


@pytest.mark.parametrize("by", [None, "unknown"])
def test_stones_that_nobody_saw_brought_raise_a_doubt(by: str | None) -> None:
    place = one_place(*(stone(i, 0.6, set_down_by=by) for i in range(3)))
    assert any("a slide, ice or people may have" in s for s in place.warnings)


def test_a_place_of_slide_rock_alone_says_nothing_of_floods() -> None:
    place = one_place(stone(1, 2.0, set_down_by="ice"))
    assert place.size_m is None
    assert flow_of_clasts(place, CREEK, rng=np.random.default_rng(1)) is None
    assert "1 of 1 stones set down by ice" in place.warnings[0]


def test_a_single_stone_is_told_and_less_sure() -> None:
    single = one_place(stone(1, 0.8))
    three = one_place(*(stone(i, 0.8) for i in range(3)))
    assert any("Only one stone" in s for s in single.warnings)
    one, all_three = read(single), read(three)
    assert one.single
    assert not all_three.single
    assert one.shear_pa.p90 / one.shear_pa.p10 > (
        all_three.shear_pa.p90 / all_three.shear_pa.p10
    )


def test_two_stones_an_odd_giant_and_no_lean_are_told() -> None:
    said = " ".join(
        one_place(
            stone(1, 2.0, imbricated=None), stone(2, 0.5, imbricated=None)
        ).warnings
    )
    assert "Only two stones" in said
    assert "more than twice the next" in said
    assert "leaning downstream" in said


def test_missing_middle_axes_come_from_the_others() -> None:
    """sqrt(1.2 x 0.3) = 0.6; 0.7 of 1.0; none of none."""
    assert middle_axis_m(stone(1, None, long_m=1.2, short_m=0.3)) == pytest.approx(0.6)
    assert middle_axis_m(stone(1, None, long_m=1.0)) == pytest.approx(0.7)
    assert middle_axis_m(stone(1, None)) is None
    place = one_place(stone(1, None, long_m=1.0))
    assert any("reckoned from the other axes" in s for s in place.warnings)


def test_stones_without_a_dig_gather_to_bars() -> None:
    """Two within 30 m of each other, one far away; bedrock and float are passed."""
    places = gather_clasts(
        [
            stone(1, 0.5, dig=None, easting_m=0.0, northing_m=0.0),
            stone(2, 0.5, dig=None, easting_m=20.0, northing_m=0.0),
            stone(3, 0.5, dig=None, easting_m=500.0, northing_m=0.0),
            stone(4, 9.0, dig=None, easting_m=500.0, northing_m=0.0, kind="bedrock"),
            stone(5, 0.4),
            stone(6, 0.4, dig=None),
        ]
    )
    assert [place.n_stones for place in places] == [1, 2, 1]
    assert [place.place for place in places] == [
        "dig T4",
        "bar at 10 E, 0 N",
        "bar at 500 E, 0 N",
    ]


def test_the_middle_speed_lies_among_the_relations() -> None:
    """Stones of 1 m: 5.20, 4.28 and 4.27 m/s by the three that hold."""
    flow = read(one_place(*(stone(i, 1.0) for i in range(3))))
    assert 4.0 < flow.velocity_m_s.p50 < 5.3
    assert flow.velocity_m_s.p90 / flow.velocity_m_s.p10 > 3.9


def test_lower_limits_stand_beside_and_below() -> None:
    """Stones of 1 m: 0.065 x 1000^0.5, 0.056 x 1000^1.213, 0.009 x 1000^1.686."""
    flow = read(one_place(*(stone(i, 1.0) for i in range(3))))
    assert flow.at_least.velocity_m_s == pytest.approx(2.05548, rel=1e-4)
    assert flow.at_least.shear_pa == pytest.approx(0.056 * 1000.0**1.213)
    assert flow.at_least.power_w_m2 == pytest.approx(0.009 * 1000.0**1.686)


def test_depth_is_near_that_of_the_shear() -> None:
    """Shears of 655 to 822 Pa on 0.02 are 3.3 to 4.2 m; speeds say about 1.6 m."""
    flow = read(one_place(*(stone(i, 1.0) for i in range(3))))
    assert flow.depth_m is not None
    assert 1.0 < flow.depth_m.p50 < 4.2
    assert flow.critical_depth_m == pytest.approx(flow.velocity_m_s.p50**2 / 9.81)


def test_discharge_needs_a_width_and_grows_with_it() -> None:
    place = one_place(*(stone(i, 1.0) for i in range(3)))
    narrow, wide = (
        read(place, Channel(slope=0.02, stones_m=0.25, width_m=w)) for w in (10.0, 20.0)
    )
    none = read(place, Channel(slope=0.02, stones_m=0.25))
    assert narrow.discharge_m3_s is not None
    assert wide.discharge_m3_s is not None
    assert wide.discharge_m3_s.p50 == pytest.approx(2.0 * narrow.discharge_m3_s.p50)
    assert none.discharge_m3_s is None
    assert any("Without a width" in s for s in none.warnings)


def test_a_surveyed_section_takes_the_place_of_the_width() -> None:
    """Walls of 45 degrees hold more than a box as wide as their foot."""
    place = one_place(*(stone(i, 1.0) for i in range(3)))
    section = Section(
        np.array([0.0, 10.0, 20.0, 30.0]), np.array([10.0, 0.0, 0.0, 10.0])
    )
    flow = read(place, Channel(slope=0.02, stones_m=0.25, section=section))
    box = read(place, Channel(slope=0.02, stones_m=0.25, width_m=10.0))
    assert flow.discharge_m3_s is not None
    assert box.discharge_m3_s is not None
    assert flow.discharge_m3_s.p50 > box.discharge_m3_s.p50


def test_without_a_channel_there_is_speed_but_no_depth() -> None:
    flow = read(one_place(*(stone(i, 1.0) for i in range(3))), None)
    assert flow.depth_m is None
    assert flow.velocity_m_s.p50 > 0.0
    assert any("Without a slope" in s for s in flow.warnings)


def test_hard_to_believe_channels_are_told() -> None:
    flat = Channel(slope=0.0005, stones_m=0.1, width_m=10.0)
    said = " ".join(read(one_place(*(stone(i, 2.0) for i in range(3))), flat).warnings)
    assert "slope of 0.0005" in said
    assert "were cut there" in said
    small = read(one_place(*(stone(i, 0.02) for i in range(3))))
    assert any("outside what the relations" in s for s in small.warnings)


def test_a_channel_that_cannot_be_is_named() -> None:
    place = one_place(stone(1, 1.0))
    with pytest.raises(ValueError, match=r"slope is -0\.01"):
        read(place, Channel(slope=-0.01, stones_m=0.2))
    with pytest.raises(ValueError, match=r"width is -3\.0 m"):
        read(place, Channel(slope=0.02, stones_m=0.2, width_m=-3.0))


def test_the_same_seed_gives_the_same_flood() -> None:
    place = one_place(stone(1, 1.0))
    assert read(place, seed=7).velocity_m_s == read(place, seed=7).velocity_m_s


def test_places_are_mixed_and_none_is_none() -> None:
    place = one_place(*(stone(i, 1.0) for i in range(3)))
    rng = np.random.default_rng(3)
    flow = flow_of_clasts(place, CREEK, rng=rng, n_draws=40_000)
    assert flow is not None
    assert flow.discharge_m3_s is not None
    mixed = mix_discharges((flow, flow), rng=rng, n_draws=40_000)
    assert isinstance(mixed, Spread)
    assert mixed.p50 == pytest.approx(flow.discharge_m3_s.p50, rel=0.05)
    assert mix_discharges((read(place, None),), rng=rng) is None
