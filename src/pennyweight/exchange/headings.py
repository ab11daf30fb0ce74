"""Headings as typed, matched with the columns of the field log.

`Top (ft)`, `top_ft` and `TOP_FT` are one heading. A measured name without a unit, or
with one that is not on the list, is refused; a name that nobody knows is kept.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from pennyweight.errors import Refusal
from pennyweight.exchange.columns import Column, Table
from pennyweight.exchange.tables import Sheet
from pennyweight.units import QUANTITIES

#: Units that people write and the list does not have, with the one to use instead.
_OTHER_UNITS = {
    "meter": "m",
    "meters": "m",
    "metre": "m",  # codespell:ignore metre
    "metres": "m",  # codespell:ignore metres
    "feet": "ft",
    "foot": "ft",
    "inch": "in",
    "inches": "in",
    "yd": "ft",
    "yards": "ft",
    "km": "m",
    "liter": "l",
    "liters": "l",
    "litre": "l",  # codespell:ignore litre
    "litres": "l",  # codespell:ignore litres
    "ml": "l",
    "cc": "l",
    "cm3": "l",
    "dm3": "l",
    "cy": "yd3",
    "cuyd": "yd3",
    "cuft": "ft3",
    "gallon": "gal",
    "gallons": "gal",
    "qt": "gal",
    "grains": "grain",
    "gram": "g",
    "grams": "g",
    "kg": "g",
    "oz": "ozt",
    "ounce": "ozt",
    "ounces": "ozt",
    "toz": "ozt",
    "pennyweight": "dwt",
    "ug": "mg",
}


@dataclass(frozen=True, slots=True)
class Slot:
    """One column of a sheet and what it fills.

    Attributes
    ----------
    index : int
        Place in the row.
    heading : str
        As typed.
    column : Column or None
        None for a column that nobody knows.
    unit : str
        Unit of a measured column.
    """

    index: int
    heading: str
    column: Column | None
    unit: str = ""

    @property
    def plain_heading(self) -> str:
        """The heading in its one written form."""
        name = self.column.name if self.column is not None else self.heading
        return f"{name}_{self.unit}" if self.unit else name


def plain(heading: str) -> str:
    """Return a heading in small letters with single underscores.

    Examples
    --------
    >>> plain(" Pan volume (L) ")
    'pan_volume_l'
    """
    return re.sub(r"[\s_()\[\]-]+", "_", heading.strip().lower()).strip("_")


def fits(heading: str, table: Table) -> bool:
    """Tell whether a heading is one that the file may have."""
    return plain(heading) in _known_headings(table)


def match_headings(
    sheet: Sheet, table: Table
) -> tuple[tuple[Slot, ...], tuple[Refusal, ...]]:
    """Return what each column of a sheet fills, and the headings that are refused.

    Parameters
    ----------
    sheet : Sheet
        As read.
    table : Table
        The file that it is.
    """
    slots: list[Slot] = []
    refusals: list[Refusal] = []
    seen: dict[str, str] = {}
    for index, heading in enumerate(sheet.headings):
        expected = ""
        if not heading:
            if any(row[index] for row in sheet.rows):
                expected = "a heading over every column that holds something"
        elif (known := _known_headings(table).get(plain(heading))) is not None:
            slot = Slot(index, heading, *known)
            if slot.plain_heading in seen:
                expected = f"each column once; {seen[slot.plain_heading]} is the same"
            seen[slot.plain_heading] = heading
            slots.append(slot)
        elif not (expected := _wrong_unit(plain(heading), table)):
            if heading in seen:
                expected = f"each column once; {heading} stands there twice"
            seen[heading] = heading
            slots.append(Slot(index, heading, None))
        if expected:
            refusals.append(
                Refusal(
                    sheet.file, sheet.header_row, heading or None, heading, expected
                )
            )
    refusals += _missing(sheet, table, slots)
    return tuple(slots), tuple(refusals)


@lru_cache(maxsize=32)
def _headings_by_file(
    file: str, columns: tuple[Column, ...]
) -> dict[str, tuple[Column, str]]:
    """Return every heading that a file may have, with its column and unit."""
    known: dict[str, tuple[Column, str]] = {}
    for column in columns:
        if column.kind != "measured":
            known[column.name] = (column, "")
            continue
        for unit in column.units or tuple(QUANTITIES[column.quantity]):
            known[f"{column.name}_{unit}"] = (column, unit)
    return known


def _known_headings(table: Table) -> dict[str, tuple[Column, str]]:
    return _headings_by_file(table.file, table.columns)


def _wrong_unit(name: str, table: Table) -> str:
    """Return what is expected where a measured name has no unit, or a wrong one."""
    all_units = {unit for factors in QUANTITIES.values() for unit in factors}
    for column in table.columns:
        if column.kind != "measured":
            continue
        units = column.units or tuple(QUANTITIES[column.quantity])
        headings = ", ".join(f"{column.name}_{unit}" for unit in units)
        if name == column.name:
            return f"a unit behind the name: {headings}"
        tail = name.removeprefix(f"{column.name}_")
        if tail != name and (tail in all_units or tail in _OTHER_UNITS):
            hint = f"one of {headings}"
            if (instead := _OTHER_UNITS.get(tail)) in units:
                hint += f"; convert the values if need be and write _{instead}"
            return hint
    return ""


def _missing(sheet: Sheet, table: Table, slots: list[Slot]) -> list[Refusal]:
    """Refuse a sheet that lacks a column which must be there."""
    have = {slot.column.name for slot in slots if slot.column is not None}
    return [
        Refusal(
            sheet.file,
            sheet.header_row,
            column.heading,
            ", ".join(filter(None, sheet.headings)),
            f"a column {column.heading}"
            + (" (or another unit)" if column.kind == "measured" else ""),
        )
        for column in table.columns
        if column.need != "optional" and column.name not in have
    ]
