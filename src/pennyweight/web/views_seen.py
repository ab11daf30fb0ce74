"""What have I seen? The record laid out, what waits, what looks odd, what was done."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from pennyweight.answers.ground import GroundAnswer, show_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import ground_verdict
from pennyweight.errors import RefusedError, TooLittleError
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.web.columns import TABLES
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.strip import unwashed
from pennyweight.web.views_draw import flow_of, graded_so_far

#: Batches of the history on one page [-].
PAGE_BATCHES = 30

#: Batches that are looked through for the one that is taken back [-].
MOST_BATCHES = 5000


@dataclass(frozen=True)
class Seen:
    """The record laid out on the map."""

    ground: GroundAnswer
    picture: Markup


def lay_out(reading: Reading, look: Look) -> Seen:
    """Return the ground with its picture."""
    ground = show_ground(reading)
    try:
        grade = graded_so_far(reading)
    except TooLittleError:
        # Nothing is washed yet: the digs are shown where they lie, without grades.
        grade = None
    return Seen(ground, on_page(draw_plan(ground, look, grade=grade), look))


def show_seen(ask: Ask) -> Response:
    """Show what is in the book; an empty one leads to the first dig."""
    if not ask.desk.log.digs and not ask.wants_json:
        return ask.to("first")
    look = look_of(ask)
    seen = ask.desk.ask(("seen", look), lambda reading: lay_out(reading, look))
    log = ask.desk.log
    return ask.show_answer(
        "seen.html",
        seen.ground,
        question="seen",
        picture=seen.picture,
        flow=flow_of(ask.desk.reading()),
        tables=[(table, len(getattr(log, table.name))) for table in TABLES.values()],
        waiting=sorted(unwashed(log)),
        doubts=[one for one in seen.ground.findings if one.weight != "note"],
        verdict=ground_verdict(seen.ground, ask.measures),
    )


def show_home(ask: Ask) -> Response:
    """Send whoever opens a book to what is in it."""
    return ask.to("seen" if ask.desk.log.digs else "first")


def show_history(ask: Ask) -> Response:
    """Show what was written, last first, each to be taken back."""
    told = ask.query("first", "0")
    first = int(told) if told.isdecimal() else 0
    batches = ask.desk.book.batches(limit=first + PAGE_BATCHES + 1)[first:]
    return ask.show(
        "history.html",
        question="seen",
        batches=batches[:PAGE_BATCHES],
        first=first,
        page_batches=PAGE_BATCHES,
        older=len(batches) > PAGE_BATCHES,
    )


def _why_of(ask: Ask, batch: str) -> str:
    """Return what was written under a batch; empty if it is not there."""
    found = ask.desk.book.batches(limit=MOST_BATCHES)
    return next((one.why for one in found if one.uuid == batch), "")


def take_back(ask: Ask) -> Response:
    """Undo one batch of changes; the undoing stands in the history as well."""
    why = _why_of(ask, ask.sent("batch"))
    try:
        ask.desk.book.undo(ask.sent("batch"), who=ask.who)
    except RefusedError as error:
        raise PageError(str(error), 409) from error
    if ask.wants_json:
        state = bytes(ask.show("state.html").body).decode()
        return JSONResponse({"said": f"Took back: {why}", "state": state})
    return ask.to("seen", "history")


ROUTES = [
    Route("/", door(show_home)),
    Route("/seen", door(show_seen)),
    Route("/seen.json", door(show_seen)),
    Route("/seen/history", door(show_history)),
    Route("/seen/undo", door(take_back), methods=["POST"]),
]
