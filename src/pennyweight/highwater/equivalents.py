"""Which gold travels with which gravel: grains that sink, or start to move, alike.

Settling sorts where water slows and drops its load: behind boulders, in widenings.
Starting sorts where water runs over a bed and picks up what it can: on bars and in
riffles. In the open a grain of gold starts with sand or fine gravel; hidden among
stones much larger than itself it is held until the stones go.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.highwater.mobility import (
    GRAVEL_RATIO,
    moving_shear_pa,
    shields_shear_pa,
    soulsby_shields,
)
from pennyweight.sampling.settling import (
    WATER_KG_M3,
    dietrich_speed,
    ferguson_church_speed,
    submerged_ratio,
    viscosity_m2_s,
)

FloatArray = npt.NDArray[np.float64]

#: Native gold, with some silver in it [g/cm3]; docs/sources.md "gold density".
GOLD_G_CM3 = 17.6
#: Corey's shape factor of gold by look [-]; ours. docs/sources.md "equivalents".
SHAPES = {"nugget": 0.7, "flat": 0.4, "flake": 0.2}
ROUNDNESS = 3.5
#: Sizes that the tables are read backward from [m].
GRAVEL_M = (1e-5, 3.0)


@dataclass(frozen=True, slots=True)
class Equivalent:
    """The gravel that one kind of gold travels with.

    Attributes
    ----------
    sieve_m : float
        Middle axis of the gold [m].
    shape : str
        nugget, flat or flake.
    mass_mg : float
        Of one grain [mg].
    settling_m_s : float
        Speed at which it sinks [m/s].
    sinks_like_m : float
        Gravel of that speed [m].
    open_shear_pa : float
        Shear at which it starts from a bed of grains like itself [Pa].
    starts_like_m : float
        Sand or gravel that starts from an even bed at that shear [m].
    hidden_shear_pa : float
        Shear at which it starts from among the stones of the bed [Pa].
    held_like_m : float or None
        Stone of the bed that starts at that shear [m]; None where even stones of 3 m
        start before.
    """

    sieve_m: float
    shape: str
    mass_mg: float
    settling_m_s: float
    sinks_like_m: float
    open_shear_pa: float
    starts_like_m: float
    hidden_shear_pa: float
    held_like_m: float | None


def gold_settling_m_s(
    sieve_m: npt.ArrayLike, shape_factor: float, *, water_c: float = 10.0
) -> FloatArray:
    """Return how fast gold sinks, by its sieve size and flatness.

    Parameters
    ----------
    sieve_m : array_like
        Middle axes [m].
    shape_factor : float
        Corey's, above 0.15 and up to 1 [-].
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    ndarray
        Speeds [m/s].

    Notes
    -----
    Grains as long as wide: the nominal diameter is sieve size x factor^(1/3).

    References
    ----------
    Dietrich (1982); docs/sources.md "settling".

    Examples
    --------
    >>> float(gold_settling_m_s(1e-3, 0.2).round(3))
    0.149
    """
    nominal = np.asarray(sieve_m, np.float64) * shape_factor ** (1.0 / 3.0)
    return dietrich_speed(
        nominal,
        submerged_ratio(GOLD_G_CM3),
        viscosity_m2_s(water_c),
        shape_factor=shape_factor,
        roundness=ROUNDNESS,
    )


def gravel_of_speed_m(speed_m_s: npt.ArrayLike, *, water_c: float = 10.0) -> FloatArray:
    """Return the gravel or sand that sinks at a speed.

    Parameters
    ----------
    speed_m_s : array_like
        Speeds, above 0 [m/s].
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    ndarray
        Sieve diameters of quartz [m].

    References
    ----------
    Ferguson and Church (2004); docs/sources.md "settling".

    Examples
    --------
    Gold of 0.25 mm at 0.176 m/s sinks like quartz of 1.7 mm in cold water:

    >>> round(float(gravel_of_speed_m(0.176)) * 1000.0, 1)
    1.7
    """
    sizes = np.geomspace(*GRAVEL_M, 4000)
    speeds = ferguson_church_speed(sizes, GRAVEL_RATIO, viscosity_m2_s(water_c))
    wanted = np.asarray(speed_m_s, np.float64)
    return np.asarray(np.exp(np.interp(wanted, speeds, np.log(sizes))), np.float64)


def gold_open_shear_pa(
    sieve_m: npt.ArrayLike, shape_factor: float, *, water_c: float = 10.0
) -> FloatArray:
    """Return the shear at which gold starts from a bed of grains like itself.

    Parameters
    ----------
    sieve_m : array_like
        Middle axes of the gold [m].
    shape_factor : float
        Corey's [-]; a flake is as thick as its width times this.
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    ndarray
        Shear [Pa].

    Notes
    -----
    Soulsby's critical number at the nominal diameter, on the weight of the gold's
    thickness.

    References
    ----------
    Soulsby (1997), eq. 77; docs/sources.md "Shields number", "equivalents".

    Examples
    --------
    >>> float(gold_open_shear_pa(1e-3, 0.7).round(1))
    4.2
    """
    sieve = np.asarray(sieve_m, np.float64)
    ratio = submerged_ratio(GOLD_G_CM3)
    nominal = sieve * shape_factor ** (1.0 / 3.0)
    shields = soulsby_shields(nominal, ratio, viscosity_m2_s(water_c))
    return shields_shear_pa(shields, sieve * shape_factor, ratio)


def gravel_of_shear_m(shear_pa: npt.ArrayLike, *, water_c: float = 10.0) -> FloatArray:
    """Return the sand or gravel that starts from an even bed at a shear.

    Parameters
    ----------
    shear_pa : array_like
        Shears [Pa].
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    ndarray
        Sieve diameters of quartz [m].

    References
    ----------
    Soulsby (1997), eq. 77; docs/sources.md "Shields number".

    Examples
    --------
    Gravel of 10 mm starts at 0.055 x 1.65 x 9.81 x 10 = 9 Pa:

    >>> round(float(gravel_of_shear_m(9.0)) * 1000.0)
    10
    """
    sizes = np.geomspace(*GRAVEL_M, 4000)
    shields = soulsby_shields(sizes, GRAVEL_RATIO, viscosity_m2_s(water_c))
    shears = np.maximum.accumulate(shields_shear_pa(shields, sizes, GRAVEL_RATIO))
    wanted = np.asarray(shear_pa, np.float64)
    return np.asarray(np.exp(np.interp(wanted, shears, np.log(sizes))), np.float64)


def gold_hidden_shear_pa(
    sieve_m: npt.ArrayLike,
    shape_factor: float,
    *,
    mean_m: float,
    sand_share: float = 0.1,
) -> FloatArray:
    """Return the shear at which gold starts from among the stones of a bed.

    Parameters
    ----------
    sieve_m : array_like
        Middle axes of the gold [m].
    shape_factor : float
        Corey's [-]; a flake is as thick as its width times this.
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm [-].

    Returns
    -------
    ndarray
        Shear [Pa].

    Notes
    -----
    The hiding function of Wilcock and Crowe (2003) at the gold's height above the
    bed, its thickness (sieve x factor), with the submerged density of gold: our
    extension, tried on no flume. A flake is low and so hides better, but is lighter.

    References
    ----------
    docs/sources.md "hiding", "equivalents".
    """
    thick = np.asarray(sieve_m, np.float64) * shape_factor
    return moving_shear_pa(
        thick,
        mean_m=mean_m,
        sand_share=sand_share,
        ratio=submerged_ratio(GOLD_G_CM3),
    )


def stone_of_shear_m(
    shear_pa: npt.ArrayLike, *, mean_m: float, sand_share: float = 0.1
) -> FloatArray:
    """Return the stone of a bed that begins to travel at a shear.

    Parameters
    ----------
    shear_pa : array_like
        Shears [Pa].
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm [-].

    Returns
    -------
    ndarray
        Middle axes [m]; nan where no stone from 0.01 mm to 3 m begins there.

    Examples
    --------
    >>> round(float(stone_of_shear_m(35.18, mean_m=0.04)), 2)
    0.16
    """
    sizes = np.geomspace(*GRAVEL_M, 4000)
    shears = moving_shear_pa(sizes, mean_m=mean_m, sand_share=sand_share)
    wanted = np.asarray(shear_pa, np.float64)
    found = np.exp(np.interp(wanted, shears, np.log(sizes)))
    known = (wanted >= shears[0]) & (wanted <= shears[-1])
    return np.asarray(np.where(known, found, np.nan), np.float64)


def table_of_equivalents(
    sieve_m: Sequence[float],
    *,
    mean_m: float,
    sand_share: float = 0.1,
    water_c: float = 10.0,
) -> tuple[Equivalent, ...]:
    """Return what gravel each size and shape of gold travels with.

    Parameters
    ----------
    sieve_m : sequence of float
        Middle axes of the gold, above 0 [m].
    mean_m : float
        Geometric mean size of the bed's surface, above 0 [m].
    sand_share : float
        Part of the surface finer than 2 mm, 0 to 1 [-].
    water_c : float
        Temperature of the water, 0 to 20 [C].

    Returns
    -------
    tuple of Equivalent
        By size, and in each size nugget, flat, flake.

    Raises
    ------
    ValueError
        A size is not above 0.
    """
    if not all(one > 0.0 for one in sieve_m) or not mean_m > 0.0:
        msg = f"gold of {list(sieve_m)} m on a bed of {mean_m} m; sizes lie above 0."
        raise ValueError(msg)
    return tuple(
        _equivalent(one, shape, mean_m, (sand_share, water_c))
        for one in sieve_m
        for shape in SHAPES
    )


def _equivalent(
    sieve_m: float, shape: str, mean_m: float, bed: tuple[float, float]
) -> Equivalent:
    """Return the equivalents of one grain."""
    sand_share, water_c = bed
    factor = SHAPES[shape]
    speed = float(gold_settling_m_s(sieve_m, factor, water_c=water_c))
    in_open = float(gold_open_shear_pa(sieve_m, factor, water_c=water_c))
    hidden = float(
        gold_hidden_shear_pa(sieve_m, factor, mean_m=mean_m, sand_share=sand_share)
    )
    stone = float(stone_of_shear_m(hidden, mean_m=mean_m, sand_share=sand_share))
    # An ellipsoid as long as wide: pi / 6 times the three axes.
    volume_m3 = math.pi / 6.0 * sieve_m**3 * factor
    return Equivalent(
        sieve_m=sieve_m,
        shape=shape,
        mass_mg=volume_m3 * GOLD_G_CM3 * 1e9,
        settling_m_s=speed,
        sinks_like_m=float(gravel_of_speed_m(speed, water_c=water_c)),
        open_shear_pa=in_open,
        starts_like_m=float(gravel_of_shear_m(in_open, water_c=water_c)),
        hidden_shear_pa=hidden,
        held_like_m=None if math.isnan(stone) else stone,
    )


@dataclass(frozen=True, slots=True)
class WhereToLook:
    """What one kind of gold does when the gravel of a bed begins to move.

    Attributes
    ----------
    equivalent : Equivalent
        The gold.
    kind : str
        "floats" (the water carries it), "travels" (with the gravel) or "stays" (the
        gravel goes first).
    look : str
        Where to look, a sentence without sizes.
    """

    equivalent: Equivalent
    kind: str
    look: str


#: Where to look for each kind; common practice, no source.
LOOKS = {
    "floats": "Floods that move gravel carry it in the water: skim bars, moss and "
    "roots high on the bank, and behind brush. It says little of pay below.",
    "travels": "It goes where the gravel goes and works down through it: the heads of "
    "bars, the lee of boulders and inner bends, in packed gravel with stones as coarse "
    "as the creek has.",
    "stays": "The gravel goes before it does: look where the bed itself came to rest, "
    "at the bottom of the coarsest packed layer, on clay, on bedrock and in cracks.",
}


def where_to_look(
    equivalents: Sequence[Equivalent], *, mean_m: float, sand_share: float = 0.1
) -> tuple[WhereToLook, ...]:
    """Return what each kind of gold does when the gravel begins to move.

    Parameters
    ----------
    equivalents : sequence of Equivalent
        Of `table_of_equivalents`.
    mean_m : float
        Geometric mean size of the bed's surface [m].
    sand_share : float
        Part of the surface finer than 2 mm [-].

    Returns
    -------
    tuple of WhereToLook
        One for each, in their order.

    Notes
    -----
    At the shear that moves the mean stone, gold that sinks slower than the shear
    velocity is carried in the water (Bagnold 1966, from memory); gold that needs more
    shear even in the open stays.

    References
    ----------
    docs/sources.md "equivalents".
    """
    shear_pa = float(moving_shear_pa(mean_m, mean_m=mean_m, sand_share=sand_share))
    lift_m_s = math.sqrt(shear_pa / WATER_KG_M3)

    def kind_of(one: Equivalent) -> str:
        if one.settling_m_s < lift_m_s:
            return "floats"
        return "stays" if one.open_shear_pa > shear_pa else "travels"

    kinds = [kind_of(one) for one in equivalents]
    return tuple(
        WhereToLook(one, kind, LOOKS[kind])
        for one, kind in zip(equivalents, kinds, strict=True)
    )
