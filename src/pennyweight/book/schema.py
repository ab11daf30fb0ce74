"""The tables of a book: one for each kind of record, and four for the book itself.

The record tables mirror `records.KEYS`: a column for each field, the natural key
unique. Every row also has a `uuid` (its identity for good, whatever its name), a
`version` (counted up at each change), a `sequence` (the order in which rows were
taken in) and an `origin` (the `log_id` of the field log it came from; null is this
book's own).

References go by name and are checked when a transaction ends, so that a dig and
all that belongs to it can be renamed or removed together, and in no other way:
nothing is deleted by cascade, because every removal must stand in the history.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from pennyweight.book.rows import Field, fields_of
from pennyweight.records import KEYS

#: Number of the layout: the last migration leaves a book at this one.
FORMAT = 3

#: Stands in the file's header and tells a book from any other database: "PWDT".
APPLICATION_ID = 0x50574454

#: What may only name a record that is there: (table, column, table named, column).
REFERENCES = (
    ("layers", "dig", "digs", "dig"),
    ("samples", "dig", "digs", "dig"),
    ("rocks", "dig", "digs", "dig"),
    ("attachments", "dig", "digs", "dig"),
    ("tallies", "sample", "samples", "sample"),
    ("grains", "sample", "samples", "sample"),
)

#: Names that constraints get, so that a migration can speak of them.
metadata = sa.MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

_TYPES: dict[str, type[sa.types.TypeEngine[Any]]] = {
    "text": sa.Text,
    "number": sa.Double,
    "whole": sa.BigInteger,
    "flag": sa.Boolean,
    "words": sa.Text,
    "names": sa.Text,
}


def _column(table: str, field: Field) -> sa.Column[object]:
    """Return the column of a field, with its reference if it has one."""
    named = [
        sa.ForeignKey(f"{parent}.{key}", deferrable=True, initially="DEFERRED")
        for child, column, parent, key in REFERENCES
        if (child, column) == (table, field.name)
    ]
    return sa.Column(
        field.name,
        _TYPES[field.kind](),
        *named,
        nullable=not field.required,
        index=bool(named) and field.name not in KEYS[table][1][:1],
    )


def _record_table(table: str) -> sa.Table:
    """Return the table that holds one kind of record."""
    key = KEYS[table][1]
    constraints: list[sa.schema.SchemaItem] = []
    if table == "attachments":
        constraints.append(
            sa.ForeignKeyConstraint(["sha256"], ["contents.sha256"]),
        )
    # A null equals nothing in SQL, but two days of nobody are the same day.
    if table != "days" and key:
        constraints.append(sa.UniqueConstraint(*key))
    made = sa.Table(
        table,
        metadata,
        sa.Column("uuid", sa.Text(), primary_key=True),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("origin", sa.Text()),
        *(_column(table, field) for field in fields_of(table)),
        *constraints,
    )
    if table == "days":
        sa.Index("uq_days", made.c.date, sa.func.coalesce(made.c.by, ""), unique=True)
    return made


#: One row: which book this is.
book = sa.Table(
    "book",
    metadata,
    sa.Column("id", sa.Text(), primary_key=True),
    sa.Column("name", sa.Text(), nullable=False),
    sa.Column("made_at", sa.Text(), nullable=False),
    sa.Column("made_by", sa.Text(), nullable=False),
)

#: Content of attachments by its SHA-256; kept when the attachment is removed, so that
#: the removal can be undone.
contents = sa.Table(
    "contents",
    metadata,
    sa.Column("sha256", sa.Text(), primary_key=True),
    sa.Column("content", sa.LargeBinary(), nullable=False),
)

RECORD_TABLES: dict[str, sa.Table] = {table: _record_table(table) for table in KEYS}

#: One row for each time that someone changed something, in the order of `number`.
batches = sa.Table(
    "batches",
    metadata,
    sa.Column("uuid", sa.Text(), primary_key=True),
    sa.Column("number", sa.BigInteger(), nullable=False, unique=True),
    sa.Column("at", sa.Text(), nullable=False),
    sa.Column("who", sa.Text(), nullable=False),
    sa.Column("why", sa.Text(), nullable=False),
    sa.Column("undoes", sa.Text(), sa.ForeignKey("batches.uuid")),
)

#: One row for each record that a batch added, changed or removed. `record` is the uuid
#: of its row; `was` and `now` are lines of JSON, null where there was or is nothing;
#: `dig` is the dig on whose page the change shows.
history = sa.Table(
    "history",
    metadata,
    sa.Column("batch", sa.Text(), sa.ForeignKey("batches.uuid"), primary_key=True),
    sa.Column("place", sa.BigInteger(), primary_key=True),
    sa.Column("record_table", sa.Text(), nullable=False),
    sa.Column("record", sa.Text(), nullable=False, index=True),
    sa.Column("version", sa.BigInteger(), nullable=False),
    sa.Column("sequence", sa.BigInteger(), nullable=False),
    sa.Column("origin", sa.Text()),
    sa.Column("dig", sa.Text(), index=True),
    sa.Column("was", sa.Text()),
    sa.Column("now", sa.Text()),
)
