"""Room for spoil, water, stones and sizes against hand arithmetic."""

from dataclasses import replace

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.records import Layer, Tally
from pennyweight.spread import Spread
from pennyweight.worth.plants import DEFAULT_SIZE_SHARES, size_shares
from pennyweight.worth.sizes import draw_size_shares, kept_shares
from pennyweight.worth.spoil import heap_area_m2, plan_spoil
from pennyweight.worth.stones import share_above, weigh_stones
from pennyweight.worth.waterneed import (
    inflow_m3_per_hour,
    need_water,
    pond_area_m2,
    settling_speed_m_s,
)
from tests.worth.test_cash import stretches_of
from tests.worth.test_cut import TERMS


def test_a_heap_covers_what_its_frustum_does() -> None:
    """20 m square, 2 m high, 1.5 to 1: top 14 m; 2/3 (400 + 280 + 196) = 584 m3."""
    npt.assert_allclose(heap_area_m2(584.0), 400.0)


def test_a_small_heap_is_a_pyramid() -> None:
    """3 m square with the same sides is 1 m high: 3 m3."""
    npt.assert_allclose(heap_area_m2(3.0), 9.0)
    assert heap_area_m2(0.0) == 0.0
    with pytest.raises(ValueError, match=r"a heap of -1.0 m3"):
        heap_area_m2(-1.0)


def test_spoil_goes_into_the_hole_behind() -> None:
    """Three stretches of 100 m3 of cover and 50 of pay, swell 20 %, 10 % once settled.

    The first is heaped whole, 180 m3; its hole then takes 150 / 1.1 = 136.4 bank m3 of
    the second, so that 13.6 more are heaped, 196.4 in all; and so on with the third.
    """
    room = plan_spoil(stretches_of(TERMS, gold_mg=[1.0, 1.0, 1.0]), 0.2)
    npt.assert_allclose(room.overburden_loose_m3, 360.0)
    npt.assert_allclose(room.tailings_loose_m3, 180.0)
    npt.assert_allclose(room.heaped_m3, 180.0 + 2 * (150.0 - 150.0 / 1.1) * 1.2)
    npt.assert_allclose(room.left_over_m3, 45.0)
    npt.assert_allclose(room.whole_heap_m2, heap_area_m2(540.0))


def test_a_swell_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"swell is -0.1"):
        plan_spoil(stretches_of(TERMS, gold_mg=[1.0]), -0.1)


def test_silt_sinks_as_stokes_says() -> None:
    """1,650 x 9.81 x (2e-5)^2 / (18 x 0.001307) = 2.752e-4 m/s."""
    npt.assert_allclose(settling_speed_m_s(), 2.752e-4, rtol=1e-3)
    npt.assert_allclose(settling_speed_m_s(4e-5), 4 * settling_speed_m_s(2e-5))
    with pytest.raises(ValueError, match=r"grain_m is 0.001 m"):
        settling_speed_m_s(0.001)


def test_a_pond_grows_with_the_flow_and_never_shrinks_to_a_fault() -> None:
    npt.assert_allclose(pond_area_m2(100.0), 1.5 * 100.0 / 3600.0 / 2.752e-4, rtol=1e-3)
    assert pond_area_m2(0.0) == 0.0


def test_nothing_seeps_into_a_pit_above_the_water() -> None:
    assert inflow_m3_per_hour(0.0, 100.0) == Spread(0.0, 0.0, 0.0, 0.0)
    deep, shallow = (inflow_m3_per_hour(one, 100.0).p50 for one in (2.0, 1.0))
    assert deep > 2.0 * shallow


@pytest.mark.parametrize(
    ("water_m", "pumped"), [(None, False), (2.0, False), (0.5, True)]
)
def test_a_pump_is_reckoned_only_below_water(
    water_m: float | None, pumped: bool
) -> None:
    need = need_water(
        pay_m3=100.0,
        plant_m3_per_hour=40.0,
        floor_m=1.2,
        open_m2=80.0,
        water_depth_m=water_m,
        mud_share=0.1,
    )
    assert (need.pump_m3_per_hour is not None) is pumped
    npt.assert_allclose(need.mud_m3, 20.0)
    npt.assert_allclose(need.pond_m3, need.pond_m2 + 20.0)


def gravel(largest_m: float | None, percent: float | None, thick_m: float) -> Layer:
    return Layer(
        dig="A",
        top_m=0.0,
        bottom_m=thick_m,
        material="gravel",
        largest_clast_m=largest_m,
        oversize_percent=percent,
    )


def test_stones_too_big_for_the_plant_are_counted_by_thickness() -> None:
    """20 % up to 0.4 m: above 0.2 m 6.67 %; a layer three times as thick has none."""
    terms = replace(TERMS, largest_stone_m=0.2, moves_stone_m=1.0)
    found = weigh_stones([gravel(0.4, 20.0, 1.0), gravel(0.1, 20.0, 3.0)], terms)
    npt.assert_allclose(found.too_big_share, 0.0667 / 4.0, atol=1e-4)
    assert found.largest_m == 0.4
    assert not found.bar_the_plant


def test_stones_that_cannot_be_moved_bar_the_plant() -> None:
    terms = replace(TERMS, largest_stone_m=0.2, moves_stone_m=0.5)
    layers = [gravel(0.9, 10.0, 1.0)] + [gravel(0.2, 10.0, 1.0)] * 8
    found = weigh_stones(layers, terms)
    npt.assert_allclose(found.unmoved_share, 1.0 / 9.0)
    assert found.bar_the_plant
    assert not weigh_stones([*layers, *layers[1:]], terms).bar_the_plant


def test_layers_that_do_not_tell_of_stones_have_none() -> None:
    found = weigh_stones([gravel(None, None, 1.0)], TERMS)
    assert (found.largest_m, found.too_big_share, found.told) == (None, 0.0, 0)
    assert share_above(gravel(0.9, None, 1.0), 0.2) == 0.0
    assert weigh_stones([gravel(0.9, 5.0, 0.0)], TERMS).too_big_share == 0.0


def test_boulders_put_aside_cost_their_hours_and_their_moving() -> None:
    """A tenth of the pay is boulders: 3 x 0.1 and 0.1 / 20 h more for each m3."""
    busy = replace(TERMS, per_hour=40.0)
    stony = replace(busy, boulder_share=0.1)
    npt.assert_allclose(stony.washing - busy.washing, 0.3 + 40.0 * 0.005)


def test_sizes_drawn_keep_their_mean_and_spread_with_few_samples() -> None:
    rng = np.random.default_rng(2)
    tallies = [
        Tally(sample=f"S{at}", size_class=name, colors=1, mg=float(mg))
        for at, mg in enumerate(rng.uniform(1.0, 3.0, 40))
        for name in ("0.15-0.3", "0.3-1")
    ]
    drawn = draw_size_shares(tallies, 4000, np.random.default_rng(1))
    npt.assert_allclose(drawn.sum(axis=1), 1.0)
    known = size_shares(tallies)
    assert known is not None
    npt.assert_allclose(drawn.mean(axis=0), known, atol=0.01)
    one = draw_size_shares(tallies[:2], 4000, np.random.default_rng(1))
    assert one[:, 1].std() > 3.0 * drawn[:, 1].std()


def test_sizes_that_nobody_counted_are_the_supplied_ones_and_unsure() -> None:
    drawn = draw_size_shares([], 4000, np.random.default_rng(1))
    npt.assert_allclose(drawn.mean(axis=0), DEFAULT_SIZE_SHARES, atol=0.02)
    assert drawn.std(axis=0).min() > 0.03


def test_a_plant_keeps_each_size_as_it_does() -> None:
    kept = kept_shares(np.array([[0.1, 0.2, 0.3, 0.4]]), (0.3, 0.6, 0.9, 1.0))
    npt.assert_allclose(kept, [0.03 + 0.12 + 0.27 + 0.4])
