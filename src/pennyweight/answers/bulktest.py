"""How much must be washed to be sure? The bulk test, its places and its verdicts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from pennyweight.answers.answer import Answer
from pennyweight.answers.bulksaid import say_bulk
from pennyweight.answers.cuts import GroundDraws, draw_ground, share_inside
from pennyweight.answers.frame import frame_ground
from pennyweight.answers.grade import read_graded, refuse_unwashed
from pennyweight.answers.plantread import plant_assumptions, read_plant
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import carry_evidence
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import CallError, TooLittleError
from pennyweight.sampling.graded import GradedSample
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.bulktest import (
    RECOVERY_REL_SD,
    SETTING_UP_HOURS,
    VOLUME_REL_SD,
    BulkPlan,
    GroundToTest,
    Outlook,
    Work,
    describe_test,
    foresee_results,
    plan_bulk_test,
    spread_places,
)
from pennyweight.worth.workedground import fit_grade_of_kind

FloatArray = npt.NDArray[np.float64]

#: What is asked for where nothing is said: within a quarter, four times in five [-].
WITHIN, SURE = 0.25, 0.80
#: Errors that a plan is shown for besides the one asked for [-].
LADDER = (0.5, 0.35, 0.25, 0.15)
#: A cell is pay where this many of the draws say so [-]; ours.
PAY_CHANCE = 0.5
#: Digs from which the unevenness of the ground tested is told by its own [-]; ours.
LEAST_DIGS = 3
#: Variation from place to place where too few digs tell it [-]; ours.
USUAL_PLACE_CV = 1.0

BULK_CAUTION = (
    "Washing in bulk is mining in the eyes of most authorities: ask for permits and "
    "water before you begin. Keep out of any hole whose walls could come in."
)
BEST_SPOT = (
    "Dig where the plan says, not at the best spot: a rich hole proves nothing about "
    "the ground around it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkPlace:
    """One place to take a part of the test from; depths below the surface."""

    number: int
    easting_m: float
    northing_m: float
    s_m: float
    n_m: float
    bank_m3: float
    top_m: float | None
    bottom_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkStep:
    """What another error would take; None where no test can reach it."""

    within: float
    places: int | None
    bank_m3: float | None
    hours: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkAnswer(Answer):
    """The bulk test of the ground that would be mined.

    Attributes
    ----------
    tested : str
        Which ground: the cut, pay, or the sampled stretch.
    grade_mg_m3 : Spread
        Of its pay, as believed now.
    threshold_mg_m3 : float
        That it should exceed.
    within, sure : float
        Error asked for, and how surely.
    plan : BulkPlan or None
        None where no test of up to 60 places can do it.
    outlook : Outlook or None
        What results would mean.
    places : tuple of BulkPlace
        Where to dig.
    ladder : tuple of BulkStep
        Other errors.
    place_cv, color_mg : float
        Variation from place to place, mass of a color.
    """

    tested: str
    grade_mg_m3: Spread
    threshold_mg_m3: float
    within: float
    sure: float
    plan: BulkPlan | None
    outlook: Outlook | None
    places: tuple[BulkPlace, ...]
    ladder: tuple[BulkStep, ...]
    place_cv: float
    color_mg: float
    plant: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Target:
    """The ground that is tested: its words, cells [m2] and grades of all draws."""

    words: str
    share_m2: FloatArray
    grade_mg_m3: FloatArray


def plan_bulk(
    reading: Reading,
    *,
    within: float = WITHIN,
    sure: float = SURE,
    threshold_mg_m3: float | None = None,
) -> BulkAnswer:
    """Return the bulk test that would confirm or refute the ground.

    Parameters
    ----------
    reading : Reading
        The book.
    within : float
        Half-width over the grade that is wanted, 0.05 to 1 [-].
    sure : float
        How surely, 0.5 to 0.99 [-].
    threshold_mg_m3 : float, optional
        That the ground should exceed; else what just pays [mg/m3 bank].

    Returns
    -------
    BulkAnswer
        Volume, places, hours, and what results would mean.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    TooLittleError
        Nothing was washed, or no gold is expected anywhere.
    """
    if not (0.05 <= within <= 1.0 and 0.5 < sure <= 0.99):
        msg = (
            f"the test is asked for within {within:.0%}, {sure:.0%} sure; give 5 to "
            "100 percent, and 51 to 99."
        )
        raise CallError(msg)
    if threshold_mg_m3 is not None and not threshold_mg_m3 > 0.0:
        msg = f"the grade to confirm is {threshold_mg_m3} mg/m3; it must be above 0."
        raise CallError(msg)
    refuse_unwashed(reading)
    key = ("bulk", within, sure, threshold_mg_m3)
    return reading.once(key, lambda: _plan(reading, within, sure, threshold_mg_m3))


def _plan(
    reading: Reading, within: float, sure: float, wanted_mg_m3: float | None
) -> BulkAnswer:
    drawn = draw_ground(reading)
    if drawn is None:
        msg = "No dig has a position: where to test cannot be told."
        raise TooLittleError(msg)
    target = _choose_target(reading, drawn)
    now = spread_of(target.grade_mg_m3)
    if now is None or not now.p50 > 0.0:
        msg = "No gold is expected anywhere: there is nothing to confirm."
        raise TooLittleError(msg)
    threshold = _threshold(reading) if wanted_mg_m3 is None else wanted_mg_m3
    ground, place_said = _ground_to_test(reading, drawn, target, now.p50)
    terms = read_plant(reading)
    work = Work(
        washes_m3_per_hour=terms.m3_per_hour,
        digs_m3_per_hour=terms.digs_m3_per_hour,
        strip_ratio=_strip_ratio(reading, drawn, target),
        water_m3_per_hour=terms.water_m3_per_hour,
    )
    plan = plan_bulk_test(ground, work, within, sure=sure)
    outlook: Outlook | None = None
    places: tuple[BulkPlace, ...] = ()
    if plan is not None:
        places = _lay_places(reading, drawn, target, plan)
        plan = describe_test(ground, work, places=len(places), bank_m3=plan.bank_m3)
        outlook = foresee_results(
            target.grade_mg_m3, plan.rel_sd, threshold_mg_m3=threshold, sure=sure
        )
    return BulkAnswer(
        **reading.heading(),
        cautions=(BEST_SPOT, BULK_CAUTION),
        assumptions=_assumptions(reading, place_said),
        tested=target.words,
        grade_mg_m3=now,
        threshold_mg_m3=threshold,
        within=within,
        sure=sure,
        plan=plan,
        outlook=outlook,
        places=places,
        ladder=tuple(_step(ground, work, one, sure) for one in LADDER),
        place_cv=ground.place_cv,
        color_mg=ground.color_mg,
        plant=terms.plant,
        verdict=say_bulk(plan, outlook, within=within, sure=sure, tested=target.words),
    )


def _assumptions(reading: Reading, place_said: Mapping[str, Any]) -> dict[str, Any]:
    plant = plant_assumptions(read_plant(reading), "m3_per_hour", "water")
    return {
        **trace_streaks(reading).assumptions,
        **plant,
        **place_said,
        "bulk_volume_rel_sd": VOLUME_REL_SD,
        "bulk_recovery_rel_sd": RECOVERY_REL_SD,
        "bulk_setting_up_hours": SETTING_UP_HOURS,
    }


def _step(ground: GroundToTest, work: Work, within: float, sure: float) -> BulkStep:
    plan = plan_bulk_test(ground, work, within, sure=sure)
    return BulkStep(
        within=within,
        places=None if plan is None else plan.places,
        bank_m3=None if plan is None else plan.bank_m3,
        hours=None if plan is None else plan.hours,
    )


def _threshold(reading: Reading) -> float:
    """Return the grade that just pays: of the cut where one is proposed."""
    try:
        found = weigh_worth(reading).break_even_grade_mg_m3
    except TooLittleError:
        found = None
    return trace_streaks(reading).cutoff_mg_m3 if found is None else found


def _choose_target(reading: Reading, drawn: GroundDraws) -> _Target:
    """Return the cut; where none is proposed, pay; where there is none, all."""
    sampled = np.where(drawn.sampled, drawn.area_m2, 0.0)
    cut = _cut_share(reading, drawn)
    fields = trace_streaks(reading).fields
    pay = np.max([one.probability_above for one in fields], axis=0) >= PAY_CHANCE
    tried = (
        ("the pay of the cut", np.where(drawn.worth_washing, sampled * cut, 0.0)),
        ("the ground that is probably pay", np.where(pay, sampled, 0.0)),
        ("the sampled stretch", sampled),
    )
    words, share = next((one for one in tried if one[1].any()), tried[-1])
    gold = np.tensordot(drawn.gold_mg_m2, share, axes=((1, 2), (0, 1)))
    volume = np.tensordot(drawn.pay_m, share, axes=((1, 2), (0, 1)))
    grade = gold / np.maximum(volume, 1e-9)
    carried = carry_evidence(reading)
    if carried is not None:
        grade = grade * carried.ground_factor
    return _Target(words=words, share_m2=share, grade_mg_m3=grade)


def _cut_share(reading: Reading, drawn: GroundDraws) -> FloatArray:
    """Return how much of each cell the proposed cut opens [-]."""
    frame = frame_ground(reading)
    try:
        cut = weigh_worth(reading).cut
    except TooLittleError:
        cut = None
    if cut is None:
        return np.zeros(drawn.area_m2.shape)
    if frame.map.crs is None:
        area = shapely.geometry.shape(cut.polygon)
    else:
        rings, _ = frame.map.parts(cut.polygon)
        area = shapely.Polygon()
        for ring in rings:  # a ring inside another is a hole
            area = shapely.symmetric_difference(area, shapely.Polygon(ring))
    return share_inside(area, frame, (drawn.s_m, drawn.n_m))


def _ground_to_test(
    reading: Reading, drawn: GroundDraws, target: _Target, grade_mg_m3: float
) -> tuple[GroundToTest, dict[str, Any]]:
    """Return what the record tells of grains and places, and what was supplied."""
    graded = read_graded(reading)
    counting = [
        one
        for one in graded.samples
        if one.counts_for_grade and one.bank_m3 and one.colors is not None
    ]
    place_cv, supplied = _place_cv(reading, drawn, target, counting)
    weights = np.array([(one.colors or 0.0) + 0.5 for one in counting])
    masses = np.array([one.color_mg for one in counting])
    nuggets = graded.nuggets
    ground = GroundToTest(
        grade_mg_m3=grade_mg_m3,
        color_mg=float(weights @ masses / weights.sum()),
        color_cv=float(np.median([one.color_cv for one in counting])),
        place_cv=place_cv,
        nuggets_per_m3=0.0 if nuggets is None else nuggets.per_m3.mean,
        nugget_mg=0.0 if nuggets is None else nuggets.mean_mg,
    )
    return ground, supplied


def _place_cv(
    reading: Reading,
    drawn: GroundDraws,
    target: _Target,
    counting: list[GradedSample],
) -> tuple[float, dict[str, Any]]:
    """Return how much grades differ from place to place within the ground tested."""
    inside = _digs_inside(reading, drawn, target)
    for digs in (inside, {one.dig for one in counting}):
        own = [one for one in counting if one.dig in digs]
        names = {one.dig: at for at, one in enumerate(own)}
        if len(names) < LEAST_DIGS:
            continue
        found = fit_grade_of_kind(
            [one.bank_m3 or 0.0 for one in own],
            [one.colors or 0.0 for one in own],
            [one.color_mg for one in own],
            recovery=[one.recovery for one in own],
            place=[names[one.dig] for one in own],
        )
        if found is not None:
            return found.place_cv(), {}
    return USUAL_PLACE_CV, {"bulk_place_cv": USUAL_PLACE_CV}


def _digs_inside(reading: Reading, drawn: GroundDraws, target: _Target) -> set[str]:
    """Return the digs that lie in the cells tested."""
    found = set()
    for name, place in frame_ground(reading).places.items():
        row = int(np.argmin(np.abs(drawn.s_m - place.s_m)))
        column = int(np.argmin(np.abs(drawn.n_m - place.n_m)))
        if target.share_m2[row, column] > 0.0:
            found.add(name)
    return found


def _depths(reading: Reading, row: int, column: int) -> tuple[float, float] | None:
    """Return top and bottom of the richest pay of a cell [m]; None where unknown."""
    fields = trace_streaks(reading).fields
    best = max(
        fields, key=lambda one: float(one.accumulation_mg_m2[:, row, column].mean())
    )
    top, thick = (
        np.nanmedian(one) if np.isfinite(one).any() else math.nan
        for one in (best.top_m[:, row, column], best.thickness_m[:, row, column])
    )
    if not (math.isfinite(top) and math.isfinite(thick)):
        return None
    return float(top), float(top + thick)


def _strip_ratio(reading: Reading, drawn: GroundDraws, target: _Target) -> float:
    """Return overburden over pay where the test is dug [-]; 0 where unknown."""
    weight = target.share_m2 * drawn.pay_m.mean(axis=0)
    over = np.zeros(weight.shape)
    for one in trace_streaks(reading).fields:
        known = np.isfinite(one.top_m).any(axis=0)
        top = np.zeros(weight.shape)
        top[known] = np.nanmean(one.top_m[:, known], axis=0)
        over = np.maximum(over, top)
    volume = float(weight.sum())
    return float((target.share_m2 * over).sum()) / volume if volume > 0.0 else 0.0


def _lay_places(
    reading: Reading, drawn: GroundDraws, target: _Target, plan: BulkPlan
) -> tuple[BulkPlace, ...]:
    """Return the places, spread evenly over the pay of the ground tested."""
    pay = target.share_m2 * drawn.pay_m.mean(axis=0)
    rows, columns = np.nonzero(pay > 0.0)
    # Back and forth across the valley, so that neighbors follow each other.
    order = np.lexsort((np.where(rows % 2 == 0, columns, -columns), rows))
    rows, columns = rows[order], columns[order]
    found = spread_places(pay[rows, columns], plan.places)
    line = frame_ground(reading).centerline
    assert line is not None  # noqa: S101 - there are cells only with one
    places = []
    for number, at in enumerate(found, 1):
        row, column = int(rows[at]), int(columns[at])
        s_m, n_m = float(drawn.s_m[row]), float(drawn.n_m[column])
        east, north = line.to_map(np.array([s_m]), np.array([n_m]))
        depths = _depths(reading, row, column)
        places.append(
            BulkPlace(
                number=number,
                easting_m=float(east[0]),
                northing_m=float(north[0]),
                s_m=s_m,
                n_m=n_m,
                bank_m3=plan.bank_m3 / len(found),
                top_m=None if depths is None else depths[0],
                bottom_m=None if depths is None else depths[1],
            )
        )
    return tuple(places)
