"""The plan map: what was dug, what it held, where the streaks run, with doubt.

North is up. Everything that can be pointed at carries the name by which the page
finds it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer, PlacedDig
from pennyweight.answers.nextdigs import NextAnswer, ProposedDig
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import count_words, horizon_name
from pennyweight.answers.worth import WorthAnswer
from pennyweight.pictures.digmarks import (
    DigMark,
    dig_marks,
    draw_mark,
    mark_px,
    marks_scale,
    nearest_spacing,
)
from pennyweight.pictures.features import draw_cut, draw_features, draw_unsampled
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.labels import Box, Label, LabelKeeper, box_around, draw_labels
from pennyweight.pictures.legend import draw_legend, draw_note, hatch
from pennyweight.pictures.mapframe import (
    MapFrame,
    draw_grid,
    fit_frame,
    frame_marks,
    north_arrow,
    scale_bar,
)
from pennyweight.pictures.planlegend import plan_entries
from pennyweight.pictures.relief import draw_relief
from pennyweight.pictures.streakbands import (
    Placer,
    draw_bands,
    draw_joins,
    streak_words,
)
from pennyweight.pictures.streakdoubt import draw_beyond, draw_confluences
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    path_text,
    text,
    title,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What one plan map is drawn from, gathered once."""

    ground: GroundAnswer
    look: Look
    frame: MapFrame
    marks: dict[str, DigMark]
    scale: GradeScale
    trace: TraceAnswer | None
    worth: WorthAnswer | None
    nextdigs: NextAnswer | None

    def place_valley(
        self, s_m: npt.ArrayLike, n_m: npt.ArrayLike
    ) -> list[tuple[float, float]]:
        """Return valley coordinates as places in the picture [px]."""
        line = self.ground.centerline
        if line is None:
            msg = f"{self.ground.name!r} has no centerline; (s, n) has no place."
            raise ValueError(msg)
        return self.frame.to_px(*line.to_map(s_m, n_m))

    def placed(self) -> list[tuple[PlacedDig, float, float]]:
        """Return the digs that have a place, with it [px]."""
        return _placed(self.ground, self.frame)


def draw_plan(
    ground: GroundAnswer,
    look: Look,
    *,
    grade: GradeAnswer | None = None,
    trace: TraceAnswer | None = None,
    worth: WorthAnswer | None = None,
    nextdigs: NextAnswer | None = None,
    around_m: float = 0.0,
) -> str:
    """Return the plan map of a ground.

    Parameters
    ----------
    ground : GroundAnswer
        Digs, lines, features, terrain.
    look : Look
        Units, inks, width.
    grade, trace, worth, nextdigs : answers, optional
        What else to draw: grades, streaks, the cut, the digs proposed.
    around_m : float
        Ground to show around all of it, for drawing on [m].

    Returns
    -------
    str
        SVG text; only a sentence where no dig has a place.
    """
    frame = _frame(ground, look, trace, nextdigs, around_m=around_m)
    if frame is None:
        return _nothing_placed(ground, look)
    marks = dig_marks(ground, grade, look.measures)
    spacing = nearest_spacing([(x, y) for _, x, y in _placed(ground, frame)])
    plan = Plan(
        ground=ground,
        look=look,
        frame=frame,
        marks=marks,
        scale=marks_scale(marks, look.measures).for_spacing(spacing, look),
        trace=trace if ground.centerline is not None else None,
        worth=worth,
        nextdigs=nextdigs,
    )
    body = _draw_map(plan)
    strip, bottom_px = _draw_strip(plan)
    return drawing(
        look,
        bottom_px + 6.0,
        body,
        strip,
        label=f"Plan map of {ground.name}",
        desc=_description(plan),
        kind="plan",
    )


def _placed(
    ground: GroundAnswer, frame: MapFrame
) -> list[tuple[PlacedDig, float, float]]:
    return [
        (dig, *frame.to_px(dig.easting_m, dig.northing_m)[0])
        for dig in ground.digs
        if dig.easting_m is not None and dig.northing_m is not None
    ]


def _frame(
    ground: GroundAnswer,
    look: Look,
    trace: TraceAnswer | None,
    nextdigs: NextAnswer | None,
    *,
    around_m: float,
) -> MapFrame | None:
    east = [dig.easting_m for dig in ground.digs if dig.easting_m is not None]
    north = [dig.northing_m for dig in ground.digs if dig.northing_m is not None]
    if around_m > 0.0 and (not east or not north):
        # Before the first dig what was drawn tells where to draw on.
        parts = [part for one in ground.features for part in one.parts]
        east = [float(place) for part in parts for place in part[:, 0]]
        north = [float(place) for part in parts for place in part[:, 1]]
    if not east or not north:
        return None
    if trace is not None:
        points = [point for streak in trace.streaks for point in streak.path]
        east += [point.easting_m for point in points]
        north += [point.northing_m for point in points]
    if nextdigs is not None:
        east += [dig.easting_m for dig in nextdigs.digs]
        north += [dig.northing_m for dig in nextdigs.digs]
    east += [min(east) - around_m, max(east) + around_m]
    north += [min(north) - around_m, max(north) + around_m]
    return fit_frame(np.array(east), np.array(north), look)


def _nothing_placed(ground: GroundAnswer, look: Look) -> str:
    words = "No dig has a place yet. Give one easting and northing, or tape from a peg."
    note, bottom_px = draw_note(words, look, 8.0)
    return drawing(
        look,
        bottom_px + 8.0,
        note,
        label=f"Plan map of {ground.name}",
        desc=words,
        kind="plan",
    )


def _draw_map(plan: Plan) -> Markup:
    """Return everything inside the frame, from the back to the front."""
    look, frame, ground = plan.look, plan.frame, plan.ground
    keeper = LabelKeeper(frame.box.grown(-3.0))
    keeper.block(Box(frame.width_px - 34.0, 0.0, frame.width_px, 62.0))
    labels: list[Label] = []
    back: list[Markup] = []
    if ground.elevation is not None:
        relief, heights = draw_relief(ground.elevation, frame, look)
        back.append(relief)
        labels += heights
    features, names = draw_features(ground, frame, look)
    labels += names
    back += [features, draw_unsampled(plan.trace, plan.place_valley, look)]
    front: list[Markup] = []
    if plan.trace is not None:
        back.append(draw_beyond(plan.trace, plan.place_valley, look))
        back.append(draw_bands(plan.trace, plan.place_valley, look))
        back.append(draw_confluences(plan.trace.confluences, plan.place_valley, look))
    back.append(_trench_lines(plan))
    if plan.worth is not None:
        back.append(draw_cut(plan.worth, ground, frame, look=look))
    front.append(_digs(plan, keeper))
    if plan.trace is not None:
        rings, boxes = draw_joins(plan.trace, plan.place_valley, look)
        front.append(rings)
        for box in boxes:
            keeper.block(box)
        labels += _streak_labels(plan)
    if plan.nextdigs is not None:
        front.append(_proposed(plan, keeper))
    labels += _line_labels(plan) + _dig_labels(plan)
    inside = look.name("plan-frame")
    return group(
        element(
            "defs",
            hatch(look.name("plan-unsampled"), look),
            element(
                "clipPath",
                element("rect", width=frame.width_px, height=frame.height_px),
                id=inside,
            ),
        ),
        group(*back, clip_path=f"url(#{inside})"),
        draw_grid(frame, look, keeper),
        element("g", **frame_marks(frame, ground.crs)),
        group(*front, clip_path=f"url(#{inside})"),
        *draw_labels(labels, keeper, look, floor=2.0 if look.narrow else 0.0),
        north_arrow(look, frame.width_px - 18.0, 22.0),
        element(
            "rect",
            x=0.5,
            y=0.5,
            width=frame.width_px - 1.0,
            height=frame.height_px - 1.0,
            fill="none",
            stroke=look.palette.ink,
        ),
    )


def _trench_lines(plan: Plan) -> Markup:
    places = {dig.dig: (x, y) for dig, x, y in plan.placed()}
    drawn = []
    for line in plan.ground.lines:
        points = [places[dig] for dig in line.digs if dig in places]
        if len(points) > 1:
            drawn.append(
                element(
                    "path",
                    title(f"line {line.line}"),
                    d=path_text(points),
                    data_line=line.line,
                )
            )
    inks = plan.look.palette
    return group(*drawn, fill="none", stroke=inks.ink, stroke_width=1.0)


def _digs(plan: Plan, keeper: LabelKeeper) -> Markup:
    """Return the marks, the poorest at the back; keep labels off them."""
    drawn = []
    ordered = sorted(plan.placed(), key=lambda one: plan.marks[one[0].dig].grade_mg_m3)
    for dig, x_px, y_px in ordered:
        mark = plan.marks[dig.dig]
        keeper.block(box_around(x_px, y_px, mark_px(mark, plan.scale, plan.look)))
        drawn.append(draw_mark(mark, (x_px, y_px), scale=plan.scale, look=plan.look))
    return group(*drawn)


def _dig_labels(plan: Plan) -> list[Label]:
    """Return dig names, those of the richest first; on a phone only three."""
    rank = sorted(plan.marks.values(), key=lambda one: -one.grade_mg_m3)
    place = {mark.dig: number for number, mark in enumerate(rank)}
    labels = []
    for dig, x_px, y_px in plan.placed():
        mark = plan.marks[dig.dig]
        rich = place[dig.dig] < 3 and mark.state == "gold"
        labels.append(
            Label(
                words=dig.dig,
                x_px=x_px,
                y_px=y_px,
                gap_px=mark_px(mark, plan.scale, plan.look) + 2.5,
                importance=4.0 if rich else 1.5 - 0.001 * place[dig.dig],
                size_px=plan.look.small_px,
                bold=rich,
                ids={"data_dig": dig.dig},
            )
        )
    return labels


def _line_labels(plan: Plan) -> list[Label]:
    places = {dig.dig: (x, y) for dig, x, y in plan.placed()}
    labels = []
    for line in plan.ground.lines:
        points = [places[dig] for dig in line.digs if dig in places]
        if len(points) < 2:
            continue
        out = np.array(points[0]) - np.array(points[-1])
        out = out / max(float(np.hypot(*out)), 1e-6) * 26.0
        x_px, y_px = points[0][0] + float(out[0]), points[0][1] + float(out[1])
        labels.append(
            Label(
                words=f"line {line.line}",
                x_px=x_px,
                y_px=y_px,
                importance=6.0,
                size_px=plan.look.small_px,
                italic=True,
                centered=True,
                ids={"data_line": line.line},
            )
        )
    return labels


def _streak_labels(plan: Plan) -> list[Label]:
    if plan.trace is None:
        return []
    labels = []
    for streak in plan.trace.streaks:
        middle = streak.path[len(streak.path) // 2]
        half = (middle.center_n_m.p90 - middle.center_n_m.p10 + middle.width_m.p50) / 2
        ((x_px, y_px),) = plan.place_valley(middle.s_m, middle.n_m)
        words = f"streak {streak.id}"
        if not plan.look.narrow:
            words = f"{words} · {horizon_name(streak.horizon)}"
        labels.append(
            Label(
                words=words,
                x_px=x_px,
                y_px=y_px,
                gap_px=max(half * plan.frame.px_per_m, 6.0) + 3.0,
                importance=8.0,
                size_px=plan.look.text_px + 1.0,
                ink=plan.look.palette.gold,
                bold=True,
                ids={"data_streak": streak.id},
            )
        )
    return labels


def _proposed(plan: Plan, keeper: LabelKeeper) -> Markup:
    drawn = []
    for dig in reversed(plan.nextdigs.digs if plan.nextdigs else ()):
        ((x_px, y_px),) = plan.frame.to_px(dig.easting_m, dig.northing_m)
        keeper.block(box_around(x_px, y_px, 11.0))
        drawn.append(draw_proposed(dig, (x_px, y_px), plan.look))
    return group(*drawn)


def draw_proposed(dig: ProposedDig, place: tuple[float, float], look: Look) -> Markup:
    """Return the numbered diamond of a dig that is proposed."""
    x_px, y_px = place
    reach = 10.0 if look.narrow else 11.5
    corners = [(0.0, -reach), (reach, 0.0), (0.0, reach), (-reach, 0.0)]
    inks = look.palette
    return group(
        title(f"proposed dig {dig.rank}: {dig.say(look.measures)}"),
        element(
            "path",
            d=path_text([(x_px + x, y_px + y) for x, y in corners], closed=True),
            fill=inks.ink,
            stroke=inks.paper,
            stroke_width=1.5,
        ),
        text(
            x_px,
            y_px + look.small_px * 0.35,
            str(dig.rank),
            text_anchor="middle",
            font_size=look.small_px,
            font_weight="600",
            fill=inks.paper,
        ),
        data_proposed=str(dig.rank),
    )


def _draw_strip(plan: Plan) -> tuple[Markup, float]:
    """Return scale, date and legend under the map, and where they end [px]."""
    look, top = plan.look, plan.frame.height_px
    room_px = 110.0 if look.narrow else 170.0
    place = (14.0, top + 12.0)
    bar, _ = scale_bar(plan.frame.px_per_m, look, place, room_px=room_px)
    stamp = _stamp(plan.ground)
    end = text(
        look.width_px - 12.0,
        top + 22.0,
        stamp,
        text_anchor="end",
        font_size=look.small_px,
        fill=look.palette.soft_ink,
    )
    legend, bottom_px = draw_legend(plan_entries(plan), look, top + 36.0)
    return group(bar, end, legend), bottom_px


def _stamp(ground: GroundAnswer) -> str:
    """Return the date and the coordinate system."""
    crs = ground.crs or "no coordinate system"
    return f"{ground.made_at[:10]} · {crs}"


def _description(plan: Plan) -> str:
    ground = plan.ground
    parts = [
        count_words(len(ground.digs), "dig"),
        f"on {count_words(len(ground.lines), 'line')}, north up.",
    ]
    if plan.trace is not None:
        parts += [f"{streak_words(one).capitalize()}." for one in plan.trace.streaks]
    if plan.nextdigs is not None and plan.nextdigs.digs:
        parts.append(f"{count_words(len(plan.nextdigs.digs), 'dig')} proposed.")
    return " ".join(parts)


__all__ = ["Placer", "Plan", "draw_plan", "draw_proposed"]
