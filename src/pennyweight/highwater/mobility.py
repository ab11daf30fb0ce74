"""What flow it takes to move a grain: critical shear, hiding, transport by size.

Sizes in meters (middle axis), shear in pascal, R the submerged density over that of
water. A Shields number is shear over the submerged weight of a grain per area. The
published critical numbers spread from 0.03 to 0.086 for one and the same gravel, so
that every threshold here is good to a factor of about two.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.settling import GRAVITY_M_S2, WATER_KG_M3

FloatArray = npt.NDArray[np.float64]

#: R of quartz and of most gravel [-]; docs/sources.md "Shields number".
GRAVEL_RATIO = 1.65
#: Critical Shields number of gravel: low, usual, high [-]; Buffington and Montgomery
#: (1997), from memory. docs/sources.md "Shields number".
GRAVEL_SHIELDS = (0.030, 0.045, 0.073)
#: Sizes over the median between which Andrews' relation was fitted [-].
ANDREWS_RANGE = (0.3, 4.2)


def shields_shear_pa(
    shields: npt.ArrayLike, diameter_m: npt.ArrayLike, ratio: npt.ArrayLike
) -> FloatArray:
    """Return the shear at which grains stand at a Shields number.

    Parameters
    ----------
    shields : array_like
        Shields number [-].
    diameter_m : array_like
        Middle axes [m].
    ratio : array_like
        R, submerged density over water's [-].

    Returns
    -------
    ndarray
        shields x R x density of water x g x diameter [Pa]; broadcast.

    References
    ----------
    Shields (1936); docs/sources.md "Shields number".

    Examples
    --------
    A stone of 0.1 m at 0.045:

    >>> round(float(shields_shear_pa(0.045, 0.1, 1.65)), 2)
    72.84
    """
    per_size = WATER_KG_M3 * GRAVITY_M_S2 * np.asarray(ratio, np.float64)
    return np.asarray(
        per_size * np.asarray(shields, np.float64) * np.asarray(diameter_m, np.float64),
        np.float64,
    )


def soulsby_shields(
    diameter_m: npt.ArrayLike, ratio: npt.ArrayLike, viscosity: float
) -> FloatArray:
    """Return the critical Shields number of grains on a bed of their own size.

    Parameters
    ----------
    diameter_m : array_like
        Grain sizes [m].
    ratio : array_like
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].

    Returns
    -------
    ndarray
        Critical numbers [-].

    Notes
    -----
    D* = (g R / nu^2)^(1/3) d; 0.30 / (1 + 1.2 D*) + 0.055 (1 - exp(-0.020 D*)). It
    tends to 0.055 for coarse grains.

    References
    ----------
    Soulsby (1997), Dynamics of Marine Sands, eq. 77; docs/sources.md "Shields number".

    Examples
    --------
    >>> round(float(soulsby_shields(1e-3, 1.65, 1e-6)), 5)
    0.03141
    """
    d = np.asarray(diameter_m, np.float64)
    pull = GRAVITY_M_S2 * np.asarray(ratio, np.float64)
    size = np.cbrt(pull / viscosity**2) * d
    return np.asarray(
        0.30 / (1.0 + 1.2 * size) + 0.055 * (1.0 - np.exp(-0.020 * size)), np.float64
    )


def brownlie_shields(
    diameter_m: npt.ArrayLike, ratio: npt.ArrayLike, viscosity: float
) -> FloatArray:
    """Return the critical Shields number by a second fit to Shields' curve.

    Parameters
    ----------
    diameter_m : array_like
        Grain sizes [m].
    ratio : array_like
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].

    Returns
    -------
    ndarray
        Critical numbers [-].

    Notes
    -----
    Rp = sqrt(R g) d^1.5 / nu; 0.22 Rp^-0.6 + 0.06 x 10^(-7.7 Rp^-0.6).

    References
    ----------
    Brownlie (1981), from memory; docs/sources.md "Shields number".

    Examples
    --------
    >>> round(float(brownlie_shields(0.01, 1.65, 1e-6)), 5)
    0.05463
    """
    d = np.asarray(diameter_m, np.float64)
    pull = np.sqrt(GRAVITY_M_S2 * np.asarray(ratio, np.float64))
    power = (pull * d**1.5 / viscosity) ** -0.6
    return np.asarray(0.22 * power + 0.06 * 10.0 ** (-7.7 * power), np.float64)


def steep_shields(slope: npt.ArrayLike) -> FloatArray:
    """Return the critical Shields number of a steep bed, which grows with the slope.

    Parameters
    ----------
    slope : array_like
        Fall of the bed, above 0 [-].

    Returns
    -------
    ndarray
        0.15 slope^0.25 [-].

    References
    ----------
    Lamb, Dietrich and Venditti (2008), Journal of Geophysical Research 113, F02008;
    docs/sources.md "Shields number".

    Examples
    --------
    >>> round(float(steep_shields(0.02)), 4)
    0.0564
    """
    return np.asarray(0.15 * np.asarray(slope, np.float64) ** 0.25, np.float64)


def andrews_shields(size_ratio: npt.ArrayLike) -> FloatArray:
    """Return the critical Shields number of one size in a mixed bed.

    Big stones stick out and small ones hide, so that all sizes move at nearly the
    same shear: a boulder tells of little more than a flow that moved the whole bed.

    Parameters
    ----------
    size_ratio : array_like
        Size over the median size of what lies below the surface [-].

    Returns
    -------
    ndarray
        0.0834 ratio^-0.872 [-]; beyond 0.3 to 4.2, where it was fitted, the value at
        the nearer end.

    References
    ----------
    Andrews (1983), Geological Society of America Bulletin 94: 1225-1231, from memory;
    docs/sources.md "hiding".

    Examples
    --------
    >>> round(float(andrews_shields(3.0)), 3)
    0.032
    """
    within = np.clip(np.asarray(size_ratio, np.float64), *ANDREWS_RANGE)
    return np.asarray(0.0834 * within**-0.872, np.float64)


def mean_size_m(diameter_m: npt.ArrayLike, share: npt.ArrayLike) -> float:
    """Return the geometric mean size of a bed.

    Parameters
    ----------
    diameter_m : array_like, shape (n_sizes,)
        Size of each class [m].
    share : array_like, shape (n_sizes,)
        Part of the bed that each class makes up, any common unit [-].

    Returns
    -------
    float
        Mean size [m].

    Raises
    ------
    ValueError
        A size is not above 0, a share is below 0, or all shares are 0.

    Examples
    --------
    >>> round(mean_size_m([0.01, 0.1], [1.0, 1.0]), 4)
    0.0316
    """
    d, part = np.asarray(diameter_m, np.float64), np.asarray(share, np.float64)
    if np.any(d <= 0.0) or np.any(part < 0.0) or not part.sum() > 0.0:
        msg = (
            f"sizes are {d} m and their shares {part}; sizes lie above 0 and shares "
            "are 0 or more, at least one of them above 0."
        )
        raise ValueError(msg)
    return float(np.exp(np.average(np.log(d), weights=part)))


def mixed_shields(
    diameter_m: npt.ArrayLike, *, mean_m: float, sand_share: float = 0.1
) -> FloatArray:
    """Return the Shields number at which one size of a mixed bed begins to travel.

    Parameters
    ----------
    diameter_m : array_like
        Grain sizes [m].
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].

    Returns
    -------
    ndarray
        Reference numbers [-], for the grain's own submerged density.

    Raises
    ------
    ValueError
        A size is not above 0 or the share is not within 0 to 1.

    Notes
    -----
    Mean size: 0.021 + 0.015 exp(-20 Fs). Size i: times (Di/Dm)^(b - 1), with b = 0.67
    / (1 + exp(1.5 - Di/Dm)). Fitted to sand and gravel of one density; for gold on
    gravel it is our extension, the density entering only through the weight.

    References
    ----------
    Wilcock and Crowe (2003), Journal of Hydraulic Engineering 129: 120-128;
    docs/sources.md "hiding".

    Examples
    --------
    >>> round(float(mixed_shields(0.04, mean_m=0.04)), 5)
    0.02303
    """
    d = np.asarray(diameter_m, np.float64)
    if not mean_m > 0.0 or not np.all(d > 0.0) or not 0.0 <= sand_share <= 1.0:
        msg = (
            f"mean size is {mean_m} m, sizes begin at {np.min(d)} m and sand is "
            f"{sand_share}; sizes lie above 0, the share of sand between 0 and 1."
        )
        raise ValueError(msg)
    relative = d / mean_m
    power = 0.67 / (1.0 + np.exp(1.5 - np.minimum(relative, 700.0)))
    of_mean = 0.021 + 0.015 * np.exp(-20.0 * sand_share)
    return np.asarray(of_mean * relative ** (power - 1.0), np.float64)


def moving_shear_pa(
    diameter_m: npt.ArrayLike,
    *,
    mean_m: float,
    sand_share: float = 0.1,
    ratio: npt.ArrayLike = GRAVEL_RATIO,
) -> FloatArray:
    """Return the shear at which one size of a mixed bed begins to travel.

    Parameters
    ----------
    diameter_m : array_like
        Grain sizes [m].
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].
    ratio : array_like
        R of the grains; 1.65 for gravel, 16.6 for gold of 17.6 g/cm3 [-].

    Returns
    -------
    ndarray
        Reference shear [Pa].

    References
    ----------
    Wilcock and Crowe (2003); docs/sources.md "hiding".

    Examples
    --------
    Stones of 10 and 160 mm in a bed of 40 mm differ by three, not by sixteen:

    >>> moving_shear_pa([0.01, 0.16], mean_m=0.04).round(1).tolist()
    [12.1, 35.2]
    """
    shields = mixed_shields(diameter_m, mean_m=mean_m, sand_share=sand_share)
    return shields_shear_pa(shields, diameter_m, ratio)


def transport_stage(
    shear_pa: npt.ArrayLike,
    diameter_m: npt.ArrayLike,
    *,
    mean_m: float,
    sand_share: float = 0.1,
    ratio: npt.ArrayLike = GRAVEL_RATIO,
) -> FloatArray:
    """Return the shear of the flow over the shear that moves each size.

    Parameters
    ----------
    shear_pa : array_like
        Shear on the bed [Pa]; nan where unknown. Give a map a last axis of length 1
        to get one value a size.
    diameter_m : array_like
        Grain sizes [m].
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].
    ratio : array_like
        R of the grains [-].

    Returns
    -------
    ndarray
        Stage [-], broadcast: below about 1 the size lies still, above it travels;
        nan where the shear is unknown.

    Examples
    --------
    >>> transport_stage([[10.0], [40.0]], [0.01, 0.16], mean_m=0.04).round(2).tolist()
    [[0.82, 0.28], [3.3, 1.14]]
    """
    threshold = moving_shear_pa(
        diameter_m, mean_m=mean_m, sand_share=sand_share, ratio=ratio
    )
    return np.asarray(np.asarray(shear_pa, np.float64) / threshold, np.float64)


def transport_number(stage: npt.ArrayLike) -> FloatArray:
    """Return how fast gravel of one size travels at a stage, without units.

    Parameters
    ----------
    stage : array_like
        Shear over the shear that moves the size [-]; nan where unknown.

    Returns
    -------
    ndarray
        W* [-], 0 at stage 0.

    Notes
    -----
    0.002 stage^7.5 below 1.35; 14 (1 - 0.894 / sqrt(stage))^4.5 from there on.

    References
    ----------
    Wilcock and Crowe (2003), eq. 7; docs/sources.md "hiding".

    Examples
    --------
    >>> transport_number([1.0, 2.0]).round(5).tolist()
    [0.002, 0.15546]
    """
    at = np.asarray(stage, np.float64)
    low = 0.002 * np.minimum(at, 1.35) ** 7.5
    high = 14.0 * (1.0 - 0.894 / np.sqrt(np.maximum(at, 1.35))) ** 4.5
    return np.asarray(np.where(at < 1.35, low, high + 0.0 * at), np.float64)


def bedload_m2_s(
    shear_pa: npt.ArrayLike,
    diameter_m: npt.ArrayLike,
    *,
    share: npt.ArrayLike,
    sand_share: float = 0.1,
) -> FloatArray:
    """Return how much gravel of each size the flow can carry past a meter of width.

    What it carries in and cannot carry on stays behind: where this falls off along
    the flow, gravel stops.

    Parameters
    ----------
    shear_pa : array_like, any shape
        Shear on the bed [Pa]; nan where unknown.
    diameter_m : array_like, shape (n_sizes,)
        Size of each class [m].
    share : array_like, shape (n_sizes,)
        Part of the bed that each class makes up, any common unit [-].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].

    Returns
    -------
    ndarray, the shear's shape + (n_sizes,)
        Solid volume [m2/s]: m3 a second and meter of width.

    Notes
    -----
    q_i = W*_i F_i u*^3 / (R g), u* = sqrt(shear / density of water).

    References
    ----------
    Wilcock and Crowe (2003), eq. 2; docs/sources.md "hiding".

    Examples
    --------
    Shear of 30 Pa over even gravel of 40 mm, stage 2.01, carries about 180 liters of
    stone an hour past each meter of width:

    >>> float(bedload_m2_s(30.0, [0.04], share=[1.0])[0].round(6))
    5.1e-05
    """
    part = np.asarray(share, np.float64)
    shear = np.asarray(shear_pa, np.float64)[..., np.newaxis]
    stage = transport_stage(
        shear,
        diameter_m,
        mean_m=mean_size_m(diameter_m, share),
        sand_share=sand_share,
    )
    per_width = (shear / WATER_KG_M3) ** 1.5 / (GRAVEL_RATIO * GRAVITY_M_S2)
    return np.asarray(
        transport_number(stage) * part / part.sum() * per_width, np.float64
    )


def largest_moved_m(
    shear_pa: npt.ArrayLike, *, mean_m: float, sand_share: float = 0.1
) -> FloatArray:
    """Return the largest stone of the mixed bed that the flow moves.

    Parameters
    ----------
    shear_pa : array_like, any shape
        Shear on the bed [Pa]; nan where unknown.
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].

    Returns
    -------
    ndarray
        Middle axis [m], between a thousandth and a hundred times the mean; 0 where
        nothing moves.

    Notes
    -----
    Inverts `moving_shear_pa`, which grows with the size, on a log grid of 2,000.

    Examples
    --------
    >>> round(float(largest_moved_m(35.18, mean_m=0.04)), 2)
    0.16
    """
    sizes = mean_m * np.geomspace(1e-3, 1e2, 2000)
    needed = moving_shear_pa(sizes, mean_m=mean_m, sand_share=sand_share)
    shear = np.asarray(shear_pa, np.float64)
    found = np.exp(np.interp(shear, needed, np.log(sizes)))
    return np.asarray(np.where(shear < needed[0], 0.0, found), np.float64)
