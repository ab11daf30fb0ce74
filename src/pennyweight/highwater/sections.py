"""Water in a surveyed cross section: area, mean depth, and discharge by level.

For ground without an elevation model: the fall comes from the centerline, the shape
from a tape and a level across the valley. Even flow is assumed, which fails where the
valley narrows, at falls and above a jam.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.highwater.resistance import LAWS, Law, check_fall

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Section:
    """The ground across the valley.

    Attributes
    ----------
    station_m : ndarray, shape (n_points,)
        Distance across, rising [m].
    level_m : ndarray, shape (n_points,)
        Height of the ground there [m].
    """

    station_m: FloatArray
    level_m: FloatArray

    def __post_init__(self) -> None:
        """Raise where the points make no section."""
        station, level = self.station_m, self.level_m
        if station.shape != level.shape or station.size < 2:
            msg = (
                f"{station.size} stations and {level.size} levels; a section needs two "
                "points or more, each with both."
            )
            raise ValueError(msg)
        if not np.all(np.isfinite(level)) or not np.all(np.diff(station) > 0.0):
            msg = (
                f"stations are {station} m and levels {level} m; stations rise from "
                "bank to bank and every level is known."
            )
            raise ValueError(msg)


def box_section(width_m: float, *, wall_m: float = 1000.0) -> Section:
    """Return a flat bed of a width between steep walls.

    Parameters
    ----------
    width_m : float
        Width of the bed, above 0 [m].
    wall_m : float
        Height of the walls [m].

    Returns
    -------
    Section
        Bed at 0 m; each wall leans out by a thousandth of the width.

    Raises
    ------
    ValueError
        The width is not above 0.
    """
    if not width_m > 0.0:
        msg = f"width is {width_m} m; a channel is wider than 0."
        raise ValueError(msg)
    lean = 1e-3 * width_m
    return Section(
        np.array([-lean, 0.0, width_m, width_m + lean]),
        np.array([wall_m, 0.0, 0.0, wall_m]),
    )


def water_at(
    section: Section, level_m: npt.ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return area, top width and hydraulic radius of the water up to levels.

    Parameters
    ----------
    section : Section
        The ground.
    level_m : array_like, shape (n_levels,)
        Levels of the water [m].

    Returns
    -------
    area_m2, width_m, radius_m : ndarray, shape (n_levels,)
        Area [m2], width at the top [m], and area over wetted bed [m]; 0 where dry.
        Water beyond the ends of the section is not counted.

    Examples
    --------
    >>> notch = Section(np.array([0.0, 5.0, 10.0]), np.array([5.0, 0.0, 5.0]))
    >>> [float(x.round(3)[0]) for x in water_at(notch, [2.0])]
    [4.0, 4.0, 0.707]
    """
    level = np.atleast_1d(np.asarray(level_m, np.float64))[:, np.newaxis]
    left, right = level - section.level_m[:-1], level - section.level_m[1:]
    run = np.diff(section.station_m)
    deep, shallow = np.maximum(left, right), np.minimum(left, right)
    rise = deep - shallow
    # Of a piece with only one end under water, the part up to the water's edge is wet.
    part = np.where(
        shallow >= 0.0, 1.0, np.maximum(deep, 0.0) / np.where(rise > 0.0, rise, 1.0)
    )
    wet = np.where(deep > 0.0, part, 0.0)
    mean = 0.5 * (np.maximum(deep, 0.0) + np.maximum(shallow, 0.0))
    area = (wet * run * mean).sum(axis=1)
    bed = (wet * np.hypot(run, rise)).sum(axis=1)
    radius = np.divide(area, bed, out=np.zeros_like(area), where=bed > 0.0)
    return area, (wet * run).sum(axis=1), radius


def discharge_at(
    section: Section,
    level_m: npt.ArrayLike,
    law: Law = LAWS[0],
    *,
    slope: float,
    stones_m: float,
) -> FloatArray:
    """Return the discharge of even flow at levels of the water.

    Parameters
    ----------
    section : Section
        The ground.
    level_m : array_like, shape (n_levels,)
        Levels of the water [m].
    law : Law
        Resistance; Ferguson's where not said.
    slope : float
        Fall of the valley [-].
    stones_m : float
        Size that 84 % of the bed is finer than [m].

    Returns
    -------
    ndarray, shape (n_levels,)
        Discharge [m3/s]; 0 where dry.

    Raises
    ------
    ValueError
        Slope or stones are out of range.
    """
    check_fall(slope, stones_m)
    area, _, radius = water_at(section, level_m)
    depth = np.where(radius > 0.0, radius, 1.0)
    speed = law.speed(depth, np.asarray(slope), np.asarray(stones_m))
    return np.asarray(np.where(radius > 0.0, area * speed, 0.0), np.float64)


def level_of(
    section: Section,
    discharge_m3_s: npt.ArrayLike,
    law: Law = LAWS[0],
    *,
    slope: float,
    stones_m: float,
) -> FloatArray:
    """Return the level at which even flow carries a discharge.

    Parameters
    ----------
    section : Section
        The ground.
    discharge_m3_s : array_like, shape (n_floods,)
        Discharges, 0 or more [m3/s].
    law : Law
        Resistance; Ferguson's where not said.
    slope : float
        Fall of the valley [-].
    stones_m : float
        Size that 84 % of the bed is finer than [m].

    Returns
    -------
    ndarray, shape (n_floods,)
        Levels [m]; nan where the water would rise over the lower end of the section.

    Raises
    ------
    ValueError
        A discharge is below 0, or slope or stones are out of range.

    Notes
    -----
    Read backward from 2,000 levels, closer together near the bed.
    """
    wanted = np.atleast_1d(np.asarray(discharge_m3_s, np.float64))
    if np.any(wanted < 0.0):
        msg = f"discharge is {wanted.min()} m3/s; it is 0 or more."
        raise ValueError(msg)
    bed_m = float(section.level_m.min())
    full_m = float(min(section.level_m[0], section.level_m[-1]))
    levels = bed_m + (full_m - bed_m) * np.linspace(0.0, 1.0, 2000) ** 3
    carried = discharge_at(section, levels, law, slope=slope, stones_m=stones_m)
    # Where a wide bank is first covered the mean depth, and with it the reckoned
    # discharge, falls for a while; the water does not.
    carried = np.maximum.accumulate(carried)
    found = np.interp(wanted, carried, levels)
    return np.asarray(np.where(wanted > carried[-1], np.nan, found), np.float64)
