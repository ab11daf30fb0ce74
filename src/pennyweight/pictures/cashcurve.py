"""The purse week by week: what is laid out, and when it comes back."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.wording import money_words, number_words, range_words
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthparts import Cash
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

#: Height of the picture's field, and room over and under it [px].
FIELD_PX, NARROW_FIELD_PX, TOP_PX = 210.0, 180.0, 14.0

#: Room between two figures of the scale of money [px].
FIGURE_ROOM_PX = 46.0


@dataclass(frozen=True, slots=True)
class _Axes:
    """Weeks to the right, money upward."""

    left_px: float
    right_px: float
    top_px: float
    bottom_px: float
    weeks: int
    low: float
    high: float

    def x_px(self, week: float) -> float:
        """Return a week in the picture [px]."""
        share = week / max(self.weeks, 1)
        return self.left_px + share * (self.right_px - self.left_px)

    def y_px(self, money: float) -> float:
        """Return a sum of money in the picture [px]."""
        share = (money - self.low) / (self.high - self.low)
        return self.bottom_px - share * (self.bottom_px - self.top_px)


def draw_cash_curve(worth: WorthAnswer, look: Look) -> str:
    """Return the purse at the end of every working week, with its 80 %.

    Parameters
    ----------
    worth : WorthAnswer
        With its cash.
    look : Look
        Units, inks, width.

    Returns
    -------
    str
        SVG text; only a sentence where there is no cut.
    """
    label = "The purse, week by week"
    cash = worth.cash
    if cash is None or len(cash.weeks) < 2:
        words = "No cut is proposed, so no money goes out or comes in."
        note, end_px = draw_note(words, look, 8.0)
        return drawing(look, end_px + 8.0, note, label=label, desc=words, kind="cash")
    axes = _axes(cash, worth.currency, look)
    words = describe_cash(cash, worth.currency)
    note, end_px = draw_note(
        f"Line: middle; band: 80 %. {worth.made_at[:10]}.", look, axes.bottom_px + 36.0
    )
    return drawing(
        look,
        end_px + 6.0,
        _scale(axes, worth.currency, look),
        _band(cash, axes, look),
        _zero(axes, look),
        _middle(cash, axes, look),
        _deepest(cash, axes, worth.currency, look),
        note,
        label=label,
        desc=words,
        kind="cash",
    )


def describe_cash(cash: Cash, currency: str) -> str:
    """Return what the purse does, in a sentence or two.

    Parameters
    ----------
    cash : Cash
        The purse.
    currency : str
        Of the money.

    Returns
    -------
    str
        Plain words.
    """
    deep = cash.at_risk
    said = (
        f"At its lowest the purse is {money_words(deep.p50, currency)} down (80 %: "
        f"{range_words(deep.p10, deep.p90)})."
    )
    if cash.paid_back_week is None:
        return f"{said} It is as likely as not never paid back."
    return f"{said} It is as likely as not paid back after week {cash.paid_back_week}."


def _axes(cash: Cash, currency: str, look: Look) -> _Axes:
    low = min(0.0, *(one.cash.p10 for one in cash.weeks))
    high = max(0.0, *(one.cash.p90 for one in cash.weeks))
    if high - low < 1e-9:
        low, high = -1.0, 1.0
    room = 0.08 * (high - low)
    figures = [number_words(one, 3) for one in neat_ticks(low, high, 4.0)]
    wide = max(text_width(one, look.small_px) for one in figures)
    field = NARROW_FIELD_PX if look.narrow else FIELD_PX
    return _Axes(
        left_px=wide + 18.0,
        right_px=look.width_px - 16.0,
        top_px=TOP_PX + 12.0,
        bottom_px=TOP_PX + 12.0 + field,
        weeks=cash.weeks[-1].week,
        low=low - room,
        high=high + room,
    )


def _scale(axes: _Axes, currency: str, look: Look) -> Markup:
    inks, size = look.palette, look.small_px
    wanted = (axes.bottom_px - axes.top_px) / FIGURE_ROOM_PX
    drawn = [text(axes.left_px, TOP_PX, currency, font_size=size, fill=inks.soft_ink)]
    for money in neat_ticks(axes.low, axes.high, wanted):
        y_px = axes.y_px(money)
        ends = [(axes.left_px, y_px), (axes.right_px, y_px)]
        drawn.append(element("path", d=path_text(ends), stroke=inks.faint_ink))
        drawn.append(
            text(
                axes.left_px - 6.0,
                y_px + 4.0,
                number_words(money, 3),
                text_anchor="end",
                font_size=size,
            )
        )
    wanted = (axes.right_px - axes.left_px) / 60.0
    ticks = [one for one in neat_ticks(0.0, axes.weeks, wanted) if one == round(one)]
    for week in ticks:
        words = f"week {week:.0f}" if week == ticks[-1] else f"{week:.0f}"
        half = text_width(words, size) / 2.0
        x_px = axes.x_px(week)
        drawn.append(
            text(
                min(x_px, look.width_px - 4.0 - half),
                axes.bottom_px + 18.0,
                words,
                text_anchor="middle",
                font_size=size,
            )
        )
        ends = [(x_px, axes.bottom_px), (x_px, axes.bottom_px + 5.0)]
        drawn.append(element("path", d=path_text(ends), stroke=inks.ink))
    return group(*drawn)


def _band(cash: Cash, axes: _Axes, look: Look) -> Markup:
    above = [(axes.x_px(one.week), axes.y_px(one.cash.p90)) for one in cash.weeks]
    below = [(axes.x_px(one.week), axes.y_px(one.cash.p10)) for one in cash.weeks]
    return element(
        "path",
        title("80 % of what may be"),
        d=path_text([*above, *reversed(below)], closed=True),
        fill=look.palette.soft_ink,
        fill_opacity=0.22,
    )


def _zero(axes: _Axes, look: Look) -> Markup:
    y_px = axes.y_px(0.0)
    return element(
        "path",
        d=path_text([(axes.left_px, y_px), (axes.right_px, y_px)]),
        stroke=look.palette.danger,
        stroke_width=1.4,
    )


def _middle(cash: Cash, axes: _Axes, look: Look) -> Markup:
    points = [(axes.x_px(one.week), axes.y_px(one.cash.p50)) for one in cash.weeks]
    dots = [
        element(
            "circle",
            title(f"Week {one.week}: {number_words(one.cash.p50, 3)}"),
            cx=x_px,
            cy=y_px,
            r=2.6,
            fill=look.palette.ink,
        )
        for one, (x_px, y_px) in zip(cash.weeks, points, strict=True)
        if len(points) <= FIGURE_ROOM_PX
    ]
    line = element(
        "path",
        d=path_text(points),
        fill="none",
        stroke=look.palette.ink,
        stroke_width=2.0,
    )
    return group(line, *dots)


def _deepest(cash: Cash, axes: _Axes, currency: str, look: Look) -> Markup:
    """Return the lowest point of the middle line, with its money."""
    lowest = min(cash.weeks, key=lambda one: one.cash.p50)
    if lowest.cash.p50 >= 0.0:
        return Markup("")
    when = f"in week {lowest.week}" if lowest.week else "before the first week"
    words = f"{money_words(lowest.cash.p50, currency)} {when}"
    x_px, y_px = axes.x_px(lowest.week), axes.y_px(lowest.cash.p50)
    right = x_px + 12.0 + text_width(words, look.small_px, bold=True)
    beside = right <= axes.right_px
    return group(
        element(
            "circle",
            cx=x_px,
            cy=y_px,
            r=5.0,
            fill=look.palette.paper,
            stroke=look.palette.danger,
            stroke_width=2.0,
        ),
        text(
            x_px + 12.0 if beside else x_px - 12.0,
            y_px + 12.0,
            words,
            text_anchor="start" if beside else "end",
            font_size=look.small_px,
            font_weight="600",
            fill=look.palette.danger,
            **haloed(look),
        ),
    )
