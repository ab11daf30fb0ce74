"""What every page needs: who asks, in which units and light, and its frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from hmac import compare_digest
from itertools import count
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from pennyweight import __version__
from pennyweight.answers.answer import to_json
from pennyweight.answers.wording import (
    count_words,
    horizon_words,
    list_words,
    some_words,
)
from pennyweight.errors import TooLittleError
from pennyweight.paper.cautions import WALLS, WATER
from pennyweight.units import MEASURES, METRIC, Measures
from pennyweight.web import shown
from pennyweight.web.desk import Desk
from pennyweight.web.faults import PageError, wants_json
from pennyweight.web.glossary import WORDS
from pennyweight.web.safety import READING
from pennyweight.web.shelf import Shelf
from pennyweight.web.strip import Strip, look_over
from pennyweight.web.work import StillWorking

STATIC = Path(__file__).parent / "static"

#: Address and words of each question, in the order in which a person asks them.
QUESTIONS = (
    ("seen", "What have I seen?"),
    ("pans", "What does each pan say?"),
    ("run", "Where does it run?"),
    ("from", "Where does it come from?"),
    ("floods", "What did the floods do?"),
    ("worth", "Is it worth it?"),
    ("next", "What next?"),
    ("take", "Take it along"),
)

LIGHTS = ("auto", "day", "night")

#: Widths for which pictures are drawn [px].
WIDE_PX, NARROW_PX = 720, 366

#: The most that may be sent to the page at once [bytes].
MOST_BYTES = 300_000_000

Form = dict[str, str]

_numbers = count(1)


def page_version() -> str:
    """Return a mark that changes whenever the built page does."""
    built = STATIC / "built.sha256"
    return built.read_text().strip()[:12] if built.exists() else __version__


def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("pennyweight.web"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        questions=QUESTIONS,
        words=WORDS,
        walls_caution=WALLS,
        water_caution=WATER,
        unique=lambda stem: f"{stem}-{next(_numbers)}",
        page_version=page_version(),
        program_version=__version__,
        MEASURES=MEASURES,
    )
    environment.filters.update(
        plain=shown.plain,
        percent=shown.percent,
        likelihood=shown.likelihood,
        figure=shown.figure,
        money=shown.money,
        money_spread=shown.money_spread,
        counted=count_words,
        listed=list_words,
        some=some_words,
        horizon=horizon_words,
        sentence=lambda text: f"{text[:1].upper()}{text[1:]}",
    )
    return environment


TEMPLATES = _environment()


@dataclass
class Ask:
    """One request, read.

    Attributes
    ----------
    request : Request
        As it came.
    shelf : Shelf
        The books.
    form : dict
        Fields that were sent, as typed.
    files : list of UploadFile
        Files that were sent.
    """

    request: Request
    shelf: Shelf
    form: Form = field(default_factory=dict)
    files: list[UploadFile] = field(default_factory=list)

    @cached_property
    def desk(self) -> Desk:
        """The book that the address names."""
        return self.shelf.desk(self.path("book"))

    def path(self, name: str) -> str:
        """Return a part of the address."""
        return str(self.request.path_params[name])

    def query(self, name: str, usual: str = "") -> str:
        """Return a word after the question mark of the address."""
        return self.request.query_params.get(name, usual)

    def sent(self, name: str) -> str:
        """Return a field of the form, without spaces around it."""
        return self.form.get(name, "").strip()

    @property
    def measures(self) -> Measures:
        """The units of whoever reads."""
        return MEASURES.get(self.request.cookies.get("units", ""), METRIC)

    @property
    def figures(self) -> shown.Figures:
        """Numbers in those units."""
        return shown.Figures(self.measures)

    @property
    def light(self) -> str:
        """auto, day or night."""
        wanted = self.request.cookies.get("light", "auto")
        return wanted if wanted in LIGHTS else "auto"

    @property
    def narrow(self) -> bool:
        """Whether the page is read on a phone."""
        told = self.request.cookies.get("width")
        if told is not None:
            return told == "narrow"
        return "Mobi" in self.request.headers.get("user-agent", "")

    @property
    def dark(self) -> bool:
        """Whether the page is read at night."""
        if self.light == "auto":
            return self.request.cookies.get("dark") == "yes"
        return self.light == "night"

    @property
    def wants_json(self) -> bool:
        """Whether a program asks, not a person."""
        return wants_json(self.request)

    @property
    def is_part(self) -> bool:
        """Whether only a part of the page is asked for."""
        return self.request.headers.get("hx-request") == "true"

    @property
    def who(self) -> str:
        """Who writes, for the history."""
        return self.request.cookies.get("who", "") or "page"

    def url(self, *parts: object) -> str:
        """Return an address inside the book that is open."""
        return "/".join(("/book", self.desk.slug, *map(str, parts)))

    def task_url(self, number: int) -> str:
        """Return the address of a task: of the book that is open, else of the shelf."""
        in_book = "book" in self.request.path_params
        return self.url("task", number) if in_book else f"/task/{number}"

    def to(self, *parts: str) -> Response:
        """Send the browser to another page of the book."""
        return RedirectResponse(self.url(*parts), 303)

    def show(self, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
        """Return a page, or a part of one."""
        text = TEMPLATES.get_template(template).render(self.frame() | values)
        return HTMLResponse(text, status)

    def show_answer(self, template: str, answer: Any, **values: Any) -> Response:
        """Return an answer as a page, or to a program as JSON."""
        if self.wants_json:
            return JSONResponse(to_json(answer))
        return self.show(template, answer=answer, **values)

    def frame(self) -> dict[str, Any]:
        """Return what stands around every page."""
        in_book = "book" in self.request.path_params
        return {
            "ask": self,
            "token": self.request.app.state.token,
            "fig": self.figures,
            "unit": self.figures.unit,
            "light": self.light,
            "measures": self.measures,
            "width": "narrow" if self.narrow else "wide",
            "dark": "yes" if self.dark else "no",
            "here": self.request.url.path,
            "book": self.desk if in_book else None,
            "strip": self.strip() if in_book else None,
            "question": None,
        }

    def strip(self) -> Strip:
        """Return what the strip at the top says about the open book."""
        backups = self.shelf.backups(self.desk.path)
        made = backups[0].made if backups else None
        since = self.desk.changes_since(made)
        return look_over(self.desk.log, self.desk.book.name, made, changes_since=since)


View = Callable[[Ask], Response]


async def read_ask(request: Request) -> Ask:
    """Return a request with its form read, and its token checked where it may write."""
    ask = Ask(request, request.app.state.shelf)
    if request.method in READING:
        return ask
    length = int(request.headers.get("content-length", "0"))
    if length > MOST_BYTES:
        msg = f"{length / 1e6:.0f} MB were sent; the most is {MOST_BYTES / 1e6:.0f} MB."
        raise PageError(msg, 413)
    sent = await request.form(max_files=20_000, max_fields=50_000)
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            ask.files.append(value)
        else:
            ask.form[name] = value
    token = request.headers.get("x-pennyweight-token") or ask.form.pop("token", "")
    if not compare_digest(token, request.app.state.token):
        msg = (
            "This form is from an earlier start of the program. Reload the page first."
        )
        raise PageError(msg, 403)
    return ask


def door(view: View) -> Callable[[Request], Any]:
    """Return the endpoint of a view: off the event loop, and patient with long work."""

    async def endpoint(request: Request) -> Response:
        ask = await read_ask(request)
        try:
            return await run_in_threadpool(view, ask)
        except StillWorking as working:
            return await run_in_threadpool(show_working, ask, working)
        except TooLittleError as error:
            if ask.wants_json or "book" not in request.path_params:
                raise
            return await run_in_threadpool(show_too_little, ask, error)
        finally:
            for file in ask.files:
                await file.close()

    endpoint.__name__ = getattr(view, "__name__", "view")
    return endpoint


def question_of(ask: Ask) -> str | None:
    """Return the question that an address belongs to."""
    parts = ask.request.url.path.rstrip("/").split("/")
    return parts[3] if len(parts) > 3 else None


def show_too_little(ask: Ask, error: TooLittleError) -> Response:
    """Answer that the record tells too little yet, and what would help."""
    return ask.show("too_little.html", question=question_of(ask), why=str(error))


def show_working(ask: Ask, working: StillWorking) -> Response:
    """Answer that the answer is being worked out, with how far it is."""
    task = working.task
    if ask.wants_json:
        told = {"working": task.doing, "share_done": task.share_done}
        return JSONResponse(told, 202, {"Retry-After": "1"})
    url = ask.request.url
    return ask.show(
        "working.html",
        status=202,
        task=task,
        question=question_of(ask),
        asked=f"{url.path}?{url.query}" if url.query else url.path,
    )
