"""Drops of a flood, on fields that are made by hand."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.highwater.dropflow import (
    Bed,
    FloodField,
    carrying_m2_s,
    drop_field,
    fall_of_transport,
    find_flow_drops,
    find_high_bars,
    gold_stage,
)
from pennyweight.highwater.mobility import bedload_m2_s
from pennyweight.terrain.elevation import ElevationModel

BED = Bed(
    size_m=np.array([0.02, 0.06]),
    share=np.array([0.5, 0.5]),
    gold_m=np.array([0.0005, 0.002]),
)
GRID = ElevationModel(np.zeros((30, 80)), 0.0, 30.0, 1.0)


def flowing_east(shear_pa: np.ndarray, depth_m: np.ndarray | float = 1.0) -> FloodField:
    """Return water that runs east at 2 m/s under a given shear."""
    depth = np.broadcast_to(
        np.asarray(depth_m, dtype=np.float64), shear_pa.shape
    ).copy()
    return FloodField(
        discharge_m3_s=10.0,
        depth_m=depth,
        east_m_s=np.full(shear_pa.shape, 2.0),
        north_m_s=np.zeros(shear_pa.shape),
        shear_pa=shear_pa,
    )


def slackens_at(column: int = 40) -> FloodField:
    shear = np.full((30, 80), 90.0)
    shear[:, column:] = 20.0
    return flowing_east(shear)


def test_what_is_carried_is_the_sum_over_the_sizes() -> None:
    carried = carrying_m2_s(flowing_east(np.full((3, 4), 60.0)), BED)
    by_size = bedload_m2_s(60.0, BED.size_m, share=BED.share)
    npt.assert_allclose(carried, by_size.sum())


def test_dry_and_shallow_cells_carry_nothing() -> None:
    depth = np.array([[1.0, 0.01, 0.0, np.nan]])
    carried = carrying_m2_s(flowing_east(np.full((1, 4), 60.0), depth), BED)
    npt.assert_array_equal(carried[0] > 0.0, [True, False, False, False])


def test_transport_falls_where_the_shear_falls() -> None:
    fall = fall_of_transport(slackens_at(), BED, cell_m=1.0, over_m=10.0)
    assert fall[15, 45] > 0.9
    npt.assert_allclose(fall[15, :30], 0.0, atol=1e-9)
    # Ten meters below the change it is compared with the slack itself.
    npt.assert_allclose(fall[15, 60:], 0.0, atol=1e-9)


def test_even_flow_drops_nothing() -> None:
    flood = flowing_east(np.full((30, 80), 50.0))
    assert find_flow_drops(GRID, [flood], BED, over_m=10.0) == []


def test_a_dry_model_drops_nothing() -> None:
    flood = flowing_east(np.full((30, 80), 50.0), 0.0)
    npt.assert_array_equal(fall_of_transport(flood, BED, cell_m=1.0, over_m=5.0), 0.0)


def test_the_field_of_several_floods_is_the_largest_and_says_which() -> None:
    field, number = drop_field(
        [slackens_at(20), slackens_at(60)], BED, cell_m=1.0, over_m=8.0
    )
    assert field[15, 24] > 0.8
    assert field[15, 64] > 0.8
    assert (number[15, 24], number[15, 64]) == (0, 1)


def test_a_drop_is_found_below_the_place_where_the_flow_slackens() -> None:
    found = find_flow_drops(GRID, [slackens_at()], BED, over_m=10.0)
    assert found
    assert all(one.kind == "slackening" for one in found)
    assert all(40.0 <= one.easting_m <= 52.0 for one in found)
    assert found[0].reasons[0].facts["discharge_m3_s"] == 10.0


def test_where_the_flood_is_not_believed_nothing_is_found() -> None:
    nowhere = np.zeros((30, 80), dtype=np.bool_)
    found = find_flow_drops(GRID, [slackens_at()], BED, over_m=10.0, believed=nowhere)
    assert found == []


def test_slack_water_behind_dry_ground_is_a_lee() -> None:
    shear = np.full((30, 80), 90.0)
    shear[12:18, 40:60] = 8.0
    depth = np.ones((30, 80))
    depth[12:18, 34:40] = 0.0
    found = find_flow_drops(GRID, [flowing_east(shear, depth)], BED, over_m=12.0)
    behind = [one for one in found if 12.0 <= one.northing_m <= 18.0]
    assert "lee" in {one.kind for one in behind}


def test_slack_water_along_the_bank_is_no_lee_and_its_feather_edge_no_drop() -> None:
    """The bank reaches the edge of the model; the water beside it is 0.1 m deep."""
    shear = np.full((30, 80), 90.0)
    shear[24:28, 40:60] = 8.0
    depth = np.ones((30, 80))
    depth[24:28, 40:60] = 0.4
    depth[24:, 30:40] = depth[28:, :] = 0.0
    found = find_flow_drops(GRID, [flowing_east(shear, depth)], BED, over_m=12.0)
    assert found
    assert {one.kind for one in found} == {"slackening"}
    depth[24:28, 40:60] = 0.1
    assert find_flow_drops(GRID, [flowing_east(shear, depth)], BED, over_m=12.0) == []


def test_coarser_gold_needs_more_shear() -> None:
    stage = gold_stage(flowing_east(np.full((2, 2), 30.0)), BED)
    assert stage.shape == (2, 2, 2)
    assert stage[0, 0, 0] > stage[1, 0, 0] > 0.0


def test_ground_that_only_the_great_flood_reaches_is_a_high_bar() -> None:
    """A shelf 1 m up, wet at the greatest of three, its water at 0.4 of 2 m/s."""
    above = np.zeros((30, 80))
    above[:8, 20:60] = 1.0
    above[:8, :20] = above[:8, 60:] = 9.0
    floods = []
    for discharge, reaches in ((5.0, False), (15.0, False), (40.0, True)):
        depth = np.where(above > 0.0, 0.0, 1.0)
        depth[:8, 20:60] = 0.4 if reaches else 0.0
        east = np.where(above > 0.0, 0.8, 2.0)
        floods.append(
            FloodField(discharge, depth, east, np.zeros_like(east), 40.0 * depth)
        )
    (found,) = find_high_bars(GRID, floods, above)
    assert found.kind == "high_bar"
    assert found.northing_m > 22.0
    facts = found.reasons[0].facts
    assert facts["reached_m3_s"] == 40.0
    assert facts["above_m"] == 1.0
    # Quiet: 1 - 0.8 / 2; 320 m2 are as good as large.
    assert found.reasons[0].strength == pytest.approx(0.6, abs=0.03)


def test_one_flood_alone_knows_no_high_bar() -> None:
    assert find_high_bars(GRID, [slackens_at()], np.zeros((30, 80))) == []
