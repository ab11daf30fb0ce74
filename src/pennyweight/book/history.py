"""What was changed in a book, when, by whom and why; and how it is taken back.

Undoing is one more batch that puts everything back as it was. It is refused when a
record has been changed again since and that later change still stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from pennyweight.book import schema
from pennyweight.book.rows import from_line, key_of, name_of, same
from pennyweight.book.writing import Deed, Kept, Step, load_by_uuid, write_steps
from pennyweight.errors import CallError, ConflictError, Refusal
from pennyweight.records import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Changes that were made together.

    Attributes
    ----------
    uuid : str
        By which it is undone.
    number : int
        Its place in the order of all batches [-].
    at, who, why : str
        When (ISO 8601), by whom, what for.
    undoes, undone_by : str or None
        The batch that it takes back; the last one that takes it back.
    changes : int
        How many records it changed [-].
    """

    uuid: str
    number: int
    at: str
    who: str
    why: str
    undoes: str | None
    undone_by: str | None
    changes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One record that was added (`was` is None), changed, or removed (`now` is None).

    Attributes
    ----------
    batch : str
        The batch that it belongs to.
    place : int
        Its place in the batch [-].
    at, who, why : str
        Of the batch.
    table : str
        digs, layers, samples ...
    record : str
        Identity of the record for good, whatever its name.
    dig : str or None
        The dig that it belongs to.
    was, now : Record or None
        What the record said and says.
    """

    batch: str
    place: int
    at: str
    who: str
    why: str
    table: str
    record: str
    dig: str | None
    was: Record | None
    now: Record | None

    @property
    def name(self) -> str:
        """The record's name as the user says it."""
        record = self.now or self.was
        return name_of(self.table, key_of(self.table, record)) if record else ""

    def edits(self) -> dict[str, tuple[Any, Any]]:
        """Return the fields that changed, each with what it was and is."""
        if self.was is None or self.now is None:
            return {}
        return edits(self.was, self.now)


def edits(was: Record, now: Record) -> dict[str, tuple[Any, Any]]:
    """Return the fields in which two records differ, each with both values."""
    pairs = {
        name: (getattr(was, name), getattr(now, name))
        for name in type(now).__dataclass_fields__
    }
    return {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}


def list_batches(connection: sa.Connection, *, limit: int) -> list[Batch]:
    """Return the batches, newest first."""
    rows, past = schema.batches.c, schema.history.c
    undoing = schema.batches.alias("undoing")
    count = (
        sa.select(sa.func.count())
        .where(past.batch == rows.uuid)
        .correlate(schema.batches)
        .scalar_subquery()
    )
    undone_by = (
        sa.select(undoing.c.uuid)
        .where(undoing.c.undoes == rows.uuid)
        .order_by(undoing.c.number.desc())
        .limit(1)
        .correlate(schema.batches)
        .scalar_subquery()
    )
    wanted = sa.select(
        rows.uuid, rows.number, rows.at, rows.who, rows.why, rows.undoes,
        undone_by.label("undone_by"), count.label("changes"),
    ).order_by(rows.number.desc())  # fmt: skip
    found = connection.execute(wanted.limit(limit)).mappings()
    return [Batch(**dict(row)) for row in found]


def list_entries(
    connection: sa.Connection, *, dig: str | None, day: str | None, limit: int
) -> list[Entry]:
    """Return the changes of a dig or of a day, newest first."""
    past, rows = schema.history, schema.batches
    wanted = sa.select(past, rows.c.at, rows.c.who, rows.c.why).join(rows)
    if dig is not None:
        wanted = wanted.where(past.c.dig.in_(_names_of(connection, dig)))
    if day is not None:
        wanted = wanted.where(rows.c.at.startswith(day, autoescape=True))
    wanted = wanted.order_by(rows.c.number.desc(), past.c.place.desc()).limit(limit)
    return [
        Entry(
            batch=row.batch,
            place=row.place,
            at=row.at,
            who=row.who,
            why=row.why,
            table=row.record_table,
            record=row.record,
            dig=row.dig,
            was=from_line(row.record_table, row.was),
            now=from_line(row.record_table, row.now),
        )
        for row in connection.execute(wanted)
    ]


def _names_of(connection: sa.Connection, dig: str) -> set[str]:
    """Return the names that a dig has had, this one among them."""
    past = schema.history
    same_record = sa.select(past.c.record).where(
        past.c.record_table == "digs", past.c.dig == dig
    )
    wanted = sa.select(past.c.dig).where(
        past.c.record_table == "digs", past.c.record.in_(same_record)
    )
    return {dig, *(name for name in connection.scalars(wanted) if name)}


def undo(connection: sa.Connection, batch: str, *, place: int | None, who: str) -> str:
    """Take back a batch, or the change at one place of it; return the new batch."""
    deed = connection.execute(
        sa.select(schema.batches).where(schema.batches.c.uuid == batch)
    ).one_or_none()
    past = schema.history
    wanted = sa.select(past).where(past.c.batch == batch)
    if place is not None:
        wanted = wanted.where(past.c.place == place)
    lines = connection.execute(wanted.order_by(past.c.place.desc())).all()
    if deed is None or not lines:
        at = "" if place is None else f" at place {place}"
        msg = f"There is no batch {batch!r}{at} in this book; look at its history."
        raise CallError(msg)
    why = f"undo: {deed.why} ({deed.who}, {deed.at[:10]})"
    steps = _steps_back(connection, lines)
    return write_steps(connection, steps, Deed(who=who, why=why, undoes=batch))


def _steps_back(connection: sa.Connection, lines: Sequence[Any]) -> list[Step]:
    """Return the steps that put back what the lines say was there before."""
    uuids: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        uuids[line.record_table].append(line.record)
    present = {
        table: load_by_uuid(connection, table, of_table)
        for table, of_table in uuids.items()
    }
    steps, refusals = [], []
    for line in lines:
        table = line.record_table
        was, now = from_line(table, line.was), from_line(table, line.now)
        kept = present[table].get(line.record)
        if not _stands(table, now, kept):
            refusals.append(_changed_later(connection, line, was or now))
            continue
        steps.append(
            Step(
                table=table,
                uuid=line.record,
                version=_last_version(connection, line.record) + 1,
                sequence=line.sequence,
                origin=line.origin,
                was=now,
                now=was,
            )
        )
    if refusals:
        raise ConflictError(refusals)
    return steps


def _stands(table: str, now: Record | None, kept: Kept | None) -> bool:
    """Tell whether a record still is as a change left it."""
    if now is None or kept is None:
        return now is None and kept is None
    return same(table, now, kept.record)


def _last_version(connection: sa.Connection, record: str) -> int:
    """Return the highest version that a record has had."""
    past = schema.history.c
    wanted = sa.select(sa.func.max(past.version)).where(past.record == record)
    return connection.scalar(wanted) or 0


def _changed_later(
    connection: sa.Connection, line: Any, record: Record | None
) -> Refusal:
    """Return the refusal that names the last change of a record."""
    past, rows = schema.history, schema.batches
    last = connection.execute(
        sa.select(rows)
        .join(past, past.c.batch == rows.c.uuid)
        .where(past.c.record == line.record)
        .order_by(rows.c.number.desc())
        .limit(1)
    ).one()
    name = line.record_table
    if record is not None:
        name = name_of(line.record_table, key_of(line.record_table, record))
    found = f"a later change by {last.who} on {last.at[:10]}: {last.why}"
    expected = "it as this batch left it. Undo that first."
    return Refusal(name, None, None, found, expected)
