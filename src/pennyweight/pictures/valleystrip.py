"""The straightened valley: where pay is probable, downstream against left and right.

On a wide picture the valley runs from left to right, on a narrow one from top to
bottom; left bank and right bank are those of someone looking downstream.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import contourpy
import numpy as np
import numpy.typing as npt

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import horizon_words, quantity_words
from pennyweight.pictures.digmarks import (
    DigMark,
    dig_marks,
    draw_mark,
    mark_px,
    marks_scale,
    nearest_spacing,
)
from pennyweight.pictures.features import sampled_edges
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.labels import Box, Label, LabelKeeper, box_around, draw_labels
from pennyweight.pictures.legend import Entry, draw_legend, draw_note, hatch
from pennyweight.pictures.mapframe import scale_words
from pennyweight.pictures.planlegend import grade_entries, merge_entry, unsampled_entry
from pennyweight.pictures.streakbands import draw_joins, draw_middles, ring_px
from pennyweight.pictures.streakdoubt import confluence_entry, draw_confluences
from pennyweight.pictures.stripaxes import NAME_PX, draw_axes
from pennyweight.pictures.striplayout import Strip, lay_out_strips, shown_fields
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    number_text,
    path_text,
    title,
)
from pennyweight.spread import PROBABILITY_WORDS

FloatArray = npt.NDArray[np.float64]

#: Bounds of the words for a probability, lowest first; each adds a layer of gold.
LEVELS = tuple(sorted(above for above, _ in PROBABILITY_WORDS if above > 0.0))
LAYER_OPACITY = 0.125


def draw_valley_strip(
    ground: GroundAnswer,
    trace: TraceAnswer,
    *,
    look: Look,
    grade: GradeAnswer | None = None,
) -> str:
    """Return the straightened valley, one strip for each horizon that may pay.

    Parameters
    ----------
    ground, trace : answers
        Digs and lines; fields, streaks, merges, hand joins.
    look : Look
        Units, inks, width.
    grade : GradeAnswer, optional
        Sizes and shades the digs.

    Returns
    -------
    str
        SVG text; only a sentence where no field was worked out.
    """
    label = f"Straightened valley of {ground.name}"
    fields = shown_fields(trace)
    if not fields or trace.area is None:
        words = "No field could be worked out: no dig with a grade has a place yet."
        note, bottom_px = draw_note(words, look, 8.0)
        return drawing(
            look, bottom_px + 8.0, note, label=label, desc=words, kind="valleystrip"
        )
    strips = lay_out_strips(fields, trace.area, look)
    marks = dig_marks(ground, grade, look.measures)
    places = [
        strips[0].place(one.s_m, one.n_m or 0.0)[0]
        for one in ground.digs
        if one.s_m is not None
    ]
    scale = marks_scale(marks, look.measures)
    scale = scale.for_spacing(nearest_spacing(places), look)
    bottom_px = max(strip.box.bottom for strip in strips)
    foot, end_px = _foot(strips[0], trace, marks, scale, look=look, top_px=bottom_px)
    return drawing(
        look,
        end_px + 6.0,
        element("defs", hatch(look.name("valleystrip-unsampled"), look)),
        *(
            _draw_strip(strip, ground, trace, marks, scale=scale, look=look)
            for strip in strips
        ),
        foot,
        label=label,
        desc=_description(strips, trace, look),
        kind="valleystrip",
    )


def _draw_strip(
    strip: Strip,
    ground: GroundAnswer,
    trace: TraceAnswer,
    marks: dict[str, DigMark],
    *,
    scale: GradeScale,
    look: Look,
) -> Markup:
    """Return one strip: probability, hatch, lines, digs, streaks, joins."""
    box = strip.box
    keeper = LabelKeeper(box.grown(-2.0))
    if strip.upright:
        keeper.block(Box(box.right - NAME_PX - 6.0, box.top, box.right, box.bottom))
    own = [one for one in trace.streaks if one.horizon == strip.field.horizon]
    names = {one.id for one in own}
    here = [one for one in trace.merges if one.into in names]
    pairs = [one for one in trace.confluences if names.issuperset(one.streaks)]
    digs, labels = _draw_digs(strip, ground, marks, scale, look=look, keeper=keeper)
    rings, boxes = draw_joins(trace, strip.place, look, only=here)
    for taken in boxes:
        keeper.block(taken)
    labels += _streak_labels(strip, trace, look)
    return group(
        _probability(strip, look),
        _unsampled(strip, look),
        _hand_joins(strip, trace, look),
        *(draw_middles(one, strip.place, look) for one in own),
        draw_confluences(pairs, strip.place, look),
        digs,
        rings,
        *draw_labels(labels, keeper, look),
        draw_axes(strip, ground, look),
        data_horizon=strip.field.horizon,
    )


def _probability(strip: Strip, look: Look) -> Markup:
    """Return a layer of gold for every word of the probability scale."""
    field = strip.field
    if min(field.probability_above.shape) < 2:
        return Markup("")
    drawer = contourpy.contour_generator(
        field.s_m,
        field.n_m,
        field.probability_above.T,
        fill_type=contourpy.FillType.OuterOffset,
    )
    layers = []
    for level in LEVELS:
        filled: Any = drawer.filled(level, 2.0)
        points, offsets = filled
        rings = [
            path_text(strip.place(*part[start:end].T), closed=True)
            for part, cuts in zip(points, offsets, strict=True)
            for start, end in pairwise(cuts)
        ]
        if rings:
            layers.append(element("path", d="".join(rings), data_level=f"{level:g}"))
    return group(
        title(f"probability of pay {horizon_words(field.horizon)}"),
        *layers,
        fill=look.palette.gold,
        fill_opacity=LAYER_OPACITY,
        fill_rule="evenodd",
    )


def _unsampled(strip: Strip, look: Look) -> Markup:
    box = strip.box
    outer = path_text(
        [
            (box.left, box.top),
            (box.right, box.top),
            (box.right, box.bottom),
            (box.left, box.bottom),
        ],
        closed=True,
    )
    edges = sampled_edges(strip.field)
    inner = ""
    if edges is not None:
        s_m, left, right = edges
        inner = path_text(
            [*strip.place(s_m, left), *strip.place(s_m, right)[::-1]], closed=True
        )
    return element(
        "path",
        title("never sampled"),
        d=outer + inner,
        fill=f"url(#{look.name('valleystrip-unsampled')})",
        fill_rule="evenodd",
    )


def _hand_joins(strip: Strip, trace: TraceAnswer, look: Look) -> Markup:
    return group(
        *(
            element(
                "path",
                title(f"joined by hand: {one.from_dig} to {one.to_dig}"),
                d=path_text(strip.place(one.s_m, one.n_m)),
            )
            for one in trace.hand_joins
            if one.horizon == strip.field.horizon
        ),
        fill="none",
        stroke=look.palette.ink,
        stroke_width=1.0,
        stroke_dasharray="2 3",
        data_role="hand-joins",
    )


def _draw_digs(
    strip: Strip,
    ground: GroundAnswer,
    marks: dict[str, DigMark],
    scale: GradeScale,
    *,
    look: Look,
    keeper: LabelKeeper,
) -> tuple[Markup, list[Label]]:
    """Return lines and digs; keep labels off them, and name the richest."""
    drawn, labels = [], []
    places = {}
    for dig in ground.digs:
        if dig.s_m is None or dig.n_m is None:
            continue
        ((x_px, y_px),) = strip.place(dig.s_m, dig.n_m)
        if not strip.box.holds(Box(x_px, y_px, x_px, y_px)):
            continue
        mark = marks[dig.dig]
        places[dig.dig] = (x_px, y_px)
        reach = mark_px(mark, scale, look)
        keeper.block(box_around(x_px, y_px, reach))
        drawn.append(draw_mark(mark, (x_px, y_px), scale=scale, look=look))
        labels.append(
            Label(
                words=dig.dig,
                x_px=x_px,
                y_px=y_px,
                gap_px=reach + 2.0,
                importance=1.0 + scale.step(mark.grade_mg_m3),
                size_px=look.small_px - 0.5,
                ids={"data_dig": dig.dig},
            )
        )
    lines = [
        element(
            "path", d=path_text([places[dig] for dig in line.digs if dig in places])
        )
        for line in ground.lines
        if sum(dig in places for dig in line.digs) > 1
    ]
    threads = group(*lines, fill="none", stroke=look.palette.ink, stroke_width=0.8)
    return group(threads, *drawn), labels if not look.narrow else []


def _streak_labels(strip: Strip, trace: TraceAnswer, look: Look) -> list[Label]:
    labels = []
    for streak in trace.streaks:
        if streak.horizon != strip.field.horizon or not streak.path:
            continue
        middle = streak.path[len(streak.path) // 2]
        ((x_px, y_px),) = strip.place(middle.s_m, middle.n_m)
        labels.append(
            Label(
                words=f"streak {streak.id}",
                x_px=x_px,
                y_px=y_px,
                gap_px=ring_px(look),
                importance=9.0,
                size_px=look.text_px + 2.0,
                ink=look.palette.gold,
                bold=True,
                ids={"data_streak": streak.id},
            )
        )
    return labels


def _foot(
    strip: Strip,
    trace: TraceAnswer,
    marks: dict[str, DigMark],
    scale: GradeScale,
    *,
    look: Look,
    top_px: float,
) -> tuple[Markup, float]:
    """Return legend and remark under the strips, and where they end [px]."""
    ratio = strip.n_px_per_m / strip.s_px_per_m
    times = scale_words("widths", "lengths", ratio)
    cutoff = quantity_words(trace.cutoff_mg_m3, "grade", look.measures)
    note, end_px = draw_note(
        f"Gold: how probable pay above {cutoff} is. {times[0].upper()}{times[1:]}. "
        f"{trace.made_at[:10]}.",
        look,
        top_px + 16.0,
    )
    entries = [
        Entry(sign=_layers_sign(count, look), words=words)
        for count, words in enumerate(_level_words(), 1)
    ]
    if trace.merges:
        entries.append(merge_entry(look))
    if trace.confluences:
        entries.append(confluence_entry(look))
    if trace.hand_joins:
        sign = element(
            "path",
            d="M-13 0H13",
            stroke=look.palette.ink,
            stroke_dasharray="2 3",
        )
        entries.append(Entry(sign=sign, words="joined by hand, for comparison"))
    entries.append(unsampled_entry(look, look.name("valleystrip-unsampled")))
    entries += grade_entries(marks, scale, look)
    legend, end_px = draw_legend(entries, look, end_px + 6.0)
    return group(note, legend), end_px


def _level_words() -> list[str]:
    """Return the word for each layer of gold, lightest first."""
    words = [word for _, word in PROBABILITY_WORDS]
    return words[-2::-1]


def _layers_sign(count: int, look: Look) -> Markup:
    box = element("rect", x=-10.0, y=-7.0, width=20.0, height=14.0)
    return group(
        *[box] * count,
        element(
            "rect",
            x=-10.0,
            y=-7.0,
            width=20.0,
            height=14.0,
            fill="none",
            stroke=look.palette.faint_ink,
            stroke_width=0.6,
        ),
        fill=look.palette.gold,
        fill_opacity=LAYER_OPACITY,
    )


def _description(strips: list[Strip], trace: TraceAnswer, look: Look) -> str:
    cutoff = quantity_words(trace.cutoff_mg_m3, "grade", look.measures)
    parts = [
        f"{strip.heading}: pay above {cutoff} is nowhere more probable than "
        f"{number_text(float(np.max(strip.field.probability_above)) * 100.0)} %."
        for strip in strips
    ]
    return " ".join(parts)
