"""The diary and the program: what each day saw, and the rules to go or to leave by."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.diary import DiaryAnswer, read_diary
from pennyweight.answers.diarysaid import diary_verdict
from pennyweight.answers.program import read_program
from pennyweight.answers.reading import Reading
from pennyweight.answers.rules import judge_rules, say_rules
from pennyweight.pictures.diarychart import draw_diary
from pennyweight.pictures.svg import Look
from pennyweight.units import Measures
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.page import Ask, door
from pennyweight.web.programform import ASKED, read_asked, stands, unit_of
from pennyweight.web.writing import change_ground


@dataclass(frozen=True)
class Diary:
    """The days with their picture, and how the rules stand."""

    answer: DiaryAnswer
    picture: Markup
    rules: tuple[str, ...]


def lay_out(reading: Reading, look: Look, measures: Measures) -> Diary:
    """Return the diary with its picture."""
    answer = read_diary(reading)
    rules = say_rules(judge_rules(reading), measures)
    return Diary(answer, on_page(draw_diary(answer, look), look), rules)


def show_diary(ask: Ask) -> Response:
    """Show every day, and how far the program has come."""
    look = look_of(ask)
    diary = ask.desk.ask(
        ("diary", look), lambda reading: lay_out(reading, look, ask.measures)
    )
    ground = ask.desk.log.ground
    return ask.show_answer(
        "diary.html",
        diary.answer,
        question="next",
        picture=diary.picture,
        rules=diary.rules,
        closed=read_program(ground.program).closed,
        has_program=bool(ground.program),
        currency=ground.currency or "",
        verdict=diary_verdict(diary.answer),
    )


def show_program(ask: Ask) -> Response:
    """Show what was set out to do."""
    return _show_program(ask, {})


def _show_program(ask: Ask, errors: dict[str, str]) -> Response:
    table = ask.desk.log.ground.program
    return ask.show(
        "program.html",
        status=422 if errors else 200,
        question="next",
        asked=ASKED,
        typed={
            one.name: ask.form.get(one.name, stands(one, table, ask.measures))
            for one in ASKED
        },
        after={one.name: unit_of(one, ask.measures) for one in ASKED},
        errors=errors,
    )


def keep_program(ask: Ask) -> Response:
    """Keep the program; the history says what it was before."""
    table = ask.desk.log.ground.program
    program, errors = read_asked(ask.form, table, ask.measures)
    if errors:
        return _show_program(ask, errors)
    if program != dict(table):
        change_ground(ask.desk, who=ask.who, why="Changed the program", program=program)
    return ask.to("next", "diary")


ROUTES = [
    Route("/next/diary", door(show_diary)),
    Route("/next/diary.json", door(show_diary)),
    Route("/next/program", door(show_program)),
    Route("/next/program", door(keep_program), methods=["POST"]),
]
