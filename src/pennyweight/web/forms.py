"""What was typed into a field, as a value of the record or as a plain complaint.

The rules are those of the field log (`exchange`), so that the page takes what a file
may hold and nothing else; a decimal comma is understood.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from pennyweight.exchange.cells import read_cells
from pennyweight.exchange.headings import Slot
from pennyweight.exchange.tables import Sheet
from pennyweight.records import KEYS, BucketTest, Log, PanTest, Record
from pennyweight.units import METRIC, QUANTITIES, Measures, from_inside
from pennyweight.web.columns import Field, Table
from pennyweight.web.dates import DateError, read_date
from pennyweight.web.measured import Measured, read_measured
from pennyweight.web.shown import plain

Kept = TypeVar("Kept", bound=Record)

_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)", re.ASCII)

Form = dict[str, str]

#: Columns of which a person reads no more than a decimeter.
ON_GRID = frozenset({"easting_m", "northing_m"})

#: Records that are numbered by the program: table -> the field within which.
NUMBERED = {"grains": "sample", "rocks": "", "pantests": "", "buckets": ""}


class FieldError(ValueError):
    """What was typed cannot be taken; the text says what can."""


def parse_number(text: str) -> float:
    """Return a number typed with a point or a comma as its decimal mark.

    Raises
    ------
    FieldError
        It is no number.

    Examples
    --------
    >>> parse_number("0,35"), parse_number("-12")
    (0.35, -12.0)
    """
    bare = text.strip().replace(",", ".").replace("\u2212", "-")
    if _NUMBER.fullmatch(bare) is None:
        msg = f"{text.strip() or 'Nothing'} is no number. Write it like 0.35."
        raise FieldError(msg)
    return float(bare)


def parse_field(column: Field, text: str, unit: str = "") -> Any:
    """Return the value that a text means in a column; None for an empty one.

    Parameters
    ----------
    column : Field
        What is expected.
    text : str
        As typed.
    unit : str
        Of a measured column, one of those offered.

    Raises
    ------
    FieldError
        It cannot be that.
    """
    bare = text.strip()
    if not bare:
        if column.needed:
            msg = f"{column.label} is needed."
            raise FieldError(msg)
        return None
    if unit not in column.units:
        unit = usual_unit(column)
    if column.kind == "date":
        return _parse_date(bare)
    measured = _measured(column, bare, unit)
    if measured is not None:
        bare, unit = measured.number, measured.unit
    slot = Slot(0, column.label, column.rule, unit)
    sheet = Sheet("", (column.label,), 1, [[bare]], [1], ";")
    cells = read_cells(sheet, slot, column.rule)
    if cells.refusals:
        expected = cells.refusals[0].expected
        msg = f"{text.strip()} is not taken here. Expected: {expected}."
        raise FieldError(f"{msg}{_example(column, unit)}")
    return cells.values[0]


def _measured(column: Field, text: str, unit: str) -> Measured | None:
    """Return a measure with the unit that it names, if it can be read as one."""
    return read_measured(text, unit, column.units) if column.units else None


def _parse_date(text: str) -> str:
    try:
        return read_date(text)
    except DateError as error:
        raise FieldError(str(error)) from None


def _example(column: Field, unit: str) -> str:
    """Return what may be written instead, where there are several ways."""
    if "ft" in column.units:
        return f" Write 3.5 for {unit}, or with its unit: 4 ft 2 in, 50 in, 1.2 m."
    if len(column.units) > 1:
        return f" Write 3.5 for {unit}, or with its unit: 3.5 {column.units[0]}."
    return " Write it like 0.35." if column.kind == "number" else ""


def usual_unit(
    column: Field, record: Record | None = None, measures: Measures = METRIC
) -> str:
    """Return the unit in which a value was typed, or the reader's usual one."""
    typed = record.typed if record is not None else {}
    found = (unit for unit in column.units if column.heading(unit) in typed)
    return next(found, column.unit_in(measures))


def show_field(column: Field, record: Record, unit: str = "") -> str:
    """Return the text of a record's field in a unit, as a person would type it."""
    value = getattr(record, column.name, None)
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, tuple):
        return " ".join(value)
    if column.units:
        typed = record.typed.get(column.heading(unit))
        most = 1 if column.name in ON_GRID else 3
        return typed or plain(_in_unit(value, column, unit), most)
    return plain(value) if isinstance(value, float) else str(value)


def _in_unit(value: float, column: Field, unit: str) -> float:
    """Return a value of the field's own unit in another unit."""
    if unit == column.rule.unit:
        return value
    factor = QUANTITIES[column.rule.quantity][column.rule.unit]
    return from_inside(value * factor, unit, column.rule.quantity)


@dataclass
class Filled:
    """A form as it was sent: values for a record, and what is wrong with them.

    Attributes
    ----------
    values : dict
        Field -> value in its inside unit.
    typed : dict
        Heading with unit -> text, where it says more than the value.
    bases : set of str
        Headings without unit of all that was sent.
    errors : dict
        Field -> complaint.
    """

    values: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    bases: set[str] = field(default_factory=set)
    errors: dict[str, str] = field(default_factory=dict)

    def take(self, column: Field, text: str, unit: str = "") -> None:
        """Parse one field, and keep its value or its complaint."""
        try:
            value = parse_field(column, text, unit)
        except FieldError as error:
            self.errors[column.name] = str(error)
            return
        if value is None and column.name == "blank":
            value = False
        if value is None and column.name == "taken":
            value = "channel"
        self.values[column.name] = value
        self.bases.add(column.rule.name)
        measured = _measured(column, text, unit or usual_unit(column))
        if value is not None and measured and measured.said_in != column.rule.unit:
            self.typed[column.heading(measured.said_in)] = measured.said

    def applied_to(self, record: Kept) -> Kept:
        """Return the record with the fields of this form in place of its own."""
        left = {
            heading: text
            for heading, text in record.typed.items()
            if not any(_is_of(heading, base) for base in self.bases)
        }
        return replace(record, **self.values, typed={**left, **self.typed})


def _is_of(heading: str, base: str) -> bool:
    """Tell whether a heading is a column's, with or without a unit."""
    if base in {"easting", "northing"} and heading in {"longitude", "latitude"}:
        return True
    name, _, unit = heading.rpartition("_")
    known = any(unit in units for units in QUANTITIES.values())
    return heading == base or (known and name == base)


def fill(table: Table, form: Mapping[str, str], *, only_sent: bool = False) -> Filled:
    """Return what a form says about one row of a table.

    Parameters
    ----------
    table : Table
        What the row belongs to.
    form : mapping
        Field -> text as typed; `<field>.unit` -> unit of a measured one.
    only_sent : bool
        Leave out the columns that the form does not have.
    """
    filled = Filled()
    for column in table.fields:
        if only_sent and column.name not in form:
            continue
        unit = form.get(f"{column.name}.unit", usual_unit(column))
        filled.take(column, form.get(column.name, ""), unit)
    return filled


def only_changed(table: Table, form: Mapping[str, str], record: Record) -> Form:
    """Return the fields of a form that no longer say what the record says.

    What is only looked at stays as exact as it is.
    """
    changed: Form = {}
    for column in table.fields:
        unit = form.get(f"{column.name}.unit", usual_unit(column))
        text = form.get(column.name, "")
        if text.strip() != show_field(column, record, unit):
            changed[column.name] = text
            changed[f"{column.name}.unit"] = unit
    return changed


def complaints_about(record: Record) -> dict[str, str]:
    """Return what is wrong with a row as a whole, by field."""
    top, bottom = (getattr(record, name, None) for name in ("top_m", "bottom_m"))
    if top is not None and bottom is not None and top >= bottom:
        return {
            "bottom_m": (
                f"It ends at {_depth(record, 'bottom', bottom)} and begins at "
                f"{_depth(record, 'top', top)}. Depths are measured down from the "
                "surface, so the end is the larger one."
            )
        }
    volume, state = (getattr(record, name, None) for name in ("volume_m3", "state"))
    if volume is not None and state is None:
        return {
            "state": "Say whether the volume was measured in the bank, or once dug."
        }
    if isinstance(record, PanTest):
        return _complaints_about_test(record)
    if isinstance(record, BucketTest):
        return _complaints_about_buckets(record)
    return {}


def _complaints_about_test(test: PanTest) -> dict[str, str]:
    """Return what cannot be of grains that were put in and found again."""
    if test.found <= test.put_in:
        return {}
    return {
        "found": (
            f"{test.found} grains were found of {test.put_in} put in. Pan clean "
            "tailings first, so that they hold no gold of their own."
        )
    }


def _complaints_about_buckets(test: BucketTest) -> dict[str, str]:
    """Return what a bucket test lacks, or cannot be."""
    if sum(one is not None for one in (test.bank_m3, test.loose_m3, test.pans)) < 2:
        return {"loose_m3": "Two of the three are needed: hole, what came out, pans."}
    if test.bank_m3 and test.loose_m3 and not 1.0 <= test.loose_m3 / test.bank_m3 < 2.0:
        return {
            "loose_m3": (
                "What comes out of a hole takes up more room than the hole, and less "
                "than twice as much. Measure again, or look at the units."
            )
        }
    return {}


def _depth(record: Record, name: str, depth_m: float) -> str:
    """Return a depth in the unit in which it was typed."""
    for unit in ("ft", "in", "cm"):
        typed = record.typed.get(f"{name}_{unit}")
        if typed:
            return typed if not typed[-1:].isdigit() else f"{typed} {unit}"
    return f"{plain(depth_m)} m"


def new_record(table: Table, filled: Filled, log: Log) -> Record:
    """Return the record of a form without complaints, numbered where rows are."""
    values = dict(filled.values)
    if table.name in NUMBERED:
        within = NUMBERED[table.name]
        numbers = [
            row.number
            for row in getattr(log, table.name)
            if not within or getattr(row, within) == values.get(within)
        ]
        values["number"] = max(numbers, default=0) + 1
    return KEYS[table.name][0](**values, typed=dict(filled.typed))


# ---- rows by their identity ----------------------------------------------------


def key_of(table: str, record: Record) -> tuple[Any, ...]:
    """Return the values that identify a row."""
    return tuple(getattr(record, name) for name in KEYS[table][1])


def key_text(table: str, record: Record) -> str:
    """Return a row's identity as text, for an address or a form."""
    return json.dumps(key_of(table, record), ensure_ascii=False)


def find_row(rows: Iterable[Record], table: str, text: str) -> Record | None:
    """Return the row with that identity, or None."""
    return next((row for row in rows if key_text(table, row) == text), None)
