"""A legend set in rows under a picture: a sign, then its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pennyweight.pictures.svg import Look, Markup, element, group, number_text, text
from pennyweight.pictures.textwidth import shorten, text_width, wrap

SIGN_PX = 30.0
BETWEEN_PX = 22.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One sign and its words.

    Attributes
    ----------
    sign : Markup
        Drawn around the origin.
    words : str
        What it means.
    sign_px : float
        Room for the sign [px].
    starts_row : bool
        Whether a new row begins here.
    """

    sign: Markup
    words: str
    sign_px: float = SIGN_PX
    starts_row: bool = False


def draw_legend(
    entries: Sequence[Entry], look: Look, top_px: float, *, left_px: float = 12.0
) -> tuple[Markup, float]:
    """Return the legend and where it ends [px].

    Parameters
    ----------
    entries : sequence of Entry
        In reading order.
    look : Look
        Width and type size.
    top_px : float
        Where it begins [px].
    left_px : float
        Margin on both sides [px].

    Returns
    -------
    tuple of (Markup, float)
        The legend, and its lower edge [px].
    """
    row_px = look.small_px * 1.9
    x_px, y_px = left_px, top_px + row_px / 2.0
    drawn = []
    for entry in entries:
        room = look.width_px - 2.0 * left_px - entry.sign_px
        words = shorten(entry.words, look.small_px, room)
        width = entry.sign_px + text_width(words, look.small_px)
        over = x_px + width > look.width_px - left_px
        if (over or entry.starts_row) and x_px > left_px:
            x_px, y_px = left_px, y_px + row_px
        place = f"translate({number_text(x_px + entry.sign_px / 2.0 - 3.0)} "
        drawn.append(group(entry.sign, transform=place + f"{number_text(y_px)})"))
        drawn.append(
            text(
                x_px + entry.sign_px,
                y_px + look.small_px * 0.34,
                words,
                font_size=look.small_px,
                fill=look.palette.soft_ink,
            )
        )
        x_px += width + BETWEEN_PX
    return group(*drawn), y_px + row_px / 2.0


def draw_note(
    words: str, look: Look, top_px: float, *, left_px: float = 12.0
) -> tuple[Markup, float]:
    """Return a remark set in lines under a picture, and where it ends [px]."""
    size = look.small_px
    lines = wrap(words, size, look.width_px - 2.0 * left_px)
    drawn = [
        text(
            left_px,
            top_px + size * (1.1 + 1.35 * number),
            line,
            font_size=size,
            fill=look.palette.soft_ink,
        )
        for number, line in enumerate(lines)
    ]
    return group(*drawn), top_px + size * (0.5 + 1.35 * len(lines))


def hatch(name: str, look: Look) -> Markup:
    """Return the fine hatch of ground never sampled, as a pattern to define."""
    return element(
        "pattern",
        element(
            "path",
            d="M0 0V6",
            stroke=look.palette.soft_ink,
            stroke_width=0.55,
            stroke_opacity=0.6,
        ),
        id=name,
        width=6.0,
        height=6.0,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )
