"""How changes become rows: worked out as steps, written, and put into the history.

Everything here runs inside one transaction of the caller.
"""

from __future__ import annotations

import hashlib
import itertools
import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from pennyweight.book import schema
from pennyweight.book.changes import Change
from pennyweight.book.rows import (
    Key,
    fields_of,
    key_of,
    name_of,
    same,
    same_key,
    to_line,
    to_records,
    to_row,
)
from pennyweight.errors import ConflictError, Refusal, RefusedError
from pennyweight.records import KEYS, Attachment, Dig, Record, Sample, Weighing

#: Names looked up in one statement.
CHUNK = 500
#: Above this many keys, a whole table is read rather than looked up in.
WHOLE_TABLE = 5_000


@dataclass(frozen=True, slots=True)
class Kept:
    """A record as the book keeps it.

    Attributes
    ----------
    record : Record
        What it says; the content of an attachment is left out.
    version : int
        Counted up at each change, from 1.
    uuid : str
        Its identity for good.
    sequence : int
        Its place among the others.
    origin : str or None
        The `log_id` of the field log that it came from.
    """

    record: Record
    version: int
    uuid: str
    sequence: int
    origin: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One row to insert (`was` is None), update, or delete (`now` is None)."""

    table: str
    uuid: str
    version: int
    sequence: int
    origin: str | None
    was: Record | None
    now: Record | None

    @property
    def name(self) -> str:
        """The record's name as the user says it."""
        record = self.now or self.was
        return name_of(self.table, key_of(self.table, record)) if record else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Who did a batch of changes, and why; `undoes` names a batch taken back."""

    who: str
    why: str
    undoes: str | None = None


def new_id() -> str:
    """Return a new identity."""
    return str(uuid.uuid4())


def this_moment() -> str:
    """Return the time as written into the book: ISO 8601, in the user's zone."""
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


def in_chunks(names: Iterable[Any]) -> Iterable[list[Any]]:
    """Yield names in lists short enough for one statement."""
    rest = iter(names)
    while chunk := list(itertools.islice(rest, CHUNK)):
        yield chunk


def load_kept(
    connection: sa.Connection, table: str, keys: Sequence[Key] | None = None
) -> dict[Key, Kept]:
    """Return the kept records of a table by their keys; all of them without keys."""
    named = KEYS[table][1]
    if keys is None or not named:
        found = _load(connection, table, None, ())
    else:
        # One name finds all layers of a dig; there are few enough.
        firsts = dict.fromkeys(key[0] for key in keys)
        found = _load(connection, table, named[0], firsts)
    return {same_key(table, key_of(table, kept.record)): kept for kept in found}


def load_by_uuid(
    connection: sa.Connection, table: str, uuids: Iterable[str]
) -> dict[str, Kept]:
    """Return the kept records of these identities, as far as they are still there."""
    return {kept.uuid: kept for kept in _load(connection, table, "uuid", uuids)}


def _load(
    connection: sa.Connection, table: str, column: str | None, values: Iterable[Any]
) -> list[Kept]:
    """Return the kept records whose column holds one of the values."""
    rows = schema.RECORD_TABLES[table]
    own = (rows.c.version, rows.c.uuid, rows.c.sequence, rows.c.origin)
    wanted = sa.select(*own, *(rows.c[field.name] for field in fields_of(table)))
    values = list(values)
    if column is None or len(values) > WHOLE_TABLE:
        found = list(connection.execute(wanted))
    else:
        found = [
            row
            for chunk in in_chunks(values)
            for row in connection.execute(wanted.where(rows.c[column].in_(chunk)))
        ]
    bodies = [(*row[len(own) :], *_no_content(table)) for row in found]
    return [
        Kept(record, *row[: len(own)])
        for record, row in zip(to_records(table, bodies), found, strict=True)
    ]


def _no_content(table: str) -> tuple[bytes, ...]:
    """Return what stands for the content of a file where it is not needed."""
    return (b"",) if table == "attachments" else ()


def steps_for(connection: sa.Connection, changes: Sequence[Change]) -> list[Step]:
    """Return the steps that changes come to; those that change nothing are dropped.

    Raises
    ------
    ConflictError
        A record was changed since the version that a change is based on.
    """
    by_table: dict[str, list[Change]] = defaultdict(list)
    for change in changes:
        by_table[change.table].append(change)
    steps: list[Step] = []
    conflicts: list[Refusal] = []
    for table, wanted in by_table.items():
        kept = load_kept(connection, table, [change.key for change in wanted])
        sequence = _last_sequence(connection, table)
        seen: set[Key] = set()
        for change in wanted:
            key = same_key(table, change.key)
            old = kept.get(key)
            conflicts.extend(_conflict(change, old, twice=key in seen))
            seen.add(key)
            if old is None and change.now is not None:
                sequence += 1
                steps.append(_insertion(change, sequence))
            elif old is not None and not _says_the_same(change, old):
                steps.append(_update(change, old))
    if conflicts:
        raise ConflictError(conflicts)
    return steps


def _says_the_same(change: Change, old: Kept) -> bool:
    """Tell whether a change would leave the record as it is."""
    return change.now is not None and same(change.table, change.now, old.record)


def _insertion(change: Change, sequence: int) -> Step:
    """Return the step that puts a new row."""
    return Step(
        table=change.table,
        uuid=new_id(),
        version=1,
        sequence=sequence,
        origin=change.origin,
        was=None,
        now=change.now,
    )


def _update(change: Change, old: Kept) -> Step:
    """Return the step that changes or removes a row."""
    return Step(
        table=change.table,
        uuid=old.uuid,
        version=old.version + 1,
        sequence=old.sequence,
        origin=old.origin,
        was=old.record,
        now=change.now,
    )


def _conflict(change: Change, old: Kept | None, *, twice: bool) -> list[Refusal]:
    """Return what is wrong if the book holds another version than was seen."""
    version = old.version if old is not None else 0
    if twice:
        found, expected = "the same name twice", "each name once. Choose another name."
    elif change.based_on is None or change.based_on == version:
        return []
    elif change.based_on == 0:
        found = f"version {version}"
        expected = "no record of that name yet. Open it, or choose another name."
    else:
        found = f"version {version}" if version else "nothing, it has been removed"
        expected = (
            f"version {change.based_on}, which your change is based on. Load it again,"
            " look at what was changed, and enter yours once more."
        )
    return [Refusal(change.name, None, None, found, expected)]


def _last_sequence(connection: sa.Connection, table: str) -> int:
    """Return the highest place ever given out in a table."""
    rows, past = schema.RECORD_TABLES[table], schema.history
    standing = connection.scalar(sa.select(sa.func.max(rows.c.sequence)))
    removed = connection.scalar(
        sa.select(sa.func.max(past.c.sequence)).where(
            past.c.record_table == table, past.c.now.is_(None)
        )
    )
    return max(standing or 0, removed or 0)


def write_steps(connection: sa.Connection, steps: Sequence[Step], deed: Deed) -> str:
    """Write steps, their batch and their history; return the batch's identity.

    Raises
    ------
    RefusedError
        A record names a dig or a sample that would not be there.
    """
    digs = _digs_of_samples(connection, steps)
    _write_contents(connection, steps)
    for table in dict.fromkeys(step.table for step in steps):
        _write_rows(connection, table, [step for step in steps if step.table == table])
    digs |= _digs_of_samples(connection, steps)
    _check_names(connection, steps)
    batch = new_id()
    last = connection.scalar(sa.select(sa.func.max(schema.batches.c.number))) or 0
    connection.execute(
        schema.batches.insert(),
        {
            "uuid": batch,
            "number": last + 1,
            "at": this_moment(),
            "who": deed.who,
            "why": deed.why,
            "undoes": deed.undoes,
        },
    )
    connection.execute(
        schema.history.insert(),
        [
            {
                "batch": batch,
                "place": place,
                "record_table": step.table,
                "record": step.uuid,
                "version": step.version,
                "sequence": step.sequence,
                "origin": step.origin,
                "dig": _dig_of(step, digs),
                "was": to_line(step.table, step.was),
                "now": to_line(step.table, step.now),
            }
            for place, step in enumerate(steps)
        ],
    )
    return batch


def _write_rows(connection: sa.Connection, table: str, steps: list[Step]) -> None:
    """Delete, update and insert the rows of one table."""
    rows = schema.RECORD_TABLES[table]
    with_uuid = rows.c.uuid == sa.bindparam("of_uuid")
    gone = [{"of_uuid": step.uuid} for step in steps if step.now is None]
    changed, added = [], []
    for step in steps:
        if step.now is None:
            continue
        row = {"version": step.version, "origin": step.origin}
        row |= to_row(table, step.now)
        if step.was is None:
            added.append(row | {"uuid": step.uuid, "sequence": step.sequence})
        else:
            changed.append(row | {"of_uuid": step.uuid})
    try:
        if gone:
            connection.execute(rows.delete().where(with_uuid), gone)
        if changed:
            connection.execute(rows.update().where(with_uuid), changed)
        if added:
            connection.execute(rows.insert(), added)
    except sa.exc.IntegrityError as error:
        names = ", ".join(dict.fromkeys(step.name for step in steps if step.now))
        expected = "each name once. Choose another name, or change the one there is."
        found = "a name that is there already"
        raise ConflictError([Refusal(names, None, None, found, expected)]) from error


def _write_contents(connection: sa.Connection, steps: Sequence[Step]) -> None:
    """Keep the content of new attachments, each once."""
    known = schema.contents.c.sha256
    for step in steps:
        if not isinstance(step.now, Attachment):
            continue
        sha256, content = step.now.sha256, step.now.content
        if connection.scalar(sa.select(known).where(known == sha256)) is not None:
            continue
        if hashlib.sha256(content).hexdigest() != sha256:
            msg = f"{step.name}: sha256 is {sha256}; its content has another one."
            raise ValueError(msg)
        row = {"sha256": sha256, "content": content}
        connection.execute(schema.contents.insert(), row)


def _digs_of_samples(
    connection: sa.Connection, steps: Sequence[Step]
) -> dict[str, str]:
    """Return the dig of each sample that a tally or grain among the steps names."""
    names = {
        getattr(record, "sample", None)
        for step in steps
        if step.table in ("tallies", "grains")
        for record in (step.was, step.now)
    }
    rows = schema.RECORD_TABLES["samples"]
    found: dict[str, str] = {}
    for chunk in in_chunks(name for name in names if name is not None):
        wanted = sa.select(rows.c.sample, rows.c.dig).where(rows.c.sample.in_(chunk))
        found.update((sample, dig) for sample, dig in connection.execute(wanted))
    return found


def _dig_of(step: Step, digs: dict[str, str]) -> str | None:
    """Return the dig on whose page a step shows; None for what is of no dig."""
    record = step.now or step.was
    if isinstance(record, (Dig, Sample)):
        return record.dig
    dig: str | None = getattr(record, "dig", None)
    sample: str | None = getattr(record, "sample", None)
    return dig if sample is None else digs.get(sample)


def _check_names(connection: sa.Connection, steps: Sequence[Step]) -> None:
    """Refuse steps after which a record would name what is not there."""
    touched = {step.table for step in steps}
    refusals = []
    for child, column, parent, key in schema.REFERENCES:
        if not touched & {child, parent}:
            continue
        one, other = schema.RECORD_TABLES[child], schema.RECORD_TABLES[parent]
        named = one.c[column]
        there = sa.exists().where(other.c[key] == named)
        lost = sa.select(named).where(named.is_not(None), ~there).distinct().limit(20)
        word = key if child != "attachments" else "dig"
        for (name,) in connection.execute(lost):
            expected = (
                f"a {word} that is in the book. Enter {word} {name} first, or remove"
                f" what belongs to it together with it."
            )
            refusals.append(Refusal(child, None, column, name, expected))
    refusals += _weighed_but_absent(connection, steps)
    if refusals:
        raise RefusedError(refusals)


def _weighed_but_absent(
    connection: sa.Connection, steps: Sequence[Step]
) -> list[Refusal]:
    """Return a refusal for each sample that a weighing names and the book lacks."""
    if not any(
        step.table == "weighings" or (step.table == "samples" and step.was is not None)
        for step in steps
    ):
        return []
    rows = schema.RECORD_TABLES["samples"]
    there = set(connection.scalars(sa.select(rows.c.sample)))
    weighings = (kept.record for kept in load_kept(connection, "weighings").values())
    return [
        Refusal(
            name_of("weighings", (weighing.weighing,)),
            None,
            "samples",
            sample,
            "samples in the book. Take it off the weighing, or enter it first.",
        )
        for weighing in weighings
        if isinstance(weighing, Weighing)
        for sample in weighing.samples
        if sample not in there
    ]
