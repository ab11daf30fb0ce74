"""How many pans are enough, and how small a charge may be: planned without a book."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pennyweight.answers.bench import BenchAnswer
from pennyweight.errors import CallError
from pennyweight.nextdig.effort import dig_effort
from pennyweight.sampling.adequacy import (
    ENOUGH_COLORS,
    NextStep,
    blank_pans_to_clear,
    chance_of_blank,
    expected_colors,
    pans_for_error,
    volume_for_colors_m3,
    weigh_pan_against_dig,
)
from pennyweight.sampling.fundamental import (
    charge_for_error_g,
    fundamental_rel_sd,
    mineral_factor_g_cm3,
)
from pennyweight.sampling.gold import UNSIZED_CV, UNSIZED_MG, gold_density_g_cm3
from pennyweight.sampling.posterior import total_rel_sd
from pennyweight.sampling.recovery import RECOVERY_UNSIZED
from pennyweight.sampling.volume import (
    DEFAULT_PAN_M3,
    DEFAULT_SWELL,
    bank_from_loose_m3,
)

#: Wanted error where none is named [-]: within a quarter, four times in five.
GOOD_ERROR = 0.25
#: Relative standard deviation of grade from dig to dig where none is named [-]; ours:
#: placer ground is uneven.
BETWEEN_DIGS = 1.0
#: Depth of a dig where none is named [m].
DEPTH_M = 1.0
#: Shape and grading factor of flakes in a concentrate [-]: Gy's 0.2 x 0.25.
FLAKE_FACTOR = 0.05
BLACK_SAND_G_CM3 = 5.2
PPM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer(BenchAnswer):
    """What a pan shows of ground of a grade, and how many pans it takes.

    `pans_for_error` keeps the grade within `wanted_error` four times in five.
    """

    grade_mg_m3: float
    pan_bank_m3: float
    color_mg: float
    colors_per_pan: float
    chance_of_blank_pan: float
    pans_for_20_colors: float
    bank_m3_for_20_colors: float
    wanted_error: float
    pans_for_error: float
    blank_pans_to_clear: float
    pan_rel_sd: float
    digs: int
    pans: float
    next_step: NextStep


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeAnswer(BenchAnswer):
    """How far a charge of a concentrate may be off by the luck of its grains."""

    charge_g: float
    top_size_mm: float
    gold_ppm: float
    rel_sd: float
    wanted_rel_sd: float
    charge_for_wanted_g: float


def plan_pans(
    grade_mg_m3: float,
    *,
    color_mg: float | None = None,
    pan_volume_m3: float | None = None,
    wanted_error: float = GOOD_ERROR,
    digs: int = 3,
    pans: float = 4.0,
    depth_m: float = DEPTH_M,
) -> PlanAnswer:
    """Return how many pans are enough at a grade, and what one more would bring.

    Parameters
    ----------
    grade_mg_m3 : float
        Grade that is asked about, above 0 [mg/m3 bank].
    color_mg : float, optional
        Mean mass of a color; else that of an unsized one [mg].
    pan_volume_m3 : float, optional
        What the pan holds, loose; else a struck 16-inch pan [m3].
    wanted_error : float
        Half of the wanted 80 % interval over the grade, 0.02 to 2 [-].
    digs : int
        Digs so far, 1 or more [-].
    pans : float
        Pans washed from each, above 0 [-].
    depth_m : float
        Depth of one more dig, above 0 [m].

    Returns
    -------
    PlanAnswer
        Numbers of pans, and one more pan in each dig against one more dig.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    """
    _check_plan(grade_mg_m3, wanted_error, digs, pans=pans, depth_m=depth_m)
    assumptions: dict[str, Any] = {"swell": DEFAULT_SWELL}
    if color_mg is None:
        color_mg = assumptions["color_mg"] = UNSIZED_MG
    if pan_volume_m3 is None:
        pan_volume_m3 = DEFAULT_PAN_M3
        assumptions["pan_volume_l"] = round(DEFAULT_PAN_M3 * 1000.0, 3)
    if color_mg <= 0.0 or pan_volume_m3 <= 0.0:
        msg = f"a color weighs {color_mg} mg, a pan holds {pan_volume_m3} m3; above 0."
        raise CallError(msg)
    assumptions["recovery_share"] = RECOVERY_UNSIZED
    assumptions["color_cv"] = UNSIZED_CV
    assumptions["between_digs"] = BETWEEN_DIGS
    pan_bank_m3 = bank_from_loose_m3(pan_volume_m3, DEFAULT_SWELL)
    colors = expected_colors(
        grade_mg_m3, pan_bank_m3, color_mg, recovery=RECOVERY_UNSIZED
    )
    pan_rel_sd = total_rel_sd(colors, UNSIZED_CV)
    hours_per_dig = dig_effort(depth_m, 0.0).hours
    return PlanAnswer(
        grade_mg_m3=grade_mg_m3,
        pan_bank_m3=pan_bank_m3,
        color_mg=color_mg,
        colors_per_pan=colors,
        chance_of_blank_pan=chance_of_blank(colors),
        pans_for_20_colors=ENOUGH_COLORS / colors,
        bank_m3_for_20_colors=volume_for_colors_m3(
            grade_mg_m3 * RECOVERY_UNSIZED, color_mg
        ),
        wanted_error=wanted_error,
        pans_for_error=pans_for_error(wanted_error, colors, color_cv=UNSIZED_CV),
        blank_pans_to_clear=blank_pans_to_clear(colors),
        pan_rel_sd=pan_rel_sd,
        digs=digs,
        pans=pans,
        next_step=weigh_pan_against_dig(
            BETWEEN_DIGS,
            pan_rel_sd,
            digs=digs,
            pans=pans,
            hours_per_dig=hours_per_dig,
            hours_per_pan=dig_effort(depth_m, 1.0).hours - hours_per_dig,
        ),
        cautions=("The grade is a wish, not a result.",),
        assumptions=assumptions,
    )


def _check_plan(
    grade_mg_m3: float, wanted_error: float, digs: int, *, pans: float, depth_m: float
) -> None:
    """Refuse what cannot be planned with."""
    if not grade_mg_m3 > 0.0:
        msg = f"the grade asked about is {grade_mg_m3} mg/m3; it must be above 0."
        raise CallError(msg)
    if not 0.02 <= wanted_error <= 2.0:
        msg = f"the wanted error is {wanted_error:.0%}; give 2 to 200 percent."
        raise CallError(msg)
    if digs < 1 or pans <= 0.0 or depth_m <= 0.0:
        msg = (
            f"there are {digs} digs of {depth_m} m with {pans} pans each; give 1 dig "
            "and more, depth and pans above 0."
        )
        raise CallError(msg)


def plan_charge(
    charge_g: float,
    top_size_mm: float,
    gold_ppm: float,
    *,
    wanted_rel_sd: float = 0.10,
    fineness: float | None = None,
) -> ChargeAnswer:
    """Return how far a charge taken from a concentrate may be off by luck.

    Parameters
    ----------
    charge_g : float
        Mass of the charge, above 0 [g].
    top_size_mm : float
        Sieve that passes nearly all of it, above 0 [mm].
    gold_ppm : float
        Gold in it, above 0 and below 1,000,000 [g/t].
    wanted_rel_sd : float
        Relative standard deviation that is wanted, above 0 [-].
    fineness : float, optional
        Of the gold; else 885 [parts in 1000].

    Returns
    -------
    ChargeAnswer
        Gy's fundamental error, and the charge that keeps to the wanted one.

    Raises
    ------
    CallError
        A number lies outside what is allowed.

    References
    ----------
    Gy (1979), Sampling of Particulate Materials; docs/sources.md "fundamental error".
    """
    named = (charge_g, top_size_mm, gold_ppm, wanted_rel_sd)
    if min(named) <= 0.0 or gold_ppm >= 1.0 / PPM:
        msg = (
            f"a charge of {charge_g} g, {top_size_mm} mm, {gold_ppm} g/t of gold and "
            f"{wanted_rel_sd:.0%} wanted; all are above 0, gold below 1,000,000 g/t."
        )
        raise CallError(msg)
    assumptions: dict[str, Any] = {"gy_factor": FLAKE_FACTOR}
    if fineness is None:
        fineness = assumptions["fineness"] = 885.0
    gold = gold_density_g_cm3(fineness)
    # Free gold: it is as large as the largest grain, so the liberation factor is 1.
    minerals = mineral_factor_g_cm3(gold_ppm * PPM, gold, BLACK_SAND_G_CM3)
    factor, top_cm = FLAKE_FACTOR * minerals, top_size_mm / 10.0
    return ChargeAnswer(
        charge_g=charge_g,
        top_size_mm=top_size_mm,
        gold_ppm=gold_ppm,
        rel_sd=fundamental_rel_sd(charge_g, top_cm, factor),
        wanted_rel_sd=wanted_rel_sd,
        charge_for_wanted_g=charge_for_error_g(wanted_rel_sd, top_cm, factor),
        cautions=("Splitting by a spoon adds to this: quarter it, or use a riffle.",),
        assumptions=assumptions,
    )
