"""A flood over the ground: depth, speed and shear of the water at a discharge.

Two-dimensional shallow water, run until what flows out is what flows in. What it
leaves out: the bed does not move, the water carries nothing, no wood jams, and the
elevation model is the ground of its day, not that of the old flood.
"""

from __future__ import annotations

import itertools
import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from pennyweight.highwater.reach import (
    Reach,
    cells_further_out,
    check_reach,
    coarsen,
    drag_of,
    fall_beyond,
    outside,
    rim_cells,
    spread_inflow,
)
from pennyweight.progress import Progress, quiet, within
from pennyweight.sampling.settling import GRAVITY_M_S2, WATER_KG_M3

FloatArray = npt.NDArray[np.float64]
Waters = tuple[FloatArray, FloatArray, FloatArray]

RIM = 2
#: Height above the ground of cells where no water may be [m].
WALL_M = 1e5
#: Steps between two looks at the clock and at the wish to stop.
STEPS = 100
#: Below this many cells with water one thread runs alone: two would wait for each
#: other.
SMALL = 15_000
#: A grid is made coarser for the start while its shorter side keeps these many cells.
COARSEST = 30
#: Depth below which a cell is told as dry [m].
DRY_M = 1e-3
#: Water shallower than this is a film, whose speed is read with care [m].
FILM_M = 0.05
#: Blocks of rows that the threads share.
BLOCKS = 4

# Some threading layers of the compiler end the program when two threads of it call
# them at once, and the page runs several tasks.
_ONE_AT_A_TIME = threading.Lock()


@dataclass(frozen=True, slots=True)
class Pace:
    """How long and how carefully a flood is run.

    Attributes
    ----------
    tolerance : float
        Steady when the water moved between cells' stores in a while is less than
        this share of what came in meanwhile, and outflow equals inflow as well [-].
    courant : float
        Share of a cell that both waves together may cross in a step, up to 1 [-].
    longest_s : float
        Flow time after which the run ends, steady or not [s].
    from_coarse : bool
        Start from the flood over coarser cells.
    """

    tolerance: float = 0.01
    courant: float = 0.8
    longest_s: float = 12.0 * 3600.0
    from_coarse: bool = True


USUAL = Pace()


@dataclass(frozen=True, slots=True)
class MassBalance:
    """Where the water went during the run.

    Attributes
    ----------
    inflow_m3, outflow_m3 : float
        What came in and what left [m3].
    stored_m3 : float
        What the ground holds more at the end than at the start [m3].
    """

    inflow_m3: float
    outflow_m3: float
    stored_m3: float

    @property
    def error_share(self) -> float:
        """What is missing or too much, over what came in [-]."""
        lost_m3 = self.inflow_m3 - self.outflow_m3 - self.stored_m3
        return abs(lost_m3) / max(self.inflow_m3, 1e-300)


@dataclass(frozen=True)
class Flood:
    """Water over the ground at one discharge; arrays of the bed's shape.

    Attributes
    ----------
    discharge_m3_s : float
        What came in [m3/s].
    depth_m : ndarray
        Depth [m]; 0 where dry, nan where the ground is unknown.
    east_m_s, north_m_s : ndarray
        Velocity, mean over the depth [m/s]; nan where the ground is unknown.
    shear_pa : ndarray
        Shear of the water on the bed [Pa]; nan where the ground is unknown.
    steady : bool
        Whether outflow and inflow came together before the time was up.
    outflow_m3_s : float
        What left at the end [m3/s].
    unsteadiness : float
        Water moved between stores at the end, over the inflow [-].
    balance : MassBalance
        Of the last run on these cells.
    flow_s : float
        Flow time of that run [s].
    steps : int
        Steps of that run.
    way_m : float
        From the inflow to the nearest place where water leaves [m].
    holes : int
        Unknown cells inside the ground, which stood as walls.
    """

    discharge_m3_s: float
    depth_m: FloatArray
    east_m_s: FloatArray
    north_m_s: FloatArray
    shear_pa: FloatArray
    steady: bool
    outflow_m3_s: float
    unsteadiness: float
    balance: MassBalance
    flow_s: float
    steps: int
    way_m: float
    holes: int

    @property
    def speed_m_s(self) -> FloatArray:
        """Speed, mean over the depth [m/s]."""
        return np.asarray(np.hypot(self.east_m_s, self.north_m_s))

    @property
    def wet(self) -> npt.NDArray[np.bool_]:
        """Cells with at least a millimeter of water."""
        return np.nan_to_num(self.depth_m) >= DRY_M


@dataclass(frozen=True)
class _Basin:
    """A reach laid out for the kernels: with a rim, bed counted from its lowest."""

    reach: Reach
    discharge_m3_s: float
    waters: Waters
    grid: tuple[FloatArray, FloatArray, npt.NDArray[np.int64]]
    marks: tuple[npt.NDArray[np.generic], ...]
    stones_m2: float
    longest_step_s: float

    def volume_m3(self) -> float:
        """Return the water on the ground [m3]."""
        depth = self.waters[0][0, RIM:-RIM, RIM:-RIM]
        held = float(depth[self.reach.known].sum())
        return held * self.reach.cell_m**2


def flood_at(
    reach: Reach,
    discharge_m3_s: float,
    *,
    start: Flood | None = None,
    pace: Pace = USUAL,
    progress: Progress = quiet,
) -> Flood:
    """Return the flood at a discharge, run until it is steady.

    Parameters
    ----------
    reach : Reach
        The ground.
    discharge_m3_s : float
        What comes in, above 0 [m3/s].
    start : Flood, optional
        Of the same reach at another discharge, to start from.
    pace : Pace
        How long and how carefully.
    progress : Progress
        Told how far it is; may raise `Cancelled`.

    Returns
    -------
    Flood
        Depth, velocity and shear; `steady` tells whether it came to rest in time.

    Raises
    ------
    ValueError
        The discharge is not above 0, the reach cannot carry a flood, or the start is
        of another reach.

    Notes
    -----
    Second-order finite volumes with hydrostatic reconstruction (Audusse et al. 2004),
    HLLC fluxes (Toro 2001), Heun's steps, implicit friction.

    References
    ----------
    docs/sources.md "shallow water".
    """
    if not (math.isfinite(discharge_m3_s) and discharge_m3_s > 0.0):
        msg = f"discharge is {discharge_m3_s} m3/s; a flood needs more than 0."
        raise ValueError(msg)
    check_reach(reach)
    if reach.outlet is not None and not reach.outlet.any():
        msg = f"none of {reach.outlet.size} cells is an outlet; water must leave."
        raise ValueError(msg)
    if start is not None:
        _check_start(reach, start)
    shorter = min(reach.bed_m.shape)
    here = progress
    if start is None and pace.from_coarse and shorter >= 2 * COARSEST:
        here = within(progress, 0.4, 1.0)
        coarser = flood_at(
            coarsen(reach),
            discharge_m3_s,
            pace=pace,
            progress=within(progress, 0.0, 0.4),
        )
        start = _onto_finer(coarser, reach)
    basin = _lay_out(reach, discharge_m3_s, start)
    return _run(basin, pace, here)


def let_run(
    reach: Reach,
    start: Flood,
    flow_s: float,
    *,
    discharge_m3_s: float = 0.0,
    pace: Pace = USUAL,
    progress: Progress = quiet,
) -> Flood:
    """Return the water some time later: a dam that broke, a pool that drains.

    Parameters
    ----------
    reach : Reach
        The ground.
    start : Flood
        The water at first, over the same cells; see `still_water`.
    flow_s : float
        How long it runs [s].
    discharge_m3_s : float
        What comes in meanwhile, 0 or more [m3/s].
    pace : Pace
        How carefully; its longest time is not used.
    progress : Progress
        Told how far it is; may raise `Cancelled`.

    Returns
    -------
    Flood
        Depth, velocity and shear at that time.

    Raises
    ------
    ValueError
        The reach cannot carry water, or the start is of another reach.
    """
    check_reach(reach)
    _check_start(reach, start)
    basin = _lay_out(reach, discharge_m3_s, start)
    before_m3 = basin.volume_m3()
    gone_s, out_m3, steps, outflow = 0.0, 0.0, 0, 0.0
    while gone_s < flow_s * (1.0 - 1e-12):
        progress(gone_s / flow_s, f"water on {reach.cell_m:g} m cells")
        took_s, over_m2, taken = _march(basin, pace, flow_s - gone_s)
        outflow = over_m2 * reach.cell_m / took_s
        gone_s, steps = gone_s + took_s, steps + taken
        out_m3 += over_m2 * reach.cell_m
    balance = MassBalance(
        inflow_m3=discharge_m3_s * gone_s,
        outflow_m3=out_m3,
        stored_m3=basin.volume_m3() - before_m3,
    )
    return _tell(basin, balance, (False, outflow, math.nan, gone_s, steps))


def still_water(reach: Reach, depth_m: FloatArray) -> Flood:
    """Return water that stands at given depths, to start from.

    Parameters
    ----------
    reach : Reach
        The ground.
    depth_m : ndarray, the bed's shape
        Depth of the water, 0 or more [m].

    Returns
    -------
    Flood
        The water, without any motion.

    Raises
    ------
    ValueError
        A depth is below 0 or the shape differs from the bed's.
    """
    if depth_m.shape != reach.bed_m.shape or np.any(depth_m < 0.0):
        msg = (
            f"depths have shape {depth_m.shape} and begin at {depth_m.min()} m; give "
            f"0 m or more on {reach.bed_m.shape} cells."
        )
        raise ValueError(msg)
    still = np.where(reach.known, 0.0, np.nan)
    return Flood(
        discharge_m3_s=0.0,
        depth_m=depth_m + still,
        east_m_s=still,
        north_m_s=still,
        shear_pa=still,
        steady=False,
        outflow_m3_s=0.0,
        unsteadiness=math.nan,
        balance=MassBalance(0.0, 0.0, 0.0),
        flow_s=0.0,
        steps=0,
        way_m=math.inf,
        holes=0,
    )


def flood_steps(
    reach: Reach,
    discharges_m3_s: Sequence[float],
    *,
    pace: Pace = USUAL,
    progress: Progress = quiet,
) -> tuple[Flood, ...]:
    """Return the floods at rising discharges, each started from the one before.

    Parameters
    ----------
    reach : Reach
        The ground.
    discharges_m3_s : sequence of float
        What comes in, rising [m3/s].
    pace : Pace
        How long and how carefully.
    progress : Progress
        Told how far it is; may raise `Cancelled`.

    Returns
    -------
    tuple of Flood
        One a discharge, in their order.

    Raises
    ------
    ValueError
        The discharges do not rise.
    """
    given = [float(one) for one in discharges_m3_s]
    if any(later <= earlier for earlier, later in itertools.pairwise(given)):
        msg = f"discharges are {given} m3/s; each step must rise above the one before."
        raise ValueError(msg)
    floods: list[Flood] = []
    for number, discharge in enumerate(given):
        part = within(progress, number / len(given), (number + 1) / len(given))
        before = floods[-1] if floods else None
        floods.append(
            flood_at(reach, discharge, start=before, pace=pace, progress=part)
        )
    return tuple(floods)


def _check_start(reach: Reach, start: Flood) -> None:
    """Raise where a start is not of the reach."""
    if start.depth_m.shape != reach.bed_m.shape:
        msg = (
            f"the start has {start.depth_m.shape} cells and the reach "
            f"{reach.bed_m.shape}; start from a flood over the same cells."
        )
        raise ValueError(msg)


def _onto_finer(coarser: Flood, reach: Reach) -> Flood:
    """Return a coarse flood laid over the finer cells, as a start."""
    rows, columns = reach.bed_m.shape

    def finer(cells: FloatArray) -> FloatArray:
        return cells.repeat(2, axis=0).repeat(2, axis=1)[:rows, :columns]

    bed_m = coarsen(reach).bed_m
    level_m = finer(np.where(coarser.wet, bed_m + coarser.depth_m, -np.inf))
    depth_m = np.maximum(level_m - reach.bed_m, 0.0)
    return Flood(
        discharge_m3_s=coarser.discharge_m3_s,
        depth_m=np.where(reach.known, depth_m, np.nan),
        east_m_s=finer(coarser.east_m_s),
        north_m_s=finer(coarser.north_m_s),
        shear_pa=finer(coarser.shear_pa),
        steady=False,
        outflow_m3_s=coarser.outflow_m3_s,
        unsteadiness=coarser.unsteadiness,
        balance=coarser.balance,
        flow_s=coarser.flow_s,
        steps=coarser.steps,
        way_m=coarser.way_m,
        holes=coarser.holes,
    )


def _lay_out(reach: Reach, discharge_m3_s: float, start: Flood | None) -> _Basin:
    """Return the reach with a rim around it, and the water of the start on it."""
    base_m = float(np.nanmin(reach.bed_m))
    rims = rim_cells(reach)
    held = math.nan
    fall_m = fall_beyond(reach, rims) * reach.cell_m
    if reach.outlet_level_m is not None:
        held, fall_m = reach.outlet_level_m - base_m, 0.0
    bed = np.pad(
        np.where(reach.known, reach.bed_m - base_m, WALL_M),
        RIM,
        constant_values=WALL_M,
    )
    further = cells_further_out(reach.known, rims)
    for cells, times in ((rims, 1.0), (further, 2.0)):
        within_cells = tuple((cells[:, 2:] + RIM).T)
        bed[tuple((cells[:, :2] + RIM).T)] = bed[within_cells] - times * fall_m
    rims = np.vstack((rims, further))
    first, second = drag_of(reach)
    drag = np.pad(first, RIM, mode="edge")
    rows, columns = bed.shape
    span = np.vstack((np.full(rows, columns), np.full(rows, -1))).astype(np.int64)
    gives = np.ones_like(bed)
    if reach.outlet_level_m is None:
        # What has run over the rim does not come back.
        gives[tuple((rims[:, :2] + RIM).T)] = 0.0
    faces = np.zeros((9, rows, columns))
    faces[8] = gives
    water = _first_water(reach, bed, start)
    wells = reach.inflow
    if not reach.exact_inflow:
        wells = spread_inflow(reach, discharge_m3_s)
    wet = span.copy()
    _span_water(water[0], wells + RIM, wet, span)
    rise_m_s = discharge_m3_s / (wells.shape[0] * reach.cell_m**2)
    unit_m2_s = discharge_m3_s / (math.sqrt(wells.shape[0]) * reach.cell_m)
    marks = (
        rims + RIM,
        np.full(rims.shape[0], held),
        wells + RIM,
        np.full(wells.shape[0], rise_m_s),
        wet,
        np.zeros(BLOCKS + 1, np.int64),
        np.zeros(BLOCKS),
    )
    quickest_m_s = max(math.cbrt(GRAVITY_M_S2 * unit_m2_s), 1e-9)
    return _Basin(
        reach=reach,
        discharge_m3_s=discharge_m3_s,
        waters=(water, water.copy(), water.copy()),
        grid=(np.stack((bed, drag, drag, gives)), faces, span),
        marks=marks,
        stones_m2=second,
        longest_step_s=0.25 * reach.cell_m / quickest_m_s,
    )


def _first_water(reach: Reach, bed: FloatArray, start: Flood | None) -> FloatArray:
    """Return the planes depth, level and velocities of the start, rim included."""
    water = np.zeros((4, *bed.shape))
    if start is not None:
        inner = water[:, RIM:-RIM, RIM:-RIM]
        inner[0] = np.where(reach.known, np.nan_to_num(start.depth_m), 0.0)
        wet = inner[0] > 0.0
        inner[2] = np.where(wet, np.nan_to_num(start.east_m_s), 0.0)
        inner[3] = np.where(wet, -np.nan_to_num(start.north_m_s), 0.0)
    water[1] = water[0] + bed
    return water


def _span_water(
    depth: FloatArray,
    wells: npt.NDArray[np.int64],
    wet: npt.NDArray[np.int64],
    span: npt.NDArray[np.int64],
) -> None:
    """Fill the first and last columns where water stands, comes in or goes next."""
    there = depth > 0.0
    there[wells[:, 0], wells[:, 1]] = True
    # Two stages of the first step carry water two cells on.
    there = ndimage.binary_dilation(there, np.ones((5, 5), np.bool_))
    there[:RIM] = there[-RIM:] = there[:, :RIM] = there[:, -RIM:] = False
    rows = np.flatnonzero(there.any(axis=1))
    wet[0, rows] = there[rows].argmax(axis=1)
    wet[1, rows] = there.shape[1] - 1 - there[rows, ::-1].argmax(axis=1)
    span[:, rows] = wet[:, rows]


def _run(basin: _Basin, pace: Pace, progress: Progress) -> Flood:
    """March until the flood is steady or the time is up."""
    reach, area_m2 = basin.reach, basin.reach.cell_m**2
    before_m3 = basin.volume_m3()
    gone_s, out_m3, steps, change, outflow = 0.0, 0.0, 0, 1.0, 0.0
    worst, steady = 1.0, False
    while not steady and gone_s < pace.longest_s:
        progress(_share_done(worst, pace.tolerance), f"flood on {reach.cell_m:g} m")
        depth = basin.waters[0][0].copy()
        took_s, over_m2, taken = _march(basin, pace, pace.longest_s - gone_s)
        left_m3 = over_m2 * reach.cell_m
        came_m3 = basin.discharge_m3_s * took_s
        moved = np.abs(basin.waters[0][0] - depth)[RIM:-RIM, RIM:-RIM]
        change = float(moved[reach.known].sum()) * area_m2 / came_m3
        outflow = left_m3 / took_s
        gone_s, out_m3, steps = gone_s + took_s, out_m3 + left_m3, steps + taken
        worst = max(change, abs(outflow / basin.discharge_m3_s - 1.0))
        steady = worst < pace.tolerance
    balance = MassBalance(
        inflow_m3=basin.discharge_m3_s * gone_s,
        outflow_m3=out_m3,
        stored_m3=basin.volume_m3() - before_m3,
    )
    return _tell(basin, balance, (steady, outflow, change, gone_s, steps))


def _march(basin: _Basin, pace: Pace, left_s: float) -> tuple[float, float, int]:
    """Take some steps; return flow time, what went over the rim, and how many."""
    import numba  # noqa: PLC0415 - costs a second

    from pennyweight.highwater.kernels import march  # noqa: PLC0415 - compiles

    step = (
        basin.reach.cell_m,
        pace.courant,
        basin.longest_step_s,
        basin.stones_m2,
        left_s,
        STEPS,
    )
    with _ONE_AT_A_TIME:
        first, last = basin.grid[2]
        small = np.maximum(last - first + 1, 0).sum() < SMALL
        most = numba.config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]
        numba.set_num_threads(1 if small else most)
        took_s, over_m2, taken = march(basin.waters, (basin.grid, basin.marks), step)
    if taken % 2 == 1:
        np.copyto(basin.waters[0], basin.waters[2])
    return float(took_s), float(over_m2), int(taken)


def _share_done(worst: float, tolerance: float) -> float:
    """Return how far the flood is on its way to rest, by the logarithm."""
    if worst >= 1.0 or tolerance >= 1.0:
        return 0.0
    return min(1.0, math.log(max(worst, tolerance)) / math.log(tolerance))


def _tell(
    basin: _Basin, balance: MassBalance, end: tuple[bool, float, float, float, int]
) -> Flood:
    """Return the flood as the user's arrays."""
    reach = basin.reach
    depth = basin.waters[0][0, RIM:-RIM, RIM:-RIM]
    roughness, _ = drag_of(reach)
    wet = depth >= DRY_M
    right, down = _velocities(basin, wet)
    safe = np.where(wet, depth, 1.0)
    drag = roughness / np.cbrt(safe) + basin.stones_m2 / safe**2
    shear = np.where(wet, WATER_KG_M3 * drag * (right**2 + down**2), 0.0)

    def shown(values: FloatArray) -> FloatArray:
        return np.where(reach.known, values, np.nan)

    steady, outflow, change, gone_s, steps = end
    return Flood(
        discharge_m3_s=basin.discharge_m3_s,
        depth_m=shown(depth),
        east_m_s=shown(right),
        north_m_s=shown(-down),
        shear_pa=shown(shear),
        steady=steady,
        outflow_m3_s=outflow,
        unsteadiness=change,
        balance=balance,
        flow_s=gone_s,
        steps=steps,
        way_m=_way_m(reach, basin.marks[0] - RIM, depth),
        holes=int((~reach.known & ~outside(reach.known)).sum()),
    )


def _velocities(
    basin: _Basin, wet: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Return the velocities to the right and down the page, by what crosses faces.

    A cell beside a bank that runs askew to the grid holds water that pushes against
    the bank without getting on; what crosses its faces is what flows, and adds up to
    the discharge over any section. In films the slower of both readings is taken.
    """
    faces, cell = basin.grid[1], slice(RIM, -RIM)
    before = slice(RIM - 1, -RIM - 1)
    share = faces[8]
    across, along = np.zeros_like(share), np.zeros_like(share)
    across[:, :-1] = faces[0, :, :-1] * np.where(
        faces[0, :, :-1] > 0.0, share[:, :-1], share[:, 1:]
    )
    along[:-1] = faces[4, :-1] * np.where(faces[4, :-1] > 0.0, share[:-1], share[1:])
    depth, _, right, down = basin.waters[0][:, cell, cell]
    safe = np.where(wet, depth, np.inf)
    right_m_s = 0.5 * (across[cell, before] + across[cell, cell]) / safe
    down_m_s = 0.5 * (along[before, cell] + along[cell, cell]) / safe
    film = depth < FILM_M
    quick = film & (np.hypot(right, down) < np.hypot(right_m_s, down_m_s))
    return (
        np.where(wet & quick, right, right_m_s),
        np.where(wet & quick, down, down_m_s),
    )


def _way_m(reach: Reach, rims: npt.NDArray[np.generic], depth: FloatArray) -> float:
    """Return how far the nearest wet outlet lies from the inflow; inf if none."""
    ends = np.asarray(rims, np.int64)[:, 2:]
    ends = ends[depth[ends[:, 0], ends[:, 1]] >= DRY_M]
    if ends.size == 0:
        return math.inf
    apart = ends[:, np.newaxis, :] - reach.inflow[np.newaxis, :, :]
    return float(np.hypot(apart[..., 0], apart[..., 1]).min()) * reach.cell_m
