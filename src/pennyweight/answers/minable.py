"""The draws of the streaks as ground that could be mined: blocks inside the claim."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from pennyweight.answers.frame import Frame, PlacedFeature
from pennyweight.answers.trace import ValleyField
from pennyweight.spread import Spread, spread_of
from pennyweight.valley.coordinates import Centerline
from pennyweight.worth.blocks import Blocks, PayHorizon, ValleyGrid, build_blocks
from pennyweight.worth.walls import GRAVEL_WALL_DEG
from pennyweight.worth.workedground import regrade_worked

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Longest side of a piece of outline before it is bent with the valley [m].
OUTLINE_STEP_M = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Minable:
    """Blocks of a ground, with what is drawn on it.

    Attributes
    ----------
    blocks : Blocks
        Sampled stretch, with barren ground around it for the walls.
    in_worked, in_water : ndarray of bool, shape (n_rows, n_columns)
        Columns whose middle was mined before, or lies under water.
    has_boundary : bool
        Whether a boundary was drawn.
    depth_known : bool
        Whether any draw tells how deep the pay lies.
    left_out : tuple of LeftOut
        Sampled ground that may not be mined, by the first reason that holds.
    room_m2 : float
        Ground on the grid on which spoil may lie, pay or not [m2].
    """

    blocks: Blocks
    in_worked: BoolArray
    in_water: BoolArray
    has_boundary: bool
    depth_known: bool
    left_out: tuple[LeftOut, ...] = ()
    room_m2: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Sampled ground that is left out of any cut.

    Attributes
    ----------
    reason : str
        Of `LEFT_OUT`.
    area_m2 : float
        Of the sampled stretch.
    gold_g : Spread
        Raw gold in place that is left with it.
    """

    reason: str
    area_m2: float
    gold_g: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Where the cut may not go.

    Attributes
    ----------
    boundary_setback_m, water_setback_m : float
        Kept from the boundary and from water, 0 or more [m].
    works_water : bool
        Whether ground under water is worked too.
    worked_mg_m3 : ndarray, shape (n_draws,), or None
        Grade of ground that was mined before; None leaves it out [mg/m3 bank].
    """

    boundary_setback_m: float = 0.0
    water_setback_m: float = 0.0
    works_water: bool = False
    worked_mg_m3: FloatArray | None = None


#: Why ground is left out, the first that holds.
LEFT_OUT = (
    "outside the boundary",
    "too near the boundary",
    "under water",
    "too near water",
    "mined before",
)


def make_minable(
    fields: Sequence[ValleyField],
    frame: Frame,
    *,
    edge_m: float,
    min_pay_m: float,
    limits: Limits | None = None,
) -> Minable | None:
    """Return the blocks of the sampled stretch; None where none was sampled."""
    if not fields or frame.centerline is None or not fields[0].sampled.any():
        return None
    line = frame.centerline
    fields = _crop(fields)
    step_s, step_n = _step(fields[0].s_m), _step(fields[0].n_m)
    edge_m = max(edge_m, step_n)
    margin = _wall_margin_m(fields, edge_m)
    around = (int(np.ceil(margin / step_s)), int(np.ceil(margin / step_n)))
    grid = _widen_grid(fields[0], line, around, (step_s, step_n))
    boundary = _areas(frame.features, "boundary")
    limits = Limits() if limits is None else limits
    reasons = _refused_cells(frame, limits, _map_cells(line, grid.s_m, grid.n_m))
    grid.allowed[:] = ~np.any(list(reasons.values()), axis=0)
    horizons = [
        PayHorizon(
            horizon=one.horizon,
            accumulation_mg_m2=_widen(one.accumulation_mg_m2, around, "constant"),
            thickness_m=_widen(one.thickness_m, around, "edge"),
            top_m=_widen(one.top_m, around, "edge"),
        )
        for one in fields
    ]
    blocks = build_blocks(grid, horizons, edge_m=edge_m, min_pay_m=min_pay_m)
    middles = _map_cells(line, _middles(blocks.s_edges_m), _middles(blocks.n_edges_m))
    in_worked = _inside(_areas(frame.features, "worked"), *middles)
    if limits.worked_mg_m3 is not None and in_worked.any():
        own = regrade_worked(
            blocks.gold_mg, blocks.pay_m3, in_worked, grade_mg_m3=limits.worked_mg_m3
        )
        blocks = replace(blocks, gold_mg=own)
    return Minable(
        blocks=blocks,
        left_out=_weigh_left_out(reasons, grid, horizons),
        room_m2=float(grid.area_m2[grid.allowed].sum()),
        in_worked=in_worked,
        in_water=_inside(_areas(frame.features, "water"), *middles),
        has_boundary=boundary is not None,
        depth_known=any(bool(np.isfinite(one.top_m).any()) for one in fields),
    )


def _refused_cells(
    frame: Frame, limits: Limits, places: tuple[FloatArray, FloatArray]
) -> dict[str, BoolArray]:
    """Return where each reason refuses a cell, none of them twice."""
    features = frame.features
    boundary, water = _areas(features, "boundary"), _areas(features, "water")
    worked = _areas(features, "worked")
    inner = None if boundary is None else _buffer(boundary, -limits.boundary_setback_m)
    wet = None if limits.works_water else water
    banks = None if water is None else _buffer(water, limits.water_setback_m)
    if limits.works_water or limits.water_setback_m <= 0.0:
        banks = None
    nowhere = np.zeros(places[0].shape, dtype=np.bool_)
    refused = (
        nowhere if boundary is None else ~_inside(boundary, *places),
        nowhere if inner is None else ~_inside(inner, *places),
        _inside(wet, *places),
        _inside(banks, *places),
        nowhere if limits.worked_mg_m3 is not None else _inside(worked, *places),
    )
    found, taken = {}, nowhere
    for reason, cells in zip(LEFT_OUT, refused, strict=True):
        found[reason] = cells & ~taken
        taken = taken | cells
    return found


def _buffer(area: shapely.Geometry, distance_m: float) -> shapely.Geometry:
    return shapely.buffer(area, distance_m) if distance_m else area


def _weigh_left_out(
    reasons: Mapping[str, BoolArray], grid: ValleyGrid, horizons: Sequence[PayHorizon]
) -> tuple[LeftOut, ...]:
    """Return the sampled ground, and the gold, that each reason leaves out."""
    found = []
    for reason, cells in reasons.items():
        area = np.where(cells & grid.sampled, grid.area_m2, 0.0)
        if not area.any():
            continue
        grams = sum(
            np.einsum("dij,ij->d", one.accumulation_mg_m2, area) for one in horizons
        )
        gold = spread_of(np.asarray(grams) / 1000.0) or Spread(0.0, 0.0, 0.0, 0.0)
        found.append(LeftOut(reason=reason, area_m2=float(area.sum()), gold_g=gold))
    return tuple(found)


def _crop(fields: Sequence[ValleyField]) -> list[ValleyField]:
    """Return the fields without the rows and columns that were not sampled at all."""
    sampled = fields[0].sampled
    rows, columns = (np.flatnonzero(sampled.any(axis=axis)) for axis in (1, 0))
    down = slice(rows[0], rows[-1] + 1)
    across = slice(columns[0], columns[-1] + 1)
    return [
        replace(
            one,
            s_m=one.s_m[down],
            n_m=one.n_m[across],
            accumulation_mg_m2=one.accumulation_mg_m2[:, down, across],
            thickness_m=one.thickness_m[:, down, across],
            top_m=one.top_m[:, down, across],
            probability_above=one.probability_above[down, across],
            sampled=one.sampled[down, across],
        )
        for one in fields
    ]


def _step(centers_m: FloatArray) -> float:
    return float(centers_m[1] - centers_m[0]) if len(centers_m) > 1 else 1.0


def _wall_margin_m(fields: Sequence[ValleyField], edge_m: float) -> float:
    """Return how far the walls of the deepest pay can reach outside [m]."""
    lows = [
        float(np.nanmax(one.top_m + one.thickness_m))
        for one in fields
        if np.isfinite(one.top_m + one.thickness_m).any()
    ]
    deepest = max(lows, default=0.0)
    return deepest / float(np.tan(np.deg2rad(GRAVEL_WALL_DEG))) + edge_m


def _widen(
    values: npt.NDArray[np.floating], around: tuple[int, int], mode: str
) -> FloatArray:
    """Add cells around a grid of draws: barren, or as deep as at the edge."""
    sides = ((0, 0), (around[0], around[0]), (around[1], around[1]))
    wide = np.asarray(values, dtype=np.float64)
    if mode == "edge":
        return np.pad(wide, sides, mode="edge")
    return np.pad(wide, sides, mode="constant")


def _widen_grid(
    field: ValleyField,
    line: Centerline,
    around: tuple[int, int],
    steps: tuple[float, float],
) -> ValleyGrid:
    s_m, n_m = (
        centers[0] + step * np.arange(-more, len(centers) + more, dtype=np.float64)
        for centers, step, more in zip(
            (field.s_m, field.n_m), steps, around, strict=True
        )
    )
    sampled = np.pad(field.sampled, [(more, more) for more in around])
    along, across = np.meshgrid(s_m, n_m, indexing="ij")
    stretch = line.stretch(along.ravel(), across.ravel()).reshape(along.shape)
    return ValleyGrid(
        s_m=s_m,
        n_m=n_m,
        area_m2=stretch * abs(steps[0] * steps[1]),
        sampled=sampled,
        allowed=np.ones(sampled.shape, dtype=np.bool_),
    )


def _middles(edges_m: FloatArray) -> FloatArray:
    return np.asarray((edges_m[1:] + edges_m[:-1]) / 2.0)


def _map_cells(
    line: Centerline, s_m: FloatArray, n_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return easting and northing of every cell of a grid [m]."""
    along, across = np.meshgrid(s_m, n_m, indexing="ij")
    east, north = line.to_map(along.ravel(), across.ravel())
    return east.reshape(along.shape), north.reshape(along.shape)


def _areas(features: Iterable[PlacedFeature], role: str) -> shapely.Geometry | None:
    """Return all areas of a role as one geometry; None where none was drawn."""
    rings = [
        shapely.make_valid(shapely.Polygon(part))
        for feature in features
        if feature.role == role and feature.closed
        for part in feature.parts
        if len(part) >= 4
    ]
    # A ring inside another one is a hole: even-odd, as areas are drawn.
    area: shapely.Geometry | None = None
    for ring in rings:
        area = ring if area is None else shapely.symmetric_difference(area, ring)
    return area


def _inside(
    area: shapely.Geometry | None, east: FloatArray, north: FloatArray
) -> BoolArray:
    if area is None:
        return np.zeros(east.shape, dtype=np.bool_)
    return np.asarray(shapely.contains_xy(area, east, north), dtype=np.bool_)


def lie_inside(frame: Frame, s_m: FloatArray, n_m: FloatArray) -> BoolArray:
    """Tell which places of the valley lie inside the boundary; all where none is."""
    boundary = _areas(frame.features, "boundary")
    if boundary is None or frame.centerline is None:
        return np.ones(len(s_m), dtype=np.bool_)
    return _inside(boundary, *frame.centerline.to_map(s_m, n_m))


def outline_columns(
    blocks: Blocks, opened: BoolArray, frame: Frame
) -> dict[str, object]:
    """Return the outline of the columns that are opened, as GeoJSON.

    A Polygon, or a MultiPolygon where the cut has several parts; bent with the valley.
    """
    boxes = [
        shapely.box(
            blocks.s_edges_m[row],
            blocks.n_edges_m[column],
            blocks.s_edges_m[row + 1],
            blocks.n_edges_m[column + 1],
        )
        for row, column in zip(*np.nonzero(opened), strict=True)
    ]
    whole = shapely.segmentize(shapely.union_all(boxes), OUTLINE_STEP_M)
    polygons = []
    for part in shapely.get_parts(whole):
        rings = [part.exterior, *part.interiors]
        polygons.append([_map_ring(ring, frame) for ring in rings])
    if len(polygons) == 1:
        return {"type": "Polygon", "coordinates": polygons[0]}
    return {"type": "MultiPolygon", "coordinates": polygons}


def _map_ring(ring: shapely.LinearRing, frame: Frame) -> object:
    assert frame.centerline is not None  # noqa: S101 - there are blocks only with one
    places = np.asarray(ring.coords)[:-1]
    east, north = frame.centerline.to_map(places[:, 0], places[:, 1])
    return frame.map.polygon(east, north)["coordinates"][0]
