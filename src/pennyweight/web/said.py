"""Rows and their changes in the words and units of whoever reads."""

from __future__ import annotations

from pennyweight.book.history import edits
from pennyweight.records import Record
from pennyweight.units import METRIC, Measures
from pennyweight.web.columns import NO_GRADE, TABLES, Field
from pennyweight.web.forms import key_of, show_field, usual_unit

#: The most changed columns that one line names.
MOST_NAMED = 4


def name_row(table: str, record: Record, measures: Measures = METRIC) -> str:
    """Return a row as a person calls it, for the history.

    Examples
    --------
    >>> from pennyweight.records import Layer
    >>> name_row("layers", Layer(dig="T1-2", top_m=0.4, bottom_m=0.9))
    'layer of T1-2 from 0.4 m'
    """
    key = key_of(table, record)
    if table == "layers":
        top = say_field(TABLES["layers"].field("top_m"), record, measures)
        return f"layer of {key[0]} from {top}"
    if table == "tallies":
        return f"tally of {key[0]}, size {key[1]}"
    if table == "grains":
        return f"grain {key[1]} of {key[0]}"
    names = " ".join(str(part) for part in key if part is not None)
    return f"{table.removesuffix('s')} {names}"


def say_field(column: Field, record: Record, measures: Measures = METRIC) -> str:
    """Return what a row says in a column, with the unit; "nothing" for nothing."""
    unit = usual_unit(column, record, measures)
    text = show_field(column, record, unit)
    if not text:
        return "nothing"
    spelled = not text.replace(".", "").lstrip("-").isdigit() and "/" not in text
    return text if not unit or spelled else f"{text} {unit}"


def say_changes(
    table: str, before: Record, after: Record, *, measures: Measures = METRIC
) -> str:
    """Return what changed in a row, each column from what to what.

    Examples
    --------
    >>> from pennyweight.records import Dig
    >>> before, after = Dig(dig="B1", bottom_m=1.0), Dig(dig="B1", bottom_m=1.2)
    >>> say_changes("digs", before, after)
    'depth reached 1 m -> 1.2 m'
    """
    changed = edits(before, after)
    said = [
        f"{column.label.lower()} {say_field(column, before, measures)} -> "
        f"{say_field(column, after, measures)}"
        for column in TABLES[table].fields
        if column.name in changed
    ]
    more = len(said) - MOST_NAMED
    return ", ".join(said[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def warn_of_kind(record: Record) -> str:
    """Return what a sample of this kind does not tell; empty for a fair one."""
    taken = getattr(record, "taken", "")
    if taken not in NO_GRADE:
        return ""
    return f" A {taken} sample speaks of presence and shape; it enters no grade."
