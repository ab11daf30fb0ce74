"""The pocket form's files into rows of the field log, refused as those are.

Files of several phones may come together: what they say about one dig is laid together
field by field. What the form left out is taken from what the book knows already, so
that a phone never empties a field of the book.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any

from pennyweight.errors import Finding, Refusal, RefusedError
from pennyweight.exchange.columns import Table
from pennyweight.exchange.logtables import DAYS, DIGS, LAYERS, SAMPLES, TALLIES
from pennyweight.exchange.pocketentries import (
    JOINED,
    Entry,
    Said,
    Thing,
    gather,
)
from pennyweight.exchange.pocketfile import PocketFile, parse_pocket_file
from pennyweight.exchange.rows import Row, Rows, read_rows
from pennyweight.records import KEYS, Log, Record

#: Kinds of entries and the files of the field log that they are rows of.
TABLES = {
    "digs": DIGS,
    "layers": LAYERS,
    "samples": SAMPLES,
    "tallies": TALLIES,
    "days": DAYS,
}
#: Ways of saying where a dig lies; a phone that gives one replaces them all.
_PLACE = frozenset(
    {
        *("easting_m", "northing_m", "easting_ft", "northing_ft"),
        *("longitude", "latitude"),
        *("peg", "toward", "along_m", "across_m", "bearing_deg"),
    }
)
_PLACE_NAMES = {"easting", "northing", "along", "across", "bearing"}
#: Depths are told apart to this many decimals of a meter.
_DEPTH_DECIMALS = 3


@dataclass(frozen=True, slots=True)
class PocketRead:
    """What the files of one or more phones hold together.

    Attributes
    ----------
    tables : dict of str to Rows
        By name of the file of the field log.
    refusals : tuple of Refusal
        What is wrong with the files themselves; those of rows are with the rows.
    doubts : tuple of Finding
        What was taken and looks odd.
    """

    tables: dict[str, Rows] = field(default_factory=dict)
    refusals: tuple[Refusal, ...] = ()
    doubts: tuple[Finding, ...] = ()


def read_pockets(contents: Mapping[str, bytes], known: Log) -> PocketRead:
    """Return the rows of the pocket form's files.

    Parameters
    ----------
    contents : mapping
        Name to content of each file.
    known : Log
        What the book has already.

    Notes
    -----
    A row's number is that of the entry; with several files, entries are counted on
    from file to file.
    """
    files: list[PocketFile] = []
    refusals: list[Refusal] = []
    doubts: list[Finding] = []
    for name, content in contents.items():
        try:
            found = parse_pocket_file(content, name)
        except RefusedError as refused:
            refusals += refused.refusals
            continue
        refusals += found.refusals
        doubts += found.doubts
        home = known.ground.log_id or (files[0].book_id if files else found.book_id)
        if found.book_id != home:
            refusals.append(_foreign(found, known))
        else:
            files.append(found)
    entries = _renumber(files)
    label = " + ".join(file.file for file in files)
    tables = _tables(gather(entries), label, known)
    return PocketRead(tables, tuple(refusals), tuple(doubts))


def _foreign(found: PocketFile, known: Log) -> Refusal:
    expected = "a file whose form was made from this book"
    if known.ground.name:
        expected += f" ({known.ground.name})"
    return Refusal(found.file, None, "book", found.book_name, expected)


def _renumber(files: Sequence[PocketFile]) -> list[Entry]:
    """Count the entries on from file to file."""
    entries: list[Entry] = []
    before = 0
    for file in files:
        entries += [
            replace(entry, number=before + entry.number) for entry in file.entries
        ]
        before += max((entry.number for entry in file.entries), default=0)
    return entries


def _tables(things: Sequence[Thing], label: str, known: Log) -> dict[str, Rows]:
    """Return the things as rows of the field log's tables."""
    found: dict[str, Rows] = {}
    for kind, table in TABLES.items():
        own = [thing for thing in things if thing.kind == kind and _says(thing)]
        if own:
            found[table.file] = _rows(own, table, label, known)
    return found


def _says(thing: Thing) -> bool:
    """Tell whether a thing says anything; a class without a number does not."""
    if thing.kind != "tallies":
        return True
    return any(said.text for said in thing.said().get("colors", ()))


def _rows(things: Sequence[Thing], table: Table, label: str, known: Log) -> Rows:
    told = [_cells(thing) for thing in things]
    headings = list(dict.fromkeys(heading for cells, _ in told for heading in cells))
    needed = [column for column in table.columns if column.need == "column"]
    for column in needed:
        if not any(one.startswith(f"{column.name}_") for one in headings):
            headings.append(column.heading)
    # The separator is told, so that no heading can pass for another one.
    text = io.StringIO("sep=,\r\n")
    text.seek(0, io.SEEK_END)
    writer = csv.writer(text)
    writer.writerow(headings)
    writer.writerows([cells.get(one, "") for one in headings] for cells, _ in told)
    rows = read_rows(text.getvalue().encode(), table, label)
    _number_rows(rows, [thing.entries[0].number for thing in things])
    for row, (_, differing) in zip(rows.rows, told, strict=True):
        for said in differing:
            _refuse_differing(rows, row, said)
        _fill_from(row, table, known)
    return rows


def _cells(thing: Thing) -> tuple[dict[str, str], list[list[Said]]]:
    """Return the cells of a thing, and what phones differ about."""
    cells: dict[str, str] = {}
    differing: list[list[Said]] = []
    for name, said in thing.said().items():
        texts = [one.text for one in said if one.text]
        if not texts:
            continue
        if name in JOINED and thing.kind + name != "daysby":
            cells[said[0].heading] = "; ".join(texts)
        elif name == "date" and thing.kind != "days":
            cells[name] = min(texts)
        else:
            first = next(one for one in said if one.text)
            cells[first.heading] = first.text
            if len(said) > 1:
                differing.append(said)
    return cells, differing


def _number_rows(rows: Rows, numbers: Sequence[int]) -> None:
    """Put the numbers of entries in place of those of a sheet."""
    by_sheet = {
        row.number: number for row, number in zip(rows.rows, numbers, strict=True)
    }
    rows.refusals[:] = [
        one if one.row is None else replace(one, row=by_sheet.get(one.row))
        for one in rows.refusals
    ]
    for row, number in zip(rows.rows, numbers, strict=True):
        row.number = number


def _refuse_differing(rows: Rows, row: Row, said: Sequence[Said]) -> None:
    found = " | ".join(
        f"{one.heading} {one.text or '(nothing)'} by phone {one.phone}" for one in said
    )
    expected = (
        "one value. Open the pocket form, look under Hand over where phones differ, "
        "choose one and save the file again"
    )
    rows.refuse(row, said[0].heading, found=found, expected=expected)


def _fill_from(row: Row, table: Table, known: Log) -> None:
    """Fill what the phone left out from the book's own record of the same thing."""
    record = _find_known(row, table, known)
    if record is None:
        return
    given = frozenset(row.fields)
    moved = bool(given & _PLACE)
    for one in fields(record):
        value = getattr(record, one.name)
        left_out = one.name in {"typed", "extra"} or (moved and one.name in _PLACE)
        if value is not None and not left_out:
            row.fields.setdefault(one.name, value)
    kept = {
        heading: text
        for heading, text in record.typed.items()
        if not (moved and heading.rpartition("_")[0] in _PLACE_NAMES | {""})
        and not _is_given(heading, given)
    }
    row.typed = {**kept, **row.typed}
    row.extra = {**record.extra, **row.extra}


def _is_given(heading: str, given: frozenset[str]) -> bool:
    """Tell whether the phone gives what was typed under a heading, in any unit."""
    name = heading.rpartition("_")[0] or heading
    return any(one == name or one.startswith(f"{name}_") for one in given)


def _find_known(row: Row, table: Table, known: Log) -> Record | None:
    """Return the book's record of the same key."""
    _, key = KEYS[table.part]
    wanted = tuple(_rounded(row.fields.get(name)) for name in key)
    for record in getattr(known, table.part):
        if tuple(_rounded(getattr(record, name)) for name in key) == wanted:
            found: Record = record
            return found
    return None


def _rounded(value: Any) -> Any:
    return round(value, _DEPTH_DECIMALS) if isinstance(value, float) else value
