"""What next? The digs that would change the decision most for their sweat."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.digreasons import KIND_WORDS
from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.nextsaid import unmet_rules
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import next_verdict
from pennyweight.answers.trace import trace_streaks
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.page import Ask, door

#: The most days that are planned ahead [d].
MOST_DAYS = 30.0


@dataclass(frozen=True)
class Next:
    """The digs proposed, on the map."""

    answer: NextAnswer
    picture: Markup


def plan(reading: Reading, days: float, look: Look) -> Next:
    """Return the digs proposed for so many days, with their map."""
    answer = plan_digs(reading, days)
    drawn = draw_plan(
        show_ground(reading),
        look,
        grade=grade_ground(reading),
        trace=trace_streaks(reading),
        nextdigs=answer,
    )
    return Next(answer, on_page(drawn, look))


def read_days(ask: Ask) -> float:
    """Return the number of days asked for; 1 if nothing is said."""
    text = ask.query("days", "1")
    try:
        days = parse_number(text)
    except FieldError as error:
        raise PageError(str(error), 422) from error
    if not 0.0 < days <= MOST_DAYS:
        msg = f"{text} days are not planned; give more than 0 and up to {MOST_DAYS:g}."
        raise PageError(msg, 422)
    return days


def show_next(ask: Ask) -> Response:
    """Show where to dig next, and why."""
    days, look = read_days(ask), look_of(ask)
    found = ask.desk.ask(
        ("next", days, look), lambda reading: plan(reading, days, look)
    )
    return ask.show_answer(
        "next.html",
        found.answer,
        question="next",
        picture=found.picture,
        days=ask.query("days", "1"),
        kinds=KIND_WORDS,
        verdict=next_verdict(found.answer, ask.measures),
        rules=unmet_rules(found.answer, ask.measures),
        on_earth=ask.desk.log.ground.crs is not None,
        currency=ask.desk.log.ground.currency or "",
        assumed=show_assumptions(found.answer.assumptions),
    )


def show_proposed(ask: Ask) -> Response:
    """Tell about the proposed dig, or the dig, that was picked on the map."""
    if ask.query("dig"):
        return ask.to("pans", f"note?dig={ask.query('dig')}")
    days = read_days(ask)
    answer = ask.desk.ask(("digs", days), lambda reading: plan_digs(reading, days))
    rank = ask.query("proposed")
    dig = next((one for one in answer.digs if str(one.rank) == rank), None)
    if dig is None:
        msg = f"There is no proposed dig {rank!r}."
        raise PageError(msg, 404)
    return ask.show("note_proposed.html", dig=dig, kinds=KIND_WORDS)


ROUTES = [
    Route("/next", door(show_next)),
    Route("/next.json", door(show_next)),
    Route("/next/note", door(show_proposed)),
]
