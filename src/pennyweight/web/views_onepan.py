"""One pan: dig, wash, tap, and see what it changes: the wall, the map, the next dig."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.grade import SampleGrade, grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import next_verdict
from pennyweight.answers.trace import trace_streaks
from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.onepan import offer_digs, read_pan
from pennyweight.web.page import Ask, door
from pennyweight.web.writing import write

#: Numbers of colors that have a button of their own.
BUTTONS = tuple(range(11))


@dataclass(frozen=True)
class AfterPan:
    """What one pan changed."""

    sample: SampleGrade
    wall: Markup
    plan: Markup
    next: NextAnswer


def look_again(reading: Reading, sample: str, look: Look) -> AfterPan:
    """Return the wall, the map and the next digs once a pan is written down."""
    ground, grade = show_ground(reading), grade_ground(reading)
    found = next((one for one in grade.samples if one.sample == sample), None)
    if found is None:
        msg = f"There is no sample {sample!r} in this book."
        raise PageError(msg, 404)
    answer = plan_digs(reading)
    plan = draw_plan(
        ground, look, grade=grade, trace=trace_streaks(reading), nextdigs=answer
    )
    wall = draw_dig_wall(ground, grade, found.dig, look=look)
    return AfterPan(found, on_page(wall, look), on_page(plan, look), answer)


def show_one_pan(ask: Ask) -> Response:
    """Ask for one pan; below it stands what the last one changed."""
    return _show(ask, {})


def _show(ask: Ask, errors: dict[str, str]) -> Response:
    if not ask.desk.log.digs:
        return ask.to("first")
    kept, look = ask.query("kept"), look_of(ask)
    after = None
    if kept:
        after = ask.desk.ask(
            ("one pan", kept, look), lambda reading: look_again(reading, kept, look)
        )
    offers = offer_digs(ask.desk.log)
    offered = {one.dig for one in offers}
    return ask.show(
        "onepan.html",
        status=422 if errors else 200,
        question="next",
        offers=offers,
        others=[dig.dig for dig in ask.desk.log.digs if dig.dig not in offered],
        buttons=BUTTONS,
        values=ask.form,
        errors=errors,
        after=after,
        verdict=next_verdict(after.next, ask.measures) if after else (),
    )


def keep_one_pan(ask: Ask) -> Response:
    """Write one pan down, and show what it changes."""
    today = datetime.now(UTC).astimezone().date().isoformat()
    form = ask.form | {"dig": ask.sent("other") or ask.sent("dig")}
    form["colors"] = ask.sent("more") or ask.sent("colors")
    pan = read_pan(form, ask.desk.log, ask.measures, today=today)
    errors = pan.errors
    if not errors:
        written = write(ask.desk, pan.changes, who=ask.who, why=pan.why)
        errors = written.complaints or {}
    if errors:
        return _show(ask, errors)
    kept = urlencode({"kept": pan.sample})
    return ask.to("next", f"pan?{kept}")


ROUTES = [
    Route("/next/pan", door(show_one_pan)),
    Route("/next/pan", door(keep_one_pan), methods=["POST"]),
]
