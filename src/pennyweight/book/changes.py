"""What may be asked of a book: put a record, change it, rename it, remove it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from pennyweight.book.rows import Key, key_of, name_of
from pennyweight.records import KEYS, Log, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One record as it is to be.

    Attributes
    ----------
    table : str
        Field of `Log`: digs, layers, samples ...
    key : tuple
        Natural key of the record as the book holds it, or of the new one.
    now : Record or None
        What it is to say; None removes it. Its own key may differ: a new name.
    based_on : int or None
        Version that the writer had before their eyes, 0 for "not there yet"; if the
        book holds another one, nothing is written. None writes over any version.
    origin : str or None
        The `log_id` of the field log that it comes from; None is this book's own.
    """

    table: str
    key: Key
    now: Record | None
    based_on: int | None = None
    origin: str | None = None

    @property
    def name(self) -> str:
        """The record's name as the user says it."""
        return name_of(self.table, self.key)


def putting(table: str, record: Record, *, based_on: int | None = None) -> Change:
    """Return the change that puts a record, new or in the place of the old one."""
    return Change(table=table, key=key_of(table, record), now=record, based_on=based_on)


def records_in(log: Log) -> Iterator[tuple[str, Record]]:
    """Yield every record of a log with its table; the ground only if it says much."""
    for table, (record_class, _) in KEYS.items():
        if table != "ground":
            for record in getattr(log, table):
                yield table, record
        elif log.ground != record_class():
            yield table, log.ground


def putting_all(log: Log) -> list[Change]:
    """Return the changes that put every record of a log."""
    return [putting(table, record) for table, record in records_in(log)]


def _belongs(log: Log, table: str, name: str) -> Iterator[tuple[str, Any]]:
    """Yield a dig or a sample with every record that goes by its name."""
    samples = {name} if table == "samples" else set()
    if table == "digs":
        samples = {one.sample for one in log.samples if one.dig == name}
    for other, record in records_in(log):
        at_dig = table == "digs" and getattr(record, "dig", None) == name
        of_sample = other != "weighings" and getattr(record, "sample", "") in samples
        if at_dig or of_sample:
            yield other, record


def removing(log: Log, table: str, key: Key) -> list[Change]:
    """Return the changes that remove a record and all that belongs to it.

    A dig takes its layers, samples, rocks and files with it, a sample its tallies and
    grains. A sample that was weighed together with others is taken off that weighing.
    """
    if table not in ("digs", "samples"):
        return [Change(table=table, key=key, now=None)]
    gone = list(_belongs(log, table, key[0]))
    changes = [
        Change(table=other, key=key_of(other, record), now=None)
        for other, record in gone
    ]
    lost = {record.sample for other, record in gone if other == "samples"}
    for weighing in log.weighings:
        left = tuple(one for one in weighing.samples if one not in lost)
        if left != weighing.samples:
            now = replace(weighing, samples=left) if left else None
            changes.append(Change(table="weighings", key=(weighing.weighing,), now=now))
    return changes


def renaming(log: Log, table: str, *, old: str, new: str) -> list[Change]:
    """Return the changes that give a dig or a sample a new name wherever it is named.

    Parameters
    ----------
    log : Log
        The record as it is.
    table : {"digs", "samples"}
        What is renamed.
    old, new : str
        Names.
    """
    word = {"digs": "dig", "samples": "sample"}[table]
    others = {"digs": ("peg", "toward"), "samples": ("duplicate_of",)}[table]
    changes = []
    for other, record in records_in(log):
        named = {
            field: new
            for field in (word, *others)
            if getattr(record, field, None) == old
        }
        if table == "samples" and other == "weighings" and old in record.samples:  # type: ignore[attr-defined]
            named["samples"] = tuple(new if s == old else s for s in record.samples)  # type: ignore[attr-defined, assignment]
        if named:
            now = replace(record, **named)  # type: ignore[arg-type]
            changes.append(Change(table=other, key=key_of(other, record), now=now))
    return changes
