"""The best set of blocks against published pits, brute force and a second solver."""

from itertools import product

import networkx as nx  # type: ignore[import-untyped]
import numpy as np
import numpy.testing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.graph.python import max_flow  # type: ignore[import-untyped]

from pennyweight.worth.closure import best_closure

Rules = list[tuple[int, int]]


def take(value: list[float], rules: Rules) -> list[bool]:
    block, needs = zip(*rules, strict=True) if rules else ((), ())
    return [bool(one) for one in best_closure(np.array(value), block, needs)]


def best_by_trying_all(value: list[float], rules: Rules) -> float:
    """Return the greatest value over all sets that keep the rules."""
    return max(
        sum(one for one, taken in zip(value, chosen, strict=True) if taken)
        for chosen in product((False, True), repeat=len(value))
        if all(chosen[needs] or not chosen[block] for block, needs in rules)
    )


def open_cast_example() -> tuple[list[float], Rules]:
    """Return 30 blocks in layers of 4x4, 3x3, 2x2 and 1.

    Williams, Model Building in Mathematical Programming, "Opencast mining": a block
    is worth 2000 for each percent of metal, less the cost of its layer.
    """
    percent = [
        *(
            1.5,
            1.5,
            1.5,
            0.75,
            1.5,
            2,
            1.5,
            0.75,
            1,
            1,
            0.75,
            0.5,
            0.75,
            0.75,
            0.5,
            0.25,
        ),
        *(4, 4, 2, 3, 3, 1, 2, 2, 0.5),
        *(12, 6, 5, 4),
        6,
    ]
    costs = [3000] * 16 + [6000] * 9 + [8000] * 4 + [10000]
    number: dict[tuple[int, int, int], int] = {}
    for layer, side in enumerate((4, 3, 2, 1)):
        for row, column in product(range(side), repeat=2):
            number[layer, row, column] = len(number)
    rules = [
        (at, number[layer - 1, row + down, column + right])
        for (layer, row, column), at in number.items()
        if layer
        for down, right in product((0, 1), repeat=2)
    ]
    return [2000 * p - c for p, c in zip(percent, costs, strict=True)], rules


def test_open_cast_example_gives_its_printed_profit() -> None:
    """17,500, by 14 blocks."""
    value, rules = open_cast_example()
    taken = take(value, rules)
    assert sum(v for v, t in zip(value, taken, strict=True) if t) == 17_500
    assert sum(taken) == 14


def test_the_open_cast_mine_of_another_textbook() -> None:
    """Gueret, Prins and Sevaux 2002, section 6.5: 4,000,000 by 12 blocks.

    A section of 18 blocks of 10,000 t in rows of 8, 6 and 4, each under three of the
    row above; block 18 is worth more than nothing, but its cover costs more.
    """
    net = [100, *[-100] * 5, 200, -100, -1000, 300, -200, 0, -200, -1000]
    net += [-1000, -1000, 700, 200]
    rules = [(8 + at, at + step) for at in range(6) for step in range(3)]
    rules += [(14 + at, 8 + at + step) for at in range(4) for step in range(3)]
    taken = take([float(one) for one in net], rules)
    assert sum(v for v, t in zip(net, taken, strict=True) if t) == 400
    assert [at + 1 for at, t in enumerate(taken) if t] == [
        *range(1, 8),
        10,
        11,
        12,
        13,
        17,
    ]
    assert not taken[17]


def test_a_section_at_45_degrees() -> None:
    """Three rows of seven after Lerchs and Grossmann 1965: +11, depths 0123210."""
    rows = [[-2] * 7, [-3, -3, 4, 6, 2, -3, -3], [-4, -4, 5, 9, -4, -4, -4]]
    value = [float(one) for row in rows for one in row]
    rules = [
        (7 * row + column, 7 * (row - 1) + above)
        for row in (1, 2)
        for column in range(7)
        for above in (column - 1, column, column + 1)
        if 0 <= above < 7
    ]
    # Blocks at the edge would need ground outside of the section.
    value[7] = value[13] = value[14] = value[20] = -1e6
    taken = np.array(take(value, rules)).reshape(3, 7)
    assert np.array(value)[taken.ravel()].sum() == 11.0
    npt.assert_array_equal(taken.sum(axis=0), [0, 1, 2, 3, 2, 1, 0])


@st.composite
def small_grounds(draw: st.DrawFn) -> tuple[list[float], Rules]:
    n = draw(st.integers(1, 9))
    cents = st.integers(-900, 900).map(lambda one: one / 100.0)
    value = draw(st.lists(cents, min_size=n, max_size=n))
    pair = st.tuples(st.integers(0, n - 1), st.integers(0, n - 1))
    return value, [
        rule for rule in draw(st.lists(pair, max_size=14)) if rule[0] != rule[1]
    ]


@settings(max_examples=60)
@given(small_grounds())
def test_small_grounds_agree_with_trying_every_set(
    ground: tuple[list[float], Rules],
) -> None:
    value, rules = ground
    taken = take(value, rules)
    assert all(taken[needs] or not taken[block] for block, needs in rules)
    found = sum(v for v, t in zip(value, taken, strict=True) if t)
    npt.assert_allclose(found, best_by_trying_all(value, rules), atol=1e-9)


def test_a_larger_ground_agrees_with_a_second_solver() -> None:
    rng = np.random.default_rng(8)
    value = np.round(rng.normal(-1.0, 4.0, 300), 2)
    block = rng.integers(20, 300, 900)
    needs = block - rng.integers(1, 20, 900)
    graph = nx.DiGraph()
    for at, one in enumerate(value):
        ends = ("source", at) if one > 0 else (at, "sink")
        graph.add_edge(*ends, capacity=round(abs(one) * 100))
    graph.add_edges_from(zip(block.tolist(), needs.tolist(), strict=True))
    cut, _ = nx.minimum_cut(graph, "source", "sink")
    gains = round(value[value > 0].sum() * 100)
    taken = best_closure(value, block, needs)
    npt.assert_allclose(value[taken].sum() * 100, gains - cut, atol=0.5)


def test_nothing_that_pays_takes_nothing_and_all_that_pays_takes_all() -> None:
    assert take([-1.0, -2.0], [(0, 1)]) == [False, False]
    assert take([1.0, 2.0], []) == [True, True]
    assert take([1.0, 0.0, 0.0], [(0, 1), (1, 2)]) == [True, True, True]
    assert take([], []) == []


def test_a_solver_that_gives_up_is_not_believed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Stuck(max_flow.SimpleMaxFlow):  # type: ignore[misc]
        def solve(self, source: int, sink: int) -> int:
            return int(source + sink)

    monkeypatch.setattr(max_flow, "SimpleMaxFlow", Stuck)
    with pytest.raises(RuntimeError, match=r"2 blocks with values up to 9 was not"):
        best_closure(np.array([9.0, -1.0]), [0], [1])
