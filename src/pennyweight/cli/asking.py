"""What the commands share: options, a reading of a book, progress, printed JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pennyweight.cli.stopping import stop_if_asked
from pennyweight.progress import Progress
from pennyweight.units import MEASURES

if TYPE_CHECKING:
    from pennyweight.answers.reading import Reading

Command = TypeVar("Command", bound=Callable[..., Any])


def book_argument(command: Command) -> Command:
    """Give a command the book that it is about."""
    return click.argument("book", type=click.Path(path_type=Path))(command)


def json_option(command: Command) -> Command:
    """Give a command the choice to print JSON."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Print the answer as JSON, alone."
    )(command)


def seed_option(command: Command) -> Command:
    """Give a command the seed of its random draws."""
    return click.option(
        "--seed",
        type=click.IntRange(min=0),
        help="Seed of the random draws; the same seed gives the same answer.",
    )(command)


def units_option(command: Command) -> Command:
    """Give a command the units of the reader."""
    return click.option(
        "--units",
        "measures",
        type=click.Choice(sorted(MEASURES)),
        default="metric",
        show_default=True,
        envvar="PENNYWEIGHT_UNITS",
        callback=lambda context, option, name: MEASURES[name],
        help="Units to read in; JSON is always metric.",
    )(command)


def this_moment() -> str:
    """Return the time, ISO 8601, in the zone of this machine."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


def read_book(path: Path, seed: int | None, progress: Progress) -> Reading:
    """Return one look at a book, which is open no longer than that takes.

    Parameters
    ----------
    path : Path
        Of the book.
    seed : int or None
        Of the random draws; None for the usual one.
    progress : callable
        Told how far a long answer is.
    """
    # Both are slow to import, and a call for help needs neither.
    from pennyweight.answers.answer import BookName  # noqa: PLC0415
    from pennyweight.answers.reading import DEFAULT_SEED, Reading  # noqa: PLC0415
    from pennyweight.book.book import open_book  # noqa: PLC0415

    with open_book(path, read_only=True) as book:
        return Reading(
            book=BookName(name=book.name, id=book.id),
            revision=book.revision,
            log=book.log(),
            made_at=this_moment(),
            seed=DEFAULT_SEED if seed is None else seed,
            progress=progress,
        )


@contextmanager
def progress_shown() -> Iterator[Progress]:
    """Show on standard error how far a computation is, where someone looks on."""
    if not sys.stderr.isatty():
        yield lambda _share_done, _doing: stop_if_asked()
        return
    width = 0

    def show(share_done: float, doing: str) -> None:
        nonlocal width
        stop_if_asked()
        line = f"{share_done:4.0%} {doing}"
        sys.stderr.write("\r" + line.ljust(width))
        sys.stderr.flush()
        width = len(line)

    try:
        yield show
    finally:
        sys.stderr.write("\r" + " " * width + "\r")
        sys.stderr.flush()


def print_json(value: Any) -> None:
    """Print a value as JSON on standard output, unless the user has stopped."""
    stop_if_asked()
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1)
    click.echo(text)


def print_lines(lines: list[str]) -> None:
    """Print lines for a person on standard output, unless the user has stopped."""
    stop_if_asked()
    click.echo("\n".join(lines))
