"""What a row of the field log must not say, beyond its single cells.

Rows that name a dig or sample nobody knows, depths upside down, volumes without a
state, one sample in two weighings, one key twice. Everything is refused at once.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from pennyweight.errors import Finding, Refusal
from pennyweight.exchange.logtables import FAIR_VOLUME
from pennyweight.exchange.rows import Row, Rows

#: Depths are told apart to this many decimals of a meter.
DEPTH_DECIMALS = 6
#: Names told one by one; more are counted.
TOLD = 5
#: Among more names than this none is looked for that was likely meant.
MOST_COMPARED = 2000


@dataclass(slots=True)
class Names:
    """The names that rows may refer to.

    Attributes
    ----------
    what : str
        "dig" or "sample".
    here : dict of str to Row
        Those of the log itself, refused rows included.
    known : collection of str
        Those that the book already has.
    strict : bool
        Whether a row that was refused counts as not there (good rows are taken
        alone then).
    unread : str
        Name of the file that should hold the names, where nothing can be read of it:
        then no name is called unknown, and what rests on it is left unjudged.
    unjudged : dict of str to int
        File -> rows that name one of those.
    """

    what: str
    here: dict[str, Row] = field(default_factory=dict)
    known: Collection[str] = ()
    strict: bool = False
    unread: str = ""
    unjudged: dict[str, int] = field(default_factory=dict)

    def add(self, found: Rows) -> None:
        """Take up the names of a table's rows."""
        for row in found.rows:
            if (name := row.fields.get(self.what)) is not None:
                self.here.setdefault(name, row)
        if found.headless:
            self.unread = found.file

    def refusals(self) -> list[Refusal]:
        """Return one refusal for each file whose rows could not be judged."""
        return [
            Refusal(
                file,
                None,
                None,
                f"{count} {'row names' if count == 1 else 'rows name'} a {self.what}",
                f"{self.unread} to be readable: its {self.what}s could not be looked "
                f"up. Mend {self.unread} first",
            )
            for file, count in self.unjudged.items()
        ]

    def check(self, found: Rows, row: Row, *, name: str, value: str | None) -> None:
        """Refuse a row that refers to nothing."""
        if value is None or value in self.known:
            return
        there = self.here.get(value)
        if there is None and self.unread:
            self.unjudged[found.file] = self.unjudged.get(found.file, 0) + 1
            row.refused = row.refused or self.strict
        elif there is None:
            expected = f"a {self.what} of {self.what}s.csv or of the book"
            if near := self._nearest(value):
                expected += f" ({near} is the nearest name)"
            found.refuse(row, name, found=value, expected=expected)
        elif there.refused and self.strict:
            expected = f"a {self.what} that was not itself refused (row {there.number})"
            found.refuse(row, name, found=value, expected=expected)

    def _nearest(self, value: str) -> str:
        """Return the name that was likely meant; empty if none is near."""
        names = {name.lower(): name for name in (*self.here, *self.known)}
        if value.lower() in names:
            return names[value.lower()]
        if len(names) > MOST_COMPARED:
            return ""
        near = difflib.get_close_matches(value.lower(), names, n=1, cutoff=0.75)
        return names[near[0]] if near else ""


def check_keys(found: Rows) -> None:
    """Refuse the second row of one key."""
    key = found.table.key
    if not key:
        return
    first: dict[tuple[Any, ...], int] = {}
    for row in found.rows:
        values = tuple(_rounded(row.fields.get(name)) for name in key)
        number = first.setdefault(values, row.number)
        if number != row.number and values[0] is not None:
            shown = ", ".join(str(value) for value in values if value is not None)
            expected = f"each {' and '.join(key)} once; row {number} has it already"
            found.refuse(row, key[0], found=shown, expected=expected)


def _rounded(value: Any) -> Any:
    return round(value, DEPTH_DECIMALS) if isinstance(value, float) else value


def check_table(found: Rows, digs: Names, samples: Names) -> None:
    """Refuse what the rows of one table must not say.

    Parameters
    ----------
    found : Rows
        The table; refusals are added to it.
    digs, samples : Names
        What may be referred to.
    """
    check_keys(found)
    for name, names in (("dig", digs), ("sample", samples)):
        if found.table.key != (name,):
            for row in found.rows:
                names.check(found, row, name=name, value=row.fields.get(name))
    if found.table.file == "digs.csv":
        _check_pegs(found, digs)
    if found.table.file == "samples.csv":
        for row in found.rows:
            value = row.fields.get("duplicate_of")
            samples.check(found, row, name="duplicate_of", value=value)
    check = _CHECKS.get(found.table.file)
    if check is not None:
        for row in found.good():
            check(found, row)


def _check_pegs(found: Rows, digs: Names) -> None:
    """Refuse digs taped from a dig that was itself refused, one after the other."""
    before = -1
    while len(found.refusals) != before:
        before = len(found.refusals)
        hung = [(row, name) for row in found.good() for name in ("peg", "toward")]
        for row, name in hung:
            value = row.fields.get(name)
            if value in digs.here and not row.refused:
                digs.check(found, row, name=name, value=value)


def _check_depths(found: Rows, row: Row) -> None:
    top_m, bottom_m = row.fields.get("top_m"), row.fields.get("bottom_m")
    if top_m is not None and bottom_m is not None and bottom_m <= top_m:
        expected = (
            f"a bottom below the top ({top_m:g} m), both measured down from the surface"
        )
        found.refuse(row, "bottom_m", found=f"{bottom_m:g} m", expected=expected)


def _check_sample(found: Rows, row: Row) -> None:
    fields = row.fields
    _check_depths(found, row)
    taken = fields.get("taken", "channel")
    fair = taken in FAIR_VOLUME
    for name in ("top_m", "bottom_m"):
        if fair and name not in fields:
            expected = f"the depth that a {taken} sample was taken at"
            found.refuse(row, name, found="", expected=expected)
    volume, state = fields.get("volume_m3"), fields.get("state")
    if volume is not None and state is None:
        expected = "bank or loose, beside every volume"
        found.refuse(row, "state", found="", expected=expected)
    if volume is None and fields.get("pans") is None and fair:
        expected = (
            f"what was washed of a {taken} sample: volume with its state, or pans; "
            "or another word in taken (grab, crevice, moss, root, loam)"
        )
        found.refuse(row, "volume_m3", found="", expected=expected)
    if state == "bank" and volume is None:
        expected = "a volume beside the state bank; pans are loose"
        found.refuse(row, "volume_m3", found="", expected=expected)
    if volume is None and fields.get("washed_part") is not None:
        expected = "washed_part only beside volume, where that is the whole cut"
        part = fields["washed_part"]
        found.refuse(row, "washed_part", found=part, expected=expected)
    if fields.get("duplicate_of") == fields["sample"]:
        expected = "another sample than itself"
        name = fields["sample"]
        found.refuse(row, "duplicate_of", found=name, expected=expected)


def _check_pantest(found: Rows, row: Row) -> None:
    put_in, seen = row.fields["put_in"], row.fields["found"]
    if seen > put_in:
        expected = f"at most the {put_in} that were put in"
        found.refuse(row, "found", found=seen, expected=expected)


def _check_bucket(found: Rows, row: Row) -> None:
    names = ("bank_m3", "loose_m3", "pans")
    given = [name for name in names if row.fields.get(name) is not None]
    if len(given) < 2:
        expected = "two or three of bank, loose and pans"
        found.refuse(row, "bank_m3", found=", ".join(given), expected=expected)


def _check_day(found: Rows, row: Row) -> None:
    hours, dug = row.fields.get("hours"), row.fields.get("dug_hours")
    if hours is not None and dug is not None and dug > hours:
        expected = f"at most the {hours:g} hours of the day"
        found.refuse(row, "dug_hours", found=dug, expected=expected)


_CHECKS: Mapping[str, Callable[[Rows, Row], None]] = {
    "layers.csv": _check_depths,
    "samples.csv": _check_sample,
    "pantests.csv": _check_pantest,
    "buckets.csv": _check_bucket,
    "days.csv": _check_day,
}


def check_weighings(
    found: Rows, samples: Names, known: Mapping[str, tuple[str, ...]]
) -> None:
    """Refuse weighings of unknown samples, and samples in two weighings.

    Parameters
    ----------
    found : Rows
        The table.
    samples : Names
        What may be referred to.
    known : mapping
        Weighings that the book has, and whose gold they are.
    """
    here = {row.fields.get("weighing") for row in found.rows}
    taken = {
        sample: f"weighing {weighing} of the book"
        for weighing, names in known.items()
        if weighing not in here
        for sample in names
    }
    for row in found.rows:
        for sample in row.fields.get("samples") or ():
            samples.check(found, row, name="samples", value=sample)
            if sample in taken:
                expected = f"each sample in one weighing; {taken[sample]} has it"
                found.refuse(row, "samples", found=sample, expected=expected)
            else:
                weighing = row.fields.get("weighing")
                taken[sample] = f"weighing {weighing} (row {row.number})"


def find_double_volumes(found: Rows) -> list[Finding]:
    """Return a doubt for each sample that gives both a volume and pans."""
    return [
        Finding(
            where=f"samples.csv, {row.fields['sample']}",
            problem=f"it gives a volume and {row.fields['pans']:g} pans; the volume "
            "is what counts",
            remedy="Leave the pans to the note, or clear the volume.",
            weight="doubt",
        )
        for row in found.good()
        if row.fields.get("volume_m3") is not None
        and row.fields.get("pans") is not None
    ]


def find_finds(found: Rows) -> list[Finding]:
    """Return a note where samples were taken that enter no grade.

    Gold of a crevice, of moss or roots, and a grab are finds: no fair volume of
    gravel stands behind them.
    """
    named: dict[str, list[str]] = {}
    for row in found.good():
        taken = row.fields.get("taken")
        if taken is not None and taken not in FAIR_VOLUME:
            named.setdefault(taken, []).append(row.fields["sample"])
    if not named:
        return []
    told = [
        f"{taken} ({', '.join(names[:TOLD])}"
        + (f" and {len(names) - TOLD} more)" if len(names) > TOLD else ")")
        for taken, names in named.items()
    ]
    return [
        Finding(
            where=found.file,
            problem=f"finds without a fair volume: {'; '.join(told)}. They speak of "
            "presence, size and shape of gold, of traps and of source, and enter no "
            "grade",
            remedy="For a grade, cut a channel or bulk sample beside them.",
            weight="note",
        )
    ]
