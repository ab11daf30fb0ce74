"""Lines of equal height."""

from __future__ import annotations

import contourpy
import numpy as np
import numpy.typing as npt

from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]

#: Intervals that a reader can count in: these times a power of ten [-].
NEAT_STEPS = (1.0, 2.0, 5.0, 10.0)

#: About how many levels a map bears; our assumption, no source [-].
WANTED_LEVELS = 12


def neat_interval(span_m: float, wanted: int = WANTED_LEVELS) -> float:
    """Return the contour interval that draws about the wanted number of levels.

    Parameters
    ----------
    span_m : float
        From the lowest to the highest height drawn, above 0 [m].
    wanted : int
        Number of levels, above 0 [-].

    Returns
    -------
    float
        1, 2 or 5 times a power of ten, the smallest that draws no more levels than
        wanted [m].

    Raises
    ------
    ValueError
        The span or the number is not above 0.

    Examples
    --------
    >>> neat_interval(47.0)
    5.0
    """
    if not (span_m > 0.0 and wanted > 0):
        msg = f"span is {span_m} m for {wanted} levels; both must be above 0."
        raise ValueError(msg)
    least = span_m / wanted
    power = 10.0 ** np.floor(np.log10(least))
    return float(next(step * power for step in NEAT_STEPS if step * power >= least))


def contour_lines(
    model: ElevationModel, interval_m: float
) -> list[tuple[float, FloatArray]]:
    """Return the lines along which the surface has a multiple of the interval.

    Parameters
    ----------
    model : ElevationModel
        The surface; lines stop at unknown cells.
    interval_m : float
        Between levels, above 0 [m].

    Returns
    -------
    list of (float, ndarray of shape (n_points, 2))
        Level [m] and the line's easting_m, northing_m; from the lowest level up, a
        closed line ends where it began.

    Raises
    ------
    ValueError
        The interval is not above 0.
    """
    if not interval_m > 0.0:
        msg = f"interval_m is {interval_m} m; contours stand more than 0 m apart."
        raise ValueError(msg)
    height = np.ma.masked_invalid(model.elevation_m)
    if min(height.shape) < 2 or height.count() == 0:
        return []
    east, north = model.centers
    drawer = contourpy.contour_generator(east, north, height)
    first = int(np.ceil(float(height.min()) / interval_m))
    last = int(np.floor(float(height.max()) / interval_m))
    levels = interval_m * np.arange(first, last + 1)
    return [
        (float(level), np.asarray(line, dtype=np.float64))
        for level in levels
        for line in drawer.lines(float(level))
    ]
