"""A whole field log into the book: all of it, or nothing with all reasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory

from starlette.datastructures import UploadFile
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.book.transfer import IntakeSummary, take_in
from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange.emptylog import describe, empty_fieldlog, heading_for
from pennyweight.exchange.logtables import TABLES
from pennyweight.progress import Progress
from pennyweight.units import Measures
from pennyweight.web.desk import PATIENCE_S
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.shelf import HandedIn

_numbers = count(1)


def show_intake(ask: Ask) -> Response:
    """Ask for a folder or an archive of a field log."""
    return _show(ask)


def _show(
    ask: Ask,
    *,
    summary: IntakeSummary | None = None,
    refusals: Sequence[Refusal] = (),
) -> Response:
    return ask.show(
        "intake.html",
        status=422 if refusals else 200,
        question="seen",
        summary=summary,
        refusals=refusals,
        sheets=list_sheets(ask.measures),
    )


def give_empty(ask: Ask) -> Response:
    """Hand out an empty field log to fill in, in the reader's units."""
    headers = {"Content-Disposition": 'attachment; filename="empty-field-log.zip"'}
    content = empty_fieldlog(ask.measures)
    return Response(content, media_type="application/zip", headers=headers)


@dataclass(frozen=True)
class Sheet:
    """One file of the field log: its columns, each with what goes into it."""

    file: str
    columns: list[tuple[str, str]]


def list_sheets(measures: Measures) -> list[Sheet]:
    """Return what a field log may hold, in the units of whoever reads."""
    return [
        Sheet(
            table.file,
            [(heading_for(one, measures), describe(one)) for one in table.columns],
        )
        for table in TABLES
    ]


def hand_in(ask: Ask) -> Response:
    """Lay down what was handed in, and go where it is taken into the book."""
    if not any(file.filename for file in ask.files):
        msg = "No file was chosen. Choose the folder of a field log, or a .zip of it."
        raise PageError(msg, 422)
    folder = TemporaryDirectory(prefix="handed-in-")
    paths = lay_down(ask.files, Path(folder.name))
    skip_bad = ask.sent("skip_bad") == "yes"
    number = next(_numbers)
    ask.shelf.handed_in[number] = HandedIn(folder, paths, skip_bad)
    return ask.to("seen", "intake", str(number))


def lay_down(files: list[UploadFile], folder: Path) -> list[Path]:
    """Write uploaded files into a folder, by the last part of their names alone."""
    log = folder / "log"
    log.mkdir()
    archives = []
    for file in files:
        name = PurePosixPath((file.filename or "").replace("\\", "/")).name
        if not name or name.startswith("."):
            continue
        is_archive = name.lower().endswith(".zip")
        path = (folder if is_archive else log) / name
        path.write_bytes(file.file.read())
        if is_archive:
            archives.append(path)
    return [*archives, *([log] if any(log.iterdir()) else [])]


def show_taken(ask: Ask) -> Response:
    """Take what was handed in, once; until then tell how far it is."""
    number, shelf, book, who = (
        int(ask.path("number")),
        ask.shelf,
        ask.desk.book,
        ask.who,
    )

    def take(progress: Progress) -> IntakeSummary:
        handed = shelf.handed_in.pop(number, None)
        if handed is None:
            msg = f"Intake {number} is over. What was written says what came of it."
            raise PageError(msg, 404)
        with handed.folder:
            return take_in(
                book,
                handed.paths,
                who=who,
                skip_bad=handed.skip_bad,
                progress=progress,
            )

    try:
        summary: IntakeSummary = shelf.bench.ask(("intake", number), take, PATIENCE_S)
    except RefusedError as error:
        return _show(ask, refusals=error.refusals)
    return _show(ask, summary=summary)


ROUTES = [
    Route("/seen/intake", door(show_intake)),
    Route("/seen/intake/empty.zip", door(give_empty)),
    Route("/seen/intake", door(hand_in), methods=["POST"]),
    Route("/seen/intake/{number:int}", door(show_taken)),
]
