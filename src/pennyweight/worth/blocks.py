"""Blocks of ground on the valley grid: gold, pay and overburden of every draw.

A column of ground is cut from the surface to the bottom of its deepest pay, in
slices of equal height. Gold is raw gold in place [mg], volumes are bank volumes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

#: Fewest slices that a wall falls over one block; finer follows the pay closer.
SLICES_PER_STEP = 3

#: Share of the draws that is believed where ground is chosen; richer draws count as
#: the richest of these [-]. Our assumption.
CAUTIOUS_SHARE = 0.985

#: Slices of a column above which they are made higher, up to a wall's fall.
MOST_SLICES = 24

#: Keeps the mean depth of cells without area told [m2].
LEAST_AREA_M2 = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class PayHorizon:
    """The draws of one horizon on the fine valley grid.

    Attributes
    ----------
    horizon : str
        Name.
    accumulation_mg_m2, thickness_m, top_m : ndarray, shape (n_draws, n_s, n_n)
        Raw gold [mg/m2], thickness of the pay and depth of its top [m]; depths are
        nan where they cannot be told.
    """

    horizon: str
    accumulation_mg_m2: FloatArray
    thickness_m: FloatArray
    top_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class ValleyGrid:
    """The fine grid that the draws lie on.

    Attributes
    ----------
    s_m, n_m : ndarray, shapes (n_s,), (n_n,)
        Cell centers, evenly spaced [m].
    area_m2 : ndarray, shape (n_s, n_n)
        Of each cell on the map [m2].
    sampled : ndarray of bool, shape (n_s, n_n)
        Whether gold may be counted there.
    allowed : ndarray of bool, shape (n_s, n_n)
        Whether it may be dug: inside the boundary.
    """

    s_m: FloatArray
    n_m: FloatArray
    area_m2: FloatArray
    sampled: npt.NDArray[np.bool_]
    allowed: npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Blocks:
    """Columns of ground, coarse enough for the machine.

    Attributes
    ----------
    s_edges_m, n_edges_m : ndarray, shapes (n_rows + 1,), (n_columns + 1,)
        Edges of the columns [m].
    area_m2 : ndarray, shape (n_rows, n_columns)
        Surface [m2].
    allowed : ndarray of bool, shape (n_rows, n_columns)
        Whether the column may be dug.
    gold_mg, pay_m3 : ndarray, shape (n_draws, n_horizons, n_rows, n_columns)
        By horizon, top down.
    cover_m3 : ndarray, shape (n_draws, n_rows, n_columns)
        Barren ground above the bottom of the deepest pay.
    top_m, bottom_m : ndarray, shape (n_horizons, n_rows, n_columns)
        Expected depths of the pay [m]; equal where there is none.
    """

    s_edges_m: FloatArray
    n_edges_m: FloatArray
    area_m2: FloatArray
    allowed: npt.NDArray[np.bool_]
    gold_mg: FloatArray
    pay_m3: FloatArray
    cover_m3: FloatArray
    top_m: FloatArray
    bottom_m: FloatArray

    @cached_property
    def cautious_gold_mg(self) -> FloatArray:
        """Expected gold, the richest draws of each block cut down [mg].

        Shape (n_horizons, n_rows, n_columns). A block is not chosen for the sake of a
        few rich draws out of hundreds: those would be the luck of the drawing.
        """
        count = len(self.gold_mg)
        kept = max(int(count * CAUTIOUS_SHARE) - 1, 0)
        roof = np.partition(self.gold_mg, kept, axis=0)[kept]
        return np.asarray(np.minimum(self.gold_mg, roof).mean(axis=0))

    @cached_property
    def mean_gold_mg(self) -> FloatArray:
        """Expected gold, shape (n_horizons, n_rows, n_columns) [mg]."""
        return np.asarray(self.gold_mg.mean(axis=0))

    @property
    def floor_m(self) -> FloatArray:
        """Depth of the bottom of the deepest pay, expected [m]."""
        return np.asarray(self.bottom_m.max(axis=0))


def build_blocks(
    grid: ValleyGrid,
    horizons: Sequence[PayHorizon],
    *,
    edge_m: float,
    min_pay_m: float,
) -> Blocks:
    """Return columns of ground made from the draws.

    Cells are gathered into columns of about the edge length. Gold outside the sampled
    stretch is not counted: there the pay is moved as overburden. Pay thinner than
    `min_pay_m` is mined at that thickness, at the cost of the ground above it.

    Parameters
    ----------
    grid : ValleyGrid
        Where the draws lie.
    horizons : sequence of PayHorizon
        Top down, one at least.
    edge_m : float
        Smallest side of a column, above 0 [m].
    min_pay_m : float
        Least thickness that is mined as pay, 0 or more [m].

    Returns
    -------
    Blocks
        Gold of the sampled cells is neither lost nor made.

    Raises
    ------
    ValueError
        No horizon, or an edge of 0.
    """
    if not horizons or not edge_m > 0.0:
        msg = f"{len(horizons)} horizons in blocks of {edge_m} m; both must be above 0."
        raise ValueError(msg)
    rows, s_edges = _gather(grid.s_m, edge_m)
    columns, n_edges = _gather(grid.n_m, edge_m)
    area = _sum_cells(grid.area_m2, rows, columns)
    counted = grid.sampled & grid.allowed
    intervals, floor = _mined_intervals(horizons, min_pay_m)
    gold, pay, tops, bottoms = [], [], [], []
    for horizon, (top, thickness) in zip(horizons, intervals, strict=True):
        counted_m3 = thickness * np.where(counted, grid.area_m2, 0.0)
        counted_mg = horizon.accumulation_mg_m2 * np.where(counted, grid.area_m2, 0.0)
        gold.append(_sum_cells(counted_mg, rows, columns))
        pay.append(_sum_cells(counted_m3, rows, columns))
        # Depths of a column are those of its gold: weigh cells by what they hold.
        # Inside of a tight bend cells have no area; they still have a depth.
        least = 1e-9 * np.maximum(grid.area_m2, LEAST_AREA_M2)
        upper, lower, whole = (
            _sum_cells(_mean_product(counted_mg, one, least), rows, columns)
            for one in (top, top + thickness, np.ones_like(top[:1]))
        )
        tops.append(upper / whole)
        low = np.where(pay[-1].mean(axis=0) > 0.0, lower / whole, tops[-1])
        bottoms.append(low)
    pays = np.stack(pay, axis=1)
    whole_m3 = _sum_cells(floor * grid.area_m2, rows, columns)
    return Blocks(
        s_edges_m=s_edges,
        n_edges_m=n_edges,
        area_m2=area,
        allowed=_sum_cells(grid.allowed * grid.area_m2, rows, columns) > 0.999 * area,
        gold_mg=np.stack(gold, axis=1),
        pay_m3=pays,
        cover_m3=np.maximum(whole_m3 - pays.sum(axis=1), 0.0),
        top_m=np.stack(tops),
        bottom_m=np.stack(bottoms),
    )


def _gather(
    centers_m: FloatArray, edge_m: float
) -> tuple[npt.NDArray[np.int64], FloatArray]:
    """Return which column each cell belongs to, and the columns' edges."""
    step = float(centers_m[1] - centers_m[0]) if len(centers_m) > 1 else edge_m
    each = max(int(np.ceil(edge_m / abs(step) - 1e-9)), 1)
    index = np.arange(len(centers_m)) // each
    firsts = centers_m[::each] - step / 2.0
    return index, np.concatenate([firsts, [centers_m[-1] + step / 2.0]])


def _sum_cells(
    values: FloatArray, rows: npt.NDArray[np.int64], columns: npt.NDArray[np.int64]
) -> FloatArray:
    """Add up cells to columns over the last two axes."""
    firsts = (np.flatnonzero(np.diff(index, prepend=-1)) for index in (columns, rows))
    summed = np.asarray(values, dtype=np.float64)
    for axis, first in zip((-1, -2), firsts, strict=True):
        if len(first) < summed.shape[axis]:
            summed = np.add.reduceat(summed, first, axis=axis)
    return summed


def _mean_product(
    gold_mg: FloatArray, depth_m: FloatArray, least: FloatArray
) -> FloatArray:
    """Return the mean over the draws of a depth times gold, a little everywhere."""
    weighed = np.einsum("dij,dij->ij", gold_mg, np.broadcast_to(depth_m, gold_mg.shape))
    return np.asarray(weighed / len(gold_mg) + least * depth_m.mean(axis=0))


def _mined_intervals(
    horizons: Sequence[PayHorizon], min_pay_m: float
) -> tuple[list[tuple[FloatArray, FloatArray]], FloatArray]:
    """Return top and thickness of what is mined as pay, and the floor of it all.

    Where a draw does not tell a depth, the median of those that do stands in; where
    none does, the pay lies at the surface. Thin pay takes its roof along. Where
    horizons overlap, the lower one has the ground first.
    """
    tops = [_told_depth(horizon.top_m) for horizon in horizons]
    naturals = [
        np.nan_to_num(horizon.thickness_m, posinf=0.0, neginf=0.0)
        for horizon in horizons
    ]
    lows = [top + natural for top, natural in zip(tops, naturals, strict=True)]
    floor = np.maximum(np.max(lows, axis=0), min_pay_m)
    free = floor.copy()
    intervals = []
    for top, natural in zip(reversed(tops), reversed(naturals), strict=True):
        thickness = np.minimum(np.maximum(natural, min_pay_m), free)
        free = free - thickness
        lifted = np.maximum(top - np.maximum(thickness - natural, 0.0), 0.0)
        intervals.append((lifted, thickness))
    return intervals[::-1], floor


def _told_depth(top_m: FloatArray) -> FloatArray:
    """Return depths, the median in place of those that cannot be told."""
    known = np.isfinite(top_m)
    if known.all():
        return top_m
    middle = float(np.median(top_m[known])) if known.any() else 0.0
    return np.where(known, top_m, middle)


def slice_height_m(
    blocks: Blocks, wall_slope_deg: float, *, bench_m: float | None = None
) -> float:
    """Return a height of slices in which the walls come out even.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    wall_slope_deg : float
        Steepest wall, above 0 and below 90 [deg].
    bench_m : float, optional
        Height of the benches in which is dug, above 0 [m].

    Returns
    -------
    float
        Height, the bench's at most [m]: the fall of a wall over one column, or a whole
        part of it.

    Raises
    ------
    ValueError
        The slope lies outside what is allowed.
    """
    if not 0.0 < wall_slope_deg < 90.0:
        msg = f"wall_slope_deg is {wall_slope_deg}; it lies between 0 and 90."
        raise ValueError(msg)
    edge_m = float(np.diff(blocks.n_edges_m)[0])
    fall_m = edge_m * float(np.tan(np.deg2rad(wall_slope_deg)))
    if bench_m is not None:
        return fall_m / max(int(np.ceil(fall_m / bench_m - 1e-9)), 1)
    deepest_m = float(blocks.floor_m.max())
    parts = SLICES_PER_STEP
    while parts > 1 and deepest_m / (fall_m / parts) > MOST_SLICES:
        parts -= 1
    return fall_m / parts


def choose_washing(blocks: Blocks, terms: Terms) -> npt.NDArray[np.bool_]:
    """Return which pay is worth washing once it is dug, by cautious expectation.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    terms : Terms
        Price, costs and plant.

    Returns
    -------
    ndarray of bool, shape (n_horizons, n_rows, n_columns)
        False where the pay is thrown with the overburden instead.
    """
    extra = (terms.washing - terms.stripping) * blocks.pay_m3.mean(axis=0)
    return np.asarray(blocks.cautious_gold_mg * terms.value_per_mg > extra)


#: Which share of every column's pay and cover lies in each slice.
Shares = tuple[FloatArray, FloatArray]


def slice_shares(blocks: Blocks, slice_m: float) -> Shares:
    """Return which share of every column's pay and cover lies in each slice.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    slice_m : float
        Height of a slice [m].

    Returns
    -------
    tuple of ndarray
        Of the pay, shape (n_horizons, n_slices, n_rows, n_columns), and of the cover,
        shape (n_slices, n_rows, n_columns); each adds up to 1 over the slices [-].
    """
    floor = blocks.floor_m
    count = max(int(np.ceil(float(floor.max()) / slice_m - 1e-9)), 1)
    upper = (np.arange(count) * slice_m)[:, None, None]
    lower = upper + slice_m
    top, bottom = blocks.top_m[:, None], blocks.bottom_m[:, None]
    met = np.clip(np.minimum(lower, bottom) - np.maximum(upper, top), 0.0, None)
    thick = met.sum(axis=1, keepdims=True)
    # Pay without thickness sits in the slice of its top.
    point = (top >= upper) & (top < lower)
    pay = np.where(thick > 0.0, met / np.where(thick > 0.0, thick, 1.0), point)
    reached = np.clip(np.minimum(lower, floor) - upper, 0.0, slice_m)
    barren = np.maximum(reached - met.sum(axis=0), 0.0) + 1e-9 * reached
    whole = barren.sum(axis=0)
    cover = barren / np.where(whole > 0.0, whole, 1.0)
    return pay.astype(np.float64), cover
