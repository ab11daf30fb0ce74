"""Off the creek: lines of soil holes across the slope, and the band that they find.

Gold that creeps down a slope lies in a band that narrows uphill to its source. Lines
of holes along the contour find the band's middle and edges; each line is laid above
the one before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]

#: Slopes steeper than this get lines close together [m/m], and the distance of lines
#: and of holes on gentle and on steep ground [m]; ours, after common practice.
STEEP, LINE_GAPS_M, HOLE_GAP_M = 0.35, (20.0, 10.0), 4.0
#: Lines that are laid out at first on each bank, and the widest line [m]; ours.
FIRST_LINES, WIDEST_M = 3, 120.0
#: Slopes above which one is told to take care [m/m], about 30 degrees; ours.
CAUTION_SLOPE = 0.6
#: Soil of one hole is about a pan: the top 50 mm; common practice, no source.
SOIL_DEPTH_M = 0.05
#: Grid of a band: middles, half-widths and richness [-].
_MIDDLES, _WIDTHS, _RICHES = 81, 16, 24


@dataclass(frozen=True)
class SoilLine:
    """One line of holes along the contour.

    Attributes
    ----------
    bank : str
        left or right, looking downstream.
    number : int
        1 next to the creek.
    easting_m, northing_m : ndarray, shape (n_holes,)
        Holes, in order downstream [m].
    carry_m : float
        About how far the soil is carried to the creek [m].
    slope : float
        Of the ground there [m/m]; nan where no surface tells.
    """

    bank: str
    number: int
    easting_m: FloatArray
    northing_m: FloatArray
    carry_m: float
    slope: float


@dataclass(frozen=True)
class SoilBand:
    """Where gold creeps down across one line of holes.

    Attributes
    ----------
    there_chance : float
        That a band crosses the line at all [-].
    middle_m : Spread
        Its middle along the line, if there is one [m].
    half_width_m : Spread
        Half its width, one standard deviation [m].
    """

    there_chance: float
    middle_m: Spread
    half_width_m: Spread


def lay_lines(
    creek: FloatArray,
    uphill: dict[str, FloatArray] | None = None,
    *,
    slope: dict[str, float] | None = None,
    n_lines: int = FIRST_LINES,
) -> tuple[SoilLine, ...]:
    """Return lines of soil holes on both banks of a stretch of creek.

    Parameters
    ----------
    creek : ndarray, shape (n_points, 2)
        The stretch in question, downstream: easting, northing [m].
    uphill : dict, optional
        "left" and "right" to a unit vector up the slope [-]; at a right angle to the
        creek where not given.
    slope : dict, optional
        "left" and "right" to the slope of the ground [m/m].
    n_lines : int
        Lines on each bank [-].

    Returns
    -------
    tuple of SoilLine
        Left bank first, from the creek up.
    """
    steps = np.hypot(*np.diff(creek, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    length = float(along[-1])
    wanted = min(max(length, 3.0 * HOLE_GAP_M), WIDEST_M)
    start = max(0.5 * (length - wanted), 0.0)
    at = start + np.arange(round(wanted / HOLE_GAP_M) + 1) * HOLE_GAP_M
    at = at[at <= max(length, HOLE_GAP_M)]
    places = np.stack([np.interp(at, along, creek[:, k]) for k in (0, 1)])
    way = creek[-1] - creek[0]
    way = way / max(float(np.hypot(*way)), 1e-9)
    lines = []
    for bank, turn in (("left", (-way[1], way[0])), ("right", (way[1], -way[0]))):
        up = np.asarray(turn if uphill is None else uphill.get(bank, np.asarray(turn)))
        fall = float("nan") if slope is None else slope.get(bank, float("nan"))
        gap = LINE_GAPS_M[1] if fall > STEEP else LINE_GAPS_M[0]
        for number in range(1, n_lines + 1):
            moved = places + up[:, None] * gap * number
            lines.append(SoilLine(bank, number, moved[0], moved[1], gap * number, fall))
    return tuple(lines)


def find_band(
    along_m: npt.ArrayLike, colors: npt.ArrayLike, exposure_m3: npt.ArrayLike
) -> SoilBand:
    """Return the band of gold that crosses a line of soil holes.

    Parameters
    ----------
    along_m : array_like, shape (n_holes,)
        Place of each hole along the line [m].
    colors : array_like, shape (n_holes,)
        Counted [-].
    exposure_m3 : array_like, shape (n_holes,)
        Bank volume times recovery [m3].

    Returns
    -------
    SoilBand
        Posterior over middle, width and richness, each on a grid; a band is there
        or not with equal chances beforehand.

    Notes
    -----
    Poisson counts about A exp(-(x - m)^2 / 2w^2) + a stray color in fifty holes; m even
    over the line and half its length beyond, w even in its logarithm between a hole's
    distance over two and the line, A likewise over four factors of ten.
    """
    x = np.asarray(along_m, np.float64)
    n = np.asarray(colors, np.float64)
    exposure = np.asarray(exposure_m3, np.float64)
    if len(x) < 2 or not (exposure > 0.0).all():
        msg = f"{len(x)} holes are no line; give two or more, each with a volume."
        raise ValueError(msg)
    length = max(float(np.ptp(x)), 1.0)
    gap = length / (len(x) - 1)
    middles = np.linspace(x.min() - 0.5 * length, x.max() + 0.5 * length, _MIDDLES)
    widths = np.geomspace(0.5 * gap, length, _WIDTHS)
    riches = np.geomspace(10.0, 1e5, _RICHES)
    shape = np.exp(-0.5 * ((x - middles[:, None, None]) / widths[None, :, None]) ** 2)
    mean = shape[:, :, None, :] * riches[None, None, :, None] * exposure + 0.02
    logs = (n * np.log(mean) - mean).sum(axis=3)
    none = float((n * np.log(0.02) - 0.02).sum())
    best = float(logs.max())
    weight = np.exp(logs - best)
    band = best + float(np.log(weight.mean()))
    weight /= weight.sum()
    return SoilBand(
        there_chance=float(1.0 / (1.0 + np.exp(np.clip(none - band, -50.0, 50.0)))),
        middle_m=_spread(middles, weight.sum(axis=(1, 2))),
        half_width_m=_spread(widths, weight.sum(axis=(0, 2))),
    )


def _spread(values: FloatArray, weight: FloatArray) -> Spread:
    below = np.cumsum(weight) - 0.5 * weight
    p10, p50, p90 = np.interp((0.1, 0.5, 0.9), below, values)
    return Spread(float(p10), float(p50), float(p90), float(values @ weight))


def apex_m(line_m: npt.ArrayLike, half_width_m: npt.ArrayLike) -> float:
    """Return how far up the slope a narrowing band comes to its point.

    Parameters
    ----------
    line_m : array_like, shape (n_lines,)
        How far up each line lies [m].
    half_width_m : array_like, shape (n_lines,)
        Of the band there [m].

    Returns
    -------
    float
        Where a straight line through the widths comes to nothing [m]; nan where the
        band does not narrow uphill, or fewer than two lines tell.

    Examples
    --------
    >>> apex_m([10.0, 20.0], [6.0, 4.0])
    40.0
    """
    up = np.asarray(line_m, np.float64)
    width = np.asarray(half_width_m, np.float64)
    if len(up) < 2 or np.ptp(up) == 0.0:
        return float("nan")
    slope, level = np.polyfit(up, width, 1)
    return float(round(-level / slope, 6)) if slope < 0.0 else float("nan")
