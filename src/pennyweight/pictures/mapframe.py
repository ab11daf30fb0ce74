"""The frame of a map: meters to pixels, scale bar, north, grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.wording import number_words, unit_name
from pennyweight.pictures.labels import Box, LabelKeeper
from pennyweight.pictures.svg import (
    SERIF,
    Look,
    Markup,
    element,
    group,
    haloed,
    path_text,
    text,
)
from pennyweight.pictures.textwidth import text_width
from pennyweight.units import Measures, to_inside

FloatArray = npt.NDArray[np.float64]

#: Least and greatest height of a map over its width [-].
FLATTEST, TALLEST, TALLEST_NARROW = 0.5, 0.82, 1.0


@dataclass(frozen=True, slots=True)
class MapFrame:
    """A rectangle of ground drawn north up.

    Attributes
    ----------
    west_m, north_m : float
        The ground at the upper left corner [m].
    px_per_m : float
        Scale.
    width_px, height_px : float
        Size of the picture [px].
    """

    west_m: float
    north_m: float
    px_per_m: float
    width_px: float
    height_px: float

    def to_px(
        self, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
    ) -> list[tuple[float, float]]:
        """Return places on the ground as places in the picture."""
        x_px = (np.atleast_1d(np.asarray(easting_m)) - self.west_m) * self.px_per_m
        y_px = (self.north_m - np.atleast_1d(np.asarray(northing_m))) * self.px_per_m
        return [(float(x), float(y)) for x, y in zip(x_px, y_px, strict=True)]

    @property
    def region(self) -> tuple[float, float, float, float]:
        """West, east, south, north [m]."""
        return (
            self.west_m,
            self.west_m + self.width_px / self.px_per_m,
            self.north_m - self.height_px / self.px_per_m,
            self.north_m,
        )

    @property
    def box(self) -> Box:
        """The frame in the picture [px]."""
        return Box(0.0, 0.0, self.width_px, self.height_px)


def fit_frame(easting_m: FloatArray, northing_m: FloatArray, look: Look) -> MapFrame:
    """Return the frame that holds every place with a margin.

    Parameters
    ----------
    easting_m, northing_m : ndarray, shape (n_places,)
        What must be inside, at least one place [m].
    look : Look
        Width of the picture.

    Returns
    -------
    MapFrame
        Between half as high as wide and about square.
    """
    width_px = float(look.width_px)
    tallest = TALLEST_NARROW if look.narrow else TALLEST
    east = float(np.min(easting_m)), float(np.max(easting_m))
    north = float(np.min(northing_m)), float(np.max(northing_m))
    margin_px = 26.0 if look.narrow else 46.0
    wide_m, high_m = max(east[1] - east[0], 10.0), max(north[1] - north[0], 10.0)
    inner_px = width_px - 2.0 * margin_px
    scale = inner_px / wide_m
    height_px = min(
        max(high_m * scale + 2.0 * margin_px, FLATTEST * width_px), tallest * width_px
    )
    scale = min(scale, (height_px - 2.0 * margin_px) / high_m)
    return MapFrame(
        west_m=(east[0] + east[1]) / 2.0 - width_px / scale / 2.0,
        north_m=(north[0] + north[1]) / 2.0 + height_px / scale / 2.0,
        px_per_m=scale,
        width_px=width_px,
        height_px=height_px,
    )


def frame_marks(frame: MapFrame, crs: str | None) -> dict[str, str]:
    """Return what a page needs to tell places on a map from places on the screen.

    The corners are longitude and latitude from the upper left one clockwise; between
    them a page may draw straight lines: within 1 km that is true to some centimeters.
    """
    west, east, south, north = frame.region
    marks = {
        "data_west_m": f"{west:.3f}",
        "data_north_m": f"{north:.3f}",
        "data_px_per_m": f"{frame.px_per_m:.9g}",
        "data_size_px": f"{frame.width_px:.2f} {frame.height_px:.2f}",
    }
    if crs is not None:
        easts, norths = [west, east, east, west], [north, north, south, south]
        places = zip(*GroundMap(crs).to_degrees(easts, norths), strict=True)
        marks["data_corners"] = " ".join(f"{x:.8f},{y:.8f}" for x, y in places)
        marks["data_crs"] = crs
    return marks


def neat_step(span: float, wanted: float) -> float:
    """Return 1, 2 or 5 times a power of ten: the span over about so many steps.

    >>> neat_step(47.0, 5.0)
    10.0
    """
    least = span / wanted
    power = 10.0 ** math.floor(math.log10(least))
    return float(next(s * power for s in (1.0, 2.0, 5.0, 10.0) if s * power >= least))


def neat_ticks(low: float, high: float, wanted: float) -> list[float]:
    """Return neat numbers from low to high, both ends included where neat.

    >>> neat_ticks(-0.5, 2.2, 3.0)
    [0.0, 1.0, 2.0]
    """
    if not high > low:
        return [low]
    step = neat_step(high - low, wanted)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


def length_ticks(
    low_m: float, high_m: float, *, wanted: float, measures: Measures
) -> list[tuple[float, str]]:
    """Return ticks that are neat in the reader's unit: meters and text."""
    one_m = to_inside(1.0, measures.length, "length")
    shown = neat_ticks(low_m / one_m, high_m / one_m, wanted)
    return [(tick * one_m, number_words(round(tick, 6), 4)) for tick in shown]


def scale_words(one: str, other: str, ratio: float) -> str:
    """Return how much larger one direction is drawn than the other.

    >>> scale_words("depths", "widths", 0.5)
    'widths drawn 2 times as large as depths'
    """
    if ratio < 1.0:
        one, other, ratio = other, one, 1.0 / ratio
    if ratio < 1.02:
        return f"{one} and {other} drawn at the same scale"
    return f"{one} drawn {ratio:.2g} times as large as {other}"


def scale_bar(
    px_per_m: float,
    look: Look,
    place: tuple[float, float],
    *,
    room_px: float = 170.0,
) -> tuple[Markup, float]:
    """Return a scale bar in the reader's unit, and its right end [px]."""
    x_px, y_px = place
    one_m = to_inside(1.0, look.measures.length, "length")
    unit_px = px_per_m * one_m
    step = neat_step(room_px / unit_px / 2.0, 1.0000001)
    if step * unit_px * 2.0 > room_px * 1.25:
        step = neat_step(room_px / unit_px / 5.0, 1.0000001)
    inks = look.palette
    half = step * unit_px
    bar = [
        element(
            "rect",
            x=x_px + half * number,
            y=y_px,
            width=half,
            height=5.0,
            fill=inks.ink if number == 0 else inks.paper,
            stroke=inks.ink,
            stroke_width=1.0,
        )
        for number in (0, 1)
    ]
    words = (f"{number_words(step * n, 3)}" for n in (0, 1, 2))
    figures = [
        text(
            x_px + half * number,
            y_px + 17.0,
            word if number < 2 else f"{word} {unit_name(look.measures.length)}",
            font_size=look.small_px,
            text_anchor="middle" if number < 2 else "start",
            dx=-4.0 if number == 2 else None,
        )
        for number, word in enumerate(words)
    ]
    return group(*bar, *figures), x_px + 2.0 * half + 26.0


def north_arrow(look: Look, x_px: float, y_px: float) -> Markup:
    """Return an arrow that points to grid north, its N above."""
    inks = look.palette
    left = path_text([(0.0, 0.0), (-6.0, 30.0), (0.0, 24.5)], closed=True)
    right = path_text([(0.0, 0.0), (6.0, 30.0), (0.0, 24.5)], closed=True)
    line: dict[str, str | float] = {
        "stroke": inks.ink,
        "stroke_width": 1.0,
        "stroke_linejoin": "round",
    }
    return group(
        element("path", d=left, fill=inks.ink, **line),
        element("path", d=right, fill=inks.paper, **line),
        text(
            0.0,
            -5.0,
            "N",
            text_anchor="middle",
            font_size=14.0,
            font_family=SERIF,
            font_weight="600",
            **haloed(look),
        ),
        transform=f"translate({x_px} {y_px})",
    )


def draw_grid(frame: MapFrame, look: Look, keeper: LabelKeeper) -> Markup:
    """Return crosses at round coordinates, and the figures along two edges."""
    west, east, south, north = frame.region
    wanted = 4.0 if look.narrow else 7.0
    step = neat_step(east - west, wanted)
    eastings = _multiples(west, east, step)
    northings = _multiples(south, north, step)
    crosses = [
        (x, y)
        for one in eastings
        for other in northings
        for x, y in frame.to_px(one, other)
    ]
    lines = "".join(f"M{x - 4:.1f} {y:.1f}h8M{x:.1f} {y - 4:.1f}v8" for x, y in crosses)
    figures = _figures_along(eastings, frame, look, keeper, edge="top")
    figures += _figures_along(northings, frame, look, keeper, edge="left")
    return group(
        element(
            "path",
            d=lines,
            stroke=look.palette.soft_ink,
            stroke_width=0.7,
            stroke_opacity=0.55,
            fill="none",
        ),
        *figures,
    )


def _multiples(low: float, high: float, step: float) -> list[float]:
    first, last = math.ceil(low / step), math.floor(high / step)
    return [number * step for number in range(first, last + 1)]


def _figures_along(
    ticks: Sequence[float],
    frame: MapFrame,
    look: Look,
    keeper: LabelKeeper,
    *,
    edge: str,
) -> list[Markup]:
    size = look.small_px - 1.0
    drawn = []
    for tick in ticks:
        words = f"{tick:.0f}"
        if edge == "top":
            x_px = frame.to_px(tick, frame.north_m)[0][0]
            y_px, anchor = size + 3.5, "middle"
            half = text_width(words, size) / 2.0
            box = Box(x_px - half, 3.5, x_px + half, size + 6.0)
        else:
            y_px = frame.to_px(frame.west_m, tick)[0][1] + size * 0.34
            x_px, anchor = 6.0, "start"
            box = Box(3.5, y_px - size, 7.0 + text_width(words, size), y_px + 3.0)
        if not keeper.free(box):
            continue
        keeper.block(box)
        drawn.append(
            text(
                x_px,
                y_px,
                words,
                font_size=size,
                text_anchor=anchor,
                fill=look.palette.soft_ink,
                **haloed(look, 2.5),
            )
        )
    return drawn
