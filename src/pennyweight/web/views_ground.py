"""The ground as a whole: its name, its map grid, and what is given for all of it."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import Route

from pennyweight.web.given import GIVEN, read_given, stands, unit_of
from pennyweight.web.page import Ask, door
from pennyweight.web.writing import change_ground


def show_ground_page(ask: Ask) -> Response:
    """Show what is said about the whole ground."""
    return _show(ask, {})


def _show(ask: Ask, errors: dict[str, str]) -> Response:
    feet = ask.measures.length == "ft"
    ground = ask.desk.log.ground
    return ask.show(
        "ground.html",
        status=422 if errors else 200,
        question="seen",
        given=GIVEN,
        typed={
            one.name: ask.form.get(one.name, stands(one, ground, feet=feet))
            for one in GIVEN
        },
        after={one.name: unit_of(one, feet=feet) for one in GIVEN},
        errors=errors,
    )


def keep_ground(ask: Ask) -> Response:
    """Keep what is said about the whole ground."""
    feet = ask.measures.length == "ft"
    values, errors = read_given(ask.form, ask.desk.log.ground, feet=feet)
    if errors:
        return _show(ask, errors)
    if values:
        change_ground(ask.desk, who=ask.who, why="Changed the ground", **values)
    return ask.to("seen")


ROUTES = [
    Route("/seen/ground", door(show_ground_page)),
    Route("/seen/ground", door(keep_ground), methods=["POST"]),
]
