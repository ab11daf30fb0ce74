"""Entries of the pocket form's file, and how those of several phones lie together.

Every entry has one writer, the phone that made it; the later revision stands. Entries
of several phones about one thing are laid together name by name: where they agree, or
only one says something, there is one value; where they differ, all values are kept.
The rules are those of the form itself (frontend/src/pocket).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from pennyweight.units import QUANTITIES

Value = TypeVar("Value")

#: Kinds of entries, and the names that tell one thing from another.
KEY_NAMES = {
    "digs": ("dig",),
    "layers": ("dig", "top"),
    "samples": ("sample",),
    "tallies": ("sample", "class"),
    "days": ("date", "by"),
}
#: Words that two people may both write about one thing.
JOINED = {"note", "by", "photos", "landmark"}
#: Two lengths, volumes or masses that differ by less are the same [-].
_SAME = 0.0005

_MEASURED = {
    **dict.fromkeys(("along", "across", "elevation", "bottom", "top"), "length"),
    **dict.fromkeys(("largest_clast", "screen"), "length"),
    **dict.fromkeys(("volume", "oversize", "boulders_left_out"), "volume"),
    "pan_volume": "volume",
    **dict.fromkeys(("weighed", "balance"), "mass"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What one phone wrote about one dig, layer, sample, size class or day.

    Attributes
    ----------
    id : str
        Drawn by the phone.
    kind : str
        One of `KEY_NAMES`.
    revision : int
        Counts the changes; the highest stands.
    phone : str
        Who wrote it.
    changed_at : str
        ISO 8601, by the phone's clock.
    cells : mapping
        Heading of the field log to text.
    settles : mapping
        Name to the values of other phones that this entry replaces.
    removed : bool
        Taken back.
    number : int
        Place in the file, from 1.
    """

    id: str
    kind: str
    revision: int
    phone: str
    changed_at: str
    cells: Mapping[str, str]
    settles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    removed: bool = False
    number: int = 0


@dataclass(frozen=True, slots=True)
class Said:
    """One value of a name, and who wrote it."""

    heading: str
    text: str
    phone: str


@dataclass(slots=True)
class Thing:
    """One dig, layer, sample, size class or day, as all phones together tell it.

    Attributes
    ----------
    kind : str
        One of `KEY_NAMES`.
    number : int
        Of the first entry about it, for refusals.
    entries : list of Entry
        In the order in which they were changed.
    """

    kind: str
    number: int
    entries: list[Entry] = field(default_factory=list)

    def said(self) -> dict[str, list[Said]]:
        """Return by name what is said of it, settled values left out."""
        every: dict[str, list[Said]] = {}
        for entry in self.entries:
            for heading, text in entry.cells.items():
                said = Said(heading, text.strip(), entry.phone)
                others = every.setdefault(split_heading(heading)[0], [])
                if not any(_say_same(said, other) for other in others):
                    others.append(said)
        return {name: self._still_said(name, all_) for name, all_ in every.items()}

    def _still_said(self, name: str, every: list[Said]) -> list[Said]:
        still = [said for said in every if not self._is_settled(name, said)]
        return still or every

    def _is_settled(self, name: str, said: Said) -> bool:
        told = f"{said.heading}={said.text}"
        return any(
            entry.phone != said.phone and told in entry.settles.get(name, ())
            for entry in self.entries
        )


def split_heading(heading: str) -> tuple[str, str]:
    """Return name and unit of a heading; the unit is empty where there is none.

    Examples
    --------
    >>> split_heading("bottom_ft"), split_heading("water_level")
    (('bottom', 'ft'), ('water_level', ''))
    """
    name, _, unit = heading.rpartition("_")
    quantity = _MEASURED.get(name)
    known = quantity is not None and unit in QUANTITIES[quantity]
    return (name, unit) if known else (heading, "")


def gather(entries: Iterable[Entry]) -> list[Thing]:
    """Return everything that entries tell of, in the order of the file.

    Parameters
    ----------
    entries : iterable of Entry
        Of one file or of several.
    """
    things: dict[tuple[str, ...], Thing] = {}
    latest = _latest(entries)
    for entry in sorted(latest, key=lambda one: (one.changed_at, one.id)):
        if entry.removed:
            continue
        thing = things.setdefault(_key(entry), Thing(entry.kind, entry.number))
        thing.entries.append(entry)
    return sorted(things.values(), key=lambda thing: thing.entries[0].number)


def _latest(entries: Iterable[Entry]) -> list[Entry]:
    """Keep the later revision of each entry; rivals of one revision are both kept."""
    highest: dict[str, int] = {}
    entries = list(entries)
    for entry in entries:
        highest[entry.id] = max(entry.revision, highest.get(entry.id, 0))
    kept: list[Entry] = []
    seen: set[str] = set()
    for entry in entries:
        words = sum_text([entry])
        if entry.revision == highest[entry.id] and words not in seen:
            seen.add(words)
            kept.append(entry)
    return kept


def _key(entry: Entry) -> tuple[str, ...]:
    """Return what tells one thing from another, the same for every unit."""
    values = []
    for name in KEY_NAMES[entry.kind]:
        cell = next(
            (cell for cell in entry.cells.items() if split_heading(cell[0])[0] == name),
            (name, ""),
        )
        inside = _inside(*cell)
        values.append(cell[1].strip() if inside is None else f"{inside:.3f}")
    return (entry.kind, *values)


def _inside(heading: str, text: str) -> float | None:
    """Return a cell's value in the inside unit; None if it has no unit or number."""
    name, unit = split_heading(heading)
    if not unit:
        return None
    try:
        return float(text.strip().replace(",", ".")) * QUANTITIES[_MEASURED[name]][unit]
    except ValueError:
        return None


def _say_same(one: Said, other: Said) -> bool:
    if (one.heading, one.text) == (other.heading, other.text):
        return True
    first, second = _inside(one.heading, one.text), _inside(other.heading, other.text)
    if first is None or second is None:
        return False
    return abs(first - second) <= _SAME * max(1.0, abs(first))


def sum_text(entries: Iterable[Entry]) -> str:
    """Return what the check sum is taken over: every word of every entry."""
    return "\n".join(
        "\x1f".join(
            [
                *(entry.id, entry.kind, str(entry.revision), entry.phone),
                *(entry.changed_at, "1" if entry.removed else "0"),
                *(f"{name}={text}" for name, text in _sorted(entry.cells)),
                *("~".join((name, *all_)) for name, all_ in _sorted(entry.settles)),
            ]
        )
        for entry in entries
    )


def _sorted(mapping: Mapping[str, Value]) -> list[tuple[str, Value]]:
    # As a browser sorts text: by the code units of UTF-16.
    return sorted(mapping.items(), key=lambda cell: cell[0].encode("utf-16-be"))


def check_sum(entries: Iterable[Entry]) -> str:
    """Return the CRC-32 of all words, as eight hexadecimal digits."""
    return f"{zlib.crc32(sum_text(entries).encode()):08x}"
