"""The shelf: the folder of books, the desks that are open, and the backups."""

from __future__ import annotations

import os
import re
import shutil
import unicodedata
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import RLock

from pennyweight.web.desk import Desk
from pennyweight.web.faults import PageError
from pennyweight.web.work import Bench

#: Environment variable that names another folder for books.
FOLDER_VARIABLE = "PENNYWEIGHT_BOOKS"


def books_folder() -> Path:
    """Return the folder in which books are kept, unless the user names another."""
    named = os.environ.get(FOLDER_VARIABLE)
    return Path(named) if named else Path.home() / "pennyweight"


def file_stem(name: str) -> str:
    """Return a file name for a book: plain letters, so that any disk takes it."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "ground"


@dataclass(frozen=True)
class Backup:
    """A copy of a book, set aside."""

    file: str
    made: datetime
    size_kb: float


@dataclass(frozen=True)
class HandedIn:
    """Files that wait to be taken into a book."""

    folder: TemporaryDirectory[str]
    paths: list[Path]
    skip_bad: bool


@dataclass
class Shelf:
    """All books that this page may open.

    Attributes
    ----------
    folder : Path
        Where books are kept.
    only : Path or None
        A single book to which the page keeps itself.
    bench : Bench
        Where work is done that outlives a revision of a book.
    handed_in : dict
        What waits to be taken in, by number.
    """

    folder: Path
    only: Path | None = None
    bench: Bench = field(default_factory=Bench, repr=False)
    handed_in: dict[int, HandedIn] = field(default_factory=dict, repr=False)
    _desks: dict[str, Desk] = field(default_factory=dict, repr=False)
    _lock: RLock = field(default_factory=RLock, repr=False)

    def books(self) -> list[Path]:
        """Return the books, last changed first."""
        if self.only is not None:
            return [self.only]
        found = self.folder.glob("*.book") if self.folder.is_dir() else []
        return sorted(found, key=lambda book: book.stat().st_mtime, reverse=True)

    def desk(self, slug: str) -> Desk:
        """Return the desk of a book, opening it the first time."""
        with self._lock:
            if slug not in self._desks:
                path = next((book for book in self.books() if book.stem == slug), None)
                if path is None:
                    msg = f"There is no book {slug!r} on the shelf."
                    raise PageError(msg, 404)
                self._desks[slug] = Desk(path)
            return self._desks[slug]

    def free_path(self, name: str) -> Path:
        """Return where a new book of this name goes; an existing one is kept."""
        self.folder.mkdir(parents=True, exist_ok=True)
        stem = file_stem(name)
        path, number = self.folder / f"{stem}.book", 2
        while path.exists():
            path, number = self.folder / f"{stem}-{number}.book", number + 1
        return path

    def backups(self, book: Path) -> list[Backup]:
        """Return the copies of a book, newest first."""
        found = (book.parent / "backups").glob(f"{book.stem}--*.book")
        copies = [
            Backup(
                copy.name,
                datetime.fromtimestamp(copy.stat().st_mtime, UTC).astimezone(),
                copy.stat().st_size / 1000.0,
            )
            for copy in found
        ]
        return sorted(copies, key=lambda copy: copy.made, reverse=True)

    def back_up(self, desk: Desk) -> Backup:
        """Set a copy of a book aside and return it."""
        folder = desk.path.parent / "backups"
        folder.mkdir(exist_ok=True)
        stamp = datetime.now(UTC).astimezone().strftime("%Y-%m-%d-%H%M%S")
        desk.book.back_up(folder / f"{desk.path.stem}--{stamp}.book")
        return self.backups(desk.path)[0]

    def restore(self, book: Path, copy_name: str) -> Path:
        """Put a copy on the shelf as a book of its own; the present one stays."""
        copy = next((c for c in self.backups(book) if c.file == copy_name), None)
        if copy is None:
            msg = f"There is no backup {copy_name!r} of {book.stem!r}."
            raise PageError(msg, 404)
        path = self.free_path(f"{book.stem} as of {copy.made:%Y-%m-%d}")
        shutil.copyfile(book.parent / "backups" / copy.file, path)
        return path

    def close(self) -> None:
        """Stop all work and close every open book."""
        self.bench.close()
        for handed in self.handed_in.values():
            handed.folder.cleanup()
        with self._lock:
            for desk in self._desks.values():
                desk.close()
            self._desks = {}
