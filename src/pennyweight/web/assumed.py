"""What an answer took for granted, in words and in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.answers.assumptions import ASSUMPTIONS
from pennyweight.web.given import FIELD_OF
from pennyweight.web.shown import figure


@dataclass(frozen=True)
class Assumed:
    """One value that the record did not give.

    Attributes
    ----------
    key : str
        As the JSON names it.
    label, value, source : str
        What it is, how much, and where it comes from.
    remedy : str
        How to put a value of one's own in its place.
    field : str
        Field of the ground that takes its place; empty for none.
    """

    key: str
    label: str
    value: str
    source: str
    remedy: str
    field: str = ""


def show_assumptions(assumptions: Mapping[str, Any]) -> list[Assumed]:
    """Return the assumptions of an answer, one line each."""
    return [_show(key, value) for key, value in assumptions.items()]


def _show(key: str, value: Any) -> Assumed:
    name, which = key, ""
    while name not in ASSUMPTIONS and "_" in name:
        name, _, last = name.rpartition("_")
        which = f"{last}_{which}".rstrip("_")
    known = ASSUMPTIONS.get(name)
    if known is None:
        return Assumed(key, key.replace("_", " "), _show_value(value, ""), "", "")
    label = f"{known.label}, {which.replace('_', ' ')}" if which else known.label
    shown = _show_value(value, known.unit)
    return Assumed(key, label, shown, known.source, known.remedy, FIELD_OF.get(key, ""))


def _show_value(value: Any, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        shown = figure(float(value), 3)
        return f"{shown}\u00a0{unit}" if unit and unit != "-" else shown
    return str(value)
