"""How fast water runs over coarse, steep beds: resistance laws and their ranges.

Depths are mean depths (hydraulic radius of wide channels) in meters, slopes the fall
of the water surface, stones the sizes that 84 % (or half) of the bed is finer than.
The laws differ by a factor of two among themselves in shallow water over stones.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.settling import GRAVITY_M_S2

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
SpeedLaw = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
RangeLaw = Callable[[FloatArray, FloatArray, FloatArray], BoolArray]

#: Half of the bed is finer than this share of what 84 % is finer than [-]; ours, for
#: gravel creeks. docs/sources.md "resistance".
MEDIAN_OVER_D84 = 0.5


def manning_speed(
    depth_m: npt.ArrayLike, slope: npt.ArrayLike, manning_n: npt.ArrayLike
) -> FloatArray:
    """Return the speed of even flow by Manning.

    Parameters
    ----------
    depth_m : array_like
        Hydraulic radius; mean depth of a wide channel [m].
    slope : array_like
        Fall [-].
    manning_n : array_like
        Roughness [s/m^(1/3)].

    Returns
    -------
    ndarray
        R^(2/3) S^(1/2) / n [m/s].

    Examples
    --------
    >>> round(float(manning_speed(1.0, 0.01, 0.04)), 2)
    2.5
    """
    deep = np.cbrt(np.asarray(depth_m, np.float64)) ** 2
    fall = np.sqrt(np.asarray(slope, np.float64))
    return np.asarray(deep * fall / np.asarray(manning_n, np.float64), np.float64)


def strickler_n(median_m: npt.ArrayLike) -> FloatArray:
    """Return Manning's roughness of a plane gravel bed.

    Parameters
    ----------
    median_m : array_like
        Size that half of the bed is finer than [m].

    Returns
    -------
    ndarray
        0.0475 D50^(1/6) [s/m^(1/3)].

    References
    ----------
    Strickler (1923), as 1 / 21.1; docs/sources.md "resistance".

    Examples
    --------
    >>> round(float(strickler_n(0.1)), 4)
    0.0324
    """
    return np.asarray(0.0475 * np.asarray(median_m, np.float64) ** (1.0 / 6.0))


def limerinos_n(depth_m: npt.ArrayLike, stones_m: npt.ArrayLike) -> FloatArray:
    """Return Manning's roughness of coarse beds under water of some depth.

    Parameters
    ----------
    depth_m : array_like
        Hydraulic radius, 0.9 to 69 times the stones [m].
    stones_m : array_like
        Size that 84 % of the bed is finer than [m].

    Returns
    -------
    ndarray
        Roughness [s/m^(1/3)]; nan where the formula has no meaning (depth below 0.27
        of the stones).

    Notes
    -----
    n = (R^(1/6) / sqrt(8 g)) / (1.16 + 2 log10(R / d84)).

    References
    ----------
    Limerinos (1970), U.S. Geological Survey Water-Supply Paper 1898-B;
    docs/sources.md "resistance".

    Examples
    --------
    >>> round(float(limerinos_n(1.0, 0.2)), 4)
    0.0441
    """
    depth = np.asarray(depth_m, np.float64)
    relative = 1.16 + 2.0 * np.log10(depth / np.asarray(stones_m, np.float64))
    relative = np.where(relative > 0.0, relative, np.nan)
    return np.asarray(
        depth ** (1.0 / 6.0) / np.sqrt(8.0 * GRAVITY_M_S2) / relative, np.float64
    )


def jarrett_n(depth_m: npt.ArrayLike, slope: npt.ArrayLike) -> FloatArray:
    """Return Manning's roughness of steep mountain streams.

    Parameters
    ----------
    depth_m : array_like
        Hydraulic radius, 0.15 to 2.1 [m].
    slope : array_like
        Fall, 0.002 to 0.052 [-].

    Returns
    -------
    ndarray
        0.32 S^0.38 R^-0.16 [s/m^(1/3)].

    References
    ----------
    Jarrett (1984), Journal of Hydraulic Engineering 110: 1519-1539; docs/sources.md
    "resistance".

    Examples
    --------
    >>> round(float(jarrett_n(1.0, 0.02)), 4)
    0.0724
    """
    depth, fall = np.asarray(depth_m, np.float64), np.asarray(slope, np.float64)
    return np.asarray(0.32 * fall**0.38 * depth**-0.16, np.float64)


def ferguson_factor(relative_depth: npt.ArrayLike) -> FloatArray:
    """Return the speed of the flow over its shear velocity.

    Parameters
    ----------
    relative_depth : array_like
        Depth over the size that 84 % of the bed is finer than [-].

    Returns
    -------
    ndarray
        U / u* [-].

    Notes
    -----
    a1 a2 x / sqrt(a1^2 + a2^2 x^(5/3)) with a1 6.5 and a2 2.5: holds from shallow
    flow among boulders to deep flow.

    References
    ----------
    Ferguson (2007), Water Resources Research 43, W05427; docs/sources.md
    "resistance".

    Examples
    --------
    >>> ferguson_factor([0.5, 1.0, 20.0]).round(3).tolist()
    [1.222, 2.333, 10.472]
    """
    x = np.asarray(relative_depth, np.float64)
    deep = np.sqrt(6.5**2 + 2.5**2 * np.cbrt(x) ** 5)
    return np.asarray(6.5 * 2.5 * x / deep, np.float64)


def ferguson_speed(
    depth_m: npt.ArrayLike, slope: npt.ArrayLike, stones_m: npt.ArrayLike
) -> FloatArray:
    """Return the speed of even flow over coarse stones.

    Parameters
    ----------
    depth_m : array_like
        Hydraulic radius [m].
    slope : array_like
        Fall [-].
    stones_m : array_like
        Size that 84 % of the bed is finer than [m].

    Returns
    -------
    ndarray
        sqrt(g R S) times `ferguson_factor` [m/s].

    References
    ----------
    Ferguson (2007); docs/sources.md "resistance".

    Examples
    --------
    >>> round(float(ferguson_speed(1.0, 0.02, 0.2)), 2)
    3.11
    """
    depth = np.asarray(depth_m, np.float64)
    drag = np.sqrt(GRAVITY_M_S2 * depth * np.asarray(slope, np.float64))
    relative = depth / np.asarray(stones_m, np.float64)
    return np.asarray(drag * ferguson_factor(relative), np.float64)


@dataclass(frozen=True, slots=True)
class Law:
    """A resistance law: speed from depth, slope and stones, and where it was tried.

    Attributes
    ----------
    name, source : str
        As told to the user.
    speed : callable
        Depth [m], slope [-], stones [m] to speed [m/s].
    tried : callable
        The same three to whether the law was tried there.
    """

    name: str
    source: str
    speed: SpeedLaw
    tried: RangeLaw


def _by_jarrett(
    depth_m: FloatArray, slope: FloatArray, _stones_m: FloatArray
) -> FloatArray:
    return manning_speed(depth_m, slope, jarrett_n(depth_m, slope))


def _jarrett_tried(
    depth_m: FloatArray, slope: FloatArray, _stones_m: FloatArray
) -> BoolArray:
    steep = (slope >= 0.002) & (slope <= 0.052)
    return np.asarray(steep & (depth_m >= 0.15) & (depth_m <= 2.1))


def _by_strickler(
    depth_m: FloatArray, slope: FloatArray, stones_m: FloatArray
) -> FloatArray:
    return manning_speed(depth_m, slope, strickler_n(MEDIAN_OVER_D84 * stones_m))


def _strickler_tried(
    depth_m: FloatArray, slope: FloatArray, stones_m: FloatArray
) -> BoolArray:
    return np.asarray((depth_m >= 4.0 * stones_m) & (slope <= 0.02))


def _ferguson_tried(
    depth_m: FloatArray, slope: FloatArray, stones_m: FloatArray
) -> BoolArray:
    relative = depth_m / stones_m
    return np.asarray((relative >= 0.1) & (relative <= 30.0) & (slope <= 0.2))


#: The laws that answers mix. Where only stones are known the first holds most widely.
#: Ranges of Ferguson and of Strickler are ours; docs/sources.md "resistance".
LAWS = (
    Law(
        "stones, shallow to deep",
        "Ferguson (2007)",
        ferguson_speed,
        _ferguson_tried,
    ),
    Law("steep mountain streams", "Jarrett (1984)", _by_jarrett, _jarrett_tried),
    Law("plane gravel bed", "Strickler (1923)", _by_strickler, _strickler_tried),
)


def depth_of_speed_m(
    law: Law, speed_m_s: npt.ArrayLike, *, slope: float, stones_m: float
) -> FloatArray:
    """Return the depth at which even flow runs at a speed.

    Parameters
    ----------
    law : Law
        Of `LAWS`.
    speed_m_s : array_like
        Speeds [m/s].
    slope : float
        Fall, above 0 [-].
    stones_m : float
        Size that 84 % of the bed is finer than, above 0 [m].

    Returns
    -------
    ndarray
        Hydraulic radius [m], between a millimeter and 100 m; nan for an unknown speed.

    Raises
    ------
    ValueError
        Slope or stones are not above 0.

    Notes
    -----
    All laws grow with the depth; read backward from a log grid of 4,000.

    Examples
    --------
    >>> round(float(depth_of_speed_m(LAWS[0], 3.11, slope=0.02, stones_m=0.2)), 2)
    1.0
    """
    check_fall(slope, stones_m)
    depths = np.geomspace(1e-3, 100.0, 4000)
    speeds = law.speed(depths, np.asarray(slope), np.asarray(stones_m))
    wanted = np.asarray(speed_m_s, np.float64)
    return np.asarray(np.exp(np.interp(wanted, speeds, np.log(depths))), np.float64)


def check_fall(slope: float, stones_m: float) -> None:
    """Raise where a slope or a size of stones cannot be.

    Parameters
    ----------
    slope : float
        Fall [-].
    stones_m : float
        Size of stones [m].

    Returns
    -------
    None

    Raises
    ------
    ValueError
        Slope outside 0 to 1, or stones not above 0.
    """
    if not 0.0 < slope < 1.0 or not stones_m > 0.0:
        msg = (
            f"slope is {slope} and stones are {stones_m} m; the slope lies between 0 "
            "and 1 and stones above 0."
        )
        raise ValueError(msg)
