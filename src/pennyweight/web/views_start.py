"""The first page: which book? And what can be done without one."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pennyweight.book.book import create_book, open_book
from pennyweight.book.changes import putting
from pennyweight.demo.book import find_demo_book
from pennyweight.errors import PennyweightError
from pennyweight.records import Ground
from pennyweight.units import MEASURES
from pennyweight.web.desk import PATIENCE_S
from pennyweight.web.faults import PageError
from pennyweight.web.page import LIGHTS, Ask, door
from pennyweight.web.strip import Strip, look_over

#: How long a choice of units or light is remembered [s].
YEAR_S = 365 * 24 * 3600


@dataclass(frozen=True)
class Shown:
    """A book as the list shows it; `closed` says why it cannot be opened."""

    slug: str
    name: str
    changed: datetime
    strip: Strip | None = None
    closed: str = ""


def _show_book(ask: Ask, path: Path) -> Shown:
    changed = datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone()
    try:
        desk = ask.shelf.desk(path.stem)
        backups = ask.shelf.backups(path)
        made = backups[0].made if backups else None
        since = desk.changes_since(made)
        strip = look_over(desk.log, desk.book.name, made, changes_since=since)
    except PennyweightError as error:
        return Shown(path.stem, path.stem, changed, closed=str(error))
    return Shown(path.stem, strip.ground, changed, strip)


def show_start(ask: Ask) -> Response:
    """Show the books, and how to begin one."""
    if ask.shelf.only is not None:
        return RedirectResponse(f"/book/{ask.shelf.only.stem}", 303)
    books = [_show_book(ask, path) for path in ask.shelf.books()]
    return ask.show("start.html", books=books, folder=ask.shelf.folder)


def make_book(ask: Ask) -> Response:
    """Begin a new book and lead its owner to the first dig."""
    name = ask.sent("name")
    if not name:
        msg = "The name is empty. Call the ground what you call it yourself."
        raise PageError(msg, 422)
    path = ask.shelf.free_path(name)
    with create_book(path, name) as book:
        ground = putting("ground", Ground(name=name))
        book.write([ground], who=ask.who, why="Began the book")
    return RedirectResponse(f"/book/{path.stem}/first", 303)


def want_demo(_: Ask) -> Response:
    """Begin to make the invented ground, or open the one that is there."""
    return RedirectResponse("/demo", 303)


def show_demo(ask: Ask) -> Response:
    """Open the invented ground when it is made; until then tell how far it is."""
    folder = ask.shelf.folder
    path: Path = ask.shelf.bench.ask(
        "demo", lambda progress: find_demo_book(folder, progress), PATIENCE_S
    )
    if not path.exists():
        # It was removed since it was made; it is made anew.
        path = find_demo_book(folder)
    return RedirectResponse(f"/book/{path.stem}/seen", 303)


def bring_in(ask: Ask) -> Response:
    """Put a book file that the user hands in on the shelf, if it is a sound one."""
    if not ask.files or not ask.files[0].filename:
        msg = "No file was chosen. Choose a file that ends in .book."
        raise PageError(msg, 422)
    sent = ask.files[0]
    with tempfile.TemporaryDirectory() as folder:
        held = Path(folder) / "handed-in.book"
        held.write_bytes(sent.file.read())
        with open_book(held) as book:
            name = book.name
        path = ask.shelf.free_path(name)
        path.write_bytes(held.read_bytes())
    return RedirectResponse(f"/book/{path.stem}/seen", 303)


def set_choices(ask: Ask) -> Response:
    """Remember the units and the light of whoever reads, and go back."""
    back = urlsplit(ask.sent("back")).path or "/"
    if not back.startswith("/") or back.startswith("//"):
        back = "/"
    query = urlsplit(ask.request.headers.get("referer", ""))
    if query.path == back and query.query:
        back = f"{back}?{query.query}"
    response = RedirectResponse(back, 303)
    allowed = {"units": tuple(MEASURES), "light": LIGHTS}
    for choice, words in allowed.items():
        if ask.sent(choice) in words:
            response.set_cookie(
                choice, ask.sent(choice), max_age=YEAR_S, samesite="strict"
            )
    return response


ROUTES = [
    Route("/", door(show_start)),
    Route("/new", door(make_book), methods=["POST"]),
    Route("/demo", door(show_demo)),
    Route("/demo", door(want_demo), methods=["POST"]),
    Route("/bring-in", door(bring_in), methods=["POST"]),
    Route("/settings", door(set_choices), methods=["POST"]),
]
