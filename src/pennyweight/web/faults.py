"""The one face of everything that goes wrong: a status and a plain sentence.

The same failure reads the same as a page and as JSON. What a program's error means
in HTTP is said here and nowhere else.
"""

from __future__ import annotations

import html
import logging
from collections.abc import Sequence

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from pennyweight.errors import (
    CallError,
    ClosedBookError,
    DamagedBookError,
    PennyweightError,
    RefusedError,
    TooLittleError,
)

log = logging.getLogger("pennyweight.web")

#: Error class -> HTTP status; the first that fits.
STATUS: tuple[tuple[type[PennyweightError], int], ...] = (
    (CallError, 404),
    (TooLittleError, 422),
    (RefusedError, 422),
    (ClosedBookError, 423),
    (DamagedBookError, 500),
    (PennyweightError, 500),
)

HEADINGS = {
    400: "That cannot be done",
    403: "Not from this page",
    404: "There is no such page",
    405: "That cannot be done here",
    409: "Somebody was faster",
    413: "That is too much at once",
    422: "That cannot be taken as it is",
    423: "The book is closed",
    500: "Something broke in the program",
}


NOT_TOUCHED = (
    "Your record is not touched: every change is written whole or not at all. Go back "
    "and try again; if it happens again, the window in which the program was started "
    "says more."
)


class PageError(PennyweightError):
    """A request that the page cannot honor, with its status."""

    def __init__(self, text: str, status: int) -> None:
        self.status = status
        super().__init__(text)


def status_of(error: Exception) -> int:
    """Return the HTTP status that an error means."""
    if isinstance(error, PageError):
        return error.status
    if isinstance(error, HTTPException):
        return error.status_code
    return next((code for kind, code in STATUS if isinstance(error, kind)), 500)


def lines_of(error: Exception) -> Sequence[str]:
    """Return what a person reads about an error, one line for each thing."""
    if isinstance(error, RefusedError):
        return [refusal.line() for refusal in error.refusals]
    if isinstance(error, PennyweightError):
        return [str(error)]
    if isinstance(error, HTTPException):
        if error.status_code == 404:
            return ["Nothing stands at this address. Go back to the list of books."]
        return [str(error.detail)]
    return [f"{type(error).__name__}: {error}.", NOT_TOUCHED]


def wants_json(request: Request) -> bool:
    """Tell whether a request is made by a program rather than by a page."""
    if request.url.path.endswith(".json"):
        return True
    return "application/json" in request.headers.get("accept", "")


def write_fault(status: int, *lines: str, wants_json: bool) -> Response:
    """Return the response for a failure: a small page of its own, or JSON."""
    heading = HEADINGS.get(status, "That did not work")
    if wants_json:
        told = {"status": status, "error": heading, "lines": list(lines)}
        return JSONResponse(told, status)
    said = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
    return HTMLResponse(
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{html.escape(heading)}</title>"
        '<link rel="icon" href="/static/icon.svg" type="image/svg+xml">'
        '<link rel="stylesheet" href="/static/main.css"></head>'
        f'<body class="fault"><main id="page"><h1>{html.escape(heading)}</h1>'
        f"{said}"
        '<p><a class="button" href="/">To the list of books</a></p>'
        "</main></body></html>",
        status,
    )


async def show_fault(request: Request, error: Exception) -> Response:
    """Answer any failure; one that nobody foresaw is written to the log as well."""
    status = status_of(error)
    if status == 500:
        log.error("%s failed", request.url.path, exc_info=error)
    return write_fault(status, *lines_of(error), wants_json=wants_json(request))
