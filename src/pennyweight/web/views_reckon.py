"""What does this one pan say? The calculator, with nothing written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.benchforms import BENCHES
from pennyweight.answers.reckon import ReckonAnswer, reckon_pan
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

#: What each may be: above the first, up to the second.
LIMITS = {
    "colors": (-1.0, 1_000_000.0),
    "pans": (0.0, 100_000.0),
    "pan_volume": (0.0, 200.0),
    "swell": (-1e-9, 99.0),
}


def show_reckon(ask: Ask) -> Response:
    """Say what one pan means, with nothing written down."""
    typed = {name: ask.query(name, usual) for name, (_, usual) in ASKED.items()}
    typed["unit"] = ask.query("unit", "gal" if ask.measures.name == "feet" else "l")
    errors: dict[str, str] = {}
    answer: ReckonAnswer | None = None
    if typed["colors"].strip():
        numbers = read_numbers(typed, errors)
        if not errors:
            answer = reckon_pan(**numbers)
    if ask.wants_json and answer is not None:
        return ask.show_answer("reckon.html", answer)
    return ask.show(
        "reckon.html",
        status=422 if errors else 200,
        typed=typed,
        labels={name: label for name, (label, _) in ASKED.items()},
        errors=errors,
        answer=answer,
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
    if "colors" in found and not found["colors"].is_integer():
        errors["colors"] = f"{typed['colors']} is no whole number; count whole colors."
    if errors:
        return {}
    unit = typed["unit"] if typed["unit"] in {"l", "gal"} else "l"
    numbers: dict[str, Any] = {
        "pans": found.get("pans", 1.0),
        "colors": int(found["colors"]),
    }
    if "pan_volume" in found:
        numbers["pan_volume_m3"] = to_inside(found["pan_volume"], unit, "volume")
    if "swell" in found:
        numbers["swell"] = found["swell"] / 100.0
    return numbers


ROUTES = [
    Route("/reckon", door(show_reckon)),
    Route("/reckon.json", door(show_reckon)),
    *views_bench.ROUTES,
]
