"""Take it along: paper for the creek, files for others, copies for safety."""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, trace_streaks
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.paper.report import write_report
from pennyweight.pictures.svg import Look
from pennyweight.progress import within
from pennyweight.web.page import Ask, door
from pennyweight.web.shelf import file_stem


def show_take(ask: Ask) -> Response:
    """Show what can be taken along, and the copies that are set aside."""
    return ask.show(
        "take.html",
        question="take",
        backups=ask.shelf.backups(ask.desk.path),
    )


def give_report(ask: Ask) -> Response:
    """Hand out the report as a PDF."""
    look = Look(measures=ask.measures)
    content = ask.desk.ask(("report", look), lambda reading: make_report(reading, look))
    return _download(content, f"{_stem(ask)}-report.pdf", "application/pdf")


def make_report(reading: Reading, look: Look) -> bytes:
    """Return the report with every answer that the record allows."""
    progress = reading.progress
    ground, grade = show_ground(reading), grade_ground(reading)
    trace: TraceAnswer | None = None
    nextdigs: NextAnswer | None = None
    worth: WorthAnswer | None = None
    try:
        reading.progress = within(progress, 0.0, 0.9)
        trace = trace_streaks(reading)
        nextdigs = plan_digs(reading)
        worth = weigh_worth(reading)
    except TooLittleError:
        # What is missing is left out; the report says so itself.
        progress(0.9, "leaving out what cannot be told yet")
    finally:
        reading.progress = progress
    progress(0.95, "setting the pages")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "report.pdf"
        write_report(
            path,
            ground=ground,
            grade=grade,
            trace=trace,
            worth=worth,
            nextdigs=nextdigs,
            look=look,
        )
        return path.read_bytes()


def _stem(ask: Ask) -> str:
    return file_stem(ask.desk.book.name)


def _download(content: bytes, name: str, media_type: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=headers)


# ---- copies -----------------------------------------------------------------------


def back_up(ask: Ask) -> Response:
    """Set a copy of the book aside, now."""
    ask.shelf.back_up(ask.desk)
    return RedirectResponse(f"{ask.url('take')}#backup", 303)


def give_copy(ask: Ask) -> Response:
    """Hand out the book itself, to be kept on another disk."""
    copy = ask.shelf.back_up(ask.desk)
    path = ask.desk.path.parent / "backups" / copy.file
    return _download(path.read_bytes(), copy.file, "application/octet-stream")


def restore(ask: Ask) -> Response:
    """Put a copy back on the shelf, beside the present book."""
    path = ask.shelf.restore(ask.desk.path, ask.sent("copy"))
    return RedirectResponse(f"/book/{path.stem}/seen", 303)


ROUTES = [
    Route("/take", door(show_take)),
    Route("/take/report.pdf", door(give_report)),
    Route("/take/backup", door(back_up), methods=["POST"]),
    Route("/take/copy", door(give_copy), methods=["POST"]),
    Route("/take/restore", door(restore), methods=["POST"]),
]
