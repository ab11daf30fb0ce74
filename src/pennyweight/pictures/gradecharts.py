"""Charts of grades: every dig with its interval, and where the gold adds up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pennyweight.answers.grade import DigGrade, GradeAnswer
from pennyweight.answers.wording import (
    count_words,
    interval_words,
    number_words,
    unit_name,
)
from pennyweight.pictures.gradescale import GradeScale, grade_scale
from pennyweight.pictures.legend import Entry, draw_legend, draw_note
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    haloed,
    path_text,
    text,
    title,
)
from pennyweight.pictures.textwidth import shorten, text_width
from pennyweight.sampling.graded import FAIR_BELOW, GOOD_BELOW
from pennyweight.spread import Spread
from pennyweight.units import to_inside

#: Digs listed at most; the rest is counted.
MOST_ROWS, MOST_ROWS_NARROW = 40, 12
ROW_PX = 17.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LogAxis:
    """A scale of grades on which ten times as much is always as far."""

    low_mg_m3: float
    high_mg_m3: float
    left_px: float
    right_px: float

    def x_px(self, grade_mg_m3: float) -> float:
        """Return a grade in the picture; below the scale at its left end [px]."""
        inside = min(max(grade_mg_m3, self.low_mg_m3), self.high_mg_m3)
        share = math.log(inside / self.low_mg_m3) / math.log(
            self.high_mg_m3 / self.low_mg_m3
        )
        return self.left_px + share * (self.right_px - self.left_px)


def draw_grades_chart(
    grade: GradeAnswer, look: Look, *, cutoff_mg_m3: float | None = None
) -> str:
    """Return the best interval of every dig with its 80 %, the richest first.

    Parameters
    ----------
    grade : GradeAnswer
        Grades of the digs.
    look : Look
        Units, inks, width.
    cutoff_mg_m3 : float, optional
        Drawn as a line [mg/m3 bank].

    Returns
    -------
    str
        SVG text; only a sentence where no dig has a grade.
    """
    label = "Grade of each dig's best interval"
    rows = sorted((one for one in grade.digs if one.grade_mg_m3 is not None), key=_rank)
    if not rows:
        words = "No washed sample has a volume yet, so there is no grade to draw."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="grades")
    most = MOST_ROWS_NARROW if look.narrow else MOST_ROWS
    shown = rows[:most]
    axis = _axis([one.grade_mg_m3 for one in shown if one.grade_mg_m3], look)
    scale = grade_scale(
        (one.grade_mg_m3.p50 for one in rows if one.grade_mg_m3), look.measures
    )
    bottom = 34.0 + ROW_PX * len(shown)
    left_out = len(rows) - len(shown)
    remark = f"{count_words(left_out, 'poorer dig')} left out. " if left_out else ""
    remark += f"{grade.made_at[:10]}."
    line = _cutoff(cutoff_mg_m3, axis, bottom, look)
    foot, end_px = _foot(remark, look, bottom + 4.0, cutoff=line is not None)
    return drawing(
        look,
        end_px + 6.0,
        _grid(axis, bottom, look),
        line,
        *(
            _row(one, 34.0 + ROW_PX * (number + 0.5), axis, scale, look=look)
            for number, one in enumerate(shown)
        ),
        foot,
        label=label,
        desc=_description(shown, look),
        kind="grades",
    )


def _rank(dig: DigGrade) -> float:
    return -dig.grade_mg_m3.p50 if dig.grade_mg_m3 is not None else 0.0


def _axis(grades: list[Spread], look: Look) -> LogAxis:
    high = max(one.p90 for one in grades)
    low = min(max(one.p10, high / 900.0) for one in grades)
    one = to_inside(1.0, look.measures.grade, "grade")
    return LogAxis(
        low_mg_m3=_neat_below(low / one) * one,
        high_mg_m3=high * 1.1,
        left_px=64.0 if look.narrow else 92.0,
        right_px=look.width_px - 18.0,
    )


def _neat_below(value: float) -> float:
    """Return the greatest of 1, 3, 10, 30 ... that is not above a value."""
    power = 10.0 ** math.floor(math.log10(value))
    return 3.0 * power if 3.0 * power <= value else power


def _grid(axis: LogAxis, bottom_px: float, look: Look) -> Markup:
    inks = look.palette
    one = to_inside(1.0, look.measures.grade, "grade")
    first = math.floor(math.log10(axis.low_mg_m3 / one) + 1e-9)
    last = math.floor(math.log10(axis.high_mg_m3 / one))
    ticks = [
        start * 10.0**power for power in range(first, last + 1) for start in (1, 3)
    ]
    inside = (axis.low_mg_m3 * 0.999, axis.high_mg_m3)
    ticks = [tick for tick in ticks if inside[0] <= tick * one <= inside[1]]
    if look.narrow and len(ticks) > 5:
        ticks = ticks[::2]
    drawn = []
    for tick in ticks:
        x_px = axis.x_px(tick * one)
        words = number_words(tick, 1)
        if tick == ticks[-1]:
            words = f"{words} {unit_name(look.measures.grade)}"
        ends = [(x_px, 24.0), (x_px, bottom_px)]
        drawn.append(
            element("path", d=path_text(ends), stroke=inks.faint_ink, stroke_width=0.8)
        )
        half = text_width(words, look.small_px) / 2.0
        x_text = min(x_px, look.width_px - 4.0 - half)
        drawn.append(text(x_text, 17.0, words, text_anchor="middle"))
    return group(*drawn, font_size=look.small_px, fill=inks.soft_ink)


def _cutoff(
    cutoff_mg_m3: float | None, axis: LogAxis, bottom_px: float, look: Look
) -> Markup | None:
    if cutoff_mg_m3 is None or not axis.low_mg_m3 < cutoff_mg_m3 < axis.high_mg_m3:
        return None
    x_px = axis.x_px(cutoff_mg_m3)
    return element(
        "path",
        title("cutoff"),
        d=path_text([(x_px, 24.0), (x_px, bottom_px)]),
        stroke=look.palette.ink,
        stroke_width=1.0,
        stroke_dasharray="4 3",
    )


def _row(
    dig: DigGrade, y_px: float, axis: LogAxis, scale: GradeScale, *, look: Look
) -> Markup | None:
    grade = dig.grade_mg_m3
    if grade is None:
        return None
    inks = look.palette
    low, middle, high = (axis.x_px(one) for one in (grade.p10, grade.p50, grade.p90))
    words = interval_words(grade, "grade", look.measures)
    kind = reliability_of(grade)
    return group(
        title(f"dig {dig.dig}: {words}, {kind} to rely on"),
        text(
            axis.left_px - 12.0,
            y_px + 4.0,
            shorten(dig.dig, look.small_px, axis.left_px - 18.0),
            text_anchor="end",
            font_size=look.small_px,
        ),
        element(
            "path",
            d=path_text([(low, y_px), (high, y_px)]),
            stroke=inks.ink,
            stroke_width=1.6,
            stroke_dasharray={"good": None, "fair": "6 3"}.get(kind, "1.5 3"),
        ),
        element(
            "circle",
            cx=middle,
            cy=y_px,
            r=5.5,
            fill=scale.ink(grade.p50, look),
            stroke=inks.ink,
            stroke_width=1.1,
        ),
        data_dig=dig.dig,
    )


def reliability_of(grade: Spread) -> str:
    """Return good, fair or poor by the width of the interval."""
    half = grade.half_width_share()
    if half < GOOD_BELOW:
        return "good"
    return "fair" if half < FAIR_BELOW else "poor"


def _foot(
    remark: str, look: Look, top_px: float, *, cutoff: bool
) -> tuple[Markup, float]:
    inks = look.palette
    entries = [
        Entry(
            sign=element(
                "path",
                d="M-16 0H16",
                stroke=inks.ink,
                stroke_width=1.6,
                stroke_dasharray=dashes,
            ),
            words=words,
            sign_px=42.0,
        )
        for words, dashes in (
            ("80 %, good to rely on", None),
            ("fair", "6 3"),
            ("poor", "1.5 3"),
        )
    ]
    if cutoff:
        sign = element("path", d="M0 -7V7", stroke=inks.ink, stroke_dasharray="4 3")
        entries.append(Entry(sign=sign, words="cutoff", sign_px=16.0))
    legend, end_px = draw_legend(entries, look, top_px)
    note, end_px = draw_note(remark, look, end_px)
    return group(legend, note), end_px


def _description(shown: list[DigGrade], look: Look) -> str:
    best = shown[0]
    words = ""
    if best.grade_mg_m3 is not None:
        words = interval_words(best.grade_mg_m3, "grade", look.measures)
    return f"{count_words(len(shown), 'dig')}, the richest {best.dig} with {words}."


def draw_cumulative_chart(grade: GradeAnswer, look: Look) -> str:
    """Return how the gold adds up over the digs, the richest first.

    A few digs that hold nearly all of it call for more digs beside them.

    Parameters
    ----------
    grade : GradeAnswer
        Accumulations of the digs.
    look : Look
        Inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where no dig holds gold.
    """
    label = "How the gold adds up over the digs"
    held = sorted(
        (
            (one.accumulation_mg_m2.mean, one.dig)
            for one in grade.digs
            if one.accumulation_mg_m2 is not None
        ),
        reverse=True,
    )
    total = sum(amount for amount, _ in held)
    if total <= 0.0:
        words = "No dig with a grade holds gold, so nothing adds up."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="sum")
    shares = np.cumsum([amount for amount, _ in held]) / total
    half = int(np.searchsorted(shares, 0.5)) + 1
    words = f"Half of the gold found lies in {half} of {count_words(len(held), 'dig')}."
    left, right, top, bottom = 46.0, look.width_px - 16.0, 14.0, 214.0
    step = (right - left) / len(held)
    points = [(left, bottom)] + [
        (left + step * (number + 1), bottom - float(share) * (bottom - top))
        for number, share in enumerate(shares)
    ]
    note, end_px = draw_note(f"{words} {grade.made_at[:10]}.", look, bottom + 24.0)
    return drawing(
        look,
        end_px + 6.0,
        _share_grid((left, right, top, bottom), len(held), look),
        element(
            "path",
            title(words),
            d=path_text(points),
            fill="none",
            stroke=look.palette.gold,
            stroke_width=2.4,
        ),
        _names(held, points, look),
        note,
        label=label,
        desc=words,
        kind="sum",
    )


def _share_grid(
    edges: tuple[float, float, float, float], count: int, look: Look
) -> Markup:
    left, right, top, bottom = edges
    inks = look.palette
    drawn = []
    for share in (0.0, 0.5, 1.0):
        y_px = bottom - share * (bottom - top)
        ends = [(left, y_px), (right, y_px)]
        drawn.append(
            element("path", d=path_text(ends), stroke=inks.faint_ink, stroke_width=0.8)
        )
        drawn.append(text(left - 6.0, y_px + 4.0, f"{share:.0%}", text_anchor="end"))
    drawn.append(text(right, bottom + 16.0, f"{count} digs", text_anchor="end"))
    drawn.append(text(left, bottom + 16.0, "richest first"))
    return group(*drawn, font_size=look.small_px, fill=inks.soft_ink)


def _names(
    held: list[tuple[float, str]], points: list[tuple[float, float]], look: Look
) -> Markup:
    """Return the names of the richest digs beside the curve, as far as they fit."""
    drawn, last_px = [], math.inf
    for (_, dig), (x_px, y_px) in zip(held[:3], points[1:4], strict=False):
        if last_px - y_px < look.small_px * 1.2:
            continue
        last_px = y_px
        drawn.append(
            text(
                x_px + 7.0,
                y_px + 8.0,
                shorten(dig, look.small_px, look.width_px - x_px - 14.0),
                font_size=look.small_px,
                data_dig=dig,
                **haloed(look),
            )
        )
    return group(*drawn)
