"""The wall of a single dig: its layers in words, its samples with their grades."""

from __future__ import annotations

from pennyweight.answers.grade import GradeAnswer, SampleGrade
from pennyweight.answers.ground import GroundAnswer, PlacedDig
from pennyweight.answers.wording import interval_words, quantity_words, unit_name
from pennyweight.pictures.digmarks import dig_marks, marks_scale
from pennyweight.pictures.labels import spread_apart
from pennyweight.pictures.legend import draw_legend, draw_note
from pennyweight.pictures.mapframe import length_ticks
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    haloed,
    path_text,
    text,
)
from pennyweight.pictures.textures import define_textures
from pennyweight.pictures.textwidth import shorten
from pennyweight.pictures.walllegend import wall_entries, wall_textures
from pennyweight.pictures.wallparts import (
    END_PX,
    Column,
    bar_scale,
    bracket_px,
    draw_column,
    draw_pay,
    draw_samples,
    layer_words,
)

#: Height of the whole depth on the picture [px].
DEEP_PX = 340.0
TOP_PX = 40.0


def draw_dig_wall(
    ground: GroundAnswer, grade: GradeAnswer, dig: str, *, look: Look
) -> str:
    """Return the wall of one dig, top down.

    Parameters
    ----------
    ground, grade : answers
        Digs with their layers, samples with their grades.
    dig : str
        Name of the dig.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text.

    Raises
    ------
    ValueError
        There is no dig of that name.
    """
    found = next((one for one in ground.digs if one.dig == dig), None)
    if found is None:
        msg = f"there is no dig {dig!r}; the ground has {len(ground.digs)} digs."
        raise ValueError(msg)
    picture = look.name(f"dig-{ground.digs.index(found)}")
    column = _column(ground, grade, found, look)
    scale = marks_scale(dig_marks(ground, grade, look.measures), look.measures)
    bottom_px = column.to_y_px(column.depth_m()) + END_PX
    entries = wall_entries(
        [column], scale, bar_scale([column], look), look=look, picture=picture
    )
    legend, end_px = draw_legend(entries, look, bottom_px + 30.0)
    note, end_px = draw_note(
        f"The width of the dig is not to scale. {ground.made_at[:10]}.", look, end_px
    )
    return drawing(
        look,
        end_px + 6.0,
        define_textures(wall_textures([column]), picture, look),
        _depths(column, look),
        draw_column(column, picture, look),
        draw_pay(column, look),
        draw_samples(column, scale, bar_scale([column], look), look=look),
        _layer_names(column, look),
        _sample_names(column, look),
        text(
            column.middle_px,
            bottom_px + look.small_px + 4.0,
            f"stopped by {found.stopped_by}" if found.stopped_by else "end not said",
            text_anchor="middle",
            font_size=look.small_px,
        ),
        legend,
        note,
        label=f"Wall of dig {dig}",
        desc=_description(column, look),
        kind="dig",
    )


def _column(
    ground: GroundAnswer, grade: GradeAnswer, dig: PlacedDig, look: Look
) -> Column:
    layers = tuple(one for one in ground.layers if one.dig == dig.dig)
    samples = tuple(one for one in grade.samples if one.dig == dig.dig)
    depths = [dig.bottom_m or 0.0, *(layer.bottom_m for layer in layers)]
    depths += [one.bottom_m for one in samples if one.bottom_m is not None]
    px_per_m = DEEP_PX / max(*depths, 0.3)
    left = 138.0 if look.narrow else min(0.32 * look.width_px, 300.0)
    wide = 56.0 if look.narrow else min(0.13 * look.width_px, 110.0)
    names_px = 44.0 if look.narrow else 226.0
    return Column(
        dig=dig,
        grade=next((one for one in grade.digs if one.dig == dig.dig), None),
        layers=layers,
        samples=samples,
        left_px=left,
        right_px=left + wide,
        to_y_px=lambda depth_m: TOP_PX + depth_m * px_per_m,
        room_px=min(look.width_px - left - wide - names_px, 380.0),
    )


def _depths(column: Column, look: Look) -> Markup:
    inks, measures = look.palette, look.measures
    drawn = []
    ticks = length_ticks(0.0, column.depth_m(), wanted=5.0, measures=measures)
    for depth_m, words in ticks:
        y_px = column.to_y_px(depth_m)
        ends = [(34.0, y_px), (column.left_px, y_px)]
        drawn.append(
            element("path", d=path_text(ends), stroke=inks.faint_ink, stroke_width=0.7)
        )
        drawn.append(text(29.0, y_px + 4.0, words, text_anchor="end"))
    head = text(4.0, TOP_PX - 22.0, f"depth, {unit_name(measures.length)}")
    return group(*drawn, head, font_size=look.small_px, fill=inks.soft_ink)


def _layer_names(column: Column, look: Look) -> Markup:
    """Return each layer in words left of the column, with a thread where moved."""
    size = look.small_px
    middles = [
        (column.to_y_px(layer.top_m) + column.to_y_px(layer.bottom_m)) / 2.0
        for layer in column.layers
    ]
    places = spread_apart(middles, size * 1.3)
    right = column.left_px - 20.0
    room = right - 38.0
    drawn = []
    for layer, middle, place in zip(column.layers, middles, places, strict=True):
        drawn.append(
            text(
                right,
                place + size * 0.34,
                shorten(layer_words(layer), size, room),
                text_anchor="end",
                font_size=size,
                **haloed(look),
            )
        )
        thread = [(right + 3.0, place), (column.left_px - 6.0, middle)]
        drawn.append(
            element(
                "path",
                d=path_text(thread),
                stroke=look.palette.faint_ink,
                stroke_width=0.8,
            )
        )
    return group(*drawn)


def _sample_names(column: Column, look: Look) -> Markup:
    """Return each sample's name and grade at the right edge."""
    size = look.small_px
    shown = [
        one
        for one in column.samples
        if one.top_m is not None and one.bottom_m is not None
    ]
    shown.sort(key=lambda one: one.top_m or 0.0)
    middles = [
        (column.to_y_px(one.top_m or 0.0) + column.to_y_px(one.bottom_m or 0.0)) / 2.0
        for one in shown
    ]
    left = column.right_px + column.room_px + bracket_px(look)
    room = look.width_px - left - 4.0
    drawn = []
    places = spread_apart(middles, size * 1.3)
    for one, place in zip(shown, places, strict=True):
        words = one.sample
        if not look.narrow:
            words = f"{one.sample}: {_grade_words(one, look)}"
        drawn.append(
            text(
                left,
                place + size * 0.34,
                shorten(words, size, room),
                font_size=size,
                data_sample=one.sample,
            )
        )
    return group(*drawn)


def _grade_words(sample: SampleGrade, look: Look) -> str:
    if sample.grade_mg_m3 is None:
        return sample.why or "not washed yet"
    words = interval_words(sample.grade_mg_m3, "grade", look.measures)
    return f"no colors, {words}" if sample.colors == 0 else words


def _description(column: Column, look: Look) -> str:
    parts = [
        f"{layer_words(layer).capitalize()} from "
        f"{quantity_words(layer.top_m, 'length', look.measures)} to "
        f"{quantity_words(layer.bottom_m, 'length', look.measures)}."
        for layer in column.layers
    ]
    stopped = column.dig.stopped_by or "an end that was not said"
    return " ".join([*parts, f"Stopped by {stopped}."])
