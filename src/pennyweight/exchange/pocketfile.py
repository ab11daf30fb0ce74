"""The pocket form's JSON file, judged word by word before anything is believed.

A phone's file may be cut short on its way, edited by hand, written by a newer form, or
made to do harm. Whatever is wrong is refused with its place in the file; see
docs/pocket-file.md for the form of the file.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.errors import Finding, Refusal, RefusedError
from pennyweight.exchange.pocketentries import KEY_NAMES, Entry, check_sum
from pennyweight.exchange.tables import decode_text

#: Version of the file that is read.
VERSION = 1
#: What one file may hold at most.
MOST_ENTRIES, MOST_LETTERS, MOST_CELLS = 20_000, 2_000, 100
#: First key of the file, by which it is known.
MARK = "pocket_file"

#: Control characters but for tab and line ends, and halves of a letter.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_TEXT = f"text in quotes, at most {MOST_LETTERS} letters, without control characters"
_SEND_AGAIN = "a pocket file that is whole; have the phone save or send it again"


@dataclass(frozen=True, slots=True)
class PocketFile:
    """One file as read.

    Attributes
    ----------
    file : str
        Its name.
    book_id, book_name : str
        The book that the form was made from.
    entries : tuple of Entry
        The good ones.
    refusals : tuple of Refusal
        What is wrong with the others.
    doubts : tuple of Finding
        That it was changed after the phone saved it.
    """

    file: str
    book_id: str
    book_name: str
    entries: tuple[Entry, ...]
    refusals: tuple[Refusal, ...] = ()
    doubts: tuple[Finding, ...] = ()


class _TwiceError(ValueError):
    """One key stands twice in one object."""


def is_pocket_file(content: bytes) -> bool:
    """Tell whether a .json file says that it is one of the pocket form."""
    return f'"{MARK}"'.encode() in content[:2_000]


def parse_pocket_file(content: bytes, file: str) -> PocketFile:
    """Return the entries of a file.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        The file as a whole cannot be read.
    """
    told = _parse(decode_text(content, file), file)
    version = told.get(MARK)
    if type(version) is not int or version != VERSION:
        newer = type(version) is int and version > VERSION
        expected = f"a pocket file of version {VERSION}"
        if newer:
            expected += ", or a newer pennyweight to read this one"
        raise _refused(file, MARK, version, expected)
    book = told.get("book")
    if not (isinstance(book, dict) and all(map(_is_text, map(book.get, _BOOK)))):
        raise _refused(file, "book", book, "id and name of the book, as text")
    listed = told.get("entries")
    if not isinstance(listed, list) or len(listed) > MOST_ENTRIES:
        found = f"{len(listed)} entries" if isinstance(listed, list) else listed
        expected = f"a list of at most {MOST_ENTRIES} entries"
        raise _refused(file, "entries", found, expected)
    refusals: list[Refusal] = []
    entries = [_entry(one, at, file, refusals) for at, one in enumerate(listed, 1)]
    good = tuple(entry for entry in entries if entry is not None)
    doubts = () if refusals else _doubt_edits(told, good, file)
    return PocketFile(file, book["id"], book["name"], good, tuple(refusals), doubts)


_BOOK = ("id", "name")


def _shown(value: object) -> str:
    """Return a value for a refusal, never longer than a line."""
    try:
        text = value if isinstance(value, str) else json.dumps(value, default=str)
    except RecursionError:
        text = f"a {type(value).__name__} nested very deep"
    text = text.encode("utf-8", "backslashreplace").decode()
    return text if len(text) <= 80 else f"{text[:77]}..."


def _refused(file: str, column: str | None, found: object, expected: str) -> Exception:
    return RefusedError([Refusal(file, None, column, _shown(found), expected)])


def _parse(text: str, file: str) -> dict[str, Any]:
    """Return the JSON object of a file, or say where it breaks off."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(pairs)
        if len(made) < len(pairs):
            names = [name for name, _ in pairs]
            raise _TwiceError(next(name for name in names if names.count(name) > 1))
        return made

    try:
        told = json.loads(text, object_pairs_hook=once, parse_constant=_Constant)
    except json.JSONDecodeError as wrong:
        end = text.rstrip()
        cut = wrong.pos >= len(end) - 1 or not end.endswith("}")
        found = f"the file ends with {end[-20:]!r}" if cut else wrong.msg
        row = text.count("\n") + 1 if cut else wrong.lineno
        expected = _SEND_AGAIN
        raise RefusedError([Refusal(file, row, None, found, expected)]) from wrong
    except _TwiceError as twice:
        raise _refused(file, str(twice), str(twice), "each name once") from twice
    except (RecursionError, ValueError) as wrong:
        raise _refused(file, None, str(wrong), _SEND_AGAIN) from wrong
    if not isinstance(told, dict):
        raise _refused(file, None, told, _SEND_AGAIN)
    return told


@dataclass(frozen=True, slots=True)
class _Constant:
    """NaN, Infinity or -Infinity, which are no JSON."""

    name: str

    def __str__(self) -> str:
        return self.name


def _is_text(value: object) -> bool:
    """Tell whether a value is text that can be kept and shown."""
    if not isinstance(value, str) or len(value) > MOST_LETTERS:
        return False
    return _NO_TEXT.search(value) is None


def _is_count(value: object) -> bool:
    return type(value) is int and 0 < value < 2**53


def _entry(
    told: object, number: int, file: str, refusals: list[Refusal]
) -> Entry | None:
    """Return one entry, or note everything that is wrong with it."""
    wrong: list[Refusal] = []

    def refuse(column: str | None, found: object, expected: str) -> None:
        wrong.append(Refusal(file, number, column, _shown(found), expected))

    if not isinstance(told, dict):
        refuse(None, told, "an entry in braces")
        refusals += wrong
        return None
    for name in ("id", "phone", "changed_at"):
        if not (_is_text(told.get(name)) and told[name]):
            refuse(name, told.get(name), _TEXT)
    if not isinstance(kind := told.get("kind"), str) or kind not in KEY_NAMES:
        refuse("kind", kind, f"one of {', '.join(KEY_NAMES)}")
    if not _is_count(told.get("revision")):
        refuse("revision", told.get("revision"), "a whole number above 0")
    if type(removed := told.get("removed", False)) is not bool:
        refuse("removed", removed, "true or false")
    cells = _cells(told.get("cells"), refuse)
    settles = _settles(told.get("settles", {}), refuse)
    if wrong:
        refusals += wrong
        return None
    return Entry(
        id=told["id"],
        kind=told["kind"],
        revision=told["revision"],
        phone=told["phone"],
        changed_at=told["changed_at"],
        cells=cells,
        settles=settles,
        removed=removed,
        number=number,
    )


def _cells(told: object, refuse: Any) -> Mapping[str, str]:
    if not (isinstance(told, dict) and 0 < len(told) <= MOST_CELLS):
        refuse("cells", told, f"1 to {MOST_CELLS} cells in braces")
        return {}
    for heading, text in told.items():
        if not (_is_text(heading) and heading.strip() and len(heading) <= 60):
            refuse(_shown(heading), heading, "a heading of at most 60 letters")
        elif isinstance(text, (int, float)) and not isinstance(text, bool):
            plain = f'; write "{text}"' if math.isfinite(text) else ""
            refuse(heading, text, f"the number as text in quotes{plain}")
        elif not _is_text(text):
            refuse(heading, text, _TEXT)
    if not any(isinstance(text, str) and text.strip() for text in told.values()):
        refuse("cells", told, "a cell that says something")
    return told


def _settles(told: object, refuse: Any) -> Mapping[str, tuple[str, ...]]:
    whole = isinstance(told, dict) and all(
        _is_text(name) and isinstance(texts, list) and all(map(_is_text, texts))
        for name, texts in told.items()
    )
    if not (isinstance(told, dict) and whole):
        refuse("settles", told, "names with lists of text")
        return {}
    return {name: tuple(texts) for name, texts in told.items()}


def _doubt_edits(
    told: Mapping[str, Any], entries: tuple[Entry, ...], file: str
) -> tuple[Finding, ...]:
    """Say that a file is not as the phone saved it; its values are judged anyway."""
    if told.get("count") == len(entries) and told.get("check") == check_sum(entries):
        return ()
    return (
        Finding(
            where=file,
            problem=(
                f"the file holds {len(entries)} entries that do not match its own "
                f"count of {_shown(told.get('count'))} and check sum: it was changed "
                "after the phone saved it"
            ),
            remedy="Look its rows over, or take in the file as the phone saved it.",
            weight="doubt",
        ),
    )
