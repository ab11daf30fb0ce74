"""Rows copied from a spreadsheet: all of them are taken, or none with all reasons."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from pennyweight.book.changes import Change, putting
from pennyweight.records import Dig, Log, Record
from pennyweight.web.columns import NO_GRADE_WORDS, Field, Table
from pennyweight.web.faults import PageError
from pennyweight.web.forms import (
    NUMBERED,
    Filled,
    complaints_about,
    key_of,
    key_text,
    new_record,
)
from pennyweight.web.page import Ask, door
from pennyweight.web.places import place_dig
from pennyweight.web.said import warn_of_kind
from pennyweight.web.views_record import chosen_units, table_of
from pennyweight.web.writing import write

#: The most rows that may be pasted at once [-].
MOST_PASTED = 20_000


def paste(ask: Ask) -> Response:
    """Take rows copied from a spreadsheet: all of them, or none with all reasons."""
    table = table_of(ask)
    units = chosen_units(ask, table)
    lines = list(csv.reader(io.StringIO(ask.form.get("text", "")), delimiter="\t"))
    lines = [line for line in lines if any(cell.strip() for cell in line)]
    if len(lines) > MOST_PASTED:
        msg = f"{len(lines)} rows were pasted; the most at once is {MOST_PASTED}."
        raise PageError(msg, 413)
    columns, lines = _columns_of(table, lines, ask.sent("field"), units)
    keys: list[str] = json.loads(ask.form.get("keys", "[]"))
    changes, errors = _pasted_changes(ask, table, columns, keys=keys, lines=lines)
    if errors:
        return JSONResponse({"errors": errors}, 422)
    written = write(ask.desk, changes, who=ask.who, why=f"Pasted into {table.name}")
    if written.refused:
        errors = [
            {"row": 0, "said": said} for said in (written.complaints or {}).values()
        ]
        return JSONResponse({"errors": errors}, 422)
    rows = sum(change.table == table.name for change in changes)
    finds = sum(bool(warn_of_kind(one.now)) for one in changes if one.now is not None)
    kept = f"{rows} rows kept"
    if finds:
        kept += f". {NO_GRADE_WORDS} That holds for {finds} of these rows."
    return JSONResponse({"said": kept, "batch": written.batch})


def _columns_of(
    table: Table, lines: list[list[str]], field: str, units: dict[str, str]
) -> tuple[list[tuple[Field, str]], list[list[str]]]:
    """Return what each pasted column is: by a header row, else from a column on."""
    named: dict[str, tuple[Field, str]] = {}
    for one in (*table.fields, *table.places):
        named[one.label.lower()] = (one, units.get(one.name, ""))
        named[one.rule.name] = (one, units.get(one.name, ""))
        for unit in one.units:
            named[one.heading(unit)] = (one, unit)
    if lines:
        header = [cell.strip().lower().replace(" ", "_") for cell in lines[0]]
        spoken = [cell.replace("_", " ") for cell in header]
        found = [
            named.get(plain) or named.get(said)
            for plain, said in zip(header, spoken, strict=True)
        ]
        if len(found) > 1 and all(found):
            return [one for one in found if one is not None], lines[1:]
    usual = list(table.usual)
    start = next((at for at, one in enumerate(usual) if one.name == field), 0)
    return [(one, units.get(one.name, "")) for one in usual[start:]], lines


def _pasted_changes(
    ask: Ask,
    table: Table,
    columns: list[tuple[Field, str]],
    *,
    keys: list[str],
    lines: list[list[str]],
) -> tuple[list[Change], list[dict[str, Any]]]:
    """Return the changes that pasted rows come to, or all that is wrong with them."""
    log = ask.desk.log
    by_key = {key_text(table.name, row): row for row in getattr(log, table.name)}
    changes: list[Change] = []
    errors: list[dict[str, Any]] = []
    added = 0
    for at, line in enumerate(lines):
        before = by_key.get(keys[at]) if at < len(keys) else None
        filled = _fill_line(table, columns, line, is_new=before is None)
        crs = _place(log, filled, columns, line, before=before)
        if crs:
            # The first place in degrees picks the grid for all that follow.
            log = replace(log, ground=replace(log.ground, crs=crs))
            changes.append(putting("ground", log.ground))
        complaints = dict(filled.errors)
        if not complaints:
            after = _pasted_row(table, filled, before, log=log, added=added)
            added += before is None
            key = key_of(table.name, before or after)
            changes.append(Change(table=table.name, key=key, now=after))
            complaints = complaints_about(after)
        errors += [
            {"row": at + 1, "field": name, "said": said}
            for name, said in complaints.items()
        ]
    return changes, errors


def _fill_line(
    table: Table, columns: list[tuple[Field, str]], line: list[str], *, is_new: bool
) -> Filled:
    """Return one pasted line as a form; a new row gets its empty columns as well."""
    filled = Filled()
    for (column, unit), text in zip(columns, line, strict=False):
        if column not in table.places:
            filled.take(column, text, unit)
    sent = filled.values.keys() | filled.errors.keys()
    for column in table.fields:
        if is_new and column.name not in sent:
            filled.take(column, "")
    return filled


def _place(
    log: Log,
    filled: Filled,
    columns: list[tuple[Field, str]],
    line: list[str],
    *,
    before: Record | None,
) -> str | None:
    """Place a pasted dig by its degrees or its tape; return the grid it needs first."""
    form = {column.name: text for (column, _), text in zip(columns, line, strict=False)}
    dig = before if isinstance(before, Dig) else None
    return place_dig(log, filled, form, before=dig)


def _pasted_row(
    table: Table, filled: Filled, before: Record | None, *, log: Log, added: int
) -> Record:
    """Return the record of a pasted line; rows that are numbered count on."""
    if before is not None:
        return filled.applied_to(before)
    after = new_record(table, filled, log)
    if table.name in NUMBERED:
        return replace(after, number=after.number + added)  # type: ignore[attr-defined, call-arg]
    return after


ROUTES = [Route("/seen/{table}/paste", door(paste), methods=["POST"])]
