"""The ground that a flood is run over, the floods, and the bed that they work on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.streamtree import StreamTree
from pennyweight.highwater.dropflow import Bed, FloodField
from pennyweight.highwater.flood import Pace, flood_steps
from pennyweight.highwater.reach import Reach, coarsen
from pennyweight.progress import Progress
from pennyweight.records import Log
from pennyweight.sampling.classes import parse_class
from pennyweight.spread import Spread
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.valleyshape import Creek

FloatArray = npt.NDArray[np.float64]

#: Cells of a flood at most: five floods over as many take some ten seconds.
MOST_CELLS = 26_000

#: Ground around the digs over which the flood is run [m]: at least.
LEAST_AROUND_M = 40.0

#: Within this of the edge, where water leaves as no creek would, no drop is told [m].
RIM_M = 15.0

#: Depths for which discharges are chosen where no boulder tells of any [m]. Ours.
TRIED_DEPTHS_M = (0.4, 0.8, 1.3, 2.0, 3.0)

#: Roughness with which they are reckoned [s/m^(1/3)]: mountain streams with cobbles
#: and boulders, Chow (1959), 0.04 to 0.07.
TRIED_ROUGHNESS = 0.05

#: Size of the largest gravel where no layer tells it [m]. Ours.
USUAL_LARGEST_M = 0.256

#: Classes of the gravel, parts of the largest, and their parts of the bed [-]. Ours.
BED_PARTS = (
    (1 / 64, 0.15),
    (1 / 16, 0.20),
    (1 / 8, 0.25),
    (1 / 4, 0.25),
    (1 / 2, 0.15),
)

#: Gold looked for where no tally tells its size [mm].
USUAL_GOLD_MM = (0.25, 0.5, 1.0)

#: A flood is steady enough for a picture at this share of the inflow [-], and is
#: left at this flow time [s].
PACE = Pace(tolerance=0.03, longest_s=3600.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Floods:
    """Floods over the ground, from the smallest to the greatest.

    Attributes
    ----------
    model : ElevationModel
        The grid that they are on.
    above_m : ndarray, the grid's shape
        Height above the nearest drainage [m].
    fields : tuple of FloodField
        Depth, velocity, shear.
    believed : ndarray of bool, the grid's shape
        Where they are believed: not beside the inflow, nor at the edge.
    steady : bool
        Whether all came to rest.
    """

    model: ElevationModel
    above_m: FloatArray
    fields: tuple[FloodField, ...]
    believed: npt.NDArray[np.bool_]
    steady: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BedRead:
    """The bed as the record tells it, with what was supposed."""

    bed: Bed
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def read_bed(log: Log) -> BedRead:
    """Return gravel sizes from the largest stones of the layers, gold from tallies."""
    assumptions: dict[str, Any] = {}
    stones = [
        layer.largest_clast_m
        for layer in log.layers
        if layer.largest_clast_m and "gravel" in (layer.material or "gravel")
    ]
    largest_m = float(np.median(stones)) if stones else USUAL_LARGEST_M
    if not stones:
        assumptions["largest_gravel_m"] = largest_m
    gold_mm = sorted(
        {
            float(np.sqrt(size.low * size.high))
            for size in (parse_class(one.size_class) for one in log.tallies)
            if size.kind == "sieve" and size.low > 0.0
        }
    )
    if not gold_mm:
        gold_mm = list(USUAL_GOLD_MM)
        assumptions["gold_sizes_mm"] = ", ".join(f"{one:g}" for one in gold_mm)
    part, share = np.array(BED_PARTS).T
    return BedRead(
        bed=Bed(part * largest_m, share, np.array(gold_mm) / 1000.0),
        assumptions=assumptions,
    )


def choose_discharges(
    creek: Creek, told: Spread | None
) -> tuple[tuple[float, ...], dict[str, Any]]:
    """Return the discharges to run, rising, and what was supposed.

    From the boulders where they tell one: up to its median, which the ground may have
    seen once, over its 10 % point and lesser floods. Else those that fill the creek to
    some depths by Manning's law.
    """
    if told is not None:
        low = told.p10
        ladder = [low / 6.0, low / 2.0, low, (low * told.p50) ** 0.5, told.p50]
        return _rising(ladder), {}
    slope = float(np.nanmedian(creek.slope)) if np.isfinite(creek.slope).any() else 0.02
    width_m = float(np.nanmedian(creek.width_m)) if _has_width(creek) else 12.0
    ladder = [
        0.6
        * width_m
        * depth ** (5.0 / 3.0)
        * max(slope, 0.001) ** 0.5
        / TRIED_ROUGHNESS
        for depth in TRIED_DEPTHS_M
    ]
    rising = _rising(ladder)
    supposed = ", ".join(f"{one:.3g}" for one in rising)
    return rising, {"flood_discharges_m3_s": supposed}


def _has_width(creek: Creek) -> bool:
    return bool(np.isfinite(creek.width_m).any())


def _rising(ladder: list[float]) -> tuple[float, ...]:
    """Return discharges rounded to two figures, each above the one before."""
    found: list[float] = []
    for one in sorted(ladder):
        rounded = float(f"{max(one, 0.05):.2g}")
        if not found or rounded > 1.15 * found[-1]:
            found.append(rounded)
    return tuple(found)


def run_floods(
    reading: Reading,
    tree: StreamTree,
    discharges_m3_s: tuple[float, ...],
    *,
    stones_m: float,
    progress: Progress,
) -> Floods:
    """Return the floods over the ground around the digs.

    Raises
    ------
    ValueError
        The ground cannot carry a flood: it is flat, or the creek does not cross it.
    """
    creek, routing = tree.creek, tree.routing
    if creek is None or routing is None or tree.above_m is None:
        msg = "a ground without an elevation model carries no flood; attach one."
        raise ValueError(msg)
    rows, columns = _window(reading, routing.model, creek)
    model = routing.model
    reach = Reach(
        bed_m=model.elevation_m[rows, columns].astype(np.float64),
        cell_m=model.cell_m,
        inflow=np.zeros((0, 2), dtype=np.int64),
        stones_m=stones_m,
    )
    above_m = tree.above_m[rows, columns]
    while reach.bed_m.size > MOST_CELLS:
        reach = coarsen(reach)
        above_m = _halved(above_m)
    grid = ElevationModel(
        reach.bed_m,
        model.west_m + columns.start * model.cell_m,
        model.north_m - rows.start * model.cell_m,
        reach.cell_m,
    )
    inflow = _inflow(grid, creek)
    found = flood_steps(
        Reach(bed_m=reach.bed_m, cell_m=reach.cell_m, inflow=inflow, stones_m=stones_m),
        discharges_m3_s,
        pace=PACE,
        progress=progress,
    )
    return Floods(
        model=grid,
        above_m=above_m,
        fields=tuple(
            FloodField(
                one.discharge_m3_s,
                one.depth_m,
                one.east_m_s,
                one.north_m_s,
                one.shear_pa,
            )
            for one in found
        ),
        believed=_believed(grid, inflow),
        steady=all(one.steady for one in found),
    )


def _window(
    reading: Reading, model: ElevationModel, creek: Creek
) -> tuple[slice, slice]:
    """Return rows and columns of the model around the digs and the centerline."""
    frame = frame_ground(reading)
    east = [place.easting_m for place in frame.places.values()]
    north = [place.northing_m for place in frame.places.values()]
    if frame.centerline is not None:
        east += frame.centerline.easting_m.tolist()
        north += frame.centerline.northing_m.tolist()
    if not east:
        east, north = creek.easting_m.tolist(), creek.northing_m.tolist()
    around = LEAST_AROUND_M
    if _has_width(creek):
        around = max(around, 2.0 * float(np.nanmedian(creek.width_m)))
    n_rows, n_columns = model.elevation_m.shape
    top = int((model.north_m - max(north) - around) / model.cell_m)
    bottom = int((model.north_m - min(north) + around) / model.cell_m) + 1
    left = int((min(east) - around - model.west_m) / model.cell_m)
    right = int((max(east) + around - model.west_m) / model.cell_m) + 1
    rows = slice(max(top, 0), min(max(bottom, 0), n_rows))
    columns = slice(max(left, 0), min(max(right, 0), n_columns))
    if rows.stop - rows.start < 8 or columns.stop - columns.start < 8:
        msg = (
            "the elevation model covers too little of the ground for a flood; add the "
            "tile that the digs lie on."
        )
        raise ValueError(msg)
    return rows, columns


def _halved(cells: FloatArray) -> FloatArray:
    """Return the mean of every two by two cells."""
    rows, columns = cells.shape
    even = np.pad(cells, ((0, rows % 2), (0, columns % 2)), mode="edge")
    return np.asarray(
        even.reshape(len(even) // 2, 2, even.shape[1] // 2, 2).mean(axis=(1, 3))
    )


def _inflow(grid: ElevationModel, creek: Creek) -> npt.NDArray[np.int64]:
    """Return the lowest cell where the creek first comes into the grid."""
    rows, columns = grid.elevation_m.shape
    row = np.floor((grid.north_m - creek.northing_m) / grid.cell_m).astype(np.int64)
    column = np.floor((creek.easting_m - grid.west_m) / grid.cell_m).astype(np.int64)
    rim = 2
    inside = (row >= rim) & (row < rows - rim)
    inside &= (column >= rim) & (column < columns - rim)
    if not inside.any():
        msg = "the creek does not cross the elevation model around the digs."
        raise ValueError(msg)
    first = int(np.flatnonzero(inside)[0])
    at = np.s_[
        row[first] - rim : row[first] + rim + 1,
        column[first] - rim : column[first] + rim + 1,
    ]
    around = np.where(np.isfinite(grid.elevation_m[at]), grid.elevation_m[at], np.inf)
    down, right = np.unravel_index(int(np.argmin(around)), around.shape)
    cell = [row[first] - rim + down, column[first] - rim + right]
    return np.array([cell], dtype=np.int64)


def _believed(
    grid: ElevationModel, inflow: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    rows, columns = np.indices(grid.elevation_m.shape)
    away = np.hypot(rows - inflow[0, 0], columns - inflow[0, 1]) * grid.cell_m
    edge = np.minimum.reduce(
        [rows, columns, rows.max() - rows, columns.max() - columns]
    )
    return np.asarray((away > LEAST_AROUND_M) & (edge * grid.cell_m >= RIM_M))
