"""The columns of every file of the field log, declared once.

Reading, writing, refusing and the empty sheets that people fill in all follow this
table. A measured column stands for its name with any unit of its quantity.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pennyweight.records import (
    Attachment,
    BucketTest,
    Cleanup,
    Day,
    Dig,
    Grain,
    Layer,
    PanTest,
    Record,
    Rock,
    Sample,
    Tally,
    Weighing,
)

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


def _text(name: str, need: Need = "optional") -> Column:
    return Column(name=name, need=need, field=name)


def _choice(name: str, *allowed: str) -> Column:
    return Column(name=name, kind="choice", field=name, allowed=allowed)


def _date(name: str, need: Need = "optional") -> Column:
    return Column(name=name, kind="date", field=name, need=need)


def _length(
    name: str,
    *,
    unit: str = "m",
    need: Need = "optional",
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
) -> Column:
    return Column(
        name=name,
        kind="measured",
        need=need,
        field=f"{name}_{unit}",
        quantity="length",
        unit=unit,
        least=least,
        most=most,
        above=above,
    )


def _volume(
    name: str, *, above: float | None = None, least: float | None = None
) -> Column:
    return Column(
        name=name,
        kind="measured",
        field=f"{name}_m3",
        quantity="volume",
        unit="m3",
        above=above,
        least=least,
    )


def _mass(
    name: str,
    *,
    need: Need = "optional",
    above: float | None = None,
    least: float | None = None,
) -> Column:
    return Column(
        name=name,
        kind="measured",
        need=need,
        field=f"{name}_mg",
        quantity="mass",
        unit="mg",
        above=above,
        least=least,
    )


def _number(
    name: str,
    *,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
) -> Column:
    return Column(
        name=name, kind="number", field=name, least=least, most=most, above=above
    )


def _count(name: str, need: Need = "optional") -> Column:
    return Column(name=name, kind="count", field=name, need=need, least=0.0)


def _class(need: Need = "cell") -> Column:
    return Column(name="class", kind="class", field="size_class", need=need)


_FINENESS = _number("fineness", above=0.0, most=1000.0)
_NOTE = _text("note")

#: Where a dig or a rock lies; the fields of along and across stay with the dig.
_PLACE = (
    Column(
        name="easting",
        kind="measured",
        field="easting_m",
        quantity="length",
        unit="m",
        units=("m", "ft"),
    ),
    Column(
        name="northing",
        kind="measured",
        field="northing_m",
        quantity="length",
        unit="m",
        units=("m", "ft"),
    ),
    Column(name="longitude", kind="number", least=-180.0, most=180.0),
    Column(name="latitude", kind="number", least=-90.0, most=90.0),
)

DIGS = Table(
    file="digs.csv",
    part="digs",
    record=Dig,
    key=("dig",),
    columns=(
        _text("dig", "cell"),
        _text("line"),
        _choice(
            "kind",
            *("trench", "pit", "crevice", "moss", "root", "bar", "bank", "bench"),
            "hole",
        ),
        *_PLACE,
        _text("peg"),
        _text("toward"),
        _length("along"),
        _length("across"),
        _number("bearing_deg", least=0.0, most=360.0),
        _length("elevation", least=-1000.0, most=9000.0),
        _date("date"),
        _text("by"),
        _length("bottom", least=0.0),
        _text("stopped_by"),
        _text("bedrock"),
        _choice("fabric", "across", "along", "massive"),
        _choice("surface", "rough", "fractured", "smooth"),
        _text("landmark"),
        _text("water_level"),
        _NOTE,
    ),
)

LAYERS = Table(
    file="layers.csv",
    part="layers",
    record=Layer,
    key=("dig", "top_m"),
    columns=(
        _text("dig", "cell"),
        _length("top", need="cell", least=0.0),
        _length("bottom", need="cell", above=0.0),
        _text("material"),
        _choice("packing", "loose", "firm", "hard", "cemented", "frozen"),
        _choice("matrix", "clean", "sandy", "silty", "clayey"),
        _choice("wet", "dry", "damp", "seep", "under_water"),
        _choice("worked", "virgin", "worked", "tailings", "unknown"),
        _length("largest_clast", above=0.0),
        _text("clast_shape"),
        _number("oversize_percent", least=0.0, most=100.0),
        _text("stain"),
        _text("base"),
        _NOTE,
    ),
)

#: Ways of taking a sample whose volume is fair, so that it must be given.
FAIR_VOLUME = ("channel", "bulk", "recut")

SAMPLES = Table(
    file="samples.csv",
    part="samples",
    record=Sample,
    key=("sample",),
    columns=(
        _text("sample", "cell"),
        _text("dig", "cell"),
        _length("top", need="column", least=0.0),
        _length("bottom", need="column", least=0.0),
        _choice("taken", *FAIR_VOLUME, "grab", "crevice", "moss", "root", "loam"),
        _text("method"),
        _volume("volume", above=0.0),
        _choice("state", "bank", "loose"),
        _number("pans", above=0.0),
        _volume("pan_volume", above=0.0),
        _length("screen", unit="mm", above=0.0),
        _volume("oversize", least=0.0),
        _volume("boulders_left_out", least=0.0),
        _number("washed_part", above=0.0, most=1.0),
        _mass("weighed", least=0.0),
        _mass("balance", above=0.0),
        _mass("black_sand", least=0.0),
        _FINENESS,
        _text("duplicate_of"),
        Column(name="blank", kind="yes_no", field="blank"),
        _date("date"),
        _text("by"),
        _NOTE,
    ),
)

TALLIES = Table(
    file="tallies.csv",
    part="tallies",
    record=Tally,
    key=("sample", "size_class"),
    columns=(
        _text("sample", "cell"),
        _class(),
        _count("colors", "cell"),
        _number("mg", least=0.0),
    ),
)

WEIGHINGS = Table(
    file="weighings.csv",
    part="weighings",
    record=Weighing,
    key=("weighing",),
    columns=(
        _text("weighing", "cell"),
        Column(name="samples", kind="names", field="samples", need="cell"),
        _mass("weighed", need="cell", least=0.0),
        _count("colors"),
        _FINENESS,
        _NOTE,
    ),
)

GRAINS = Table(
    file="grains.csv",
    part="grains",
    record=Grain,
    counted_by=("sample",),
    columns=(
        _text("sample", "cell"),
        _length("long", unit="mm", above=0.0),
        _length("middle", unit="mm", above=0.0),
        _length("short", unit="mm", above=0.0),
        _number("mg", above=0.0),
        _text("roundness"),
        _text("rim"),
        _text("attached"),
        _NOTE,
    ),
)

ROCKS = Table(
    file="rocks.csv",
    part="rocks",
    record=Rock,
    counted_by=(),
    columns=(
        _text("dig"),
        *_PLACE,
        _choice("kind", "bedrock", "float", "boulder"),
        _text("name"),
        _text("stain"),
        _text("veinlets"),
        _length("long", above=0.0),
        _length("middle", above=0.0),
        _length("short", above=0.0),
        Column(name="imbricated", kind="yes_no", field="imbricated"),
        _choice("set_down_by", "water", "slide", "ice", "people", "unknown"),
        _number("dip_deg", least=0.0, most=90.0),
        _number("strike_deg", least=0.0, most=360.0),
        _NOTE,
    ),
)

DAYS = Table(
    file="days.csv",
    part="days",
    record=Day,
    key=("date", "by"),
    columns=(
        _date("date", "cell"),
        _text("by"),
        _number("hours", least=0.0, most=24.0),
        _number("dug_hours", least=0.0, most=24.0),
        _text("weather"),
        _text("water_level"),
        _number("cost"),
        _NOTE,
    ),
)

CLEANUPS = Table(
    file="cleanups.csv",
    part="cleanups",
    record=Cleanup,
    key=("cleanup",),
    columns=(
        _text("cleanup", "cell"),
        _text("area"),
        _volume("bank_volume", above=0.0),
        _mass("weighed", least=0.0),
        _FINENESS,
        _date("date"),
        _number("hours", least=0.0),
        _NOTE,
    ),
)

PANTESTS = Table(
    file="pantests.csv",
    part="pantests",
    record=PanTest,
    counted_by=(),
    columns=(
        _text("by"),
        _class(),
        Column(name="put_in", kind="count", field="put_in", need="cell", least=1.0),
        _count("found", "cell"),
    ),
)

BUCKETS = Table(
    file="buckets.csv",
    part="buckets",
    record=BucketTest,
    counted_by=(),
    columns=(
        _volume("bank", above=0.0),
        _volume("loose", above=0.0),
        _number("pans", above=0.0),
    ),
)

#: Which dig an attached file was confirmed to show, and what it was taken for.
ATTACHMENTS = Table(
    file="attachments.csv",
    part="attachments",
    record=Attachment,
    key=("file",),
    columns=(
        _text("file", "cell"),
        _choice("kind", "elevation", "sheet", "photo", "track"),
        _text("dig"),
    ),
)

#: In the order in which they are read: what is referred to comes first.
TABLES = (
    DIGS,
    LAYERS,
    SAMPLES,
    TALLIES,
    WEIGHINGS,
    GRAINS,
    ROCKS,
    DAYS,
    CLEANUPS,
    PANTESTS,
    BUCKETS,
)
