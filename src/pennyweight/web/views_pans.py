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
    read_cutoff,
)
from pennyweight.answers.ground import PlacedDig, show_ground
from pennyweight.answers.qualitywords import quality_facts, quality_verdict
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import grade_verdict
from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.gradecharts import draw_cumulative_chart, draw_grades_chart
from pennyweight.pictures.svg import Look
from pennyweight.pictures.wall import draw_wall
from pennyweight.records import Layer
from pennyweight.web.assumed import show_assumptions
from pennyweight.web.drawings import look_of, on_page
from pennyweight.web.faults import PageError
from pennyweight.web.page import Ask, door
from pennyweight.web.strip import unwashed

#: Widths of a single dig's wall, and of a line's [px].
DIG_PX, LINE_PX = 640, 1180


@dataclass(frozen=True)
class Pans:
    """All pans judged, with their picture."""

    grade: GradeAnswer
    picture: Markup
    more: Markup | None = None


def judge(reading: Reading, look: Look) -> Pans:
    """Return the grades with the picture of their intervals."""
    grade = grade_ground(reading)
    cutoff = read_cutoff(reading.log.ground).wash_mg_m3
    chart = draw_grades_chart(grade, look, cutoff_mg_m3=cutoff)
    more = draw_cumulative_chart(grade, look)
    return Pans(grade, on_page(chart, look), on_page(more, look))


def show_pans(ask: Ask) -> Response:
    """Show what every dig and sample says."""
    look = look_of(ask)
    pans = ask.desk.ask(("pans", look), lambda reading: judge(reading, look))
    return ask.show_answer(
        "pans.html",
        pans.grade,
        question="pans",
        picture=pans.picture,
        more=pans.more,
        verdict=grade_verdict(pans.grade, ask.measures),
        trust=quality_verdict(pans.grade),
        trust_facts=quality_facts(pans.grade, ask.measures),
        lines=lines_of(pans.grade),
        assumed=show_assumptions(pans.grade.assumptions),
        wet=unwashed(ask.desk.log),
    )


def lines_of(grade: GradeAnswer) -> list[str]:
    """Return the names of the lines in the order of the record."""
    return list(dict.fromkeys(dig.line for dig in grade.digs if dig.line))


def show_line(ask: Ask) -> Response:
    """Show the wall of one line with its digs and samples."""
    line = ask.path("line")
    look = look_of(ask, wide_px=LINE_PX)

    def draw(reading: Reading) -> Pans:
        grade = grade_ground(reading)
        if line not in lines_of(grade):
            msg = f"There is no line {line!r} in this book."
            raise PageError(msg, 404)
        ground = show_ground(reading)
        return Pans(grade, on_page(draw_wall(ground, grade, line, look=look), look))

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
        wet=unwashed(ask.desk.log),
    )


@dataclass(frozen=True)
class OneDig:
    """A dig with all that is known about it."""

    grade: DigGrade | None
    placed: PlacedDig | None
    samples: tuple[SampleGrade, ...]
    layers: tuple[Layer, ...]


def find_dig(reading: Reading, name: str) -> OneDig:
    """Return what the answers say about one dig."""
    ground, grade = show_ground(reading), grade_ground(reading)
    return OneDig(
        grade=next((dig for dig in grade.digs if dig.dig == name), None),
        placed=next((dig for dig in ground.digs if dig.dig == name), None),
        samples=tuple(one for one in grade.samples if one.dig == name),
        layers=tuple(one for one in ground.layers if one.dig == name),
    )


def show_note(ask: Ask) -> Response:
    """Tell about the dig that was picked in a picture."""
    name = ask.query("dig")
    dig = ask.desk.ask(("dig", name), lambda reading: find_dig(reading, name))
    return ask.show("note_dig.html", dig=dig, name=name, wet=unwashed(ask.desk.log))


def show_dig(ask: Ask) -> Response:
    """Show one dig: its wall, its layers, its samples."""
    name, look = ask.path("dig"), look_of(ask, wide_px=DIG_PX)

    def draw(reading: Reading) -> tuple[OneDig, Markup]:
        dig = find_dig(reading, name)
        if dig.placed is None:
            msg = f"There is no dig {name!r} in this book."
            raise PageError(msg, 404)
        ground, grade = show_ground(reading), grade_ground(reading)
        return dig, on_page(draw_dig_wall(ground, grade, name, look=look), look)

    dig, picture = ask.desk.ask(("dig wall", name, look), draw)
    return ask.show(
        "dig.html",
        question="pans",
        name=name,
        dig=dig,
        picture=picture,
        wet=unwashed(ask.desk.log),
    )


ROUTES = [
    Route("/pans", door(show_pans)),
    Route("/pans.json", door(show_pans)),
    Route("/pans/note", door(show_note)),
    Route("/pans/line/{line:path}", door(show_line)),
    Route("/pans/dig/{dig:path}", door(show_dig)),
]
