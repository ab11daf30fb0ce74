"""The page as an application: its addresses, its door, and the face of its errors."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles

from pennyweight.errors import PennyweightError
from pennyweight.web import (
    views_diary,
    views_draw,
    views_ground,
    views_guide,
    views_highwater,
    views_intake,
    views_next,
    views_onepan,
    views_pans,
    views_paste,
    views_reckon,
    views_reconcile,
    views_record,
    views_run,
    views_seen,
    views_start,
    views_take,
    views_task,
    views_upstream,
    views_wash,
    views_worth,
)
from pennyweight.web.faults import show_fault
from pennyweight.web.page import STATIC
from pennyweight.web.safety import Doorkeeper, new_token
from pennyweight.web.shelf import Shelf, books_folder

ROOMS = (
    views_guide,
    views_seen,
    views_ground,
    views_draw,
    views_intake,
    views_paste,
    views_wash,
    views_record,
    views_pans,
    views_run,
    views_upstream,
    views_highwater,
    views_worth,
    views_reconcile,
    views_next,
    views_onepan,
    views_diary,
    views_take,
    views_task,
)


def all_routes() -> list[BaseRoute]:
    """Return every address that the page answers at."""
    in_book: list[BaseRoute] = [route for room in ROOMS for route in room.ROUTES]
    return [
        *views_start.ROUTES,
        *views_reckon.ROUTES,
        *views_task.ROUTES,
        Mount("/book/{book}", routes=in_book),
        Mount("/static", StaticFiles(directory=STATIC, check_dir=False)),
    ]


def make_app(folder: Path | None = None, only: Path | None = None) -> Starlette:
    """Return the page over a folder of books, or over one book alone.

    Parameters
    ----------
    folder : Path, optional
        Where books are kept; absent = the user's own folder.
    only : Path, optional
        A single book to which the page keeps itself.
    """
    shelf = Shelf(folder or (only.parent if only else books_folder()), only)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        shelf.close()

    app = Starlette(
        routes=all_routes(),
        middleware=[Middleware(Doorkeeper), Middleware(GZipMiddleware)],
        exception_handlers={
            HTTPException: show_fault,
            PennyweightError: show_fault,
            Exception: show_fault,
        },
        lifespan=lifespan,
    )
    app.state.shelf = shelf
    app.state.token = new_token()
    return app
