"""Copies of a book beside it, by age: the last days, weeks and months.

A copy is a whole book of one file, in the folder `backups` beside the book. The
program makes one before the first change of a day, and keeps of these one for each of
the last seven days, four weeks and twelve months. Copies that the user makes are
never removed.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

#: Marks the copies that the program makes, and may remove again.
ROLLING = "rolling"
STAMP = "%Y-%m-%d-%H%M%S"
DAYS, WEEKS, MONTHS = 7, 4, 12
#: Age at which the newest copy no longer does.
DUE_AFTER = timedelta(days=1)


def backup_folder(book: Path) -> Path:
    """Return the folder that holds the copies of a book."""
    return book.parent / "backups"


def write_copy(connection: sa.Connection, path: Path) -> None:
    """Write a whole copy of a book to a path where nothing is yet.

    Parameters
    ----------
    connection : Connection
        To the book, outside any transaction.
    path : Path
        Of the copy.
    """
    path.parent.mkdir(exist_ok=True)
    # A copy that was cut short must never pass for a whole one.
    unfinished = path.with_name(path.name + ".unfinished")
    unfinished.unlink(missing_ok=True)
    connection.exec_driver_sql("VACUUM INTO ?", (str(unfinished),))
    unfinished.replace(path)


def rolling_copies(book: Path) -> dict[Path, datetime]:
    """Return the copies that the program made of a book, oldest first."""
    name = re.compile(
        rf"{re.escape(book.stem)}--{ROLLING}-(\d{{4}}-\d\d-\d\d-\d{{6}})\.book"
    )
    found = {}
    for path in sorted(backup_folder(book).glob("*.book")):
        if match := name.fullmatch(path.name):
            found[path] = datetime.strptime(match.group(1), STAMP)  # noqa: DTZ007 - the zone is the user's own, on both sides
    return found


def is_due(book: Path, now: datetime) -> bool:
    """Tell whether the newest copy is too old to stand for the book.

    Parameters
    ----------
    book : Path
        The book.
    now : datetime
        This moment, in the user's zone and without it.
    """
    made = rolling_copies(book).values()
    return all(now - one > DUE_AFTER for one in made)


def rolling_path(book: Path, now: datetime) -> Path:
    """Return where a copy made now goes."""
    return backup_folder(book) / f"{book.stem}--{ROLLING}-{now.strftime(STAMP)}.book"


def to_keep(made: list[datetime]) -> set[datetime]:
    """Return which of the copies stay: the newest of each day, week and month.

    Parameters
    ----------
    made : list of datetime
        When the copies were made.
    """
    kept: set[datetime] = set()
    spans = ((DAYS, "%Y-%m-%d"), (WEEKS, "%G-%V"), (MONTHS, "%Y-%m"))
    for how_many, span in spans:
        newest: dict[str, datetime] = {}
        for one in sorted(made):
            newest[one.strftime(span)] = one
        kept |= set(sorted(newest.values())[-how_many:])
    return kept


def thin_out(book: Path) -> list[Path]:
    """Remove the copies that age has made superfluous, and return them."""
    copies = rolling_copies(book)
    kept = to_keep(list(copies.values()))
    gone = [path for path, made in copies.items() if made not in kept]
    for path in gone:
        path.unlink()
    return gone
