"""Frame, scales and line names of a straightened valley."""

from __future__ import annotations

from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.wording import unit_name
from pennyweight.pictures.lines import whole_lines
from pennyweight.pictures.mapframe import length_ticks
from pennyweight.pictures.striplayout import Strip
from pennyweight.pictures.svg import (
    Look,
    Markup,
    element,
    group,
    haloed,
    path_text,
    text,
)
from pennyweight.pictures.textwidth import shorten, text_width

#: Room for the lines' names inside an upright strip, at its right edge [px].
NAME_PX = 32.0


def draw_axes(strip: Strip, ground: GroundAnswer, look: Look) -> Markup:
    """Return the frame, both scales, the lines' names and the flow."""
    inks, box = look.palette, strip.box
    frame = element(
        "rect",
        x=box.left,
        y=box.top,
        width=box.right - box.left,
        height=box.bottom - box.top,
        fill="none",
        stroke=inks.ink,
    )
    heading = text(
        box.left,
        box.top - (32.0 if strip.upright else 24.0),
        strip.heading,
        font_size=look.text_px,
        font_weight="600",
    )
    figures = _upright_axes(strip, look) if strip.upright else _flat_axes(strip, look)
    return group(frame, heading, figures, _line_names(strip, ground, look))


def _flat_axes(strip: Strip, look: Look) -> Markup:
    box, area, measures = strip.box, strip.area, look.measures
    drawn = []
    for s_m, words in length_ticks(area.s0_m, area.s1_m, wanted=9.0, measures=measures):
        ((x_px, _),) = strip.place(s_m, 0.0)
        drawn.append(text(x_px, box.bottom + 13.0, words, text_anchor="middle"))
        drawn.append(_tick((x_px, box.bottom), (x_px, box.bottom - 4.0), look))
    for n_m, words in length_ticks(area.n0_m, area.n1_m, wanted=6.0, measures=measures):
        ((_, y_px),) = strip.place(0.0, n_m)
        drawn.append(_tick((box.left, y_px), (box.left + 4.0, y_px), look))
        if box.top + 22.0 < y_px < box.bottom - 20.0:
            shown = words.lstrip("\u2212")
            drawn.append(text(box.left - 6.0, y_px + 4.0, shown, text_anchor="end"))
    unit = unit_name(measures.length)
    drawn += [
        text(6.0, box.top + 10.0, "left"),
        text(6.0, box.bottom - 3.0, "right"),
        text(
            box.right,
            box.top - 24.0,
            f"downstream \u2192   {unit} along; {unit} left and right of the middle",
            text_anchor="end",
        ),
    ]
    return group(*drawn, font_size=look.small_px, fill=look.palette.soft_ink)


def _upright_axes(strip: Strip, look: Look) -> Markup:
    box, area, measures = strip.box, strip.area, look.measures
    drawn = []
    if strip.left_px < 60.0:
        ticks = length_ticks(area.s0_m, area.s1_m, wanted=7.0, measures=measures)
        for s_m, words in ticks:
            ((_, y_px),) = strip.place(s_m, 0.0)
            drawn.append(text(box.left - 5.0, y_px + 4.0, words, text_anchor="end"))
            drawn.append(_tick((box.left, y_px), (box.left + 4.0, y_px), look))
        drawn.append(
            text(4.0, box.bottom + 13.0, f"{unit_name(measures.length)} \u2193")
        )
    across = length_ticks(area.n0_m, area.n1_m, wanted=2.5, measures=measures)
    for n_m, words in across:
        ((x_px, _),) = strip.place(0.0, n_m)
        shown = words.lstrip("\u2212")
        drawn.append(text(x_px, box.bottom + 13.0, shown, text_anchor="middle"))
        drawn.append(_tick((x_px, box.bottom), (x_px, box.bottom - 4.0), look))
    drawn += [
        text(box.left, box.top - 16.0, "right bank"),
        text(box.right, box.top - 16.0, "left bank", text_anchor="end"),
    ]
    return group(*drawn, font_size=look.small_px, fill=look.palette.soft_ink)


def _tick(start: tuple[float, float], end: tuple[float, float], look: Look) -> Markup:
    return element("path", d=path_text([start, end]), stroke=look.palette.ink)


def _line_names(strip: Strip, ground: GroundAnswer, look: Look) -> Markup:
    """Return the names of the lines along the upper or the right edge, as they fit."""
    size, drawn, last = look.small_px, [], -1e9
    for line, _ in whole_lines(ground):
        if not strip.area.s0_m <= line.s_m <= strip.area.s1_m:
            continue
        ((x_px, y_px),) = strip.place(line.s_m, 0.0)
        words = shorten(line.line, size, NAME_PX if strip.upright else 84.0)
        half = text_width(words, size) / 2.0
        if strip.upright:
            start, end = y_px - size, y_px + 2.0
            place = (strip.box.right - 4.0, y_px - 3.0)
        else:
            x_px = min(max(x_px, half + 4.0), look.width_px - half - 4.0)
            start, end = x_px - half - 4.0, x_px + half + 4.0
            place = (x_px, strip.box.top - 5.0)
        if start < last:
            continue
        last = end
        drawn.append(
            text(
                place[0],
                place[1],
                words,
                text_anchor="end" if strip.upright else "middle",
                font_style="italic",
                font_size=size,
                data_line=line.line,
                **haloed(look, 3.0 if strip.upright else 0.0),
            )
        )
    return group(*drawn)
