"""The desk: one open book, and what has been worked out from it as it is now."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from datetime import UTC, datetime
from pathlib import Path
from threading import RLock
from typing import TypeVar, cast

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.book.book import Book, open_book
from pennyweight.progress import Progress
from pennyweight.records import Log
from pennyweight.web.work import Bench, Task

Found = TypeVar("Found")

#: How long a page waits for an answer before it shows how far it is [s].
PATIENCE_S = 0.8

#: Changes since the last copy are counted up to here.
MOST_CHANGES = 1000


def now() -> str:
    """Return this moment, ISO 8601, in the zone of this machine."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


class Desk:
    """One open book and the answers made from it at its present revision."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.slug = path.stem
        self.book: Book = open_book(path)
        #: What an answer was before the reader changed what it rests on.
        self.before: object = None
        self._bench = Bench()
        self._reading: Reading | None = None
        self._lock = RLock()

    def reading(self) -> Reading:
        """Return the book as it is now; a new one whenever the record has changed."""
        with self._lock:
            revision = self.book.revision
            if self._reading is None or self._reading.revision != revision:
                self._bench.clear()
                self._reading = Reading(
                    book=BookName(name=self.book.name, id=self.book.id),
                    revision=revision,
                    log=self.book.log(),
                    made_at=now(),
                    former=self._named_before(),
                )
            return self._reading

    def _named_before(self) -> Reading | None:
        """Return the last reading in which streaks got their names, without its own."""
        last = self._reading
        if last is None:
            return None
        named = last if last.known(("trace", None)) is not None else last.former
        if named is not None:
            named.former = None
        return named

    @property
    def log(self) -> Log:
        """The record as it is now."""
        return self.reading().log

    def ask(
        self,
        what: Hashable,
        make: Callable[[Reading], Found],
        *,
        patience_s: float = PATIENCE_S,
    ) -> Found:
        """Return what is made from the book as it is now.

        Raises
        ------
        StillWorking
            It takes longer than the patience; it goes on beside the page.
        """
        reading = self.reading()

        def work(progress: Progress) -> Found:
            reading.progress = progress
            return make(reading)

        asked = (reading.revision, what)
        return cast("Found", self._bench.ask(asked, work, patience_s))

    def known(self, what: Hashable) -> object:
        """Return what is already worked out from the book as it is now, or None."""
        return self._bench.known((self.reading().revision, what))

    def changes_since(self, copied: datetime | None) -> int:
        """Return how often something was written after a copy was set aside."""
        if copied is None:
            return 0
        # The history is written to the second.
        copied = copied.replace(microsecond=0)
        batches = self.book.batches(limit=MOST_CHANGES)
        return sum(datetime.fromisoformat(one.at) > copied for one in batches)

    def task(self, number: int) -> Task | None:
        """Return a running or finished task by its number."""
        return self._bench.find(number)

    def close(self) -> None:
        """Stop all work and close the book."""
        self._bench.close()
        self.book.close()
