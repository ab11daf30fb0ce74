"""The wall of a trench line, looking downstream, to scale."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer, PlacedDig
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import count_words, quantity_words, unit_name
from pennyweight.pictures.digmarks import dig_marks, marks_scale
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.labels import spread_apart
from pennyweight.pictures.legend import draw_legend, draw_note
from pennyweight.pictures.mapframe import length_ticks, scale_bar, scale_words
from pennyweight.pictures.streakbands import streak_words
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
from pennyweight.pictures.textures import define_textures
from pennyweight.pictures.textwidth import text_width
from pennyweight.pictures.walllegend import wall_entries, wall_textures
from pennyweight.pictures.wallparts import (
    END_PX,
    Column,
    bar_scale,
    draw_column,
    draw_pay,
    draw_samples,
)

#: Exaggerations that a reader can undo in the head.
NEAT_EXAGGERATIONS = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0)

#: Height of the cut itself on a wide and on a narrow picture [px].
CUT_PX, CUT_NARROW_PX = 300.0, 230.0

#: Widest a column is drawn [px].
COLUMN_PX = 40.0

#: Names of streaks over the wall stand at least so far apart, else letters [px].
NAME_ROOM_PX = 64.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WallFrame:
    """Scales of a wall.

    Attributes
    ----------
    to_x_px : callable
        Meters left of the centerline to the picture: left stands left [px].
    top_m : float
        Elevation of the upper edge; 0 where the surface is drawn level [m].
    top_px, px_per_m, exaggeration : float
        Of the vertical scale.
    level : bool
        Whether the surface is drawn level because heights are missing.
    """

    to_x_px: Callable[[float], float]
    top_m: float
    top_px: float
    px_per_m: float
    exaggeration: float
    level: bool

    def to_y_px(self, dig: PlacedDig, depth_m: float) -> float:
        """Return a depth below a dig's surface in the picture [px]."""
        surface_m = 0.0 if self.level else (dig.surface_m or 0.0)
        return self.top_px + (self.top_m - surface_m + depth_m) * self.px_per_m


def draw_wall(
    ground: GroundAnswer,
    grade: GradeAnswer,
    line: str,
    *,
    look: Look,
    trace: TraceAnswer | None = None,
) -> str:
    """Return the wall of one line, looking downstream.

    Parameters
    ----------
    ground, grade : answers
        Digs with their layers, samples with their grades.
    line : str
        Name of the line.
    look : Look
        Units, inks, width.
    trace : TraceAnswer, optional
        Draws where the streaks cross the wall.

    Returns
    -------
    str
        SVG text.

    Raises
    ------
    ValueError
        No dig of that line has a place in the valley.
    """
    digs = digs_on_line(ground, line)
    if not digs:
        msg = f"line {line!r} has 0 digs with a place; a wall needs one at least."
        raise ValueError(msg)
    digs.sort(key=lambda one: -(one.n_m or 0.0))
    frame, columns = lay_out_wall(ground, grade, digs, look=look)
    scale = marks_scale(dig_marks(ground, grade, look.measures), look.measures)
    bottom_px = max(one.to_y_px(one.depth_m()) for one in columns) + END_PX + 24.0
    number = [one.line for one in ground.lines].index(line) if ground.lines else 0
    picture = look.name(f"wall-{number}")
    strip, end_px = _strip(
        columns,
        frame,
        scale,
        bottom_px,
        look=look,
        picture=picture,
        day=ground.made_at[:10],
    )
    px_per_grade = bar_scale(columns, look)
    return drawing(
        look,
        end_px + 6.0,
        define_textures(wall_textures(columns), picture, look),
        draw_depths(frame, bottom_px, look),
        draw_contacts(columns, look),
        _crossings(trace, line, columns, frame, look),
        *(draw_column(one, picture, look) for one in columns),
        *(draw_pay(one, look) for one in columns),
        *(draw_samples(one, scale, px_per_grade, look=look) for one in columns),
        _names(columns, frame, look),
        _ends(columns, bottom_px, look),
        strip,
        label=f"Wall of line {line}, looking downstream",
        desc=_description(line, columns, look),
        kind="wall",
    )


def digs_on_line(ground: GroundAnswer, line: str) -> list[PlacedDig]:
    """Return the digs of a line that have a place in the valley."""
    names = {dig for one in ground.lines if one.line == line for dig in one.digs}
    return [one for one in ground.digs if one.dig in names and one.n_m is not None]


def lay_out_wall(
    ground: GroundAnswer, grade: GradeAnswer, digs: list[PlacedDig], *, look: Look
) -> tuple[WallFrame, list[Column]]:
    """Return the scales of a wall and its columns, from the left bank to the right."""
    lefts = [dig.n_m or 0.0 for dig in digs]
    margin = 38.0 if look.narrow else 56.0
    inner = look.width_px - margin - 14.0
    gap_px = inner / len(digs)
    column_px = min(COLUMN_PX, gap_px * 0.36)
    wide_m = max(lefts[0] - lefts[-1], 4.0)
    across = (inner - gap_px) / wide_m if len(digs) > 1 else inner / wide_m / 2.0
    start = margin + column_px / 2.0 + 10.0

    def to_x_px(n_m: float) -> float:
        return start + (lefts[0] - n_m) * across

    middles = spread_apart([to_x_px(one) for one in lefts], column_px * 2.1)
    over = max(middles[-1] + gap_px * 0.6 - look.width_px, 0.0)
    middles = [
        one - over * (i / max(len(digs) - 1, 1)) for i, one in enumerate(middles)
    ]
    frame = _vertical(ground, digs, across, to_x_px, look)
    columns = []
    for number, dig in enumerate(digs):
        right = middles[number] + column_px / 2.0
        edge = (
            middles[number + 1] - column_px / 2.0 - 14.0
            if number + 1 < len(digs)
            else look.width_px - 8.0
        )
        columns.append(
            Column(
                dig=dig,
                grade=next((one for one in grade.digs if one.dig == dig.dig), None),
                layers=tuple(one for one in ground.layers if one.dig == dig.dig),
                samples=tuple(one for one in grade.samples if one.dig == dig.dig),
                left_px=middles[number] - column_px / 2.0,
                right_px=right,
                to_y_px=partial(frame.to_y_px, dig),
                room_px=min(max(edge - right, 8.0), 120.0),
            )
        )
    return frame, columns


def _vertical(
    ground: GroundAnswer,
    digs: list[PlacedDig],
    across_px_per_m: float,
    to_x_px: Callable[[float], float],
    look: Look,
) -> WallFrame:
    level = any(dig.surface_m is None for dig in digs)
    tops = [0.0 if level else (dig.surface_m or 0.0) for dig in digs]
    names = {dig.dig for dig in digs}
    depths = {dig.dig: dig.bottom_m or 0.5 for dig in digs}
    for layer in ground.layers:
        if layer.dig in names:
            depths[layer.dig] = max(depths[layer.dig], layer.bottom_m)
    low = min(top - depths[dig.dig] for top, dig in zip(tops, digs, strict=True))
    deep_m = max(max(tops) - low, 0.3)
    wanted = (CUT_NARROW_PX if look.narrow else CUT_PX) / deep_m / across_px_per_m
    exaggeration = next((one for one in NEAT_EXAGGERATIONS if one <= wanted), 1.0)
    return WallFrame(
        to_x_px=to_x_px,
        top_m=max(tops),
        top_px=64.0,
        px_per_m=across_px_per_m * exaggeration,
        exaggeration=exaggeration,
        level=level,
    )


def draw_depths(frame: WallFrame, bottom_px: float, look: Look) -> Markup:
    """Return the scale of depth or elevation at the left, with hairlines."""
    high = frame.top_m
    low = high - (bottom_px - END_PX - 14.0 - frame.top_px) / frame.px_per_m
    if frame.level:
        ticks = length_ticks(0.0, high - low, wanted=5.0, measures=look.measures)
        shown = [(-depth, words) for depth, words in ticks]
        what = "depth"
    else:
        shown = length_ticks(low, high, wanted=5.0, measures=look.measures)
        what = "height"
    inks = look.palette
    right = 30.0 if look.narrow else 44.0
    drawn = []
    for place, words in shown:
        y_px = frame.top_px + (high - place) * frame.px_per_m
        drawn.append(
            element(
                "path",
                d=path_text([(right + 4.0, y_px), (look.width_px - 6.0, y_px)]),
                stroke=inks.faint_ink,
                stroke_width=0.6,
            )
        )
        drawn.append(
            text(
                right,
                y_px + look.small_px * 0.34,
                words,
                text_anchor="end",
                font_size=look.small_px,
                fill=inks.soft_ink,
            )
        )
    unit = unit_name(look.measures.length)
    head = text(
        4.0,
        frame.top_px - 42.0,
        f"{what}, {unit}",
        font_size=look.small_px,
        fill=inks.soft_ink,
    )
    return group(*drawn, head)


def draw_contacts(columns: list[Column], look: Look) -> Markup:
    """Return surface and bedrock from dig to dig; bedrock dashed, as inferred."""
    inks = look.palette
    surface = [
        place
        for one in columns
        for place in ((one.left_px, one.to_y_px(0.0)), (one.right_px, one.to_y_px(0.0)))
    ]
    rock = [one for one in columns if "bedrock" in (one.dig.stopped_by or "")]
    drawn = [
        element("path", d=path_text(surface), stroke=inks.ink, stroke_width=1.3),
    ]
    for one, other in pairwise(rock):
        ends = [
            (one.right_px, one.to_y_px(one.depth_m())),
            (other.left_px, other.to_y_px(other.depth_m())),
        ]
        drawn.append(
            element(
                "path",
                title("bedrock between digs: inferred, not seen"),
                d=path_text(ends),
                stroke=inks.soft_ink,
                stroke_width=1.2,
                stroke_dasharray="5 4",
            )
        )
    return group(*drawn, fill="none")


def _crossings(
    trace: TraceAnswer | None,
    line: str,
    columns: list[Column],
    frame: WallFrame,
    look: Look,
) -> Markup:
    """Return where the streaks cross this wall, as wide as their 80 %."""
    if trace is None:
        return Markup("")
    gold, edge = look.palette.gold, 36.0 if look.narrow else 50.0
    drawn: list[Markup] = []
    named_px: list[float] = []
    for streak in trace.streaks:
        for point in (one for one in streak.path if one.line == line):
            half = point.width_m.p50 / 2.0
            left = max(frame.to_x_px(point.center_n_m.p90 + half), edge)
            right = min(frame.to_x_px(point.center_n_m.p10 - half), look.width_px - 6.0)
            if left >= right:
                continue
            near = min(columns, key=lambda one: abs(one.middle_px - (left + right) / 2))
            if point.top_m is None or point.thickness_m is None:
                continue
            top = near.to_y_px(point.top_m.p50)
            bottom = near.to_y_px(point.top_m.p50 + point.thickness_m.p50)
            drawn.append(
                element(
                    "rect",
                    title(streak_words(streak)),
                    x=left,
                    y=top,
                    width=max(right - left, 1.0),
                    height=max(bottom - top, 1.0),
                    fill=gold,
                    fill_opacity=0.1 + 0.35 * point.probability,
                    data_streak=streak.id,
                )
            )
            at_px = (left + right) / 2.0
            crowded = any(abs(at_px - other) < NAME_ROOM_PX for other in named_px)
            words = streak.id if crowded else f"streak {streak.id}"
            drawn.append(_crossing_name(streak.id, words, (at_px, top), look))
            named_px.append(at_px)
    return group(*drawn)


def _crossing_name(
    name: str, words: str, place: tuple[float, float], look: Look
) -> Markup:
    """Return a streak's name over the wall, with a thread down to its band."""
    gold = look.palette.gold
    x_px, top_px = place
    return group(
        element(
            "path",
            d=path_text([(x_px, 22.0), (x_px, top_px)]),
            stroke=gold,
            stroke_width=0.9,
            stroke_dasharray="1 3",
        ),
        text(
            x_px,
            16.0,
            words,
            text_anchor="middle",
            font_size=look.text_px + 2.0,
            font_weight="600",
            fill=gold,
        ),
        data_streak=name,
    )


def _names(columns: list[Column], frame: WallFrame, look: Look) -> Markup:
    """Return dig names above the surface and what stopped each below, if room."""
    gap = min(
        (b.middle_px - a.middle_px for a, b in pairwise(columns)),
        default=200.0,
    )
    drawn = []
    for one in columns:
        top, bottom = one.to_y_px(0.0), one.to_y_px(one.depth_m())
        drawn.append(_name(one.dig.dig, (one.middle_px, top - 7.0), gap, look))
        stopped = one.dig.stopped_by or "end not said"
        if not look.narrow or stopped == "water":
            place = (one.middle_px, bottom + END_PX + look.small_px + 2.0)
            drawn.append(_under(stopped, place, gap, look))
    return group(*(one for one in drawn if one is not None))


def _name(
    words: str, place: tuple[float, float], room_px: float, look: Look
) -> Markup | None:
    """Return a dig's name over its column, if it has room."""
    if text_width(words, look.text_px, bold=True) > room_px - 4.0:
        return None
    x_px, y_px = place
    return text(
        x_px,
        y_px,
        words,
        text_anchor="middle",
        font_size=look.text_px,
        font_weight="600",
        **haloed(look),
    )


def _under(
    words: str, place: tuple[float, float], room_px: float, look: Look
) -> Markup | None:
    """Return what stopped a dig, under its column, if it has room."""
    if text_width(words, look.small_px) > room_px - 4.0:
        return None
    x_px, y_px = place
    return text(
        x_px,
        y_px,
        words,
        text_anchor="middle",
        font_size=look.small_px,
        fill=look.palette.soft_ink,
        **haloed(look),
    )


def _ends(columns: list[Column], bottom_px: float, look: Look) -> Markup:
    """Return which bank stands at which end."""
    words = ("left bank", "looking downstream", "right bank")
    places = (columns[0].left_px, look.width_px / 2.0, look.width_px - 10.0)
    anchors = ("start", "middle", "end")
    return group(
        *(
            text(x_px, bottom_px + 6.0, word, text_anchor=anchor)
            for word, x_px, anchor in zip(words, places, anchors, strict=True)
        ),
        font_size=look.small_px,
        font_style="italic",
        fill=look.palette.soft_ink,
    )


def _strip(
    columns: list[Column],
    frame: WallFrame,
    scale: GradeScale,
    bottom_px: float,
    *,
    look: Look,
    picture: str,
    day: str,
) -> tuple[Markup, float]:
    """Return scale, exaggeration and legend under the wall, and where they end."""
    across = abs(frame.to_x_px(0.0) - frame.to_x_px(1.0))
    bar, right = scale_bar(across, look, (16.0, bottom_px + 20.0), room_px=130.0)
    times = scale_words("heights", "widths", frame.exaggeration)
    if frame.level:
        times += "; surface drawn level, no heights known"
    times = f"{times} · {day}"
    if look.narrow:
        note, end_px = draw_note(times, look, bottom_px + 44.0)
    else:
        note, end_px = draw_note(times, look, bottom_px + 18.0, left_px=right + 22.0)
    entries = wall_entries(
        columns, scale, bar_scale(columns, look), look=look, picture=picture
    )
    legend, end_px = draw_legend(entries, look, max(end_px, bottom_px + 44.0))
    return group(bar, note, legend), end_px


def _description(line: str, columns: list[Column], look: Look) -> str:
    parts = [f"{count_words(len(columns), 'dig')} of line {line}, left bank first."]
    for one in columns:
        deep = quantity_words(one.depth_m(), "length", look.measures)
        stopped = one.dig.stopped_by or "an end that was not said"
        parts.append(f"Dig {one.dig.dig}: {deep} deep, stopped by {stopped}.")
    return " ".join(parts)
