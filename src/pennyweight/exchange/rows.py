"""Rows of one table, read: the fields of a record, what was typed, what is unknown."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from pennyweight.errors import Finding, Refusal
from pennyweight.exchange.cells import Cells, find_point_thousands, read_cells
from pennyweight.exchange.columns import Column, Table
from pennyweight.exchange.headings import Slot, fits, match_headings
from pennyweight.exchange.tables import Sheet, read_sheet


@dataclass(slots=True)
class Row:
    """One row on its way to a record.

    Attributes
    ----------
    number : int
        As a spreadsheet shows it.
    fields : dict
        What is known of the record, empty cells left out.
    typed, extra : dict
        As in `records.Record`.
    refused : bool
        Whether something of it was refused.
    cells : list of str
        The row as typed.
    """

    number: int
    fields: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    extra: dict[str, str] = field(default_factory=dict)
    refused: bool = False
    cells: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Rows:
    """All rows of one table, and what was said about them so far.

    Attributes
    ----------
    table : Table
        Which of the log's files it is.
    file : str
        Its name as handed in.
    headings : dict of str to str
        Field to heading as typed, for refusals.
    rows : list of Row
        In file order, refused ones included.
    refusals : list of Refusal
        Everything that is wrong.
    unknown : tuple of str
        Headings that nobody knows.
    sheet_headings : tuple of str
        All headings as typed.
    doubts : list of Finding
        What was taken and looks odd.
    headless : bool
        Whether a heading was refused, so that no row can be told good from bad.
    """

    table: Table
    file: str
    headings: dict[str, str] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    unknown: tuple[str, ...] = ()
    sheet_headings: tuple[str, ...] = ()
    doubts: list[Finding] = field(default_factory=list)
    headless: bool = False

    def refuse(self, row: Row, name: str, *, found: object, expected: str) -> None:
        """Refuse a row for one of its fields."""
        row.refused = True
        heading = self.headings.get(name, name)
        self.refusals.append(
            Refusal(self.file, row.number, heading, str(found), expected)
        )

    def good(self) -> Iterable[Row]:
        """Return the rows that nothing was said against."""
        return (row for row in self.rows if not row.refused)


def read_rows(content: bytes, table: Table, file: str) -> Rows:
    """Return the rows of one table file.

    Parameters
    ----------
    content : bytes
        The file.
    table : Table
        What it is.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        The file as a whole cannot be read as a table.
    """
    sheet = read_sheet(content, file, lambda heading: fits(heading, table))
    slots, refused_headings = match_headings(sheet, table)
    found = Rows(
        table,
        file,
        rows=[
            Row(number, cells=cells)
            for number, cells in zip(sheet.numbers, sheet.rows, strict=True)
        ],
        sheet_headings=sheet.headings,
        refusals=[*refused_headings, *sheet.refusals],
        headless=bool(refused_headings),
    )
    if found.headless:
        for row in found.rows:
            row.refused = True
    by_number = {row.number: row for row in found.rows}
    numeric = [slot for slot in slots if slot.column and _is_number(slot.column)]
    wrong = list(sheet.refusals)
    if sheet.separator != ",":
        wrong += find_point_thousands(sheet, numeric)
        found.refusals += wrong[len(sheet.refusals) :]
    for refusal in wrong:
        by_number[refusal.row or 0].refused = True
    _fill(found, sheet, slots)
    found.unknown = tuple(slot.heading for slot in slots if slot.column is None)
    _require_cells(found)
    return found


def _is_number(column: Column) -> bool:
    return column.kind in {"number", "count", "measured"}


def _fill(found: Rows, sheet: Sheet, slots: tuple[Slot, ...]) -> None:
    """Put every cell where it belongs."""
    for slot in slots:
        if slot.column is None:
            _keep(found, sheet, slot)
            continue
        cells = read_cells(sheet, slot, slot.column)
        found.refusals += cells.refusals.values()
        for at in cells.refusals:
            found.rows[at].refused = True
        _put(found, slot, slot.column, cells=cells)
        if slot.unit == "gr" and any(cells.texts):
            found.doubts.append(
                Finding(
                    where=f"{found.file}, column {slot.heading}",
                    problem="gr was read as grains (1 grain = 64.79891 mg), not grams",
                    remedy="Rename the column to _grain or to _g so that it is plain.",
                    weight="doubt",
                )
            )


def _keep(found: Rows, sheet: Sheet, slot: Slot) -> None:
    """Keep a column that nobody knows with its rows."""
    for row, texts in zip(found.rows, sheet.rows, strict=True):
        if texts[slot.index]:
            row.extra[slot.heading] = texts[slot.index]


def _put(found: Rows, slot: Slot, column: Column, *, cells: Cells) -> None:
    """Put one column's values into the rows."""
    own_foot = bool(column.units) and slot.unit == "ft"
    name = column.field or column.name
    if own_foot:
        name = f"{column.name}_ft"
    keeps_typed = not column.field or slot.unit != (
        column.unit if column.kind == "measured" else ""
    )
    found.headings.setdefault(name, slot.heading)
    for at, value in enumerate(cells.values):
        text = cells.texts[at]
        if not text:
            continue
        row = found.rows[at]
        if name in row.fields and not row.refused:
            expected = (
                f"one of {found.headings[name]} and {slot.heading} in a row, not both"
            )
            row.refused = True
            found.refusals.append(
                Refusal(
                    found.file,
                    row.number,
                    slot.heading,
                    text,
                    expected,
                )
            )
            continue
        row.fields[name] = value
        if keeps_typed:
            row.typed[slot.plain_heading] = text


def _require_cells(found: Rows) -> None:
    """Refuse rows that leave a required cell empty."""
    for column in found.table.columns:
        if column.need != "cell" or column.field not in found.headings:
            continue
        expected = f"a value for {found.headings[column.field]} in every row"
        for row in found.rows:
            if column.field not in row.fields:
                found.refuse(row, column.field, found="", expected=expected)
