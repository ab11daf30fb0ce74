"""Which crossing joins which: an exact chain down the lines.

The state of a line is which of its candidates are real. From line to line every
real crossing sends a link, two, or ends; links do not cross. All states and all ways
to join are summed exactly (forward-backward), so marginal probabilities and joint
draws of whole topologies need no search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln, logsumexp

from pennyweight.streaks.crossings import Crossings
from pennyweight.streaks.joins import ALONE, Joins, list_joins

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Distance that the odds below are for [m].
PER_M = 15.0
#: Chances over 15 m: that a streak goes on, begins, parts; odds of a merge. Our choice.
SURVIVAL, BIRTH, SPLIT, MERGE = 0.97, 0.04, 0.02, 0.30
#: Sideways step over 15 m that the evidence chooses from [m].
SIDEWAYS_M = (0.9, 1.4, 2.1, 3.2)
#: Degrees of freedom of a sideways step; how far a second parent comes from [m].
STEP_FREEDOM, FURTHER_PARENT_M = 4.0, 4.0
#: Meters sideways for each meter downstream beyond which no streak is followed, and a
#: further parent of a merge, which swings over, is not [-]; and how fast the chance
#: falls from there [m]. Our choice.
STEEPEST, MERGE_STEEPEST, BEYOND_M = 0.7, 1.0, 2.0
#: What a crossing's place is uncertain by beyond its own error [m].
PLACE_M = 0.6
#: Change of log gold per meter over 15 m [-], and the cap of its penalty in sds.
GOLD_CHANGE, GOLD_CAP = 0.85, 2.5
#: Weight left to candidates of a line that are there or not each for itself [-].
LEFT_ALONE = 0.1
#: No candidate is surer, there or not there, than this leaves open [-].
LEAST_CHANCE = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """The lines as the chain sees them: those that cross enough of the floor.

    Attributes
    ----------
    lines : ndarray of int, shape (n_chained,)
        Indices of the lines that the chain runs over, downstream [-].
    line_s_m : ndarray, shape (n_chained,)
        Places of those lines [m].
    width_m : float
        Width of the sampled floor [m].
    shift_sd_m : float
        Position error of a whole line [m].
    """

    lines: IntArray
    line_s_m: FloatArray
    width_m: float
    shift_sd_m: float

    def pairs(self) -> list[tuple[int, int, float]]:
        """Return each line with the next one and the distance between them [m].

        Returns
        -------
        list of tuple
            (index above, index below, distance of 0.5 m or more).
        """
        return [
            (int(above), int(below), max(float(apart), 0.5))
            for above, below, apart in zip(
                self.lines, self.lines[1:], np.diff(self.line_s_m), strict=False
            )
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Topologies:
    """Marginals and joint draws of which crossing joins which.

    Attributes
    ----------
    crossing_probability : ndarray, shape (n_candidates,)
        That a candidate is real [-].
    parent, child : ndarray of int, shape (n_links,)
        Candidates that each possible link joins [-].
    link_probability : ndarray, shape (n_links,)
        Of each of them [-].
    real : ndarray of bool, shape (n_draws, n_candidates)
        Joint draws.
    linked : ndarray of bool, shape (n_draws, n_links)
        Joint draws of the links.
    sideways_m : float
        Sideways step over 15 m at the peak of the chain's evidence [m].
    """

    crossing_probability: FloatArray
    parent: IntArray
    child: IntArray
    link_probability: FloatArray
    real: BoolArray
    linked: BoolArray
    sideways_m: float


@dataclass(slots=True)
class _Gap:
    """Two neighboring lines: the ways to join them and their log weights."""

    joins: Joins
    log_way: FloatArray
    log_death: float
    log_birth: float
    matrix: FloatArray
    ends: tuple[IntArray, IntArray]


def _subset_penalty(n: int, log_each: float) -> FloatArray:
    """Return exp(log_each * |S minus P|) for P inside S, else 0; shape (2^n, 2^n)."""
    masks = np.arange(1 << n)
    inside = (masks[None, :] & ~masks[:, None]) == 0
    left = masks[:, None] & ~masks[None, :]
    count = np.array([int(value).bit_count() for value in left.ravel()])
    return np.where(inside, np.exp(log_each * count.reshape(left.shape)), 0.0)


def _child_table(
    crossings: Crossings,
    upper: IntArray,
    lower: IntArray,
    *,
    joins: Joins,
    floor: Floor,
    step_over: tuple[float, float],
) -> FloatArray:
    """Return the log weight of what each child may receive, (n_children, n_sets)."""
    share, sideways_m = step_over
    log_on = share * np.log(SURVIVAL)
    step = crossings.n_m[lower][:, None] - crossings.n_m[upper][None, :]
    scale2 = (
        sideways_m**2 * share**1.5
        + crossings.n_sd_m[lower][:, None] ** 2
        + crossings.n_sd_m[upper][None, :] ** 2
        + PLACE_M**2
        + 2.0 * floor.shift_sd_m**2
    )
    near = _log_student(step, np.sqrt(scale2)) + np.log(floor.width_m)
    beyond = np.maximum(np.abs(step) - STEEPEST * share * PER_M, 0.0)
    near = near - 0.5 * (beyond / BEYOND_M) ** 2
    merge = 1.0 - (1.0 - MERGE) ** share
    wide = FURTHER_PARENT_M * max(share, 1.0) ** 0.5
    far = np.log(merge * floor.width_m) + _log_student(step, wide)
    beyond = np.maximum(np.abs(step) - MERGE_STEEPEST * share * PER_M, 0.0)
    far = far - 0.5 * (beyond / BEYOND_M) ** 2
    split = np.log(1.0 - (1.0 - SPLIT) ** share) - 0.5 * step**2 / FURTHER_PARENT_M**2
    sd2 = GOLD_CHANGE**2 * share
    table = np.full((len(lower), len(joins.parents)), -np.inf)
    for at, taken in enumerate(joins.parents):
        if at == ALONE:
            table[:, at] = 0.0
            continue
        which = list(taken)
        if at >= joins.first_split:
            table[:, at] = split[:, which[0]]
            continue
        first = np.abs(step[:, which]).argmin(axis=1)
        rows = np.arange(len(lower))
        chosen = np.array(which)[first]
        weight = near[rows, chosen] + len(which) * log_on
        weight = weight + far[:, which].sum(axis=1) - far[rows, chosen]
        table[:, at] = weight + _gold_penalty(crossings, upper[which], lower, sd2)
    return table


def _log_student(step: FloatArray, scale: FloatArray | float) -> FloatArray:
    """Return the log density of a scaled Student t."""
    nu = STEP_FREEDOM
    constant = gammaln((nu + 1.0) / 2.0) - gammaln(nu / 2.0) - 0.5 * np.log(nu * np.pi)
    return np.asarray(
        constant - np.log(scale) - (nu + 1.0) / 2.0 * np.log1p((step / scale) ** 2 / nu)
    )


def _gold_penalty(
    crossings: Crossings, parents: IntArray, lower: IntArray, sd2: float
) -> FloatArray:
    """Return the capped penalty for a child's gold unlike its parents' together."""
    gold = np.exp(crossings.log_gold[parents])
    share = gold / gold.sum()
    own = crossings.log_gold_sd[lower] ** 2
    theirs = float((share**2 * crossings.log_gold_sd[parents] ** 2).sum())
    z = (crossings.log_gold[lower] - np.log(gold.sum())) / np.sqrt(sd2 + own + theirs)
    return np.asarray(-0.5 * np.minimum(np.abs(z), GOLD_CAP) ** 2)


def _gap_between(
    crossings: Crossings,
    pair: tuple[int, int, float],
    floor: Floor,
    sideways_m: float,
) -> _Gap:
    """Return the ways to join a line to the next, with the sum over them."""
    upper, lower = crossings.of_line(pair[0]), crossings.of_line(pair[1])
    joins = list_joins(len(upper), len(lower))
    share = pair[2] / PER_M
    log_death = float(np.log(1.0 - SURVIVAL**share))
    log_birth = float(np.log(1.0 - (1.0 - BIRTH) ** share))
    log_way = np.zeros(len(joins.choice))
    if len(upper) and len(lower):
        table = _child_table(
            crossings,
            upper,
            lower,
            joins=joins,
            floor=floor,
            step_over=(share, sideways_m),
        )
        log_way = table[np.arange(len(lower))[None, :], joins.choice].sum(axis=1)
    cells = (joins.parent_mask << len(lower)) + joins.child_mask
    size = 1 << (len(upper) + len(lower))
    summed = np.bincount(cells, np.exp(log_way), size)
    summed = summed.reshape(1 << len(upper), 1 << len(lower))
    death = _subset_penalty(len(upper), log_death)
    birth = _subset_penalty(len(lower), log_birth)
    matrix = death @ summed @ birth.T
    return _Gap(joins, log_way, log_death, log_birth, matrix, (upper, lower))


def _emissions(crossings: Crossings, floor: Floor) -> list[FloatArray]:
    """Return the weight of every subset of every line's candidates.

    The draws of a line tell which of its candidates are there together; some weight
    is left to candidates that do not know of each other.
    """
    weights = []
    for line in floor.lines:
        mine = crossings.of_line(int(line))
        chance = np.clip(crossings.presence[mine], LEAST_CHANCE, 1 - LEAST_CHANCE)
        masks = np.arange(1 << len(mine))
        bits = (masks[:, None] >> np.arange(len(mine))[None, :]) & 1
        alone = np.prod(np.where(bits, chance, 1.0 - chance), axis=1)
        if crossings.seen is not None:
            seen = crossings.seen[mine].astype(np.int64)
            states = (seen << np.arange(len(mine))[:, None]).sum(axis=0)
            joint = np.bincount(states, minlength=len(masks)) / max(len(states), 1)
            alone = LEFT_ALONE * alone + (1.0 - LEFT_ALONE) * joint
        weights.append(alone)
    return weights


def _forward(
    emissions: list[FloatArray], gaps: list[_Gap]
) -> tuple[list[FloatArray], float]:
    """Return the forward weights, each summing to 1, and the log evidence."""
    alpha = [emissions[0] / emissions[0].sum()]
    evidence = float(np.log(emissions[0].sum()))
    for gap, emission in zip(gaps, emissions[1:], strict=True):
        ahead = (alpha[-1] @ gap.matrix) * emission
        evidence += float(np.log(ahead.sum()))
        alpha.append(ahead / ahead.sum())
    return alpha, evidence


def _backward(emissions: list[FloatArray], gaps: list[_Gap]) -> list[FloatArray]:
    """Return the backward weights, each with largest value 1."""
    beta = [np.ones_like(emissions[-1])]
    for gap, emission in zip(gaps[::-1], emissions[:0:-1], strict=True):
        behind = gap.matrix @ (emission * beta[-1])
        beta.append(behind / behind.max())
    return beta[::-1]


def chain_links(
    crossings: Crossings, floor: Floor, *, n_draws: int, rng: np.random.Generator
) -> Topologies:
    """Return marginals and joint draws of real crossings and their links.

    Parameters
    ----------
    crossings : Crossings
        Candidates of all lines.
    floor : Floor
        The lines.
    n_draws : int
        Joint draws wanted [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Topologies
        Sums over the sideways steps, each weighted by its evidence.

    References
    ----------
    Rabiner 1989, Proceedings of the IEEE 77(2), eq. 19-27 (forward-backward).
    """
    emissions = _emissions(crossings, floor)
    chains = []
    for sideways_m in SIDEWAYS_M:
        gaps = [
            _gap_between(crossings, pair, floor, sideways_m) for pair in floor.pairs()
        ]
        alpha, evidence = _forward(emissions, gaps)
        chains.append((gaps, alpha, evidence))
    log_weight = np.array([chain[2] for chain in chains])
    weight = np.exp(log_weight - logsumexp(log_weight))
    pairs = _possible_links(crossings, floor)
    index = {pair: at for at, pair in enumerate(pairs)}
    crossing = np.zeros(len(crossings.line))
    link = np.zeros(len(pairs))
    real, linked = [], []
    shares = rng.multinomial(n_draws, weight)
    for (gaps, alpha, _), share, count in zip(chains, weight, shares, strict=True):
        beta = _backward(emissions, gaps)
        one, two = _marginals(
            crossings, floor, (emissions, gaps, alpha, beta), index=index
        )
        crossing += share * one
        link += share * two
        if count:
            drawn = _draw(crossings, floor, (gaps, alpha, index), int(count), rng)
            real.append(drawn[0])
            linked.append(drawn[1])
    mixed = rng.permutation(n_draws)
    return Topologies(
        crossing_probability=crossing,
        parent=np.array([pair[0] for pair in pairs], dtype=np.int64),
        child=np.array([pair[1] for pair in pairs], dtype=np.int64),
        link_probability=link,
        real=np.concatenate(real)[mixed],
        linked=np.concatenate(linked)[mixed],
        sideways_m=float(SIDEWAYS_M[int(weight.argmax())]),
    )


def _possible_links(crossings: Crossings, floor: Floor) -> list[tuple[int, int]]:
    return [
        (int(a), int(b))
        for above, below, _ in floor.pairs()
        for a in crossings.of_line(above)
        for b in crossings.of_line(below)
    ]


def _way_links(joins: Joins) -> Callable[[int, int], BoolArray]:
    """Return a function telling which ways hold the link parent -> child."""
    holds = np.zeros((len(joins.parents), 32), dtype=bool)
    for at, taken in enumerate(joins.parents):
        holds[at, list(taken)] = True
    return lambda parent, child: np.asarray(holds[joins.choice[:, child], parent])


def _marginals(
    crossings: Crossings,
    floor: Floor,
    chain: tuple[list[FloatArray], list[_Gap], list[FloatArray], list[FloatArray]],
    *,
    index: dict[tuple[int, int], int],
) -> tuple[FloatArray, FloatArray]:
    """Return marginal probabilities of crossings and of links."""
    emissions, gaps, alpha, beta = chain
    crossing = np.zeros(len(crossings.line))
    link = np.zeros(len(index))
    for line, ahead, behind in zip(floor.lines, alpha, beta, strict=True):
        both = ahead * behind
        both = both / both.sum()
        masks = np.arange(len(both))
        for at, candidate in enumerate(crossings.of_line(int(line))):
            crossing[candidate] = both[(masks >> at) & 1 == 1].sum()
    for line, gap in enumerate(gaps):
        upper, lower = gap.ends
        before = alpha[line] @ _subset_penalty(len(upper), gap.log_death)
        after = (emissions[line + 1] * beta[line + 1]) @ _subset_penalty(
            len(lower), gap.log_birth
        )
        way = (
            np.exp(gap.log_way)
            * before[gap.joins.parent_mask]
            * after[gap.joins.child_mask]
        )
        way = way / way.sum()
        holds = _way_links(gap.joins)
        for a, parent in enumerate(upper):
            for b, child in enumerate(lower):
                link[index[int(parent), int(child)]] = way[holds(a, b)].sum()
    return crossing, link


def _draw(
    crossings: Crossings,
    floor: Floor,
    chain: tuple[list[_Gap], list[FloatArray], dict[tuple[int, int], int]],
    n_draws: int,
    rng: np.random.Generator,
) -> tuple[BoolArray, BoolArray]:
    """Return joint draws: forward filtered, then sampled back up the valley."""
    gaps, alpha, index = chain
    state = _choose(np.tile(alpha[-1], (n_draws, 1)), rng)
    states = [state]
    linked = np.zeros((n_draws, len(index)), dtype=bool)
    for line in range(len(gaps) - 1, -1, -1):
        gap = gaps[line]
        lower_state = state
        state = _choose(alpha[line][None, :] * gap.matrix[:, lower_state].T, rng)
        states.append(state)
        both = np.stack([state, lower_state], axis=1)
        _draw_gap(gap, both, into=(linked, index), rng=rng)
    real = np.zeros((n_draws, len(crossings.line)), dtype=bool)
    for line, state in zip(floor.lines, states[::-1], strict=True):
        for at, candidate in enumerate(crossings.of_line(int(line))):
            real[:, candidate] = (state >> at) & 1 == 1
    return real, linked


def draw_joins(
    crossings: Crossings,
    floor: Floor,
    present: BoolArray,
    *,
    sideways_m: float,
    rng: np.random.Generator,
) -> BoolArray:
    """Return joint draws of the links, given which crossings are there in each draw.

    Parameters
    ----------
    crossings : Crossings
        All candidates.
    floor : Floor
        The lines.
    present : ndarray of bool, shape (n_draws, n_candidates)
        Which are there [-].
    sideways_m : float
        Sideways step over 15 m [m].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of bool, shape (n_draws, n_links)
        Links in the order of `Topologies.parent` and `child`; given the states of
        the lines the gaps are independent.
    """
    index = {pair: at for at, pair in enumerate(_possible_links(crossings, floor))}
    linked = np.zeros((len(present), len(index)), dtype=bool)
    for pair in floor.pairs():
        gap = _gap_between(crossings, pair, floor, sideways_m)
        states = [present[:, one] @ (1 << np.arange(len(one))) for one in gap.ends]
        _draw_gap(gap, np.stack(states, axis=1), into=(linked, index), rng=rng)
    return linked


def _draw_gap(
    gap: _Gap,
    states: IntArray,
    *,
    into: tuple[BoolArray, dict[tuple[int, int], int]],
    rng: np.random.Generator,
) -> None:
    """Draw a way to join two lines for every draw, given the states of both."""
    linked, index = into
    joins, ends = gap.joins, gap.ends
    death = _subset_penalty(len(ends[0]), gap.log_death)
    birth = _subset_penalty(len(ends[1]), gap.log_birth)
    holds = _way_links(joins)
    for pair in np.unique(states, axis=0):
        rows = np.flatnonzero((states == pair).all(axis=1))
        total = np.cumsum(
            np.exp(gap.log_way)
            * death[pair[0]][joins.parent_mask]
            * birth[pair[1]][joins.child_mask]
        )
        mark = rng.random(len(rows)) * total[-1]
        chosen = np.minimum(np.searchsorted(total, mark), len(total) - 1)
        for a, parent in enumerate(ends[0]):
            for b, child in enumerate(ends[1]):
                linked[rows, index[int(parent), int(child)]] = holds(a, b)[chosen]


def _choose(weights: FloatArray, rng: np.random.Generator) -> IntArray:
    """Return one column for each row, with probability as its weight."""
    total = np.cumsum(weights, axis=1)
    mark = rng.random((len(weights), 1)) * total[:, -1:]
    return np.asarray(np.minimum((total < mark).sum(axis=1), weights.shape[1] - 1))
