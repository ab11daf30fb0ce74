"""Streaks with their doubt drawn, on any picture that can place (s, n).

A streak is a band as wide as its 80 % and as dense as its probability; inside it
lies the streak at its median width; along its middle runs a line whose dashes open
as the probability of the link falls. A merge is a ring with its probability in it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from pennyweight.answers.trace import Merge, PathPoint, Split, Streak, TraceAnswer
from pennyweight.answers.wording import horizon_words, list_words, percent_words
from pennyweight.pictures.labels import Box, box_around
from pennyweight.pictures.svg import Look, Markup, element, group, path_text, title
from pennyweight.spread import probability_word

#: Places the valley coordinates (s_m, n_m) in the picture [px].
Placer = Callable[[npt.ArrayLike, npt.ArrayLike], list[tuple[float, float]]]

#: Opacity steps of a band; bands of equal step join without a seam.
DENSITY_STEPS = 6

#: Links at least this probable are drawn without a gap.
CERTAIN_LINK = 0.95


def draw_bands(trace: TraceAnswer, place: Placer, look: Look) -> Markup:
    """Return the bands and middles of all streaks, the deepest at the back."""
    ordered = sorted(trace.streaks, key=_depth_rank)
    return group(*(_draw_streak(streak, place, look) for streak in ordered))


def _depth_rank(streak: Streak) -> float:
    """Return a number by which deeper streaks come first."""
    tops = [point.top_m.p50 for point in streak.path if point.top_m is not None]
    return -float(np.mean(tops)) if tops else 0.0


def streak_words(streak: Streak) -> str:
    """Return what is said when a streak is pointed at."""
    return (
        f"streak {streak.id}, {horizon_words(streak.horizon)}: "
        f"{probability_word(streak.probability)} "
        f"({percent_words(streak.probability)})"
    )


def _draw_streak(streak: Streak, place: Placer, look: Look) -> Markup:
    if not streak.path:
        return Markup("")
    gold = look.palette.gold
    outer = [
        element("path", d=ring, fill=gold, fill_opacity=0.06 + 0.22 * density)
        for ring, density in _rings(streak.path, place, _outer_edges)
    ]
    inner = [
        element("path", d=ring, fill=gold, fill_opacity=0.06 + 0.28 * density)
        for ring, density in _rings(streak.path, place, _inner_edges)
    ]
    return group(
        title(streak_words(streak)),
        *outer,
        *inner,
        draw_middles(streak, place, look),
        data_streak=streak.id,
        data_horizon=streak.horizon,
    )


def _outer_edges(point: PathPoint) -> tuple[float, float]:
    half = point.width_m.p50 / 2.0
    return point.center_n_m.p90 + half, point.center_n_m.p10 - half


def _inner_edges(point: PathPoint) -> tuple[float, float]:
    half = point.width_m.p50 / 2.0
    return point.n_m + half, point.n_m - half


def _rings(
    path: Sequence[PathPoint],
    place: Placer,
    edges: Callable[[PathPoint], tuple[float, float]],
) -> list[tuple[str, float]]:
    """Return closed paths and their densities 0-1, joined where density is equal."""
    if len(path) == 1:
        path = _stub(path[0])
    runs: list[tuple[int, list[PathPoint]]] = []
    for one, other in pairwise(path):
        chance = (one.probability + other.probability) / 2.0
        step = round(chance * DENSITY_STEPS)
        if runs and runs[-1][0] == step:
            runs[-1][1].append(other)
        else:
            runs.append((step, [one, other]))
    return [
        (_ring(points, place, edges), step / DENSITY_STEPS) for step, points in runs
    ]


def _stub(point: PathPoint) -> list[PathPoint]:
    """Return a streak seen at one line only as a short piece either side of it."""
    return [replace(point, s_m=point.s_m + step) for step in (-1.5, 1.5)]


def _ring(
    points: Sequence[PathPoint],
    place: Placer,
    edges: Callable[[PathPoint], tuple[float, float]],
) -> str:
    s_m = [point.s_m for point in points]
    left, right = zip(*(edges(point) for point in points), strict=True)
    return path_text([*place(s_m, left), *place(s_m, right)[::-1]], closed=True)


def draw_middles(streak: Streak, place: Placer, look: Look) -> Markup:
    """Return the median middle of a streak, link by link, dashed by probability."""
    stops = {point.line: point.s_m for point in streak.path if point.line}
    drawn = []
    for link in streak.links:
        # A streak that begins or ends at a merge does so between two lines.
        low = stops.get(link.from_line, streak.path[0].s_m)
        high = stops.get(link.to_line, streak.path[-1].s_m)
        part = [point for point in streak.path if low <= point.s_m <= high]
        if len(part) < 2:
            continue
        words = (
            f"streak {streak.id}, line {link.from_line} to {link.to_line}: "
            f"{probability_word(link.probability)} ({percent_words(link.probability)})"
        )
        drawn.append(
            element(
                "path",
                title(words),
                d=path_text(place([p.s_m for p in part], [p.n_m for p in part])),
                fill="none",
                stroke=look.palette.gold,
                stroke_width=2.2,
                stroke_dasharray=link_dashes(link.probability),
                data_link=f"{streak.id} {link.from_line} {link.to_line}",
            )
        )
    return group(*drawn, data_streak=streak.id)


def link_dashes(probability: float) -> str | None:
    """Return dashes that open as a probability falls; none for a sure link.

    >>> link_dashes(0.97) is None, link_dashes(0.5)
    (True, '7 7')
    """
    if probability > CERTAIN_LINK:
        return None
    dash = 3.0 + 8.0 * probability
    gap = 3.0 + 8.0 * (1.0 - probability)
    return f"{dash:.3g} {gap:.3g}"


def draw_joins(
    trace: TraceAnswer,
    place: Placer,
    look: Look,
    *,
    only: Sequence[Merge | Split] | None = None,
) -> tuple[Markup, list[Box]]:
    """Return the rings of merges and splits, and the room they take.

    Parameters
    ----------
    trace : TraceAnswer
        Streaks, merges and splits.
    place : callable
        Places valley coordinates in the picture.
    look : Look
        Inks and sizes.
    only : sequence, optional
        The merges and splits to draw; all of the answer's by default.

    Returns
    -------
    tuple of (Markup, list of Box)
        The rings, and what labels must keep off.
    """
    rings, boxes = [], []
    joins: Sequence[Merge | Split] = (*trace.merges, *trace.splits)
    for join in joins if only is None else only:
        ((x_px, y_px),) = place(join.s_m, _join_n(join, trace))
        rings.append(_ring_of(join, x_px, y_px, look))
        boxes.append(box_around(x_px, y_px, ring_px(look) + 1.5))
    return group(*rings), boxes


def ring_px(look: Look) -> float:
    """Return the radius of a merge's ring [px]."""
    return 12.0 if look.narrow else 14.5


def join_words(join: Merge | Split) -> str:
    """Return what is said when a merge or split is pointed at."""
    if isinstance(join, Merge):
        what = f"streaks {list_words(join.from_)} come together into {join.into}"
    else:
        what = f"streak {join.from_} parts into {list_words(join.into)}"
    chance = f"{probability_word(join.probability)} ({percent_words(join.probability)})"
    return f"{what}: {chance}"


def _join_n(join: Merge | Split, trace: TraceAnswer) -> float:
    """Return the offset of a join: on the streak that is one there."""
    name = join.into if isinstance(join, Merge) else join.from_
    near = [
        (abs(point.s_m - join.s_m), point.n_m)
        for streak in trace.streaks
        if streak.id == name
        for point in streak.path
    ]
    return min(near)[1] if near else 0.0


def _ring_of(join: Merge | Split, x_px: float, y_px: float, look: Look) -> Markup:
    inks = look.palette
    size = look.small_px - 0.5
    names = (*join.from_, join.into) if isinstance(join, Merge) else join.into
    return group(
        title(join_words(join)),
        element(
            "circle",
            cx=x_px,
            cy=y_px,
            r=ring_px(look),
            fill=inks.paper,
            stroke=inks.gold,
            stroke_width=2.0,
        ),
        element(
            "text",
            f"{join.probability * 100.0:.0f}%",
            x=x_px,
            y=y_px + size * 0.34,
            font_size=size,
            font_weight="600",
            text_anchor="middle",
        ),
        data_merge=" ".join(names),
    )
