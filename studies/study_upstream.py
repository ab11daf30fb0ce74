"""Where the gold comes from, on made drainages: does a stated chance hold, how fast.

Gold is invented on the streams of the elevation model that matplotlib ships (see
`studies/simulated_drainage.py`), washed at a few places and handed to the search. A
set of reaches is taken by their chance of holding the strongest source until it is
likely enough; how often it does hold it is counted. Then samples are chosen one by
one, by what they are expected to tell, by halving the reaches that are left, and at
random, until four fifths of the chance lie on a third of the reaches. The seeds of the
tables were not used while building. Counts alone are studied: no grains, no rocks.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from simulated_drainage import (
    PAN_BANK_M3,
    RECOVERY,
    Truth,
    catchments,
    cut_catchment,
    make_truth,
    real_streams,
)

from pennyweight.upstream.draws import SourceDraws, draw_worlds
from pennyweight.upstream.nextsample import choose_samples
from pennyweight.upstream.search import Search, begin_search
from pennyweight.upstream.source import SourcePosterior, find_sources
from pennyweight.upstream.tree import StreamTree
from pennyweight.upstream.washing import make_washings

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Made drainages whose chances are held to account, and those of the race.
N_CASES, N_RACES = 520, 10
N_WORLDS = 800
LEVELS = (0.5, 0.8, 0.95)
#: Classes of probability, and questions asked of each drainage.
EDGES, QUESTIONS = (0.0, 0.05, 0.15, 0.35, 0.65, 0.85, 0.95, 1.0), 4
#: The race ends with so much of the chance on such a share of the reaches, or after so
#: many samples.
SURE, FEW, MOST_SAMPLES, PANS = 0.8, 1.0 / 3.0, 10, 8
EARLY = 6
RULES = ("what it is expected to tell", "halving", "random")


@dataclass
class Held:
    """What was claimed, and whether it held."""

    claimed: dict[float, list[float]] = field(default_factory=dict)
    held: dict[float, list[bool]] = field(default_factory=dict)
    size: list[float] = field(default_factory=list)
    asked: list[tuple[float, bool]] = field(default_factory=list)


@dataclass(frozen=True)
class Answered:
    """A search with its posterior and its worlds."""

    search: Search
    posterior: SourcePosterior
    draws: SourceDraws


def study(rng: np.random.Generator) -> str:
    """Return the tables, as Markdown."""
    # The first seeds were looked at: they showed that a set must not be chosen and
    # told by the same draws.
    rng = rng.spawn(2)[1]
    streams = real_streams()
    some = [cut_catchment(streams, one) for one in catchments(streams, 15, 120)]
    small = [cut_catchment(streams, one) for one in catchments(streams, 15, 40)]
    held = Held()
    for _ in range(N_CASES):
        check_case(some[int(rng.integers(len(some)))], held, rng)
    races = [
        race(make_truth(small[int(rng.integers(len(small)))], rng, n_sources=1), rng)
        for _ in range(N_RACES)
    ]
    return "\n\n".join([_tell_sets(held), _tell_asked(held), _tell_races(races)])


def answer(
    tree: StreamTree,
    washed: list[tuple[int, int, int]],
    rng: np.random.Generator,
) -> Answered:
    """Return what the search says of samples: place, pans, colors."""
    places, pans, colors = np.array(washed).T
    counted = make_washings(places, colors, pans * PAN_BANK_M3 * RECOVERY)
    search = begin_search(tree, counted, asked=np.ones(tree.n_reaches, dtype=np.bool_))
    posterior = find_sources(search)
    return Answered(
        search, posterior, draw_worlds(search, posterior, N_WORLDS, rng=rng)
    )


def flows_past(tree: StreamTree, reach: int) -> BoolArray:
    """Return the reaches whose water passes one."""
    past = np.zeros(tree.n_reaches, dtype=np.bool_)
    past[reach] = True
    for one in tree.order[::-1]:
        below = tree.down[one]
        past[one] |= below >= 0 and past[below]
    return past


def strongest(truth: Truth) -> int:
    """Return the reach whose source brings most gold to the outlet."""
    tree = truth.tree
    way_km = (tree.foot_m + 0.5 * tree.length_m)[truth.source] / 1000.0
    brought = truth.strength * np.exp(-truth.loss_per_km * way_km)
    return int(truth.source[np.argmax(brought)])


def halves(
    strongest_of: IndexArray, n_reaches: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return the chance of every reach by each half of the worlds with a source."""
    there = rng.permutation(strongest_of[strongest_of >= 0])
    parts = np.array_split(there, 2)
    one, other = (
        np.bincount(part, minlength=n_reaches) / max(len(part), 1) for part in parts
    )
    return one, other


def check_case(tree: StreamTree, held: Held, rng: np.random.Generator) -> None:
    """Wash a made drainage at random, ask, and note what held."""
    truth = make_truth(tree, rng)
    count = min(int(rng.integers(4, 16)), tree.n_reaches)
    places = rng.choice(tree.n_reaches, size=count, replace=False).tolist()
    places[0] = int(np.flatnonzero(tree.down < 0)[0])
    pans = rng.integers(3, 12, size=count).tolist()
    colors = [truth.wash(at, n, rng) for at, n in zip(places, pans, strict=True)]
    found = answer(tree, list(zip(places, pans, colors, strict=True)), rng)
    there = np.zeros(tree.n_reaches, dtype=np.bool_)
    there[truth.source] = True
    for reach in rng.integers(tree.n_reaches, size=QUESTIONS):
        above = flows_past(tree, int(reach))
        chance = float(found.draws.source[:, above].any(axis=1).mean())
        held.asked.append((chance, bool(there[above].any())))
    if not there.any():
        return
    # Chosen by one half of the worlds, claimed by the other: the luck of the draws that
    # brought a reach into a set must not count as its chance.
    chosen, told = halves(found.draws.strongest, tree.n_reaches, rng)
    order = np.argsort(-chosen, kind="stable")
    running = np.cumsum(chosen[order])
    for level in LEVELS:
        size = min(int(np.searchsorted(running, level)) + 1, len(order))
        own = strongest(truth) in order[:size]
        held.claimed.setdefault(level, []).append(float(told[order[:size]].sum()))
        held.held.setdefault(level, []).append(bool(own))
        if level == SURE:
            held.size.append(size / len(order))


def race(truth: Truth, rng: np.random.Generator) -> dict[str, tuple[int, float]]:
    """Return the samples that each rule needs, and the reaches left in doubt."""
    return {rule: _run(truth, rule, rng) for rule in RULES}


def _run(truth: Truth, rule: str, rng: np.random.Generator) -> tuple[int, float]:
    tree = truth.tree
    places = [int(np.flatnonzero(tree.down < 0)[0])]
    colors = [truth.wash(places[0], PANS, rng)]
    left = np.ones(tree.n_reaches, dtype=np.bool_)
    while True:
        washed = [(at, PANS, n) for at, n in zip(places, colors, strict=True)]
        found = answer(tree, washed, rng)
        chances = found.draws.strongest_chance()
        best = np.argsort(-chances, kind="stable")
        size = int(np.searchsorted(np.cumsum(chances[best]), SURE)) + 1
        if size <= FEW * tree.n_reaches or len(places) >= MOST_SAMPLES:
            return len(places), size / tree.n_reaches
        place = _next_place(found, rule, places, left=left, rng=rng)
        places.append(place)
        colors.append(truth.wash(place, PANS, rng))
        above = flows_past(tree, place)
        after = left & (above if colors[-1] else ~above)
        left = after if after.any() else np.ones(tree.n_reaches, dtype=np.bool_)


def _next_place(
    found: Answered,
    rule: str,
    places: list[int],
    *,
    left: BoolArray,
    rng: np.random.Generator,
) -> int:
    tree = found.search.tree
    free = np.setdiff1d(np.arange(tree.n_reaches), places)
    if rule == "random" or not len(free):
        return int(rng.choice(free if len(free) else tree.n_reaches))
    if rule == "halving":
        share = [(left & flows_past(tree, int(at))).sum() / left.sum() for at in free]
        return int(free[np.argmin(np.abs(np.array(share) - 0.5))])
    chosen = choose_samples(
        found.search,
        found.draws,
        free,
        pans=PANS,
        exposure_m3=PANS * PAN_BANK_M3 * RECOVERY,
    )
    return chosen[0].piece if chosen else int(rng.choice(free))


def _tell_sets(held: Held) -> str:
    lines = [
        "## Sets of reaches",
        (
            f"{N_CASES} made drainages of 15 to 120 reaches, 4 to 15 samples of 3 to "
            f"11 pans; {len(held.size)} of them have a source. The sets that were "
            f"taken to four fifths hold {100.0 * np.mean(held.size):.0f} % of the "
            "reaches on "
            "average."
        ),
        "",
        "| taken to | chance claimed | held the strongest source | difference |",
        "| --- | --- | --- | --- |",
    ]
    for level in LEVELS:
        claimed = 100.0 * float(np.mean(held.claimed[level]))
        own = 100.0 * float(np.mean(held.held[level]))
        apart = f"{own - claimed:+.1f} points"
        lines.append(f"| {level:.0%} | {claimed:.1f} % | {own:.1f} % | {apart} |")
    return "\n".join(lines)


def _tell_asked(held: Held) -> str:
    asked = np.array(held.asked, dtype=np.float64)
    lines = [
        "## Is there a source above here?",
        f"{len(asked)} questions, {QUESTIONS} random reaches of each drainage.",
        "",
        "| chance between | questions | claimed | true |",
        "| --- | --- | --- | --- |",
    ]
    for low, high in itertools.pairwise(EDGES):
        own = asked[(asked[:, 0] >= low) & (asked[:, 0] < high + (high == 1.0))]
        if len(own):
            claimed, true = 100.0 * own.mean(axis=0)
            lines.append(
                f"| {low:.0%} and {high:.0%} | {len(own)} | {claimed:.1f} % | "
                f"{true:.1f} % |"
            )
    claimed, true = 100.0 * asked.mean(axis=0)
    lines.append(f"| all | {len(asked)} | {claimed:.1f} % | {true:.1f} % |")
    return "\n".join(lines)


def _tell_races(races: list[dict[str, tuple[int, float]]]) -> str:
    lines = [
        "## Samples until a third of the reaches hold four fifths of the chance",
        (
            f"{len(races)} drainages of 15 to 40 reaches with one source, {PANS} pans "
            f"a sample, {MOST_SAMPLES} samples at most; the first is at the outlet."
        ),
        "",
        "| chosen by | samples, mean | done within 6 | reaches left in doubt, mean |",
        "| --- | --- | --- | --- |",
    ]
    for rule in RULES:
        needed = np.array([one[rule][0] for one in races])
        doubt = np.array([one[rule][1] for one in races])
        early = (needed <= EARLY).mean()
        lines.append(
            f"| {rule} | {needed.mean():.1f} | {early:.0%} | {doubt.mean():.0%} |"
        )
    return "\n".join(lines)
