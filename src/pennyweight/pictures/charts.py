"""Charts of what may be: twenty dots, each as likely as any other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import number_words, percent_words, unit_name
from pennyweight.answers.worth import WorthAnswer
from pennyweight.pictures.labels import spread_apart
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
from pennyweight.pictures.textwidth import text_width
from pennyweight.spread import Spread, spread_of
from pennyweight.units import from_inside

#: Dots of a distribution: each stands for one chance in twenty.
DOTS = 20

#: Room for the stacks of dots, and the largest and smallest dot [px].
STACK_PX = 150.0
DOT_PX, LEAST_DOT_PX = 26.0, 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DotAxis:
    """A scale under stacks of dots.

    Attributes
    ----------
    low, high : float
        Its ends, in the unit shown.
    left_px, right_px : float
        Where they stand [px].
    unit : str
        Printed after the last figure.
    """

    low: float
    high: float
    left_px: float
    right_px: float
    unit: str

    def x_px(self, value: float) -> float:
        """Return a value in the picture [px]."""
        share = (value - self.low) / (self.high - self.low)
        return self.left_px + share * (self.right_px - self.left_px)


def draw_gold_chart(trace: TraceAnswer, look: Look) -> str:
    """Return how much gold the sampled stretch may hold.

    Parameters
    ----------
    trace : TraceAnswer
        With its draws of gold.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where the total cannot be told.
    """
    label = "Gold of the sampled stretch"
    draws_g = trace.gold_draws_g
    if draws_g is None or len(draws_g) == 0:
        words = "The gold of the stretch cannot be told yet."
        return _sentence_only(words, label, look, "gold")
    unit = look.measures.mass
    shown = np.asarray(
        [from_inside(float(one) * 1000.0, unit, "mass") for one in draws_g]
    )
    return _draw_dots(
        shown,
        look,
        unit=unit_name(unit),
        label=label,
        kind="gold",
        ink=look.palette.gold,
        day=trace.made_at[:10],
    )


def draw_margin_chart(worth: WorthAnswer, look: Look) -> str:
    """Return what may be left after costs; the part that is a loss in red.

    Parameters
    ----------
    worth : WorthAnswer
        With its draws of the margin.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where there is no cut.
    """
    label = "What is left after costs"
    draws = worth.margin_draws
    if draws is None or len(draws) == 0:
        words = "No cut is proposed, so there is nothing to lose or to win."
        return _sentence_only(words, label, look, "margin")
    return _draw_dots(
        np.asarray(draws, dtype=np.float64),
        look,
        unit=worth.currency,
        label=label,
        kind="margin",
        ink=look.palette.ink,
        day=worth.made_at[:10],
    )


def _sentence_only(words: str, label: str, look: Look, kind: str) -> str:
    note, end_px = draw_note(words, look, 8.0)
    return drawing(look, end_px + 8.0, note, label=label, desc=words, kind=kind)


def _draw_dots(
    values: npt.NDArray[np.float64],
    look: Look,
    *,
    unit: str,
    label: str,
    kind: str,
    ink: str,
    day: str,
) -> str:
    dots = np.quantile(values, (np.arange(DOTS) + 0.5) / DOTS)
    spread = spread_of(values)
    if spread is None:
        return _sentence_only("No number can be told.", label, look, kind)
    may_lose = kind == "margin" and bool(values.min() < 0.0)
    axis = _axis(dots, look, unit, with_zero=kind == "gold" or may_lose)
    losses = int(np.count_nonzero(dots < 0.0)) if kind == "margin" else 0
    places = [axis.x_px(float(one)) for one in dots]
    border = axis.x_px(0.0) if kind == "margin" and may_lose else None
    dot_px, stacks = stack_dots(places, losses, border_px=border)
    base = 22.0 + dot_px * max(max(level for _, level in stacks) + 1, 3)
    drawn = [
        _dot(place, base, dot_px, ink=ink, look=look, lost=number < losses)
        for number, place in enumerate(stacks)
    ]
    share = float(np.mean(values < 0.0)) if may_lose else None
    words = f"Each dot is one chance in {DOTS}."
    if share is not None:
        words += f" Red rings lose money: {percent_words(share)}."
    note, end_px = draw_note(f"{words} {day}.", look, base + 62.0)
    return drawing(
        look,
        end_px + 6.0,
        _zero_line(axis, base, look) if may_lose else None,
        group(title(words), *drawn),
        _figures(axis, base, look),
        _bracket(spread, axis, base + 34.0, look),
        note,
        label=label,
        desc=_dots_description(spread, unit, share),
        kind=kind,
    )


def _axis(
    dots: npt.NDArray[np.float64], look: Look, unit: str, *, with_zero: bool
) -> DotAxis:
    low, high = float(dots.min()), float(dots.max())
    if with_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if high - low < 1e-9:
        low, high = low - 1.0, high + 1.0
    margin = 26.0 if look.narrow else 48.0
    return DotAxis(
        low=low, high=high, left_px=margin, right_px=look.width_px - margin, unit=unit
    )


def stack_dots(
    places_px: Sequence[float], losses: int = 0, *, border_px: float | None = None
) -> tuple[float, list[tuple[float, int]]]:
    """Return the largest dots that fit, each with its place and level in its stack.

    Parameters
    ----------
    places_px : sequence of float
        Where the values stand, ascending [px].
    losses : int
        How many of the first are losses; they never share a stack with the others.
    border_px : float, optional
        What no stack may cross: losses stay left of it, gains right [px].

    Returns
    -------
    tuple
        Diameter of a dot [px]; for each, the middle of its stack [px] and how many
        lie under it.
    """
    size = DOT_PX
    while True:
        columns = _columns(places_px[:losses], size) + _columns(
            places_px[losses:], size
        )
        tallest = max((len(column) for column in columns), default=0)
        if tallest * size <= STACK_PX or size <= LEAST_DOT_PX:
            break
        size -= 1.0
    middles = spread_apart([(one[0] + one[-1]) / 2.0 for one in columns], size)
    if border_px is not None:
        left = len(_columns(places_px[:losses], size))
        middles = [
            *_pushed(middles[:left][::-1], border_px, -size)[::-1],
            *_pushed(middles[left:], border_px, size),
        ]
    return size, [
        (middle, level)
        for middle, column in zip(middles, columns, strict=True)
        for level in range(len(column))
    ]


def _pushed(middles_px: list[float], border_px: float, step_px: float) -> list[float]:
    """Return stacks pushed away from a border as far as they cross it.

    The nearest comes first; a negative step pushes to the left.
    """
    least, pushed = border_px + step_px / 2.0, []
    for middle in middles_px:
        place = max(middle, least) if step_px > 0.0 else min(middle, least)
        pushed.append(place)
        least = place + step_px
    return pushed


def _columns(places_px: Sequence[float], size_px: float) -> list[list[float]]:
    """Return ascending places gathered into stacks no wider than a dot."""
    columns: list[list[float]] = []
    for place in places_px:
        if columns and place - columns[-1][0] < size_px:
            columns[-1].append(place)
        else:
            columns.append([place])
    return columns


def _dot(
    place: tuple[float, int],
    base_px: float,
    dot_px: float,
    *,
    ink: str,
    look: Look,
    lost: bool,
) -> Markup:
    x_px, level = place
    return element(
        "circle",
        cx=x_px,
        cy=base_px - dot_px * (level + 0.5),
        r=dot_px * 0.46 - (1.0 if lost else 0.0),
        fill=look.palette.paper if lost else ink,
        stroke=look.palette.danger if lost else None,
        stroke_width=2.0 if lost else None,
    )


def _zero_line(axis: DotAxis, base_px: float, look: Look) -> Markup:
    inks, x_px = look.palette, axis.x_px(0.0)
    return group(
        element(
            "path", d=path_text([(x_px, 4.0), (x_px, base_px)]), stroke=inks.danger
        ),
        text(
            x_px - 6.0,
            13.0,
            "\u2190 loss",
            text_anchor="end",
            fill=inks.danger,
            font_size=look.small_px,
        ),
    )


def _figures(axis: DotAxis, base_px: float, look: Look) -> Markup:
    """Return the scale's line, ticks and figures; the last one carries the unit."""
    inks = look.palette
    ticks = neat_ticks(axis.low, axis.high, 4.0 if look.narrow else 8.0)
    drawn = [
        element(
            "path",
            d=path_text(
                [(axis.left_px - 8.0, base_px), (axis.right_px + 8.0, base_px)]
            ),
            stroke=inks.ink,
        )
    ]
    for number, tick in enumerate(ticks):
        x_px = axis.x_px(tick)
        words = number_words(tick, 3)
        if number == len(ticks) - 1:
            words = f"{words} {axis.unit}"
        half = text_width(words, look.small_px) / 2.0
        x_text = min(x_px, look.width_px - 4.0 - half)
        ends = [(x_px, base_px), (x_px, base_px + 5.0)]
        drawn.append(element("path", d=path_text(ends), stroke=inks.ink))
        drawn.append(
            text(
                x_text,
                base_px + 18.0,
                words,
                text_anchor="middle",
                font_size=look.small_px,
            )
        )
    return group(*drawn)


def _bracket(spread: Spread, axis: DotAxis, y_px: float, look: Look) -> Markup:
    """Return the 80 % under the scale, with the median marked."""
    inks = look.palette
    low, middle, high = (axis.x_px(one) for one in (spread.p10, spread.p50, spread.p90))
    words = (
        f"80 %: {number_words(spread.p10)} to {number_words(spread.p90)} {axis.unit}"
    )
    half = text_width(words, look.small_px, bold=True) / 2.0
    x_text = min(max((low + high) / 2.0, half + 6.0), look.width_px - half - 6.0)
    return group(
        element(
            "path",
            d=f"M{low:.2f} {y_px - 4:.2f}v8M{low:.2f} {y_px:.2f}H{high:.2f}"
            f"M{high:.2f} {y_px - 4:.2f}v8",
            stroke=inks.ink,
            stroke_width=1.4,
            fill="none",
        ),
        element("circle", cx=middle, cy=y_px, r=4.0, fill=inks.ink),
        text(
            x_text,
            y_px + 19.0,
            words,
            text_anchor="middle",
            font_size=look.small_px,
            font_weight="600",
        ),
    )


def _dots_description(spread: Spread, unit: str, share: float | None) -> str:
    words = (
        f"Median {number_words(spread.p50)} {unit}; with 80 % probability between "
        f"{number_words(spread.p10)} and {number_words(spread.p90)} {unit}."
    )
    if share is not None:
        words += f" The chance of a loss is {percent_words(share)}."
    return words
