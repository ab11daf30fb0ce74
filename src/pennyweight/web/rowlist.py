"""A table of the record as the page lists it: rows found, filtered, marked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from pennyweight.errors import Finding
from pennyweight.exchange.coordinates import open_grid
from pennyweight.records import Dig, Log, Record
from pennyweight.units import METRIC, Measures
from pennyweight.web.columns import Field, Table
from pennyweight.web.forms import key_of, key_text, show_field
from pennyweight.web.strip import unwashed

#: The columns of a place in degrees.
DEGREES = ("longitude", "latitude")

#: Rows on one page of a table.
PAGE_ROWS = 300

#: Filters of each table: name -> words.
FILTERS: Mapping[str, Mapping[str, str]] = {
    "samples": {
        "unwashed": "not yet washed",
        "duplicates": "duplicates and blanks",
        "doubtful": "doubtful",
    },
    "digs": {"unplaced": "without a place", "doubtful": "doubtful"},
    "layers": {"doubtful": "doubtful"},
}


@dataclass(frozen=True)
class Cell:
    """One cell of a row: its column, and its text in the column's unit."""

    column: Field
    text: str


@dataclass(frozen=True)
class Row:
    """One row as the page lists it.

    Attributes
    ----------
    key : str
        Identity of the record.
    cells : tuple of Cell
        In the order of the columns.
    unwashed : bool
        Whether it is a sample that waits to be washed.
    doubts : tuple of Finding
        What is odd about it.
    """

    key: str
    cells: tuple[Cell, ...]
    unwashed: bool
    doubts: tuple[Finding, ...]


@dataclass(frozen=True)
class RowList:
    """The rows of a table that were asked for, a page of them."""

    rows: tuple[Row, ...]
    found: int
    of: int
    first: int


def units_of(
    table: Table, chosen: Mapping[str, str], measures: Measures = METRIC
) -> dict[str, str]:
    """Return the unit of each measured column: the one chosen, or the reader's."""
    return {
        field.name: chosen[field.name]
        if chosen.get(field.name) in field.units
        else field.unit_in(measures)
        for field in table.fields
        if field.units
    }


def doubts_by_row(
    table: str, rows: Iterable[Record], findings: Iterable[Finding]
) -> dict[str, list[Finding]]:
    """Return the findings about each row, by its identity.

    A finding names its place as a person would: "dig T4, layer 2", "sample T4-2".
    """
    words = {"digs": "dig", "samples": "sample", "layers": "dig", "tallies": "sample"}
    word = words.get(table)
    if word is None:
        return {}
    by_name: dict[str, list[Finding]] = {}
    for finding in findings:
        about = finding.where.split(",")[0].strip()
        if about.startswith(f"{word} "):
            by_name.setdefault(about.removeprefix(f"{word} "), []).append(finding)
    found = {}
    for row in rows:
        name = key_of(table, row)[0]
        if name in by_name:
            found[key_text(table, row)] = by_name[name]
    return found


def _kept(row: Record, only: str, *, wet: frozenset[str], doubted: bool) -> bool:
    """Tell whether a row passes a filter."""
    if only == "unwashed":
        return getattr(row, "sample", "") in wet
    if only == "duplicates":
        return bool(getattr(row, "duplicate_of", None) or getattr(row, "blank", False))
    if only == "unplaced":
        return getattr(row, "easting_m", None) is None
    return only != "doubtful" or doubted


def in_order(log: Log, table: str) -> tuple[Record, ...]:
    """Return the rows of a table: layers by dig and depth, others as written."""
    if table != "layers":
        rows: tuple[Record, ...] = getattr(log, table)
        return rows
    place = {dig.dig: at for at, dig in enumerate(log.digs)}
    last = len(place)
    return tuple(
        sorted(
            log.layers, key=lambda row: (place.get(row.dig, last), row.dig, row.top_m)
        )
    )


def degrees_of(log: Log, rows: Iterable[Record]) -> dict[str, dict[str, str]]:
    """Return longitude and latitude of digs by their identity.

    As typed where they were typed, else worked out from the map grid.
    """
    digs = [row for row in rows if isinstance(row, Dig)]
    found = {
        key_text("digs", dig): {name: dig.typed.get(name, "") for name in DEGREES}
        for dig in digs
    }
    placed = [
        dig
        for dig in digs
        if dig.easting_m is not None
        and dig.northing_m is not None
        and not all(name in dig.typed for name in DEGREES)
    ]
    if log.ground.crs and placed:
        longitude, latitude = open_grid(log.ground.crs).to_globe(
            [dig.easting_m or 0.0 for dig in placed],
            [dig.northing_m or 0.0 for dig in placed],
        )
        for dig, *place in zip(placed, longitude, latitude, strict=True):
            if np.isfinite(place).all():
                texts = (f"{degrees:.6f}" for degrees in place)
                found[key_text("digs", dig)] = dict(zip(DEGREES, texts, strict=True))
    return found


def list_rows(
    log: Log,
    table: Table,
    units: Mapping[str, str],
    *,
    findings: Iterable[Finding] = (),
    only: str = "",
    words: str = "",
    first: int = 0,
) -> RowList:
    """Return the rows of a table that pass a filter and hold the words looked for."""
    rows = in_order(log, table.name)
    wet = unwashed(log)
    degrees = degrees_of(log, rows) if table.places else {}
    doubts = doubts_by_row(table.name, rows, findings)
    listed = []
    for row in rows:
        key = key_text(table.name, row)
        if not _kept(row, only, wet=wet, doubted=key in doubts):
            continue
        place = degrees.get(key, {})
        odd = doubts.get(key, ())
        shown = show_row(row, table, units, wet=wet, doubts=odd, degrees=place)
        text = "\t".join(cell.text for cell in shown.cells).lower()
        if words.lower() in text:
            listed.append(shown)
    page = tuple(listed[first : first + PAGE_ROWS])
    return RowList(page, found=len(listed), of=len(rows), first=first)


def show_row(
    row: Record,
    table: Table,
    units: Mapping[str, str],
    *,
    wet: frozenset[str],
    doubts: Iterable[Finding] = (),
    degrees: Mapping[str, str] | None = None,
) -> Row:
    """Return one row with its cells and marks."""
    placed = degrees or {}
    cells = tuple(
        Cell(
            field,
            placed.get(field.name, "")
            if field in table.places
            else show_field(field, row, units.get(field.name, "")),
        )
        for field in table.usual
    )
    waits = table.name == "samples" and getattr(row, "sample", "") in wet
    return Row(key_text(table.name, row), cells, waits, tuple(doubts))
