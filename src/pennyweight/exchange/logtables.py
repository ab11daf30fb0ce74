"""The tables of the field log, each file with all its columns, declared once.

Reading, writing, refusing and the empty sheets that people fill in all follow them.
"""

from __future__ import annotations

from pennyweight.exchange import limits
from pennyweight.exchange.columns import (
    Column,
    Table,
    choice,
    count,
    date,
    length,
    mass,
    number,
    size_class,
    text,
    volume,
)
from pennyweight.records import (
    Attachment,
    BucketTest,
    Cleanup,
    Day,
    Dig,
    Grain,
    Layer,
    PanTest,
    Rock,
    Sample,
    Tally,
    Weighing,
)

_FINENESS = number("fineness", above=0.0, most=1000.0)
_NOTE = text("note")

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
        text("dig", "cell"),
        text("line"),
        choice(
            "kind",
            *("trench", "pit", "crevice", "moss", "root", "bar", "bank", "bench"),
            "hole",
        ),
        *_PLACE,
        text("peg"),
        text("toward"),
        length("along", possible=limits.TAPE),
        length("across", possible=limits.TAPE),
        number("bearing_deg", least=0.0, most=360.0),
        length("elevation", least=-1000.0, most=9000.0),
        date("date"),
        text("by"),
        length("bottom", least=0.0, possible=limits.DEPTH),
        text("stopped_by"),
        text("bedrock"),
        choice("fabric", "across", "along", "massive"),
        choice("surface", "rough", "fractured", "smooth"),
        text("landmark"),
        text("water_level"),
        _NOTE,
    ),
)

LAYERS = Table(
    file="layers.csv",
    part="layers",
    record=Layer,
    key=("dig", "top_m"),
    columns=(
        text("dig", "cell"),
        length("top", need="cell", least=0.0, possible=limits.DEPTH),
        length("bottom", need="cell", above=0.0, possible=limits.DEPTH),
        text("material"),
        choice("packing", "loose", "firm", "hard", "cemented", "frozen"),
        choice("matrix", "clean", "sandy", "silty", "clayey"),
        choice("wet", "dry", "damp", "seep", "under_water"),
        choice("worked", "virgin", "worked", "tailings", "unknown"),
        length("largest_clast", above=0.0, possible=limits.STONE),
        text("clast_shape"),
        number("oversize_percent", least=0.0, most=100.0),
        text("stain"),
        text("base"),
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
        text("sample", "cell"),
        text("dig", "cell"),
        length("top", need="column", least=0.0, possible=limits.DEPTH),
        length("bottom", need="column", least=0.0, possible=limits.DEPTH),
        choice("taken", *FAIR_VOLUME, "grab", "crevice", "moss", "root", "loam"),
        text("method"),
        volume("volume", above=0.0, possible=limits.WASHED),
        choice("state", "bank", "loose"),
        number("pans", above=0.0, possible=limits.PANS),
        volume("pan_volume", above=0.0, possible=limits.PAN),
        length("screen", unit="mm", above=0.0, possible=limits.SCREEN_MM),
        volume("oversize", least=0.0, possible=limits.LEFT_OUT),
        volume("boulders_left_out", least=0.0, possible=limits.LEFT_OUT),
        number("washed_part", above=0.0, most=1.0),
        mass("weighed", least=0.0, possible=limits.GOLD),
        mass("balance", above=0.0, possible=limits.BALANCE),
        mass("black_sand", least=0.0, possible=limits.SAND),
        _FINENESS,
        text("duplicate_of"),
        Column(name="blank", kind="yes_no", field="blank"),
        date("date"),
        text("by"),
        _NOTE,
    ),
)

TALLIES = Table(
    file="tallies.csv",
    part="tallies",
    record=Tally,
    key=("sample", "size_class"),
    columns=(
        text("sample", "cell"),
        size_class(),
        count("colors", "cell"),
        number("mg", least=0.0, possible=limits.GOLD),
    ),
)

WEIGHINGS = Table(
    file="weighings.csv",
    part="weighings",
    record=Weighing,
    key=("weighing",),
    columns=(
        text("weighing", "cell"),
        Column(name="samples", kind="names", field="samples", need="cell"),
        mass("weighed", need="cell", least=0.0, possible=limits.GOLD),
        count("colors"),
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
        text("sample", "cell"),
        length("long", unit="mm", above=0.0, possible=limits.GRAIN_MM),
        length("middle", unit="mm", above=0.0, possible=limits.GRAIN_MM),
        length("short", unit="mm", above=0.0, possible=limits.GRAIN_MM),
        number("mg", above=0.0, possible=limits.NUGGET),
        text("roundness"),
        text("rim"),
        text("attached"),
        _NOTE,
    ),
)

ROCKS = Table(
    file="rocks.csv",
    part="rocks",
    record=Rock,
    counted_by=(),
    columns=(
        text("dig"),
        *_PLACE,
        choice("kind", "bedrock", "float", "boulder"),
        text("name"),
        text("stain"),
        text("veinlets"),
        length("long", above=0.0, possible=limits.STONE),
        length("middle", above=0.0, possible=limits.STONE),
        length("short", above=0.0, possible=limits.STONE),
        Column(name="imbricated", kind="yes_no", field="imbricated"),
        choice("set_down_by", "water", "slide", "ice", "people", "unknown"),
        number("dip_deg", least=0.0, most=90.0),
        number("strike_deg", least=0.0, most=360.0),
        _NOTE,
    ),
)

DAYS = Table(
    file="days.csv",
    part="days",
    record=Day,
    key=("date", "by"),
    columns=(
        date("date", "cell"),
        text("by"),
        number("hours", least=0.0, most=24.0),
        number("dug_hours", least=0.0, most=24.0),
        text("weather"),
        text("water_level"),
        number("cost", possible=limits.MONEY),
        _NOTE,
    ),
)

CLEANUPS = Table(
    file="cleanups.csv",
    part="cleanups",
    record=Cleanup,
    key=("cleanup",),
    columns=(
        text("cleanup", "cell"),
        text("area"),
        volume("bank_volume", above=0.0, possible=limits.CLEANUP),
        mass("weighed", least=0.0, possible=limits.GOLD),
        _FINENESS,
        date("date"),
        number("hours", least=0.0, possible=limits.HOURS),
        _NOTE,
    ),
)

PANTESTS = Table(
    file="pantests.csv",
    part="pantests",
    record=PanTest,
    counted_by=(),
    columns=(
        text("by"),
        size_class(),
        Column(name="put_in", kind="count", field="put_in", need="cell", least=1.0),
        count("found", "cell"),
    ),
)

BUCKETS = Table(
    file="buckets.csv",
    part="buckets",
    record=BucketTest,
    counted_by=(),
    columns=(
        volume("bank", above=0.0, possible=limits.WASHED),
        volume("loose", above=0.0, possible=limits.WASHED),
        number("pans", above=0.0, possible=limits.PANS),
    ),
)

#: Which dig an attached file was confirmed to show, and what it was taken for.
ATTACHMENTS = Table(
    file="attachments.csv",
    part="attachments",
    record=Attachment,
    key=("file",),
    columns=(
        text("file", "cell"),
        choice("kind", "elevation", "sheet", "photo", "track"),
        text("dig"),
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
