"""What did the floods do? Terrain, boulders, high water by slider, drops, traps."""

from __future__ import annotations

import json
from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.bedrock import alike_traps
from pennyweight.answers.ground import show_ground
from pennyweight.answers.highwater import HighwaterAnswer, PlacedDrop, read_floods
from pennyweight.answers.highwatersaid import (
    KIND_NAMES,
    MARKED_SCORE,
    discharge_words,
    gold_by_look,
    highwater_verdict,
    say_look,
    say_why,
    speed_words,
    spread_words,
)
from pennyweight.answers.reading import Reading
from pennyweight.pictures.creekprofile import draw_creek_profile
from pennyweight.pictures.floodplan import draw_flood_plan, shown_flood
from pennyweight.pictures.svg import Look
from pennyweight.units import Measures
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.writing import change_ground

#: What heights may be, as kept -> as said.
UNITS = {"ft": "feet", "m": "meters"}

#: Drops that are told at once; the others open on demand.
FIRST_DROPS = 6


@dataclass(frozen=True)
class Floods:
    """The answer with its pictures."""

    answer: HighwaterAnswer
    plan: Markup
    profile: Markup


@dataclass(frozen=True)
class ToldDrop:
    """One drop as the page tells it."""

    number: int
    name: str
    marked: bool
    why: str
    look: str
    chance: float | None
    east: float
    north: float


def work_out(reading: Reading, look: Look) -> Floods:
    """Return what the floods did, with its pictures."""
    answer = read_floods(reading)
    plan = draw_flood_plan(show_ground(reading), answer, look)
    profile = draw_creek_profile(answer, look)
    return Floods(answer, on_page(plan, look), on_page(profile, look))


def tell_drop(number: int, drop: PlacedDrop, measures: Measures) -> ToldDrop:
    """Return the words of a drop."""
    return ToldDrop(
        number=number,
        name=KIND_NAMES[drop.kind],
        marked=drop.score >= MARKED_SCORE,
        why=say_why(drop.drop, measures),
        look=say_look(drop.drop),
        chance=drop.chance_richer,
        east=drop.easting_m,
        north=drop.northing_m,
    )


def show_floods(ask: Ask) -> Response:
    """Show what the floods did."""
    look = look_of(ask)
    found = ask.desk.ask(("floods", look), lambda reading: work_out(reading, look))
    answer = found.answer
    if ask.wants_json:
        return ask.show_answer("highwater.html", answer)
    measures = ask.measures
    drops = [tell_drop(k, one, measures) for k, one in enumerate(answer.drops, 1)]
    flows = [discharge_words(one.discharge_m3_s, measures) for one in answer.floods]
    return ask.show(
        "highwater.html",
        question="floods",
        answer=answer,
        found=found,
        verdict=highwater_verdict(answer, measures),
        drops=drops,
        first=FIRST_DROPS,
        flows=flows,
        flows_json=json.dumps(flows, ensure_ascii=False),
        shown=shown_flood(answer),
        traps=alike_traps(answer.traps),
        gold=gold_by_look(answer.gold),
        warned=[one for one in answer.clasts if one.warnings],
        speed=lambda value: speed_words(value, measures),
        flow=None
        if answer.discharge_m3_s is None
        else spread_words(answer.discharge_m3_s, measures),
        ask_unit=any("elevation_unit" in one.remedy for one in answer.findings),
        assumed=show_assumptions(answer.assumptions),
    )


def say_unit(ask: Ask) -> Response:
    """Keep what the heights of the elevation model are, as the user was asked."""
    unit = ask.sent("unit")
    if unit not in UNITS:
        msg = f"Heights in {unit!r} cannot be read; they are {' or '.join(UNITS)}."
        raise PageError(msg, 422)
    extra = dict(ask.desk.log.ground.extra) | {"elevation_unit": json.dumps(unit)}
    why = f"Said that heights are in {UNITS[unit]}"
    change_ground(ask.desk, who=ask.who, why=why, extra=extra)
    return ask.to("floods")


ROUTES = [
    Route("/floods", door(show_floods)),
    Route("/floods/unit", door(say_unit), methods=["POST"]),
    Route("/floods.json", door(show_floods)),
]
