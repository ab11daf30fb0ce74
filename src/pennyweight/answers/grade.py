"""What does each pan say? The answer `grade`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.enough import Enough, judge_enough
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.ground import find_unwashed
from pennyweight.answers.reading import Reading
from pennyweight.errors import Finding, TooLittleError
from pennyweight.records import Dig, Ground, Log
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSample, GradedSamples
from pennyweight.sampling.intervals import (
    best_interval,
    cut_slices,
    sample_thickness,
    sum_spread,
)
from pennyweight.sampling.quality import Review, check_quality, review_quality
from pennyweight.spread import Spread
from pennyweight.streaks.contacts import GRAVEL, Column, read_columns
from pennyweight.streaks.horizons import zone_bounds
from pennyweight.worth.terms import (
    DEFAULT_MIN_PAY_M,
    STRIP_SHARE_OF_WASH,
    find_missing_terms,
    read_terms,
)

FloatArray = npt.NDArray[np.float64]

#: Grade that just pays for washing where the book has no price or no costs [mg/m3].
DEFAULT_CUTOFF_MG_M3 = 100.0

#: What `worth` supplied that enters the two grades.
COST_ASSUMPTIONS = (
    "fineness_per_mille",
    "plant",
    "plant_recovery_share",
    "strip_cost_per_m3",
)
#: The same, where hours or days are paid.
TIME_ASSUMPTIONS = (
    "plant_m3_per_hour",
    "plant_digs_m3_per_hour",
    "plant_hours_per_day",
    "plant_availability",
)
#: What the reason of a find without volume says.
FIND = "no fair volume"

#: Fields of a dig's grade that its best interval gives.
INTERVAL_FIELDS = (
    "best_horizon",
    "pay_top_m",
    "pay_bottom_m",
    "overburden_m",
    "grade_mg_m3",
    "accumulation_mg_m2",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleGrade:
    """The grade of one sample; fields as the JSON prints them.

    `bank_m3` and `colors` are this sample's own; a duplicate's gold enters the grade
    of the sample that it repeats. `exact_mg_m3` are the exact 80 % limits from this
    sample's colors alone: with no color, the upper one is what may still be there.
    """

    sample: str
    dig: str
    line: str | None
    top_m: float | None
    bottom_m: float | None
    bank_m3: float | None
    colors: float | None
    grade_mg_m3: Spread | None
    reliability: str
    expected_colors_at_cutoff: float | None = None
    why: str = ""
    exact_mg_m3: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DigGrade:
    """The best mining interval of one dig; fields as the JSON prints them.

    `best_horizon` is None and depths are None when nothing washed has a volume.
    """

    dig: str
    line: str | None
    easting_m: float | None
    northing_m: float | None
    s_m: float | None
    n_m: float | None
    best_horizon: str | None
    pay_top_m: float | None
    pay_bottom_m: float | None
    overburden_m: float | None
    grade_mg_m3: Spread | None
    accumulation_mg_m2: Spread | None
    bottom_m: float | None = for_pictures(default=None)
    stopped_by: str | None = for_pictures(default=None)
    unwashed: tuple[str, ...] = for_pictures(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeAnswer(Answer):
    """Grades of every sample and dig, with what is odd about them."""

    samples: tuple[SampleGrade, ...]
    digs: tuple[DigGrade, ...]
    findings: tuple[Finding, ...] = ()
    enough: Enough | None = None
    graded: GradedSamples | None = for_pictures(default=None)
    review: Review | None = for_pictures(default=None)


@dataclass(frozen=True, slots=True)
class Cutoff:
    """What washing and stripping a cubic meter cost, in gold [mg/m3]."""

    wash_mg_m3: float
    strip_mg_m3: float
    min_pay_m: float
    assumptions: Mapping[str, Any]


def read_graded(reading: Reading) -> GradedSamples:
    """Return the judged samples of a reading, worked out once."""
    return reading.once("graded", lambda: grade_samples(reading.log))


def refuse_unwashed(reading: Reading) -> None:
    """Refuse to answer where nothing that was washed tells of a volume of ground.

    Raises
    ------
    TooLittleError
        No washed sample has a fair volume.
    """
    if any(one.grade_mg_m3 is not None for one in read_graded(reading).samples):
        return
    count = len(reading.log.samples)
    who = f"None of the {count} samples is washed and has a fair volume"
    if count < 2:
        who = (
            "There is no sample yet",
            "The one sample is not washed yet, or has no fair volume",
        )[count]
    msg = (
        f"{who}, so no grade can be told: wash a channel or bulk sample, and write "
        "down its pans or its volume."
    )
    raise TooLittleError(msg)


def grade_ground(reading: Reading) -> GradeAnswer:
    """Return what every sample and dig says.

    Raises
    ------
    TooLittleError
        No washed sample has a fair volume.
    """
    log = reading.log
    refuse_unwashed(reading)
    graded = read_graded(reading)
    review = review_quality(log, graded.samples)
    frame = frame_ground(reading)
    cutoff = read_cutoff(log.ground)
    unwashed = find_unwashed(log)
    lines = {one.dig: one.line for one in log.digs}
    by_dig = graded.by_dig()
    columns = read_columns(log)
    return GradeAnswer(
        **reading.heading(),
        cautions=_cautions(graded, unwashed),
        assumptions={**graded.assumptions, **cutoff.assumptions},
        samples=tuple(
            _sample_grade(one, lines.get(one.dig), cutoff) for one in graded.samples
        ),
        digs=tuple(
            _place(
                dig,
                frame,
                {
                    **_best_of(
                        by_dig.get(dig.dig, ()), columns[dig.dig], graded, cutoff
                    ),
                    "unwashed": _unwashed_of(log, dig.dig, unwashed),
                },
            )
            for dig in log.digs
        ),
        findings=(*graded.findings, *check_quality(log, graded.samples, review)),
        enough=judge_enough(graded, log.digs, cutoff.wash_mg_m3),
        graded=graded,
        review=review,
    )


def read_cutoff(ground: Ground) -> Cutoff:
    """Return the grades that pay for washing and for stripping.

    From price, costs and plant where the book has them, as `worth` reckons them; fixed
    costs do not enter, for no layer is chosen to carry them.
    """
    assumptions: dict[str, Any] = {}
    min_pay_m = ground.min_pay_m
    if min_pay_m is None:
        min_pay_m = DEFAULT_MIN_PAY_M
        assumptions["min_pay_m"] = min_pay_m
    if find_missing_terms(ground):
        wash = DEFAULT_CUTOFF_MG_M3
        strip = STRIP_SHARE_OF_WASH * wash
        assumptions["cutoff_mg_m3"] = wash
        assumptions["strip_share_of_wash"] = STRIP_SHARE_OF_WASH
    else:
        terms = read_terms(ground)
        wash = terms.washing / terms.value_per_mg
        strip = terms.stripping / terms.value_per_mg
        for key in (*COST_ASSUMPTIONS, *(TIME_ASSUMPTIONS if terms.hourly else ())):
            if key in terms.assumptions:
                assumptions[key] = terms.assumptions[key]
    return Cutoff(wash, strip, min_pay_m, assumptions)


def _sample_grade(one: GradedSample, line: str | None, cutoff: Cutoff) -> SampleGrade:
    """Return one sample as the answer prints it."""
    expected = None
    if one.bank_m3 is not None and one.grade_mg_m3 is not None:
        per_grade = one.bank_m3 * one.recovery / one.color_mg
        expected = cutoff.wash_mg_m3 * per_grade
    return SampleGrade(
        sample=one.sample,
        dig=one.dig,
        line=line,
        top_m=one.top_m,
        bottom_m=one.bottom_m,
        bank_m3=one.own_bank_m3,
        colors=one.own_colors if one.counted else None,
        grade_mg_m3=one.grade_mg_m3,
        reliability=one.reliability,
        expected_colors_at_cutoff=expected,
        why=one.why,
        exact_mg_m3=one.exact_mg_m3,
    )


def _best_of(
    samples: tuple[GradedSample, ...],
    column: Column,
    graded: GradedSamples,
    cutoff: Cutoff,
) -> dict[str, Any]:
    """Return the best interval of a dig as the answer's fields."""
    slices = cut_slices(samples)
    if slices is None:
        return dict.fromkeys(INTERVAL_FIELDS)
    grades = np.array([_expected(one) for one in samples])
    best = best_interval(
        slices,
        grades,
        wash_mg_m3=cutoff.wash_mg_m3,
        strip_mg_m3=cutoff.strip_mg_m3,
        min_pay_m=cutoff.min_pay_m,
    )
    run = slice(best.first, best.last + 1)
    gold = slices.weights[run] @ np.nan_to_num(grades) * slices.thickness_m[run]
    parts = sample_thickness(slices, best.first, best.last)
    shared = math.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd)
    accumulation = sum_spread(samples, parts, shared_rel_sd=shared)
    grade = None
    if accumulation is not None:
        grade = accumulation.scaled(1.0 / (best.bottom_m - best.top_m))
    horizon = name_horizon(
        column, slices.top_m[run], slices.bottom_m[run], gold_mg_m2=gold
    )
    found = (horizon, best.top_m, best.bottom_m, best.top_m, grade, accumulation)
    return dict(zip(INTERVAL_FIELDS, found, strict=True))


def _expected(sample: GradedSample) -> float:
    """Return the expected grade of a sample [mg/m3]; nan without one."""
    return math.nan if sample.grade_mg_m3 is None else sample.grade_mg_m3.mean


def name_horizon(
    column: Column, top_m: FloatArray, bottom_m: FloatArray, *, gold_mg_m2: FloatArray
) -> str:
    """Return the horizon whose zone holds most of the gold of a run of slices.

    What lies in no contact's zone belongs to the horizon `gravel`.
    """
    thickness = bottom_m - top_m
    held = {GRAVEL: float(gold_mg_m2.sum())}
    for contact, (top, depth, low) in zip(
        column.contacts, zone_bounds(column), strict=True
    ):
        inside = np.minimum(bottom_m, max(low, depth)) - np.maximum(top_m, top)
        gold = float((np.clip(inside, 0.0, None) / thickness) @ gold_mg_m2)
        held[contact.horizon] = gold
        held[GRAVEL] -= gold
    # Of equals the deepest: gold works its way down.
    return max(reversed(held), key=lambda name: round(held[name], 9))


def _place(dig: Dig, frame: Frame, found: Mapping[str, Any]) -> DigGrade:
    """Return a dig's best interval where it lies."""
    place = frame.places.get(dig.dig)
    return DigGrade(
        dig=dig.dig,
        line=dig.line,
        easting_m=dig.easting_m,
        northing_m=dig.northing_m,
        s_m=None if place is None else place.s_m,
        n_m=None if place is None else place.n_m,
        bottom_m=dig.bottom_m,
        stopped_by=dig.stopped_by,
        **found,
    )


def _unwashed_of(log: Log, dig: str, unwashed: tuple[str, ...]) -> tuple[str, ...]:
    """Return the samples of a dig that wait to be washed."""
    return tuple(s.sample for s in log.samples if s.dig == dig and s.sample in unwashed)


def _cautions(graded: GradedSamples, unwashed: tuple[str, ...]) -> tuple[str, ...]:
    """Return what the reader must know before acting on the grades."""
    cautions = ["Grades are what samples say of the ground: no resource or reserve."]
    if unwashed:
        n = len(unwashed)
        cautions.append(
            f"{n} sample{'s wait' if n > 1 else ' waits'} to be washed: unknown, not "
            "zero."
        )
    finds = sum(one.own_bank_m3 is None and FIND in one.why for one in graded.samples)
    if finds:
        many = finds > 1
        cautions.append(
            f"{finds} find{'s' if many else ''} without a fair volume (grab, crevice, "
            f"moss, root) {'tell' if many else 'tells'} of gold but "
            f"{'enter' if many else 'enters'} no grade."
        )
    return tuple(cautions)
