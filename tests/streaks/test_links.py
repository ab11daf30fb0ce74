"""The chain of links against brute force, and its draws against its marginals."""

from itertools import product

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.crossings import Crossings
from pennyweight.streaks.joins import list_joins
from pennyweight.streaks.links import (
    SIDEWAYS_M,
    Floor,
    Topologies,
    _emissions,
    _gap_between,
    chain_links,
    draw_joins,
)

#: Four standard errors of a share from this many draws stay below 0.03.
N_DRAWS = 4000


def crossings_of(*lines: list[tuple[float, float, float]]) -> Crossings:
    """Candidates as (n_m, presence, gold per meter), line by line."""
    rows = [(at, *one) for at, line in enumerate(lines) for one in line]
    table = np.array(rows, dtype=np.float64).reshape(-1, 4).T
    n = table.shape[1]
    return Crossings(
        line=table[0].astype(np.int64),
        low=np.zeros(n, dtype=np.int64),
        high=np.zeros(n, dtype=np.int64),
        presence=table[2],
        n_m=table[1],
        n_sd_m=np.full(n, 0.4),
        log_gold=np.log(table[3]),
        log_gold_sd=np.full(n, 0.3),
    )


def floor_of(n_lines: int, gap_m: float = 15.0) -> Floor:
    return Floor(
        lines=np.arange(n_lines),
        line_s_m=gap_m * np.arange(n_lines),
        width_m=30.0,
        shift_sd_m=0.5,
    )


def chained(crossings: Crossings, floor: Floor, n_draws: int = 50) -> Topologies:
    rng = np.random.default_rng(11)
    return chain_links(crossings, floor, n_draws=n_draws, rng=rng)


MERGING = crossings_of(
    [(-4.0, 0.9, 300.0), (4.0, 0.8, 200.0)],
    [(-2.5, 0.95, 320.0), (3.0, 0.6, 180.0)],
    [(0.0, 0.97, 500.0), (9.0, 0.2, 60.0)],
)


def brute_force(crossings: Crossings, floor: Floor) -> tuple[np.ndarray, np.ndarray]:
    """Sum every state of every line and every way to join, one by one."""
    index = {
        (int(a), int(b)): at
        for at, (a, b) in enumerate(
            (a, b)
            for above, below, _ in floor.pairs()
            for a in crossings.of_line(above)
            for b in crossings.of_line(below)
        )
    }
    emissions = _emissions(crossings, floor)
    crossing, link, total = np.zeros(len(crossings.line)), np.zeros(len(index)), 0.0
    for sideways_m in SIDEWAYS_M:
        gaps = [
            _gap_between(crossings, pair, floor, sideways_m) for pair in floor.pairs()
        ]
        for states in product(*(range(len(one)) for one in emissions)):
            for ways in product(*(range(len(gap.log_way)) for gap in gaps)):
                weight = np.prod([e[s] for e, s in zip(emissions, states, strict=True)])
                on = []
                for gap, way, above, below in zip(
                    gaps, ways, states, states[1:], strict=False
                ):
                    parents = int(gap.joins.parent_mask[way])
                    children = int(gap.joins.child_mask[way])
                    if parents & ~above or children & ~below:
                        weight = 0.0
                        break
                    died = (above & ~parents).bit_count()
                    born = (below & ~children).bit_count()
                    weight *= np.exp(
                        gap.log_way[way] + died * gap.log_death + born * gap.log_birth
                    )
                    for child, taken in enumerate(gap.joins.choice[way]):
                        on += [
                            index[int(gap.ends[0][p]), int(gap.ends[1][child])]
                            for p in gap.joins.parents[taken]
                        ]
                if weight == 0.0:
                    continue
                total += weight
                link[on] += weight
                for line, state in enumerate(states):
                    for at, candidate in enumerate(crossings.of_line(line)):
                        if state >> at & 1:
                            crossing[candidate] += weight
    return crossing / total, link / total


def test_chain_agrees_with_brute_force() -> None:
    floor = floor_of(3)
    found = chained(MERGING, floor)
    crossing, link = brute_force(MERGING, floor)
    npt.assert_allclose(found.crossing_probability, crossing, atol=1e-10)
    npt.assert_allclose(found.link_probability, link, atol=1e-10)


def test_joint_draws_have_the_marginals_of_the_chain() -> None:
    found = chained(MERGING, floor_of(3), N_DRAWS)
    npt.assert_allclose(found.real.mean(axis=0), found.crossing_probability, atol=0.03)
    npt.assert_allclose(found.linked.mean(axis=0), found.link_probability, atol=0.03)


def test_a_link_needs_both_its_ends() -> None:
    found = chained(MERGING, floor_of(3), 400)
    assert not (found.linked & ~found.real[:, found.parent]).any()
    assert not (found.linked & ~found.real[:, found.child]).any()


def test_two_streaks_that_come_together_merge() -> None:
    """Both parents' gold together is the child's, and no other child is near."""
    merging = crossings_of([(-2.5, 1.0, 300.0), (2.5, 1.0, 250.0)], [(0.0, 1.0, 550.0)])
    found = chained(merging, floor_of(2))
    assert found.link_probability.min() > 0.6


def test_far_apart_crossings_are_not_joined() -> None:
    apart = crossings_of([(-12.0, 1.0, 300.0)], [(12.0, 1.0, 300.0)])
    assert chained(apart, floor_of(2)).link_probability[0] < 0.1


def test_parallel_streaks_go_on_each_by_itself() -> None:
    rows = [(-6.0, 1.0, 300.0), (6.0, 1.0, 300.0)]
    found = chained(crossings_of(rows, rows, rows), floor_of(3))
    straight = (found.parent % 2) == (found.child % 2)
    assert found.link_probability[straight].min() > 0.9
    assert found.link_probability[~straight].max() < 0.1


def test_joins_given_all_states_keep_to_them() -> None:
    floor = floor_of(3)
    found = chained(MERGING, floor, 300)
    linked = draw_joins(
        MERGING,
        floor,
        found.real,
        sideways_m=found.sideways_m,
        rng=np.random.default_rng(2),
    )
    assert not (linked & ~found.real[:, found.parent]).any()
    npt.assert_allclose(linked.mean(axis=0), found.link_probability, atol=0.12)


def test_one_line_has_no_links() -> None:
    found = chained(crossings_of([(0.0, 0.7, 300.0)]), floor_of(1), N_DRAWS)
    assert found.linked.shape == (N_DRAWS, 0)
    assert found.crossing_probability[0] == pytest.approx(0.7)


def test_a_line_without_candidates_ends_every_streak() -> None:
    """Real at 0.9 and ending at 0.03 against not there: 0.027 / (0.027 + 0.1).

    On the last line beginning at 0.04: 0.036 / (0.036 + 0.1).
    """
    found = chained(
        crossings_of([(0.0, 0.9, 300.0)], [], [(0.0, 0.9, 300.0)]), floor_of(3)
    )
    assert len(found.parent) == 0
    expected = [0.027 / 0.127, 0.036 / 0.136]
    npt.assert_allclose(found.crossing_probability, expected, atol=1e-6)


def test_probabilities_that_leave_a_crossing_sum_to_two_at_most() -> None:
    found = chained(MERGING, floor_of(3))
    leaving = np.bincount(found.parent, found.link_probability)
    assert leaving.max() <= 2.0


@pytest.mark.parametrize(("parents", "children", "ways"), [(1, 1, 2), (2, 2, 10)])
def test_ways_to_join_can_be_listed_by_hand(
    parents: int, children: int, ways: int
) -> None:
    """From 2 to 2: none, 4 single, 1 pair side by side, 2 merges, 2 splits: 10."""
    assert len(list_joins(parents, children).choice) == ways


def test_links_of_a_way_never_cross() -> None:
    joins = list_joins(4, 4)
    for choice in joins.choice:
        pairs = [
            (p, child) for child, at in enumerate(choice) for p in joins.parents[at]
        ]
        assert all((a[0] - b[0]) * (a[1] - b[1]) >= 0 for a in pairs for b in pairs)
