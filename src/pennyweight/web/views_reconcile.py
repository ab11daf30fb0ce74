"""After the estimate: the bulk test, clean-ups beside it, gold by the hour."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.bulksaid import WEIGHED_TOGETHER, say_bulk
from pennyweight.answers.bulktest import SURE, WITHIN, BulkAnswer, plan_bulk
from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.handsaid import say_hours
from pennyweight.answers.handwork import HoursAnswer, weigh_handwork
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import (
    CARRY_KEY,
    NOT_CARRIED,
    ReconcileAnswer,
    is_carried,
    reconcile,
)
from pennyweight.answers.reconcilesaid import PART_WORDS
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.pictures.bulkplan import draw_bulk_plan
from pennyweight.pictures.reconcilechart import draw_reconcile
from pennyweight.pictures.svg import Look
from pennyweight.units import from_inside, to_inside
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.page import Ask, door
from pennyweight.web.writing import change_ground

#: What may be asked of a bulk test, in percent: least and most.
LIMITS = {"within": (5.0, 100.0), "sure": (51.0, 99.0)}


@dataclass(frozen=True)
class Drawn:
    """An answer with its picture."""

    answer: ReconcileAnswer | BulkAnswer
    picture: Markup


def lay_beside(reading: Reading, look: Look) -> Drawn:
    """Return the clean-ups beside their estimates, drawn."""
    answer = reconcile(reading)
    return Drawn(answer, on_page(draw_reconcile(answer, look), look))


def show_cleanups(ask: Ask) -> Response:
    """Show clean-ups beside what was expected, and what they teach."""
    look = look_of(ask)
    drawn = ask.desk.ask(("cleanups", look), lambda reading: lay_beside(reading, look))
    return ask.show_answer(
        "reconcile.html",
        drawn.answer,
        question="worth",
        picture=drawn.picture,
        part_words=PART_WORDS,
        switched_on=is_carried(ask.desk.log.ground),
        assumed=show_assumptions(drawn.answer.assumptions),
    )


def switch_evidence(ask: Ask) -> Response:
    """Let clean-ups into the next estimate, or keep them out."""
    ground = ask.desk.log.ground
    extra = {key: text for key, text in ground.extra.items() if key != CARRY_KEY}
    why = "Carried clean-ups into the next estimate"
    if ask.sent("carry") == NOT_CARRIED:
        extra[CARRY_KEY] = NOT_CARRIED
        why = "Kept clean-ups out of the next estimate"
    change_ground(ask.desk, who=ask.who, why=why, extra=extra)
    return ask.to("worth", "cleanups")


def lay_test(
    reading: Reading, look: Look, *, within: float, sure: float, grade: float | None
) -> Drawn:
    """Return the bulk test, drawn on the plan."""
    answer = plan_bulk(reading, within=within, sure=sure, threshold_mg_m3=grade)
    plan = draw_bulk_plan(
        show_ground(reading),
        answer,
        look,
        grade=grade_ground(reading),
        worth=_worth_of(reading),
    )
    return Drawn(answer, on_page(plan, look))


def _worth_of(reading: Reading) -> WorthAnswer | None:
    """Return what the ground is worth; None without price or costs."""
    try:
        return weigh_worth(reading)
    except TooLittleError:
        return None


def show_bulk(ask: Ask) -> Response:
    """Show how much to wash, where, and what the result would mean."""
    look = look_of(ask)
    typed, errors = _read_wishes(ask)
    within, sure, grade = (typed.get(one) for one in ("within", "sure", "grade"))
    drawn = ask.desk.ask(
        ("bulk", look, within, sure, grade),
        lambda reading: lay_test(
            reading, look, within=within or WITHIN, sure=sure or SURE, grade=grade
        ),
    )
    answer = drawn.answer
    assert isinstance(answer, BulkAnswer)  # noqa: S101 - lay_test makes no other
    return ask.show_answer(
        "bulk.html",
        answer,
        question="worth",
        picture=drawn.picture,
        errors=errors,
        typed=_shown_wishes(ask, answer),
        weighed_together=WEIGHED_TOGETHER,
        verdict=say_bulk(
            answer.plan,
            answer.outlook,
            within=answer.within,
            sure=answer.sure,
            tested=answer.tested,
            measures=ask.measures,
        ),
        assumed=show_assumptions(answer.assumptions),
    )


def _read_wishes(ask: Ask) -> tuple[dict[str, float], dict[str, str]]:
    """Return error, sureness and grade as asked for, and complaints."""
    found: dict[str, float] = {}
    errors: dict[str, str] = {}
    for name in ("within", "sure", "grade"):
        text = ask.query(name).strip()
        if not text:
            continue
        try:
            found[name] = _read_wish(ask, name, text)
        except FieldError as error:
            errors[name] = str(error)
    return found, errors


def _read_wish(ask: Ask, name: str, text: str) -> float:
    value = parse_number(text)
    if name == "grade":
        if not value > 0.0:
            msg = f"{text} is not taken; a grade is above 0."
            raise FieldError(msg)
        return to_inside(value, ask.measures.grade, "grade")
    low, high = LIMITS[name]
    if not low <= value <= high:
        msg = f"{text} is not taken; give {low:g} to {high:g}."
        raise FieldError(msg)
    return value / 100.0


def _shown_wishes(ask: Ask, answer: BulkAnswer) -> dict[str, str]:
    """Return what stands in the fields: what was typed, else what was answered."""
    grade = from_inside(answer.threshold_mg_m3, ask.measures.grade, "grade")
    return {
        "within": ask.query("within", f"{answer.within * 100.0:.0f}"),
        "sure": ask.query("sure", f"{answer.sure * 100.0:.0f}"),
        "grade": ask.query("grade", f"{grade:.{0 if grade >= 10.0 else 2}f}"),
    }


def show_hours(ask: Ask) -> Response:
    """Show gold by the hour beside gold by volume."""
    answer: HoursAnswer = ask.desk.ask("hours", weigh_handwork)
    first = answer.kinds[0] if answer.kinds else None
    return ask.show_answer(
        "hours.html",
        answer,
        question="worth",
        verdict=say_hours(
            first.kind if first else None,
            first.work.per_hour if first else None,
            money=first.money_per_hour if first else None,
            currency=answer.currency or "money",
            measures=ask.measures,
        ),
        assumed=show_assumptions(answer.assumptions),
    )


ROUTES = [
    Route("/worth/cleanups", door(show_cleanups)),
    Route("/worth/cleanups.json", door(show_cleanups)),
    Route("/worth/cleanups", door(switch_evidence), methods=["POST"]),
    Route("/worth/bulk", door(show_bulk)),
    Route("/worth/bulk.json", door(show_bulk)),
    Route("/worth/hours", door(show_hours)),
    Route("/worth/hours.json", door(show_hours)),
]
