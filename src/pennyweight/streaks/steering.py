"""Reading across: where on a line to look for what lies at a place between lines.

Gold between two lines looks like gold on them, not straight up and down the valley
but along the links. A place is read off a line at an offset: that of the link it lies
next to, blended between neighbors; where two links end in one crossing the nearer one
rules, so that the ground between merging streaks stays what it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: Within this of a link its offset holds unblended [m]. Our choice: half a streak.
RIGID_M = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Steering:
    """The links between two lines: where they start and end across the valley.

    Attributes
    ----------
    upper_n_m, lower_n_m : ndarray, shape (n_links,)
        Ends on the upper and on the lower line [m].
    gold : ndarray, shape (n_links,)
        Gold per meter at the upper end, to tell the leading link of a merge [mg/m].
    """

    upper_n_m: FloatArray
    lower_n_m: FloatArray
    gold: FloatArray


NO_LINKS = Steering(upper_n_m=np.zeros(0), lower_n_m=np.zeros(0), gold=np.zeros(0))


def read_offsets(
    grid_n_m: FloatArray, steering: Steering, share: FloatArray, *, to_lower: bool
) -> FloatArray:
    """Return the offset at which each cell between two lines is read off one of them.

    Parameters
    ----------
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].
    steering : Steering
        Links between the lines.
    share : ndarray, shape (n_rows, n_grid)
        How far down between the lines each cell lies, 0 to 1 [-].
    to_lower : bool
        Read off the lower line; else off the upper one.

    Returns
    -------
    ndarray, shape (n_rows, n_grid)
        To be added to the cell's place across [m]; 0 without links.
    """
    if len(steering.gold) == 0:
        return np.zeros(share.shape)
    start, end = steering.upper_n_m, steering.lower_n_m
    order = np.lexsort((end, start))
    start, end = start[order], end[order]
    goal = end if to_lower else start
    last = len(goal) - 1
    # How many links lie to the right of a cell: they never cross.
    right = np.zeros(share.shape, dtype=np.int64)
    for first, drift in zip(start, end - start, strict=True):
        right += first + drift * share < grid_n_m
    links = np.maximum(right - 1, 0), np.minimum(right, last)
    # Where each of the two lies at the cell's row.
    at = [start[one] + (end - start)[one] * share for one in links]
    to_left, to_right = (np.abs(one - grid_n_m) for one in at)
    apart = to_left + to_right
    rigid = np.minimum(RIGID_M, 0.45 * apart)
    blend = (to_left - rigid) / np.maximum(apart - 2.0 * rigid, 1e-9)
    blend = np.minimum(np.maximum(blend, 0.0), 1.0)
    shared = np.abs(goal[links[0]] - goal[links[1]]) < 1e-9
    blend = np.where(shared, to_left > to_right, blend)
    away = [goal[one] - where for one, where in zip(links, at, strict=True)]
    return np.asarray((1.0 - blend) * away[0] + blend * away[1])


def leading_links(steering: Steering) -> Steering:
    """Return the links with one a crossing on the lower line: the richest.

    Parameters
    ----------
    steering : Steering
        All links between two lines.

    Returns
    -------
    Steering
        What the lower line is read off the upper one by.
    """
    keep = []
    for end in np.unique(steering.lower_n_m):
        same = np.flatnonzero(steering.lower_n_m == end)
        keep.append(int(same[steering.gold[same].argmax()]))
    kept = np.array(sorted(keep), dtype=np.int64)
    return Steering(
        upper_n_m=steering.upper_n_m[kept],
        lower_n_m=steering.lower_n_m[kept],
        gold=steering.gold[kept],
    )


def reading_weights(
    grid_n_m: FloatArray, read_n_m: FloatArray
) -> tuple[npt.NDArray[np.int64], FloatArray]:
    """Return the column to the right of each place read, and the share of the next.

    Parameters
    ----------
    grid_n_m : ndarray, shape (n_grid,)
        Places across, evenly spaced [m].
    read_n_m : ndarray
        Places to read off; beyond the grid its edge is read [m].

    Returns
    -------
    tuple of ndarray
        Column [-] and weight of the column after it, 0 to 1 [-].
    """
    step = grid_n_m[1] - grid_n_m[0]
    at = np.clip((read_n_m - grid_n_m[0]) / step, 0.0, len(grid_n_m) - 1.000001)
    low = at.astype(np.int64)
    return low, at - low
