"""Work that goes on beside the page: how far it is, and how to stop it."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from pennyweight.web.page import Ask, door
from pennyweight.web.work import Task

#: How long to wait for a task to stop when it is told to [s].
STOP_S = 5.0

#: Endings of the addresses that hand out files.
DOWNLOADS = ("/take/file", ".pdf", ".html", ".zip", ".gpx")


def find_task(ask: Ask) -> Task | None:
    """Return the task that the address names: of a book, or of the shelf."""
    number = int(ask.path("number"))
    found = ask.shelf.bench.find(number)
    if found is None and "book" in ask.request.path_params:
        found = ask.desk.task(number)
    return found


def show_task(ask: Ask) -> Response:
    """Tell how far a task is; when it is over, load the page that asked for it."""
    return _tell(ask, find_task(ask))


def stop_task(ask: Ask) -> Response:
    """Stop a task; nothing is changed by it."""
    task = find_task(ask)
    if task is not None:
        task.cancel()
        task.wait(STOP_S)
    if ask.is_part:
        return _tell(ask, task)
    return ask.show("working.html", task=task, asked=asked_page(ask))


def _tell(ask: Ask, task: Task | None) -> Response:
    asked = asked_page(ask)
    if task is not None and (not task.over or task.cancelled):
        return ask.show("progress.html", task=task, asked=asked)
    if is_download(asked):
        return ask.show("ready.html", asked=asked)
    return HTMLResponse("", headers={"HX-Refresh": "true"})


def is_download(page: str) -> bool:
    """Tell whether an address hands out a file, so that a page must stay around it.

    Examples
    --------
    >>> is_download("/book/a/take/report.pdf"), is_download("/book/a/run?cutoff=9")
    (True, False)
    """
    return urlsplit(page).path.endswith(DOWNLOADS)


def asked_page(ask: Ask) -> str:
    """Return the page that waits for a task, if it is one of ours."""
    page = ask.sent("asked") or ask.query("asked")
    return page if page.startswith("/") and not page.startswith("//") else "/"


ROUTES = [
    Route("/task/{number:int}", door(show_task)),
    Route("/task/{number:int}", door(stop_task), methods=["POST"]),
]
