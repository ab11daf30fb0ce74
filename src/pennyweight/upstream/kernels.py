"""Loops over the reaches of a tree, compiled; imported late, since numba is slow.

States of a message are levels of `FluxScale`: 0 is no gold. The parts of a segment are
the gold that enters it: from a segment above, or from own sources that lie equally far.
They come as four arrays: where the parts of each segment begin, shape (n_segments + 1,)
with segments upstream first; for each part the segment above or -1; the levels lost on
its way; the chance of a source.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


@njit(cache=True)
def sort_down(down: Any) -> Any:
    """Return the reaches upstream first; fewer than all where some run in a circle.

    Parameters
    ----------
    down : ndarray of int, shape (n_reaches,)
        Reach below each; -1 at an outlet [-].

    Returns
    -------
    ndarray of int
        Reaches, each after all that flow into it.
    """
    count = down.size
    feeders = np.zeros(count, np.int64)
    for reach in range(count):
        if down[reach] >= 0:
            feeders[down[reach]] += 1
    order = np.empty(count, np.int64)
    found = 0
    for reach in range(count):
        if feeders[reach] == 0:
            order[found] = reach
            found += 1
    at = 0
    while at < found:
        below = down[order[at]]
        at += 1
        if below >= 0:
            feeders[below] -= 1
            if feeders[below] == 0:
                order[found] = below
                found += 1
    return order[:found].copy()


@njit(cache=True)
def sum_above(down: Any, order: Any, values: Any) -> Any:
    """Return the sum over each reach and all that flow into it.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_reaches,)
        Reach below each; reaches upstream first [-].
    values : ndarray, shape (n_reaches,)
        In any one unit [-].

    Returns
    -------
    ndarray
        Sums.
    """
    total = values.copy()
    for reach in order:
        if down[reach] >= 0:
            total[down[reach]] += total[reach]
    return total


@njit(cache=True)
def sum_below(down: Any, order: Any, values: Any) -> Any:
    """Return the sum over all reaches below each, itself left out.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_reaches,)
        Reach below each; reaches upstream first [-].
    values : ndarray, shape (n_reaches,)
        In any one unit [-].

    Returns
    -------
    ndarray
        Sums.
    """
    total = np.zeros(values.size)
    for reach in order[::-1]:
        if down[reach] >= 0:
            total[reach] = total[down[reach]] + values[down[reach]]
    return total


@njit(cache=True)
def find_segments(down: Any, order: Any, marked: Any) -> Any:
    """Return the piece at the foot of the segment that each piece belongs to.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_pieces,)
        Piece below each; pieces upstream first [-].
    marked : ndarray of bool, shape (n_pieces,)
        Pieces that end a segment [-].

    Returns
    -------
    ndarray of int
        The marked piece, or outlet, that the water of each reaches first.
    """
    root = np.empty(down.size, np.int64)
    for piece in order[::-1]:
        if marked[piece] or down[piece] < 0:
            root[piece] = piece
        else:
            root[piece] = root[down[piece]]
    return root


@njit(cache=True)
def pass_down(parts: Any, likelihood: Any, levels: Any) -> Any:
    """Return the messages of every segment down the tree, and the log evidence.

    Parameters
    ----------
    parts : tuple of ndarray
        As above [-].
    likelihood : ndarray, shape (n_segments, n_levels + 1)
        Of what was washed at each foot [-].
    levels : tuple
        Share of sources at each level; ratio of a level to the one below, 2 or more.

    Returns
    -------
    tuple
        Messages at each foot with all above it, shape (n_segments, n_levels + 1);
        what had entered before each part, shape (n_parts, n_levels + 1); log evidence.
    """
    first_part, child = parts[0], parts[1]
    strength, ratio = levels
    size = strength.size
    count = first_part.size - 1
    messages = np.empty((count, size))
    before = np.empty((child.size, size))
    part, total = np.empty(size), np.empty(size)
    evidence = 0.0
    for segment in range(count):
        total[:] = 0.0
        total[0] = 1.0
        for at in range(first_part[segment], first_part[segment + 1]):
            before[at] = total
            _bring(messages, parts, at, strength, part)
            _join(before[at], part, ratio, total)
        scale = 0.0
        for level in range(size):
            messages[segment, level] = total[level] * likelihood[segment, level]
            scale += messages[segment, level]
        messages[segment] /= scale
        evidence += np.log(scale)
    return messages, before, evidence


@njit(cache=True)
def pass_up(parts: Any, likelihood: Any, passed: Any) -> Any:
    """Return what all samples together say about every segment and source.

    Parameters
    ----------
    parts : tuple of ndarray
        As above [-].
    likelihood : ndarray, shape (n_segments, n_levels + 1)
        Of what was washed at each foot [-].
    passed : tuple
        Messages and what came before each part, from `pass_down`; share of sources at
        each level; ratio of a level to the one below.

    Returns
    -------
    tuple
        Distribution of the gold at each foot, shape (n_segments, n_levels + 1), and
        probability of a source in each part, shape (n_parts,); 0 for parts from above.
    """
    first_part, child, steps, chance = parts
    messages, before, strength, ratio = passed
    size = strength.size
    count = first_part.size - 1
    below = np.ones((count, size))
    gold = np.empty((count, size))
    source = np.zeros(child.size)
    part, told_before, told = np.empty(size), np.empty(size), np.empty(size)
    after = np.empty(size)
    for segment in range(count - 1, -1, -1):
        gold[segment] = messages[segment] * below[segment]
        gold[segment] /= gold[segment].sum()
        after[:] = below[segment] * likelihood[segment]
        after /= after.max()
        for at in range(first_part[segment + 1] - 1, first_part[segment] - 1, -1):
            _bring(messages, parts, at, strength, part)
            _tell_back(part, ratio, after, told_before)
            _tell_back(before[at], ratio, after, told)
            after[:] = told_before / told_before.max()
            if child[at] < 0:
                source[at] = _source_share(told, steps[at], chance[at], strength)
            else:
                _raise_levels(told, steps[at], below[child[at]])
    return gold, source


@njit(cache=True)
def _bring(messages: Any, parts: Any, at: int, strength: Any, part: Any) -> None:
    """Write the distribution of the gold that a part brings."""
    child, steps, chance = parts[1], parts[2], parts[3]
    if child[at] >= 0:
        _lower_levels(messages[child[at]], steps[at], part)
        return
    _lower_levels(strength, steps[at], part)
    for level in range(part.size):
        part[level] *= chance[at]
    part[0] += 1.0 - chance[at]


@njit(cache=True)
def _lower_levels(message: Any, steps: int, lowered: Any) -> None:
    """Write a message some levels lower; what falls below the lowest is none."""
    lowered[:] = 0.0
    for level in range(message.size):
        lowered[max(level - steps, 0)] += message[level]


@njit(cache=True)
def _raise_levels(told: Any, steps: int, raised: Any) -> None:
    """Write a likelihood by the level before some levels are lost."""
    for level in range(raised.size):
        raised[level] = told[max(level - steps, 0)]
    raised /= raised.max()


@njit(cache=True)
def _join(first: Any, second: Any, ratio: float, total: Any) -> None:
    """Write the distribution of the sum of two independent streams of gold.

    A sum lies between the higher level and the next one, nearer to it the less they
    are apart: the next one's share is ratio^-apart / (ratio - 1). As it falls off by
    one factor a level, running sums stand in for the double loop.
    """
    top = first.size - 1
    total[0] = first[0] * second[0]
    sum_first, sum_second = first[0], second[0]
    near_first, near_second = 0.0, 0.0
    carried = 0.0
    for level in range(1, top + 1):
        a, b = first[level], second[level]
        # Of pairs whose higher level is this one: the share that goes one level up.
        up = (a * (near_second / ratio + b) + b * near_first / ratio) / (ratio - 1.0)
        whole = a * (sum_second + b) + b * sum_first
        total[level] = whole - up + carried
        carried = up
        sum_first += a
        sum_second += b
        near_first = near_first / ratio + a
        near_second = near_second / ratio + b
    total[top] += carried


@njit(cache=True)
def _tell_back(other: Any, ratio: float, after: Any, told: Any) -> None:
    """Write the likelihood of one stream's level, the other stream summed out.

    `after` is the likelihood by the level of their sum; the sums run as in `_join`.
    """
    top = other.size - 1
    told[0] = 0.0
    for level in range(top + 1):
        told[0] += other[level] * after[level]
    below, near = other[0], 0.0
    for level in range(1, top + 1):
        below += other[level]
        near = near / ratio + other[level]
        rise = after[min(level + 1, top)] - after[level]
        told[level] = after[level] * below + rise * near / (ratio - 1.0)
    above, near = 0.0, 0.0
    for level in range(top - 1, 0, -1):
        higher = other[level + 1]
        rise = after[min(level + 2, top)] - after[level + 1]
        above += higher * after[level + 1]
        near = (near + higher * rise) / ratio
        told[level] += above + near / (ratio - 1.0)


@njit(cache=True)
def _source_share(told: Any, steps: int, chance: float, strength: Any) -> Any:
    """Return the probability of a source, from what its gold explains."""
    there = 0.0
    for level in range(1, strength.size):
        there += strength[level] * told[max(level - steps, 0)]
    there *= chance
    return there / (there + (1.0 - chance) * told[0])


@njit(cache=True)
def draw_up(parts: Any, passed: Any, chances: Any) -> Any:
    """Return worlds drawn from the posterior, from the outlets up.

    Parameters
    ----------
    parts : tuple of ndarray
        As above [-].
    passed : tuple
        Messages and what came before each part, from `pass_down`; share of sources at
        each level; ratio of a level to the one below.
    chances : ndarray, shape (n_draws, 2 n_parts + n_segments)
        Uniform between 0 and 1 [-].

    Returns
    -------
    tuple of ndarray of int
        Level of each part's own source where it lies, -1 where there is none or the
        part comes from above, shape (n_draws, n_parts); level of the gold at each
        foot, shape (n_draws, n_segments).
    """
    source = np.full((chances.shape[0], parts[1].size), -1, np.int64)
    gold = np.full((chances.shape[0], parts[0].size - 1), -1, np.int64)
    for draw in range(chances.shape[0]):
        _draw_world(parts, passed, chances[draw], source[draw], gold[draw])
    return source, gold


@njit(cache=True)
def _draw_world(parts: Any, passed: Any, chances: Any, source: Any, gold: Any) -> None:
    """Write one world: the level of every source, and of the gold at every foot."""
    first_part, child, steps, chance = parts
    messages, before, strength, ratio = passed
    size = strength.size
    part, weight = np.empty(size), np.empty(6 * size)
    pair = np.empty(6 * size, np.int64)
    for segment in range(first_part.size - 2, -1, -1):
        if gold[segment] < 0:
            chosen = chances[2 * child.size + segment]
            gold[segment] = _pick(messages[segment], chosen)
        total = gold[segment]
        for at in range(first_part[segment + 1] - 1, first_part[segment] - 1, -1):
            _bring(messages, parts, at, strength, part)
            count = _pair_up(before[at], part, ratio, total, (pair, weight))
            chosen = pair[_pick(weight[:count], chances[2 * at])]
            total, brought = chosen // size, chosen % size
            chosen = chances[2 * at + 1]
            if child[at] >= 0:
                gold[child[at]] = _origin(
                    messages[child[at]], steps[at], brought, chosen
                )
            else:
                source[at] = _own_level(
                    strength, steps[at], chance[at], brought, chosen
                )


@njit(cache=True)
def _pick(weights: Any, chance: float) -> Any:
    """Return an index with a chance in proportion to its weight."""
    left = chance * weights.sum()
    last = 0
    for at in range(weights.size):
        if weights[at] > 0.0:
            last = at
            left -= weights[at]
            if left < 0.0:
                return at
    return last


@njit(cache=True)
def _pair_up(first: Any, second: Any, ratio: float, total: int, pairs: Any) -> Any:
    """Write every pair of levels that gives a sum, and its weight; return how many."""
    pair, weight = pairs
    size = first.size
    top = size - 1
    pair[0], weight[0] = total * size, first[total] * second[0]
    count = 1
    if total == 0:
        return count
    pair[1], weight[1] = total, first[0] * second[total]
    count = 2
    for other in range(1, total + 1):
        share = ratio ** (other - total) / (ratio - 1.0)
        stays = 1.0 if total == top else 1.0 - share
        count = _both_ways(first, second, (total, other, stays), pairs, count)
    low = total - 1
    for other in range(1, low + 1):
        share = ratio ** (other - low) / (ratio - 1.0)
        count = _both_ways(first, second, (low, other, share), pairs, count)
    return count


@njit(cache=True)
def _both_ways(first: Any, second: Any, met: Any, pairs: Any, count: int) -> Any:
    """Write two levels as a pair either way around; return how many there are now."""
    pair, weight = pairs
    high, low, share = met
    pair[count] = high * first.size + low
    weight[count] = first[high] * second[low] * share
    count += 1
    if high != low:
        pair[count] = low * first.size + high
        weight[count] = first[low] * second[high] * share
        count += 1
    return count


@njit(cache=True)
def _origin(message: Any, steps: int, brought: int, chance: float) -> Any:
    """Return the level before some levels were lost, by its message."""
    if brought > 0:
        return brought + steps
    return _pick(message[: min(steps + 1, message.size)], chance)


@njit(cache=True)
def _own_level(
    strength: Any, steps: int, chance: float, brought: int, chosen: float
) -> Any:
    """Return the level of a source that brings so much; -1 where there is none."""
    if brought > 0:
        return brought + steps
    lost = strength[1 : min(steps + 1, strength.size)].sum() * chance
    if chosen * (lost + 1.0 - chance) >= lost:
        return -1
    again = chosen * (lost + 1.0 - chance) / lost
    return 1 + _pick(strength[1 : min(steps + 1, strength.size)], again)
