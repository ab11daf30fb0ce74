"""Open the page: on one book, or on the invented ground."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from pennyweight.cli.asking import progress_shown

Command = TypeVar("Command", bound=Callable[..., Any])


def door_options(command: Command) -> Command:
    """Give a command the choice of a port and of a browser."""
    port = click.option(
        "--port",
        type=click.IntRange(0, 65535),
        help="Port to listen on; else one that is free.",
    )
    browser = click.option("--no-open", is_flag=True, help="Do not open the browser.")
    return port(browser(command))


def open_page(
    book: Path | None = None, port: int | None = None, *, no_open: bool = False
) -> None:
    """Show the page until Ctrl-C, which is the way to stop it and no fault.

    Parameters
    ----------
    book : Path, optional
        The one book to show; without it, all that there are.
    port : int, optional
        Port to listen on [-]; without it, one that is free.
    no_open : bool
        Whether to leave the browser alone.
    """
    from pennyweight.web.server import serve  # noqa: PLC0415 - slow to import

    try:
        serve(book, port=port, open_browser=not no_open)
    except KeyboardInterrupt:
        click.echo("Stopped; what you saved is in the book.", err=True)


@click.command("serve")
@click.argument("book", type=click.Path(path_type=Path), required=False)
@door_options
def serve_command(book: Path | None, port: int | None, *, no_open: bool) -> None:
    """Open the page on a book; without one, on all your books.

    Only this machine can reach the page. Stop it with Ctrl-C.
    """
    open_page(book, port, no_open=no_open)


@click.command("demo")
@door_options
def demo_command(port: int | None, *, no_open: bool) -> None:
    """Open the page on an invented ground, to look around."""
    from pennyweight.demo.book import find_demo_book  # noqa: PLC0415 - slow to import
    from pennyweight.web.shelf import books_folder  # noqa: PLC0415 - slow to import

    with progress_shown() as progress:
        book = find_demo_book(books_folder(), progress)
    open_page(book, port, no_open=no_open)
