"""From an empty book to a first answer, one plain question after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.records import Log
from pennyweight.units import to_inside
from pennyweight.web.columns import DIGS, LAYERS, SAMPLES, TALLIES, Table
from pennyweight.web.faults import PageError
from pennyweight.web.forms import (
    FieldError,
    Filled,
    fill,
    new_record,
    parse_number,
    usual_unit,
)
from pennyweight.web.page import Ask, door
from pennyweight.web.places import place_dig
from pennyweight.web.writing import add_row, change_ground

#: What a pan may hold [m3], and what swell may be [-].
PAN_M3 = (0.0005, 0.05)
MOST_SWELL = 1.0


@dataclass(frozen=True)
class Step:
    """One question of the guide.

    Attributes
    ----------
    name, title : str
        Part of the address, and heading.
    keep : callable
        Writes the answer; returns complaints by field, none if all is well.
    table : Table or None
        What a row is added to.
    asks : tuple of str
        Columns that are asked for.
    """

    name: str
    title: str
    keep: Callable[[Ask], dict[str, str]]
    table: Table | None = None
    asks: tuple[str, ...] = ()


def keep_pan(ask: Ask) -> dict[str, str]:
    """Keep what the pan holds."""
    try:
        unit = ask.sent("unit") if ask.sent("unit") in {"l", "gal"} else "l"
        volume_m3 = to_inside(parse_number(ask.sent("pan")), unit, "volume")
    except FieldError as error:
        return {"pan": str(error)}
    low, high = PAN_M3
    if not low <= volume_m3 <= high:
        return {
            "pan": (
                f"{ask.sent('pan')} {unit} is no pan that a person can carry; it lies "
                f"between {low * 1000:g} and {high * 1000:g} liters."
            )
        }
    change_ground(
        ask.desk, who=ask.who, why="Measured the pan", pan_volume_m3=volume_m3
    )
    return {}


def keep_swell(ask: Ask) -> dict[str, str]:
    """Keep how much the ground grows when it is dug."""
    try:
        hole, out = parse_number(ask.sent("hole")), parse_number(ask.sent("out"))
    except FieldError as error:
        return {"out": str(error)}
    if hole <= 0.0:
        return {"hole": f"The hole holds {ask.sent('hole')} buckets; it needs some."}
    swell = out / hole - 1.0
    if not 0.0 <= swell < MOST_SWELL:
        return {
            "out": (
                f"{out:g} buckets out of a hole of {hole:g} would be a swell of "
                f"{swell:.0%}. It lies between 0 and 100 %; measure again, or leave it."
            )
        }
    change_ground(ask.desk, who=ask.who, why="Measured the swell", swell=swell)
    return {}


def keep_dig(ask: Ask) -> dict[str, str]:
    """Keep the first dig."""
    filled = fill(DIGS, ask.form)
    crs = place_dig(ask.desk.log, filled, ask.form)
    if crs and not filled.errors:
        change_ground(ask.desk, who=ask.who, why=f"Chose the map grid {crs}", crs=crs)
    return _keep_row(ask, DIGS, filled)


def keep_layer(ask: Ask) -> dict[str, str]:
    """Keep the first layer."""
    return _keep_row(ask, LAYERS, fill(LAYERS, ask.form))


def keep_sample(ask: Ask) -> dict[str, str]:
    """Keep the first sample."""
    return _keep_row(ask, SAMPLES, fill(SAMPLES, ask.form))


def keep_colors(ask: Ask) -> dict[str, str]:
    """Keep the colors counted in the sample."""
    return _keep_row(ask, TALLIES, fill(TALLIES, ask.form))


def _keep_row(ask: Ask, table: Table, filled: Filled) -> dict[str, str]:
    if filled.errors:
        return filled.errors
    record = new_record(table, filled, ask.desk.log)
    if table.name == "samples":
        record = replace(record, method=getattr(record, "method", None) or "pan")  # type: ignore[call-arg]
    return add_row(ask.desk, table.name, record, who=ask.who).complaints or {}


STEPS = (
    Step("pan", "What does your pan hold?", keep_pan),
    Step("swell", "How much does the ground grow?", keep_swell),
    Step(
        "dig",
        "Where did you dig?",
        keep_dig,
        DIGS,
        ("dig", "line", "kind", "bottom_m", "stopped_by"),
    ),
    Step(
        "layer",
        "What did you dig through?",
        keep_layer,
        LAYERS,
        ("dig", "top_m", "bottom_m", "material", "packing", "base"),
    ),
    Step(
        "sample",
        "What went into the pan?",
        keep_sample,
        SAMPLES,
        ("sample", "dig", "top_m", "bottom_m", "pans"),
    ),
    Step(
        "colors",
        "How many colors were in it?",
        keep_colors,
        TALLIES,
        ("sample", "size_class", "colors"),
    ),
)


def step_of(ask: Ask) -> int:
    """Return the place of the step that the address names."""
    name = ask.path("step")
    found = next((at for at, step in enumerate(STEPS) if step.name == name), None)
    if found is None:
        msg = f"The guide has no step {name!r}."
        raise PageError(msg, 404)
    return found


def show_welcome(ask: Ask) -> Response:
    """Say what the guide is about to ask, and what else one can do."""
    return ask.show("guide_welcome.html", question="seen", steps=STEPS)


def suggested(log: Log, step: Step) -> dict[str, str]:
    """Return what the fields of a step say before anything is typed."""
    dig = log.digs[-1] if log.digs else None
    layer = log.layers[-1] if log.layers else None
    sample = log.samples[-1] if log.samples else None
    depth = f"{dig.bottom_m:g}" if dig and dig.bottom_m else ""
    name = dig.dig if dig else ""
    today = datetime.now(UTC).astimezone().date().isoformat()
    return {
        "dig": {"dig": "T1-1", "line": "T1", "kind": "trench", "date": today},
        "layer": {"dig": name, "top_m": "0", "bottom_m": depth, "material": "gravel"},
        "sample": {
            "sample": f"{name}-a" if name else "",
            "dig": name,
            "top_m": f"{layer.top_m:g}" if layer else "0",
            "bottom_m": f"{layer.bottom_m:g}" if layer else depth,
            "pans": "4",
        },
        "colors": {"sample": sample.sample if sample else "", "size_class": "all"},
    }.get(step.name, {})


def show_step(ask: Ask) -> Response:
    """Ask one question."""
    at = step_of(ask)
    return _step_page(ask, at, values=suggested(ask.desk.log, STEPS[at]), errors={})


def _step_page(
    ask: Ask, at: int, *, values: dict[str, str], errors: dict[str, str]
) -> Response:
    step = STEPS[at]
    after = STEPS[at + 1].name if at + 1 < len(STEPS) else ""
    columns: list[Any] = []
    if step.table is not None:
        columns = [step.table.field(name) for name in step.asks]
    return ask.show(
        f"guide_{step.name}.html",
        status=422 if errors else 200,
        question="seen",
        step=step,
        number=at + 1,
        of=len(STEPS),
        columns=columns,
        values=values,
        units={
            column.name: values.get(f"{column.name}.unit") or usual_unit(column)
            for column in columns
        },
        errors=errors,
        skip=ask.url("first", after) if after else ask.url("pans"),
    )


def keep_step(ask: Ask) -> Response:
    """Keep an answer and go on to the next question; a complaint stays here."""
    at = step_of(ask)
    errors = STEPS[at].keep(ask)
    if errors:
        return _step_page(ask, at, values=ask.form, errors=errors)
    if at + 1 < len(STEPS):
        return ask.to("first", STEPS[at + 1].name)
    return ask.to("pans")


ROUTES = [
    Route("/first", door(show_welcome)),
    Route("/first/{step}", door(show_step)),
    Route("/first/{step}", door(keep_step), methods=["POST"]),
]
