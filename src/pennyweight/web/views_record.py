"""The record as tables: typed into, pasted into, taken back."""

from __future__ import annotations

from typing import Any

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from pennyweight.book.findings import find_doubts
from pennyweight.records import Dig, Record
from pennyweight.units import Measures
from pennyweight.web.columns import TABLES, Field, Table
from pennyweight.web.faults import PageError
from pennyweight.web.forms import (
    FieldError,
    Filled,
    complaints_about,
    fill,
    find_row,
    key_text,
    new_record,
    only_changed,
    show_field,
    usual_unit,
)
from pennyweight.web.page import Ask, door
from pennyweight.web.places import parse_degrees, place_dig
from pennyweight.web.rowlist import (
    DEGREES,
    FILTERS,
    PAGE_ROWS,
    degrees_of,
    in_order,
    list_rows,
    show_row,
    units_of,
)
from pennyweight.web.said import name_row, warn_of_kind
from pennyweight.web.strip import unwashed
from pennyweight.web.writing import (
    Written,
    add_row,
    change_ground,
    change_row,
    remove_row,
)


def table_of(ask: Ask) -> Table:
    """Return the table that the address names."""
    name = ask.path("table")
    if name not in TABLES:
        msg = f"There is no table {name!r}; there are {', '.join(TABLES)}."
        raise PageError(msg, 404)
    return TABLES[name]


def chosen_units(ask: Ask, table: Table) -> dict[str, str]:
    """Return the unit of each column: from the address, else from the last choice."""
    told = ask.request.cookies.get(_units_cookie(ask, table), "")
    chosen = dict(pair.split(".", 1) for pair in told.split("_and_") if "." in pair)
    for name, value in ask.request.query_params.items():
        if name.startswith("unit."):
            chosen[name.removeprefix("unit.")] = value
    return units_of(table, chosen, ask.measures)


def _units_cookie(ask: Ask, table: Table) -> str:
    """Return where choices are kept: each choice of meters or feet has its own."""
    return f"units-{table.name}-{ask.measures.name}"


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
    response.set_cookie(_units_cookie(ask, table), told, samesite="strict")
    return response


def _told(ask: Ask, table: Table, record: Record, written: Written) -> Response:
    """Answer a change of one row: the row as it is now, or what is wrong with it."""
    if written.refused:
        return JSONResponse({"errors": written.complaints}, 422)
    units, log = chosen_units(ask, table), ask.desk.log
    key = key_text(table.name, record)
    degrees = degrees_of(log, [record]).get(key) if table.places else None
    row = show_row(record, table, units, wet=unwashed(log), degrees=degrees)
    html = ask.show("row.html", table=table, row=row, units=units).body
    state = ask.show("state.html").body
    name = name_row(table.name, record, ask.measures)
    told = {
        "key": key,
        "row": bytes(html).decode(),
        "batch": written.batch,
        "state": bytes(state).decode(),
        "of": len(getattr(log, table.name)),
        "after": _row_above(ask, table, key),
        "said": f"Kept: {name}.{warn_of_kind(record)}",
    }
    return JSONResponse(told)


def _row_above(ask: Ask, table: Table, key: str) -> str:
    """Return the row under which one belongs, where a table has an order."""
    if table.name != "layers":
        return ""
    keys = [key_text(table.name, row) for row in in_order(ask.desk.log, table.name)]
    at = keys.index(key) if key in keys else 0
    return keys[at - 1] if at else ""


def change_cell(ask: Ask) -> Response:
    """Change one cell, if it still says what the writer saw."""
    table = table_of(ask)
    column = _column(table, ask.sent("field"))
    unit = ask.sent("unit")
    before = row_of(ask, table, ask.sent("key"))
    stands = _stands(ask, table, column, before=before, unit=unit)
    if stands != ask.sent("was"):
        told = (
            f"Meanwhile this says {stands or 'nothing'}; it was "
            f"{ask.sent('was') or 'empty'} when you began. Nothing was changed."
        )
        return JSONResponse({"errors": {column.name: told}, "now": stands}, 409)
    filled, crs = Filled(), None
    if column in table.places and isinstance(before, Dig):
        crs = _place_by_cell(ask, filled, column, before)
    else:
        filled.take(column, ask.form.get("text", ""), unit)
    if filled.errors:
        return JSONResponse({"errors": filled.errors}, 422)
    _choose_grid(ask, crs)
    after = filled.applied_to(before)
    written = _change(ask, table, before, after)
    return _told(ask, table, after, written)


def _stands(ask: Ask, table: Table, column: Field, *, before: Record, unit: str) -> str:
    """Return what a cell of the table says now."""
    if column not in table.places:
        return show_field(column, before, unit)
    degrees = degrees_of(ask.desk.log, [before])
    return degrees[key_text(table.name, before)].get(column.name, "")


def _place_by_cell(ask: Ask, filled: Filled, column: Field, before: Dig) -> str | None:
    """Place a dig by one of its degrees; the first of the two waits for the other."""
    text = ask.sent("text")
    shown = degrees_of(ask.desk.log, [before])[key_text("digs", before)]
    form = {name: shown.get(name, "") for name in DEGREES} | {column.name: text}
    if not text:
        filled.errors[column.name] = (
            f"{column.label} cannot be emptied alone. To take the place away, empty "
            "East and North."
        )
    elif all(form.values()):
        return place_dig(ask.desk.log, filled, form, before=before)
    else:
        try:
            parse_degrees(text, column.name)
        except FieldError as error:
            filled.errors[column.name] = str(error)
        filled.typed[column.name] = text
    return None


def _choose_grid(ask: Ask, crs: str | None) -> None:
    """Give the ground the map grid that its first place in degrees needs."""
    if crs:
        change_ground(ask.desk, who=ask.who, why=f"Chose the map grid {crs}", crs=crs)


def _change(ask: Ask, table: Table, before: Record, after: Record) -> Written:
    return change_row(
        ask.desk,
        table.name,
        before,
        after=after,
        who=ask.who,
        measures=ask.measures,
    )


def _add(ask: Ask, table: Table, record: Record) -> Written:
    return add_row(ask.desk, table.name, record, who=ask.who, measures=ask.measures)


def _column(table: Table, name: str) -> Field:
    try:
        return table.field(name)
    except KeyError:
        msg = f"{table.label} have no column {name!r}."
        raise PageError(msg, 400) from None


def add_from_table(ask: Ask) -> Response:
    """Add the row that was typed below the others."""
    table = table_of(ask)
    filled, crs = _fill_row(ask, table, None)
    if filled.errors:
        return JSONResponse({"errors": filled.errors}, 422)
    record = new_record(table, filled, ask.desk.log)
    written = Written(complaints=complaints_about(record))
    if not written.refused:
        _choose_grid(ask, crs)
        written = _add(ask, table, record)
    return _told(ask, table, record, written)


def take_away(ask: Ask) -> Response:
    """Remove a row, with what belongs to it."""
    table = table_of(ask)
    row = row_of(ask, table, ask.sent("key"))
    written = remove_row(ask.desk, table.name, row, who=ask.who, measures=ask.measures)
    if ask.wants_json:
        said = f"Removed {name_row(table.name, row, ask.measures)}"
        told = {"said": said, "batch": written.batch}
        return JSONResponse(told)
    return ask.to("seen", table.name)


# ---- a row on a page of its own --------------------------------------------------


def show_row_page(ask: Ask) -> Response:
    """Show one row with all its columns, or an empty one."""
    table = table_of(ask)
    key = ask.query("key")
    record = row_of(ask, table, key) if key else None
    values, units = _shown_values(table, record, ask.measures)
    values |= {name: ask.query(name) for name in values if ask.query(name)}
    return _row_page(ask, table, key, values=values, units=units, errors={})


def _shown_values(
    table: Table, record: Record | None, measures: Measures
) -> tuple[dict[str, str], dict[str, str]]:
    units = {field.name: usual_unit(field, record, measures) for field in table.fields}
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
        _choose_grid(ask, crs)
        if before is None:
            after = new_record(table, filled, ask.desk.log)
            written = _add(ask, table, after)
        else:
            after = filled.applied_to(before)
            written = _change(ask, table, before, after)
    if written.refused:
        values = {field.name: ask.form.get(field.name, "") for field in table.fields}
        units = {
            field.name: ask.form.get(f"{field.name}.unit", field.unit_in(ask.measures))
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


ROUTES = [
    Route("/seen/{table}", door(show_table)),
    Route("/seen/{table}/row", door(show_row_page)),
    Route("/seen/{table}/row", door(keep_row_page), methods=["POST"]),
    Route("/seen/{table}/cell", door(change_cell), methods=["POST"]),
    Route("/seen/{table}/add", door(add_from_table), methods=["POST"]),
    Route("/seen/{table}/remove", door(take_away), methods=["POST"]),
]
