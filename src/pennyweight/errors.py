"""What can go wrong, and how it is said.

Two kinds, never mixed. Doubts about the record are data: `Finding`. Calls that
cannot be honored raise one of this tree:

    PennyweightError
    |-- CallError           wrong call: a book that is missing, or already there   (2)
    |-- TooLittleError      no washed sample with a volume; price or costs missing (3)
    |-- RefusedError        input refused, nothing changed; carries the refusals   (4)
    |   `-- ConflictError   the record has been changed since it was read          (4)
    |-- ClosedBookError     locked, wrong passphrase, newer version, read-only     (5)
    `-- DamagedBookError    the book itself is damaged                             (6)

The number is the exit code of the command line; the page maps the same tree to
HTTP status codes. A text says what is wrong with its value and unit, what is
allowed, and what to do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Weight = Literal["note", "doubt", "wrong"]


class PennyweightError(Exception):
    """A call that cannot be honored; its text is one clear line for the user."""

    exit_code = 1


class CallError(PennyweightError):
    """The call itself is wrong: a missing book, an existing one, a bad option."""

    exit_code = 2


class TooLittleError(PennyweightError):
    """The record holds too little to answer this question."""

    exit_code = 3


class ClosedBookError(PennyweightError):
    """The book cannot be opened or written: locked, newer, read-only."""

    exit_code = 5


class DamagedBookError(PennyweightError):
    """The book file is damaged."""

    exit_code = 6


@dataclass(frozen=True, slots=True)
class Refusal:
    """One thing of the input that was refused.

    Attributes
    ----------
    file : str
        Name of the file inside what was handed in (never a whole path).
    row : int or None
        Line of the file as a spreadsheet numbers it (the header is 1).
    column : str or None
        Heading of the column, as typed.
    found : str
        What stands there, as typed.
    expected : str
        What is allowed, and how to mend it.
    """

    file: str
    row: int | None
    column: str | None
    found: str
    expected: str

    def line(self) -> str:
        """Return the refusal as one line for a person."""
        place = self.file
        if self.row is not None:
            place += f" row {self.row}"
        if self.column is not None:
            place += f" column {self.column}"
        return f"{place}: found {self.found!r}; expected {self.expected}"


class RefusedError(PennyweightError):
    """Input was refused as a whole and nothing was changed.

    Parameters
    ----------
    refusals : sequence of Refusal
        Everything that is wrong, all at once.
    """

    exit_code = 4

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        self.refusals = tuple(refusals)
        super().__init__("\n".join(refusal.line() for refusal in self.refusals))


class ConflictError(RefusedError):
    """The record has been changed in the meantime; nothing was changed or lost."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something in the record that is odd or cannot be right.

    Attributes
    ----------
    where : str
        The place as the user names it: "dig T4, layer 2".
    problem : str
        What is odd, with its value and unit.
    remedy : str
        What to do about it.
    weight : {"note", "doubt", "wrong"}
        How bad it is.
    """

    where: str
    problem: str
    remedy: str
    weight: Weight

    def line(self) -> str:
        """Return the finding as one line for a person."""
        stop = "" if self.problem.endswith((".", "!", "?")) else "."
        return f"{self.where}: {self.problem}{stop} {self.remedy}"
