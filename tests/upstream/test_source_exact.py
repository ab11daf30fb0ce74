"""The posterior of sources against a plain enumeration of every world."""

import itertools

import numpy as np
import pytest

from pennyweight.upstream.fluxes import FluxScale
from pennyweight.upstream.search import Search, Supposed, begin_search
from pennyweight.upstream.source import find_sources
from pennyweight.upstream.tree import make_tree
from pennyweight.upstream.washing import Washings, make_washings

EXACT = 1e-9
SCALE = FluxScale(lowest=1.0, ratio=2.2, n_levels=4)
STRENGTH = np.array([0.0, 0.1, 0.2, 0.4, 0.3])
#: Two heads meet, a third joins below: 0 and 1 into 2, 2 and 3 into 4.
DOWN = [2, 2, 4, 4, -1]
LENGTHS_M = [300.0, 700.0, 400.0, 900.0, 200.0]
AREAS_KM2 = [0.5, 1.5, 0.4, 2.0, 0.3]
ONE = Supposed(loss_per_km=(0.9,), evenness=(0.8,), everywhere=(0.2,), sources=(1.2,))
SEVERAL = Supposed(
    loss_per_km=(0.0, 1.5), evenness=(0.5, 2.0), everywhere=(0.0, 0.5), sources=(0.7, 2)
)


def search_of(supposed: Supposed, washed: Washings, *, asked: bool = True) -> Search:
    tree = make_tree(DOWN, LENGTHS_M, own_area_km2=AREAS_KM2)
    return begin_search(
        tree,
        washed,
        asked=np.full(5, asked),
        supposed=supposed,
        scale=SCALE,
        strength=STRENGTH,
    )


def worlds_of(search: Search, point: tuple[int, int, int, int]):
    """Yield every world: its probability with the samples, sources, gold at each foot.

    Worlds are built piece after piece; a sum that lies between two levels makes two.
    """
    tree, supposed = search.tree, search.supposed
    rate = supposed.loss_per_km[point[0]] / 1000.0
    at_foot = SCALE.steps_lost(rate * tree.foot_m)
    at_middle = SCALE.steps_lost(rate * (tree.foot_m + tree.length_m / 2.0))
    chance = 1.0 - np.exp(-supposed.sources[point[3]] * search.weight)
    likelihood, log_scale = search.likelihood(point[1], point[2])
    row = {int(foot): n for n, foot in enumerate(search.segments.foot)}
    worlds = [(np.exp(log_scale), {}, {})]
    for piece in tree.order.tolist():
        feeders = sorted(
            np.flatnonzero(tree.down == piece).tolist(), key=row.__getitem__
        )
        grown = []
        for probability, sources, gold in worlds:
            arriving = [
                max(gold[one] - int(at_foot[one] - at_foot[piece]), 0)
                for one in feeders
            ]
            lost = int(at_middle[piece] - at_foot[piece])
            choices = [(1.0 - chance[piece], None)]
            choices += [
                (chance[piece] * STRENGTH[level], level) for level in range(1, 5)
            ]
            for chosen, level in choices:
                own = 0 if level is None else max(level - lost, 0)
                sums = {0: 1.0}
                for part in [*arriving, own]:
                    after: dict[int, float] = {}
                    for total, share in sums.items():
                        for new, own_share in SCALE.sum_shares(total, part).items():
                            after[new] = after.get(new, 0.0) + share * own_share
                    sums = after
                grown += [
                    (
                        probability * chosen * share * likelihood[row[piece], total],
                        sources | {piece: level is not None},
                        gold | {piece: total},
                    )
                    for total, share in sums.items()
                ]
        worlds = grown
    return worlds


def enumerate_posterior(search: Search):
    """Return evidence, chance of a source and of gold at every foot, all worlds."""
    shape = search.supposed.shape
    points = list(itertools.product(*map(range, shape)))
    worlds = [
        (world[0] * np.exp(search.supposed.log_share(point)), *world[1:])
        for point in points
        for world in worlds_of(search, point)
    ]
    evidence = sum(world[0] for world in worlds)
    source = [sum(w[0] for w in worlds if w[1][piece]) for piece in range(5)]
    gold = [sum(w[0] for w in worlds if w[2][piece] > 0) for piece in range(5)]
    return evidence, np.array(source) / evidence, np.array(gold) / evidence


@pytest.mark.parametrize(
    ("piece", "colors", "find"),
    [
        ([2, 3, 0], [3.0, 0.0, 0.0], []),
        ([4], [7.0], []),
        ([0, 1, 2, 3, 4], [0.0, 0.0, 0.0, 0.0, 0.0], []),
        ([4, 4], [2.0, 0.0], [1]),
        ([], [], []),
    ],
)
def test_messages_give_what_the_enumeration_of_all_worlds_gives(piece, colors, find):
    washed = make_washings(piece, colors, np.full(len(piece), 0.4), find=find)
    search = search_of(ONE, washed)
    found = find_sources(search)
    evidence, source, gold = enumerate_posterior(search)
    assert found.log_evidence == pytest.approx(np.log(evidence), abs=EXACT)
    assert found.source_chance == pytest.approx(source, abs=EXACT)
    assert found.carries_chance == pytest.approx(gold, abs=EXACT)


def test_what_is_unknown_of_the_ground_is_summed_over():
    washed = make_washings([2, 3, 0], [3.0, 0.0, 1.0], [0.4, 0.3, 0.1], find=[4])
    search = search_of(SEVERAL, washed)
    found = find_sources(search)
    evidence, source, gold = enumerate_posterior(search)
    assert len(found.points) == 16
    assert found.log_evidence == pytest.approx(np.log(evidence), abs=EXACT)
    assert found.source_chance == pytest.approx(source, abs=EXACT)
    assert found.carries_chance == pytest.approx(gold, abs=EXACT)


def test_pieces_that_no_sample_parts_share_the_probability_of_their_sum():
    """Without loss, merging them changes nothing but who is told of."""
    washed = make_washings([4, 2], [5.0, 0.0], [0.4, 0.4])
    lossless = Supposed(
        loss_per_km=(0.0,), evenness=(0.8,), everywhere=(0.0,), sources=(0.005,)
    )
    apart = find_sources(search_of(lossless, washed))
    merged = find_sources(search_of(lossless, washed, asked=False))
    assert len(merged.segments.foot) < len(apart.segments.foot)
    # Two sources in one part count as one: of the order of the chance squared.
    assert merged.source_chance == pytest.approx(apart.source_chance, rel=0.01)
    assert merged.carries_chance[merged.told] == pytest.approx(
        apart.carries_chance[merged.told], rel=0.01
    )


def test_the_sum_of_two_levels_keeps_its_mean():
    for first, second in itertools.product(range(4), repeat=2):
        shares = SCALE.sum_shares(first, second)
        mean = sum(share * SCALE.value[level] for level, share in shares.items())
        assert mean == pytest.approx(SCALE.value[first] + SCALE.value[second])
        assert sum(shares.values()) == pytest.approx(1.0)
