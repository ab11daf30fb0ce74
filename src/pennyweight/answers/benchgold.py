"""Small reckonings at the camp table, without any book: gold in the hand.

Each answer holds numbers alone, in inside units unless its names say otherwise;
`benchwords` puts them into words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from pennyweight.answers.bench import BenchAnswer, call
from pennyweight.errors import CallError
from pennyweight.sampling.gold import DEFAULT_FINENESS, gold_density_g_cm3
from pennyweight.sampling.settling import (
    MINERALS,
    Mineral,
    equal_settling_m,
    minerals_that_fit,
    settling_table,
    submerged_ratio,
    viscosity_m2_s,
)
from pennyweight.sampling.specimen import (
    QUARTZ_G_CM3,
    fine_mg,
    gold_in_quartz_g,
    specific_gravity,
    value_per_yard,
)
from pennyweight.spread import Spread
from pennyweight.units import CUBIC_YARD_M3, TROY_OUNCE_MG

#: How surely the density of the rock of a specimen is known [g/cm3]; ours.
ROCK_SD_G_CM3 = 0.05
#: Reading step of a balance where none is named [g]; ours.
BALANCE_STEP_G = 0.1
#: Score of a middle 80 % of a normal law [-].
SCORE_80 = 1.2815515655446004
#: Temperature of creek water where none is named [C]. Common practice, no source.
CREEK_C = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecimenAnswer(BenchAnswer):
    """Gold in a piece of quartz that was weighed in air and in water."""

    density_g_cm3: float
    gold_mg: Spread
    fine_mg: float
    share: float
    from_rock_sd_mg: float
    from_balance_sd_mg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueAnswer(BenchAnswer):
    """Raw gold as fine gold and as money; per volume it is bank volume."""

    fineness: float
    price_per_ozt: float
    currency: str
    grade_mg_m3: float | None
    fine_mg_m3: float | None
    value_per_yd3: float | None
    value_per_m3: float | None
    raw_mg: float | None
    fine_mg: float | None
    value: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainAnswer(BenchAnswer):
    """What a grain may be by what was tried on it."""

    may_be: tuple[Mineral, ...]
    may_be_gold: bool
    certain_no: str
    tried: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sinking:
    """How fast one mineral sinks."""

    mineral: str
    speed_m_s: float
    over_quartz: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingAnswer(BenchAnswer):
    """How fast grains of one size sink, the fastest first.

    `quartz_as_fast_m` is the quartz that sinks with a lump of gold of this size.
    """

    size_m: float
    water_c: float
    sinking: tuple[Sinking, ...]
    quartz_as_fast_m: float


def weigh_specimen(
    in_air_g: float,
    in_water_g: float,
    *,
    fineness: float | None = None,
    rock_g_cm3: float | None = None,
    step_g: float | None = None,
) -> SpecimenAnswer:
    """Return the gold in a piece of quartz from two weighings, and how sure it is.

    Parameters
    ----------
    in_air_g, in_water_g : float
        Weight dry, and hung in water, the second below the first [g].
    fineness : float, optional
        Of the gold; else 885 [parts in 1000].
    rock_g_cm3 : float, optional
        Density of the rock; else that of quartz, 2.65 [g/cm3].
    step_g : float, optional
        Reading step of the balance; else 0.1 [g].

    Returns
    -------
    SpecimenAnswer
        Raw gold with its 80 % interval.

    Raises
    ------
    CallError
        A number lies outside what is allowed.

    Notes
    -----
    Errors are carried to first order: each weighing is off by step / sqrt(12), the
    rock by 0.05 g/cm3.
    """
    assumptions: dict[str, Any] = {}
    if fineness is None:
        fineness = assumptions["fineness"] = DEFAULT_FINENESS
    if rock_g_cm3 is None:
        rock_g_cm3 = assumptions["rock_g_cm3"] = QUARTZ_G_CM3
    if step_g is None:
        step_g = assumptions["balance_step_mg"] = BALANCE_STEP_G
        assumptions["balance_step_mg"] *= 1000.0
    gold = call(gold_density_g_cm3, fineness)

    def reckon(air: float, water: float, rock: float) -> float:
        found: float = call(
            gold_in_quartz_g, air, water, gold_g_cm3=gold, rock_g_cm3=rock
        )
        return found

    middle = reckon(in_air_g, in_water_g, rock_g_cm3)
    off = step_g / math.sqrt(12.0)
    nudge = 1e-4 * (in_air_g - in_water_g)
    by_air = (reckon(in_air_g + nudge, in_water_g, rock_g_cm3) - middle) / nudge
    by_water = (reckon(in_air_g, in_water_g + nudge, rock_g_cm3) - middle) / nudge
    balance = math.hypot(by_air, by_water) * off
    by_rock = (reckon(in_air_g, in_water_g, rock_g_cm3 + 1e-4) - middle) / 1e-4
    rock = abs(by_rock) * ROCK_SD_G_CM3
    reach = SCORE_80 * math.hypot(balance, rock)
    low, half, high = (
        1000.0 * max(0.0, one) for one in (middle - reach, middle, middle + reach)
    )
    return SpecimenAnswer(
        density_g_cm3=specific_gravity(in_air_g, in_water_g),
        gold_mg=Spread(low, half, high, half),
        fine_mg=fine_mg(half, fineness),
        share=half / 1000.0 / in_air_g,
        from_rock_sd_mg=1000.0 * rock,
        from_balance_sd_mg=1000.0 * balance,
        cautions=(
            "Holes in the rock hide gold; pyrite, galena and ironstone feign it.",
        ),
        assumptions=assumptions,
    )


def price_gold(
    price_per_ozt: float,
    *,
    grade_mg_m3: float | None = None,
    raw_mg: float | None = None,
    fineness: float | None = None,
    currency: str = "",
) -> ValueAnswer:
    """Return raw gold as fine gold, and its value at a price.

    Parameters
    ----------
    price_per_ozt : float
        Of fine gold, above 0 [currency/ozt].
    grade_mg_m3 : float, optional
        Raw gold in the ground [mg/m3 bank].
    raw_mg : float, optional
        Raw gold in the hand [mg].
    fineness : float, optional
        Of the gold; else 885 [parts in 1000].
    currency : str
        Name of the money.

    Returns
    -------
    ValueAnswer
        Per yard and meter, or of the gold in the hand, or both.

    Raises
    ------
    CallError
        A number lies outside what is allowed, or there is no gold to price.
    """
    if price_per_ozt <= 0.0:
        msg = f"the price is {price_per_ozt}; give that of a troy ounce, above 0."
        raise CallError(msg)
    if grade_mg_m3 is None and raw_mg is None:
        msg = "there is nothing to price: give a grade, or gold in the hand, or both."
        raise CallError(msg)
    assumptions: dict[str, Any] = {}
    if fineness is None:
        fineness = assumptions["fineness"] = DEFAULT_FINENESS
    per_yard = fine_grade = in_hand = None
    if grade_mg_m3 is not None:
        per_yard = call(value_per_yard, grade_mg_m3, fineness, price_per_ozt)
        fine_grade = fine_mg(grade_mg_m3, fineness)
    if raw_mg is not None:
        in_hand = call(fine_mg, raw_mg, fineness)
    return ValueAnswer(
        fineness=fineness,
        price_per_ozt=price_per_ozt,
        currency=currency,
        grade_mg_m3=grade_mg_m3,
        fine_mg_m3=fine_grade,
        value_per_yd3=per_yard,
        value_per_m3=None if per_yard is None else per_yard / CUBIC_YARD_M3,
        raw_mg=raw_mg,
        fine_mg=in_hand,
        value=None if in_hand is None else in_hand * price_per_ozt / TROY_OUNCE_MG,
        cautions=(
            "Before recovery, refining, royalty and work: no one is paid all of it.",
        ),
        assumptions=assumptions,
    )


def name_grain(
    *,
    density_g_cm3: float | None = None,
    magnetic: bool | None = None,
    malleable: bool | None = None,
    stays: bool | None = None,
    streak: str | None = None,
) -> GrainAnswer:
    """Return what a grain may be by what was tried on it; a guide, no assay.

    Parameters
    ----------
    density_g_cm3 : float, optional
        Measured [g/cm3].
    magnetic : bool, optional
        Whether a magnet lifts it.
    malleable : bool, optional
        Whether it flattens under a knife instead of breaking.
    stays : bool, optional
        Whether it stays in the pan with the black sand.
    streak : {"yellow", "black", "white"}, optional
        Mark on unglazed tile.

    Returns
    -------
    GrainAnswer
        What fits everything that was tried.
    """
    tried = (density_g_cm3, magnetic, malleable, stays, streak)
    fits = minerals_that_fit(
        density_g_cm3=density_g_cm3,
        magnetic=magnetic,
        malleable=malleable,
        stays=stays,
        streak=streak,
    )
    gold = any(one.name.startswith("gold") for one in fits)
    against = ""
    if magnetic:
        against = "a magnet lifts it, and no magnet lifts gold"
    elif malleable is False:
        against = "it breaks, and gold flattens"
    elif streak is not None and streak.lower() != "yellow":
        against = f"its mark on tile is {streak.lower()}, and that of gold is yellow"
    return GrainAnswer(
        may_be=fits,
        may_be_gold=gold,
        certain_no=against,
        tried=sum(one is not None for one in tried),
        cautions=("Try it on several grains: a pan holds more than one mineral.",),
    )


def compare_settling(size_m: float, water_c: float | None = None) -> SettlingAnswer:
    """Return how fast the grains of a pan sink at one size.

    Parameters
    ----------
    size_m : float
        Sieve size of the grains, 0.02 to 20 mm [m].
    water_c : float, optional
        Temperature of the water, 0 to 20; else 10 [C].

    Returns
    -------
    SettlingAnswer
        The fastest first.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    """
    if not 2e-5 <= size_m <= 0.02:
        msg = f"the grains are {size_m * 1000.0:g} mm; give 0.02 to 20 mm."
        raise CallError(msg)
    assumptions: dict[str, Any] = {}
    if water_c is None:
        water_c = assumptions["water_c"] = CREEK_C
    speeds: dict[str, float] = call(settling_table, size_m, water_c)
    viscosity = call(viscosity_m2_s, water_c)
    density = {one.name: one.density_g_cm3 for one in MINERALS}
    rows = sorted(speeds.items(), key=lambda one: -one[1])
    return SettlingAnswer(
        size_m=size_m,
        water_c=water_c,
        sinking=tuple(
            Sinking(mineral=name, speed_m_s=v, over_quartz=v / speeds["quartz"])
            for name, v in rows
        ),
        quartz_as_fast_m=equal_settling_m(
            size_m,
            submerged_ratio(density["gold nugget"]),
            submerged_ratio(density["quartz"]),
            viscosity=viscosity,
        ),
        assumptions=assumptions,
    )
