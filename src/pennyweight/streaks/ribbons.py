"""Ribbons: the ground above cutoff around a streak, draw by draw.

In one row of the field a ribbon is the unbroken run of ground above the cutoff that
holds the best place of a window. Its edges lie where the field crosses the cutoff,
between two columns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Ground above the cutoff that is narrower than this is no streak [m]. Our choice: a
#: trench's width.
LEAST_WIDTH_M = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ribbon:
    """One row of a ribbon in every draw; zero width where nothing is above cutoff.

    Attributes
    ----------
    present : ndarray of bool, shape (n_draws,)
        Whether anything in the window is above the cutoff.
    center_n_m, width_m : ndarray, shape (n_draws,)
        Center weighted by gold, and width [m]; nan and 0 where absent.
    gold_mg_m : ndarray, shape (n_draws,)
        Gold per meter of valley [mg/m].
    """

    present: BoolArray
    center_n_m: FloatArray
    width_m: FloatArray
    gold_mg_m: FloatArray


def cut_ribbon(
    accumulation_mg_m2: npt.NDArray[np.floating],
    threshold_mg_m2: npt.NDArray[np.floating],
    grid_n_m: FloatArray,
    *,
    search_n_m: tuple[FloatArray, FloatArray],
    limit_n_m: tuple[FloatArray, FloatArray],
) -> Ribbon:
    """Return the run above the cutoff around the best place of a window.

    Parameters
    ----------
    accumulation_mg_m2, threshold_mg_m2 : ndarray, shape (n_draws, n_grid)
        The field in one row, and what it must exceed [mg/m2].
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].
    search_n_m : tuple of ndarray, each shape (n_draws,)
        Where the best place is looked for [m].
    limit_n_m : tuple of ndarray, each shape (n_draws,)
        What the run may not go beyond [m].

    Returns
    -------
    Ribbon
        In every draw.
    """
    step = grid_n_m[1] - grid_n_m[0]
    # Columns that no draw reaches into say nothing.
    reach = _columns_of(grid_n_m, search_n_m, limit_n_m)
    grid_n_m = grid_n_m[reach]
    accumulation_mg_m2 = accumulation_mg_m2[:, reach]
    threshold_mg_m2 = threshold_mg_m2[:, reach]
    column = np.arange(len(grid_n_m))[None, :]
    over = accumulation_mg_m2 / threshold_mg_m2
    half = step / 2.0
    window = (grid_n_m >= search_n_m[0][:, None] - half) & (
        grid_n_m <= search_n_m[1][:, None] + half
    )
    rank = np.where(window, over, 0.0)
    best = rank.argmax(axis=1)
    rows = np.arange(len(best))
    above = rank[rows, best] > 1.0
    held = (grid_n_m >= limit_n_m[0][:, None] - half) & (
        grid_n_m <= limit_n_m[1][:, None] + half
    )
    high_enough = over > 1.0
    # One column below the cutoff between two above it parts nothing.
    high_enough[:, 1:-1] |= high_enough[:, :-2] & high_enough[:, 2:]
    inside = high_enough & (held | (column == best[:, None]))
    breaks = ~inside
    low = np.where(breaks & (column < best[:, None]), column, -1).max(axis=1) + 1
    high = np.where(breaks & (column > best[:, None]), column, len(grid_n_m)).min(
        axis=1
    )
    width = (high - low) * step
    width += _edge(over, rows, low, -1) * step + _edge(over, rows, high - 1, 1) * step
    present = above & (width >= LEAST_WIDTH_M)
    run = (column >= low[:, None]) & (column < high[:, None]) & present[:, None]
    gold = np.where(run, accumulation_mg_m2, 0.0)
    total = gold.sum(axis=1, dtype=np.float64)
    with np.errstate(invalid="ignore", divide="ignore"):
        center = (gold @ grid_n_m) / total
    return Ribbon(
        present=present,
        center_n_m=np.where(present, center, np.nan),
        width_m=np.where(present, np.maximum(width, 0.1 * step), 0.0),
        gold_mg_m=np.where(present, total * step, 0.0),
    )


def _columns_of(grid_n_m: FloatArray, *windows: tuple[FloatArray, FloatArray]) -> slice:
    """Return the columns of all windows, and two more on either side."""
    step = grid_n_m[1] - grid_n_m[0]
    low = min(float(window[0].min()) for window in windows)
    high = max(float(window[1].max()) for window in windows)
    first = int(np.floor((low - grid_n_m[0]) / step)) - 2
    last = int(np.ceil((high - grid_n_m[0]) / step)) + 2
    first = min(max(first, 0), len(grid_n_m) - 1)
    return slice(first, max(last + 1, first + 1))


def _edge(
    over: npt.NDArray[np.floating],
    rows: npt.NDArray[np.int64],
    last: npt.NDArray[np.int64],
    way: int,
) -> FloatArray:
    """Return how far beyond the last column's own half the run goes [columns]."""
    n_grid = over.shape[1]
    last = np.clip(last, 0, n_grid - 1)
    beyond = last + way
    outside = (beyond < 0) | (beyond >= n_grid)
    ours = np.log(over[rows, last])
    theirs = np.log(over[rows, np.clip(beyond, 0, n_grid - 1)])
    # A run stopped by its limit, or by the grid's edge, ends with the cell.
    falls = (theirs <= 0.0) & (ours > 0.0) & ~outside
    share = ours / np.where(falls, ours - theirs, 1.0)
    return np.where(falls, share - 0.5, 0.0)


def keep_draws(ribbon: Ribbon, draws: BoolArray) -> Ribbon:
    """Return a ribbon taken away from all other draws.

    Parameters
    ----------
    ribbon : Ribbon
        In every draw.
    draws : ndarray of bool, shape (n_draws,)
        Where it stays [-].

    Returns
    -------
    Ribbon
        Absent elsewhere.
    """
    return Ribbon(
        present=ribbon.present & draws,
        center_n_m=np.where(draws, ribbon.center_n_m, np.nan),
        width_m=np.where(draws, ribbon.width_m, 0.0),
        gold_mg_m=np.where(draws, ribbon.gold_mg_m, 0.0),
    )
