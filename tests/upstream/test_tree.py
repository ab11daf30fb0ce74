"""The stream tree: order, ways, areas, pieces."""

import numpy as np
import pytest

from pennyweight.upstream.tree import (
    cut_reaches,
    gather,
    make_tree,
    order_upstream_first,
    slope_factor,
)

#: Reaches 0 and 1 meet at the head of 2, which leaves.
DOWN = [2, 2, -1]


def test_every_reach_comes_after_those_that_flow_into_it():
    order = order_upstream_first(np.array([2, 2, 4, 4, -1])).tolist()
    assert order.index(4) > order.index(2) > max(order.index(0), order.index(1))


def test_a_loop_is_named_with_its_reach():
    with pytest.raises(ValueError, match="reach 1 flows back into itself"):
        make_tree([-1, 2, 1], [10.0, 10.0, 10.0])


def test_a_negative_length_is_named():
    with pytest.raises(ValueError, match=r"reach 1 is -3\.0 m long"):
        make_tree([-1, 0], [10.0, -3.0])


def test_a_reach_that_flows_nowhere_is_named():
    with pytest.raises(ValueError, match="reach 0 flows into reach 7"):
        make_tree([7, -1], [10.0, 3.0])


def test_the_way_to_the_outlet_is_that_of_all_reaches_below():
    tree = make_tree(DOWN, [100.0, 200.0, 50.0])
    assert tree.foot_m.tolist() == [50.0, 50.0, 0.0]


def test_sediment_of_a_confluence_is_the_sum():
    tree = make_tree(DOWN, [1.0, 1.0, 1.0], own_area_km2=[2.0, 3.0, 0.5])
    assert tree.supply_km2.tolist() == [2.0, 3.0, 5.5]
    assert gather(tree.down, tree.order, np.ones(3)).tolist() == [1.0, 1.0, 3.0]


def test_soft_rock_gives_more_sediment():
    tree = make_tree(
        DOWN, [1.0, 1.0, 1.0], own_area_km2=[1.0, 1.0, 1.0], erodibility=[3.0, 1.0, 1.0]
    )
    assert tree.supply_km2.tolist() == [3.0, 1.0, 5.0]


def test_unknown_catchments_follow_the_length():
    tree = make_tree(DOWN, [1000.0, 2000.0, 500.0])
    assert tree.own_area_km2.tolist() == [1.0, 2.0, 0.5]


def test_a_slope_four_times_the_usual_gives_twice_the_sediment():
    assert slope_factor([0.05, 0.05, 0.2]).tolist() == pytest.approx([1.0, 1.0, 2.0])
    assert slope_factor([0.05, 0.05, 50.0])[2] == 3.0


def test_pieces_end_where_samples_were_taken():
    tree = make_tree(
        DOWN,
        [100.0, 200.0, 50.0],
        own_area_km2=[2.0, 3.0, 0.5],
        head_area_km2=[1.0, 0.0, 0.0],
    )
    pieces = cut_reaches(tree, [0, 2], [40.0, 0.0])
    assert pieces.above_m[pieces.at].tolist() == [40.0, 0.0]
    # Reach 0 in two: 40 m and 60 m, the ground above the head with the upper one.
    assert pieces.tree.length_m.tolist() == [40.0, 60.0, 200.0, 50.0]
    assert pieces.tree.own_area_km2 == pytest.approx([0.4, 1.6, 3.0, 0.5])
    assert pieces.tree.down.tolist() == [3, 0, 3, -1]


def test_pieces_keep_area_and_length():
    rng = np.random.default_rng(3)
    tree = make_tree(
        DOWN,
        [130.0, 210.0, 77.0],
        own_area_km2=[2.0, 3.0, 0.5],
        head_area_km2=[1, 2, 0],
    )
    pieces = cut_reaches(
        tree, rng.integers(3, size=6), rng.uniform(0.0, 250.0, 6), longest_m=40.0
    )
    assert pieces.tree.length_m.sum() == pytest.approx(417.0)
    assert pieces.tree.own_area_km2.sum() == pytest.approx(5.5)
    assert pieces.tree.length_m.max() <= 40.0
