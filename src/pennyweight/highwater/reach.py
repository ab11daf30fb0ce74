"""The stretch of ground that a flood runs over: bed, where water enters and leaves.

Arrays have the row of the north first; a cell is (row, column).
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Water may rise this fast where it is let in, else it is let in over more cells [m/s].
#: Ours; docs/sources.md "shallow water".
RISE_M_S = 0.25
#: What a meter of rise counts as when the cells of the inflow are sought [m]; ours.
UPHILL = 5.0
#: Beyond the rim the bed falls by at least this much [-]; ours.
LEAST_FALL = 1e-3
#: Ferguson's coefficients of deep and of shallow flow [-].
DEEP, SHALLOW = 6.5, 2.5
GRAVITY_M_S2 = 9.81


@dataclass(frozen=True)
class Reach:
    """A stretch of ground for water to run over.

    Attributes
    ----------
    bed_m : ndarray, shape (n_rows, n_columns)
        Height of the ground [m], row 0 in the north; nan where unknown.
    cell_m : float
        Side of the square cells [m].
    inflow : ndarray of int, shape (n_cells, 2)
        Row and column of the cells where the water comes in, upstream.
    manning_n : float or ndarray of the bed's shape
        Manning's roughness [s/m^(1/3)]; not used where stones are given.
    stones_m : float or None
        Size that 84 % of the bed's stones are smaller than [m]; then the resistance
        is Ferguson's, which grows in shallow water over coarse stones.
    exact_inflow : bool
        Let the water in at these very cells, however fast it must rise there.
        Otherwise it is spread over cells around them.
    outlet : ndarray of bool, the bed's shape, or None
        Cells at the rim over which water may leave (none: a closed basin); None for
        all that lie lower than the inflow and nearer to the lowest one than to it.
    outlet_level_m : float or None
        Level held at the outlet [m]; None lets the water run on freely.
    """

    bed_m: FloatArray
    cell_m: float
    inflow: IntArray
    manning_n: float | FloatArray = 0.04
    stones_m: float | None = None
    exact_inflow: bool = False
    outlet: BoolArray | None = None
    outlet_level_m: float | None = None

    @property
    def known(self) -> BoolArray:
        """Cells with a height."""
        return np.isfinite(self.bed_m)

    @property
    def inflow_m(self) -> float:
        """Height of the lowest cell of the inflow [m]."""
        return float(self.bed_m[self.inflow[:, 0], self.inflow[:, 1]].min())


def check_reach(reach: Reach) -> None:
    """Raise where no flood can be reckoned over a reach.

    Parameters
    ----------
    reach : Reach
        The ground.

    Returns
    -------
    None

    Raises
    ------
    ValueError
        Too few cells, a cell side, a roughness or stones not above 0, or inflow
        cells that lie outside, on unknown ground, or are none.
    """
    rows, columns = reach.bed_m.shape
    if min(rows, columns) < 2 or not reach.cell_m > 0.0:
        msg = (
            f"the elevation model has {rows} x {columns} cells of {reach.cell_m} m; "
            "a flood needs 2 x 2 cells with a side above 0 m."
        )
        raise ValueError(msg)
    rough = np.asarray(reach.manning_n if reach.stones_m is None else reach.stones_m)
    if not np.all(rough > 0.0):
        msg = f"roughness is {rough.min()}; Manning's n and stones lie above 0."
        raise ValueError(msg)
    cells = reach.inflow
    if cells.ndim != 2 or cells.shape[0] == 0 or cells.shape[1] != 2:
        msg = f"inflow has shape {cells.shape}; give at least one (row, column)."
        raise ValueError(msg)
    for row, column in cells:
        if not (0 <= row < rows and 0 <= column < columns):
            msg = (
                f"inflow cell ({row}, {column}) lies outside {rows} x {columns} cells."
            )
            raise ValueError(msg)
        if not reach.known[row, column]:
            msg = (
                f"inflow cell ({row}, {column}) has no height. Let the water in where "
                "the elevation model is known."
            )
            raise ValueError(msg)


def outside(known: BoolArray) -> BoolArray:
    """Return the unknown cells that are joined to the edge; others are holes.

    Parameters
    ----------
    known : ndarray of bool, shape (n_rows, n_columns)
        Cells with a height [-].

    Returns
    -------
    ndarray of bool, the same shape
        Unknown cells that lie outside the ground.
    """
    around = np.pad(~known, 1, constant_values=True)
    labels, _ = ndimage.label(around)
    return np.asarray(labels[1:-1, 1:-1] == labels[0, 0]) & ~known


def rim_cells(reach: Reach) -> IntArray:
    """Return each cell beyond the rim, and the cell within over which water leaves.

    Parameters
    ----------
    reach : Reach
        The ground.

    Returns
    -------
    ndarray of int, shape (n_rims, 4)
        Row and column of the cell beyond, counted on the reach (-1 or the number of
        rows or columns at its edge), then of the lowest open cell beside it.

    Raises
    ------
    ValueError
        No cell at the rim lies lower than the inflow: the model is flat, or the
        water is let in at its lowest place.
    """
    known = np.pad(reach.known, 1)
    bed = np.pad(reach.bed_m, 1, constant_values=np.nan)
    beyond = np.pad(outside(reach.known), 1, constant_values=True)
    open_cells = np.pad(
        _lower_end(reach) if reach.outlet is None else reach.outlet & reach.known, 1
    )
    height = np.where(open_cells, bed, np.inf)
    steps = ((0, 1), (0, -1), (1, 0), (-1, 0))
    beside = np.stack([np.roll(height, step, (0, 1)) for step in steps])
    # What rolls around the edge comes from the pad, which is never open.
    lowest = beside.argmin(axis=0)
    rows, columns = np.nonzero(beyond & np.isfinite(beside.min(axis=0)))
    if rows.size == 0 and reach.outlet is None:
        edge = known & ndimage.binary_dilation(beyond)
        least_m = float(bed[edge].min())
        msg = (
            f"no way out: the lowest rim of the elevation model is at {least_m:.2f} m "
            f"and the water comes in at {reach.inflow_m:.2f} m. Let it in upstream, "
            "take more ground downstream, or say over which cells it leaves; a flat "
            "model cannot carry a flood."
        )
        raise ValueError(msg)
    back = np.array(steps)[lowest[rows, columns]]
    return np.column_stack(
        (rows - 1, columns - 1, rows - 1 - back[:, 0], columns - 1 - back[:, 1])
    ).astype(np.int64)


def cells_further_out(known: BoolArray, rims: IntArray) -> IntArray:
    """Return a second cell beyond the rim behind each first one, where there is room.

    With it the water's surface keeps its slope across the rim; without it the flow
    would be drawn down toward the rim.

    Parameters
    ----------
    known : ndarray of bool, shape (n_rows, n_columns)
        Cells with a height [-].
    rims : ndarray of int, shape (n_rims, 4)
        Of `rim_cells` [-].

    Returns
    -------
    ndarray of int, shape (n_further, 4)
        Row and column of the second cell, then of the cell within; each second cell
        once, and none that is known or a first one.
    """
    rows, columns = known.shape
    taken = {(int(row), int(column)) for row, column in rims[:, :2]}
    found: list[tuple[int, int, int, int]] = []
    for row, column, row_in, column_in in rims.tolist():
        far = (2 * row - row_in, 2 * column - column_in)
        inside = 0 <= far[0] < rows and 0 <= far[1] < columns
        if far in taken or (inside and known[far]):
            continue
        taken.add(far)
        found.append((*far, row_in, column_in))
    return np.array(found, np.int64).reshape(-1, 4)


def _lower_end(reach: Reach) -> BoolArray:
    """Return the cells at the rim that belong to the lower end of the reach."""
    edge = np.pad(outside(reach.known), 1, constant_values=True)
    edge = ndimage.binary_dilation(edge)[1:-1, 1:-1] & reach.known
    rows, columns = np.nonzero(edge & (reach.bed_m < reach.inflow_m))
    ends = np.zeros_like(edge)
    if rows.size == 0:
        return ends
    lowest = int(reach.bed_m[rows, columns].argmin())
    from_end = np.hypot(rows - rows[lowest], columns - columns[lowest])
    down = rows[:, np.newaxis] - reach.inflow[:, 0]
    right = columns[:, np.newaxis] - reach.inflow[:, 1]
    near = from_end < np.hypot(down, right).min(axis=1)
    ends[rows[near], columns[near]] = True
    return ends


def fall_beyond(reach: Reach, rims: IntArray) -> float:
    """Return the slope at which the bed goes on beyond the rim.

    Parameters
    ----------
    reach : Reach
        The ground.
    rims : ndarray of int, shape (n_rims, 4)
        Of `rim_cells` [-].

    Returns
    -------
    float
        Mean fall from the inflow to the lowest outlet, at least 0.001 [-]; that too
        where there is none.
    """
    if rims.shape[0] == 0:
        return LEAST_FALL
    ends = reach.bed_m[rims[:, 2], rims[:, 3]]
    lowest = int(np.argmin(ends))
    steps = reach.inflow.mean(axis=0) - rims[lowest, 2:]
    distance_m = max(float(np.hypot(*steps)), 1.0) * reach.cell_m
    return max(LEAST_FALL, (reach.inflow_m - float(ends[lowest])) / distance_m)


def spread_inflow(reach: Reach, discharge_m3_s: float) -> IntArray:
    """Return the cells to let the water in, so that it need not rise too fast.

    From the given cells outward, the near and low ones first.

    Parameters
    ----------
    reach : Reach
        The ground.
    discharge_m3_s : float
        What comes in [m3/s].

    Returns
    -------
    ndarray of int, shape (n_cells, 2)
        Row and column; the given cells first. At most a hundredth of the ground is
        added.
    """
    area_m2 = reach.cell_m**2
    wanted = math.ceil(discharge_m3_s / (RISE_M_S * area_m2))
    wanted = min(wanted, reach.inflow.shape[0] + reach.bed_m.size // 100)
    found = {(int(row), int(column)): None for row, column in reach.inflow}
    queue = [(0.0, cell, cell) for cell in found]
    base_m, known = reach.inflow_m, reach.known
    taken = set(found)
    while queue and len(found) < wanted:
        _, (row, column), seed = heapq.heappop(queue)
        found[row, column] = None
        for down, right in ((0, 1), (0, -1), (1, 0), (-1, 0)):
            near = (row + down, column + right)
            inside = 0 <= near[0] < known.shape[0] and 0 <= near[1] < known.shape[1]
            if near in taken or not inside or not known[near]:
                continue
            taken.add(near)
            far_m = math.dist(near, seed) * reach.cell_m
            rise_m = max(0.0, float(reach.bed_m[near]) - base_m)
            heapq.heappush(queue, (far_m + UPHILL * rise_m, near, seed))
    return np.array(list(found), np.int64)


def drag_of(reach: Reach) -> tuple[FloatArray, float]:
    """Return the two parts of the drag: C = first / depth^(1/3) + second / depth^2.

    The bed's shear over the density of water is C times the speed squared.

    Parameters
    ----------
    reach : Reach
        The ground.

    Returns
    -------
    ndarray, the bed's shape
        First part [m^(1/3)].
    float
        Second part [m2], 0 by Manning.

    Notes
    -----
    Manning: g n^2. Ferguson's law, squared and turned over, is the sum of D^(1/3) /
    6.5^2 and D^2 / 2.5^2 in these two powers of the depth.

    References
    ----------
    Ferguson (2007), Water Resources Research 43, W05427; docs/sources.md
    "resistance".
    """
    if reach.stones_m is not None:
        deep = np.cbrt(reach.stones_m) / DEEP**2
        return np.full(reach.bed_m.shape, deep), (reach.stones_m / SHALLOW) ** 2
    rough = np.broadcast_to(np.asarray(reach.manning_n, np.float64), reach.bed_m.shape)
    return GRAVITY_M_S2 * rough**2, 0.0


def coarsen(reach: Reach) -> Reach:
    """Return the reach in cells of twice the side, for a quick start.

    Parameters
    ----------
    reach : Reach
        The ground.

    Returns
    -------
    Reach
        Each height lies halfway between the mean and the lowest of its four cells,
        so that narrow channels stay open.
    """
    fours = in_fours(reach.bed_m, np.nan)
    known = np.isfinite(fours)
    any_known = known.any(axis=-1)
    count = np.maximum(known.sum(axis=-1), 1)
    mean_m = np.where(known, fours, 0.0).sum(axis=-1) / count
    least_m = np.where(known, fours, np.inf).min(axis=-1)
    bed_m = np.where(any_known, 0.5 * (mean_m + least_m), np.nan)
    rough: float | FloatArray = reach.manning_n
    if isinstance(rough, np.ndarray):
        rough = np.asarray(in_fours(rough, float(rough.mean())).mean(axis=-1))
    outlet = reach.outlet
    if outlet is not None:
        outlet = np.asarray(in_fours(outlet.astype(np.float64), 0.0).any(axis=-1))
    return replace(
        reach,
        bed_m=bed_m,
        cell_m=2.0 * reach.cell_m,
        inflow=np.unique(reach.inflow // 2, axis=0),
        manning_n=rough,
        outlet=outlet,
    )


def in_fours(cells: FloatArray, fill: float) -> FloatArray:
    """Return each two by two cells of a grid side by side on a last axis.

    Parameters
    ----------
    cells : ndarray, shape (n_rows, n_columns)
        Any quantity [-].
    fill : float
        What completes an odd last row or column [-].

    Returns
    -------
    ndarray, shape (n_rows / 2, n_columns / 2, 4), rounded up
        The same quantity.
    """
    rows, columns = cells.shape
    even = np.pad(cells, ((0, rows % 2), (0, columns % 2)), constant_values=fill)
    blocks = even.reshape(even.shape[0] // 2, 2, even.shape[1] // 2, 2)
    return blocks.swapaxes(1, 2).reshape(*blocks.shape[::2], 4)
