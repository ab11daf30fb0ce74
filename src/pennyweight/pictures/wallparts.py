"""Parts of a trench wall: one dig's column, its samples, its pay, its end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pennyweight.answers.grade import DigGrade, SampleGrade
from pennyweight.answers.ground import PlacedDig
from pennyweight.answers.wording import interval_words, quantity_words
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.svg import Look, Markup, element, group, path_text, title
from pennyweight.pictures.textures import texture_fill, texture_of
from pennyweight.records import Layer
from pennyweight.spread import Spread

#: Height of the strip of rock, water or clay under a column [px].
END_PX = 12.0

#: Where the longest bar were shorter than this, grades are drawn as tiles [px].
SHORTEST_BAR_PX = 18.0
TILE_PX = 7.0

#: Whiskers shorter than this have no end strokes [px].
WIDE_ENOUGH_PX = 14.0

#: What stops a dig -> texture of the strip under it.
END_TEXTURES = {"bedrock": "rock", "clay": "clay", "boulder": "boulders"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One dig on a wall.

    Attributes
    ----------
    dig : PlacedDig
        The dig.
    grade : DigGrade or None
        Its best interval.
    layers, samples : tuple
        What its wall showed, and what was taken from it.
    left_px, right_px : float
        Where the column stands [px].
    to_y_px : callable
        Depth below this dig's surface [m] to the picture [px].
    room_px : float
        Free width to the right of it, for brackets and bars [px].
    """

    dig: PlacedDig
    grade: DigGrade | None
    layers: tuple[Layer, ...]
    samples: tuple[SampleGrade, ...]
    left_px: float
    right_px: float
    to_y_px: Callable[[float], float]
    room_px: float

    @property
    def middle_px(self) -> float:
        """Middle of the column [px]."""
        return (self.left_px + self.right_px) / 2.0

    def depth_m(self) -> float:
        """How deep anything was seen [m]."""
        depths = [layer.bottom_m for layer in self.layers]
        depths += [one.bottom_m for one in self.samples if one.bottom_m is not None]
        if self.dig.bottom_m is not None:
            depths.append(self.dig.bottom_m)
        return max(depths, default=0.0)


def layer_words(layer: Layer) -> str:
    """Return a layer as it would be said: packing, matrix, material, wetness."""
    words = [layer.packing, layer.matrix, layer.material]
    said = " ".join(word for word in words if word) or "not described"
    wet = (layer.wet or "").replace("_", " ")
    return f"{said}, {wet}" if wet else said


def draw_column(column: Column, picture: str, look: Look) -> Markup:
    """Return the column of layers with what stopped the dig under it."""
    inks = look.palette
    wide = column.right_px - column.left_px
    bands = []
    for layer in column.layers:
        top, bottom = column.to_y_px(layer.top_m), column.to_y_px(layer.bottom_m)
        shown = (
            f"{layer_words(layer)}: "
            f"{quantity_words(layer.top_m, 'length', look.measures)} to "
            f"{quantity_words(layer.bottom_m, 'length', look.measures)}"
        )
        bands.append(
            element(
                "rect",
                title(shown),
                x=column.left_px,
                y=top,
                width=wide,
                height=max(bottom - top, 0.5),
                fill=texture_fill(texture_of(layer.material), picture, look),
                stroke=inks.soft_ink,
                stroke_width=0.8,
                data_layer=f"{layer.dig} {layer.top_m:g}",
            )
        )
    top, bottom = column.to_y_px(0.0), column.to_y_px(column.depth_m())
    outline = element(
        "rect",
        x=column.left_px,
        y=top,
        width=wide,
        height=max(bottom - top, 0.5),
        fill="none" if column.layers else inks.raised,
        stroke=inks.ink,
        stroke_width=1.2,
    )
    return group(
        title(f"dig {column.dig.dig}"),
        *bands,
        outline,
        _end(column, picture, look),
        _water(column, look),
        data_dig=column.dig.dig,
    )


def _end(column: Column, picture: str, look: Look) -> Markup:
    """Return the strip under a column: what stopped the dig."""
    stopped = (column.dig.stopped_by or "").lower()
    left, right = column.left_px - 3.0, column.right_px + 3.0
    y_px = column.to_y_px(column.depth_m())
    inks = look.palette
    texture = next((t for word, t in END_TEXTURES.items() if word in stopped), None)
    if texture is not None:
        return group(
            element(
                "rect",
                x=left,
                y=y_px,
                width=right - left,
                height=END_PX,
                fill=f"url(#{picture}-{texture})",
            ),
            element(
                "path", d=path_text([(left, y_px), (right, y_px)]), stroke_width=2.2
            ),
            stroke=inks.ink,
            stroke_width=0.0,
        )
    if "water" in stopped:
        return _waves(left, right, y_px + 5.0, look)
    return element(
        "path",
        d=path_text([(left, y_px), (right, y_px)]),
        stroke=inks.ink,
        stroke_width=1.4,
        stroke_dasharray="2 3",
    )


def _waves(left_px: float, right_px: float, y_px: float, look: Look) -> Markup:
    count = max(round((right_px - left_px) / 9.0), 2)
    step = (right_px - left_px) / count
    wave = f"M{left_px:.2f} {y_px:.2f}" + f"q{step / 2:.2f} -5 {step:.2f} 0" * count
    return group(
        element("path", d=wave),
        element("path", d=wave, transform="translate(0 5)"),
        fill="none",
        stroke=look.palette.water_ink,
        stroke_width=1.3,
    )


def _water(column: Column, look: Look) -> Markup | None:
    """Return the mark of the water level: the top of the wettest layer."""
    under = [one.top_m for one in column.layers if one.wet == "under_water"]
    if not under:
        return None
    y_px = column.to_y_px(min(under))
    left = column.left_px
    corners = [(left - 10.0, y_px - 7.0), (left - 2.0, y_px - 7.0), (left - 6.0, y_px)]
    return group(
        title(
            "water stood at "
            + quantity_words(min(under), "length", look.measures)
            + " below the surface"
        ),
        element("path", d=path_text(corners, closed=True), fill="none"),
        element("path", d=path_text([(left - 12.0, y_px), (column.right_px, y_px)])),
        stroke=look.palette.water_ink,
        stroke_width=1.3,
    )


def draw_pay(column: Column, look: Look) -> Markup | None:
    """Return the gold bracket of a dig's best interval, left of its column."""
    best = column.grade
    if best is None or best.pay_top_m is None or best.pay_bottom_m is None:
        return None
    top, bottom = column.to_y_px(best.pay_top_m), column.to_y_px(best.pay_bottom_m)
    x_px = column.left_px - 3.5
    said = f"best interval of dig {best.dig}"
    if best.grade_mg_m3 is not None:
        said += ": " + interval_words(best.grade_mg_m3, "grade", look.measures)
    return element(
        "path",
        title(said),
        d=path_text(
            [(x_px + 3.0, top), (x_px, top), (x_px, bottom), (x_px + 3.0, bottom)]
        ),
        fill="none",
        stroke=look.palette.gold,
        stroke_width=2.8,
        data_pay=best.dig,
    )


def draw_samples(
    column: Column, scale: GradeScale, px_per_grade: float, *, look: Look
) -> Markup:
    """Return brackets and grade bars right of a column.

    Parameters
    ----------
    column : Column
        The dig and its samples.
    scale : GradeScale
        Steps of the ramp.
    px_per_grade : float
        Length of a bar over its grade, the same on the whole wall.
    look : Look
        Inks and units.

    Returns
    -------
    Markup
        One group for each sample that has a depth.
    """
    return group(
        *(
            _sample(one, column, scale, px_per_grade, look)
            for one in column.samples
            if one.top_m is not None and one.bottom_m is not None
        )
    )


def _sample(
    sample: SampleGrade,
    column: Column,
    scale: GradeScale,
    px_per_grade: float,
    look: Look,
) -> Markup:
    top = column.to_y_px(sample.top_m or 0.0) + 1.0
    bottom = max(column.to_y_px(sample.bottom_m or 0.0) - 1.0, top + 2.0)
    x_px, reach = column.right_px + 3.0, bracket_px(look)
    inks = look.palette
    bracket = element(
        "path",
        d=path_text(
            [(x_px, top), (x_px + reach, top), (x_px + reach, bottom), (x_px, bottom)]
        ),
        fill="none",
        stroke=inks.ink,
        stroke_width=1.0,
    )
    start = x_px + reach + 2.5
    return group(
        title(sample_words(sample, look)),
        bracket,
        _grade_sign(sample, (start, top, bottom), px_per_grade, scale, look),
        data_sample=sample.sample,
        data_dig=sample.dig,
    )


def _grade_sign(
    sample: SampleGrade,
    place: tuple[float, float, float],
    px_per_grade: float,
    scale: GradeScale,
    look: Look,
) -> Markup | None:
    """Return a bar, a tile where bars have no room, or the ring that says why not."""
    x_px, top, bottom = place
    y_px = (top + bottom) / 2.0
    grade = sample.grade_mg_m3
    if grade is None:
        if sample.why and "wash" not in sample.why:
            return None
        return _ring(x_px, y_px, look, dotted=True)
    if sample.colors == 0:
        return _ring(x_px, y_px, look, dotted=False)
    if px_per_grade == 0.0:
        return element(
            "rect",
            x=x_px,
            y=top,
            width=TILE_PX,
            height=bottom - top,
            fill=scale.ink(grade.p50, look),
            stroke=look.palette.ink,
            stroke_width=0.7,
        )
    return _bar(grade, (x_px, y_px), px_per_grade, scale, look)


def _bar(
    grade: Spread,
    start: tuple[float, float],
    px_per_grade: float,
    scale: GradeScale,
    look: Look,
) -> Markup:
    """Return the bar of a grade with its 80 %."""
    inks = look.palette
    x_px, y_px = start
    low, high = (x_px + end * px_per_grade for end in (grade.p10, grade.p90))
    whisker = f"M{low:.2f} {y_px:.2f}H{high:.2f}"
    if not look.narrow and high - low > WIDE_ENOUGH_PX:
        whisker += f"M{low:.2f} {y_px - 3:.2f}v6M{high:.2f} {y_px - 3:.2f}v6"
    thick = 6.0 if look.narrow else 8.0
    return group(
        element(
            "rect",
            x=x_px,
            y=y_px - thick / 2.0,
            width=max(grade.p50 * px_per_grade, 1.0),
            height=thick,
            fill=scale.ink(grade.p50, look),
            stroke=inks.ink,
            stroke_width=0.7,
        ),
        element("path", d=whisker, stroke=inks.paper, stroke_width=3.0),
        element("path", d=whisker, stroke=inks.ink, stroke_width=1.0),
    )


def _ring(x_px: float, y_px: float, look: Look, *, dotted: bool) -> Markup:
    return element(
        "circle",
        cx=x_px + 3.5,
        cy=y_px,
        r=3.2,
        fill="none",
        stroke=look.palette.ink,
        stroke_width=1.3,
        stroke_dasharray="0.1 2.4" if dotted else None,
        stroke_linecap="round" if dotted else None,
    )


def sample_words(sample: SampleGrade, look: Look) -> str:
    """Return what is said when a sample is pointed at."""
    if sample.grade_mg_m3 is None:
        return f"sample {sample.sample}: {sample.why or 'not washed yet'}"
    grade = interval_words(sample.grade_mg_m3, "grade", look.measures)
    if sample.colors == 0:
        grade = f"no colors; it may still hold {grade}"
    return f"sample {sample.sample}: {grade}, reliability {sample.reliability}"


def bracket_px(look: Look) -> float:
    """Return how far a sample's bracket reaches to the right [px]."""
    return 3.0 if look.narrow else 5.0


def bar_scale(columns: Sequence[Column], look: Look) -> float:
    """Return pixels a mg/m3: the longest bars that stay clear of the next dig.

    0 where even the longest would be too short to be read; then grades are tiles.
    """
    taken_px = bracket_px(look) + 7.0
    bars = [
        (max(column.room_px - taken_px, 4.0), sample.grade_mg_m3)
        for column in columns
        for sample in column.samples
        if sample.grade_mg_m3 is not None and sample.colors != 0
    ]
    if not bars:
        return 0.0
    px_per_grade = min(room / grade.p90 for room, grade in bars)
    longest = max(grade.p50 for _, grade in bars) * px_per_grade
    return px_per_grade if longest >= SHORTEST_BAR_PX else 0.0
