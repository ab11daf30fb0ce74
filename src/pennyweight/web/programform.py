"""The program as the page asks for it, in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.answers.program import parse_closed
from pennyweight.answers.wording import unit_name
from pennyweight.units import Measures, to_inside
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.shown import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One thing of the program.

    Attributes
    ----------
    name, label, hint : str
        Key of the field log's `[program]`, its words, and a sentence under it.
    kind : str
        count, share, grade or season.
    most : float
        The most that is taken, as it is kept [-].
    """

    name: str
    label: str
    hint: str = ""
    kind: str = "count"
    most: float = 1e5


ASKED = (
    Asked(
        name="people",
        label="People who dig",
        hint="Hours of a plan are shared among you.",
        most=50,
    ),
    Asked(name="days", label="Days planned in all"),
    Asked(name="lines", label="Lines planned in all"),
    Asked(name="digs", label="Digs planned in all"),
    Asked(
        name="closed",
        label="Closed seasons",
        hint="When fish, frost or the rules of the place keep you out of the creek, "
        "month-day to month-day: 09-15 to 05-31. Several parted by commas.",
        kind="season",
    ),
    Asked(
        name="leave_after_lines",
        label="Leave if so many lines",
        hint="Write it down before you dig, and let it stand.",
        most=1000,
    ),
    Asked(
        name="leave_below_mg_m3",
        label="show nothing above",
        hint="Raw gold in the bank, over the best interval of a dig.",
        kind="grade",
        most=1e9,
    ),
    Asked(
        name="go_below_chance_of_loss",
        label="Go on to mining if the chance of loss is under, %",
        kind="share",
        most=1.0,
    ),
)


def unit_of(asked: Asked, measures: Measures) -> str:
    """Return the unit that stands after a field."""
    return unit_name(measures.grade) if asked.kind == "grade" else ""


def stands(asked: Asked, table: Mapping[str, Any], measures: Measures) -> str:
    """Return what the record says, as it is typed; empty for nothing."""
    value = table.get(asked.name)
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    if asked.kind == "share":
        return plain(value * 100.0, 2)
    if asked.kind == "grade":
        return plain(measures.show(value, "grade")[0], 4)
    return plain(value, 4)


def read_asked(
    form: Mapping[str, str], table: Mapping[str, Any], measures: Measures
) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the program that a form means, and complaints.

    What stands as it stood is left alone, keys that the page does not ask for too.
    """
    found, errors = dict(table), {}
    for asked in ASKED:
        text = form.get(asked.name, "").strip()
        if text == stands(asked, table, measures):
            continue
        if not text:
            found.pop(asked.name, None)
            continue
        try:
            found[asked.name] = _read(asked, text, measures)
        except ValueError as error:
            errors[asked.name] = str(error)
    return found, errors


def _read(asked: Asked, text: str, measures: Measures) -> float | int | str:
    if asked.kind == "season":
        return ", ".join(one.words for one in parse_closed(text))
    value = parse_number(text)
    if asked.kind == "share":
        value /= 100.0
    elif asked.kind == "grade":
        value = to_inside(value, measures.grade, "grade")
    elif value != int(value):
        msg = f"{text} is no whole number."
        raise FieldError(msg)
    if not 0.0 < value <= asked.most:
        most = asked.most * (100.0 if asked.kind == "share" else 1.0)
        msg = f"{text} is not taken; give a number above 0 and up to {most:g}."
        raise FieldError(msg)
    return int(value) if asked.kind == "count" else value
