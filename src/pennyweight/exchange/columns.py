"""What a column of the field log is, and how one is declared.

A measured column stands for its name with any unit of its quantity.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypedDict, Unpack

from pennyweight.exchange.limits import Limit
from pennyweight.records import Record

Kind = Literal[
    "text", "names", "choice", "number", "count", "measured", "date", "yes_no", "class"
]
Need = Literal["optional", "column", "cell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a file.

    Attributes
    ----------
    name : str
        Heading; of a measured column without its unit.
    kind : str
        How a cell is read.
    need : {"optional", "column", "cell"}
        Whether the heading must be there, and whether every cell must be filled.
    field : str
        The record's field that it fills; empty when nothing but `typed` keeps it.
    quantity : {"length", "volume", "mass"}
        Of a measured column.
    unit : str
        Inside unit of the field, and of the column that is written.
    units : tuple of str
        The only units allowed; empty for all of the quantity.
    allowed : tuple of str
        The words of a choice.
    above, least, most : float or None
        Bounds of a number, in the inside unit; above is not itself allowed.
    possible : Limit or None
        What it can be at all, with the reason.
    """

    name: str
    kind: Kind = "text"
    need: Need = "optional"
    field: str = ""
    quantity: str = ""
    unit: str = ""
    units: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()
    above: float | None = None
    least: float | None = None
    most: float | None = None
    possible: Limit | None = None

    @property
    def heading(self) -> str:
        """The heading with the inside unit."""
        return f"{self.name}_{self.unit}" if self.kind == "measured" else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One file of the field log.

    Attributes
    ----------
    file : str
        Its name.
    part : str
        Field of `Log` that its rows become.
    record : type
        Class of one row.
    columns : tuple of Column
        All columns it may have.
    key : tuple of str
        Fields that tell one row from another; empty where rows are only numbered.
    counted_by : tuple of str
        Of rows without a key: the field whose rows are numbered from 1 together.
    """

    file: str
    part: str
    record: type[Record]
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    counted_by: tuple[str, ...] | None = field(default=None)


def text(name: str, need: Need = "optional") -> Column:
    """Return a column of words."""
    return Column(name=name, need=need, field=name)


def choice(name: str, *allowed: str) -> Column:
    """Return a column that takes some words only."""
    return Column(name=name, kind="choice", field=name, allowed=allowed)


def date(name: str, need: Need = "optional") -> Column:
    """Return a column of dates."""
    return Column(name=name, kind="date", field=name, need=need)


class Bounds(TypedDict, total=False):
    """What a column of numbers may hold, as in `Column`."""

    above: float
    least: float
    most: float
    possible: Limit


def _measured(
    name: str, quantity: str, unit: str, *, need: Need, bounds: Bounds
) -> Column:
    """Return a column of something measured."""
    return Column(
        name=name,
        kind="measured",
        need=need,
        field=f"{name}_{unit}",
        quantity=quantity,
        unit=unit,
        **bounds,
    )


def length(
    name: str, *, unit: str = "m", need: Need = "optional", **bounds: Unpack[Bounds]
) -> Column:
    """Return a column of lengths."""
    return _measured(name, "length", unit, need=need, bounds=bounds)


def volume(name: str, **bounds: Unpack[Bounds]) -> Column:
    """Return a column of volumes."""
    return _measured(name, "volume", "m3", need="optional", bounds=bounds)


def mass(name: str, *, need: Need = "optional", **bounds: Unpack[Bounds]) -> Column:
    """Return a column of masses."""
    return _measured(name, "mass", "mg", need=need, bounds=bounds)


def number(name: str, **bounds: Unpack[Bounds]) -> Column:
    """Return a column of plain numbers."""
    return Column(name=name, kind="number", field=name, **bounds)


def count(name: str, need: Need = "optional") -> Column:
    """Return a column of whole numbers, 0 or more."""
    return Column(name=name, kind="count", field=name, need=need, least=0.0)


def size_class(need: Need = "cell") -> Column:
    """Return the column of size classes."""
    return Column(name="class", kind="class", field="size_class", need=need)
