"""From an empty book to a first answer, one plain question after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.records import Log, Record
from pennyweight.sampling.volume import PAN_SIZE_KEY, PAN_SIZES, pan_of_bucket_m3
from pennyweight.units import Measures, to_inside
from pennyweight.web.colors import SIZES, WEIGHTS, keep_counted
from pennyweight.web.columns import DIGS, LAYERS, SAMPLES, TALLIES, Table
from pennyweight.web.faults import PageError
from pennyweight.web.forms import (
    FieldError,
    Filled,
    fill,
    new_record,
    parse_number,
    show_field,
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
    """Keep what the pan holds: as measured, else as common for its size."""
    errors: dict[str, str] = {}
    measured_m3 = _measured_pan_m3(ask, errors)
    if errors:
        return errors
    size = next((one for one in PAN_SIZES if str(one.rim_in) == ask.sent("size")), None)
    ground = ask.desk.log.ground
    extra = {key: text for key, text in ground.extra.items() if key != PAN_SIZE_KEY}
    if measured_m3 is not None:
        why, volume_m3 = "Measured the pan", measured_m3
    elif size is not None:
        why, volume_m3 = f"Chose a pan of {size.rim_in} inches", size.loose_m3
        extra[PAN_SIZE_KEY] = str(size.rim_in)
    else:
        return {"size": "Choose a size, or write below what your pan holds: 5.5 l."}
    change_ground(ask.desk, who=ask.who, why=why, pan_volume_m3=volume_m3, extra=extra)
    return {}


def _measured_pan_m3(ask: Ask, errors: dict[str, str]) -> float | None:
    """Return what the user measured, by the pan or by the bucket [m3]."""
    if ask.sent("pan"):
        name, pans = "pan", 1.0
        volume_m3 = _read_volume(ask, "pan", "unit", errors)
    elif ask.sent("bucket") or ask.sent("bucket_pans"):
        name, pans = "bucket_pans", 1.0
        volume_m3 = _read_volume(ask, "bucket", "bucket.unit", errors)
        try:
            pans = parse_number(ask.sent("bucket_pans"))
        except FieldError as error:
            errors["bucket_pans"] = str(error)
        if pans <= 0.0:
            errors["bucket_pans"] = f"{ask.sent('bucket_pans')} pans fill no bucket."
    elif ask.sent("size") == "own":
        errors["pan"] = "Write what you measured: the bucket and its pans, or the pan."
        return None
    else:
        return None
    low, high = PAN_M3
    if not errors and not low <= volume_m3 / pans <= high:
        errors[name] = (
            f"A pan of {volume_m3 / pans * 1000:g} l is no pan that a person can "
            f"carry; it lies between {low * 1000:g} and {high * 1000:g} liters."
        )
    return None if errors else pan_of_bucket_m3(volume_m3, pans)


def _read_volume(ask: Ask, name: str, unit_name: str, errors: dict[str, str]) -> float:
    """Return a volume with its unit [m3]; a complaint where it is none."""
    unit = ask.sent(unit_name) if ask.sent(unit_name) in {"l", "gal", "ft3"} else "l"
    try:
        return to_inside(parse_number(ask.sent(name)), unit, "volume")
    except FieldError as error:
        errors[name] = str(error)
        return 0.0


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
    return keep_counted(ask.desk, ask.form, ask.sent("sample"), who=ask.who)


def _keep_row(ask: Ask, table: Table, filled: Filled) -> dict[str, str]:
    if filled.errors:
        return filled.errors
    record = new_record(table, filled, ask.desk.log)
    if table.name == "samples":
        record = replace(record, method=getattr(record, "method", None) or "pan")  # type: ignore[call-arg]
    written = add_row(ask.desk, table.name, record, who=ask.who, measures=ask.measures)
    return written.complaints or {}


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
        ("sample",),
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


def suggested(log: Log, step: Step, measures: Measures) -> dict[str, str]:
    """Return what the fields of a step say before anything is typed.

    Depths are in the unit in which they were typed.
    """
    dig = log.digs[-1] if log.digs else None
    layer = log.layers[-1] if log.layers else None
    sample = log.samples[-1] if log.samples else None
    name = dig.dig if dig else ""

    def depth(to: str, table: Table, record: Record | None, of: str) -> dict[str, str]:
        if record is None:
            return {}
        unit = usual_unit(table.field(of), record, measures)
        return {
            to: show_field(table.field(of), record, unit),
            f"{to}.unit": unit,
        }

    reached = depth("bottom_m", DIGS, dig, "bottom_m")
    today = datetime.now(UTC).astimezone().date().isoformat()
    return {
        "dig": {"dig": "T1-1", "line": "T1", "kind": "trench", "date": today},
        "layer": {"dig": name, "top_m": "0", "material": "gravel", **reached},
        "sample": {
            "sample": f"{name}-a" if name else "",
            "dig": name,
            "top_m": "0",
            **reached,
            **depth("top_m", LAYERS, layer, "top_m"),
            **depth("bottom_m", LAYERS, layer, "bottom_m"),
        },
        "colors": {"sample": sample.sample if sample else ""},
    }.get(step.name, {})


def show_step(ask: Ask) -> Response:
    """Ask one question."""
    at = step_of(ask)
    values = suggested(ask.desk.log, STEPS[at], ask.measures)
    return _step_page(ask, at, values=values, errors={})


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
            column.name: values.get(f"{column.name}.unit")
            or column.unit_in(ask.measures)
            for column in columns
        },
        sizes=PAN_SIZES if step.name == "pan" else SIZES,
        weights=WEIGHTS,
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
