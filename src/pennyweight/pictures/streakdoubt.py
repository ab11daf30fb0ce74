"""Where streaks come together and where they may go on, drawn with their doubt.

Two streaks are one from somewhere along a broad pale stroke on: it lies where they meet
in the middle 80 % of the draws. Beyond the outermost lines a streak is a fan of dots
that widens and thins out, for no line was dug there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pennyweight.answers.trace import Beyond, Confluence, OneBy, Streak, TraceAnswer
from pennyweight.answers.wording import list_words, percent_words
from pennyweight.pictures.legend import Entry
from pennyweight.pictures.streakbands import Placer
from pennyweight.pictures.svg import Look, Markup, element, group, path_text, title
from pennyweight.spread import probability_word

#: Width of the stroke of a meeting [px].
MEETING_PX = 11.0
#: Meetings and projections less likely than this are left to the words [-].
LEAST_DRAWN = 0.2


def draw_confluences(
    confluences: Sequence[Confluence], place: Placer, look: Look
) -> Markup:
    """Return the stretches along which streaks come together.

    Parameters
    ----------
    confluences : sequence of Confluence
        Where streaks meet.
    place : callable
        Places valley coordinates in the picture.
    look : Look
        Inks and sizes.

    Returns
    -------
    Markup
        One broad stroke a pair that is likely enough.
    """
    drawn = [one for one in confluences if one.probability >= LEAST_DRAWN]
    return group(*(_draw_meeting(one, place, look) for one in drawn))


def confluence_words(one: Confluence) -> str:
    """Return what is said when a meeting is pointed at."""
    return (
        f"streaks {list_words(one.streaks)} come together somewhere along here: "
        f"{probability_word(one.probability)} ({percent_words(one.probability)})"
    )


def _draw_meeting(one: Confluence, place: Placer, look: Look) -> Markup:
    held = [at for at in one.one_by if one.s_m.p10 <= at.s_m <= one.s_m.p90]
    held = held if len(held) > 1 else list(one.one_by[:2])
    if len(held) < 2:
        return Markup("")
    d = path_text(place([at.s_m for at in held], _smooth(held)))
    stroke = {"d": d, "fill": "none", "stroke_linecap": "round"}
    return group(
        title(confluence_words(one)),
        element(
            "path",
            **stroke,
            stroke=look.palette.paper,
            stroke_width=MEETING_PX + 2.0,
            stroke_opacity=0.7,
        ),
        element(
            "path",
            **stroke,
            stroke=look.palette.gold,
            stroke_width=MEETING_PX,
            stroke_opacity=0.35 + 0.3 * one.probability,
        ),
        data_confluence=" ".join(one.streaks),
    )


def _smooth(places: Sequence[OneBy]) -> list[float]:
    """Return offsets without the steps of a median of few draws."""
    n_m = np.array([one.n_m for one in places])
    padded = np.pad(n_m, 2, mode="edge")
    smooth: list[float] = np.convolve(padded, np.full(5, 0.2), "valid").tolist()
    return smooth


def draw_beyond(trace: TraceAnswer, place: Placer, look: Look) -> Markup:
    """Return where streaks may go on beyond the outermost lines.

    Parameters
    ----------
    trace : TraceAnswer
        Streaks with their projections.
    place : callable
        Places valley coordinates in the picture.
    look : Look
        Inks and sizes.

    Returns
    -------
    Markup
        For each streak and side a fan of its 80 %, and its usual middle in dots.
    """
    fans = [
        _draw_fan(streak, toward, place, look)
        for streak in trace.streaks
        for toward in ("upstream", "downstream")
    ]
    return group(*fans)


def _draw_fan(streak: Streak, toward: str, place: Placer, look: Look) -> Markup:
    places = [
        one
        for one in streak.beyond
        if one.toward == toward and one.probability >= LEAST_DRAWN
    ]
    if not places or not streak.path:
        return Markup("")
    end = streak.path[0 if toward == "upstream" else -1]
    words = (
        f"streak {streak.id} may go on {toward}; no line is dug there: "
        f"{probability_word(places[-1].probability)} at the end"
    )
    s_m = [end.s_m, *(one.s_m for one in places)]
    left = [end.center_n_m.p90, *(one.center_n_m.p90 for one in places)]
    right = [end.center_n_m.p10, *(one.center_n_m.p10 for one in places)]
    ring = path_text([*place(s_m, left), *place(s_m, right)[::-1]], closed=True)
    middle = path_text(place(s_m, [end.n_m, *(one.n_m for one in places)]))
    gold = look.palette.gold
    usual = _mean_chance(places)
    return group(
        title(words),
        element("path", d=ring, fill=gold, fill_opacity=0.04 + 0.1 * usual),
        element(
            "path",
            d=middle,
            fill="none",
            stroke=gold,
            stroke_width=1.6,
            stroke_dasharray="1 5",
            stroke_linecap="round",
            stroke_opacity=0.4 + 0.5 * usual,
        ),
        data_beyond=f"{streak.id} {toward}",
    )


def _mean_chance(places: Sequence[Beyond]) -> float:
    return float(np.mean([one.probability for one in places]))


def confluence_entry(look: Look) -> Entry:
    """Return what the stroke of a meeting means."""
    sign = element(
        "path",
        d=path_text([(-12.0, 0.0), (12.0, 0.0)]),
        stroke=look.palette.gold,
        stroke_width=8.0,
        stroke_opacity=0.6,
        stroke_linecap="round",
    )
    return Entry(sign=sign, words="they become one along here (80 %)", sign_px=38.0)


def beyond_entry(look: Look) -> Entry:
    """Return what the fan beyond the lines means."""
    sign = element(
        "path",
        d=path_text([(-17.0, 0.0), (17.0, 0.0)]),
        stroke=look.palette.gold,
        stroke_width=1.6,
        stroke_dasharray="1 5",
        stroke_linecap="round",
    )
    return Entry(sign=sign, words="may go on, nothing dug there", sign_px=44.0)
