"""Stream trees drawn by hand give the same record as a surface does."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.drawnstreams import join_lines
from pennyweight.terrain.naming import DrawnLine
from pennyweight.terrain.snapping import snap_places


def drawn(name: str, *places: tuple[float, float], main: bool = False) -> DrawnLine:
    return DrawnLine(np.array(places, dtype=np.float64), name, main)


MAIN = drawn("Main", (0, 100), (0, 0), main=True)


def test_a_feeder_cuts_the_creek_in_two() -> None:
    tree = join_lines([MAIN, drawn("Side", (40, 60), (0, 30))])
    assert tree.name == ("Main", "Main", "Side")
    npt.assert_array_equal(tree.downstream, [1, -1, 1])
    npt.assert_allclose(tree.length_m, [70.0, 30.0, 50.0])
    npt.assert_allclose(tree.head_m, [100.0, 30.0, 80.0])
    assert tree.findings == ()
    assert tree.drawn


def test_a_feeder_may_be_drawn_either_way_and_stop_short() -> None:
    """It stops 3 m short; the tree carries it to the creek."""
    down = join_lines([MAIN, drawn("Side", (40, 30), (3, 30))])
    up = join_lines([MAIN, drawn("Side", (3, 30), (40, 30))])
    npt.assert_allclose(down.line(2), up.line(2))
    npt.assert_allclose(down.line(2)[-1], [0.0, 30.0])
    npt.assert_allclose(down.length_m[2], 40.0)


def test_feeders_of_feeders_are_joined_in_any_order() -> None:
    side = drawn("Side", (40, 30), (0, 30))
    upper = drawn("Upper", (90, 80), (41, 31))
    first, second = join_lines([MAIN, side, upper]), join_lines([upper, side, MAIN])
    for tree in (first, second):
        below = {
            tree.name[k]: tree.name[int(tree.downstream[k])]
            for k in range(tree.n_reaches)
            if tree.name[k] != "Main"
        }
        assert below == {"Side": "Main", "Upper": "Side"}
        assert tree.findings == ()
    assert first.order.max() == 2


def test_a_line_that_reaches_nothing_is_told_and_kept_apart() -> None:
    tree = join_lines([MAIN, drawn("Far", (500, 0), (600, 0))])
    assert [finding.problem for finding in tree.findings] == [
        "neither of its ends comes within 30 m of another stream"
    ]
    npt.assert_array_equal(tree.downstream, [-1, -1])


def test_a_loop_is_told() -> None:
    tree = join_lines([MAIN, drawn("Braid", (0, 80), (50, 55), (0, 30))])
    assert "run in a loop" in tree.findings[0].problem
    assert np.sum(tree.downstream < 0) == 1
    npt.assert_allclose(tree.line(2)[-1], [0.0, 30.0])


def test_a_ring_of_creeks_is_told_and_still_ends_somewhere() -> None:
    ring = [
        drawn("One", (0, 0), (100, 0), main=True),
        drawn("Two", (100, 0), (50, 80), main=True),
        drawn("Three", (50, 80), (0, 0), main=True),
    ]
    tree = join_lines(ring)
    assert np.sum(tree.downstream < 0) == 1
    assert any("loop" in finding.problem for finding in tree.findings)


def test_lines_without_length_and_crossing_themselves_are_told() -> None:
    tree = join_lines(
        [
            drawn("Knot", (0, 0), (10, 10), (10, 0), (0, 10), main=True),
            drawn("Dot", (5, 5), (5, 5)),
        ]
    )
    said = [finding.problem for finding in tree.findings]
    assert said == [
        "its 2 points are fewer than two different places",
        "it crosses itself, which a stream cannot",
    ]
    assert tree.n_reaches == 1


def test_two_feeders_at_one_place_join_the_same_reach() -> None:
    tree = join_lines(
        [MAIN, drawn("Left", (30, 50), (0, 50)), drawn("Right", (-30, 50), (0, 50.2))]
    )
    npt.assert_array_equal(tree.downstream, [1, -1, 1, 1])


def test_a_creek_in_two_pieces_is_one_stream() -> None:
    tree = join_lines(
        [
            drawn("Upper", (0, 200), (0, 101), main=True),
            drawn("Lower", (0, 100), (0, 0), main=True),
        ]
    )
    npt.assert_array_equal(tree.downstream, [1, -1])
    assert tree.head_m[0] == pytest.approx(200.0)
    assert tree.findings == ()


def test_no_lines_are_no_tree() -> None:
    tree = join_lines([])
    assert tree.n_reaches == 0
    assert snap_places(tree, [1.0], [2.0]).reach[0] == -1


def test_heights_and_catchments_of_drawn_lines_are_unknown() -> None:
    tree = join_lines([MAIN])
    assert np.isnan(tree.slope).all()
    assert np.isnan(tree.area_m2).all()
