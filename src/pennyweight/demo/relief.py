"""The surface of the invented valley, by formula."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter

from pennyweight.demo.truth import (
    FALL,
    MOUTH_N_M,
    MOUTH_S_M,
    UPPER_END_M,
    draw_centerline,
    thalweg_m,
)
from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]

#: Ground shown around the centerline [m], and the side of a cell [m].
MARGIN_M, CELL_M = 70.0, 1.0

#: Half-width of the floor and where the terrace behind it ends [m].
FLOOR_M, TERRACE_M = 13.0, 27.0

#: Length of the side creek [m].
SIDE_LENGTH_M = 55.0

#: Length of the gulch on the left, where nobody has washed, and where it comes in [m].
GULCH_LENGTH_M, GULCH_MOUTH_S_M = 45.0, 96.0


def side_creek() -> tuple[FloatArray, FloatArray]:
    """Return easting and northing of the side creek, drawn downstream [m]."""
    along = np.linspace(SIDE_LENGTH_M, 0.0, 19)
    s_m = MOUTH_S_M - 26.0 * along / SIDE_LENGTH_M + 4.0 * np.sin(along / 13.0)
    return draw_centerline().to_map(s_m, MOUTH_N_M - 0.9 * along)


def dry_gulch() -> tuple[FloatArray, FloatArray]:
    """Return easting and northing of the gulch on the left, drawn downstream [m]."""
    along = np.linspace(GULCH_LENGTH_M, 0.0, 9)
    s_m = GULCH_MOUTH_S_M - 0.3 * along + 1.5 * np.sin(along / 9.0)
    return draw_centerline().to_map(s_m, 1.0 + along)


def shape_surface(rng: np.random.Generator) -> ElevationModel:
    """Return the surface: floor, creek, bars, terraces, slopes and a side creek."""
    line = draw_centerline()
    west = np.floor(line.easting_m.min() - MARGIN_M)
    north = np.ceil(line.northing_m.max() + MARGIN_M)
    columns = int(np.ceil((line.easting_m.max() + MARGIN_M - west) / CELL_M))
    rows = int(np.ceil((north - line.northing_m.min() + MARGIN_M) / CELL_M))
    east = west + (np.arange(columns) + 0.5) * CELL_M
    down = north - (np.arange(rows) + 0.5) * CELL_M
    grid_east, grid_north = np.meshgrid(east, down)
    s_m, n_m = line.to_valley(grid_east.ravel(), grid_north.ravel())
    height = _valley_height(s_m, n_m)
    # Away from the floor the fall of the valley is that of a plane: the places along
    # a winding line jump from bend to bend, and the slopes must not.
    plane = np.column_stack([np.ones(len(s_m)), grid_east.ravel(), grid_north.ravel()])
    near = np.abs(n_m) < FLOOR_M
    fitted = plane @ np.linalg.lstsq(plane[near], -FALL * s_m[near], rcond=None)[0]
    away = np.clip((np.abs(n_m) - FLOOR_M) / 25.0, 0.0, 1.0)
    height = (height + away * (fitted + FALL * s_m)).reshape(rows, columns)
    away = away.reshape(rows, columns)
    height = (1.0 - away) * height + away * gaussian_filter(height, 5.0, mode="nearest")
    height = _carve_side_creek(height, grid_east, grid_north)
    for over_cells, size_m in ((1.2, 0.06), (6.0, 0.3), (18.0, 1.6)):
        noise = gaussian_filter(rng.normal(size=(rows, columns)), over_cells)
        # Rough on the slopes, calm on the floor.
        calm = np.clip(np.abs(n_m.reshape(rows, columns)) / 30.0, 0.15, 1.0)
        height = height + calm * size_m * noise / noise.std()
    return ElevationModel(height.astype(np.float32), float(west), float(north), CELL_M)


def _step(distance: FloatArray, width_m: float) -> FloatArray:
    """Return 0 before and 1 behind a rise that is about that wide."""
    return np.asarray(0.5 * (1.0 + np.tanh(distance / (0.5 * width_m))))


def _valley_height(s_m: FloatArray, n_m: FloatArray) -> FloatArray:
    """Return heights by valley coordinates [m]."""
    floor = UPPER_END_M - FALL * s_m
    from_creek = n_m - thalweg_m(s_m)
    creek = -0.75 * np.exp(-0.5 * (from_creek / 1.8) ** 2)
    # A bar on the inner side of every bend of the creek.
    inner = -np.sign(thalweg_m(s_m) + 1.0) * from_creek
    bars = 0.35 * np.exp(-0.5 * ((inner - 4.5) / 1.8) ** 2)
    left = 2.3 * _step(n_m - FLOOR_M, 3.0) + 3.4 * _step(n_m - TERRACE_M, 4.0)
    right = 1.6 * _step(-n_m - FLOOR_M, 4.0)
    # Slopes that ease off toward rounded ridges.
    beyond = np.maximum(n_m - TERRACE_M, 0.0), np.maximum(-n_m - FLOOR_M - 2.0, 0.0)
    slopes = 16.0 * (1.0 - np.exp(-beyond[0] / 36.0)) + 22.0 * (
        1.0 - np.exp(-beyond[1] / 34.0)
    )
    return np.asarray(floor + creek + bars + left + right + slopes)


def _carve_side_creek(
    height: FloatArray, east: FloatArray, north: FloatArray
) -> FloatArray:
    """Cut the side creek's little valley into the right slope."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - costs 0.2 s

    creek_east, creek_north = side_creek()
    at = np.linspace(0.0, len(creek_east) - 1.0, 400)
    where = np.arange(len(creek_east))
    bed_east = np.interp(at, where, creek_east)
    bed_north = np.interp(at, where, creek_north)
    column = np.clip((bed_east - east[0, 0]) / CELL_M, 0, east.shape[1] - 1)
    row = np.clip((north[0, 0] - bed_north) / CELL_M, 0, east.shape[0] - 1)
    hillside = height[np.rint(row).astype(int), np.rint(column).astype(int)]
    # Deepest half-way up, shallow at its head and at its mouth; it falls all the way.
    depth = 0.4 + 3.4 * np.sin(np.pi * at / at[-1])
    bed_m = np.minimum.accumulate(hillside - depth)
    places = np.column_stack([east.ravel(), north.ravel()])
    away, nearest = cKDTree(np.column_stack([bed_east, bed_north])).query(places)
    banks = bed_m[nearest] + 0.75 * np.maximum(away - 1.0, 0.0)
    return np.asarray(np.minimum(height, banks.reshape(height.shape)))
