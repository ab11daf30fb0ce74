"""The mark of a dig: sized and shaded by grade, or saying that there is none.

Zero, unknown and not washed yet are three things: an open ring, a bare point (the
place without a mark of grade), and a dotted ring.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.spatial import cKDTree

from pennyweight.answers.grade import DigGrade, GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.wording import interval_words
from pennyweight.pictures.gradescale import GradeScale, grade_scale, mark_radius
from pennyweight.pictures.svg import Look, Markup, element, group, title
from pennyweight.units import Measures

State = Literal["gold", "zero", "unwashed", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DigMark:
    """A dig as a picture shows it.

    Attributes
    ----------
    dig : str
        Name.
    line : str or None
        Its line.
    state : {"gold", "zero", "unwashed", "unknown"}
        What is known of its gold.
    grade_mg_m3 : float
        Median of its best interval; 0 without gold.
    words : str
        What is said when it is pointed at.
    """

    dig: str
    line: str | None
    state: State
    grade_mg_m3: float
    words: str


def dig_marks(
    ground: GroundAnswer, grade: GradeAnswer | None, measures: Measures
) -> dict[str, DigMark]:
    """Return the mark of every dig, by name."""
    graded = {one.dig: one for one in grade.digs} if grade else {}
    colors: defaultdict[str, float] = defaultdict(float)
    for sample in grade.samples if grade else ():
        colors[sample.dig] += sample.colors or 0.0
    marks = {}
    for dig in ground.digs:
        found = graded.get(dig.dig)
        state = _state(found, colors[dig.dig], dig.unwashed)
        known = state == "gold" and found is not None and found.grade_mg_m3
        marks[dig.dig] = DigMark(
            dig=dig.dig,
            line=dig.line,
            state=state,
            grade_mg_m3=known.p50 if known else 0.0,
            words=_words(dig.dig, state, found, measures),
        )
    return marks


def marks_scale(marks: dict[str, DigMark], measures: Measures) -> GradeScale:
    """Return the grade steps that suit the marks."""
    return grade_scale((one.grade_mg_m3 for one in marks.values()), measures)


def _state(found: DigGrade | None, colors: float, unwashed: int) -> State:
    if found is None or found.grade_mg_m3 is None:
        return "unwashed" if unwashed else "unknown"
    return "gold" if colors > 0.0 else "zero"


def _words(dig: str, state: State, found: DigGrade | None, measures: Measures) -> str:
    if state == "unwashed":
        return f"dig {dig}: not washed yet"
    if state == "unknown" or found is None or found.grade_mg_m3 is None:
        return f"dig {dig}: no grade can be told"
    shown = interval_words(found.grade_mg_m3, "grade", measures)
    seen = "no colors; it may still hold " if state == "zero" else ""
    return f"dig {dig}: {seen}{shown}"


def draw_mark(
    mark: DigMark, place: tuple[float, float], *, scale: GradeScale, look: Look
) -> Markup:
    """Return a dig's mark at a place in the picture."""
    return group(
        title(mark.words),
        _shape(mark, place, scale, look),
        data_dig=mark.dig,
        data_line=mark.line,
    )


def mark_px(mark: DigMark, scale: GradeScale, look: Look) -> float:
    """Return how far a mark reaches from its middle [px]."""
    if mark.state == "gold":
        return scale.radius_px(mark.grade_mg_m3, look)
    return scale.size * mark_radius(0, look)


def _shape(
    mark: DigMark, place: tuple[float, float], scale: GradeScale, look: Look
) -> Markup:
    inks = look.palette
    x_px, y_px = place
    if mark.state == "unknown":
        return element("circle", cx=x_px, cy=y_px, r=1.6, fill=inks.ink)
    if mark.state == "gold":
        return element(
            "circle",
            cx=x_px,
            cy=y_px,
            r=scale.radius_px(mark.grade_mg_m3, look),
            fill=scale.ink(mark.grade_mg_m3, look),
            stroke=inks.ink,
            stroke_width=1.1,
        )
    dotted = mark.state == "unwashed"
    return element(
        "circle",
        cx=x_px,
        cy=y_px,
        r=scale.size * mark_radius(0, look),
        fill=inks.paper,
        stroke=inks.ink,
        stroke_width=1.5,
        stroke_dasharray="0.1 2.85" if dotted else None,
        stroke_linecap="round" if dotted else None,
    )


def legend_shape(
    state: State, scale: GradeScale, look: Look, *, step: int = 0
) -> Markup:
    """Return a mark for the legend, around the origin."""
    grade = (0.0, *scale.bounds_mg_m3)[step]
    mark = DigMark(dig="", line=None, state=state, grade_mg_m3=grade, words="")
    return _shape(mark, (0.0, 0.0), scale, look)


def nearest_spacing(places_px: Sequence[tuple[float, float]]) -> float:
    """Return the median distance from a dig to its nearest neighbor [px]."""
    if len(places_px) < 2:
        return float("inf")
    places = np.asarray(places_px, dtype=np.float64)
    distance = np.asarray(cKDTree(places).query(places, k=2)[0])
    return float(np.median(distance[:, 1]))
