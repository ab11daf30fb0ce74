"""One look at a book: its record at one revision, and what was worked out from it.

All answers made from the same reading share the costly steps between them, so that
grades are judged once and the field is fitted once, whatever is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from threading import RLock
from typing import Any, TypeVar, cast

from pennyweight import __version__
from pennyweight.answers.answer import BookName
from pennyweight.answers.traceparts import Streak
from pennyweight.progress import Progress, quiet
from pennyweight.records import Log

Found = TypeVar("Found")

#: Seed when the user names none.
DEFAULT_SEED = 1


@dataclass
class Reading:
    """A book's record at one moment, ready to be asked.

    Attributes
    ----------
    book : BookName
        Which book.
    revision : str
        Changes whenever the record does.
    log : Log
        The whole record.
    made_at : str
        When it was read, ISO 8601.
    seed : int
        Of all random draws.
    progress : callable
        Told how far a long answer is; may raise `Cancelled`.
    former : Reading or None
        The last reading of the same book at another revision, whose names are kept.
    """

    book: BookName
    revision: str
    log: Log
    made_at: str
    seed: int = DEFAULT_SEED
    progress: Progress = quiet
    former: Reading | None = None
    _kept: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _lock: RLock = field(default_factory=RLock, repr=False)

    def once(self, key: Hashable, make: Callable[[], Found]) -> Found:
        """Return what was made under this key, making it the first time.

        A computation that is cancelled or fails leaves nothing behind.
        """
        with self._lock:
            if key not in self._kept:
                self._kept[key] = make()
            return cast("Found", self._kept[key])

    def known(self, key: Hashable) -> Any:
        """Return what was made under this key, or None."""
        with self._lock:
            return self._kept.get(key)

    def former_streaks(self) -> Sequence[Streak]:
        """Return the streaks as they were called last: here, or before a change."""
        for reading in (self, self.former):
            usual = None if reading is None else reading.known(("trace", None))
            if usual is not None:
                return cast("Sequence[Streak]", usual.streaks)
        return ()

    def heading(self) -> dict[str, Any]:
        """Return the fields that every answer begins with."""
        return {
            "book": self.book,
            "made_at": self.made_at,
            "version": __version__,
            "seed": self.seed,
        }
