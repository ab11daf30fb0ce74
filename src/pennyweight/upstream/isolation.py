"""How many samples it takes, at worst, to pin a source down to one piece.

Every sample at the foot of a piece that was big enough says whether the source lies
above it. The best order of asking is a ranking of the tree's joints: no two of equal
rank without a higher one between them, and the highest rank as low as can be.
"""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
import numpy.typing as npt

IndexArray = npt.NDArray[np.int64]

#: Most feeders at one junction for which every ranking is tried [-].
TRIED_FEEDERS = 3


def halving_samples(n_pieces: int) -> int:
    """Return the samples that halve a row of pieces down to one, if all could be.

    Parameters
    ----------
    n_pieces : int
        Pieces that may hold the source [-].

    Returns
    -------
    int
        The base-2 logarithm, rounded up [-]; no way of asking can do with less.

    Examples
    --------
    >>> halving_samples(10)
    4
    """
    return math.ceil(math.log2(n_pieces)) if n_pieces > 1 else 0


def worst_case_samples(down: IndexArray, order: IndexArray) -> int:
    """Return the samples that pin a source down to one piece, at worst.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_pieces,)
        Piece below each; pieces upstream first [-]. Several outlets are asked one
        after the other.

    Returns
    -------
    int
        The least number that is enough wherever the source lies [-]; where more than
        three feeders meet in one place, a number that is enough.

    References
    ----------
    Mozes, Onak and Weimann (2008), Finding an optimal tree searching strategy in
    linear time, SODA; docs/sources.md "samples at worst".

    Examples
    --------
    A row of four pieces:

    >>> worst_case_samples(np.array([1, 2, 3, -1]), np.array([0, 1, 2, 3]))
    2
    """
    feeders: dict[int, list[int]] = {}
    highest = 0
    ends = []
    for piece in order.tolist():
        seen, top = rank_feeders(tuple(sorted(feeders.pop(piece, []))))
        highest = max(highest, top)
        below = int(down[piece])
        if below >= 0:
            feeders.setdefault(below, []).append(seen)
        else:
            ends.append(seen)
    if len(ends) > 1:
        # As if all outlets ran into one more piece; its own place needs no asking.
        highest = max(highest, rank_feeders(tuple(sorted(ends)))[1])
    return highest


@cache
def rank_feeders(seen: tuple[int, ...]) -> tuple[int, int]:
    """Return the ranks seen at a junction, and the highest one given there.

    Parameters
    ----------
    seen : tuple of int
        Ranks seen at the head of each feeder's joint, rank r as bit r - 1 [-].

    Returns
    -------
    tuple of (int, int)
        The least set of ranks seen from below, as bits, and the highest rank [-].
    """
    if not seen:
        return 0, 0
    if len(seen) > TRIED_FEEDERS:
        return _rank_one_by_one(seen)
    most = max(one.bit_length() for one in seen) + len(seen) + 1
    choices = [
        [_shown(one, rank) for rank in range(1, most + 1) if not one >> (rank - 1) & 1]
        for one in seen
    ]
    best = min(sum(shown) for shown in itertools.product(*choices) if _apart(shown))
    return best, best.bit_length()


def _shown(seen: int, rank: int) -> int:
    """Return what is seen past a joint: its rank, and the higher ones behind it."""
    return (seen >> rank << rank) | 1 << (rank - 1)


def _apart(shown: tuple[int, ...]) -> bool:
    together = 0
    for one in shown:
        if together & one:
            return False
        together |= one
    return True


def _rank_one_by_one(seen: tuple[int, ...]) -> tuple[int, int]:
    """Give each feeder the lowest rank that is free, the fullest one first."""
    together = 0
    for one in sorted(seen, reverse=True):
        rank = 1
        while one >> (rank - 1) & 1 or together & _shown(one, rank):
            rank += 1
        together |= _shown(one, rank)
    return together, together.bit_length()
