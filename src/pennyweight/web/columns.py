"""The columns of the record as a person sees them: labels, hints, words offered.

What a column holds and what is allowed in it is said by `exchange.logtables`, for
files and for the page alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from pennyweight.exchange import columns as rules
from pennyweight.exchange import logtables
from pennyweight.units import Measures

LENGTHS = ("m", "cm", "ft", "in")
STONES = ("cm", "mm", "m", "in", "ft")
VOLUMES = ("l", "m3", "gal", "ft3", "yd3")
MASSES = ("mg", "g", "grain", "dwt", "ozt")
UNITS = {"length": LENGTHS, "volume": VOLUMES, "mass": MASSES}

#: The usual unit of whoever reads in feet, by the usual unit in meters.
FEET_FOR = MappingProxyType({"m": "ft", "cm": "in", "l": "gal"})

#: Kinds of sample without a fair volume, and what they are good for.
NO_GRADE = frozenset({"grab", "crevice", "moss", "root", "loam"})
NO_GRADE_WORDS = (
    "Crevice, moss, root, loam and grab samples speak of presence and shape of gold; "
    "they enter no grade."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One column as the page shows it.

    Attributes
    ----------
    rule : exchange.columns.Column
        What it holds and what is allowed.
    label : str
        What a person reads above it.
    units : tuple of str
        Units offered, the usual one first; empty where nothing is measured.
    offered : tuple of str
        Words offered where any word is taken.
    usual : bool
        Whether the table shows it; the page of a row shows all.
    hint : str
        One plain sentence under the field.
    needed : bool
        Whether a row cannot do without.
    feet_unit : str
        The usual unit of whoever reads in feet, where it is not plain.
    """

    rule: rules.Column
    label: str
    units: tuple[str, ...] = ()
    offered: tuple[str, ...] = ()
    usual: bool = True
    hint: str = ""
    needed: bool = False
    feet_unit: str = ""

    @property
    def name(self) -> str:
        """The record's field; a column that fills none goes by its own name."""
        return self.rule.field or self.rule.name

    @property
    def kind(self) -> str:
        """How it is typed: text, number, count, date, choice, yes_no."""
        if self.rule.kind == "measured":
            return "number"
        return "offer" if self.offered else self.rule.kind

    @property
    def choices(self) -> tuple[str, ...]:
        """The words to choose from."""
        return self.rule.allowed or self.offered

    def unit_in(self, measures: Measures) -> str:
        """Return the usual unit of whoever reads; empty where nothing is measured."""
        usual = self.units[0] if self.units else ""
        if measures.length != "ft":
            return usual
        wanted = self.feet_unit or FEET_FOR.get(usual, usual)
        return wanted if wanted in self.units else usual

    def heading(self, unit: str) -> str:
        """Return the heading of the field log in a unit."""
        return f"{self.rule.name}_{unit}" if unit else self.rule.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One kind of record.

    Attributes
    ----------
    name : str
        Field of the log.
    label, one : str
        What a person calls many and one of them.
    about : str
        What it is for, in one sentence.
    fields : tuple of Field
        In the order of the notebook.
    places : tuple of Field
        Longitude and latitude, which say what east and north say.
    """

    name: str
    label: str
    one: str
    about: str
    fields: tuple[Field, ...]
    places: tuple[Field, ...] = ()

    def field(self, name: str) -> Field:
        """Return a column by its field; `KeyError` when there is none."""
        every = (*self.fields, *self.places)
        found = next((field for field in every if field.name == name), None)
        if found is None:
            raise KeyError(name)
        return found

    @property
    def usual(self) -> tuple[Field, ...]:
        """The columns that the table shows; degrees stand after the meters."""
        shown = [field for field in self.fields if field.usual]
        after = next((at for at, f in enumerate(shown) if f.name == "northing_m"), -1)
        return (*shown[: after + 1], *self.places, *shown[after + 1 :])


#: Tables whose name is no word.
LABELS = {"cleanups": "Clean-ups", "pantests": "Pan tests", "buckets": "Bucket tests"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What the page says about one column beyond its rule."""

    label: str
    hint: str = ""
    usual: bool = True
    offered: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    needed: bool = False
    feet_unit: str = ""


def _w(label: str, hint: str = "", **more: object) -> Words:
    return Words(label=label, hint=hint, **more)  # type: ignore[arg-type]


def _table(
    table: rules.Table, one: str, about: str, words: Mapping[str, Words]
) -> Table:
    """Return a table of the page: its own words over the rules of the field log."""
    by_name = {column.name: column for column in table.columns}
    fields = []
    for name, said in words.items():
        rule = by_name[name]
        units = said.units or UNITS.get(rule.quantity, ())
        if rule.kind != "measured":
            units = ()
        elif rule.unit == "mm":
            units = ("mm",)
        fields.append(
            Field(
                rule=rule,
                label=said.label,
                units=units,
                offered=said.offered,
                usual=said.usual,
                hint=said.hint,
                needed=said.needed or rule.need == "cell",
                feet_unit=said.feet_unit,
            )
        )
    is_dig = table is logtables.DIGS
    degrees = (("longitude", "Longitude"), ("latitude", "Latitude"))
    places = [
        Field(rule=by_name[name], label=label) for name, label in degrees if is_dig
    ]
    return Table(
        name=table.part,
        label=LABELS.get(table.part, table.part.capitalize()),
        one=one,
        about=about,
        fields=tuple(fields),
        places=tuple(places),
    )


DIGS = _table(
    logtables.DIGS,
    "dig",
    "A place where the ground was opened.",
    {
        "dig": _w("Dig", "Its name, as on the peg: T1-2."),
        "line": _w("Line", "The trench it belongs to."),
        "kind": _w("Kind"),
        "easting": _w("East", units=("m",)),
        "northing": _w("North", units=("m",)),
        "bottom": _w("Depth reached"),
        "stopped_by": _w(
            "Stopped by",
            "What ended the dig.",
            offered=("bedrock", "clay", "water", "boulder", "limit"),
        ),
        "date": _w("Date"),
        "by": _w("By"),
        "elevation": _w("Height of the surface", usual=False),
        "peg": _w("Measured from dig", usual=False),
        "toward": _w("Toward dig", usual=False),
        "bearing_deg": _w("Or bearing, true degrees", usual=False),
        "along": _w("Along the tape", usual=False),
        "across": _w("Across the tape", "To the right looking along it.", usual=False),
        "bedrock": _w("Bedrock", "Its name: schist, slate.", usual=False),
        "fabric": _w("Bedrock lies", "Its bands against the flow.", usual=False),
        "surface": _w("Bedrock surface", usual=False),
        "landmark": _w(
            "Landmark", "Tape or paces from something no flood moves.", usual=False
        ),
        "water_level": _w("Water level", usual=False),
        "note": _w("Note"),
    },
)

LAYERS = _table(
    logtables.LAYERS,
    "layer",
    "What a wall shows from the top down, one row for each change.",
    {
        "dig": _w("Dig"),
        "top": _w("From"),
        "bottom": _w("To"),
        "material": _w(
            "Material",
            offered=(
                "topsoil",
                "silt",
                "sand",
                "gravel",
                "clay",
                "boulders",
                "slide rock",
                "bedrock",
            ),
        ),
        "packing": _w("Packing"),
        "matrix": _w("Matrix"),
        "wet": _w("Wet", usual=False),
        "worked": _w("Worked before", usual=False),
        "largest_clast": _w("Largest stone", units=STONES, usual=False),
        "clast_shape": _w("Shape of the stones", usual=False),
        "oversize_percent": _w("Too big for the pan, %", usual=False),
        "stain": _w("Color of the stain", usual=False),
        "base": _w(
            "Lies on",
            "What is under it. Clay and bedrock can hold gold on top.",
            offered=("gravel", "clay", "bedrock"),
        ),
        "note": _w("Note"),
    },
)

SAMPLES = _table(
    logtables.SAMPLES,
    "sample",
    f"Gravel taken from a dig, washed or waiting to be washed. {NO_GRADE_WORDS}",
    {
        "sample": _w("Sample"),
        "dig": _w("Dig"),
        "top": _w("From"),
        "bottom": _w("To"),
        "taken": _w("Taken", NO_GRADE_WORDS),
        "pans": _w("Pans", "Level pans of loose gravel."),
        "volume": _w("Or volume"),
        "state": _w("Measured", "In the bank, or loose once dug."),
        "weighed": _w("Gold weighed"),
        "date": _w("Date"),
        "method": _w("Washed with", usual=False, offered=("pan", "rocker", "sluice")),
        "duplicate_of": _w("Repeats sample", usual=False),
        "blank": _w("Blank", "Barren gravel, washed on purpose.", usual=False),
        "pan_volume": _w("One pan holds", usual=False),
        "screen": _w("Screen", usual=False),
        "oversize": _w("Held back by the screen", "Loose volume.", usual=False),
        "boulders_left_out": _w(
            "Boulders left out", "Solid volume.", usual=False, feet_unit="ft3"
        ),
        "washed_part": _w("Part washed, 0 to 1", usual=False),
        "balance": _w("Balance reads to", usual=False),
        "black_sand": _w("Black sand", usual=False),
        "fineness": _w("Fineness, of 1000", usual=False),
        "by": _w("By", usual=False),
        "note": _w("Note"),
    },
)

TALLIES = _table(
    logtables.TALLIES,
    "tally",
    "Colors counted in a sample, one row for each size.",
    {
        "sample": _w("Sample"),
        "class": _w(
            "Size",
            "all when not sized; millimeters; No.1 over 4 mg, No.3 under 1 mg.",
            offered=(
                "all",
                "No.1",
                "No.2",
                "No.3",
                "<0.25",
                "0.25-0.5",
                "0.5-1",
                "1-2",
                ">2",
            ),
        ),
        "colors": _w("Colors", "0 where you looked and found none."),
        "mg": _w("Weighed, mg"),
    },
)

GRAINS = _table(
    logtables.GRAINS,
    "grain",
    "Single grains of gold, measured.",
    {
        "sample": _w("Sample"),
        "long": _w("Long"),
        "middle": _w("Middle"),
        "short": _w("Short"),
        "mg": _w("Weight, mg"),
        "roundness": _w("Roundness"),
        "rim": _w("Rim", usual=False),
        "attached": _w("Attached", offered=("quartz", "iron", "none")),
        "note": _w("Note"),
    },
)

ROCKS = _table(
    logtables.ROCKS,
    "rock",
    "Bedrock, float and boulders.",
    {
        "dig": _w("Dig"),
        "kind": _w("Kind"),
        "name": _w("Name"),
        "long": _w("Long", units=STONES),
        "middle": _w("Middle", units=STONES),
        "short": _w("Short", units=STONES),
        "set_down_by": _w("Set down by"),
        "stain": _w("Stain"),
        "veinlets": _w("Veinlets", usual=False),
        "imbricated": _w("Leans on others", usual=False),
        "easting": _w("East", units=("m",), usual=False),
        "northing": _w("North", units=("m",), usual=False),
        "dip_deg": _w("Dip, degrees", usual=False),
        "strike_deg": _w("Strike, degrees", usual=False),
        "note": _w("Note"),
    },
)

DAYS = _table(
    logtables.DAYS,
    "day",
    "What a day took and cost.",
    {
        "date": _w("Date"),
        "by": _w("By"),
        "hours": _w("Hours"),
        "dug_hours": _w("Hours dug"),
        "weather": _w("Weather"),
        "water_level": _w("Water level"),
        "cost": _w("Cost"),
        "note": _w("Note"),
    },
)

CLEANUPS = _table(
    logtables.CLEANUPS,
    "clean-up",
    "Gold won from a cut. Each cut by itself: only then can it be laid beside its "
    "estimate.",
    {
        "cleanup": _w("Clean-up", "Its name: C1."),
        "area": _w(
            "Cut",
            "The name of an area that you drew, or distances along the valley: 12-25.",
        ),
        "bank_volume": _w(
            "Volume surveyed",
            "The hole, as it lay before it was dug.",
            units=("m3", "yd3", "ft3", "l", "gal"),
            feet_unit="yd3",
        ),
        "weighed": _w("Gold weighed", "Raw gold, all of it, black sand washed too."),
        "hours": _w("Hours", "On the ground, for this cut."),
        "date": _w("Date"),
        "fineness": _w("Fineness, of 1000", usual=False),
        "note": _w("Note"),
    },
)

PANTESTS = _table(
    logtables.PANTESTS,
    "pan test",
    "How much your panning finds: put counted grains into washed tailings, pan them "
    "like any other gravel, and count what you find again.",
    {
        "by": _w("Panned by"),
        "class": _w(
            "Size of the grains",
            "all when not sized; millimeters.",
            offered=("all", "<0.25", "0.25-0.5", "0.5-1", "1-2", ">2"),
        ),
        "put_in": _w("Grains put in"),
        "found": _w("Found again"),
    },
)

BUCKETS = _table(
    logtables.BUCKETS,
    "bucket test",
    "What your pan holds, and how much the ground grows when it is dug: a neat hole "
    "measured, and what came out of it. Any two of the three are enough.",
    {
        "bank": _w("The hole holds", "Ground as it lay.", units=VOLUMES),
        "loose": _w("What came out fills", "Loose, in marked buckets.", units=VOLUMES),
        "pans": _w("Pans that it filled", "Filled as you always do."),
    },
)

TABLES: Mapping[str, Table] = MappingProxyType(
    {
        table.name: table
        for table in (
            DIGS,
            LAYERS,
            SAMPLES,
            TALLIES,
            GRAINS,
            ROCKS,
            DAYS,
            CLEANUPS,
            PANTESTS,
            BUCKETS,
        )
    }
)
