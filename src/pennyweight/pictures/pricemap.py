"""Which ground goes first: the straightened valley, colored by the price it waits for.

Downstream to the right, left bank up, as one stands looking downstream.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pennyweight.answers.wording import unit_name
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthparts import PriceMap
from pennyweight.answers.worthtables import price_words
from pennyweight.pictures.legend import draw_note
from pennyweight.pictures.mapframe import length_ticks, scale_words
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

#: Height of the strip, at least and at most [px].
LEAST_PX, MOST_PX = 120.0, 260.0

#: Room on the left for the scale across [px], and above.
LEFT_PX, TOP_PX = 40.0, 14.0

#: Prices, in parts of today's, up to which ground wears each ink, the richest first.
STEPS = (0.4, 0.7, 1.0, 1.5, 2.0)


@dataclass(frozen=True, slots=True)
class _Strip:
    s0_m: float
    n1_m: float
    along_px: float
    across_px: float

    def x_px(self, s_m: float) -> float:
        """Return a place along the valley in the picture [px]."""
        return LEFT_PX + (s_m - self.s0_m) * self.along_px

    def y_px(self, n_m: float) -> float:
        """Return a place across the valley in the picture [px]."""
        return TOP_PX + (self.n1_m - n_m) * self.across_px


def draw_price_map(worth: WorthAnswer, look: Look) -> str:
    """Return the ground by the price of gold at which it goes.

    Parameters
    ----------
    worth : WorthAnswer
        With its map of prices.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where nothing goes at any price tried.
    """
    label = "Which ground goes first"
    ground = worth.price_map
    if ground is None or not np.isfinite(ground.price_share).any():
        words = "At twice today's price no ground would go either."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="prices")
    strip, bottom = _lay_out(ground, look)
    legend, legend_px = _legend(worth, bottom + 30.0, look)
    scale = scale_words("widths", "lengths", strip.across_px / strip.along_px)
    words = "Ground in the darkest ink goes at the lowest price of gold"
    words = words.replace("darkest", "brightest") if look.night else words
    remark = f"{words}; downstream is to the right; {scale}. {worth.made_at[:10]}."
    note, end_px = draw_note(remark, look, legend_px + 2.0)
    return drawing(
        look,
        end_px + 6.0,
        _cells(ground, strip, worth, look),
        _scales(ground, strip, bottom, look),
        legend,
        note,
        label=label,
        desc=f"{words}.",
        kind="prices",
    )


def _lay_out(ground: PriceMap, look: Look) -> tuple[_Strip, float]:
    """Return the strip of the ground that goes at all, and its lower edge [px]."""
    rows, columns = _used(ground)
    s0_m, s1_m = ground.s_edges_m[rows[0]], ground.s_edges_m[rows[-1] + 1]
    n0_m, n1_m = ground.n_edges_m[columns[0]], ground.n_edges_m[columns[-1] + 1]
    along = (look.width_px - LEFT_PX - 14.0) / (s1_m - s0_m)
    height = float(np.clip(along * (n1_m - n0_m), LEAST_PX, MOST_PX))
    across = height / (n1_m - n0_m)
    return _Strip(float(s0_m), float(n1_m), along, across), TOP_PX + height


def _used(ground: PriceMap) -> tuple[np.ndarray, np.ndarray]:
    goes = np.isfinite(ground.price_share)
    return np.flatnonzero(goes.any(axis=1)), np.flatnonzero(goes.any(axis=0))


def step_of(share: float) -> int:
    """Return the ink that a price wears: 4 for the lowest prices, 0 for the highest.

    Parameters
    ----------
    share : float
        Price over today's [-].

    Returns
    -------
    int
        Place in the ramp [-].

    Examples
    --------
    >>> step_of(0.3), step_of(1.0), step_of(2.0)
    (4, 2, 0)
    """
    return len(STEPS) - 1 - int(np.searchsorted(STEPS, share - 1e-9))


def _cells(ground: PriceMap, strip: _Strip, worth: WorthAnswer, look: Look) -> Markup:
    """Return runs of columns that wear one ink, as one path for each ink."""
    ramp = look.palette.ramp
    paths: dict[int, list[str]] = {}
    for row in _used(ground)[0]:
        steps = [
            step_of(float(one)) if np.isfinite(one) else -1
            for one in ground.price_share[row]
        ]
        left, right = (strip.x_px(float(ground.s_edges_m[at])) for at in (row, row + 1))
        start = 0
        for at in range(1, len(steps) + 1):
            if at < len(steps) and steps[at] == steps[start]:
                continue
            if steps[start] >= 0:
                low, high = (
                    strip.y_px(float(ground.n_edges_m[edge])) for edge in (start, at)
                )
                box = [(left, high), (right, high), (right, low), (left, low)]
                paths.setdefault(steps[start], []).append(path_text(box, closed=True))
            start = at
    return group(
        *(
            element(
                "path",
                title(_step_words(step, worth, look)),
                d="".join(paths[step]),
                fill=ramp[step],
                stroke=ramp[step],
                stroke_width=0.4,
            )
            for step in sorted(paths)
        )
    )


def _step_words(step: int, worth: WorthAnswer, look: Look) -> str:
    today = worth.prices[0].price_per_g / worth.prices[0].price_share
    at = len(STEPS) - 1 - step
    price = price_words(STEPS[at] * today, worth.currency, look.measures)
    return f"goes at up to {price}"


def _legend(worth: WorthAnswer, top_px: float, look: Look) -> tuple[Markup, float]:
    """Return a box and a price for each ink, wrapped to the width."""
    today = worth.prices[0].price_per_g / worth.prices[0].price_share
    size, x_px, y_px = look.small_px, LEFT_PX, top_px
    drawn = []
    for at, share in enumerate(STEPS):
        words = f"to {price_words(share * today, worth.currency, look.measures)}"
        words += ", today" if share == 1.0 else ""
        wide = 22.0 + text_width(words, size) + 16.0
        if x_px + wide > look.width_px - 6.0 and x_px > LEFT_PX:
            x_px, y_px = LEFT_PX, y_px + 19.0
        drawn.append(
            element(
                "rect",
                x=x_px,
                y=y_px,
                width=14.0,
                height=12.0,
                fill=look.palette.ramp[len(STEPS) - 1 - at],
                stroke=look.palette.soft_ink,
                stroke_width=0.6,
            )
        )
        drawn.append(text(x_px + 20.0, y_px + 10.5, words, font_size=size))
        x_px += wide
    return group(*drawn), y_px + 16.0


def _scales(ground: PriceMap, strip: _Strip, bottom_px: float, look: Look) -> Markup:
    inks, size = look.palette, look.small_px
    rows, columns = _used(ground)
    s0_m, s1_m = (float(ground.s_edges_m[at]) for at in (rows[0], rows[-1] + 1))
    n0_m, n1_m = (float(ground.n_edges_m[at]) for at in (columns[0], columns[-1] + 1))
    unit = unit_name(look.measures.length)
    wanted = (look.width_px - LEFT_PX) / 90.0
    drawn = [
        element(
            "path",
            d=path_text([(LEFT_PX, TOP_PX), (LEFT_PX, bottom_px)]),
            stroke=inks.faint_ink,
        )
    ]
    ticks = length_ticks(s0_m, s1_m, wanted=wanted, measures=look.measures)
    for at, (s_m, words) in enumerate(ticks):
        shown = f"{words} {unit}" if at == len(ticks) - 1 else words
        half = text_width(shown, size) / 2.0
        x_px = strip.x_px(s_m)
        ends = [(x_px, bottom_px), (x_px, bottom_px + 5.0)]
        drawn.append(element("path", d=path_text(ends), stroke=inks.ink))
        drawn.append(
            text(
                min(x_px, look.width_px - 4.0 - half),
                bottom_px + 18.0,
                shown,
                text_anchor="middle",
                font_size=size,
            )
        )
    across = length_ticks(n0_m, n1_m, wanted=4.0, measures=look.measures)
    drawn += [
        text(
            LEFT_PX - 6.0,
            strip.y_px(n_m) + 4.0,
            words,
            text_anchor="end",
            font_size=size,
        )
        for n_m, words in across
    ]
    return group(*drawn)
