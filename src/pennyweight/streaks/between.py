"""The field between lines: drawn, given the lines above and below, along the links.

A line is a curve through its digs, so that an oblique trench is taken as it lies.
Between two curves the field is what both lines say, each read along the links and
weighted as in a Markov process with correlation exp(-d / l_s), plus a bridge of its
own that vanishes on both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.field import Across
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.steering import Steering, read_offsets, reading_weights

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
    sites: Sites, *, row_m: float = ROW_M, column_m: float | None = None
) -> ValleyGrid:
    """Return the grid over the sampled stretch.

    Parameters
    ----------
    sites : Sites
        At least one dig.
    row_m : float, optional
        Spacing of the rows wanted [m].
    column_m : float, optional
        Spacing of the columns [m]; a quarter of the usual spacing of the digs where
        none is wanted.

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
    dn_m = dn_m if column_m is None else column_m
    low, high = sites.n_m.min() - MARGIN_M, sites.n_m.max() + MARGIN_M
    dn_m = max(dn_m, float(high - low) / (MOST_COLUMNS - 1))
    n_m = low + dn_m * np.arange(int(np.ceil((high - low) / dn_m)) + 1)
    curves = np.array([_curve(sites, line, n_m) for line in range(len(sites.lines))])
    first, last = float(sites.s_m.min()), float(sites.s_m.max())
    if len(sites.lines) == 1 or last - first < 1.0:
        middle = (first + last) / 2.0
        half = max(ONE_LINE_M, last - first) / 2.0
        first, last = middle - half, middle + half
    n_rows = int(min(max(np.ceil((last - first) / row_m), 2), MOST_ROWS))
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


def draw_between(
    lines: tuple[FloatArray, FloatArray],
    grid: ValleyGrid,
    across: Across,
    *,
    sigma: float,
    length_s_m: float,
    steering: Sequence[Steering],
    rng: np.random.Generator,
) -> npt.NDArray[np.float32]:
    """Return draws of the field in every cell, given draws on the lines.

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

    Returns
    -------
    ndarray of float32, shape (n_draws, n_rows, n_grid)
        Log accumulation [ln mg/m2].

    Notes
    -----
    a = (rho_1 - rho_2 rho) / (1 - rho^2), b = (rho_2 - rho_1 rho) / (1 - rho^2),
    rho_1, rho_2 the correlations with the line above and below, rho theirs.
    """
    mean, field = lines
    n_draws, n_lines = field.shape[:2]
    root = (sigma * across.root.T).astype(np.float32)
    free, on_lines = _free_draws(grid, root, length_s_m, (n_draws, rng))
    shift = (field - mean[:, None, None]).astype(np.float32)
    for line in range(-1, n_lines):
        touched = np.flatnonzero((grid.gap == line).any(axis=1))
        if not len(touched):
            continue
        rows = np.arange(touched[0], touched[-1] + 1)
        here = grid.gap[rows] == line
        upper, lower = max(line, 0), min(line + 1, n_lines - 1)
        above, below, share = _bridge(grid, (rows, upper, lower), length_s_m)
        for which, weight in ((upper, above), (lower, below)):
            held = np.where(here, weight, 0.0).astype(np.float32)
            if not held.any():
                continue
            offset = (
                read_offsets(grid.n_m, steering[line], share, to_lower=which > line)
                if upper != lower
                else np.zeros(held.shape)
            )
            reading = _reading(grid.n_m, offset, held)
            part = (shift[:, which] @ reading).reshape(n_draws, *held.shape)
            part -= held * on_lines[:, which, None, :]
            free[:, rows[0] : rows[-1] + 1] += part
    free += mean[:, None, None].astype(np.float32)
    return free


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
    root: Cells,
    length_s_m: float,
    draws: tuple[int, np.random.Generator],
) -> tuple[Cells, Cells]:
    """Return unconditioned draws in the cells and on the lines."""
    n_draws, rng = draws
    rho = np.float32(np.exp(-grid.ds_m / length_s_m))
    news = np.float32(np.sqrt(1.0 - rho**2))
    # One row more at both ends, for lines that lie half a cell outside.
    shape = (len(grid.s_m) + 2, n_draws, len(grid.n_m))
    rows = rng.standard_normal(shape, dtype=np.float32) @ (news * root)
    rows[0] /= news
    for at in range(1, len(rows)):
        rows[at] += rho * rows[at - 1]
    free = rows.transpose(1, 0, 2)
    return np.ascontiguousarray(free[:, 1:-1]), _at_curves(free, grid, length_s_m)


def _at_curves(free: Cells, grid: ValleyGrid, length_s_m: float) -> Cells:
    """Return the unconditioned draws at the curves of the lines, sd kept at 1."""
    last = len(grid.s_m) + 1
    at = (grid.curve_s_m - grid.s_m[0]) / grid.ds_m + 1.0
    at = np.clip(at, 0.0, last - 0.001)
    low = at.astype(np.int64)
    part = at - low
    alike = 2.0 * np.exp(-grid.ds_m / length_s_m) * part * (1.0 - part)
    scale = 1.0 / np.sqrt(part**2 + (1.0 - part) ** 2 + alike)
    column = np.arange(len(grid.n_m))[None, :]
    read = free[:, low, column] * ((1.0 - part) * scale).astype(np.float32)
    read += free[:, low + 1, column] * (part * scale).astype(np.float32)
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
