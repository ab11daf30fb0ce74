"""What was in the pan: colors by size, told in words, and the sizes not looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pennyweight.book.changes import putting
from pennyweight.records import Log, Tally
from pennyweight.web.columns import TALLIES, Field
from pennyweight.web.desk import Desk
from pennyweight.web.forms import FieldError, parse_field, parse_number
from pennyweight.web.writing import Written, write

#: Class of the field log for all colors of a sample, whatever their size.
ALL = "all"

#: Units in which a nugget is weighed, with their size [mg].
WEIGHTS = {"mg": 1.0, "g": 1000.0, "grain": 64.79891}


@dataclass(frozen=True, slots=True)
class Size:
    """One size of color as a person tells it.

    Attributes
    ----------
    name : str
        Class of the field log, in millimeters.
    like : str
        What it looks like.
    measure : str
        The same in millimeters, to be read.
    weighed : bool
        Whether a piece of it is weighed.
    """

    name: str
    like: str
    measure: str
    weighed: bool = False


SIZES = (
    Size("<0.1", "like flour", "under 0.1 mm"),
    Size("0.1-0.25", "like fine sand", "0.1 to 0.25 mm"),
    Size("0.25-0.5", "like table salt", "0.25 to 0.5 mm"),
    Size("0.5-1", "like coarse sand", "0.5 to 1 mm"),
    Size("1-2", "like a grain of rice", "1 to 2 mm"),
    Size(">2", "a nugget, bigger than that", "over 2 mm", weighed=True),
)


@dataclass
class Counted:
    """What a form says about the colors of a sample.

    Attributes
    ----------
    tallies : list of Tally
        To be written.
    errors : dict
        Field -> complaint; "" for the form as a whole.
    """

    tallies: list[Tally] = field(default_factory=list)
    errors: dict[str, str] = field(default_factory=dict)


def read_colors(form: Mapping[str, str], sample: str) -> Counted:
    """Return the tallies that a form comes to, or what is wrong with it.

    Parameters
    ----------
    form : mapping
        `colors.<class>` as typed, `mg.<class>` with `mg.unit` of a nugget, `nothing`
        where there was none, and `others`: none or unlooked.
    sample : str
        Its name.
    """
    counted = Counted()
    counts = _read_counts(form, counted.errors)
    weight_mg = _read_weight(form, counts, counted.errors)
    sized = {name: number for name, number in counts.items() if name != ALL}
    seen = sum(sized.values())
    if counted.errors:
        return counted
    if form.get("nothing"):
        if any(counts.values()):
            told = (
                f"You ticked that there was none, and counted {max(counts.values())}."
            )
            counted.errors["nothing"] = told
        counted.tallies = [Tally(sample=sample, size_class=ALL, colors=0)]
    elif not counts:
        counted.errors[f"colors.{ALL}"] = (
            "Count at least one size, or all together; or tick that there was none."
        )
    elif ALL not in counts and form.get("others") not in {"none", "unlooked"}:
        counted.errors["others"] = "Say whether there were any other sizes."
    elif counts.get(ALL, seen) < seen:
        counted.errors[f"colors.{ALL}"] = (
            f"The sizes add up to {seen}, but all together are {counts[ALL]}."
        )
    else:
        if ALL not in counts and form.get("others") == "none":
            counts[ALL] = seen
        counted.tallies = [
            Tally(
                sample=sample,
                size_class=name,
                colors=number,
                mg=weight_mg if name == SIZES[-1].name else None,
            )
            for name, number in counts.items()
        ]
    return counted


def _read_counts(form: Mapping[str, str], errors: dict[str, str]) -> dict[str, int]:
    """Return the classes that were counted; what is empty was not."""
    column: Field = TALLIES.field("colors")
    counts: dict[str, int] = {}
    for name in (*(size.name for size in SIZES), ALL):
        text = form.get(f"colors.{name}", "").strip()
        if not text:
            continue
        try:
            counts[name] = parse_field(column, text)
        except FieldError as error:
            errors[f"colors.{name}"] = str(error)
    return counts


def _read_weight(
    form: Mapping[str, str], counts: Mapping[str, int], errors: dict[str, str]
) -> float | None:
    """Return what the nuggets weigh [mg]; a piece that big is not left unweighed."""
    name = SIZES[-1].name
    text = form.get(f"mg.{name}", "").strip()
    if not text:
        if counts.get(name):
            errors[f"mg.{name}"] = (
                "Give what it weighs: one nugget says more than all other colors."
            )
        return None
    if not counts.get(name):
        errors[f"colors.{name}"] = "Say how many pieces these are."
    try:
        weight_mg = parse_number(text) * WEIGHTS.get(form.get("mg.unit", "mg"), 1.0)
    except FieldError as error:
        errors[f"mg.{name}"] = str(error)
        return None
    if weight_mg <= 0.0:
        errors[f"mg.{name}"] = f"{text} is no weight; it is above 0."
    return weight_mg


def keep_counted(
    desk: Desk, form: Mapping[str, str], sample: str, *, who: str
) -> dict[str, str]:
    """Write what was in a sample; return complaints by field, none if all is well."""
    told = _why_not(desk.log, sample)
    if told:
        return {"sample": told}
    counted = read_colors(form, sample)
    if counted.errors:
        return counted.errors
    changes = [putting("tallies", one, based_on=0) for one in counted.tallies]
    whole = [one.colors for one in counted.tallies if one.size_class == ALL]
    seen = whole[0] if whole else sum(one.colors for one in counted.tallies)
    why = f"Wrote what was in sample {sample}: {seen} colors"
    written: Written = write(desk, changes, who=who, why=why)
    return written.complaints or {}


def _why_not(log: Log, sample: str) -> str:
    """Return why no colors can be written for a sample; empty if they can."""
    if not sample:
        return "Name the sample."
    if all(one.sample != sample for one in log.samples):
        return f"There is no sample {sample} in this book."
    if any(one.sample == sample for one in log.tallies):
        return f"The colors of {sample} are in the book already: change them there."
    return ""
