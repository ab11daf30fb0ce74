"""What does this one pan say? The calculator, with nothing written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.benchforms import BENCHES
from pennyweight.answers.reckon import (
    MOST_GRAINS,
    MOST_MG,
    PanMore,
    ReckonAnswer,
    reckon_pan,
    say_pan,
)
from pennyweight.errors import CallError
from pennyweight.exchange.sizeclasses import parse_size_class
from pennyweight.units import to_inside
from pennyweight.web import views_bench
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.page import Ask, door

#: Name of a field -> what is asked, and what stands there at first.
ASKED: Mapping[str, tuple[str, str]] = {
    "colors": ("Colors counted", ""),
    "pans": ("Level pans washed", "1"),
    "pan_volume": ("One pan holds", ""),
    "swell": ("Swell, in percent", ""),
}

#: What else a person may know, in a fold: name -> what is asked, and its unit.
MORE: Mapping[str, tuple[str, str]] = {
    "size": ("Size of the colors, like 0.5-1 or No.2", "mm"),
    "weighed": ("The colors weigh together", "mg"),
    "balance": ("The balance reads to", "mg"),
    "put_in": ("Grains put into tailings to try your panning", ""),
    "found": ("Of these, found again", ""),
    "fineness": ("Gold in 1000 parts of raw gold", ""),
}

#: What each may be: above the first, up to the second.
LIMITS = {
    "colors": (-1.0, 1_000_000.0),
    "pans": (0.0, 100_000.0),
    "pan_volume": (0.0, 200.0),
    "swell": (-1e-9, 99.0),
    "weighed": (-1e-9, MOST_MG),
    "balance": (0.0, 100_000.0),
    "put_in": (0.0, MOST_GRAINS),
    "found": (-1.0, MOST_GRAINS),
    "fineness": (299.0, 1000.0),
}
#: Those that are counted: no fractions.
WHOLE = {"colors": "colors", "put_in": "grains", "found": "grains"}


def show_reckon(ask: Ask) -> Response:
    """Say what one pan means, with nothing written down."""
    typed = {name: ask.query(name, usual) for name, (_, usual) in ASKED.items()}
    typed |= {name: ask.query(name, "") for name in MORE}
    typed["unit"] = ask.query("unit", "gal" if ask.measures.name == "feet" else "l")
    errors: dict[str, str] = {}
    answer: ReckonAnswer | None = None
    if typed["colors"].strip() or typed["weighed"].strip():
        numbers = read_numbers(typed, errors)
        if not errors:
            try:
                answer = reckon_pan(**numbers)
            except CallError as error:
                errors["found"] = str(error)
    if ask.wants_json and answer is not None:
        return ask.show_answer("reckon.html", answer)
    return ask.show(
        "reckon.html",
        status=422 if errors else 200,
        typed=typed,
        labels={name: label for name, (label, _) in ASKED.items()},
        more=MORE,
        told_more=any(typed[name].strip() for name in MORE),
        errors=errors,
        answer=answer,
        verdict=say_pan(answer, ask.measures) if answer else "",
        benches=BENCHES,
        assumed=show_assumptions(answer.assumptions) if answer else [],
    )


def read_numbers(typed: Mapping[str, str], errors: dict[str, str]) -> dict[str, Any]:
    """Return the numbers in inside units; complaints go to `errors`."""
    found: dict[str, float] = {}
    for name, (low, high) in LIMITS.items():
        if not typed[name].strip():
            continue
        try:
            found[name] = parse_number(typed[name])
        except FieldError as error:
            errors[name] = str(error)
            continue
        if not low < found[name] <= high:
            errors[name] = f"{typed[name]} is not taken; give at most {high:g}."
    for name in WHOLE.keys() & found.keys():
        if not found[name].is_integer():
            errors[name] = (
                f"{typed[name]} is no whole number; count whole {WHOLE[name]}."
            )
    more = _read_more(typed, found, errors)
    if errors:
        return {}
    unit = typed["unit"] if typed["unit"] in {"l", "gal"} else "l"
    numbers: dict[str, Any] = {
        "pans": found.get("pans", 1.0),
        "colors": int(found["colors"]) if "colors" in found else None,
        "more": more,
    }
    if "pan_volume" in found:
        numbers["pan_volume_m3"] = to_inside(found["pan_volume"], unit, "volume")
    if "swell" in found:
        numbers["swell"] = found["swell"] / 100.0
    return numbers


def _read_more(
    typed: Mapping[str, str], found: Mapping[str, float], errors: dict[str, str]
) -> PanMore:
    """Return what else was told; complaints go to `errors`."""
    size_class = None
    if typed["size"].strip():
        try:
            size_class = parse_size_class(typed["size"])
        except ValueError as error:
            errors["size"] = f"{typed['size'].strip()} is not taken; give {error}."
    return PanMore(
        size_class=size_class,
        weighed_mg=found.get("weighed"),
        balance_mg=found.get("balance"),
        put_in=int(found["put_in"]) if "put_in" in found else None,
        found=int(found["found"]) if "found" in found else None,
        fineness=found.get("fineness"),
    )


ROUTES = [
    Route("/reckon", door(show_reckon)),
    Route("/reckon.json", door(show_reckon)),
    *views_bench.ROUTES,
]
