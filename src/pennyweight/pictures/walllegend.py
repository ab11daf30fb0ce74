"""What the textures and signs of a trench wall mean, for those that are on it."""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.answers.wording import quantity_words
from pennyweight.pictures.gradescale import GradeScale
from pennyweight.pictures.legend import Entry
from pennyweight.pictures.mapframe import neat_step
from pennyweight.pictures.svg import Look, Markup, element, group, path_text
from pennyweight.pictures.textures import texture_fill, texture_of
from pennyweight.pictures.wallparts import END_TEXTURES, TILE_PX, Column
from pennyweight.units import to_inside


def wall_textures(columns: Sequence[Column]) -> set[str]:
    """Return the textures that a wall uses, under the digs included."""
    named = {texture_of(layer.material) for one in columns for layer in one.layers}
    for one in columns:
        stopped = (one.dig.stopped_by or "").lower()
        named |= {texture for word, texture in END_TEXTURES.items() if word in stopped}
    return {one for one in named if one is not None}


def wall_entries(
    columns: Sequence[Column],
    scale: GradeScale,
    px_per_grade: float,
    *,
    look: Look,
    picture: str,
) -> list[Entry]:
    """Return the legend of a wall."""
    entries = [
        Entry(sign=_swatch(texture_fill(texture, picture, look), look), words=words)
        for words, texture in _materials(columns)
    ]
    stopped = any("bedrock" in (one.dig.stopped_by or "") for one in columns)
    if stopped and "bedrock" not in {words for words, _ in _materials(columns)}:
        entries.append(
            Entry(sign=_swatch(f"url(#{picture}-rock)", look), words="bedrock")
        )
    entries += _sign_entries(columns, scale, px_per_grade, look)
    return entries


def _materials(columns: Sequence[Column]) -> list[tuple[str, str | None]]:
    """Return each material once, in order of first depth."""
    layers = sorted(
        (layer for one in columns for layer in one.layers), key=lambda one: one.top_m
    )
    found: dict[str, str | None] = {}
    for layer in layers:
        words = layer.material or "not described"
        found.setdefault(words, texture_of(layer.material))
    return list(found.items())


def _swatch(fill: str, look: Look) -> Markup:
    return element(
        "rect",
        x=-12.0,
        y=-7.5,
        width=24.0,
        height=15.0,
        fill=fill,
        stroke=look.palette.soft_ink,
        stroke_width=0.8,
    )


def _sign_entries(
    columns: Sequence[Column], scale: GradeScale, px_per_grade: float, look: Look
) -> list[Entry]:
    inks = look.palette
    samples = [sample for one in columns for sample in one.samples]
    entries = []
    if any(one.grade_mg_m3 is not None for one in samples):
        entries += _grade_entries(scale, px_per_grade, look)
    if any(one.grade and one.grade.pay_top_m is not None for one in columns):
        sign = element(
            "path",
            d=path_text([(3.0, -7.0), (0.0, -7.0), (0.0, 7.0), (3.0, 7.0)]),
            fill="none",
            stroke=inks.gold,
            stroke_width=2.8,
        )
        entries.append(Entry(sign=sign, words="best interval to mine", sign_px=16.0))
    entries += _ring_entries(columns, look)
    if any(layer.wet == "under_water" for one in columns for layer in one.layers):
        corners = [(-5.0, -5.0), (5.0, -5.0), (0.0, 3.0)]
        sign = group(
            element("path", d=path_text(corners, closed=True), fill="none"),
            element("path", d=path_text([(-9.0, 3.0), (9.0, 3.0)])),
            stroke=inks.water_ink,
            stroke_width=1.3,
        )
        entries.append(Entry(sign=sign, words="water stood here", sign_px=26.0))
    return entries


def _grade_entries(scale: GradeScale, px_per_grade: float, look: Look) -> list[Entry]:
    """Return what a bar's length means, or the tiles' inks where bars had no room."""
    inks = look.palette
    if px_per_grade == 0.0:
        words = scale.words(look.measures)
        return [
            Entry(
                sign=element(
                    "rect",
                    x=-TILE_PX / 2.0,
                    y=-7.0,
                    width=TILE_PX,
                    height=14.0,
                    fill=inks.ramp[step],
                    stroke=inks.ink,
                    stroke_width=0.7,
                ),
                words=f"grade {words[step]}" if step == 0 else words[step],
                sign_px=16.0,
                starts_row=step == 0,
            )
            for step in range(5)
        ]
    bar_mg_m3, bar_px = _neat_bar(px_per_grade, look)
    whole = quantity_words(bar_mg_m3, "grade", look.measures, figures=1)
    return [
        Entry(
            sign=_sample_sign(scale.ink(bar_mg_m3, look), bar_px, look),
            words=f"sample and its grade with 80 %; this long = {whole}",
            sign_px=bar_px + 42.0,
            starts_row=True,
        )
    ]


def _ring_entries(columns: Sequence[Column], look: Look) -> list[Entry]:
    samples = [sample for one in columns for sample in one.samples]
    entries = []
    if any(one.colors == 0 for one in samples):
        entries.append(
            Entry(sign=_ring(look, None), words="washed, no colors", sign_px=14.0)
        )
    if any(one.grade_mg_m3 is None and one.colors is None for one in samples):
        entries.append(
            Entry(sign=_ring(look, "0.1 2.4"), words="not washed yet", sign_px=14.0)
        )
    return entries


def _ring(look: Look, dashes: str | None) -> Markup:
    return element(
        "circle",
        r=3.6,
        fill="none",
        stroke=look.palette.ink,
        stroke_width=1.3,
        stroke_dasharray=dashes,
        stroke_linecap="round" if dashes else None,
    )


def _neat_bar(px_per_grade: float, look: Look) -> tuple[float, float]:
    """Return a round grade of the reader's unit, and the bar that stands for it."""
    one_mg_m3 = to_inside(1.0, look.measures.grade, "grade")
    wanted_px = 26.0 if look.narrow else 60.0
    grade_mg_m3 = neat_step(wanted_px / px_per_grade / one_mg_m3, 1.0) * one_mg_m3
    return grade_mg_m3, grade_mg_m3 * px_per_grade


def _sample_sign(fill: str, bar_px: float, look: Look) -> Markup:
    inks = look.palette
    line: dict[str, str | float] = {
        "fill": "none",
        "stroke": inks.ink,
        "stroke_width": 1.0,
    }
    left = -bar_px / 2.0 - 5.0
    bracket = [(left - 7, -6.0), (left - 3, -6.0), (left - 3, 6.0), (left - 7, 6.0)]
    whisker = f"M{left + bar_px - 8:.1f} 0h16m-16 -3v6m16 -6v6"
    return group(
        element("path", d=path_text(bracket), **line),
        element(
            "rect",
            x=left,
            y=-4.0,
            width=bar_px,
            height=8.0,
            fill=fill,
            stroke=inks.ink,
            stroke_width=0.7,
        ),
        element("path", d=whisker, stroke=inks.paper, stroke_width=3.0, fill="none"),
        element("path", d=whisker, **line),
    )
