"""The record as tables: typed into, pasted into, taken back."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from pennyweight.book.changes import Change
from pennyweight.book.findings import find_doubts
from pennyweight.records import Dig, Log, Record
from pennyweight.web.columns import TABLES, Field, Table
from pennyweight.web.faults import PageError
from pennyweight.web.forms import (
    NUMBERED,
    Filled,
    complaints_about,
    fill,
    find_row,
    key_of,
    key_text,
    new_record,
    only_changed,
    show_field,
    usual_unit,
)
from pennyweight.web.page import Ask, door
from pennyweight.web.places import place_dig
from pennyweight.web.rowlist import FILTERS, PAGE_ROWS, list_rows, show_row, units_of
from pennyweight.web.strip import unwashed
from pennyweight.web.writing import (
    Written,
    add_row,
    change_ground,
    change_row,
    name_row,
    remove_row,
    write,
)

#: The most rows that may be pasted at once [-].
MOST_PASTED = 20_000


def table_of(ask: Ask) -> Table:
    """Return the table that the address names."""
    name = ask.path("table")
    if name not in TABLES:
        msg = f"There is no table {name!r}; there are {', '.join(TABLES)}."
        raise PageError(msg, 404)
    return TABLES[name]


def chosen_units(ask: Ask, table: Table) -> dict[str, str]:
    """Return the unit of each column: from the address, else from the last choice."""
    told = ask.request.cookies.get(f"units-{table.name}", "")
    chosen = dict(pair.split(".", 1) for pair in told.split("_and_") if "." in pair)
    for name, value in ask.request.query_params.items():
        if name.startswith("unit."):
            chosen[name.removeprefix("unit.")] = value
    return units_of(table, chosen)


def row_of(ask: Ask, table: Table, key: str) -> Record:
    """Return the row of an identity, or say that it is gone."""
    row = find_row(getattr(ask.desk.log, table.name), table.name, key)
    if row is None:
        msg = f"The row {key} is not there any more. Load the table again."
        raise PageError(msg, 409)
    return row


def show_table(ask: Ask) -> Response:
    """Show a table of the record, or those of its rows that were asked for."""
    table = table_of(ask)
    units = chosen_units(ask, table)
    only = ask.query("only")
    first = ask.query("first", "0")
    listed = list_rows(
        ask.desk.log,
        table,
        units,
        findings=find_doubts(ask.desk.log) if only == "doubtful" else (),
        only=only,
        words=ask.query("words"),
        first=int(first) if first.isdecimal() else 0,
    )
    response = ask.show(
        "table.html",
        question="seen",
        table=table,
        tables=TABLES,
        units=units,
        listed=listed,
        only=only,
        sought=ask.query("words"),
        filters=FILTERS.get(table.name, {}),
        page_rows=PAGE_ROWS,
    )
    told = "_and_".join(f"{name}.{unit}" for name, unit in units.items())
    response.set_cookie(f"units-{table.name}", told, samesite="strict")
    return response


def _told(ask: Ask, table: Table, record: Record, written: Written) -> Response:
    """Answer a change of one row: the row as it is now, or what is wrong with it."""
    if written.refused:
        return JSONResponse({"errors": written.complaints}, 422)
    units = chosen_units(ask, table)
    row = show_row(record, table, units, wet=unwashed(ask.desk.log))
    html = ask.show("row.html", table=table, row=row, units=units).body
    told = {"key": row.key, "row": bytes(html).decode(), "batch": written.batch}
    return JSONResponse(told | {"said": f"Kept: {name_row(table.name, record)}"})


def change_cell(ask: Ask) -> Response:
    """Change one cell, if it still says what the writer saw."""
    table = table_of(ask)
    column = _column(table, ask.sent("field"))
    unit = ask.sent("unit")
    before = row_of(ask, table, ask.sent("key"))
    stands = show_field(column, before, unit)
    if stands != ask.sent("was"):
        told = (
            f"Meanwhile this says {stands or 'nothing'}; it was "
            f"{ask.sent('was') or 'empty'} when you began. Nothing was changed."
        )
        return JSONResponse({"errors": {column.name: told}, "now": stands}, 409)
    filled = Filled()
    filled.take(column, ask.form.get("text", ""), unit)
    if filled.errors:
        return JSONResponse({"errors": filled.errors}, 422)
    after = filled.applied_to(before)
    written = change_row(ask.desk, table.name, before, after=after, who=ask.who)
    return _told(ask, table, after, written)


def _column(table: Table, name: str) -> Field:
    try:
        return table.field(name)
    except KeyError:
        msg = f"{table.label} have no column {name!r}."
        raise PageError(msg, 400) from None


def add_from_table(ask: Ask) -> Response:
    """Add the row that was typed below the others."""
    table = table_of(ask)
    filled = fill(table, ask.form)
    if filled.errors:
        return JSONResponse({"errors": filled.errors}, 422)
    record = new_record(table, filled, ask.desk.log)
    written = add_row(ask.desk, table.name, record, who=ask.who)
    return _told(ask, table, record, written)


def take_away(ask: Ask) -> Response:
    """Remove a row, with what belongs to it."""
    table = table_of(ask)
    row = row_of(ask, table, ask.sent("key"))
    written = remove_row(ask.desk, table.name, row, who=ask.who)
    if ask.wants_json:
        told = {"said": f"Removed {name_row(table.name, row)}", "batch": written.batch}
        return JSONResponse(told)
    return ask.to("seen", table.name)


# ---- a row on a page of its own --------------------------------------------------


def show_row_page(ask: Ask) -> Response:
    """Show one row with all its columns, or an empty one."""
    table = table_of(ask)
    key = ask.query("key")
    record = row_of(ask, table, key) if key else None
    values, units = _shown_values(table, record)
    values |= {name: ask.query(name) for name in values if ask.query(name)}
    return _row_page(ask, table, key, values=values, units=units, errors={})


def _shown_values(
    table: Table, record: Record | None
) -> tuple[dict[str, str], dict[str, str]]:
    units = {field.name: usual_unit(field, record) for field in table.fields}
    if record is None:
        return {field.name: "" for field in table.fields}, units
    return {
        field.name: show_field(field, record, units[field.name])
        for field in table.fields
    }, units


def _row_page(ask: Ask, table: Table, key: str, **shown: Any) -> Response:
    status = 422 if shown["errors"] else 200
    where = {
        "longitude": ask.form.get("longitude", ""),
        "latitude": ask.form.get("latitude", ""),
    }
    rare = [field.name for field in table.fields if not field.usual]
    return ask.show(
        "rowpage.html",
        more_filled=any(shown["values"].get(n) or n in shown["errors"] for n in rare),
        status=status,
        question="seen",
        table=table,
        key=key,
        where=where,
        **shown,
    )


def keep_row_page(ask: Ask) -> Response:
    """Keep a row that was typed on its own page."""
    table = table_of(ask)
    key = ask.sent("key")
    before = row_of(ask, table, key) if key else None
    filled, crs = _fill_row(ask, table, before)
    written = Written(complaints=filled.errors)
    if not filled.errors:
        if crs:
            why = f"Chose the map grid {crs}"
            change_ground(ask.desk, who=ask.who, why=why, crs=crs)
        if before is None:
            after = new_record(table, filled, ask.desk.log)
            written = add_row(ask.desk, table.name, after, who=ask.who)
        else:
            after = filled.applied_to(before)
            written = change_row(ask.desk, table.name, before, after=after, who=ask.who)
    if written.refused:
        values = {field.name: ask.form.get(field.name, "") for field in table.fields}
        units = {
            field.name: ask.form.get(f"{field.name}.unit", usual_unit(field))
            for field in table.fields
        }
        errors = written.complaints
        return _row_page(ask, table, key, values=values, units=units, errors=errors)
    return ask.to("seen", table.name)


def _fill_row(
    ask: Ask, table: Table, before: Record | None
) -> tuple[Filled, str | None]:
    """Return what the page of a row says, and the map grid that it needs first."""
    if before is None:
        filled = fill(table, ask.form)
    else:
        filled = fill(table, only_changed(table, ask.form, before), only_sent=True)
    if table.name != "digs":
        return filled, None
    dig = before if isinstance(before, Dig) else None
    return filled, place_dig(ask.desk.log, filled, ask.form, before=dig)


# ---- many rows at once -------------------------------------------------------------


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
    told = {"said": f"{len(changes)} rows kept", "batch": written.batch}
    return JSONResponse(told)


def _columns_of(
    table: Table, lines: list[list[str]], field: str, units: dict[str, str]
) -> tuple[list[tuple[Field, str]], list[list[str]]]:
    """Return what each pasted column is: by a header row, else from a column on."""
    named: dict[str, tuple[Field, str]] = {}
    for one in table.fields:
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
        filled.take(column, text, unit)
    sent = filled.values.keys() | filled.errors.keys()
    for column in table.fields:
        if is_new and column.name not in sent:
            filled.take(column, "")
    return filled


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


ROUTES = [
    Route("/seen/{table}", door(show_table)),
    Route("/seen/{table}/row", door(show_row_page)),
    Route("/seen/{table}/row", door(keep_row_page), methods=["POST"]),
    Route("/seen/{table}/cell", door(change_cell), methods=["POST"]),
    Route("/seen/{table}/add", door(add_from_table), methods=["POST"]),
    Route("/seen/{table}/remove", door(take_away), methods=["POST"]),
    Route("/seen/{table}/paste", door(paste), methods=["POST"]),
]
