"""Blocks and cuts against hand arithmetic, laws and small grounds."""

from dataclasses import replace

import numpy as np
import numpy.testing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pennyweight.units import CUBIC_YARD_M3, FOOT_M
from pennyweight.worth.blocks import (
    Blocks,
    PayHorizon,
    ValleyGrid,
    build_blocks,
    choose_washing,
    slice_height_m,
    slice_shares,
)
from pennyweight.worth.cut import find_cut, wall_rules
from pennyweight.worth.pit import Pit
from pennyweight.worth.season import plan_stretches, season_count
from pennyweight.worth.terms import Terms
from pennyweight.worth.walls import GRAVEL_WALL_DEG

FloatArray = np.ndarray

TERMS = Terms(
    currency="USD",
    price_per_g=60.0,
    fineness=850.0,
    recovery=0.8,
    payable=1.0,
    wash_per_m3=10.0,
    strip_per_m3=3.0,
    per_hour=0.0,
    per_day=0.0,
    fixed=0.0,
    reclaim_per_m2=0.0,
    m3_per_hour=5.0,
    digs_m3_per_hour=20.0,
    hours_per_day=8.0,
    days=50.0,
    min_width_m=2.0,
    min_pay_m=0.0,
    plant="invented",
)


def grid(n_s: int, n_n: int, step_m: float = 1.0) -> ValleyGrid:
    shape = (n_s, n_n)
    return ValleyGrid(
        s_m=(np.arange(n_s, dtype=np.float64) + 0.5) * step_m,
        n_m=(np.arange(n_n, dtype=np.float64) + 0.5 - n_n / 2.0) * step_m,
        area_m2=np.full(shape, step_m**2),
        sampled=np.ones(shape, dtype=bool),
        allowed=np.ones(shape, dtype=bool),
    )


def layer(
    gold_mg_m2: FloatArray,
    *,
    top_m: float | FloatArray = 1.0,
    thickness_m: float | FloatArray = 0.5,
    name: str = "bedrock",
) -> PayHorizon:
    gold = np.asarray(gold_mg_m2, dtype=np.float64)
    gold = gold if gold.ndim == 3 else gold[None]
    return PayHorizon(
        horizon=name,
        accumulation_mg_m2=gold,
        thickness_m=np.broadcast_to(thickness_m, gold.shape),
        top_m=np.broadcast_to(top_m, gold.shape),
    )


def blocks_of(
    *horizons: PayHorizon, edge_m: float = 2.0, min_pay_m: float = 0.0
) -> Blocks:
    _, n_s, n_n = horizons[0].accumulation_mg_m2.shape
    return build_blocks(grid(n_s, n_n), horizons, edge_m=edge_m, min_pay_m=min_pay_m)


def margin(pit: Pit, terms: Terms) -> float:
    return float((pit.revenue(terms) - pit.cost(terms)).mean())


def ribbon(n_draws: int = 1, crest_mg_m2: float = 900.0) -> FloatArray:
    """Return a streak 3 m wide down the middle of 24 by 16 m."""
    n_m = np.arange(16) - 7.5
    across = crest_mg_m2 * np.exp(-0.5 * (n_m / 1.5) ** 2)
    return np.broadcast_to(across, (n_draws, 24, 16)).copy()


def test_a_triangle_of_three_holes_gives_the_hand_result() -> None:
    """5,000 ft2, 10, 12 and 14 ft at 100, 60 and 20 mg/yd3.

    2,222.2 yd3 at 55.56 mg/yd3 (plain mean 60.0): 123.46 g.
    """
    side = 100.0 * FOOT_M
    step = side / 400
    cells = grid(400, 400, step)
    s, n = np.meshgrid(cells.s_m, cells.n_m + side / 2.0, indexing="ij")
    u, v = s / side, n / side
    inside = u + v < 1.0
    depth = (10.0 + 2.0 * u + 4.0 * v) * FOOT_M
    # mg/yd3 times ft, as mg/m2: linear between the holes.
    gold = (1000.0 - 280.0 * u - 720.0 * v) * FOOT_M / CUBIC_YARD_M3
    cells = replace(cells, sampled=inside)
    horizon = layer(gold, top_m=0.0, thickness_m=depth[None])
    blocks = build_blocks(cells, [horizon], edge_m=10.0 * step, min_pay_m=0.0)
    npt.assert_allclose(blocks.gold_mg.sum() / 1000.0, 123.46, rtol=0.005)
    npt.assert_allclose(blocks.pay_m3.sum() / CUBIC_YARD_M3, 2222.2, rtol=0.005)
    npt.assert_allclose(
        blocks.gold_mg.sum() / blocks.pay_m3.sum() * CUBIC_YARD_M3, 55.56, rtol=0.001
    )


def test_two_lines_of_holes_give_the_end_area_volume() -> None:
    """Depths 8, 10, 9 and 6, 9, 9 ft, 50 ft apart, lines 100 ft apart: 3,240.7 yd3."""
    step = FOOT_M
    cells = grid(100, 100, step)
    along = cells.s_m / (100.0 * FOOT_M)
    across = (cells.n_m + 50.0 * FOOT_M) / FOOT_M
    upper = np.interp(across, [0.0, 50.0, 100.0], [8.0, 10.0, 9.0])
    lower = np.interp(across, [0.0, 50.0, 100.0], [6.0, 9.0, 9.0])
    depth = (upper + along[:, None] * (lower - upper)) * FOOT_M
    horizon = layer(np.zeros((100, 100)), top_m=0.0, thickness_m=depth[None])
    blocks = build_blocks(cells, [horizon], edge_m=3.0, min_pay_m=0.0)
    npt.assert_allclose(blocks.pay_m3.sum() / CUBIC_YARD_M3, 3240.7, rtol=1e-4)


def test_a_wall_of_a_pit_gives_the_hand_ratios() -> None:
    """3 ft of cover over 2.5 + 1.5 + 0.5 ft: 23.0 mg/ft2, strip ratio 0.667."""
    thickness = 4.5 * FOOT_M
    grams = (21.6 * 2.5 + 108.0 * 1.5 + 810.0 * 0.5) * FOOT_M / CUBIC_YARD_M3
    blocks = blocks_of(
        layer(np.full((2, 2), grams), top_m=3.0 * FOOT_M, thickness_m=thickness)
    )
    npt.assert_allclose(blocks.gold_mg.sum() / (4.0 / FOOT_M**2), 23.0, atol=0.01)
    npt.assert_allclose(blocks.cover_m3.sum() / blocks.pay_m3.sum(), 0.667, atol=0.001)


@settings(max_examples=25)
@given(seed=st.integers(0, 10_000), edge_m=st.floats(0.7, 6.0))
def test_gold_is_neither_lost_nor_made_in_blocks(seed: int, edge_m: float) -> None:
    rng = np.random.default_rng(seed)
    cells = grid(17, 11)
    cells = replace(cells, sampled=rng.random((17, 11)) < 0.7)
    gold = rng.lognormal(3.0, 1.0, (4, 17, 11))
    blocks = build_blocks(cells, [layer(gold)], edge_m=edge_m, min_pay_m=0.3)
    expected = np.where(cells.sampled, gold, 0.0).sum(axis=(1, 2))
    npt.assert_allclose(blocks.gold_mg.sum(axis=(1, 2, 3)), expected)
    whole = blocks.pay_m3.sum(axis=(1, 2, 3)) + blocks.cover_m3.sum(axis=(1, 2))
    npt.assert_allclose(whole, 1.5 * 17 * 11)


def test_thin_pay_takes_its_roof_along() -> None:
    """0.1 m at 1.0 m is mined as 0.3 m from 0.8 m; 0.8 m of cover stays."""
    blocks = blocks_of(layer(np.ones((2, 2)), thickness_m=0.1), min_pay_m=0.3)
    npt.assert_allclose(blocks.pay_m3.sum(), 4.0 * 0.3)
    npt.assert_allclose(blocks.cover_m3.sum(), 4.0 * 0.8)
    npt.assert_allclose(blocks.top_m, 0.8)


def test_two_horizons_share_the_ground_between_them() -> None:
    blocks = blocks_of(
        layer(np.ones((2, 2)), top_m=0.2, thickness_m=0.3, name="false-1"),
        layer(np.ones((2, 2)), top_m=0.9, thickness_m=0.3),
    )
    npt.assert_allclose(blocks.pay_m3.sum(axis=(0, 2, 3)), [1.2, 1.2])
    npt.assert_allclose(blocks.cover_m3.sum(), 4.0 * 0.6)


def test_overlapping_horizons_never_hold_more_than_the_ground() -> None:
    blocks = blocks_of(
        layer(np.ones((2, 2)), top_m=0.0, thickness_m=1.0, name="gravel"),
        layer(np.ones((2, 2)), top_m=0.6, thickness_m=0.5),
    )
    npt.assert_allclose(blocks.pay_m3.sum() + blocks.cover_m3.sum(), 4.0 * 1.1)


def test_a_depth_that_cannot_be_told_takes_the_typical_one() -> None:
    top = np.array([[[1.0, np.nan], [1.2, 1.1]]])
    blocks = blocks_of(layer(np.ones((2, 2)), top_m=top), edge_m=1.0)
    npt.assert_allclose(blocks.top_m[0], [[1.0, 1.1], [1.2, 1.1]])
    blind = blocks_of(layer(np.ones((2, 2)), top_m=np.nan, thickness_m=np.nan))
    npt.assert_allclose(blind.cover_m3, 0.0)


def test_blocks_outside_the_boundary_are_forbidden_when_partly_outside() -> None:
    cells = grid(4, 4)
    cells.allowed[0, 0] = False
    blocks = build_blocks(cells, [layer(np.ones((4, 4)))], edge_m=2.0, min_pay_m=0.0)
    npt.assert_array_equal(blocks.allowed, [[False, True], [True, True]])


def test_no_horizon_is_refused() -> None:
    with pytest.raises(ValueError, match=r"0 horizons in blocks of 2.0 m"):
        build_blocks(grid(2, 2), [], edge_m=2.0, min_pay_m=0.0)


def test_pay_is_washed_only_where_it_covers_the_difference() -> None:
    """Washing costs 7 more than stripping: 0.5 m of it 3.5 a m2, 85.8 mg/m2."""
    gold = np.array([[85.0, 87.0]])
    washed = choose_washing(blocks_of(layer(gold), edge_m=1.0), TERMS)
    npt.assert_array_equal(washed[0], [[False, True]])


def test_slices_of_a_wall_come_out_even() -> None:
    """2 m at 33.69 degrees fall 1.333 m: three slices of 0.444 m."""
    blocks = blocks_of(layer(np.ones((4, 4))))
    npt.assert_allclose(slice_height_m(blocks, GRAVEL_WALL_DEG), 0.4444, atol=1e-4)
    deep = blocks_of(layer(np.ones((4, 4)), top_m=20.0))
    npt.assert_allclose(slice_height_m(deep, GRAVEL_WALL_DEG), 1.3333, atol=1e-4)
    with pytest.raises(ValueError, match=r"wall_slope_deg is 90.0"):
        slice_height_m(blocks, 90.0)


def test_every_column_is_shared_out_whole_over_its_slices() -> None:
    rng = np.random.default_rng(2)
    blocks = blocks_of(
        layer(np.ones((6, 6)), top_m=rng.uniform(0.1, 0.4, (1, 6, 6)), name="false-1"),
        layer(np.ones((6, 6)), top_m=rng.uniform(1.0, 2.0, (1, 6, 6))),
    )
    pay, cover = slice_shares(blocks, 0.4)
    npt.assert_allclose(pay.sum(axis=1), 1.0)
    npt.assert_allclose(cover.sum(axis=0), 1.0)


def test_rules_of_a_two_by_one_ground_are_those_drawn_by_hand() -> None:
    """Two columns of three slices; the wall falls two slices from one to the next."""
    blocks = blocks_of(layer(np.ones((2, 1)), top_m=0.7, thickness_m=0.2), edge_m=1.0)
    block, needs = wall_rules(blocks, 0.3, np.rad2deg(np.arctan(0.6)))
    found = sorted(zip(block.tolist(), needs.tolist(), strict=True))
    assert found == [(2, 0), (3, 1), (4, 1), (4, 2), (5, 0), (5, 3)]


def test_a_rich_ribbon_is_mined_and_poor_sides_only_for_its_walls() -> None:
    pit = find_cut(blocks_of(layer(ribbon())), TERMS)
    assert margin(pit, TERMS) > 0.0
    depth = pit.depth_m
    assert np.all(depth[:, 3:5] > 1.4)
    assert np.all(depth[:, [0, -1]] == 0.0)


def test_walls_are_never_steeper_than_said() -> None:
    rng = np.random.default_rng(6)
    gold = ribbon() * rng.lognormal(0.0, 0.8, (1, 24, 16))
    pit = find_cut(blocks_of(layer(gold, top_m=2.2)), TERMS)
    assert not pit.is_empty
    levels = pit.mined.sum(axis=0)
    for axis in (0, 1):
        assert np.abs(np.diff(levels, axis=axis)).max() <= 3


def test_poor_ground_gives_an_empty_pit_that_costs_only_its_fixed_sum() -> None:
    pit = find_cut(blocks_of(layer(ribbon(crest_mg_m2=40.0))), TERMS)
    assert pit.is_empty
    assert margin(pit, TERMS) == 0.0


def test_ground_outside_the_boundary_is_left() -> None:
    cells = grid(24, 16)
    cells.allowed[:12] = False
    blocks = build_blocks(cells, [layer(ribbon())], edge_m=2.0, min_pay_m=0.0)
    pit = find_cut(blocks, TERMS)
    assert not pit.mined[:, :6].any()
    assert pit.mined[:, 6:].any()


def test_a_lone_patch_that_would_not_pay_for_moving_there_is_left() -> None:
    gold = ribbon()
    gold[:, 4:] = 0.0
    busy = replace(TERMS, per_hour=40.0, wash_per_m3=2.0, strip_per_m3=1.0)
    assert not find_cut(blocks_of(layer(gold)), busy).is_empty
    dear = replace(busy, hours_per_day=4000.0)
    assert find_cut(blocks_of(layer(gold)), dear).is_empty


@settings(max_examples=15)
@given(more=st.floats(1.0, 3.0), crest=st.floats(50.0, 1500.0))
def test_dearer_gold_never_lowers_the_margin(more: float, crest: float) -> None:
    blocks = blocks_of(layer(ribbon(crest_mg_m2=crest)))
    dearer = replace(TERMS, price_per_g=60.0 * more)
    low, high = (margin(find_cut(blocks, one), one) for one in (TERMS, dearer))
    assert high >= low - 0.01


def test_a_fixed_sum_for_each_season_makes_the_cut_smaller_and_surer() -> None:
    gold = ribbon()
    gold[:, :12] *= 0.4
    slow = replace(TERMS, m3_per_hour=0.5, digs_m3_per_hour=4.0, days=10.0)
    whole = find_cut(blocks_of(layer(gold)), slow)
    dear = replace(slow, fixed=700.0)
    fewer = find_cut(blocks_of(layer(gold)), dear)
    assert fewer.hours(dear).mean() < whole.hours(slow).mean()
    assert margin(fewer, dear) >= float((whole.revenue(dear) - whole.cost(dear)).mean())


def test_money_of_a_pit_agrees_with_hand_arithmetic() -> None:
    """2x2 m straight down: 900 mg/m2, 1 m of cover, 0.5 m of pay.

    3,600 mg at 0.0408 bring 146.88; 2 m3 at 10 and 4 m3 at 3 cost 32; 100 fixed.
    """
    terms = replace(TERMS, fixed=100.0, reclaim_per_m2=1.0)
    pit = find_cut(blocks_of(layer(np.full((2, 2), 900.0))), terms)
    npt.assert_allclose(pit.revenue(terms), 146.88)
    npt.assert_allclose(pit.cost(terms), 20.0 + 12.0 + 4.0 + 100.0)
    npt.assert_allclose(pit.hours(terms), 2.0 / 5.0 + 4.0 / 20.0)


def test_stretches_add_up_to_the_cut_and_run_upstream() -> None:
    blocks = blocks_of(layer(ribbon(n_draws=3)))
    pit = find_cut(blocks, TERMS)
    stretches = plan_stretches(
        blocks.s_edges_m,
        TERMS,
        gold_mg=pit.gold_mg.sum(axis=2),
        pay_m3=pit.pay_m3.sum(axis=2),
        cover_m3=pit.cover_m3.sum(axis=2),
        opened_m2=pit.opened_m2.sum(axis=1),
    )
    assert [one.s0_m for one in stretches] == [12.0, 0.0]
    npt.assert_allclose(sum(one.hours for one in stretches), pit.hours(TERMS).mean())
    npt.assert_allclose(
        sum(one.margin for one in stretches), pit.revenue(TERMS) - pit.cost(TERMS)
    )


@pytest.mark.parametrize(("hours", "seasons"), [(0.0, 1), (400.0, 1), (401.0, 2)])
def test_a_season_begun_counts_whole(hours: float, seasons: int) -> None:
    """50 days of 8 h are 400 h."""
    assert season_count(hours, TERMS) == seasons


def test_a_stretch_in_which_nothing_is_taken_is_left_out() -> None:
    rows = np.ones((1, 4))
    stretches = plan_stretches(
        np.array([0.0, 10.0, 20.0, 30.0, 40.0]),
        TERMS,
        gold_mg=rows,
        pay_m3=rows,
        cover_m3=rows,
        opened_m2=np.array([5.0, 0.0, 0.0, 5.0]),
    )
    assert [(one.s0_m, one.s1_m) for one in stretches] == [(30.0, 40.0), (0.0, 10.0)]


def test_a_block_is_not_chosen_for_a_few_lucky_draws() -> None:
    """2 draws of 200 hold 100 times the gold: the mean pays, the cautious mean not."""
    gold = np.full((200, 2, 2), 10.0)
    gold[:2] = 20_000.0
    blocks = blocks_of(layer(gold))
    npt.assert_allclose(blocks.gold_mg.mean(), 4.0 * 209.9)
    npt.assert_allclose(blocks.cautious_gold_mg, 40.0)
    assert find_cut(blocks, TERMS).is_empty


def test_caution_costs_little_where_draws_agree() -> None:
    rng = np.random.default_rng(1)
    blocks = blocks_of(layer(rng.lognormal(5.0, 0.3, (240, 2, 2))))
    npt.assert_allclose(blocks.cautious_gold_mg, blocks.gold_mg.mean(axis=0), rtol=0.01)


def test_cells_folded_to_nothing_inside_a_bend_still_have_a_depth() -> None:
    """On the inside of a bend tighter than the strip cells lose all their area."""
    cells = grid(4, 4)
    cells.area_m2[:, :2] = 0.0
    blocks = build_blocks(cells, [layer(np.ones((4, 4)))], edge_m=2.0, min_pay_m=0.0)
    npt.assert_allclose(blocks.floor_m[:, 0], 1.0)
    npt.assert_allclose(blocks.floor_m[:, 1], 1.5)
    npt.assert_allclose(blocks.gold_mg.sum(), 8.0)
