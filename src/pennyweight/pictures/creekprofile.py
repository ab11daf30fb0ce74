"""The long profile of a creek: bed, breaks of its fall, feeders, drops, high water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.highwater import HighwaterAnswer
from pennyweight.answers.highwatersaid import discharge_words
from pennyweight.answers.wording import number_words, quantity_words, unit_name
from pennyweight.pictures.floodplan import draw_drop, shown_flood
from pennyweight.pictures.legend import draw_note
from pennyweight.pictures.mapframe import neat_ticks
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
from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.terrain.valleyshape import Creek
from pennyweight.units import from_inside

FloatArray = npt.NDArray[np.float64]

#: Height of the picture over its width, and at least [px].
SHAPE, LEAST_PX = 0.34, 190.0

#: Margins left, right, top and below [px].
LEFT_PX, RIGHT_PX, TOP_PX, BELOW_PX = 48.0, 14.0, 26.0, 40.0


@dataclass(frozen=True, slots=True)
class _Axes:
    """From meters along the creek and meters high to places in the picture."""

    first_m: float
    last_m: float
    low_m: float
    high_m: float
    width_px: float
    height_px: float

    def x_px(self, distance_m: FloatArray | float) -> FloatArray:
        """Return places along the creek in the picture [px]."""
        share = (np.asarray(distance_m) - self.first_m) / (self.last_m - self.first_m)
        return np.asarray(LEFT_PX + share * (self.width_px - LEFT_PX - RIGHT_PX))

    def y_px(self, elevation_m: FloatArray | float) -> FloatArray:
        """Return heights in the picture [px]."""
        share = (np.asarray(elevation_m) - self.low_m) / (self.high_m - self.low_m)
        return np.asarray(
            self.height_px - BELOW_PX - share * (self.height_px - TOP_PX - BELOW_PX)
        )

    @property
    def exaggeration(self) -> float:
        """How many times heights are drawn larger than lengths."""
        along = (self.width_px - LEFT_PX - RIGHT_PX) / (self.last_m - self.first_m)
        up = (self.height_px - TOP_PX - BELOW_PX) / (self.high_m - self.low_m)
        return up / along


def draw_creek_profile(answer: HighwaterAnswer, look: Look) -> str:
    """Return the long profile of the creek, upstream at the left.

    Parameters
    ----------
    answer : HighwaterAnswer
        Creek, floods, drops.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where the creek has no heights.
    """
    creek, label = answer.creek, "Long profile of the creek"
    if creek is None or not np.isfinite(creek.elevation_m).sum() > 1:
        words = "The creek has no heights: attach an elevation model, or level digs."
        note, bottom_px = draw_note(words, look, 8.0)
        return drawing(
            look, bottom_px + 8.0, note, label=label, desc=words, kind="profile"
        )
    surfaces = _surfaces(answer, creek)
    axes = _fit(creek, surfaces, look)
    body = group(
        _scale(axes, look),
        *_breaks(creek, axes, look),
        _waters(answer, creek, surfaces, axes=axes, look=look),
        element(
            "path",
            d=_path(axes, creek.distance_m, creek.elevation_m),
            fill="none",
            stroke=look.palette.ink,
            stroke_width=1.6,
            stroke_linejoin="round",
        ),
        *_feeders(answer, creek, axes, look),
        *_drops(answer, creek, axes, look),
    )
    desc = f"{len(creek.breaks)} breaks of the fall, upstream at the left."
    return drawing(look, axes.height_px, body, label=label, desc=desc, kind="profile")


def _surfaces(answer: HighwaterAnswer, creek: Creek) -> list[FloatArray]:
    """Return the height of the water along the creek in each flood [m]."""
    if answer.water is None:
        return []
    model, found = answer.water.model, []
    for flood in answer.water.fields:
        depth = ElevationModel(flood.depth_m, model.west_m, model.north_m, model.cell_m)
        deep = read_heights(depth, creek.easting_m, creek.northing_m)
        found.append(np.where(deep > 0.03, creek.elevation_m + deep, np.nan))
    return found


def _fit(creek: Creek, surfaces: list[FloatArray], look: Look) -> _Axes:
    heights = np.concatenate([creek.elevation_m, *surfaces])
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    spare = max(0.06 * (high - low), 0.3)
    height_px = max(SHAPE * look.width_px, LEAST_PX)
    return _Axes(
        float(creek.distance_m[0]),
        float(creek.distance_m[-1]),
        low - spare,
        high + spare,
        float(look.width_px),
        height_px,
    )


def _path(axes: _Axes, distance_m: FloatArray, height_m: FloatArray) -> str:
    """Return the path of a line, broken where nothing is known."""
    parts, known = [], np.isfinite(height_m)
    edges = np.flatnonzero(
        np.diff(np.concatenate([[False], known, [False]]).astype(int))
    )
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        x_px = axes.x_px(distance_m[first:last])
        y_px = axes.y_px(height_m[first:last])
        if last - first > 1:
            parts.append(path_text(zip(x_px.tolist(), y_px.tolist(), strict=True)))
    return "".join(parts)


def _scale(axes: _Axes, look: Look) -> Markup:
    """Return lines and figures of both axes, and the exaggeration."""
    inks, unit = look.palette, look.measures.length
    figure: dict[str, str | float | None] = {
        "font_size": look.small_px,
        "fill": inks.soft_ink,
    }
    one_m = from_inside(1.0, unit, "length")
    drawn = []
    for tick in neat_ticks(axes.low_m * one_m, axes.high_m * one_m, 4.0):
        y_px = float(axes.y_px(tick / one_m))
        drawn += [
            element(
                "path",
                d=f"M{LEFT_PX} {y_px:.1f}H{axes.width_px - RIGHT_PX}",
                stroke=inks.faint_ink,
                stroke_width=0.7,
            ),
            text(
                LEFT_PX - 6.0,
                y_px + 4.0,
                number_words(tick, 5),
                text_anchor="end",
                **figure,
            ),
        ]
    for tick in neat_ticks(axes.first_m * one_m, axes.last_m * one_m, 5.0):
        x_px = float(axes.x_px(tick / one_m))
        drawn.append(
            text(
                x_px,
                axes.height_px - BELOW_PX + 16.0,
                number_words(tick, 4),
                text_anchor="middle",
                **figure,
            )
        )
    words = (
        f"{unit_name(unit)} downstream; heights in {unit_name(unit)}, drawn "
        f"{number_words(axes.exaggeration)} times too high"
    )
    drawn.append(text(LEFT_PX, axes.height_px - 6.0, words, **figure))
    return group(*drawn)


def _breaks(creek: Creek, axes: _Axes, look: Look) -> list[Markup]:
    """Return each break as a band over its 80 %, with the falls on both sides."""
    inks, drawn = look.palette, []
    for one in creek.breaks:
        left, right = (float(axes.x_px(at)) for at in (one.low_m, one.high_m))
        where = quantity_words(one.distance_m, "length", look.measures)
        words = (
            f"break of the fall near {where}: {number_words(100 * one.slope_above)} in "
            f"100 above, {number_words(100 * one.slope_below)} in 100 below"
        )
        drawn.append(
            element(
                "rect",
                title(words),
                x=left - 1.0,
                y=TOP_PX,
                width=max(right - left, 1.0) + 2.0,
                height=axes.height_px - TOP_PX - BELOW_PX,
                fill=inks.contour,
                fill_opacity=0.35 * one.probability,
            )
        )
    return drawn


def _waters(
    answer: HighwaterAnswer,
    creek: Creek,
    surfaces: list[FloatArray],
    *,
    axes: _Axes,
    look: Look,
) -> Markup:
    shown = shown_flood(answer)
    drawn = []
    for number, (flood, surface) in enumerate(
        zip(answer.floods, surfaces, strict=True)
    ):
        flow = discharge_words(flood.discharge_m3_s, look.measures)
        drawn.append(
            element(
                "g",
                title(f"water at {flow}"),
                element(
                    "path",
                    d=_path(axes, creek.distance_m, surface),
                    fill="none",
                    stroke=look.palette.water_ink,
                    stroke_width=2.0,
                ),
                data_flood=str(number),
                display=None if number == shown else "none",
            )
        )
    return group(*drawn)


def _feeders(
    answer: HighwaterAnswer, creek: Creek, axes: _Axes, look: Look
) -> list[Markup]:
    """Return an arrow where a feeder comes in, and its name where it has one."""
    drawn = []
    names = answer.tree.streams.name if answer.tree is not None else ()
    for one in creek.confluences:
        height = float(np.interp(one.distance_m, creek.distance_m, creek.elevation_m))
        x_px, y_px = float(axes.x_px(one.distance_m)), float(axes.y_px(height))
        name = names[one.reach] if one.reach < len(names) else None
        drawn.append(
            element(
                "path",
                title(name or "a feeder comes in"),
                d=path_text(
                    [
                        (x_px, y_px + 3.0),
                        (x_px - 4.0, y_px + 11.0),
                        (x_px + 4.0, y_px + 11.0),
                    ],
                    closed=True,
                ),
                fill=look.palette.water_ink,
            )
        )
        if name and not look.narrow:
            drawn.append(
                text(
                    x_px,
                    y_px + 25.0,
                    name,
                    text_anchor="middle",
                    font_size=look.small_px,
                    fill=look.palette.water_ink,
                )
            )
    return drawn


def _drops(
    answer: HighwaterAnswer, creek: Creek, axes: _Axes, look: Look
) -> list[Markup]:
    """Return the numbers of the best drops above the bed, none over another."""
    taken: list[float] = []
    drawn = []
    for number, drop in enumerate(answer.drops, 1):
        away = np.hypot(
            creek.easting_m - drop.easting_m, creek.northing_m - drop.northing_m
        )
        x_px = float(axes.x_px(creek.distance_m[int(np.argmin(away))]))
        if all(abs(x_px - other) > 20.0 for other in taken):
            taken.append(x_px)
            drawn.append(draw_drop(drop, number, place=(x_px, 13.0), look=look))
    return drawn
