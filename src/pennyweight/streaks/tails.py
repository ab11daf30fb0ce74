"""Tails: how far a streak goes on beyond its last line before it sinks below cutoff.

A streak that is there on one line and not on the next ends somewhere between. The
field tells where: from the crossing its ribbon is followed row by row, and is lost in
each draw where nothing beside it is above the cutoff. It is followed half-way at most,
for beyond that the other line has the say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.between import ValleyGrid
from pennyweight.streaks.ribbons import Ribbon, cut_ribbon, keep_draws
from pennyweight.streaks.tracing import BESIDE_M, Reach, Traced, line_place

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Limits = tuple[FloatArray, FloatArray]

#: Share of the way to the next line that a tail is followed [-].
TAIL_SHARE = 0.5


def follow_tail(
    traced: Traced,
    candidate: int,
    beside: tuple[Sequence[int], Mapping[int, Reach]],
    *,
    grid: ValleyGrid,
    downstream: bool,
) -> Reach | None:
    """Return a streak's ribbon beyond the crossing at which it ends.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.
    candidate : int
        The crossing [-].
    beside : tuple
        Other crossings that end or go on beside it, and the ribbons of the agreed
        links by link; the tail keeps half-way from all of them.
    grid : ValleyGrid
        Cells.
    downstream : bool
        Below the line; else above it.

    Returns
    -------
    Reach or None
        Rows away from the line; None beyond the outermost line.
    """
    rows = _tail_rows(traced, candidate, grid, downstream=downstream)
    if rows is None:
        return None
    others, reaches = beside
    ribbon = traced.crossing[candidate]
    line = traced.fit.crossings.line
    same = [at for at in others if at != candidate and line[at] == line[candidate]]
    fixed = [traced.crossing[at].center_n_m for at in same]
    alive = ribbon.present
    center = np.where(alive, ribbon.center_n_m, traced.fit.crossings.n_m[candidate])
    ribbons = []
    for row in rows:
        centers = [*fixed, *_centers_at(int(row), reaches)]
        low, high = _half_way(center, centers, grid)
        found = cut_ribbon(
            traced.fit.cell_mg_m2[:, row],
            traced.threshold_mg_m2(int(row)),
            grid.n_m,
            search_n_m=(
                np.maximum(center - BESIDE_M, low),
                np.minimum(center + BESIDE_M, high),
            ),
            limit_n_m=(low, high),
        )
        alive = alive & found.present
        ribbons.append(keep_draws(found, alive))
        center = np.where(alive, found.center_n_m, center)
    return Reach(rows=rows, ribbons=tuple(ribbons))


def _tail_rows(
    traced: Traced, candidate: int, grid: ValleyGrid, *, downstream: bool
) -> IntArray | None:
    """Return the rows from a line half-way to the next, the nearest first."""
    lines = traced.fit.floor.lines
    line = int(traced.fit.crossings.line[candidate])
    at = int(np.searchsorted(lines, line)) + (1 if downstream else -1)
    if not 0 <= at < len(lines):
        return None
    n_m = float(traced.fit.crossings.n_m[candidate])
    here, there = line_place(grid, line, n_m), line_place(grid, int(lines[at]), n_m)
    end = here + TAIL_SHARE * (there - here)
    if downstream:
        return np.flatnonzero((grid.s_m > here) & (grid.s_m <= end))
    return np.flatnonzero((grid.s_m <= here) & (grid.s_m > end))[::-1]


def _centers_at(row: int, reaches: Mapping[int, Reach]) -> list[FloatArray]:
    """Return the centers of all followed links in a row, nan where absent."""
    found = []
    for reach in reaches.values():
        at = np.flatnonzero(reach.rows == row)
        found += [reach.ribbons[int(one)].center_n_m for one in at]
    return found


def _half_way(center: FloatArray, others: list[FloatArray], grid: ValleyGrid) -> Limits:
    """Return what a tail may not go beyond, half-way to its neighbors."""
    low = np.full(len(center), grid.n_m[0])
    high = np.full(len(center), grid.n_m[-1])
    for other in others:
        middle = (center + other) / 2.0
        left = np.isfinite(other) & (other > center)
        right = np.isfinite(other) & (other <= center)
        high = np.where(left, np.minimum(high, middle), high)
        low = np.where(right, np.maximum(low, middle), low)
    return low, high


def likely_rows(reach: Reach, least: float) -> list[tuple[int, Ribbon]]:
    """Return the rows of a tail in which it is likely enough.

    Parameters
    ----------
    reach : Reach
        The tail.
    least : float
        Share of draws below which it is not told [-].

    Returns
    -------
    list of tuple
        Row and ribbon.
    """
    return [
        (int(row), one)
        for row, one in zip(reach.rows, reach.ribbons, strict=True)
        if float(one.present.mean()) >= least
    ]
