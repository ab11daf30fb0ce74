"""An empty field log to fill in: a sheet for every table, and what goes into it."""

from __future__ import annotations

import csv
import io
import zipfile

from pennyweight.exchange.columns import Column, Table
from pennyweight.exchange.logtables import TABLES
from pennyweight.units import METRIC, Measures

README = "README.txt"

#: Every file of the archive is of this day, so that equal logs are equal files.
_WRITTEN = (2000, 1, 1, 0, 0, 0)

INTRODUCTION = """\
An empty field log. Open the sheets in a spreadsheet, write one row for each thing,
save them as CSV in UTF-8, and bring the folder in. Sheets and columns that you do not
need may stay empty or go. An empty cell means that nothing was written down; 0 means
none. A dig needs a place: easting and northing, or longitude and latitude, or a peg
(another dig) with along_m and the dig or bearing that the tape runs toward.

The unit stands at the end of a heading and may be changed there: top_ft in place of
top_m, volume_gal in place of volume_l."""

_KINDS = {
    "text": "words",
    "names": "names, parted by blanks",
    "number": "a number",
    "count": "a whole number",
    "measured": "a number",
    "date": "a day: 2026-07-31",
    "yes_no": "yes or no",
    "class": "a size: 0.5-1, <0.25, >2 in mm, 20/40 mesh, No.1 to No.3, or all",
}


def heading_for(column: Column, measures: Measures = METRIC) -> str:
    """Return the heading of a column with the unit that people write in.

    Examples
    --------
    >>> heading_for(Column(name="top", kind="measured", quantity="length", unit="m"))
    'top_m'
    """
    if column.kind != "measured":
        return column.name
    usual = {"m": measures.length, "m3": "l" if measures.length == "m" else "gal"}
    wanted = usual.get(column.unit, column.unit)
    on_grid = column.name in ("easting", "northing")
    if on_grid or (column.units and wanted not in column.units):
        wanted = column.unit
    return f"{column.name}_{wanted}"


def describe(column: Column) -> str:
    """Return what goes into a column, in a few words.

    Examples
    --------
    >>> describe(Column(name="date", kind="date", need="cell"))
    'a day: 2026-07-31; needed'
    """
    words = _KINDS.get(column.kind, "words")
    if column.allowed:
        words = ", ".join(column.allowed[:-1]) + f" or {column.allowed[-1]}"
    bounds = []
    if column.above is not None:
        bounds.append(f"above {_bound(column, column.above)}")
    if column.least is not None:
        bounds.append(f"at least {_bound(column, column.least)}")
    if column.most is not None:
        bounds.append(f"at most {_bound(column, column.most)}")
    told = f" ({', '.join(bounds)})" if bounds else ""
    return words + told + ("; needed" if column.need == "cell" else "")


def _bound(column: Column, value: float) -> str:
    """Return a bound, with its unit where that matters."""
    measured = column.kind == "measured" and value != 0.0
    return f"{value:g} {column.unit}" if measured else f"{value:g}"


def empty_fieldlog(measures: Measures = METRIC) -> bytes:
    """Return an archive of empty sheets with a README, as a .zip.

    Parameters
    ----------
    measures : Measures, optional
        Units of the headings; another unit may be written in their place.
    """
    files = {README: _readme(measures).encode()}
    files |= {table.file: _sheet(table, measures) for table in TABLES}
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, _WRITTEN), content)
    return packed.getvalue()


def _sheet(table: Table, measures: Measures) -> bytes:
    text = io.StringIO()
    headings = [heading_for(column, measures) for column in table.columns]
    csv.writer(text).writerow(headings)
    # The mark lets spreadsheets know that it is UTF-8.
    return text.getvalue().encode("utf-8-sig")


def _readme(measures: Measures) -> str:
    parts = [INTRODUCTION]
    for table in TABLES:
        rows = [
            f"  {heading_for(column, measures)}: {describe(column)}"
            for column in table.columns
        ]
        parts.append("\n".join([table.file, *rows]))
    return "\n\n".join(parts) + "\n"
