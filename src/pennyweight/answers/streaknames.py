"""What streaks are called: letters in order of gold; a name once given stays.

A streak that was named before keeps its letter when a dig is added or the cutoff
changes: old and new paths are matched by how far they run together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.answers.traceparts import Streak

FloatArray = npt.NDArray[np.float64]

#: Two paths this near run together [m], and the share of the shorter one that has to.
TOGETHER_M, LEAST_TOGETHER = 4.0, 1.0 / 3.0


def name_streaks(count: int) -> list[str]:
    """Return letters in order: A to Z, then AA, AB, and so on."""
    return [_letters(number) for number in range(count)]


def _letters(number: int) -> str:
    name = ""
    while True:
        name = chr(ord("A") + number % 26) + name
        number = number // 26 - 1
        if number < 0:
            return name


def keep_names(streaks: Sequence[Streak], former: Sequence[Streak]) -> list[str]:
    """Return the names of streaks, richest first, as they were called before.

    Parameters
    ----------
    streaks : sequence of Streak
        In order of gold; what they are called now is passed over.
    former : sequence of Streak
        The streaks of an earlier trace of the same ground.

    Returns
    -------
    list of str
        Old names where a path runs with an old one; new ones are the next letters
        that no former streak had.
    """
    if not former or not streaks:
        return name_streaks(len(streaks))
    # Imported late: a first trace has nothing to match.
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415

    alike = np.array([[_alike(one, other) for other in former] for one in streaks])
    names: list[str | None] = [None] * len(streaks)
    for new, old in zip(*linear_sum_assignment(-alike), strict=True):
        if alike[new, old] > 0.0:
            names[int(new)] = former[int(old)].id
    fresh = _unused({one.id for one in former})
    return [next(fresh) if name is None else name for name in names]


def _unused(taken: set[str]) -> Iterator[str]:
    number = 0
    while True:
        name = _letters(number)
        if name not in taken:
            yield name
        number += 1


def _alike(one: Streak, other: Streak) -> float:
    """Return how far two streaks run together [m], 0 where they hardly do."""
    if one.horizon != other.horizon or not one.path or not other.path:
        return 0.0
    mine, theirs = _walk(one), _walk(other)
    apart = np.hypot(
        mine[:, None, 0] - theirs[None, :, 0], mine[:, None, 1] - theirs[None, :, 1]
    )
    together = float((apart.min(axis=1) <= TOGETHER_M).sum())
    return together if together >= LEAST_TOGETHER * min(len(mine), len(theirs)) else 0.0


def _walk(streak: Streak) -> FloatArray:
    """Return a streak's middle every meter on the map, shape (n_steps, 2) [m]."""
    places = np.array([(point.easting_m, point.northing_m) for point in streak.path])
    step = np.hypot(*np.diff(places, axis=0).T) if len(places) > 1 else np.zeros(0)
    along = np.concatenate([[0.0], np.cumsum(step)])
    at = np.linspace(0.0, along[-1], int(along[-1]) + 1)
    return np.column_stack([np.interp(at, along, places[:, axis]) for axis in (0, 1)])
