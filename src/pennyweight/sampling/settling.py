"""How fast grains sink: why gold stays in the pan and mica does not.

Sizes in meters, speeds in m/s, viscosity of the water in m2/s: cold creek water is
half as viscous again as the 20 C of the tables, and fine gold sinks slower in it.
R is the submerged density over that of water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

FloatArray = npt.NDArray[np.float64]

GRAVITY_M_S2 = 9.81
WATER_KG_M3 = 1000.0

#: Kinematic viscosity of water by temperature [C -> m2/s]; standard tables, from
#: memory, 1 %. docs/sources.md "viscosity".
VISCOSITY_M2_S = {
    0.0: 1.79e-6,
    5.0: 1.52e-6,
    10.0: 1.31e-6,
    15.0: 1.14e-6,
    20.0: 1.004e-6,
}


@dataclass(frozen=True, slots=True)
class Mineral:
    """What a grain in the pan may be.

    Attributes
    ----------
    name : str
        As the user says it.
    density_g_cm3 : float
        Of the mineral [g/cm3].
    shape_factor : float
        Corey's: shortest over the root of the product of the others [-].
    roundness : float
        Powers' scale, 0 to 6 [-].
    magnetic : bool
        Whether a hand magnet lifts it.
    malleable : bool
        Whether it flattens under a knife instead of breaking.
    streak : str
        Color of its mark on unglazed tile.
    stays : bool
        Whether it stays in a pan that is washed down to the black sand.
    """

    name: str
    density_g_cm3: float
    shape_factor: float
    roundness: float
    magnetic: bool
    malleable: bool
    streak: str
    stays: bool


#: What is mixed up in the pan. Densities and streaks of the mineral tables; shapes are
#: ours. docs/sources.md "pan minerals".
MINERALS = (
    Mineral("gold flake", 17.6, 0.2, 3.5, False, True, "golden yellow", True),
    Mineral("gold nugget", 17.6, 0.7, 3.5, False, True, "golden yellow", True),
    Mineral("pyrite", 5.0, 0.7, 2.0, False, False, "greenish black", True),
    Mineral("magnetite", 5.2, 0.7, 3.5, True, False, "black", True),
    Mineral("mica flake", 2.8, 0.2, 2.0, False, False, "white", False),
    Mineral("quartz", 2.65, 0.7, 3.5, False, False, "white", False),
)


def viscosity_m2_s(water_c: float) -> float:
    """Return the kinematic viscosity of water.

    Parameters
    ----------
    water_c : float
        Temperature, 0 to 20 [C].

    Returns
    -------
    float
        Viscosity [m2/s].

    Raises
    ------
    ValueError
        The temperature lies outside the table.

    References
    ----------
    docs/sources.md "viscosity".

    Examples
    --------
    >>> viscosity_m2_s(10.0)
    1.31e-06
    """
    known = list(VISCOSITY_M2_S)
    if not known[0] <= water_c <= known[-1]:
        msg = f"water is {water_c} C; the table runs from {known[0]} to {known[-1]} C."
        raise ValueError(msg)
    return float(np.interp(water_c, known, list(VISCOSITY_M2_S.values())))


def submerged_ratio(density_g_cm3: float) -> float:
    """Return R, the submerged density of a grain over that of water.

    Parameters
    ----------
    density_g_cm3 : float
        Of the grain [g/cm3].

    Returns
    -------
    float
        density - 1 [-].

    Examples
    --------
    >>> round(submerged_ratio(19.3), 6)
    18.3
    """
    return density_g_cm3 * 1000.0 / WATER_KG_M3 - 1.0


def stokes_speed(
    diameter_m: npt.ArrayLike, ratio: float, viscosity: float
) -> FloatArray:
    """Return the speed of very small spheres.

    Holds while speed x diameter / viscosity is below about 0.5: quartz below 0.08
    mm, gold below 0.035 mm.

    Parameters
    ----------
    diameter_m : array_like
        Diameters [m].
    ratio : float
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].

    Returns
    -------
    ndarray
        Speeds [m/s].

    References
    ----------
    Stokes (1851); docs/sources.md "settling".

    Examples
    --------
    >>> float(stokes_speed(50e-6, 1.65, 1e-6).round(6))
    0.002248
    """
    d = np.asarray(diameter_m, np.float64)
    return ratio * GRAVITY_M_S2 * d**2 / (18.0 * viscosity)


def ferguson_church_speed(
    diameter_m: npt.ArrayLike,
    ratio: float,
    viscosity: float,
    *,
    c1: float = 18.0,
    c2: float = 1.0,
) -> FloatArray:
    """Return the speed of grains of any size that are about as thick as wide.

    For flakes it is too fast by a factor of two and more; use `dietrich_speed`.

    Parameters
    ----------
    diameter_m : array_like
        Sieve diameters [m].
    ratio : float
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].
    c1, c2 : float
        18 and 1.0 for natural sand by sieve; 18 and 0.4 for smooth spheres; 20 and
        1.1 by nominal diameter; 24 and 1.2 for very angular grains [-].

    Returns
    -------
    ndarray
        Speeds [m/s].

    Notes
    -----
    w = R g D^2 / (C1 nu + sqrt(0.75 C2 R g D^3)).

    References
    ----------
    Ferguson and Church (2004), Journal of Sedimentary Research 74: 933-937, eq. 4;
    docs/sources.md "settling".

    Examples
    --------
    >>> float(ferguson_church_speed(0.5e-3, 18.3, 1e-6).round(4))
    0.3038
    """
    d = np.asarray(diameter_m, np.float64)
    pull = ratio * GRAVITY_M_S2
    return np.asarray(
        pull * d**2 / (c1 * viscosity + np.sqrt(0.75 * c2 * pull * d**3)), np.float64
    )


def dietrich_speed(
    nominal_m: npt.ArrayLike,
    ratio: float,
    viscosity: float,
    *,
    shape_factor: float = 0.7,
    roundness: float = 3.5,
) -> FloatArray:
    """Return the speed of natural grains, flakes included.

    Parameters
    ----------
    nominal_m : array_like
        Nominal diameters, the cube root of the product of the three axes [m]; of a
        flake it is smaller than its sieve size.
    ratio : float
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].
    shape_factor : float
        Corey's, above 0.15 and up to 1 [-]; data reach down to 0.2.
    roundness : float
        Powers' scale, 0 to 6 [-].

    Returns
    -------
    ndarray
        Speeds [m/s].

    Raises
    ------
    ValueError
        Shape or size lies outside the formula's range.

    Notes
    -----
    D* = R g Dn^3 / nu^2, L = log10 D*; W* = R3 10^(R1 + R2) with R1 for size, R2 for
    shape, R3 for roundness; w = (W* R g nu)^(1/3). Below D* = 0.05, W* = D*^2 / 5832.

    References
    ----------
    Dietrich (1982), Water Resources Research 18: 1615-1626; docs/sources.md
    "settling".

    Examples
    --------
    At the same nominal diameter a flake sinks at less than half the speed of a ball:

    >>> ball = dietrich_speed(0.5e-3, 18.3, 1e-6, shape_factor=1.0, roundness=6.0)
    >>> flake = dietrich_speed(0.5e-3, 18.3, 1e-6, shape_factor=0.2)
    >>> float(ball.round(4)), float(flake.round(4))
    (0.3834, 0.1442)
    """
    if not 0.15 < shape_factor <= 1.0 or not 0.0 <= roundness <= 6.0:
        msg = (
            f"shape factor is {shape_factor} and roundness {roundness}; the formula "
            "holds above 0.15 and up to 1, and from 0 to 6."
        )
        raise ValueError(msg)
    d = np.asarray(nominal_m, np.float64)
    size = ratio * GRAVITY_M_S2 * d**3 / viscosity**2
    if np.any(size > 5e9) or np.any(size <= 0.0):
        msg = f"sizes reach {d.max()} m; above 0 and up to D* = 5e9 the formula holds."
        raise ValueError(msg)
    flat = 1.0 - shape_factor
    log_size = np.log10(np.maximum(size, 0.05))
    bend = np.tanh(log_size - 4.6)
    by_size = np.polynomial.Polynomial(
        (-3.76715, 1.92944, -0.09815, -0.00575, 0.00056)
    )(log_size)
    by_shape = (
        np.log10(1.0 - flat / 0.85)
        - flat**2.3 * bend
        + 0.3 * (0.5 - shape_factor) * flat**2 * (log_size - 4.6)
    )
    by_roundness = (0.65 - shape_factor / 2.83 * bend) ** (
        1.0 + (3.5 - roundness) / 2.5
    )
    speed = by_roundness * 10.0 ** (by_size + by_shape)
    speed = np.where(size < 0.05, size**2 / 5832.0, speed)
    return np.asarray(np.cbrt(speed * ratio * GRAVITY_M_S2 * viscosity), np.float64)


def disc_speed(
    diameter_m: float,
    thickness_m: float,
    *,
    submerged_kg_m3: float,
    dynamic_viscosity: float,
    edgewise: bool = False,
) -> float:
    """Return the speed of a very thin disc in creeping flow, such as mica.

    Parameters
    ----------
    diameter_m, thickness_m : float
        Of the disc [m].
    submerged_kg_m3 : float
        Its density less that of water [kg/m3].
    dynamic_viscosity : float
        Of the water, about 0.001 at 20 C [Pa s].
    edgewise : bool
        Sinking on edge instead of flat.

    Returns
    -------
    float
        Speed [m/s]; holds while speed x diameter / viscosity is below about 0.5.

    Notes
    -----
    Flat: pi d t (difference of densities) g / (32 mu); on edge 1.5 times that.

    References
    ----------
    Lamb (1932), Hydrodynamics, art. 339, from memory; docs/sources.md "settling".

    Examples
    --------
    >>> w = disc_speed(1e-4, 5e-6, submerged_kg_m3=1800.0, dynamic_viscosity=1e-3)
    >>> round(w, 6)
    0.000867
    """
    weight = math.pi * diameter_m * thickness_m * submerged_kg_m3 * GRAVITY_M_S2
    flat = weight / (32.0 * dynamic_viscosity)
    return 1.5 * flat if edgewise else flat


def rubey_speed(
    diameter_m: npt.ArrayLike, ratio: float, viscosity: float
) -> FloatArray:
    """Return Rubey's speed, for comparison with older tables.

    Parameters
    ----------
    diameter_m : array_like
        Diameters [m].
    ratio : float
        R, submerged density over water's [-].
    viscosity : float
        Kinematic, of the water [m2/s].

    Returns
    -------
    ndarray
        Speeds [m/s].

    References
    ----------
    Rubey (1933), American Journal of Science 25: 325-338, from memory;
    docs/sources.md "settling".

    Examples
    --------
    >>> float(rubey_speed(0.5e-3, 1.65, 1e-6).round(5))
    0.06243
    """
    d = np.asarray(diameter_m, np.float64)
    k = 36.0 * viscosity**2 / (GRAVITY_M_S2 * d**3 * ratio)
    factor = np.sqrt(2.0 / 3.0 + k) - np.sqrt(k)
    return np.asarray(factor * np.sqrt(ratio * GRAVITY_M_S2 * d), np.float64)


def equal_settling_m(
    diameter_m: float, ratio: float, other_ratio: float, *, viscosity: float
) -> float:
    """Return the diameter of another mineral that sinks as fast.

    Parameters
    ----------
    diameter_m : float
        Of the first grain [m].
    ratio, other_ratio : float
        R of the first and of the other mineral [-].
    viscosity : float
        Kinematic, of the water [m2/s].

    Returns
    -------
    float
        Diameter of the other [m]; both as thick as wide.

    Notes
    -----
    From sqrt(R1 / R2) times the diameter when tiny to R1 / R2 times when coarse.

    References
    ----------
    Ferguson and Church (2004); docs/sources.md "settling".

    Examples
    --------
    Gold of 0.25 mm sinks like quartz of 1.66 mm:

    >>> round(equal_settling_m(0.25e-3, 18.3, 1.65, viscosity=1e-6) * 1000.0, 2)
    1.66
    """
    speed = float(ferguson_church_speed(diameter_m, ratio, viscosity))

    def too_fast(log_d: float) -> float:
        other = ferguson_church_speed(math.exp(log_d), other_ratio, viscosity)
        return float(other) - speed

    shift = abs(math.log(ratio / other_ratio)) + 1.0
    middle = math.log(diameter_m)
    root = brentq(too_fast, middle - shift, middle + shift, xtol=1e-12)
    return math.exp(float(root))


def settling_table(sieve_m: float, water_c: float) -> dict[str, float]:
    """Return how fast the minerals of a pan sink at one sieve size.

    Parameters
    ----------
    sieve_m : float
        Middle axis of the grains [m].
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    dict
        Mineral to speed [m/s].

    Notes
    -----
    With middle axis b and about a = b, Corey's factor is c / b, and the nominal
    diameter is b x factor^(1/3).

    References
    ----------
    Dietrich (1982); docs/sources.md "settling".
    """
    viscosity = viscosity_m2_s(water_c)
    return {
        one.name: float(
            dietrich_speed(
                sieve_m * one.shape_factor ** (1.0 / 3.0),
                submerged_ratio(one.density_g_cm3),
                viscosity,
                shape_factor=one.shape_factor,
                roundness=one.roundness,
            )
        )
        for one in MINERALS
    }


def minerals_that_fit(
    *,
    density_g_cm3: float | None = None,
    magnetic: bool | None = None,
    malleable: bool | None = None,
    stays: bool | None = None,
    streak: str | None = None,
) -> tuple[Mineral, ...]:
    """Return what a grain may be by what was tried on it; a guide, no assay.

    Parameters
    ----------
    density_g_cm3 : float, optional
        Measured; within 20 % counts as fitting [g/cm3].
    magnetic : bool, optional
        Whether a magnet lifts it.
    malleable : bool, optional
        Whether it flattens instead of breaking.
    stays : bool, optional
        Whether it stays in the pan with the black sand.
    streak : str, optional
        Color of its mark: "yellow", "black", "white".

    Returns
    -------
    tuple of Mineral
        Those that fit everything tried; what was not tried rules out nothing.

    Examples
    --------
    >>> [one.name for one in minerals_that_fit(magnetic=True)]
    ['magnetite']
    """
    return tuple(
        one
        for one in MINERALS
        if (
            density_g_cm3 is None
            or abs(one.density_g_cm3 / density_g_cm3 - 1.0) <= 0.20
        )
        and (magnetic is None or one.magnetic == magnetic)
        and (malleable is None or one.malleable == malleable)
        and (stays is None or one.stays == stays)
        and (streak is None or streak.lower() in one.streak)
    )
