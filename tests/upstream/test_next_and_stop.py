"""The next sample, the worst case, the stop of the gold, and worlds drawn."""

import itertools

import numpy as np
import pytest

from pennyweight.upstream.draws import draw_worlds
from pennyweight.upstream.isolation import halving_samples, worst_case_samples
from pennyweight.upstream.nextsample import choose_samples, outcome_chances, way_m
from pennyweight.upstream.search import begin_search
from pennyweight.upstream.source import find_sources
from pennyweight.upstream.stops import climb, find_stop
from pennyweight.upstream.tree import make_tree, order_upstream_first
from pennyweight.upstream.washing import make_washings

#: 0 and 1 into 2, 2 and 3 into 4.
DOWN = [2, 2, 4, 4, -1]


def searched(piece, colors):
    tree = make_tree(
        DOWN,
        [400.0, 400.0, 300.0, 500.0, 200.0],
        own_area_km2=[1.0, 1.0, 0.5, 2.0, 0.2],
    )
    washed = make_washings(piece, colors, np.full(len(piece), 0.05))
    search = begin_search(tree, washed)
    return search, find_sources(search)


def least_samples(down):
    """Return the best worst case by trying every order of asking."""
    count = len(down)
    above = []
    for piece in range(count):
        ways = []
        for one in range(count):
            at = one
            while at not in (piece, -1):
                at = down[at]
            if at == piece:
                ways.append(one)
        above.append(frozenset(ways))

    known: dict[frozenset[int], int] = {}

    def worst(left):
        if len(left) <= 1:
            return 0
        if left not in known:
            known[left] = min(
                1 + max(worst(left & cut), worst(left - cut))
                for cut in above
                if left & cut and left - cut
            )
        return known[left]

    return worst(frozenset(range(count)))


@pytest.mark.law
def test_the_worst_case_is_the_best_that_any_order_of_asking_can_do():
    rng = np.random.default_rng(2)
    for _ in range(60):
        count = int(rng.integers(2, 12))
        down, feeders = [-1], [0] * count
        for piece in range(1, count):
            free = [one for one in range(piece) if feeders[one] < 2]
            below = int(rng.choice(free))
            feeders[below] += 1
            down.append(below)
        order = order_upstream_first(np.array(down))
        assert worst_case_samples(np.array(down), order) == least_samples(down)


def test_no_order_beats_halving():
    row = np.array([1, 2, 3, 4, 5, 6, 7, -1])
    assert worst_case_samples(row, np.arange(8)) == halving_samples(8) == 3
    star = np.array([4, 4, 4, 4, -1])
    assert worst_case_samples(star, np.arange(5)) == 4 > halving_samples(5)
    assert halving_samples(1) == 0


def test_the_way_runs_down_to_where_the_waters_meet_and_up_again():
    tree = make_tree(DOWN, [400.0, 400.0, 300.0, 500.0, 200.0])
    # From the mouth of 0, 500 m up, to the mouth of 3, 200 m up; they meet there.
    assert way_m(tree, 0)[3] == pytest.approx(300.0)
    assert way_m(tree, 0)[1] == pytest.approx(0.0)
    assert way_m(tree, 4)[0] == pytest.approx(500.0)
    assert way_m(make_tree([-1, -1], [9.0, 9.0]), 0)[1] == np.inf


@pytest.mark.parametrize(("piece", "colors"), [([4], [9.0]), ([4, 3], [9.0, 0.0])])
def test_worlds_are_drawn_as_often_as_the_messages_say(piece, colors):
    search, posterior = searched(piece, colors)
    draws = draw_worlds(search, posterior, 6000, rng=np.random.default_rng(8))
    # Four standard errors of 6000 draws.
    assert draws.source.mean(axis=0) == pytest.approx(
        posterior.source_chance, abs=0.026
    )
    carries = (draws.gold > 0).mean(axis=0)
    foot = search.segments.foot
    assert carries == pytest.approx(posterior.carries_chance[foot], abs=0.026)
    there = draws.strongest >= 0
    assert there.mean() == pytest.approx(draws.source.any(axis=1).mean())
    assert draws.strongest_chance().sum() == pytest.approx(1.0)


def told_bits(shows, strongest):
    """Return what a sample tells of the place, straight from the joint table."""
    told = 0.0
    for place in set(strongest.tolist()):
        own = strongest == place
        for one in shows:
            joint = one[own].sum() / len(strongest)
            if joint > 0.0:
                told += joint * np.log2(joint / (own.mean() * one.mean()))
    return told


def test_the_first_sample_tells_most_of_the_place_for_its_hours():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 800, rng=np.random.default_rng(9))
    chosen = choose_samples(
        search, draws, np.arange(4), pans=5.0, exposure_m3=0.02, start=4
    )
    shows = outcome_chances(search, draws, np.arange(4), exposure_m3=0.02)
    hours = 5 * 0.25 + np.array([0.5, 0.5, 0.2, 0.2]) / 1.5
    told = np.array([told_bits(shows[:, :, at], draws.strongest) for at in range(4)])
    best = int(np.argmax(told / hours))
    assert chosen[0].piece == best
    assert chosen[0].gain_bits == pytest.approx(told[best])
    assert chosen[0].hours == pytest.approx(hours[best])


def test_carrying_gravel_to_water_costs_hours():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 200, rng=np.random.default_rng(9))
    far = choose_samples(
        search,
        draws,
        np.array([2]),
        pans=4.0,
        exposure_m3=0.02,
        carry_m=np.array([200.0]),
    )
    # Four pans: digging and washing 1 h, carrying 4 x 200 / 400 = 2 h.
    assert far[0].hours == pytest.approx(3.0)


def test_no_color_a_few_or_many_are_all_that_a_sample_shows():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 300, rng=np.random.default_rng(9))
    shows = outcome_chances(search, draws, np.arange(5), exposure_m3=0.02)
    assert shows.sum(axis=0) == pytest.approx(np.ones((300, 5)))
    assert shows.min() >= 0.0


def test_a_sample_can_only_tell_what_its_own_doubt_holds():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 300, rng=np.random.default_rng(9))
    shows = outcome_chances(search, draws, np.arange(5), exposure_m3=0.02)
    chosen = choose_samples(search, draws, np.arange(5), pans=5.0, exposure_m3=0.02)
    share = shows[:, :, chosen[0].piece].mean(axis=1)
    assert chosen[0].gain_bits <= -(share * np.log2(share)).sum() + 1e-9


def test_nowhere_to_wash_proposes_nothing():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 50, rng=np.random.default_rng(9))
    nowhere = np.zeros(0, dtype=np.int64)
    assert choose_samples(search, draws, nowhere, pans=5.0, exposure_m3=0.02) == ()


def test_the_way_up_follows_the_feeder_that_carries_gold():
    down = np.array(DOWN)
    order = order_upstream_first(down)
    way = climb(down, order, 4, carries=np.array([0.1, 0.7, 0.8, 0.2, 0.9]))
    assert way.tolist() == [4, 2, 1]


def test_the_stop_is_read_off_the_chance_that_none_passes():
    """9 in 10 pass the first foot, 45 in 100 the second: half stops below it."""
    stop = find_stop(
        np.array([0.0, 100.0, 200.0]),
        np.array([100.0, 200.0, 300.0]),
        np.array([0.9, 0.45, 0.0]),
    )
    assert stop.chance == 0.9
    assert stop.above_m.p50 == pytest.approx(100.0)
    assert stop.above_m.p10 == pytest.approx(20.0)
    assert stop.above_m.mean == pytest.approx(0.5 * 50.0 + 0.5 * 150.0)
    assert stop.beyond_chance == 0.0


def test_gold_that_passes_everywhere_comes_from_the_head():
    stop = find_stop(np.array([0.0, 10.0]), np.array([10.0, 20.0]), np.ones(2))
    assert stop.beyond_chance == 1.0


def test_no_gold_has_no_stop():
    assert find_stop(np.zeros(1), np.ones(1), np.zeros(1)).above_m is None


@pytest.mark.parametrize("colors", [[0.0, 0.0, 0.0], [40.0, 35.0, 45.0]])
def test_gold_nowhere_and_everywhere_are_answers(colors):
    _, posterior = searched([0, 1, 3], colors)
    assert ((posterior.source_chance >= 0) & (posterior.source_chance <= 1)).all()
    if colors[0] == 0.0:
        assert posterior.carries_chance[4] < posterior.prior_carries[4]
    else:
        assert posterior.carries_chance[[0, 1, 3]].min() > 0.2


def test_contradicting_counts_at_one_place_leave_it_suspect():
    both = itertools.chain([9.0], [0.0])
    _, posterior = searched([3, 3], list(both))
    assert posterior.carries_chance[3] > 0.3


def test_thinned_worlds_are_some_of_all():
    search, posterior = searched([4], [9.0])
    draws = draw_worlds(search, posterior, 120, rng=np.random.default_rng(9))
    some = draws.thinned(4)
    assert some.source.shape == (30, 5)
    assert some.strongest.tolist() == draws.strongest[::4].tolist()
