"""What flow it took to move a big stone: published relations, each on its own.

Sizes are middle axes in millimeters, as the relations were printed. A mean relation
runs through the middle of what was seen, a lower limit below all of it: limits are
bounds and enter no average. No printed scatter could be read for most of them, so
that they are taken to be good to a factor of two in speed: four in shear, eight in
power.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from pennyweight.highwater.mobility import (
    GRAVEL_SHIELDS,
    andrews_shields,
    shields_shear_pa,
    steep_shields,
)
from pennyweight.sampling.settling import GRAVITY_M_S2, WATER_KG_M3

FloatArray = npt.NDArray[np.float64]
Quantity = Literal["speed", "shear", "power"]
Role = Literal["mean", "lower"]

#: Factor that holds the middle 80 % where none is printed; docs/sources.md "boulders".
SCATTER: dict[Quantity, float] = {"speed": 2.0, "shear": 4.0, "power": 8.0}
#: Friction, lift and drag of a cube and of a sphere [-]; Clarke (1996).
CUBE, SPHERE = (0.625, 0.178, 1.18), (0.225, 0.20, 0.20)


@dataclass(frozen=True, slots=True)
class Relation:
    """A power law of the stone's size.

    Attributes
    ----------
    name, source : str
        As told to the user.
    quantity : str
        What it gives: speed [m/s], shear [Pa] or power of the stream a bed area
        [W/m2].
    role : str
        "mean" or "lower".
    factor, power : float
        Value = factor x size^power, the size in millimeters [-].
    smallest_mm, largest_mm : float
        Sizes that it was drawn from [mm].
    """

    name: str
    source: str
    quantity: Quantity
    role: Role
    factor: float
    power: float
    smallest_mm: float
    largest_mm: float

    def at(self, size_mm: npt.ArrayLike) -> FloatArray:
        """Return the value for stones of a size.

        Parameters
        ----------
        size_mm : array_like
            Middle axes [mm].

        Returns
        -------
        ndarray
            In the unit of the quantity.
        """
        size = np.asarray(size_mm, np.float64)
        return np.asarray(self.factor * size**self.power, np.float64)

    def covers(self, size_mm: float) -> bool:
        """Say whether stones of a size were among those it was drawn from.

        Parameters
        ----------
        size_mm : float
            Middle axis [mm].

        Returns
        -------
        bool
            Whether they were.
        """
        return self.smallest_mm <= size_mm <= self.largest_mm


COSTA, WILLIAMS = "Costa (1983)", "Williams (1983)"
#: docs/sources.md "boulders". Costa's lines of shear and power belong in pairs: shear
#: times speed is power.
RELATIONS = (
    Relation("all stones", COSTA, "speed", "mean", 0.18, 0.487, 50.0, 3200.0),
    Relation("stones over 0.5 m", COSTA, "speed", "mean", 0.27, 0.40, 500.0, 3200.0),
    Relation("lower limit", WILLIAMS, "speed", "lower", 0.065, 0.5, 10.0, 1500.0),
    Relation("average line", COSTA, "shear", "mean", 0.163, 1.213, 50.0, 3200.0),
    Relation("lower line", COSTA, "shear", "lower", 0.056, 1.213, 50.0, 3200.0),
    Relation("lower limit", WILLIAMS, "shear", "lower", 0.17, 1.0, 10.0, 1500.0),
    Relation("average line", COSTA, "power", "mean", 0.030, 1.686, 50.0, 3200.0),
    Relation("lower line", COSTA, "power", "lower", 0.009, 1.686, 50.0, 3200.0),
    Relation("lower limit", WILLIAMS, "power", "lower", 0.079, 1.3, 10.0, 1500.0),
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """What one relation says of one stone size.

    Attributes
    ----------
    name, source : str
        Of the relation.
    quantity, role : str
        As in `Relation`.
    value : float
        In the unit of the quantity.
    scatter : float
        Factor up and down that holds the middle 80 % [-].
    covered : bool
        Whether such stones were among those that it was drawn from.
    """

    name: str
    source: str
    quantity: Quantity
    role: Role
    value: float
    scatter: float
    covered: bool


def clarke_speed(
    size_m: npt.ArrayLike, slope: float, *, rock_kg_m3: float = 2650.0
) -> FloatArray:
    """Return the speed that slides or rolls a stone, by the balance of forces.

    Parameters
    ----------
    size_m : array_like
        Middle axis [m].
    slope : float
        Fall of the bed [-].
    rock_kg_m3 : float
        Density of the stone, above 1000 [kg/m3].

    Returns
    -------
    ndarray
        Mean speed of the flow [m/s]: the mean for a cube and for a sphere, times 1.2.

    Raises
    ------
    ValueError
        The stone does not sink, or the bed is so steep that it rolls by itself.

    Notes
    -----
    Resistance F = submerged weight x (mu cos b - sin b); drag takes Cd / (Cl + Cd) of
    it; V = sqrt(2 Fd / (Cd rho A)).

    References
    ----------
    Clarke (1996), Environmental and Engineering Geoscience 2: 165-182; docs/sources.md
    "boulders".

    Examples
    --------
    >>> round(float(clarke_speed(1.0, 0.02, rock_kg_m3=2700.0)), 2)
    4.34
    """
    angle = math.atan(slope)
    if rock_kg_m3 <= WATER_KG_M3 or math.tan(angle) >= SPHERE[0]:
        msg = (
            f"rock of {rock_kg_m3} kg/m3 on a slope of {slope}; the rock must be "
            f"heavier than water and the slope below {SPHERE[0]}."
        )
        raise ValueError(msg)
    size = np.asarray(size_m, np.float64)
    total = np.zeros_like(size)
    for (rub, lift, drag), volume, face in (
        (CUBE, 1.0, 1.0),
        (SPHERE, math.pi / 6.0, math.pi / 4.0),
    ):
        weight = volume * size**3 * (rock_kg_m3 - WATER_KG_M3) * GRAVITY_M_S2
        hold = weight * (rub * math.cos(angle) - math.sin(angle))
        push = hold * drag / (lift + drag)
        total += np.sqrt(2.0 * push / (drag * WATER_KG_M3 * face * size**2))
    return np.asarray(0.5 * 1.2 * total, np.float64)


def estimates_of(
    size_m: float,
    *,
    slope: float | None = None,
    median_m: float | None = None,
    rock_kg_m3: float = 2650.0,
) -> tuple[Estimate, ...]:
    """Return what each relation says of stones of a size.

    Parameters
    ----------
    size_m : float
        Middle axis, above 0 [m].
    slope : float, optional
        Fall of the bed; without it the relations that need it are left out [-].
    median_m : float, optional
        Size that half of the bed is finer than; without it hiding is left out [m].
    rock_kg_m3 : float
        Density of the stones [kg/m3].

    Returns
    -------
    tuple of Estimate
        Speed first, then shear, then power.

    Raises
    ------
    ValueError
        The size is not above 0.

    Examples
    --------
    >>> [e.source for e in estimates_of(1.0) if e.quantity == "speed"]
    ['Costa (1983)', 'Costa (1983)', 'Williams (1983)']
    """
    if not size_m > 0.0:
        msg = f"the stone measures {size_m} m; its middle axis lies above 0."
        raise ValueError(msg)
    size_mm = size_m * 1000.0
    found = [
        Estimate(
            one.name,
            one.source,
            one.quantity,
            one.role,
            float(one.at(size_mm)),
            SCATTER[one.quantity],
            one.covers(size_mm),
        )
        for one in RELATIONS
    ]
    if slope is not None:
        speed = float(clarke_speed(size_m, slope, rock_kg_m3=rock_kg_m3))
        twice = SCATTER["speed"]
        found.append(
            Estimate(
                "balance of forces",
                "Clarke (1996)",
                "speed",
                "mean",
                speed,
                twice,
                True,
            )
        )
    found += _by_shields(size_m, slope, median_m, rock_kg_m3)
    order = list(SCATTER)
    return tuple(sorted(found, key=lambda one: order.index(one.quantity)))


def _by_shields(
    size_m: float, slope: float | None, median_m: float | None, rock_kg_m3: float
) -> list[Estimate]:
    """Return the shear that moves the stone, by critical Shields numbers."""
    ratio = rock_kg_m3 / WATER_KG_M3 - 1.0
    low, usual, high = GRAVEL_SHIELDS
    printed = max(high / usual, usual / low)
    numbers = [("usual number of gravel", "Shields (1936)", usual, printed, True)]
    if slope is not None:
        steep = float(steep_shields(slope))
        wide = SCATTER["shear"]
        numbers.append(("steep beds", "Lamb et al. (2008)", steep, wide, True))
    if median_m is not None:
        relative = size_m / median_m
        hidden = float(andrews_shields(relative))
        covered = 0.3 <= relative <= 4.2
        wide = SCATTER["shear"]
        numbers.append(("hiding", "Andrews (1983)", hidden, wide, covered))
    return [
        Estimate(
            name,
            source,
            "shear",
            "mean",
            float(shields_shear_pa(number, size_m, ratio)),
            scatter,
            covered,
        )
        for name, source, number, scatter, covered in numbers
    ]


def mixed_draws(
    estimates: tuple[Estimate, ...],
    quantity: Quantity,
    *,
    n_draws: int,
    rng: np.random.Generator,
) -> FloatArray:
    """Return equally likely values of a quantity, over relations and their scatter.

    Parameters
    ----------
    estimates : tuple of Estimate
        Of one stone size.
    quantity : str
        "speed", "shear" or "power".
    n_draws : int
        How many values [-].
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    ndarray, shape (n_draws,)
        In the unit of the quantity: each from a mean relation, all equally likely,
        times a lognormal scatter. Lower limits do not enter. Relations that such
        stones did not enter are used only where there is no other.

    Raises
    ------
    ValueError
        No mean relation gives the quantity.
    """
    means = [e for e in estimates if e.quantity == quantity and e.role == "mean"]
    means = [e for e in means if e.covered] or means
    if not means:
        msg = f"none of {len(estimates)} relations gives a mean {quantity}."
        raise ValueError(msg)
    picked = rng.integers(len(means), size=n_draws)
    middle = np.log([e.value for e in means])[picked]
    spread = np.log([e.scatter for e in means])[picked] / 1.2816
    return np.asarray(np.exp(middle + spread * rng.standard_normal(n_draws)))
