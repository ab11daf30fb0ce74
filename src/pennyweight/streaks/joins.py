"""All ways in which the crossings of one line can join those of the next.

Going downstream a crossing sends one link, or two to neighbors (a split); a crossing
receives none, one, or up to three (a merge). Links do not cross. The ways depend on
the numbers of crossings only, so they are listed once and kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]

#: Parents of one crossing at most.
MOST_PARENTS = 3
#: A child without parents.
ALONE = 0


@dataclass(frozen=True)
class Joins:
    """The ways to join `n_parents` crossings to `n_children`.

    Attributes
    ----------
    parents : tuple of tuple of int
        What a child can receive: nothing, one, two or three parents [-]. The same
        single parents stand again at the end, for the second child of a split.
    first_split : int
        Index in `parents` of the first of those [-].
    choice : ndarray of int, shape (n_ways, n_children)
        For each way and child an index in `parents` [-].
    parent_mask, child_mask : ndarray of int, shape (n_ways,)
        Bits of the crossings that are linked at all [-].
    """

    parents: tuple[tuple[int, ...], ...]
    first_split: int
    choice: IntArray
    parent_mask: IntArray
    child_mask: IntArray


_Way = tuple[tuple[int, ...], int, bool]


def _with_child(way: _Way, sets: list[tuple[int, ...]], first_split: int) -> list[_Way]:
    """Return a way with one more child, in all that the child can receive."""
    choices, last, can_split = way
    longer: list[_Way] = [((*choices, ALONE), last, can_split)]
    longer += [
        ((*choices, at), sets[at][-1], len(sets[at]) == 1)
        for at in range(1, first_split)
        if sets[at][0] > last
    ]
    if can_split:
        longer.append(((*choices, first_split + last), last, False))
    return longer


@lru_cache(maxsize=64)
def list_joins(n_parents: int, n_children: int) -> Joins:
    """Return every way to join without crossing links.

    Parameters
    ----------
    n_parents, n_children : int
        Number of crossings upstream and downstream [-].

    Returns
    -------
    Joins
        The first way joins nothing.

    Examples
    --------
    >>> len(list_joins(1, 1).choice), len(list_joins(2, 1).choice)
    (2, 4)
    """
    sets: list[tuple[int, ...]] = [()]
    for size in range(1, min(MOST_PARENTS, n_parents) + 1):
        sets += list(combinations(range(n_parents), size))
    first_split = len(sets)
    sets += [(parent,) for parent in range(n_parents)]
    # A way so far: choices, last parent used, whether that one may still split.
    ways: list[_Way] = [((), -1, False)]
    for _ in range(n_children):
        ways = [
            longer for way in ways for longer in _with_child(way, sets, first_split)
        ]
    choice = np.array([way[0] for way in ways], dtype=np.int64)
    choice = choice.reshape(len(ways), n_children)
    bits = np.array([sum(1 << one for one in taken) for taken in sets], dtype=np.int64)
    parent_mask = np.zeros(len(ways), dtype=np.int64)
    child_mask = np.zeros(len(ways), dtype=np.int64)
    for child in range(n_children):
        parent_mask |= bits[choice[:, child]]
        child_mask |= np.where(choice[:, child] != ALONE, 1 << child, 0)
    return Joins(tuple(sets), first_split, choice, parent_mask, child_mask)
