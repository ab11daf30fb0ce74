"""What does each pan say? Grades with their intervals, dig by dig and wall by wall."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response
from starlette.routing import Route

from pennyweight.answers.grade import (
    DigGrade,
    GradeAnswer,
    SampleGrade,
    grade_ground,
)
from pennyweight.answers.ground import GroundAnswer, PlacedDig, show_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import grade_verdict
from pennyweight.pictures.charts import draw_grades
from pennyweight.pictures.svg import Look
from pennyweight.pictures.wall import draw_wall
from pennyweight.records import Layer
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door


@dataclass(frozen=True)
class Pans:
    """All pans judged, with their picture."""

    grade: GradeAnswer
    picture: Markup


def judge(reading: Reading, look: Look) -> Pans:
    """Return the grades with the picture of their intervals."""
    grade = grade_ground(reading)
    return Pans(grade, on_page(draw_grades(grade, look)))


def show_pans(ask: Ask) -> Response:
    """Show what every dig and sample says."""
    look = look_of(ask)
    pans = ask.desk.ask(("pans", look), lambda reading: judge(reading, look))
    return ask.show_answer(
        "pans.html",
        pans.grade,
        question="pans",
        picture=pans.picture,
        verdict=grade_verdict(pans.grade, ask.measures),
        lines=lines_of(pans.grade),
        assumed=show_assumptions(pans.grade.assumptions),
    )


def lines_of(grade: GradeAnswer) -> list[str]:
    """Return the names of the lines in the order of the record."""
    return list(dict.fromkeys(dig.line for dig in grade.digs if dig.line))


def show_line(ask: Ask) -> Response:
    """Show the wall of one line with its digs and samples."""
    line = ask.path("line")
    look = look_of(ask)

    def draw(reading: Reading) -> Pans:
        grade = grade_ground(reading)
        if line not in lines_of(grade):
            msg = f"There is no line {line!r} in this book."
            raise PageError(404, msg)
        ground = show_ground(reading)
        return Pans(grade, on_page(draw_wall(ground, grade, line, look=look)))

    pans = ask.desk.ask(("line", line, look), draw)
    lines = lines_of(pans.grade)
    at = lines.index(line)
    return ask.show(
        "line.html",
        question="pans",
        line=line,
        picture=pans.picture,
        digs=[dig for dig in pans.grade.digs if dig.line == line],
        samples=[one for one in pans.grade.samples if one.line == line],
        before=lines[at - 1] if at else None,
        after=lines[at + 1] if at + 1 < len(lines) else None,
        assumed=show_assumptions(pans.grade.assumptions),
    )


@dataclass(frozen=True)
class OneDig:
    """A dig with all that is known about it."""

    grade: DigGrade | None
    placed: PlacedDig | None
    samples: tuple[SampleGrade, ...]
    layers: tuple[Layer, ...]


def find_dig(ground: GroundAnswer, grade: GradeAnswer, name: str) -> OneDig:
    """Return what two answers say about one dig."""
    return OneDig(
        grade=next((dig for dig in grade.digs if dig.dig == name), None),
        placed=next((dig for dig in ground.digs if dig.dig == name), None),
        samples=tuple(one for one in grade.samples if one.dig == name),
        layers=tuple(one for one in ground.layers if one.dig == name),
    )


def show_note(ask: Ask) -> Response:
    """Tell about the dig that was picked in a picture."""
    dig = ask.desk.ask(
        ("dig", ask.query("dig")),
        lambda reading: find_dig(
            show_ground(reading), grade_ground(reading), ask.query("dig")
        ),
    )
    return ask.show("note_dig.html", dig=dig, name=ask.query("dig"))


ROUTES = [
    Route("/pans", door(show_pans)),
    Route("/pans.json", door(show_pans)),
    Route("/pans/note", door(show_note)),
    Route("/pans/line/{line:path}", door(show_line)),
]
