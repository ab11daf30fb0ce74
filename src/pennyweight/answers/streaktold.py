"""Streaks, merges and splits from the streaks room's numbers to the answer's parts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame
from pennyweight.answers.traceparts import Link, Merge, PathPoint, Split, Streak
from pennyweight.spread import Spread, spread_of
from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.paths import FoundMeeting, FoundStreak, Point

FloatArray = npt.NDArray[np.float64]


def map_of(frame: Frame, s_m: Sequence[float], n_m: Sequence[float]) -> FloatArray:
    """Return easting and northing of places in the valley, one row a place."""
    if frame.centerline is None or not len(s_m):
        return np.zeros((len(s_m), 2))
    return np.column_stack(frame.centerline.to_map(s_m, n_m))


def tell_streak(
    streak: FoundStreak, name: str, base: tuple[Frame, StreakFit]
) -> Streak:
    """Return a streak with its path on the map."""
    frame, fit = base
    lines = fit.sites.lines
    centers = [spread_of(point.center_n_m) for point in streak.points]
    n_m = [center.p50 if center else 0.0 for center in centers]
    places = map_of(frame, [point.s_m for point in streak.points], n_m)
    return Streak(
        id=name,
        probability=streak.probability,
        horizon=streak.horizon,
        path=tuple(
            _path_point(point, center, place, lines)
            for point, center, place in zip(streak.points, centers, places, strict=True)
            if center is not None
        ),
        links=tuple(
            Link(from_line=lines[above], to_line=lines[below], probability=share)
            for above, below, share in streak.links
        ),
        gold_g=_sure(spread_of(streak.gold_g)),
        gravel_m3=_sure(spread_of(streak.gravel_m3)),
    )


def _sure(spread: Spread | None) -> Spread:
    """Return a spread that is there: draws of a streak always hold numbers."""
    return spread if spread is not None else Spread(0.0, 0.0, 0.0, 0.0)


def _path_point(
    point: Point, center: Spread, place: FloatArray, lines: tuple[str, ...]
) -> PathPoint:
    return PathPoint(
        s_m=point.s_m,
        n_m=center.p50,
        center_n_m=center,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=point.probability,
        top_m=spread_of(point.top_m),
        thickness_m=spread_of(point.thickness_m),
        width_m=_sure(spread_of(point.width_m)),
        grade_mg_m3=_sure(spread_of(point.grade_mg_m3)),
        line=None if point.line is None else lines[point.line],
    )


def tell_merge(one: FoundMeeting, names: Sequence[str], frame: Frame) -> Merge:
    """Return a merge with its place on the map."""
    place = map_of(frame, [one.s_m], [one.n_m])[0]
    return Merge(
        from_=tuple(names[at] for at in one.several),
        into=names[one.one],
        s_m=one.s_m,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=one.probability,
    )


def tell_split(one: FoundMeeting, names: Sequence[str], frame: Frame) -> Split:
    """Return a split with its place on the map."""
    place = map_of(frame, [one.s_m], [one.n_m])[0]
    return Split(
        from_=names[one.one],
        into=tuple(names[at] for at in one.several),
        s_m=one.s_m,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=one.probability,
    )
