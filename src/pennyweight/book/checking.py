"""Is the book itself sound? What `check` looks at besides the record.

Every look returns findings, and the last of them is about the record itself: see
`findings`. Only findings of weight "wrong" about the file are damage.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable
from pathlib import Path

import sqlalchemy as sa

from pennyweight.book import schema
from pennyweight.book.book import Book, open_book
from pennyweight.book.findings import find_doubts
from pennyweight.book.rows import from_line, key_of, name_of, same
from pennyweight.book.writing import load_kept
from pennyweight.errors import DamagedBookError, Finding
from pennyweight.records import KEYS

#: What to do with a book that is damaged.
REMEDY = (
    "Do not write in it. Take the newest copy from the folder `backups` beside it, or"
    " make a new book and take in what `share` still writes."
)
#: How many findings of one kind are told; the rest is counted.
TOLD = 20

Look = Callable[[sa.Connection], list[Finding]]


def _damage(where: str, problem: str) -> Finding:
    """Return the finding that a book is damaged."""
    return Finding(where=where, problem=problem, remedy=REMEDY, weight="wrong")


def check_pages(connection: sa.Connection) -> list[Finding]:
    """Look whether the file's pages and indexes are whole."""
    said = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
    return [
        _damage("the file", f"the database reports: {line}.")
        for line in said
        if line != "ok"
    ][:TOLD]


def check_references(connection: sa.Connection) -> list[Finding]:
    """Look whether a record names another one that is not there."""
    lost = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    return [
        _damage(str(table), f"row {row} names a row of {parent} that is not there.")
        for table, row, parent, _ in lost
    ][:TOLD]


def check_layout(connection: sa.Connection) -> list[Finding]:
    """Look whether every table and column of this format is there, and one ground."""
    there = sa.inspect(connection)
    tables = set(there.get_table_names())
    found = []
    for name, table in schema.metadata.tables.items():
        if name not in tables:
            found.append(_damage("the file", f"the table {name} is missing."))
            continue
        columns = {column["name"] for column in there.get_columns(name)}
        lost = [column.name for column in table.columns if column.name not in columns]
        if lost:
            problem = f"the table {name} lacks {', '.join(lost)}."
            found.append(_damage("the file", problem))
    revision = sa.text("SELECT version_num FROM alembic_version")
    if not found and connection.scalar(revision) != f"{schema.FORMAT:04}":
        problem = f"its format is {schema.FORMAT}, its migrations say otherwise."
        found.append(_damage("the file", problem))
    return found


def check_history(connection: sa.Connection) -> list[Finding]:
    """Look whether the last line of history of each record says what its row says."""
    past, rows = schema.history.c, schema.batches.c
    wanted = (
        sa.select(past.record_table, past.record, past.version, past.now)
        .join(schema.batches, rows.uuid == past.batch)
        .order_by(rows.number, past.place)
    )
    last = {row.record: row for row in connection.execute(wanted)}
    found = []
    for table in KEYS:
        for kept in load_kept(connection, table).values():
            line = last.pop(kept.uuid, None)
            told = from_line(table, line.now if line is not None else None)
            name = name_of(table, key_of(table, kept.record))
            if line is None or told is None:
                found.append(_damage(name, "is in the book, but not in its history."))
            elif line.version != kept.version or not same(table, told, kept.record):
                problem = "says something else than the last line of its history."
                found.append(_damage(name, problem))
    gone = [row for row in last.values() if row.now is not None]
    for row in gone:
        record = from_line(row.record_table, row.now)
        if record is not None:
            name = name_of(row.record_table, key_of(row.record_table, record))
            found.append(_damage(name, "is in the history, but not in the book."))
    return found[:TOLD]


def check_contents(connection: sa.Connection) -> list[Finding]:
    """Look whether the files kept in the book are those that were put in."""
    rows = schema.contents.c
    return [
        _damage(f"file of SHA-256 {sha256[:12]}", "its content is not what was put in.")
        for sha256, content in connection.execute(sa.select(rows.sha256, rows.content))
        if hashlib.sha256(content).hexdigest() != sha256
    ][:TOLD]


#: In this order, each only if those before it found nothing.
LOOKS: tuple[Look, ...] = (
    check_pages,
    check_layout,
    check_references,
    check_history,
    check_contents,
)


def check_book(path: Path, today: datetime.date | None = None) -> list[Finding]:
    """Return what is wrong with a book, and what is odd about its record.

    Parameters
    ----------
    path : Path
        Of the book; it is not changed.
    today : date, optional
        Then dates after it are told too.

    Returns
    -------
    list of Finding
        Damage first. Empty when all is well.

    Raises
    ------
    CallError
        There is no such book.
    ClosedBookError
        It cannot be opened, or is of a newer format.
    """
    try:
        with open_book(path, read_only=True) as book:
            return _damage_of(book) or find_doubts(book.log(), today)
    except DamagedBookError as error:
        return [_damage("the file", str(error))]


def _damage_of(book: Book) -> list[Finding]:
    """Return the findings of the first look that finds something."""
    with book.transaction() as connection:
        for look in LOOKS:
            if found := look(connection):
                return found
    return []


def is_damage(finding: Finding) -> bool:
    """Tell whether a finding is about the book itself rather than the record."""
    return finding.remedy == REMEDY
