"""Cells to values, a whole column at a time: numbers, units, words, dates.

A number has a point, or where semicolons or tabs part the cells a comma, as decimal
mark; never both in one column, and never a mark between thousands.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pennyweight.errors import Refusal
from pennyweight.exchange.columns import Column
from pennyweight.exchange.headings import Slot
from pennyweight.exchange.sizeclasses import parse_size_class
from pennyweight.exchange.tables import Sheet
from pennyweight.units import QUANTITIES, to_inside

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_THOUSANDS = re.compile(
    r"[+-]?\d{1,3}(?:([.,'\u2019 \u00a0\u202f])\d{3})+(?:[.,]\d+)?", re.ASCII
)
_POINT_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_YES_NO = {"true": True, "yes": True, "1": True, "false": False, "no": False}
_YES_NO["0"] = False
#: A count beyond this is a slip of the hand [-].
MOST_COUNTED = 1_000_000


@dataclass(frozen=True, slots=True)
class Cells:
    """One column, read.

    Attributes
    ----------
    values : list
        One a row; None where the cell is empty or refused.
    texts : list of str
        One a row, with a decimal point; empty where the cell is.
    refusals : dict of int to Refusal
        By place in the list of rows.
    """

    values: list[Any]
    texts: list[str]
    refusals: dict[int, Refusal]


def read_cells(sheet: Sheet, slot: Slot, column: Column) -> Cells:
    """Return the values of one column of a sheet.

    Parameters
    ----------
    sheet : Sheet
        As read.
    slot : Slot
        Which of its columns.
    column : Column
        What the column is declared to be.
    """
    texts = [row[slot.index] for row in sheet.rows]
    refusals: dict[int, Refusal] = {}

    def refuse(at: int, expected: str) -> None:
        found = sheet.rows[at][slot.index]
        row = sheet.numbers[at]
        refusals.setdefault(at, Refusal(sheet.file, row, slot.heading, found, expected))

    if column.kind in {"number", "count", "measured"}:
        if sheet.separator != ",":
            texts = _with_points(texts, sheet.numbers, refuse)
        values = _numbers(texts, slot, column, refuse=refuse)
    else:
        values = _words(texts, column, refuse)
    return Cells(values, texts, refusals)


def find_point_thousands(sheet: Sheet, slots: list[Slot]) -> list[Refusal]:
    """Refuse columns like 1.250, 12.500 in a sheet that writes decimals with commas.

    Parameters
    ----------
    sheet : Sheet
        As read; parted by semicolons or tabs.
    slots : list of Slot
        Its columns of numbers.
    """
    columns = [[row[slot.index] for row in sheet.rows] for slot in slots]
    if not any("," in cell and "." not in cell for cells in columns for cell in cells):
        return []
    refusals = []
    for slot, cells in zip(slots, columns, strict=True):
        filled = [(at, cell) for at, cell in enumerate(cells) if cell]
        if filled and all(_POINT_THOUSANDS.fullmatch(cell) for _, cell in filled):
            refusals += [
                Refusal(
                    sheet.file,
                    sheet.numbers[at],
                    slot.heading,
                    cell,
                    "a number without a mark between thousands: this file writes "
                    f"decimals with a comma, so {cell} may mean "
                    f"{cell.replace('.', '')} or {cell.replace('.', ',', 1)}",
                )
                for at, cell in filled
            ]
    return refusals


def _with_points(
    texts: list[str], numbers: list[int], refuse: Callable[[int, str], None]
) -> list[str]:
    """Return the column with decimal points, refusing a second decimal mark."""
    first_mark, first_row = "", 0
    pointed = []
    for at, text in enumerate(texts):
        comma, point = "," in text, "." in text
        if comma and point:
            refuse(at, f"one decimal mark and none between thousands, not {text}")
        elif comma or point:
            mark = "," if comma else "."
            if not first_mark:
                first_mark, first_row = mark, numbers[at]
            elif mark != first_mark:
                refuse(
                    at,
                    f"one decimal mark in the whole column; row {first_row} has "
                    f"{first_mark!r}, this one {mark!r}",
                )
        pointed.append(text.replace(",", ".") if text.count(",") == 1 else text)
    return pointed


def _numbers(
    texts: list[str],
    slot: Slot,
    column: Column,
    *,
    refuse: Callable[[int, str], None],
) -> list[float | int | None]:
    """Return the numbers of a column in its inside unit."""
    convert = _converter(slot, column)
    whole = column.kind == "count"
    values: list[float | int | None] = [None] * len(texts)
    for at, text in enumerate(texts):
        if not text:
            continue
        if not _NUMBER.fullmatch(text):
            refuse(at, _expected_number(text, column))
            continue
        value = convert(float(text))
        if wrong := _out_of_bounds(value, column) or _impossible(value, slot, column):
            refuse(at, wrong)
        elif whole and (value != int(value) or value > MOST_COUNTED):
            refuse(at, f"a whole number up to {MOST_COUNTED}")
        else:
            values[at] = int(value) if whole else value
    return values


def to_field_unit(value: float, unit: str, column: Column) -> float:
    """Return a measured value in the unit of the record's field.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        A suffix of the field log.
    column : Column
        What is measured.

    Examples
    --------
    >>> from pennyweight.exchange.logtables import DIGS
    >>> bottom = next(one for one in DIGS.columns if one.name == "bottom")
    >>> to_field_unit(35.0, "cm", bottom)
    0.35
    """
    if unit == column.unit:
        return value
    factors = QUANTITIES[column.quantity]
    parts = factors[column.unit] / factors[unit]
    if abs(parts - round(parts)) < 1e-9 and round(parts) > 1:
        # 35 cm is 35 / 100, which is 0.35; 35 * 0.01 is not.
        return value / float(round(parts))
    return to_inside(value, unit, column.quantity) / factors[column.unit]


def _converter(slot: Slot, column: Column) -> Callable[[float], float]:
    """Return what turns a number of the slot's unit into the inside unit."""
    # The foot of easting and northing is the coordinate system's own.
    own_foot = bool(column.units) and slot.unit == "ft"
    if column.kind != "measured" or own_foot or slot.unit == column.unit:
        return float
    return lambda value: to_field_unit(value, slot.unit, column)


def _expected_number(text: str, column: Column) -> str:
    """Return what to write instead of a text that is no number."""
    what = "a whole number" if column.kind == "count" else "a number"
    if text.lower().lstrip("+-") in {"nan", "inf", "infinity"}:
        return f"{what}, or an empty cell where it is not known"
    if _THOUSANDS.fullmatch(text):
        return (
            f"{what} without a mark between thousands, and with a point as decimal "
            "mark (a comma only in files parted by semicolons or tabs)"
        )
    if "," in text:
        return f"{what} with a point as decimal mark"
    if re.search(r"['\"\u2032\u2033]|\d\s*/\s*\d|\d\s*-\s*\d", text):
        return f"{what} in one unit, like 3.5; fractions and feet with inches are not"
    return f"{what}, or an empty cell where it is not known"


def _out_of_bounds(value: float, column: Column) -> str:
    """Return what is allowed, if the value is not; in the inside unit."""
    unit = f" {column.unit}" if column.unit else ""
    if not math.isfinite(value):
        return "a finite number"
    if column.above is not None and value <= column.above:
        limit = f" and at most {column.most:g}" if column.most is not None else ""
        return f"a number above {column.above:g}{limit}{unit}"
    low = column.least is not None and value < column.least
    high = column.most is not None and value > column.most
    if not (low or high):
        return ""
    if column.most is None:
        return f"a number of {column.least:g}{unit} or more"
    start = column.least if column.least is not None else column.above
    return f"a number between {start:g} and {column.most:g}{unit}"


def _impossible(value: float, slot: Slot, column: Column) -> str:
    """Return what is possible at all, if the value is not; in the unit as typed."""
    limit = column.possible
    if limit is None or limit.holds(value):
        return ""
    if column.kind != "measured":
        return limit.told()
    unit = slot.unit or column.unit
    return f"{limit.told(unit, to_field_unit(1.0, unit, column))}. Check the unit"


def _words(
    texts: list[str], column: Column, refuse: Callable[[int, str], None]
) -> list[Any]:
    """Return the words of a column, each checked once."""
    readers: dict[str, Callable[[str], Any]] = {
        "text": str,
        "names": lambda text: tuple(text.split()),
        "choice": lambda text: _choice(text, column.allowed),
        "date": _date,
        "yes_no": _yes_no,
        "class": parse_size_class,
    }
    read = readers[column.kind]
    known: dict[str, Any] = {"": None}
    wrong: dict[str, str] = {}
    values: list[Any] = []
    for at, text in enumerate(texts):
        if text not in known and text not in wrong:
            try:
                known[text] = read(text)
            except ValueError as refused:
                wrong[text] = str(refused)
        if text in wrong:
            refuse(at, wrong[text])
        values.append(known.get(text))
    return values


def _choice(text: str, allowed: tuple[str, ...]) -> str:
    word = re.sub(r"[\s-]+", "_", text.lower())
    if word not in allowed:
        msg = f"one of {', '.join(allowed)}"
        raise ValueError(msg)
    return word


def _date(text: str) -> str:
    expected = "a date like 2026-07-31 (year-month-day)"
    if not _DATE.fullmatch(text):
        raise ValueError(expected)
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        msg = f"{expected} that is in the calendar"
        raise ValueError(msg) from None


def _yes_no(text: str) -> bool:
    if text.lower() not in _YES_NO:
        msg = f"one of {', '.join(_YES_NO)}"
        raise ValueError(msg)
    return _YES_NO[text.lower()]
