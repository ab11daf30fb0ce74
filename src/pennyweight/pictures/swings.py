"""What moves the margin: one bar for each term, the strongest on top."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.wording import number_words
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthsaid import TERM_WORDS, swing_words
from pennyweight.pictures.legend import draw_note
from pennyweight.pictures.mapframe import neat_ticks
from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    group,
    haloed,
    path_text,
    text,
    title,
)
from pennyweight.pictures.textwidth import text_width
from pennyweight.worth.risk import Swing

#: Height of a row, its words over its bar, and of the bar [px].
ROW_PX, BAR_PX, TOP_PX = 40.0, 13.0, 8.0


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    left_px: float
    right_px: float

    def x_px(self, money: float) -> float:
        """Return a sum of money in the picture [px]."""
        share = (money - self.low) / (self.high - self.low)
        return self.left_px + share * (self.right_px - self.left_px)


def draw_swings(worth: WorthAnswer, look: Look) -> str:
    """Return what each term alone does to the expected margin.

    Parameters
    ----------
    worth : WorthAnswer
        With its swings.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where there is no cut.
    """
    label = "What moves what is left"
    if not worth.swings or worth.margin is None:
        words = "No cut is proposed, so nothing moves what is left."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="swings")
    scale = _scale_of(worth, look)
    bottom = TOP_PX + ROW_PX * len(worth.swings) + 6.0
    rows = [
        _row(one, scale, TOP_PX + ROW_PX * at, look)
        for at, one in enumerate(worth.swings)
    ]
    remark = (
        f"Each bar is the expected sum that is left ({worth.currency}) when one term "
        "alone is worse or better."
    )
    note, end_px = draw_note(f"{remark} {worth.made_at[:10]}.", look, bottom + 26.0)
    return drawing(
        look,
        end_px + 6.0,
        _figures(scale, bottom, worth.currency, look),
        *(bars for bars, _ in rows),
        _expected(worth.margin.mean, scale, bottom, look),
        *(words for _, words in rows),
        note,
        label=label,
        desc=f"{remark} {_strongest(worth.swings)}",
        kind="swings",
    )


def _strongest(swings: tuple[Swing, ...]) -> str:
    first = swings[0]
    low, high = number_words(first.low, 3), number_words(first.high, 3)
    return f"Most moves {TERM_WORDS[first.name]}: from {low} to {high}."


def _scale_of(worth: WorthAnswer, look: Look) -> _Scale:
    ends = [one for swing in worth.swings for one in (swing.low, swing.high)]
    low, high = min(0.0, *ends), max(0.0, *ends)
    return _Scale(low, high, 16.0, look.width_px - 30.0)


def _row(
    swing: Swing, scale: _Scale, top_px: float, look: Look
) -> tuple[Markup, Markup]:
    """Return the bar of a term, and its words over it."""
    inks = look.palette
    left, right = sorted((scale.x_px(swing.low), scale.x_px(swing.high)))
    zero, y_px = scale.x_px(0.0), top_px + 19.0
    words = TERM_WORDS[swing.name]
    words = f"{words[:1].upper()}{words[1:]}"
    how = swing_words(swing.name)
    said = [
        text(
            scale.left_px,
            top_px + 13.0,
            words,
            font_size=look.small_px,
            **haloed(look),
        ),
        text(
            scale.left_px + text_width(words, look.small_px) + 8.0,
            top_px + 13.0,
            how,
            font_size=look.small_px,
            fill=inks.soft_ink,
            **haloed(look),
        ),
    ]
    parts = []
    bar = {"y": y_px, "height": BAR_PX}
    if left < zero:
        end = min(right, zero)
        parts.append(
            element("rect", x=left, width=max(end - left, 0.5), fill=inks.danger, **bar)
        )
    if right > zero:
        start = max(left, zero)
        parts.append(
            element(
                "rect", x=start, width=max(right - start, 0.5), fill=inks.ink, **bar
            )
        )
    low, high = number_words(swing.low, 3), number_words(swing.high, 3)
    return group(title(f"{words}: {low} to {high}"), *parts), group(*said)


def _expected(mean: float, scale: _Scale, bottom_px: float, look: Look) -> Markup:
    x_px = scale.x_px(mean)
    return group(
        title("expected now"),
        element(
            "path",
            d=path_text([(x_px, TOP_PX + 16.0), (x_px, bottom_px)]),
            stroke=look.palette.paper,
            stroke_width=3.0,
        ),
        element(
            "path",
            d=path_text([(x_px, TOP_PX + 16.0), (x_px, bottom_px)]),
            stroke=look.palette.ink,
            stroke_width=1.2,
            stroke_dasharray="3 3",
        ),
    )


def _figures(scale: _Scale, bottom_px: float, currency: str, look: Look) -> Markup:
    inks = look.palette
    ends = [(scale.left_px, bottom_px), (scale.right_px, bottom_px)]
    drawn = [element("path", d=path_text(ends), stroke=inks.ink)]
    ticks = neat_ticks(scale.low, scale.high, 3.0 if look.narrow else 6.0)
    for at, tick in enumerate(ticks):
        x_px = scale.x_px(tick)
        words = number_words(tick, 3)
        if at == len(ticks) - 1:
            words = f"{words} {currency}"
        half = text_width(words, look.small_px) / 2.0
        ends = [(x_px, bottom_px), (x_px, bottom_px + 5.0)]
        drawn.append(element("path", d=path_text(ends), stroke=inks.ink))
        drawn.append(
            text(
                min(max(x_px, half + 4.0), look.width_px - 4.0 - half),
                bottom_px + 18.0,
                words,
                text_anchor="middle",
                font_size=look.small_px,
            )
        )
    zero = scale.x_px(0.0)
    drawn.append(
        element(
            "path",
            d=path_text([(zero, TOP_PX + 16.0), (zero, bottom_px)]),
            stroke=inks.danger,
        )
    )
    return group(*drawn)
