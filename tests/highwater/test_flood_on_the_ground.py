"""The flood on ground: steady, conserving, and plain about what it cannot do."""

from dataclasses import replace

import numpy as np
import pytest
from flumes import flume, meandering_valley

from pennyweight.highwater.flood import (
    Flood,
    Pace,
    flood_at,
    flood_steps,
    let_run,
    still_water,
)
from pennyweight.highwater.reach import (
    Reach,
    cells_further_out,
    coarsen,
    outside,
    rim_cells,
    spread_inflow,
)
from pennyweight.progress import Cancelled

CONSERVED = 1e-9
QUICKLY = Pace(tolerance=0.05)


@pytest.fixture(scope="module")
def valley() -> Reach:
    return meandering_valley(80, 4.0)


@pytest.fixture(scope="module")
def floods(valley: Reach) -> tuple[Flood, ...]:
    return flood_steps(valley, [20.0, 60.0])


def test_what_comes_in_leaves_or_stays(floods: tuple[Flood, ...]) -> None:
    for flood in floods:
        assert flood.balance.error_share < CONSERVED
        assert flood.balance.inflow_m3 > flood.balance.outflow_m3 > 0.0


def test_a_flood_comes_to_rest_at_its_discharge(floods: tuple[Flood, ...]) -> None:
    for flood in floods:
        assert flood.steady
        assert flood.outflow_m3_s == pytest.approx(flood.discharge_m3_s, rel=0.01)
        assert flood.unsteadiness < 0.01


def test_the_flow_through_each_row_is_the_discharge(floods: tuple[Flood, ...]) -> None:
    """Depth x speed to the south x cell, summed over rows well below the inflow."""
    flow = -np.nansum(floods[1].depth_m * floods[1].north_m_s, axis=1) * 4.0
    assert flow[20:75].tolist() == pytest.approx([60.0] * 55, rel=0.02)


def test_more_water_stands_higher_and_wider(floods: tuple[Flood, ...]) -> None:
    low, high = floods
    assert high.wet.sum() > low.wet.sum()
    assert np.mean(high.depth_m[low.wet] >= low.depth_m[low.wet] - 0.05) > 0.95


def test_no_depth_is_below_zero(floods: tuple[Flood, ...]) -> None:
    assert min(float(flood.depth_m.min()) for flood in floods) >= 0.0


def test_a_start_on_coarse_cells_ends_at_the_same_flood(valley: Reach) -> None:
    direct = flood_at(valley, 60.0, pace=Pace(from_coarse=False))
    staged = flood_at(valley, 60.0)
    apart = np.abs(direct.depth_m - staged.depth_m)[direct.wet | staged.wet]
    assert apart.mean() < 0.02
    assert staged.steps < direct.steps


def test_the_outlet_lies_at_the_far_end(floods: tuple[Flood, ...]) -> None:
    assert floods[0].way_m > 250.0


def test_a_flood_can_be_stopped(valley: Reach) -> None:
    def stop(share: float, doing: str) -> None:
        if share >= 0.0 and doing:
            raise Cancelled

    with pytest.raises(Cancelled):
        flood_at(valley, 20.0, progress=stop)


def test_progress_never_runs_back(valley: Reach) -> None:
    told: list[float] = []
    flood_at(valley, 20.0, pace=QUICKLY, progress=lambda share, _: told.append(share))
    assert told[0] >= 0.0
    assert told[-1] <= 1.0
    assert told[-1] > told[0]


def test_time_that_is_up_is_told_as_not_steady(valley: Reach) -> None:
    flood = flood_at(valley, 20.0, pace=Pace(longest_s=5.0, from_coarse=False))
    assert not flood.steady
    assert flood.balance.error_share < CONSERVED


def test_holes_stand_as_walls_and_are_counted(valley: Reach) -> None:
    bed = valley.bed_m.copy()
    bed[40:42, 38:41] = np.nan
    flood = flood_at(replace(valley, bed_m=bed), 20.0, pace=QUICKLY)
    assert flood.holes == 6
    assert np.isnan(flood.depth_m[40, 39])
    assert np.isnan(flood.shear_pa[40, 39])
    assert flood.balance.error_share < CONSERVED


def test_unknown_ground_around_the_reach_is_beyond_the_rim(valley: Reach) -> None:
    bed = valley.bed_m.copy()
    bed[76:] = np.nan
    bed[:, :3] = np.nan
    flood = flood_at(replace(valley, bed_m=bed), 20.0, pace=QUICKLY)
    assert flood.holes == 0
    assert flood.outflow_m3_s == pytest.approx(20.0, rel=0.05)
    assert flood.balance.error_share < CONSERVED


def test_a_roughness_a_cell_is_the_same_as_one_for_all(valley: Reach) -> None:
    one = flood_at(valley, 20.0, pace=QUICKLY)
    rough = np.full(valley.bed_m.shape, 0.04)
    each = flood_at(replace(valley, manning_n=rough), 20.0, pace=QUICKLY)
    assert np.array_equal(one.depth_m, each.depth_m)


@pytest.mark.parametrize("discharge", [0.0, -3.0, np.nan, np.inf])
def test_a_discharge_that_is_none_is_named(valley: Reach, discharge: float) -> None:
    with pytest.raises(ValueError, match=f"discharge is {discharge}"):
        flood_at(valley, discharge)


def test_a_flat_model_says_that_there_is_no_way_out() -> None:
    flat = Reach(np.full((20, 20), 3.0), 1.0, np.array([[0, 10]]))
    with pytest.raises(ValueError, match=r"no way out.*3\.00 m"):
        flood_at(flat, 1.0)


def test_inflow_at_the_lowest_place_says_that_there_is_no_way_out(
    valley: Reach,
) -> None:
    row, column = np.unravel_index(valley.bed_m.argmin(), valley.bed_m.shape)
    with pytest.raises(ValueError, match="Let it in upstream"):
        flood_at(replace(valley, inflow=np.array([[row, column]])), 1.0)


def test_inflow_on_a_dry_rim_runs_down_into_the_valley() -> None:
    """High on the side: the water finds the creek, and all of it leaves below."""
    valley = replace(meandering_valley(40, 8.0), inflow=np.array([[5, 0]]))
    flood = flood_at(valley, 5.0, pace=QUICKLY)
    assert flood.steady
    assert flood.way_m > 100.0
    assert flood.balance.error_share < CONSERVED


@pytest.mark.parametrize(
    ("inflow", "said"),
    [
        (np.array([[0, 99]]), r"\(0, 99\) lies outside"),
        (np.array([[5, 5]]), r"\(5, 5\) has no height"),
        (np.zeros((0, 2), np.int64), r"shape \(0, 2\)"),
    ],
)
def test_inflow_where_it_cannot_be_is_named(
    valley: Reach, inflow: np.ndarray, said: str
) -> None:
    bed = valley.bed_m.copy()
    bed[5, 5] = np.nan
    with pytest.raises(ValueError, match=said):
        flood_at(replace(valley, bed_m=bed, inflow=inflow), 5.0)


def test_roughness_cell_and_outlet_out_of_range_are_named(valley: Reach) -> None:
    with pytest.raises(ValueError, match=r"roughness is -0\.1"):
        flood_at(replace(valley, manning_n=-0.1), 5.0)
    with pytest.raises(ValueError, match=r"80 x 80 cells of 0\.0 m"):
        flood_at(replace(valley, cell_m=0.0), 5.0)
    shut = np.zeros(valley.bed_m.shape, np.bool_)
    with pytest.raises(ValueError, match="6400 cells is an outlet"):
        flood_at(replace(valley, outlet=shut), 5.0)


def test_starts_and_steps_that_do_not_fit_are_named(valley: Reach) -> None:
    other = flume(-0.01 * np.arange(10.0), 1.0)
    start = still_water(other, np.zeros(other.bed_m.shape))
    with pytest.raises(ValueError, match=r"start has \(3, 10\)"):
        let_run(valley, start, 1.0)
    with pytest.raises(ValueError, match=r"\[5\.0, 5\.0\]"):
        flood_steps(valley, [5.0, 5.0])
    with pytest.raises(ValueError, match=r"begin at -1\.0 m"):
        still_water(other, np.full(other.bed_m.shape, -1.0))


def test_outside_is_what_joins_the_edge() -> None:
    known = np.ones((5, 5), np.bool_)
    known[0, 0] = known[2, 2] = False
    assert outside(known).sum() == 1
    assert outside(known)[0, 0]


def test_the_rim_continues_the_lowest_open_cell() -> None:
    """Two cells in a row, water in at the left: beyond the right one."""
    bed = np.array([[1.0, 0.5], [9.0, 9.0]])
    rims = rim_cells(Reach(bed, 1.0, np.array([[0, 0]])))
    assert sorted(rims.tolist()) == [[-1, 1, 0, 1], [0, 2, 0, 1]]


def test_inflow_spreads_until_it_rises_slowly() -> None:
    """10 m3/s at 0.25 m/s over cells of 4 m2: ten cells, the near and low first."""
    bed = np.where(np.abs(np.arange(60) - 30.0) < 2.0, 0.0, 5.0)
    reach = Reach(np.tile(bed, (60, 1)), 2.0, np.array([[0, 30]]))
    cells = spread_inflow(reach, 10.0)
    assert cells.shape == (10, 2)
    assert cells[0].tolist() == [0, 30]
    assert set(cells[:, 1]) == {29, 30, 31}


def test_coarser_cells_lie_between_mean_and_lowest() -> None:
    """Cells 0, 4, 4, 4: mean 3, lowest 0, so 1.5; an odd last column stands alone."""
    bed = np.array([[0.0, 4.0, 7.0], [4.0, 4.0, np.nan]])
    half = coarsen(Reach(bed, 1.0, np.array([[1, 2]])))
    assert half.bed_m.tolist() == [[1.5, 7.0]]
    assert half.inflow.tolist() == [[0, 1]]
    assert half.cell_m == 2.0


def test_a_second_cell_beyond_the_rim_lies_behind_the_first() -> None:
    """Not where the ground is known, and no cell twice."""
    known = np.array([[True, True, False], [True, False, True]])
    rims = np.array([[0, 2, 0, 1], [1, 1, 0, 1], [-1, 1, 0, 1]])
    found = cells_further_out(known, rims)
    assert found.tolist() == [[0, 3, 0, 1], [2, 1, 0, 1], [-2, 1, 0, 1]]
    assert cells_further_out(known, np.array([[0, 1, 0, 0]])).tolist() == [[0, 2, 0, 0]]
    assert cells_further_out(known, np.array([[1, 1, 1, 0]])).shape == (0, 4)
