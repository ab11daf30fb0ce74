"""The field log written back: a folder or a .zip that reads as the same records.

What was typed in feet or grains is written in feet or grains, as long as it still says
what the record says. The same record gives the same bytes.
"""

from __future__ import annotations

import csv
import io
import math
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

from pennyweight.errors import CallError
from pennyweight.exchange.cells import to_field_unit
from pennyweight.exchange.columns import Column, Table
from pennyweight.exchange.coordinates import open_grid
from pennyweight.exchange.features import FILE as FEATURES_FILE
from pennyweight.exchange.features import write_features
from pennyweight.exchange.gpx import write_gpx
from pennyweight.exchange.groundfile import FILE as GROUND_FILE
from pennyweight.exchange.groundfile import write_ground
from pennyweight.exchange.logtables import ATTACHMENTS, TABLES
from pennyweight.exchange.sizeclasses import spreadsheet_form
from pennyweight.exchange.typedplaces import find_following
from pennyweight.records import Log, Record
from pennyweight.units import QUANTITIES

WAYPOINTS_FILE = "waypoints.gpx"
#: Two ways of saying one value differ by no more than this [-].
SAME = 1e-9
#: Zip archives carry a time; it is always this one, so that bytes do not change.
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)


def write_fieldlog(log: Log, path: Path) -> Path:
    """Write a record as a field log.

    Parameters
    ----------
    log : Log
        The record; `log.ground.log_id` is written as it is.
    path : Path
        A name ending in .zip, or that of a folder. A .zip is replaced at once when
        it is whole; a folder must not be there yet, or be empty.

    Returns
    -------
    Path
        What was written.

    Raises
    ------
    CallError
        The folder is there and holds something, or what holds it is missing.
    """
    if not path.absolute().parent.is_dir():
        msg = f"the folder of {path.name!r} is not there; make it first."
        raise CallError(msg)
    files = fieldlog_files(log)
    if path.suffix.lower() == ".zip":
        _write_zip(files, path)
    else:
        _write_folder(files, path)
    return path


def fieldlog_files(log: Log) -> dict[str, bytes]:
    """Return the files of a field log: name -> content.

    Parameters
    ----------
    log : Log
        The record.
    """
    files = {GROUND_FILE: write_ground(log.ground)}
    if log.features:
        files[FEATURES_FILE] = write_features(log.features)
    derived = dict(zip(("digs", "rocks"), find_following(log), strict=True))
    for table in (*TABLES, ATTACHMENTS):
        records: Sequence[Record] = getattr(log, table.part)
        if records:
            writer = _TableWriter(table, log.ground.crs, derived.get(table.part, ()))
            files[table.file] = writer.write(records)
    for attachment in log.attachments:
        # A name never leads out of the folder.
        files[PurePosixPath(attachment.file.replace("\\", "/")).name] = (
            attachment.content
        )
    if log.waypoints:
        name = WAYPOINTS_FILE if WAYPOINTS_FILE not in files else "waypoints-2.gpx"
        files[name] = write_gpx(log.waypoints)
    return files


class _TableWriter:
    """Writes the records of one table."""

    def __init__(self, table: Table, crs: str | None, derived: Iterable[int]) -> None:
        self.table = table
        self.crs = crs
        self.derived = frozenset(derived)

    def write(self, records: Sequence[Record]) -> bytes:
        """Return the file."""
        rows = [self._cells(record, at) for at, record in enumerate(records)]
        used = {heading for row in rows for heading in row}
        headings = [heading for heading in self._possible_headings() if heading in used]
        unknown = dict.fromkeys(
            heading for record in records for heading in record.extra
        )
        headings += [heading for heading in unknown if heading not in headings]
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(headings)
        for row, record in zip(rows, records, strict=True):
            cells = {**record.extra, **row}
            writer.writerow([cells.get(heading, "") for heading in headings])
        return text.getvalue().encode()

    def _possible_headings(self) -> Iterable[str]:
        for column in self.table.columns:
            yield column.heading
            yield from (f"{column.name}_{unit}" for unit in _other_units(column))

    def _cells(self, record: Record, at: int) -> dict[str, str]:
        """Return one row: heading -> text, empty cells left out."""
        cells: dict[str, str] = {}
        for column in self.table.columns:
            if column.name in {"easting", "northing"} and at in self.derived:
                continue
            if not column.field:
                self._put_degrees(cells, record, column, at=at)
                continue
            value = getattr(record, column.field)
            if value is None or value == "":
                continue
            if column.kind == "measured":
                heading, text = self._measured(record, column, value)
            else:
                heading, text = column.name, _text(value, column)
            if text:
                cells[heading] = text
        return cells

    def _put_degrees(
        self, cells: dict[str, str], record: Record, column: Column, *, at: int
    ) -> None:
        """Write degrees where they were typed and still say where it lies."""
        if at in self.derived and column.name in record.typed:
            cells[column.name] = record.typed[column.name]

    def _measured(
        self, record: Record, column: Column, value: float
    ) -> tuple[str, str]:
        """Return heading and text of a measured value, as typed if that holds."""
        for unit in _other_units(column):
            heading = f"{column.name}_{unit}"
            typed = record.typed.get(heading)
            if typed is None:
                continue
            said = self._value_of(typed, unit, column)
            if said is not None and math.isclose(said, value, rel_tol=SAME):
                return heading, typed
        return column.heading, _number(value)

    def _value_of(self, typed: str, unit: str, column: Column) -> float | None:
        """Return what a typed text says in the field's unit."""
        try:
            number = float(typed)
        except ValueError:
            return None
        if column.units and unit == "ft":
            foot_m = open_grid(self.crs).foot_m if self.crs is not None else None
            return None if foot_m is None else number * foot_m
        return to_field_unit(number, unit, column)


def _other_units(column: Column) -> list[str]:
    """Return the units besides its own that a column may be typed in."""
    if column.kind != "measured":
        return []
    units = column.units or tuple(QUANTITIES[column.quantity])
    return [unit for unit in units if unit != column.unit]


def _text(value: Any, column: Column) -> str:
    """Return a value as it is written into a cell."""
    if column.kind == "yes_no":
        # A sample is no blank unless it says so.
        return "yes" if value else ("" if column.name == "blank" else "no")
    if column.kind == "names":
        return " ".join(value)
    if column.kind == "class":
        return spreadsheet_form(value)
    return _number(value) if isinstance(value, float) else str(value)


def _number(value: float) -> str:
    """Return a number that reads back as exactly the same."""
    return repr(float(value)).removesuffix(".0")


def _write_zip(files: Mapping[str, bytes], path: Path) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            member = zipfile.ZipInfo(name, _ZIP_TIME)
            member.compress_type = zipfile.ZIP_DEFLATED
            member.external_attr = 0o644 << 16
            archive.writestr(member, content)
    replace_file(path, packed.getvalue())


def _write_folder(files: Mapping[str, bytes], path: Path) -> None:
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        msg = f"{path.name!r} is there already; name a new folder, or a .zip."
        raise CallError(msg)
    beside = Path(tempfile.mkdtemp(prefix=f".{path.name}-", dir=path.absolute().parent))
    try:
        for name, content in files.items():
            (beside / name).write_bytes(content)
        beside.chmod(0o755)
        if path.exists():
            path.rmdir()
        beside.replace(path)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise


def replace_file(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all.

    Parameters
    ----------
    path : Path
        Where; what stood there is replaced.
    content : bytes
        All of it.
    """
    descriptor, name = tempfile.mkstemp(
        prefix=f".{path.name}-", dir=path.absolute().parent
    )
    beside = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(0o644)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
