"""Marks of the search for a source, the same on tree and map."""

from __future__ import annotations

from pennyweight.answers.upstream import WashedPlace
from pennyweight.answers.wording import quantity_words
from pennyweight.pictures.svg import (
    Look,
    Markup,
    element,
    group,
    path_text,
    text,
    title,
)
from pennyweight.pictures.textwidth import text_width

#: Width of the gold where it is sure to pass [px].
GOLD_PX = 9.0


def washed_mark(one: WashedPlace, place_px: tuple[float, float], look: Look) -> Markup:
    """Return the mark of a washed place: disk, ring, or half ring for a find."""
    inks = look.palette
    words = f"{', '.join(one.digs[:4])}: {one.colors:.0f} colors"
    if one.bank_m3 is None:
        words += ", no fair volume"
    else:
        words += f" in {quantity_words(one.bank_m3, 'volume', look.measures)} (bank)"
    radius = 4.0 if one.colors == 0.0 else 4.0 + min(one.colors, 100.0) ** 0.5 / 4.0
    return element(
        "circle",
        title(words),
        cx=place_px[0],
        cy=place_px[1],
        r=radius,
        fill=inks.paper if one.colors == 0.0 else inks.grade_5,
        stroke=inks.ink,
        stroke_width=1.4,
        stroke_dasharray="2 2" if one.bank_m3 is None else None,
        data_dig=one.digs[0],
    )


def source_mark(
    place_px: tuple[float, float], chance: float, look: Look, *, words: str
) -> Markup:
    """Return the mark of a source: a diamond as large as it is likely."""
    x_px, y_px = place_px
    size = 4.0 + 9.0 * chance
    corners = [
        (x_px, y_px - size),
        (x_px + size, y_px),
        (x_px, y_px + size),
        (x_px - size, y_px),
    ]
    inks = look.palette
    return element(
        "path",
        title(words),
        d=path_text(corners, closed=True),
        fill=inks.gold,
        stroke=inks.paper,
        stroke_width=1.2,
    )


def next_mark(rank: int, place_px: tuple[float, float], look: Look) -> Markup:
    """Return the square of a proposed sample with its rank in it."""
    x_px, y_px = place_px
    inks = look.palette
    words = str(rank)
    return group(
        title(f"wash next: {rank}"),
        element(
            "rect",
            x=x_px - 7.5,
            y=y_px - 7.5,
            width=15.0,
            height=15.0,
            fill=inks.paper,
            stroke=inks.ink,
            stroke_width=1.4,
        ),
        text(
            x_px - text_width(words, look.small_px) / 2.0,
            y_px + look.small_px * 0.35,
            words,
            font_size=look.small_px,
            font_weight="bold",
        ),
        data_next=str(rank),
    )
