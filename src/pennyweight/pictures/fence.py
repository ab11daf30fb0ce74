"""The fence: all walls in order downstream, the streaks running between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from pennyweight.answers.grade import GradeAnswer, SampleGrade
from pennyweight.answers.ground import GroundAnswer, LineOfDigs, PlacedDig
from pennyweight.answers.trace import Link, PathPoint, Streak, TraceAnswer
from pennyweight.answers.wording import count_words, percent_words, quantity_words
from pennyweight.pictures.digmarks import dig_marks, marks_scale
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.labels import spread_apart
from pennyweight.pictures.legend import Entry, draw_legend, draw_note
from pennyweight.pictures.lines import count_left_out, whole_lines
from pennyweight.pictures.mapframe import neat_step, scale_bar, scale_words
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
from pennyweight.pictures.wallparts import sample_words
from pennyweight.spread import probability_word
from pennyweight.units import to_inside

#: Height of a line's deepest dig, and from one line's surface to the next [px].
DEEP_PX, DEEP_NARROW_PX = 62.0, 44.0
BETWEEN_PX = 44.0

#: Room for the name of a dig [px].
NAME_PX = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fence:
    """Scales of a fence, and the digs of its lines.

    Attributes
    ----------
    rows : tuple
        Line and its placed digs, downstream.
    left_n_m : float
        Offset at the left edge [m].
    left_px, n_px_per_m, z_px_per_m, row_px : float
        Where the edge stands, and the scales [px].
    """

    rows: tuple[tuple[LineOfDigs, tuple[PlacedDig, ...]], ...]
    left_n_m: float
    left_px: float
    n_px_per_m: float
    z_px_per_m: float
    row_px: float

    def x_px(self, n_m: float) -> float:
        """Return an offset in the picture: the left bank stands left [px]."""
        return self.left_px + (self.left_n_m - n_m) * self.n_px_per_m

    def y_px(self, row: int, depth_m: float = 0.0) -> float:
        """Return a depth below the surface of a line in the picture [px]."""
        return 44.0 + row * self.row_px + depth_m * self.z_px_per_m

    @property
    def roomy(self) -> bool:
        """Whether digs stand far enough apart to be named."""
        offsets = [sorted(dig.n_m or 0.0 for dig in digs) for _, digs in self.rows]
        gaps = [b - a for row in offsets for a, b in pairwise(row)]
        return min(gaps, default=1.0) * self.n_px_per_m > NAME_PX

    @property
    def bottom_px(self) -> float:
        """Below the last line [px]."""
        return self.y_px(len(self.rows) - 1) + self.row_px - BETWEEN_PX + 14.0


def draw_fence(
    ground: GroundAnswer,
    grade: GradeAnswer,
    *,
    look: Look,
    trace: TraceAnswer | None = None,
) -> str:
    """Return all lines, one below the other downstream, surfaces drawn level.

    Parameters
    ----------
    ground, grade : answers
        Lines, digs and samples.
    look : Look
        Units, inks, width.
    trace : TraceAnswer, optional
        Streaks, drawn from line to line as wide as their 80 %.

    Returns
    -------
    str
        SVG text; only a sentence where no line has a place.
    """
    label = f"Fence of the walls of {ground.name}, downstream"
    fence = _lay_out(ground, look)
    if fence is None:
        words = "No line has a place in the valley yet, so there is no fence."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="fence")
    scale = marks_scale(dig_marks(ground, grade, look.measures), look.measures)
    foot, end_px = _foot(fence, scale, trace, look, _remark(fence, ground))
    return drawing(
        look,
        end_px + 6.0,
        _ribbons(fence, trace, look),
        *(
            _row(fence, number, grade, scale, look=look)
            for number in range(len(fence.rows))
        ),
        _ends(fence, look),
        foot,
        label=label,
        desc=_description(fence, look),
        kind="fence",
    )


def _lay_out(ground: GroundAnswer, look: Look) -> Fence | None:
    rows = whole_lines(ground)
    if not rows:
        return None
    offsets = [dig.n_m or 0.0 for _, digs in rows for dig in digs]
    deepest = max(
        (dig.bottom_m or 0.0 for _, digs in rows for dig in digs), default=0.0
    )
    deep_px = DEEP_NARROW_PX if look.narrow else DEEP_PX
    left_px = 40.0 if look.narrow else 108.0
    wide_m = max(max(offsets) - min(offsets), 4.0)
    margin_px = 10.0 if look.narrow else 24.0
    return Fence(
        rows=tuple(rows),
        left_n_m=max(offsets),
        left_px=left_px + margin_px,
        n_px_per_m=(look.width_px - left_px - 2.0 * margin_px - 6.0) / wide_m,
        z_px_per_m=deep_px / max(deepest, 0.5),
        row_px=deep_px + BETWEEN_PX,
    )


def _row(
    fence: Fence, number: int, grade: GradeAnswer, scale: GradeScale, *, look: Look
) -> Markup:
    """Return one line: its surface, and each dig shaded by grade where sampled."""
    line, digs = fence.rows[number]
    inks, y_px = look.palette, fence.y_px(number)
    ordered = sorted(digs, key=lambda one: -(one.n_m or 0.0))
    wide_px = 9.0 if look.narrow else 15.0
    places = spread_apart(
        [fence.x_px(one.n_m or 0.0) for one in ordered], wide_px + 3.0
    )
    surface = [(places[0] - wide_px, y_px), (places[-1] + wide_px, y_px)]
    columns = [
        _column(
            dig,
            (x_px, wide_px),
            fence,
            number,
            samples=grade.samples,
            scale=scale,
            look=look,
        )
        for dig, x_px in zip(ordered, places, strict=True)
    ]
    words = line.line if look.narrow else f"line {line.line}"
    words = shorten(
        words, look.text_px * 1.04, min(fence.left_px, surface[0][0]) - 14.0
    )
    along = quantity_words(line.s_m, "length", look.measures, figures=3)
    return group(
        element("path", d=path_text(surface), stroke=inks.ink, stroke_width=1.3),
        *columns,
        text(6.0, y_px + 5.0, words, font_weight="600", **haloed(look)),
        None
        if look.narrow
        else text(
            6.0,
            y_px + 20.0,
            f"at {along}",
            font_size=look.small_px,
            fill=inks.soft_ink,
        ),
        data_line=line.line,
    )


def _column(
    dig: PlacedDig,
    across: tuple[float, float],
    fence: Fence,
    row: int,
    *,
    samples: Sequence[SampleGrade],
    scale: GradeScale,
    look: Look,
) -> Markup:
    x_px, wide_px = across
    inks = look.palette
    top, bottom = fence.y_px(row), fence.y_px(row, dig.bottom_m or 0.0)
    own = [
        one
        for one in samples
        if one.dig == dig.dig and one.top_m is not None and one.bottom_m is not None
    ]
    stopped = (dig.stopped_by or "").lower()
    named = text_width(dig.dig, look.small_px - 0.5) < NAME_PX and not look.narrow
    foot = path_text([(x_px - wide_px / 2.0, bottom), (x_px + wide_px / 2.0, bottom)])
    return group(
        title(f"dig {dig.dig}, stopped by {dig.stopped_by or 'an end not said'}"),
        element(
            "path", d=path_text([(x_px, top), (x_px, bottom)]), stroke=inks.soft_ink
        ),
        *(
            _interval(
                one, (x_px - wide_px / 2.0, wide_px), fence, row, scale=scale, look=look
            )
            for one in own
        ),
        element(
            "path",
            d=foot,
            stroke=inks.water_ink if "water" in stopped else inks.ink,
            stroke_width=2.6 if "bedrock" in stopped else 1.2,
            stroke_dasharray=None if "bedrock" in stopped else "2 2",
        ),
        text(
            x_px,
            top - 5.0,
            dig.dig,
            text_anchor="middle",
            font_size=look.small_px - 0.5,
            fill=look.palette.soft_ink,
            **haloed(look),
        )
        if named and fence.roomy
        else None,
        data_dig=dig.dig,
    )


def _interval(
    sample: SampleGrade,
    across: tuple[float, float],
    fence: Fence,
    row: int,
    *,
    scale: GradeScale,
    look: Look,
) -> Markup:
    inks = look.palette
    top = fence.y_px(row, sample.top_m or 0.0)
    bottom = fence.y_px(row, sample.bottom_m or 0.0)
    grade = sample.grade_mg_m3
    fill = inks.paper
    if grade is not None and sample.colors != 0:
        fill = scale.ink(grade.p50, look)
    return element(
        "rect",
        title(sample_words(sample, look)),
        x=across[0],
        y=top,
        width=across[1],
        height=max(bottom - top, 1.0),
        fill=fill,
        stroke=inks.ink,
        stroke_width=0.8,
        stroke_dasharray="1.5 2" if grade is None else None,
        data_sample=sample.sample,
    )


def _ribbons(fence: Fence, trace: TraceAnswer | None, look: Look) -> Markup:
    """Return each link as a ribbon from wall to wall, denser where more probable."""
    if trace is None:
        return Markup("")
    rows = {line.line: number for number, (line, _) in enumerate(fence.rows)}
    drawn = []
    for streak in trace.streaks:
        links = [
            link
            for link in streak.links
            if {link.from_line, link.to_line} <= rows.keys()
        ]
        if not links or not streak.path:
            continue
        ribbons = [_ribbon(streak, link, fence, rows) for link in links]
        drawn.append(group(*ribbons, _letter(streak, links[0], fence, rows, look=look)))
    return group(*drawn, fill=look.palette.gold)


def _link_ends(streak: Streak, link: Link) -> tuple[PathPoint, PathPoint]:
    """Return the streak at both lines; where it merges before one, its own end."""
    at = {point.line: point for point in streak.path if point.line}
    return (
        at.get(link.from_line, streak.path[0]),
        at.get(link.to_line, streak.path[-1]),
    )


def _ribbon(streak: Streak, link: Link, fence: Fence, rows: dict[str, int]) -> Markup:
    edges = []
    lines = (link.from_line, link.to_line)
    for line, point in zip(lines, _link_ends(streak, link), strict=True):
        depth = 0.0
        if point.top_m is not None and point.thickness_m is not None:
            depth = point.top_m.p50 + point.thickness_m.p50 / 2.0
        half = point.width_m.p50 / 2.0
        y_px = fence.y_px(rows[line], depth)
        edges.append(
            (
                (fence.x_px(point.center_n_m.p90 + half), y_px),
                (fence.x_px(point.center_n_m.p10 - half), y_px),
            )
        )
    (a, b), (c, d) = edges
    words = (
        f"streak {streak.id}, line {link.from_line} to {link.to_line}: "
        f"{probability_word(link.probability)} ({percent_words(link.probability)})"
    )
    return element(
        "path",
        title(words),
        d=path_text([a, b, d, c], closed=True),
        fill_opacity=0.08 + 0.40 * link.probability,
        data_streak=streak.id,
    )


def _letter(
    streak: Streak, link: Link, fence: Fence, rows: dict[str, int], *, look: Look
) -> Markup:
    """Return a streak's letter in the gap below the first line that it leaves."""
    first, last = _link_ends(streak, link)
    x_px = fence.x_px(first.n_m * 0.62 + last.n_m * 0.38)
    y_px = fence.y_px(rows[link.from_line]) + fence.row_px - BETWEEN_PX * 0.42
    return text(
        x_px,
        y_px,
        f"streak {streak.id}",
        text_anchor="middle",
        font_size=look.text_px + 2.0,
        font_weight="600",
        **haloed(look),
    )


def _ends(fence: Fence, look: Look) -> Markup:
    return group(
        text(fence.left_px - 6.0, 16.0, "left bank"),
        text(look.width_px - 8.0, 16.0, "right bank", text_anchor="end"),
        text(6.0, 16.0, "\u2193" if look.narrow else "downstream \u2193"),
        font_size=look.small_px,
        font_style="italic",
        fill=look.palette.soft_ink,
    )


def _remark(fence: Fence, ground: GroundAnswer) -> str:
    ratio = fence.z_px_per_m / fence.n_px_per_m
    words = scale_words("depths", "widths", ratio) + "; surfaces drawn level"
    left_out = count_left_out(ground)
    if left_out:
        words += f"; {count_words(left_out, 'single dig')} left out"
    return f"{words} · {ground.made_at[:10]}"


def _foot(
    fence: Fence,
    scale: GradeScale,
    trace: TraceAnswer | None,
    look: Look,
    remark: str,
) -> tuple[Markup, float]:
    """Return scales and legend under the fence, and where they end [px]."""
    top = fence.bottom_px + 8.0
    bar, right = scale_bar(fence.n_px_per_m, look, (16.0, top), room_px=110.0)
    tall, tall_end, tall_px = _depth_bar(fence, look, (right + 26.0, top))
    if look.narrow:
        note, end_px = draw_note(remark, look, max(top + 24.0, tall_px - 2.0))
    else:
        note, end_px = draw_note(remark, look, top - 4.0, left_px=tall_end + 26.0)
    inks = look.palette
    steps = scale.words(look.measures)
    entries = [
        Entry(sign=_box(inks.ramp[step], look, None), words=steps[step], sign_px=22.0)
        for step in range(5)
    ]
    entries += [
        Entry(sign=_box(inks.paper, look, None), words="no colors", sign_px=22.0),
        Entry(
            sign=_box(inks.paper, look, "1.5 2"), words="not washed yet", sign_px=22.0
        ),
    ]
    if trace is not None and trace.streaks:
        sign = element(
            "rect",
            x=-10.0,
            y=-7.0,
            width=20.0,
            height=14.0,
            fill=inks.gold,
            fill_opacity=0.4,
        )
        entries.append(
            Entry(sign=sign, words="streak (80 %), denser = more probable link")
        )
    legend, end_px = draw_legend(entries, look, max(end_px, tall_px + 4.0))
    return group(bar, tall, note, legend), end_px


def _depth_bar(
    fence: Fence, look: Look, place: tuple[float, float]
) -> tuple[Markup, float, float]:
    """Return an upright bar of a round depth, its right and its lower end [px]."""
    one_m = to_inside(1.0, look.measures.length, "length")
    depth_m = neat_step(20.0 / fence.z_px_per_m / one_m, 1.0) * one_m
    high = depth_m * fence.z_px_per_m
    x_px, y_px = place
    bar = f"M{x_px - 3:.1f} {y_px:.1f}h6m-3 0v{high:.1f}m-3 0h6"
    words = quantity_words(depth_m, "length", look.measures)
    drawn = group(
        element("path", d=bar, stroke=look.palette.ink, stroke_width=1.3, fill="none"),
        text(x_px + 7.0, y_px + high / 2.0 + 4.0, words, font_size=look.small_px),
    )
    return drawn, x_px + 40.0, max(y_px + high, y_px + 18.0)


def _box(fill: str, look: Look, dashes: str | None) -> Markup:
    return element(
        "rect",
        x=-6.0,
        y=-7.0,
        width=12.0,
        height=14.0,
        fill=fill,
        stroke=look.palette.ink,
        stroke_width=0.8,
        stroke_dasharray=dashes,
    )


def _description(fence: Fence, look: Look) -> str:
    steps = [
        quantity_words(b.s_m - a.s_m, "length", look.measures)
        for (a, _), (b, _) in pairwise(fence.rows)
    ]
    names = ", ".join(line.line for line, _ in fence.rows)
    apart = f" They lie {', '.join(steps)} apart." if steps else ""
    return f"Lines {names}, in order downstream.{apart}"
