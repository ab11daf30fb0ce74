"""How one record is written as a row of the book, and as one line of its history.

A record's fields are the columns; what is no single value (`typed`, `extra`, tables
of costs, a geometry) is JSON text. The content of an attachment is kept once, by its
SHA-256, apart from the row that names it.
"""

from __future__ import annotations

import datetime
import json
import math
import operator
import types
import typing
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from functools import cache
from typing import Any, Literal

from pennyweight.records import KEYS, Attachment, Record

Kind = Literal["text", "number", "whole", "flag", "words", "names"]
Key = tuple[Any, ...]

#: Tops of layers closer than this are the same top; a tape reads no finer [m].
SAME_DEPTH_M = 1e-4


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a record as a column.

    Attributes
    ----------
    name : str
        Of the field and of the column.
    kind : str
        text, number, whole, flag, words (a mapping) or names (a tuple of text).
    required : bool
        Whether it always holds a value.
    """

    name: str
    kind: Kind
    required: bool


def _kind(hint: Any) -> Kind:
    """Return the kind of column that a type of a record's field asks for."""
    if hint is str:
        return "text"
    if hint is bool:
        return "flag"
    if hint is int:
        return "whole"
    if hint is float:
        return "number"
    if typing.get_origin(hint) is tuple:
        return "names"
    return "words"


@cache
def fields_of(table: str) -> tuple[Field, ...]:
    """Return the columns that hold the records of a table, in their order."""
    record_class, _ = KEYS[table]
    hints = typing.get_type_hints(record_class)
    found = []
    for one in fields(record_class):
        if one.name == "content":
            continue
        hint, required = hints[one.name], True
        if isinstance(hint, types.UnionType):
            hint = typing.get_args(hint)[0]
            required = False
        found.append(Field(one.name, _kind(hint), required))
    return tuple(found)


@cache
def _reader(table: str) -> Callable[[Record], tuple[Any, ...]]:
    """Return what reads all columns off a record at once; it must be fast."""
    return operator.attrgetter(*(field.name for field in fields_of(table)))


@cache
def _defaults(table: str) -> tuple[Any, ...]:
    """Return what each column holds when the record leaves it out, or `MISSING`."""
    record_class, _ = KEYS[table]
    found = {one.name: one for one in fields(record_class)}
    return tuple(
        one.default_factory() if one.default_factory is not MISSING else one.default
        for one in (found[field.name] for field in fields_of(table))
    )


def key_of(table: str, record: Record) -> Key:
    """Return the natural key of a record: the values of its key fields."""
    return tuple(getattr(record, name) for name in KEYS[table][1])


def same_key(table: str, key: Key) -> Key:
    """Return a key in the form in which two spellings of one thing are equal."""
    if table == "layers":
        dig, top_m = key
        return (dig, round(top_m / SAME_DEPTH_M))
    if table == "days":
        return (key[0], key[1] or "")
    return key


def name_of(table: str, key: Key) -> str:
    """Return a record's name as the user says it: "dig T4", "sample T4-2"."""
    if table == "ground":
        return "the ground"
    if table == "layers":
        return f"dig {key[0]}, layer from {key[1]:.2f} m"
    if table == "tallies":
        return f"sample {key[0]}, class {key[1]}"
    if table == "grains":
        return f"sample {key[0]}, grain {key[1]}"
    if table == "days":
        return f"day {key[0]}" + (f" of {key[1]}" if key[1] else "")
    return f"{_SINGULAR[table]} {key[0]}"


_SINGULAR = {
    "digs": "dig",
    "samples": "sample",
    "weighings": "weighing",
    "rocks": "rock",
    "cleanups": "cleanup",
    "pantests": "pan test",
    "buckets": "bucket test",
    "features": "feature",
    "waypoints": "waypoint",
    "attachments": "file",
}


def _plain(value: object) -> str:
    """Return a date or time of a typed table as text; JSON has none."""
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    msg = f"{value!r} is a {type(value).__name__}; a book keeps text and numbers."
    raise TypeError(msg)


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, default=_plain).encode
_decode = json.JSONDecoder().decode


def to_text(value: Mapping[str, Any] | Sequence[str]) -> str:
    """Return a mapping or a tuple of names as JSON text."""
    if isinstance(value, Mapping):
        return _encode(dict(value)) if value else "{}"
    return _encode(list(value))


def to_row(table: str, record: Record) -> dict[str, Any]:
    """Return a record as the values of its columns.

    Raises
    ------
    ValueError
        A number is not finite; a book holds what was measured or nothing.
    """
    row: dict[str, Any] = {}
    for field, value in zip(fields_of(table), _reader(table)(record), strict=True):
        if field.kind in ("words", "names"):
            row[field.name] = to_text(value)
            continue
        if field.kind == "number" and value is not None and not math.isfinite(value):
            name = name_of(table, key_of(table, record))
            msg = f"{name}: {field.name} is {value}; leave out what was not measured."
            raise ValueError(msg)
        row[field.name] = value
    return row


def to_records(table: str, rows: Sequence[Sequence[Any]]) -> list[Record]:
    """Return the records of rows that hold the columns of `fields_of` in order.

    Rows of attachments hold the content as one value more, at the end.
    """
    unfold: dict[str, Callable[[Any], Any]] = {
        "words": _to_words,
        "names": _to_names,
        "flag": _to_flag,
    }
    columns = fields_of(table)
    folded = [(at, unfold[f.kind]) for at, f in enumerate(columns) if f.kind in unfold]
    names = [field.name for field in columns]
    if table == "attachments":
        names.append("content")
    # A book holds a hundred thousand records. Filling their slots one by one takes
    # half the time of calling the class, and a record does nothing when it is made.
    record_class, _ = KEYS[table]
    put = [getattr(record_class, name).__set__ for name in names]
    records = []
    for row in rows:
        values = list(row)
        for at, unfolded in folded:
            values[at] = unfolded(values[at])
        record = object.__new__(record_class)
        for put_into_slot, value in zip(put, values, strict=True):
            put_into_slot(record, value)
        records.append(record)
    return records


def _to_words(text: str) -> dict[str, Any]:
    """Return a mapping from its JSON text; most are empty, and that is fast."""
    return {} if text == "{}" else _decode(text)


def _to_names(text: str) -> tuple[str, ...]:
    """Return a tuple of names from its JSON text."""
    return tuple(_decode(text))


def _to_flag(value: int | None) -> bool | None:
    """Return a flag from the number that stands for it."""
    return None if value is None else bool(value)


def to_line(table: str, record: Record | None) -> str | None:
    """Return a record as one line of history: JSON of what it says, or None."""
    if record is None:
        return None
    values = zip(
        fields_of(table), _reader(table)(record), _defaults(table), strict=True
    )
    return to_text({f.name: value for f, value, default in values if value != default})


def from_line(table: str, line: str | None, content: bytes = b"") -> Record | None:
    """Return the record of a line of history; content goes to an attachment."""
    if line is None:
        return None
    record_class, _ = KEYS[table]
    said = _decode(line)
    for field in fields_of(table):
        if field.kind == "names" and field.name in said:
            said[field.name] = tuple(said[field.name])
    if record_class is Attachment:
        said["content"] = content
    return record_class(**said)


def same(table: str, one: Record, other: Record) -> bool:
    """Tell whether two records say the same, however their tables are held."""
    return one == other or json.loads(to_line(table, one) or "") == json.loads(
        to_line(table, other) or ""
    )
