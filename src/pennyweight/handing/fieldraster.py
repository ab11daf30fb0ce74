"""The best field as a raster: how much gold stands under a square meter, how surely.

The field lives on the straightened valley; here it is laid back onto the map.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, ValleyField, trace_streaks
from pennyweight.errors import TooLittleError
from pennyweight.exchange.rasters import write_raster
from pennyweight.handing.layers import FloatArray
from pennyweight.valley.coordinates import Centerline

#: A raster is coarsened until it has no more cells than this.
MOST_CELLS = 2_000_000


def make_field_raster(reading: Reading) -> bytes:
    """Return a GeoTIFF of the horizon that is most surely above the cutoff.

    Parameters
    ----------
    reading : Reading
        One look at a book.

    Returns
    -------
    bytes
        Two bands: the median accumulation [mg/m2], and the probability of being
        above the cutoff [-]; nan outside of the sampled stretch.

    Raises
    ------
    TooLittleError
        There is no field: too few digs with washed samples.
    """
    trace = trace_streaks(reading)
    frame = frame_ground(reading)
    if not trace.fields or frame.centerline is None:
        found = f"{len(trace.fields)} fields"
        msg = (
            f"There is nothing to draw as a raster ({found}). Wash samples of at least "
            "two lines with two digs each, or share as .gpkg."
        )
        raise TooLittleError(msg)
    best = max(trace.fields, key=_surely_above)
    west_m, north_m, cell_m, (east, north) = _grid(best, frame.centerline)
    s_m, n_m = frame.centerline.to_valley(east.ravel(), north.ravel())
    places = np.column_stack([s_m, n_m])
    median = np.median(best.accumulation_mg_m2, axis=0).astype(np.float64)
    inside = _at(best, best.sampled.astype(np.float64), places) >= 0.5
    bands = {
        f"median accumulation of raw gold in place, mg/m2, {best.horizon}": median,
        f"probability of more than {_cutoff(trace)}, {best.horizon}": (
            best.probability_above
        ),
    }
    return write_raster(
        {
            name: np.where(inside, _at(best, values, places), np.nan).reshape(
                east.shape
            )
            for name, values in bands.items()
        },
        west_m=west_m,
        north_m=north_m,
        cell_m=cell_m,
        crs=reading.log.ground.crs,
    )


def _cutoff(trace: TraceAnswer) -> str:
    return f"{trace.cutoff_mg_m3:.0f} mg/m3"


def _surely_above(field: ValleyField) -> float:
    return float(field.probability_above[field.sampled].sum())


def _grid(
    field: ValleyField, centerline: Centerline
) -> tuple[float, float, float, tuple[FloatArray, FloatArray]]:
    """Return west, north, cell and the middles of map cells that cover a field [m]."""
    s_m, n_m = np.meshgrid(field.s_m, field.n_m, indexing="ij")
    at = field.sampled
    if not at.any():
        at = np.ones_like(at)
    east, north = centerline.to_map(s_m[at], n_m[at])
    steps = [np.diff(axis).min() for axis in (field.s_m, field.n_m) if len(axis) > 1]
    cell_m = float(min(steps, default=1.0))
    west_m, north_m = float(east.min()) - cell_m, float(north.max()) + cell_m
    width_m = float(east.max()) - west_m + cell_m
    height_m = north_m - float(north.min()) + cell_m
    cells = width_m * height_m / cell_m**2
    cell_m *= float(max(np.sqrt(cells / MOST_CELLS), 1.0))
    columns, rows = int(np.ceil(width_m / cell_m)), int(np.ceil(height_m / cell_m))
    middles = np.meshgrid(
        west_m + (np.arange(columns) + 0.5) * cell_m,
        north_m - (np.arange(rows) + 0.5) * cell_m,
    )
    return west_m, north_m, cell_m, (middles[0], middles[1])


def _at(field: ValleyField, values: FloatArray, places: FloatArray) -> FloatArray:
    """Return a field's values at places in the valley; nan beyond its cells."""
    if min(values.shape) < 2:
        return np.full(len(places), np.nan)
    reader = RegularGridInterpolator(
        (field.s_m, field.n_m), values, bounds_error=False, fill_value=np.nan
    )
    return np.asarray(reader(places))
