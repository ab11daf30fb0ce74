"""The field between lines: drawn, given the lines above and below, along the links.

A line is a curve through its digs, so that an oblique trench is taken as it lies.
Between two curves the field is what both lines say, each read along the links and
weighted as in a Markov process with correlation exp(-d / l_s), plus a bridge of its
own that vanishes on both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.field import Across
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.steering import (
    NO_LINKS,
    Steering,
    read_offsets,
    reading_weights,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Cells = npt.NDArray[np.float32]

#: Spacing of the rows [m], and how many at most.
ROW_M, MOST_ROWS = 2.5, 800
#: Length of valley that a single line speaks for [m].
ONE_LINE_M = 5.0
#: Spacing of the columns as a share of the usual spacing of digs, and its bounds [m].
COLUMN_SHARE, COLUMN_LEAST_M, COLUMN_MOST_M = 0.25, 0.3, 2.0
#: Columns at most, and how far the grid reaches beyond the outermost digs [m].
MOST_COLUMNS, MARGIN_M = 110, 2.0
#: Share of the usual width of a line below which it is short [-]. Our choice.
SHORT_LINE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ValleyGrid:
    """Cells over the sampled stretch, and the curves of the lines through them.

    Attributes
    ----------
    s_m, n_m : ndarray, shapes (n_rows,), (n_grid,)
        Cell centers [m].
    ds_m, dn_m : float
        Size of a cell [m].
    curve_s_m : ndarray, shape (n_lines, n_grid)
        Where each line lies at each column [m].
    gap : ndarray of int, shape (n_rows, n_grid)
        Which gap a cell lies in: number of the line above, -1 above the first [-].
    inside : ndarray, shape (n_rows, n_grid)
        Share of the cell inside the outline of the sampled stretch [-].
    """

    s_m: FloatArray
    n_m: FloatArray
    ds_m: float
    dn_m: float
    curve_s_m: FloatArray
    gap: IntArray
    inside: FloatArray


def lay_grid(
    sites: Sites, *, row_m: float | None = None, column_m: float | None = None
) -> ValleyGrid:
    """Return the grid over the sampled stretch.

    Parameters
    ----------
    sites : Sites
        At least one dig.
    row_m, column_m : float, optional
        Spacing of rows and columns [m]. Where none is wanted: 2.5 m, and a quarter of
        the usual spacing of the digs; coarser on very large ground.

    Returns
    -------
    ValleyGrid
        Rows from the first line to the last; columns a little beyond the digs.
    """
    spacings = [
        gap
        for line in range(len(sites.lines))
        for gap in np.diff(np.sort(sites.n_m[sites.line_index == line]))
        if gap > 0.05
    ]
    usual = float(np.median(spacings)) if spacings else 2.0
    dn_m = float(np.clip(COLUMN_SHARE * usual, COLUMN_LEAST_M, COLUMN_MOST_M))
    low, high = sites.n_m.min() - MARGIN_M, sites.n_m.max() + MARGIN_M
    dn_m = max(dn_m, float(high - low) / (MOST_COLUMNS - 1))
    dn_m = dn_m if column_m is None else column_m
    n_m = low + dn_m * np.arange(int(np.ceil((high - low) / dn_m)) + 1)
    curves = np.array([_curve(sites, line, n_m) for line in range(len(sites.lines))])
    first, last = float(sites.s_m.min()), float(sites.s_m.max())
    if len(sites.lines) == 1 or last - first < 1.0:
        middle = (first + last) / 2.0
        half = max(ONE_LINE_M, last - first) / 2.0
        first, last = middle - half, middle + half
    wanted = min((last - first) / ROW_M, MOST_ROWS)
    wanted = wanted if row_m is None else (last - first) / row_m
    n_rows = max(int(np.ceil(wanted)), 2)
    ds_m = (last - first) / n_rows
    s_m: FloatArray = first + ds_m * (np.arange(n_rows, dtype=np.float64) + 0.5)
    gap = (s_m[:, None, None] >= curves.T[None]).sum(axis=-1) - 1
    return ValleyGrid(
        s_m=s_m,
        n_m=n_m,
        ds_m=ds_m,
        dn_m=dn_m,
        curve_s_m=curves,
        gap=gap,
        inside=_inside(sites, (s_m, n_m), (ds_m, dn_m)),
    )


def _curve(sites: Sites, line: int, n_m: FloatArray) -> FloatArray:
    """Return the place downstream of a line at every column [m]."""
    mine = np.flatnonzero(sites.line_index == line)
    order = mine[np.argsort(sites.n_m[mine], kind="stable")]
    return np.asarray(np.interp(n_m, sites.n_m[order], sites.s_m[order]))


def outline_edges(sites: Sites) -> tuple[FloatArray, FloatArray]:
    """Return the right and the left edge of the sampled stretch, downstream.

    Parameters
    ----------
    sites : Sites
        Digs and lines.

    Returns
    -------
    tuple of ndarray, each shape (n_lines, 2)
        (s_m, n_m) of the outermost dig of each line on that side [m]. A short line is
        widened to the outline of the others: one more pit in a sampled stretch takes
        nothing away from it.
    """
    ends = np.array([_ends_of(sites, line) for line in range(len(sites.lines))])
    right, left = ends[:, 0], ends[:, 1]
    width = left[:, 1] - right[:, 1]
    wide = width[width > 0.0]
    short = width < SHORT_LINE * (np.median(wide) if len(wide) else 0.0)
    for line in np.flatnonzero(short):
        for edge, outer in ((right, min), (left, max)):
            others = _sorted(edge[~short])
            s_m, n_m = edge[line]
            if others[0][0] <= s_m <= others[0][-1]:
                edge[line, 1] = outer(n_m, np.interp(s_m, *others))
    return right, left


def _ends_of(sites: Sites, line: int) -> list[tuple[float, float]]:
    """Return (s_m, n_m) of the outermost digs of a line: right, left."""
    mine = np.flatnonzero(sites.line_index == line)
    outermost = mine[sites.n_m[mine].argmin()], mine[sites.n_m[mine].argmax()]
    return [(float(sites.s_m[at]), float(sites.n_m[at])) for at in outermost]


def _inside(
    sites: Sites,
    centers: tuple[FloatArray, FloatArray],
    size_m: tuple[float, float],
) -> FloatArray:
    """Return the share of each cell inside the outline."""
    s_m, n_m = centers
    ds_m, dn_m = size_m
    right, left = outline_edges(sites)
    share = np.zeros((len(s_m), len(n_m)))
    parts = 5
    for part in range(parts):
        at = s_m + ds_m * ((part + 0.5) / parts - 0.5)
        low = np.interp(at, *_sorted(right))[:, None]
        high = np.interp(at, *_sorted(left))[:, None]
        covered = np.minimum(high, n_m + dn_m / 2.0) - np.maximum(low, n_m - dn_m / 2.0)
        share += np.clip(covered / dn_m, 0.0, 1.0) / parts
    first = np.interp(n_m, *_across_ends(right[0], left[0]))
    last = np.interp(n_m, *_across_ends(right[-1], left[-1]))
    if len(sites.lines) > 1:
        upper = np.clip((s_m[:, None] - first) / ds_m + 0.5, 0.0, 1.0)
        lower = np.clip((last - s_m[:, None]) / ds_m + 0.5, 0.0, 1.0)
        share *= upper * lower
    return share


def _sorted(edge: FloatArray) -> tuple[FloatArray, FloatArray]:
    order = np.argsort(edge[:, 0], kind="stable")
    return edge[order, 0], edge[order, 1]


def _across_ends(
    right: FloatArray, left: FloatArray
) -> tuple[list[float], list[float]]:
    return [float(right[1]), float(left[1])], [float(right[0]), float(left[0])]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapDraws:
    """Draws of the cells between two lines, or beyond the first or last one.

    Attributes
    ----------
    rows : slice
        Rows of the grid that the gap touches.
    here : ndarray of bool, shape (n_rows, n_grid)
        Which cells of those rows lie in the gap; the others belong to the next one.
    log_mg_m2 : ndarray of float32, shape (n_draws, n_rows, n_grid)
        Log accumulation; no meaning where the cell is not `here` [ln mg/m2].
    """

    rows: slice
    here: npt.NDArray[np.bool_]
    log_mg_m2: Cells


def draw_between(
    lines: tuple[FloatArray, FloatArray],
    grid: ValleyGrid,
    across: Across,
    *,
    sigma: float,
    length_s_m: float,
    steering: Sequence[Steering],
    rng: np.random.Generator,
) -> Cells:
    """Return draws of the field in every cell, given draws on the lines.

    Parameters
    ----------
    lines, grid, across, sigma, length_s_m, steering, rng
        As in `stream_between` [-], [m].

    Returns
    -------
    ndarray of float32, shape (n_draws, n_rows, n_grid)
        Log accumulation [ln mg/m2].
    """
    shape = len(lines[1]), len(grid.s_m), len(grid.n_m)
    out: Cells = np.empty(shape, dtype=np.float32)
    for gap in stream_between(
        lines,
        grid,
        across,
        sigma=sigma,
        length_s_m=length_s_m,
        steering=steering,
        rng=rng,
    ):
        where = True if gap.here.all() else gap.here
        np.copyto(out[:, gap.rows], gap.log_mg_m2, where=where)
    return out


def stream_between(
    lines: tuple[FloatArray, FloatArray],
    grid: ValleyGrid,
    across: Across,
    *,
    sigma: float,
    length_s_m: float,
    steering: Sequence[Steering],
    rng: np.random.Generator,
) -> Iterator[GapDraws]:
    """Yield draws of the field gap by gap, given draws on the lines.

    No more than one gap is held at a time: given its two lines a gap does not depend
    on any other.

    Parameters
    ----------
    lines : tuple of ndarray
        Mean, shape (n_draws,), and field on the lines, shape (n_draws, n_lines,
        n_grid) [ln mg/m2].
    grid : ValleyGrid
        Cells and curves.
    across : Across
        Correlation across the valley.
    sigma : float
        Standard deviation of the log accumulation [-].
    length_s_m : float
        Length scale along the valley [m].
    steering : sequence of Steering
        Links of each gap.
    rng : numpy.random.Generator
        Source of randomness.

    Yields
    ------
    GapDraws
        Downstream; every cell is `here` in exactly one of them.

    Notes
    -----
    a = (rho_1 - rho_2 rho) / (1 - rho^2), b = (rho_2 - rho_1 rho) / (1 - rho^2),
    rho_1, rho_2 the correlations with the line above and below, rho theirs. The
    bridge is an unconditioned draw less what a and b would read of it on the lines.
    """
    mean, field = lines
    n_draws, n_lines = field.shape[:2]
    root = (sigma * across.root.T).astype(np.float32)
    shift = (field - mean[:, None, None]).astype(np.float32)
    level = mean[:, None, None].astype(np.float32)
    for line in range(-1, n_lines):
        touched = np.flatnonzero((grid.gap == line).any(axis=1))
        if not len(touched):
            continue
        rows = np.arange(touched[0], touched[-1] + 1)
        here = grid.gap[rows] == line
        upper, lower = max(line, 0), min(line + 1, n_lines - 1)
        above, below, share = _bridge(grid, (rows, upper, lower), length_s_m)
        draws = length_s_m, n_draws, rng
        free = _free_draws(grid, rows, root, draws=draws)
        values = free[1:-1].transpose(1, 0, 2) + level
        ends = {upper: above, lower: below} if upper != lower else {upper: above}
        for which, weight in ends.items():
            held = weight.astype(np.float32)
            links = steering[line] if upper != lower else NO_LINKS
            offset = read_offsets(grid.n_m, links, share, to_lower=which > line)
            reading = _reading(grid.n_m, offset, held)
            values += (shift[:, which] @ reading).reshape(values.shape)
            at = int(rows[0]), which
            on_line = _at_curve(free, grid, root, which=at, draws=draws)
            values -= held * on_line[:, None, :]
        yield GapDraws(
            rows=slice(int(rows[0]), int(rows[-1]) + 1), here=here, log_mg_m2=values
        )


def _reading(grid_n_m: FloatArray, offset_m: FloatArray, weight: Cells) -> Cells:
    """Return the matrix that reads a line for all cells of some rows, weighted."""
    n_rows, n_grid = offset_m.shape
    low, part = reading_weights(grid_n_m, grid_n_m + offset_m)
    matrix: Cells = np.zeros((n_grid, n_rows * n_grid), dtype=np.float32)
    cell = np.arange(n_rows * n_grid)
    share = part.astype(np.float32)
    matrix[low.ravel(), cell] = (weight * (1.0 - share)).ravel()
    matrix[low.ravel() + 1, cell] = (weight * share).ravel()
    return matrix


def _free_draws(
    grid: ValleyGrid,
    rows: IntArray,
    root: Cells,
    *,
    draws: tuple[float, int, np.random.Generator],
) -> Cells:
    """Return unconditioned draws of some rows and one more at both ends, row first."""
    length_s_m, n_draws, rng = draws
    rho = np.float32(np.exp(-grid.ds_m / length_s_m))
    news = np.float32(np.sqrt(1.0 - rho**2))
    # The rows at the ends are for lines that lie half a cell outside.
    shape = (len(rows) + 2, n_draws, len(grid.n_m))
    free = rng.standard_normal(shape, dtype=np.float32) @ (news * root)
    free[0] /= news
    for at in range(1, len(free)):
        free[at] += rho * free[at - 1]
    return np.asarray(free)


def _at_curve(
    free: Cells,
    grid: ValleyGrid,
    root: Cells,
    *,
    which: tuple[int, int],
    draws: tuple[float, int, np.random.Generator],
) -> Cells:
    """Return the unconditioned draws at the curve of a line, given those of the rows.

    A line lies between two rows: what they do not tell of it is drawn.
    """
    first, line = which
    length_s_m, n_draws, rng = draws
    at = (grid.curve_s_m[line] - grid.s_m[first]) / grid.ds_m + 1.0
    at = np.clip(at, 0.0, len(free) - 1.001)
    low = at.astype(np.int64)
    rho = np.exp(-grid.ds_m / length_s_m)
    rho_1 = np.exp(-(at - low) * grid.ds_m / length_s_m)
    rho_2 = rho / rho_1
    above = (rho_1 - rho_2 * rho) / (1.0 - rho**2)
    below = (rho_2 - rho_1 * rho) / (1.0 - rho**2)
    own = np.sqrt(np.maximum(1.0 - above * rho_1 - below * rho_2, 0.0))
    column = np.arange(len(grid.n_m))
    z = rng.standard_normal((n_draws, len(grid.n_m)), dtype=np.float32)
    read = (z @ root) * own.astype(np.float32)
    read += free[low, :, column].T * above.astype(np.float32)
    read += free[low + 1, :, column].T * below.astype(np.float32)
    return np.asarray(read)


def _bridge(
    grid: ValleyGrid, where: tuple[IntArray, int, int], length_s_m: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the weights of the line above and below, and the share of the way."""
    rows, upper, lower = where
    s_m = grid.s_m[rows][:, None]
    before = np.abs(s_m - grid.curve_s_m[upper][None, :])
    rho_1 = np.exp(-before / length_s_m)
    if upper == lower:
        return rho_1, np.zeros_like(rho_1), np.zeros_like(rho_1)
    after = np.abs(grid.curve_s_m[lower][None, :] - s_m)
    rho_2 = np.exp(-after / length_s_m)
    apart = np.maximum(np.abs(grid.curve_s_m[lower] - grid.curve_s_m[upper]), 0.1)
    rho = np.exp(-apart / length_s_m)[None, :]
    rest = 1.0 - rho**2
    share = np.clip(before / np.maximum(before + after, 1e-9), 0.0, 1.0)
    return (rho_1 - rho_2 * rho) / rest, (rho_2 - rho_1 * rho) / rest, share
