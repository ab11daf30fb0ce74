"""The hand method: the best dig of each line joined straight to the next line's.

What is done on paper: on every line mark the digs above cutoff, best ones first, and
draw straight joins to the nearest marked dig of the next line. Shown beside the
traced streaks for comparison, with the usual warning that one tidy ribbon through
holes of two streaks overstates the ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.horizons import HorizonCounts
from pennyweight.streaks.sites import Sites

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandJoins:
    """Straight joins by hand.

    Attributes
    ----------
    upper, lower : ndarray of int, shape (n_joins,)
        Digs joined, as indices of sites [-].
    best : ndarray of int, shape (n_best,)
        Marked digs: the best of each unbroken run above cutoff [-].
    width_m : ndarray, shape (n_best,)
        Width by half-way to the neighbors [m].
    """

    upper: IntArray
    lower: IntArray
    best: IntArray
    width_m: FloatArray


def join_by_hand(
    sites: Sites,
    site: IntArray,
    accumulation_mg_m2: FloatArray,
    *,
    threshold_mg_m2: FloatArray,
) -> HandJoins:
    """Return the straight joins that one would draw on paper.

    Parameters
    ----------
    sites : Sites
        Digs and lines.
    site : ndarray of int, shape (n_told,)
        Digs that have a value [-].
    accumulation_mg_m2, threshold_mg_m2 : ndarray, shape (n_told,)
        Value of each, as if it were exact, and the cutoff there [mg/m2].

    Returns
    -------
    HandJoins
        Every marked dig of a line joined to the nearest marked one of the next line.
    """
    best: list[int] = []
    width: list[float] = []
    for line in range(len(sites.lines)):
        mine = np.flatnonzero(sites.line_index[site] == line)
        mine = mine[np.argsort(sites.n_m[site[mine]], kind="stable")]
        above = accumulation_mg_m2[mine] > threshold_mg_m2[mine]
        n_m = sites.n_m[site[mine]]
        for first, last in _runs(above):
            run = mine[first : last + 1]
            best.append(int(site[run[accumulation_mg_m2[run].argmax()]]))
            low = n_m[first] if first == 0 else (n_m[first] + n_m[first - 1]) / 2.0
            high = (
                n_m[last]
                if last == len(mine) - 1
                else (n_m[last] + n_m[last + 1]) / 2.0
            )
            width.append(float(high - low))
    marked = np.array(best, dtype=np.int64)
    upper, lower = [], []
    for line in range(len(sites.lines) - 1):
        here = marked[sites.line_index[marked] == line] if len(marked) else marked
        next_ = marked[sites.line_index[marked] == line + 1] if len(marked) else marked
        if not len(here) or not len(next_):
            continue
        for one in here:
            near = np.abs(sites.n_m[next_] - sites.n_m[one]).argmin()
            upper.append(int(one))
            lower.append(int(next_[near]))
    return HandJoins(
        upper=np.array(upper, dtype=np.int64),
        lower=np.array(lower, dtype=np.int64),
        best=marked,
        width_m=np.array(width),
    )


def _runs(above: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last of every unbroken run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], above.astype(np.int64), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def counted_mg_m2(counts: HorizonCounts) -> FloatArray:
    """Return the accumulation that each dig's own colors stand for, as if exact.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.

    Returns
    -------
    ndarray, shape (n_told,)
        Colors / recovery x mean mass / volume x thickness [mg/m2].
    """
    gold_mg = counts.colors / counts.recovery * counts.color_mg
    return np.asarray(gold_mg / counts.volume_m3 * counts.thickness_m)
