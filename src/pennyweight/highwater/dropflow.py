"""Drops from the flood itself: where what it can carry falls off along its way.

Plain arrays on the grid of the elevation model: shear and velocity of one or more
floods. Gravel is carried as a mixed bed carries it (`mobility`, with hiding); gold
of a size is moved from the same bed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter, label, map_coordinates, maximum_filter

from pennyweight.highwater.drops import Drop, Reason, large_pieces
from pennyweight.highwater.mobility import bedload_m2_s, mean_size_m, transport_stage
from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

#: Water shallower than this carries nothing that counts [m].
SHALLOW_M = 0.05

#: Share of the wet ground whose carrying power is taken as full supply [-].
FULL_SUPPLY = 0.75

#: A fall of carrying power smaller than this is no drop [-].
LEAST_FALL = 0.35

#: A drop is looked for in water at least so deep [m]: the feather edge of a flood
#: carries nothing, and everything seems to stop there.
DEEP_ENOUGH_M = 0.15

#: R of native gold in the user's size classes [-]: (18 - 1), between 17 and 19.3.
GOLD_RATIO = 17.0


@dataclass(frozen=True)
class FloodField:
    """A flood as plain arrays on the grid of the elevation model.

    Attributes
    ----------
    discharge_m3_s : float
        What comes in [m3/s].
    depth_m : ndarray, shape (n_rows, n_columns)
        Depth [m]; 0 where dry, nan where unknown.
    east_m_s, north_m_s : ndarray, shape (n_rows, n_columns)
        Velocity [m/s].
    shear_pa : ndarray, shape (n_rows, n_columns)
        Shear on the bed [Pa].
    """

    discharge_m3_s: float
    depth_m: FloatArray
    east_m_s: FloatArray
    north_m_s: FloatArray
    shear_pa: FloatArray

    @property
    def wet(self) -> Mask:
        """Cells deep enough to carry anything."""
        return np.nan_to_num(self.depth_m) >= SHALLOW_M

    @property
    def speed_m_s(self) -> FloatArray:
        """Speed [m/s]."""
        return np.asarray(np.hypot(self.east_m_s, self.north_m_s))


@dataclass(frozen=True)
class Bed:
    """The stones that a flood works on.

    Attributes
    ----------
    size_m, share : ndarray, shape (n_sizes,)
        Size of each class [m], and its part of the bed [-].
    gold_m : ndarray, shape (n_gold,)
        Sizes of the user's gold [m].
    """

    size_m: FloatArray
    share: FloatArray
    gold_m: FloatArray

    @property
    def mean_m(self) -> float:
        """Geometric mean size of the gravel [m]."""
        return mean_size_m(self.size_m, self.share)


def carrying_m2_s(flood: FloodField, bed: Bed) -> FloatArray:
    """Return how much gravel of all sizes a flood can carry, cell by cell.

    Parameters
    ----------
    flood : FloodField
        The flood.
    bed : Bed
        The stones.

    Returns
    -------
    ndarray, shape (n_rows, n_columns)
        Solid volume a second and meter of width [m2/s]; 0 where dry.
    """
    shear = np.where(flood.wet, np.nan_to_num(flood.shear_pa), 0.0)
    carried = bedload_m2_s(shear, bed.size_m, share=bed.share).sum(axis=-1)
    return np.where(flood.wet, np.nan_to_num(carried), 0.0)


def gold_stage(flood: FloodField, bed: Bed) -> FloatArray:
    """Return the shear over the shear that moves gold of each size.

    Parameters
    ----------
    flood : FloodField
        The flood.
    bed : Bed
        The stones, and the user's sizes of gold.

    Returns
    -------
    ndarray, shape (n_gold, n_rows, n_columns)
        Above 1 it moves, below it lies [-]; 0 where dry.
    """
    shear = np.where(flood.wet, np.nan_to_num(flood.shear_pa), 0.0)
    stages = transport_stage(
        shear[..., None], bed.gold_m, mean_m=bed.mean_m, ratio=GOLD_RATIO
    )
    return np.moveaxis(stages, -1, 0)


def fall_of_transport(
    flood: FloodField, bed: Bed, *, cell_m: float, over_m: float
) -> FloatArray:
    """Return the share of its load that a flood has lost over the last way.

    Parameters
    ----------
    flood : FloodField
        The flood.
    bed : Bed
        The stones.
    cell_m : float
        Side of a cell [m].
    over_m : float
        Way up along the flow with which each cell is compared [m].

    Returns
    -------
    ndarray, shape (n_rows, n_columns)
        (what it carried upstream - what it carries here) / what it carried upstream,
        times how well supplied it was there, 0 to 1 [-]; 0 where it gains, or is dry.
    """
    carried = gaussian_filter(carrying_m2_s(flood, bed), 1.0)
    wet = flood.wet
    if not wet.any() or not carried.max() > 0.0:
        return np.zeros(wet.shape)
    full = float(np.quantile(carried[wet], FULL_SUPPLY))
    above = _upstream(flood, carried, cell_m=cell_m, over_m=over_m)
    lost = (above - carried) / np.maximum(above, 1e-300)
    supplied = np.minimum(above / max(full, 1e-300), 1.0)
    return np.where(wet, np.clip(lost, 0.0, 1.0) * supplied, 0.0)


def _upstream(
    flood: FloodField, values: FloatArray, *, cell_m: float, over_m: float
) -> FloatArray:
    """Return a field some way up along the flow, followed in steps of a cell or so."""
    east = gaussian_filter(np.nan_to_num(flood.east_m_s), 1.0)
    north = gaussian_filter(np.nan_to_num(flood.north_m_s), 1.0)
    speed = np.maximum(np.hypot(east, north), 1e-9)
    right, down = east / speed, -north / speed
    row, column = np.mgrid[0 : values.shape[0], 0 : values.shape[1]].astype(np.float64)
    n_steps = max(int(np.ceil(over_m / (1.5 * cell_m))), 1)
    step = over_m / cell_m / n_steps
    for _ in range(n_steps):
        at = np.stack([row, column])
        row = row - step * map_coordinates(down, at, order=1, mode="nearest")
        column = column - step * map_coordinates(right, at, order=1, mode="nearest")
    found = map_coordinates(values, np.stack([row, column]), order=1, mode="nearest")
    # Water that enters at the edge comes from where nothing is known.
    inside = (row >= 0) & (row <= values.shape[0] - 1)
    inside &= (column >= 0) & (column <= values.shape[1] - 1)
    return np.where(inside, found, 0.0)


def drop_field(
    floods: Sequence[FloodField], bed: Bed, *, cell_m: float, over_m: float
) -> tuple[FloatArray, npt.NDArray[np.int64]]:
    """Return where gravel stops in any of several floods, and in which most.

    Parameters
    ----------
    floods : sequence of FloodField
        At least one.
    bed : Bed
        The stones.
    cell_m, over_m : float
        Side of a cell, and way of comparison [m].

    Returns
    -------
    ndarray, shape (n_rows, n_columns)
        The largest fall of transport of them, 0 to 1 [-].
    ndarray of int, shape (n_rows, n_columns)
        Number of the flood that it is of [-].
    """
    falls = np.stack(
        [fall_of_transport(one, bed, cell_m=cell_m, over_m=over_m) for one in floods]
    )
    return falls.max(axis=0), falls.argmax(axis=0)


def find_flow_drops(
    model: ElevationModel,
    floods: Sequence[FloodField],
    bed: Bed,
    *,
    over_m: float,
    apart_m: float = 8.0,
    believed: Mask | None = None,
) -> list[Drop]:
    """Return the places where floods lose most of their load.

    Parameters
    ----------
    model : ElevationModel
        The grid.
    floods : sequence of FloodField
        On that grid, in order of discharge.
    bed : Bed
        The stones, and the user's sizes of gold.
    over_m : float
        Way along the flow over which the load is compared [m].
    apart_m : float, optional
        Least distance between two drops [m].
    believed : ndarray of bool, the model's shape, optional
        Where the flood is believed [-]: not beside its inflow, where it is let in
        as no creek would.

    Returns
    -------
    list of Drop
        Peaks of the fall of transport; "lee" where the way up is broken by ground
        that stands out of the water like an island, else "slackening".
    """
    field, number = drop_field(floods, bed, cell_m=model.cell_m, over_m=over_m)
    calm = gaussian_filter(field, 1.0)
    size = 2 * max(round(apart_m / model.cell_m / 2.0), 1) + 1
    peaks = (calm >= maximum_filter(calm, size)) & (calm >= LEAST_FALL)
    if believed is not None:
        peaks &= believed
    east, north = model.centers
    islands = [_islands(one) for one in floods]
    stages_of = [gold_stage(one, bed) for one in floods]
    found = []
    for row, column in np.argwhere(peaks):
        which = int(number[row, column])
        flood = floods[which]
        if not flood.depth_m[row, column] >= DEEP_ENOUGH_M:
            continue
        stages = stages_of[which][:, row, column]
        way = _way_up(flood, int(row), int(column), n_cells=over_m / model.cell_m)
        lee = bool(islands[which][way].any())
        facts = {
            "discharge_m3_s": flood.discharge_m3_s,
            "lost_share": float(field[row, column]),
            "over_m": over_m,
            "depth_m": float(flood.depth_m[row, column]),
            "speed_m_s": float(flood.speed_m_s[row, column]),
            # The largest of the user's sizes that still moves here; 0 where none does.
            "moving_gold_m": float(np.max(np.where(stages >= 1.0, bed.gold_m, 0.0))),
        }
        reason = Reason(
            kind="lee" if lee else "slackening",
            strength=float(calm[row, column]),
            facts=facts,
        )
        found.append(
            Drop(
                easting_m=float(east[column]),
                northing_m=float(north[row]),
                reasons=(reason,),
            )
        )
    return found


def find_high_bars(
    model: ElevationModel,
    floods: Sequence[FloodField],
    above_m: FloatArray,
    *,
    least_m2: float = 20.0,
    believed: Mask | None = None,
) -> list[Drop]:
    """Return ground that only the greater floods reach, where water stood quiet.

    Parameters
    ----------
    model : ElevationModel
        The grid.
    floods : sequence of FloodField
        On that grid, in order of discharge; at least two.
    above_m : ndarray, the model's shape
        Height above the nearest drainage [m].
    least_m2 : float, optional
        Smaller pieces are left out [m2].
    believed : ndarray of bool, the model's shape, optional
        Where the flood is believed [-].

    Returns
    -------
    list of Drop
        One a piece, in its quietest water; "bench" from 1.6 m above the creek on.
    """
    if len(floods) < 2:
        return []
    wet = np.stack([one.wet for one in floods])
    usual = wet[: max(len(floods) // 2, 1)].any(axis=0)
    greatest = floods[-1]
    reached = wet[-1] & ~usual & np.isfinite(above_m)
    if believed is not None:
        reached &= believed
    channel = greatest.speed_m_s[usual]
    brisk = float(np.nanquantile(channel, 0.75)) if usual.any() else 0.0
    east, north = model.centers
    found = []
    for inside in large_pieces(reached, least_m2 / model.cell_m**2):
        if not brisk > 0.0:
            break
        area_m2 = float(np.count_nonzero(inside)) * model.cell_m**2
        speed = np.where(inside, np.nan_to_num(greatest.speed_m_s), np.inf)
        # Quiet beside brisk water: the middle of the piece, not its feather edge.
        deep = greatest.depth_m >= np.nanmedian(greatest.depth_m[inside])
        speed = np.where(deep, speed, np.inf)
        row, column = np.unravel_index(int(np.argmin(speed)), speed.shape)
        first = int(np.argmax(wet[:, row, column]))
        height_m = float(np.median(above_m[inside]))
        quiet = float(np.clip(1.0 - speed[row, column] / brisk, 0.0, 1.0))
        reason = Reason(
            kind="high_bar" if height_m < 1.6 else "bench",
            strength=quiet * float(1.0 - np.exp(-area_m2 / 100.0)),
            facts={
                "above_m": height_m,
                "area_m2": area_m2,
                "reached_m3_s": floods[first].discharge_m3_s,
                "speed_m_s": float(speed[row, column]),
            },
        )
        found.append(
            Drop(
                easting_m=float(east[column]),
                northing_m=float(north[row]),
                reasons=(reason,),
            )
        )
    return found


def _islands(flood: FloodField) -> Mask:
    """Return dry ground with water all around: not the sides of the valley."""
    pieces, _ = label(~flood.wet)
    rim = np.concatenate([pieces[0], pieces[-1], pieces[:, 0], pieces[:, -1]])
    return np.asarray((pieces > 0) & ~np.isin(pieces, np.unique(rim)))


def _way_up(
    flood: FloodField, row: int, column: int, *, n_cells: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Return rows and columns of the cells straight up the flow."""
    east = float(np.nan_to_num(flood.east_m_s)[row, column])
    north = float(np.nan_to_num(flood.north_m_s)[row, column])
    speed = max(float(np.hypot(east, north)), 1e-9)
    far = np.arange(1.0, n_cells + 1.0)
    rows = np.rint(row + far * north / speed).astype(np.int64)
    columns = np.rint(column - far * east / speed).astype(np.int64)
    inside = (rows >= 0) & (rows < flood.wet.shape[0])
    inside &= (columns >= 0) & (columns < flood.wet.shape[1])
    return rows[inside], columns[inside]
