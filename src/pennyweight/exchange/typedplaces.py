"""Which positions follow from what was typed, so that they need not be written.

A dig typed by longitude and latitude, or taped from a peg, is written back that way;
its easting and northing are written only where they would not come out the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.exchange.columns import Table
from pennyweight.exchange.logtables import DIGS, ROCKS
from pennyweight.exchange.placing import Frame, Placing
from pennyweight.exchange.rows import Row, Rows
from pennyweight.records import Dig, Log, Rock

_TAPE = ("peg", "toward", "along_m", "across_m", "bearing_deg")
_DEGREES = ("longitude", "latitude")


def find_following(log: Log) -> tuple[frozenset[int], frozenset[int]]:
    """Return which digs and rocks have a position that follows from what was typed.

    Parameters
    ----------
    log : Log
        The record.

    Returns
    -------
    tuple of (frozenset of int, frozenset of int)
        Places in `log.digs` and in `log.rocks`.
    """
    frame = Frame(log.ground.crs)
    return _following(log.digs, DIGS, frame), _following(log.rocks, ROCKS, frame)


def _following(
    records: Sequence[Dig | Rock], table: Table, frame: Frame
) -> frozenset[int]:
    trusted = {at for at, record in enumerate(records) if _says_place(record, frame)}
    while trusted:
        rows = [
            _row(record, at, with_grid=at not in trusted)
            for at, record in enumerate(records)
        ]
        placing = Placing(Rows(table, table.file, rows=rows), frame)
        if table is DIGS:
            placing.place_digs()
        else:
            placing.place_rocks()
        differing = {
            at
            for at in trusted
            if rows[at].fields.get("easting_m") != records[at].easting_m
            or rows[at].fields.get("northing_m") != records[at].northing_m
        }
        if not differing:
            break
        # A peg that differs moves what hangs on it: look again without it.
        trusted -= differing
    return frozenset(trusted)


def _says_place(record: Dig | Rock, frame: Frame) -> bool:
    """Tell whether a record carries another way of saying where it lies."""
    if all(name in record.typed for name in _DEGREES):
        return frame.crs is not None and _are_numbers(record)
    return (
        isinstance(record, Dig)
        and record.peg is not None
        and (record.along_m is not None)
    )


def _are_numbers(record: Dig | Rock) -> bool:
    try:
        return all(abs(float(record.typed[name])) <= 180.0 for name in _DEGREES)
    except ValueError:
        return False


def _row(record: Dig | Rock, at: int, *, with_grid: bool) -> Row:
    """Return a row as it would be written."""
    row = Row(at)
    names = ("dig", *_TAPE) if isinstance(record, Dig) else ("dig",)
    if with_grid:
        names = (*names, "easting_m", "northing_m")
    for name in names:
        if (value := getattr(record, name)) is not None:
            row.fields[name] = value
    if all(name in record.typed for name in _DEGREES) and _are_numbers(record):
        row.fields |= {name: float(record.typed[name]) for name in _DEGREES}
    return row
