"""Old floods from the stones they left: speed, shear, power, depth and discharge.

Everything here is good to an order of magnitude. The interval mixes the published
relations and each one's own scatter; lower limits stand beside it as bounds. A sudden
front moves bigger stones than steady flow of its depth would.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.highwater.clasts import LARGEST, Clasts
from pennyweight.highwater.competence import Estimate, estimates_of, mixed_draws
from pennyweight.highwater.resistance import LAWS, Law, check_fall, depth_of_speed_m
from pennyweight.highwater.sections import Section, box_section, water_at
from pennyweight.sampling.settling import GRAVITY_M_S2, WATER_KG_M3
from pennyweight.spread import Spread, spread_of

FloatArray = npt.NDArray[np.float64]

#: Natural logarithm of how much one stone's size may miss the flood's largest [-];
#: ours. The mean of three is taken to be steadier by the root of three.
STONE_SD = 0.25
#: Deeper than this no creek's flood is taken to run [m]; ours.
DEEPEST_M = 30.0


@dataclass(frozen=True, slots=True)
class Channel:
    """The channel that the flood ran in.

    Attributes
    ----------
    slope : float
        Fall of the reach, from the profile [-].
    stones_m : float
        Size that 84 % of the bed is finer than [m].
    section : Section or None
        Ground across the valley; else a box of the width.
    width_m : float or None
        Width of the flood's channel [m]; without section and width there is no
        discharge.
    median_m : float or None
        Size that half of the bed is finer than, for hiding [m].
    """

    slope: float
    stones_m: float
    section: Section | None = None
    width_m: float | None = None
    median_m: float | None = None


@dataclass(frozen=True, slots=True)
class Bounds:
    """The highest of the lower limits: the flood was at least this.

    Attributes
    ----------
    velocity_m_s, shear_pa, power_w_m2 : float
        Speed [m/s], shear [Pa] and power a bed area [W/m2].
    """

    velocity_m_s: float
    shear_pa: float
    power_w_m2: float


@dataclass(frozen=True, slots=True)
class BoulderFlow:
    """What the stones of one place say of the flood that set them down.

    Attributes
    ----------
    place, dig : str, str or None
        Where they lie.
    size_m : float
        Mean middle axis of the largest [m].
    n_stones : int
        How many were averaged.
    single : bool
        Whether it is a single stone.
    velocity_m_s, shear_pa, power_w_m2 : Spread
        Speed [m/s], shear [Pa], power of the stream a bed area [W/m2].
    depth_m, discharge_m3_s : Spread or None
        Mean depth [m] and discharge [m3/s]; None without a slope or a width.
    at_least : Bounds
        By the relations that give lower limits.
    critical_depth_m : float or None
        Depth at which the middle speed is as quick as a wave; in steep, loose beds
        floods are seldom quicker for long, so that they were hardly shallower [m].
    estimates : tuple of Estimate
        Each relation by itself.
    draws : mapping of str to ndarray
        The equally likely values behind the spreads.
    warnings : tuple of str
        One sentence each.
    """

    place: str
    dig: str | None
    size_m: float
    n_stones: int
    single: bool
    velocity_m_s: Spread
    shear_pa: Spread
    power_w_m2: Spread
    depth_m: Spread | None
    discharge_m3_s: Spread | None
    at_least: Bounds
    critical_depth_m: float
    estimates: tuple[Estimate, ...]
    draws: dict[str, FloatArray]
    warnings: tuple[str, ...]


def flow_of_clasts(
    clasts: Clasts,
    channel: Channel | None,
    *,
    rng: np.random.Generator,
    n_draws: int = 4000,
    rock_kg_m3: float = 2650.0,
) -> BoulderFlow | None:
    """Return the flood that set the largest stones of a place down.

    Parameters
    ----------
    clasts : Clasts
        Of `clasts.gather_clasts`.
    channel : Channel or None
        Without it there is neither depth nor discharge.
    rng : numpy.random.Generator
        Source of the draws.
    n_draws : int
        How many [-].
    rock_kg_m3 : float
        Density of the stones [kg/m3].

    Returns
    -------
    BoulderFlow or None
        None where no stone counts; the clasts' own warnings say why.

    Raises
    ------
    ValueError
        The channel's slope, stones or width are out of range.

    Notes
    -----
    Speed, shear and power: each draw takes one mean relation and its scatter, at a
    size that is itself uncertain. Depth: half of the draws from the shear (depth =
    shear / (rho g S)), half from the speed by one of the resistance laws tried there.
    Discharge: the speed that goes with that depth times the section's area.
    """
    size_m = clasts.size_m
    if size_m is None:
        return None
    if channel is not None:
        check_fall(channel.slope, channel.stones_m)
    estimates = estimates_of(
        size_m,
        slope=None if channel is None else channel.slope,
        median_m=None if channel is None else channel.median_m,
        rock_kg_m3=rock_kg_m3,
    )
    # How much the size is off enters each relation by its power; speed about the root.
    off = STONE_SD / math.sqrt(min(len(clasts.sizes_m), LARGEST))
    size_off = np.exp(off * rng.standard_normal(n_draws))
    draws = {
        "speed": size_off**0.5
        * mixed_draws(estimates, "speed", n_draws=n_draws, rng=rng),
        "shear": size_off * mixed_draws(estimates, "shear", n_draws=n_draws, rng=rng),
        "power": size_off**1.5
        * mixed_draws(estimates, "power", n_draws=n_draws, rng=rng),
    }
    if channel is not None:
        draws |= _depths_and_discharges(draws, channel, rng)
    middle_m_s = float(np.median(draws["speed"]))
    return BoulderFlow(
        place=clasts.place,
        dig=clasts.dig,
        size_m=size_m,
        n_stones=len(clasts.sizes_m),
        single=len(clasts.sizes_m) == 1,
        velocity_m_s=_spread(draws["speed"]),
        shear_pa=_spread(draws["shear"]),
        power_w_m2=_spread(draws["power"]),
        depth_m=spread_of(draws.get("depth", ())),
        discharge_m3_s=spread_of(draws.get("discharge", ())),
        at_least=_bounds(estimates),
        critical_depth_m=middle_m_s**2 / GRAVITY_M_S2,
        estimates=estimates,
        draws=draws,
        warnings=(*clasts.warnings, *_doubts(estimates, channel, draws)),
    )


def mix_discharges(
    flows: tuple[BoulderFlow, ...], *, rng: np.random.Generator, n_draws: int = 4000
) -> Spread | None:
    """Return the discharge by the stones of all places, each place equally likely.

    Parameters
    ----------
    flows : tuple of BoulderFlow
        Of one reach; places may have been left by different floods.
    rng : numpy.random.Generator
        Source of the draws.
    n_draws : int
        How many [-].

    Returns
    -------
    Spread or None
        Discharge [m3/s]; None where no place has one.
    """
    known = [
        flow.draws["discharge"] for flow in flows if flow.discharge_m3_s is not None
    ]
    if not known:
        return None
    picked = rng.integers(len(known), size=n_draws)
    within = rng.random(n_draws)
    values = np.zeros(n_draws)
    for number, draws in enumerate(known):
        own = picked == number
        values[own] = draws[(within[own] * draws.size).astype(np.intp)]
    return spread_of(values)


def _spread(draws: FloatArray) -> Spread:
    """Return the spread of draws that are all known."""
    spread = spread_of(draws)
    if spread is None:
        msg = f"none of {draws.size} draws is a number; draw at least one."
        raise ValueError(msg)
    return spread


def _bounds(estimates: tuple[Estimate, ...]) -> Bounds:
    """Return the highest of the lower limits, those drawn from such stones first."""

    def highest(quantity: str) -> float:
        lower = [e for e in estimates if e.role == "lower" and e.quantity == quantity]
        covered = [e for e in lower if e.covered] or lower
        return max(e.value for e in covered)

    return Bounds(highest("speed"), highest("shear"), highest("power"))


def _depths_and_discharges(
    draws: dict[str, FloatArray], channel: Channel, rng: np.random.Generator
) -> dict[str, FloatArray]:
    """Return depth draws, and discharge draws where there is a width."""
    n_draws = draws["speed"].size
    by_shear = draws["shear"] / (WATER_KG_M3 * GRAVITY_M_S2 * channel.slope)
    from_shear = rng.random(n_draws) < 0.5
    laws = _laws_tried(float(np.median(by_shear)), channel)
    picked = rng.integers(len(laws), size=n_draws)
    depth, speed = by_shear.copy(), draws["speed"].copy()
    for number, law in enumerate(laws):
        own = picked == number
        depth[own & ~from_shear] = depth_of_speed_m(
            law,
            draws["speed"][own & ~from_shear],
            slope=channel.slope,
            stones_m=channel.stones_m,
        )
        at = np.minimum(depth[own & from_shear], DEEPEST_M)
        speed[own & from_shear] = law.speed(
            at, np.asarray(channel.slope), np.asarray(channel.stones_m)
        )
    depth = np.minimum(depth, DEEPEST_M)
    found = {"depth": depth}
    area = _area_of_depth(channel)
    if area is not None:
        found["discharge"] = speed * area(depth)
    return found


def _laws_tried(depth_m: float, channel: Channel) -> tuple[Law, ...]:
    """Return the resistance laws tried at a depth, the widest one if none was."""
    at = (np.asarray(depth_m), np.asarray(channel.slope), np.asarray(channel.stones_m))
    return tuple(law for law in LAWS if bool(law.tried(*at))) or LAWS[:1]


def _area_of_depth(channel: Channel) -> Callable[[FloatArray], FloatArray] | None:
    """Return what gives the section's area by its mean depth; None without one."""
    section = channel.section
    if section is None:
        if channel.width_m is None:
            return None
        box_section(channel.width_m)
        width_m = channel.width_m
        return lambda depth: depth * width_m
    top_m = float(min(section.level_m[0], section.level_m[-1]))
    bed_m = float(section.level_m.min())
    levels = np.linspace(bed_m, top_m, 1000)
    area, _, radius = water_at(section, levels)
    radius = np.maximum.accumulate(radius)
    return lambda depth: np.asarray(np.interp(depth, radius, area), np.float64)


def _doubts(
    estimates: tuple[Estimate, ...],
    channel: Channel | None,
    draws: dict[str, FloatArray],
) -> list[str]:
    """Return what the reader must know besides the numbers."""
    said: list[str] = []
    means = [e for e in estimates if e.role == "mean" and e.quantity == "speed"]
    if not any(e.covered and e.source == "Costa (1983)" for e in means):
        said.append(
            "Stones of this size lie outside what the relations were drawn from."
        )
    if channel is None:
        said.append("Without a slope there is neither depth nor discharge.")
        return said
    if channel.section is None and channel.width_m is None:
        said.append("Without a width or a section there is no discharge.")
    if not 0.002 <= channel.slope <= 0.1:
        said.append(
            f"The slope of {channel.slope:.4f} lies outside 0.002 to 0.1, where the "
            "relations were tried."
        )
    if float(np.mean(draws["depth"] >= DEEPEST_M)) > 0.05:
        said.append(
            f"Some depths came out over {DEEPEST_M:.0f} m and were cut there: check "
            "the slope, or whether water moved these stones."
        )
    return said
