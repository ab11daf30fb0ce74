"""The draws of the streaks as ground that could be mined: blocks inside the claim."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from pennyweight.answers.frame import Frame, PlacedFeature
from pennyweight.answers.trace import ValleyField
from pennyweight.valley.coordinates import Centerline
from pennyweight.worth.blocks import Blocks, PayHorizon, ValleyGrid, build_blocks
from pennyweight.worth.cut import GRAVEL_WALL_DEG

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
    """

    blocks: Blocks
    in_worked: BoolArray
    in_water: BoolArray
    has_boundary: bool
    depth_known: bool


def make_minable(
    fields: Sequence[ValleyField], frame: Frame, *, edge_m: float, min_pay_m: float
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
    if boundary is not None:
        east, north = _map_cells(line, grid.s_m, grid.n_m)
        grid.allowed[:] = shapely.contains_xy(boundary, east, north)
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
    return Minable(
        blocks=blocks,
        in_worked=_inside(_areas(frame.features, "worked"), *middles),
        in_water=_inside(_areas(frame.features, "water"), *middles),
        has_boundary=boundary is not None,
        depth_known=any(bool(np.isfinite(one.top_m).any()) for one in fields),
    )


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
