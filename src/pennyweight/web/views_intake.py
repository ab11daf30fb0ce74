"""A whole field log into the book: all of it, or nothing with all reasons."""

from __future__ import annotations

from itertools import count
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory

from starlette.datastructures import UploadFile
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.book.transfer import IntakeSummary, take_in
from pennyweight.errors import RefusedError
from pennyweight.progress import Progress
from pennyweight.web.desk import PATIENCE_S
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.shelf import HandedIn

_numbers = count(1)


def show_intake(ask: Ask) -> Response:
    """Ask for a folder or an archive of a field log."""
    return ask.show("intake.html", question="seen", summary=None, refusals=())


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
        return ask.show(
            "intake.html",
            status=422,
            question="seen",
            summary=None,
            refusals=error.refusals,
        )
    return ask.show("intake.html", question="seen", summary=summary, refusals=())


ROUTES = [
    Route("/seen/intake", door(show_intake)),
    Route("/seen/intake", door(hand_in), methods=["POST"]),
    Route("/seen/intake/{number:int}", door(show_taken)),
]
