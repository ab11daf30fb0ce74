"""Small reckonings at the camp table: a page each, nothing written down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.bench import BenchAnswer
from pennyweight.answers.benchforms import BENCHES, Asked, Bench
from pennyweight.answers.benchwords import bench_facts, bench_verdict
from pennyweight.errors import CallError
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door

#: Units of whoever reads in feet, by the usual unit.
FEET_FOR = {"cm": "in", "m": "ft", "l": "gal", "mg/m3": "gr/yd3"}

#: Reckonings that answer with nothing typed: there all is optional.
ASKS_FIRST = "asked"


def show_bench(ask: Ask) -> Response:
    """Answer one reckoning, or ask what it needs."""
    bench = find_bench(ask.path("bench"))
    typed = {one.name: ask.query(one.name, one.usual) for one in bench.asked}
    units = {one.name: unit_of(ask, one) for one in bench.asked if one.units}
    errors: dict[str, str] = {}
    answer: BenchAnswer | None = None
    if ask.query(ASKS_FIRST) or ask.wants_json:
        found = read_fields(bench, typed, units, errors=errors)
        if not errors:
            answer = try_to_answer(bench, found, errors)
    if ask.wants_json and answer is not None:
        return ask.show_answer("bench.html", answer)
    return ask.show(
        "bench.html",
        status=422 if errors else 200,
        bench=bench,
        benches=BENCHES,
        typed=typed,
        units=units,
        errors=errors,
        answer=answer,
        verdict=bench_verdict(answer, ask.measures) if answer else "",
        facts=bench_facts(answer, ask.measures) if answer else [],
        assumed=show_assumptions(answer.assumptions) if answer else [],
    )


def find_bench(name: str) -> Bench:
    """Return the reckoning of that name."""
    if name not in BENCHES:
        msg = f"There is no reckoning {name!r}."
        raise PageError(msg, 404)
    return BENCHES[name]


def unit_of(ask: Ask, one: Asked) -> str:
    """Return the unit in which a field is typed."""
    usual = one.units[0]
    feet = FEET_FOR.get(usual, usual)
    if ask.measures.name == "feet" and feet in one.units and not one.usual:
        usual = feet
    sent = ask.query(f"{one.name}.unit", usual)
    return sent if sent in one.units else usual


def read_fields(
    bench: Bench,
    typed: Mapping[str, str],
    units: Mapping[str, str],
    *,
    errors: dict[str, str],
) -> dict[str, Any]:
    """Return what was typed, by name; complaints go to `errors`."""
    found: dict[str, Any] = {}
    for one in bench.asked:
        try:
            found[one.name] = one.read(typed[one.name], units.get(one.name, ""))
        except CallError as error:
            errors[one.name] = str(error)
    return found


def try_to_answer(
    bench: Bench, found: Mapping[str, Any], errors: dict[str, str]
) -> BenchAnswer | None:
    """Return the answer; what it refuses goes to `errors`, of no single field."""
    try:
        return bench.answer(found)
    except CallError as error:
        errors[""] = str(error)
        return None


ROUTES = [
    Route("/reckon/{bench}.json", door(show_bench)),
    Route("/reckon/{bench}", door(show_bench)),
]
