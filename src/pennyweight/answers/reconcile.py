"""Was the estimate right? Clean-ups beside what their cuts were said to hold.

What they teach is carried into the next estimate as evidence: always shown with its
interval, and switched off by a word in the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.cuts import CutGround, draw_ground, lay_cuts
from pennyweight.answers.grade import read_graded, refuse_unwashed
from pennyweight.answers.plantread import plant_assumptions, read_plant
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcilesaid import say_cut, say_evidence
from pennyweight.answers.streakfit import read_fit
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.workedground import KindGrades, grade_kinds
from pennyweight.records import Ground
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.reconcile import (
    MODEL_REL_SD,
    OWN_RECOVERY_REL_SD,
    SUPPLIED_RECOVERY_REL_SD,
    SURVEY_REL_SD,
    CutBesideEstimate,
    Evidence,
    Priors,
    chance_of_outside,
    compare_cut,
    learn_from_cuts,
)

FloatArray = npt.NDArray[np.float64]

#: Key in the ground's record by which clean-ups are kept out of the next estimate, and
#: the word for it.
CARRY_KEY, NOT_CARRIED = "carry_cleanups", "no"
#: A cut must lie in sampled ground by this much to tell anything [-]; ours.
LEAST_SAMPLED = 0.6
#: Less of the pay than this was taken: told beside the cut; and so little that nobody
#: knows which part it was [-]; ours.
PART_TAKEN, LEAST_TAKEN = 0.8, 0.5
#: No factor over all samples is known better than this [-].
LEAST_COMMON = 0.02
#: The parts of the difference, in the order told.
PARTS = ("common", "recovery", "model")

TOGETHER = (
    "Clean up each cut by itself: gold of several cuts in one clean-up can never be "
    "laid beside the estimate of any of them."
)
BLACK_SAND = "Gold still in buckets of black sand is not won yet: weigh it too."


@dataclass(frozen=True, slots=True, kw_only=True)
class ReconciledCut:
    """One clean-up beside the estimate of its cut.

    Attributes
    ----------
    cleanup : str
        Its name.
    area, date : str or None
        Where and when.
    bank_volume_m3 : float or None
        Surveyed.
    pay_m3 : Spread or None
        Pay that the estimate has in that surface.
    won_g, won_mg_m3 : float or None
        Raw gold weighed, and over the volume surveyed.
    expected_g, expected_mg_m3 : Spread or None
        What the plant was expected to win, and over the same volume.
    won_over_expected : float or None
        Over the median expected [-].
    chance_below : float or None
        Chance, before, of winning less [-].
    inside : bool or None
        Whether the outcome lies in the 80 % interval; None where it cannot be told.
    used : bool
        Whether it enters the evidence.
    said : str
        All that in a sentence.
    """

    cleanup: str
    area: str | None
    date: str | None
    bank_volume_m3: float | None
    pay_m3: Spread | None
    won_g: float | None
    won_mg_m3: float | None
    expected_g: Spread | None
    expected_mg_m3: Spread | None
    won_over_expected: float | None
    chance_below: float | None
    inside: bool | None
    used: bool
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOfDifference:
    """One of the three that may be off, before and after the clean-ups [-]."""

    part: str
    before: Spread
    after: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class ReconcileAnswer(Answer):
    """Cuts beside their estimates, and the evidence for the next one.

    `ground_factor` is what the ground holds over its estimate; `call_factor` what is
    won over what is expected; `left_g` the gold of the sampled stretch outside the
    cuts, before and after the evidence.
    """

    cuts: tuple[ReconciledCut, ...]
    outside: int
    chance_of_outside: float | None
    ground_factor: Spread | None
    call_factor: Spread | None
    recovery: Spread | None
    parts: tuple[PartOfDifference, ...]
    carried: bool
    left_before_g: Spread | None
    left_g: Spread | None
    kinds: KindGrades
    verdict: str
    grounds: tuple[CutGround, ...] = for_pictures(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What clean-ups do to the next estimate.

    Attributes
    ----------
    ground_factor : ndarray, shape (n_draws,)
        Multiplies the gold of each draw of the fit; the prior of the factor over all
        samples, which the draws hold, is taken out of it [-].
    recovery : Spread
        Share that the plant keeps.
    factor : Spread
        What the ground holds over its estimate, the same as told to the reader [-].
    cuts : int
        Clean-ups behind it.
    """

    ground_factor: FloatArray
    recovery: Spread
    factor: Spread
    cuts: int


def reconcile(reading: Reading) -> ReconcileAnswer:
    """Return the clean-ups beside what was expected of their cuts.

    Raises
    ------
    TooLittleError
        No washed sample has a fair volume.
    """
    refuse_unwashed(reading)
    return reading.once("reconcile", lambda: _reconcile(reading))


def is_carried(ground: Ground) -> bool:
    """Tell whether the record lets clean-ups into the next estimate."""
    return ground.extra.get(CARRY_KEY, "").strip().lower() != NOT_CARRIED


def carry_evidence(reading: Reading) -> Carried | None:
    """Return what clean-ups do to the next estimate.

    Parameters
    ----------
    reading : Reading
        The book.

    Returns
    -------
    Carried or None
        None without a clean-up that tells anything, or where it is switched off.
    """
    if not reading.log.cleanups or not is_carried(reading.log.ground):
        return None
    return reading.once("carried", lambda: _carry(reading))


def _carry(reading: Reading) -> Carried | None:
    evidence, used = _learn(reading)
    if not used:
        return None
    common_log = _sample_factor_log(reading)
    rng = np.random.default_rng([reading.seed, 8])
    common, _, model = evidence.draw(len(common_log), rng)
    return Carried(
        ground_factor=common * model / np.exp(common_log),
        recovery=evidence.spread_of_part("recovery"),
        factor=evidence.spread_of_part("ground"),
        cuts=len(used),
    )


def _sample_factor_log(reading: Reading) -> FloatArray:
    """Return the log of the factor over all samples that each draw holds."""
    fit = read_fit(reading)
    held = fit.common_log
    n_draws = len(fit.horizons[0].cell_mg_m2)
    return np.zeros(n_draws) if held is None else held


def _priors(reading: Reading) -> tuple[Priors, dict[str, Any]]:
    """Return what is known before any clean-up, and what of it was supplied."""
    graded, terms = read_graded(reading), read_plant(reading)
    own = not any("recovery" in key for key in terms.assumptions)
    common = float(np.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd))
    priors = Priors(
        common_rel_sd=max(common, LEAST_COMMON),
        recovery=terms.recovery,
        recovery_rel_sd=OWN_RECOVERY_REL_SD if own else SUPPLIED_RECOVERY_REL_SD,
    )
    said = {
        "reconcile_recovery_rel_sd": priors.recovery_rel_sd,
        "reconcile_model_rel_sd": MODEL_REL_SD,
        "reconcile_survey_rel_sd": SURVEY_REL_SD,
    }
    return priors, said | plant_assumptions(terms, "recovery")


def _learn(reading: Reading) -> tuple[Evidence, tuple[CutGround, ...]]:
    """Return the evidence, and the cuts that it rests on."""
    return reading.once("evidence of cuts", lambda: _learn_once(reading))


def _learn_once(reading: Reading) -> tuple[Evidence, tuple[CutGround, ...]]:
    priors, _ = _priors(reading)
    used = tuple(one for one in lay_cuts(reading) if _tells(one))
    if not used:
        return learn_from_cuts(np.zeros((2, 0)), [], priors=priors), ()
    common = np.exp(_sample_factor_log(reading))
    gold = np.column_stack([one.gold_mg / common for one in used])
    won = [one.cleanup.weighed_mg or 0.0 for one in used]
    return learn_from_cuts(gold, won, priors=priors), used


def _tells(cut: CutGround) -> bool:
    """Tell whether a cut has gold weighed and lies in ground with an estimate."""
    return bool(
        cut.gold_mg is not None
        and cut.cleanup.weighed_mg
        and cut.sampled_share >= LEAST_SAMPLED
        and cut.taken_share >= LEAST_TAKEN
        and cut.gold_mg.mean() > 0.0
    )


def _reconcile(reading: Reading) -> ReconcileAnswer:
    priors, supplied = _priors(reading)
    grounds = lay_cuts(reading)
    evidence, used = _learn(reading)
    rng = np.random.default_rng([reading.seed, 9])
    cuts = tuple(
        _show(one, priors, used=any(one is other for other in used), rng=rng)
        for one in grounds
    )
    told = [one for one in cuts if one.used]
    outside = sum(not one.inside for one in told)
    chance = chance_of_outside(outside, len(told)) if told else None
    before, left = _left(reading, grounds)
    carried = bool(used) and is_carried(reading.log.ground)
    return ReconcileAnswer(
        **reading.heading(),
        cautions=_cautions(reading, cuts),
        assumptions=_assumptions(reading, supplied),
        cuts=cuts,
        outside=outside,
        chance_of_outside=chance,
        ground_factor=evidence.spread_of_part("ground") if used else None,
        call_factor=evidence.spread_of_part("call") if used else None,
        recovery=evidence.spread_of_part("recovery") if used else None,
        parts=_parts(evidence) if used else (),
        carried=carried,
        left_before_g=before,
        left_g=left if carried else before,
        kinds=grade_kinds(reading),
        verdict=say_evidence(
            len(cuts),
            len(told),
            outside=outside,
            chance=chance,
            call=evidence.spread_of_part("call") if used else None,
        ),
        grounds=grounds,
    )


def _assumptions(reading: Reading, supplied: Mapping[str, Any]) -> dict[str, Any]:
    return {**trace_streaks(reading).assumptions, **supplied}


def _parts(evidence: Evidence) -> tuple[PartOfDifference, ...]:
    return tuple(
        PartOfDifference(
            part=part,
            before=evidence.spread_of_part(part, before=True),
            after=evidence.spread_of_part(part),
        )
        for part in PARTS
    )


def _show(
    cut: CutGround, priors: Priors, *, used: bool, rng: np.random.Generator
) -> ReconciledCut:
    """Return one cut with its numbers and its sentence."""
    record = cut.cleanup
    won, bank = record.weighed_mg, record.bank_volume_m3
    found: CutBesideEstimate | None = None
    if cut.gold_mg is not None:
        found = compare_cut(
            cut.gold_mg, 0.0 if won is None else won, priors=priors, rng=rng
        )
    told = found if won is not None else None
    expected = None if found is None else found.expected_mg
    return ReconciledCut(
        cleanup=record.cleanup,
        area=record.area,
        date=record.date,
        bank_volume_m3=bank,
        pay_m3=None if cut.pay_m3 is None else spread_of(cut.pay_m3),
        won_g=None if won is None else won / 1000.0,
        won_mg_m3=None if won is None or bank is None else won / bank,
        expected_g=None if expected is None else expected.scaled(1e-3),
        expected_mg_m3=(
            None if expected is None or bank is None else expected.scaled(1.0 / bank)
        ),
        won_over_expected=(
            None
            if won is None or expected is None or expected.p50 <= 0.0
            else won / expected.p50
        ),
        chance_below=None if told is None else told.chance_below,
        inside=None if told is None else told.inside,
        used=used,
        said=say_cut(
            told,
            why=cut.why,
            weighed=won is not None,
            sampled=cut.sampled_share >= LEAST_SAMPLED,
            part_taken=cut.taken_share if cut.taken_share < PART_TAKEN else None,
            teaches=used,
            supposed_place=cut.supposed_place,
        ),
    )


def _left(
    reading: Reading, grounds: Sequence[CutGround]
) -> tuple[Spread | None, Spread | None]:
    """Return the gold outside the cuts [g], without and with the evidence."""
    ground = draw_ground(reading)
    if ground is None:
        return None, None
    area = np.where(ground.sampled, ground.area_m2, 0.0)
    for one in grounds:
        if one.share_m2 is not None:
            area = np.maximum(area - one.share_m2, 0.0)
    gold_mg = np.tensordot(ground.all_gold_mg_m2, area, axes=((1, 2), (0, 1)))
    gold_g = gold_mg / 1000.0
    carried = carry_evidence(reading)
    after = gold_g if carried is None else gold_g * carried.ground_factor
    return spread_of(gold_g), spread_of(after)


def _cautions(reading: Reading, cuts: Sequence[ReconciledCut]) -> tuple[str, ...]:
    said = list(trace_streaks(reading).cautions) if cuts else []
    if cuts:
        said += [TOGETHER, BLACK_SAND]
    kinds = grade_kinds(reading)
    if kinds.marked and kinds.worked.samples == 0:
        said.append(
            "No sample lies in the ground that is marked as worked: its gold is told "
            "as if nobody had taken any."
        )
    return tuple(said)
