"""A stream tree from lines drawn by hand, for ground without an elevation model.

From the creek outward: the line that comes nearest to what is joined already is joined
next, by the end that comes near. So a feeder may be drawn either way, and what cannot
be a tree (a loop, a line that reaches nothing) is told, not guessed away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.terrain.naming import DrawnLine
from pennyweight.terrain.streams import Streams

FloatArray = npt.NDArray[np.float64]

#: How near the end of a line must come to another one to join it [m].
JOIN_M = 30.0

#: Junctions nearer to each other than this along a line are one [m].
SAME_M = 0.5


@dataclass
class _Line:
    """A line on its way into the tree."""

    drawn: DrawnLine
    places: FloatArray
    into: int | None = None
    into_at_m: float = 0.0
    joins_m: list[float] = field(default_factory=list)

    @property
    def along_m(self) -> FloatArray:
        """Length from its upper end at each of its points [m]."""
        steps = np.hypot(*np.diff(self.places, axis=0).T)
        return np.concatenate([[0.0], np.cumsum(steps)])


def join_lines(lines: Sequence[DrawnLine], *, join_m: float = JOIN_M) -> Streams:
    """Return the stream tree of lines that were drawn by hand.

    Parameters
    ----------
    lines : sequence of DrawnLine
        The creek (`main`, drawn downstream) and its feeders (drawn either way).
    join_m : float, optional
        How near the end of a line must come to another one to join it [m].

    Returns
    -------
    Streams
        The tree; catchments and heights are nan. Loops, lines that reach no other,
        lines that cross themselves or have no length are told as findings.
    """
    kept = [line for line in map(_clean, lines) if line is not None]
    findings = [_has_no_length(drawn) for drawn in lines if _clean(drawn) is None]
    findings += [_crossing(line.drawn) for line in kept if _crosses_itself(line)]
    _join(kept, join_m, findings)
    return _record(kept, tuple(findings))


def _clean(drawn: DrawnLine) -> _Line | None:
    """Return a line without repeated or unknown points; None where nothing is left."""
    places = np.asarray(drawn.places, dtype=np.float64).reshape(-1, 2)
    places = places[np.isfinite(places).all(axis=1)]
    if len(places) < 2:
        return None
    moved = np.concatenate([[True], np.hypot(*np.diff(places, axis=0).T) > 0.0])
    return _Line(drawn, places[moved]) if moved.sum() >= 2 else None


def _crosses_itself(line: _Line) -> bool:
    from shapely import LineString  # noqa: PLC0415 - costs 0.1 s

    return not LineString(line.places).is_simple


def _join(lines: list[_Line], join_m: float, findings: list[Finding]) -> None:
    """Join every line to the tree by the end that comes nearest to it."""
    waiting = list(range(len(lines)))
    # Of every line that waits: how near its ends come to the tree, and to which line.
    near_m = np.full((len(lines), 2), np.inf)
    to = np.full((len(lines), 2), -1)
    rooted = False
    while waiting:
        line, end = _nearest(lines, waiting, near_m)
        if near_m[line, end] > join_m:
            line = _next_root(lines, waiting, join_m)
            if rooted and line not in _mains(lines):
                findings.append(_unconnected(lines[line].drawn, join_m))
        else:
            _attach(lines, line, end, into=int(to[line, end]))
            other = 1 - end
            if near_m[line, other] <= join_m:
                receiver = lines[int(to[line, other])]
                findings.append(_loop(lines[line].drawn, receiver.drawn))
        rooted = True
        waiting.remove(line)
        _measure(lines, waiting, line, near_m=near_m, to=to)


def _nearest(
    lines: list[_Line], waiting: list[int], near_m: FloatArray
) -> tuple[int, int]:
    """Return the waiting line and its end (0 first, 1 last) nearest to the tree."""
    ends = near_m[waiting].copy()
    for row, number in enumerate(waiting):
        if lines[number].drawn.main:
            # It was drawn downstream: only its last point can be a mouth.
            ends[row, 0] = np.inf
    # Of equals the last point wins: lines are mostly drawn downstream.
    row, turned = divmod(int(np.argmin(ends[:, ::-1])), 2)
    return waiting[row], 1 - turned


def _mains(lines: list[_Line]) -> list[int]:
    return [number for number, line in enumerate(lines) if line.drawn.main]


def _next_root(lines: list[_Line], waiting: list[int], join_m: float) -> int:
    """Return the line to begin a tree: a main one with a free mouth, or the longest."""
    from shapely import LineString, Point  # noqa: PLC0415

    mains = [number for number in waiting if lines[number].drawn.main]
    for number in mains:
        mouth = Point(lines[number].places[-1])
        others = [LineString(lines[other].places) for other in mains if other != number]
        if all(mouth.distance(other) > join_m for other in others):
            return number
    pool = mains or waiting
    return max(pool, key=lambda number: float(lines[number].along_m[-1]))


def _attach(lines: list[_Line], number: int, end: int, *, into: int) -> None:
    """Let a line end on another one, turned around if it was drawn upstream."""
    from shapely import LineString, Point  # noqa: PLC0415

    line, receiver = lines[number], lines[into]
    if end == 0:
        line.places = line.places[::-1]
    course = LineString(receiver.places)
    at_m = float(course.project(Point(line.places[-1])))
    foot = np.array(course.interpolate(at_m).coords[0])
    if np.hypot(*(foot - line.places[-1])) > 0.0:
        line.places = np.vstack([line.places, foot])
    line.into, line.into_at_m = into, at_m
    receiver.joins_m.append(at_m)


def _measure(
    lines: list[_Line],
    waiting: list[int],
    joined: int,
    *,
    near_m: FloatArray,
    to: npt.NDArray[np.int64],
) -> None:
    """Note how near the ends of the waiting lines come to one that has just joined."""
    from shapely import LineString, distance, points  # noqa: PLC0415

    if not waiting:
        return
    course = LineString(lines[joined].places)
    ends = np.array([[lines[k].places[0], lines[k].places[-1]] for k in waiting])
    away_m = distance(points(ends), course)
    nearer = away_m < near_m[waiting]
    near_m[waiting] = np.where(nearer, away_m, near_m[waiting])
    to[waiting] = np.where(nearer, joined, to[waiting])


def _record(lines: list[_Line], findings: tuple[Finding, ...]) -> Streams:
    """Return the flat record of joined lines, each cut where others join it."""
    cuts = [_cuts(line) for line in lines]
    first_reach = np.concatenate([[0], np.cumsum([len(cut) - 1 for cut in cuts])])
    places: list[FloatArray] = []
    below: list[int] = []
    names: list[str | None] = []
    for number, line in enumerate(lines):
        for upper, (from_m, to_m) in enumerate(
            zip(cuts[number][:-1], cuts[number][1:], strict=True)
        ):
            places.append(_part(line, from_m, to_m))
            names.append(line.drawn.name)
            is_last = upper == len(cuts[number]) - 2
            below.append(
                _reach_below(lines, cuts, first_reach, number=number)
                if is_last
                else int(first_reach[number]) + upper + 1
            )
    downstream = np.array(below, dtype=np.int64)
    first = np.concatenate([[0], np.cumsum([len(part) for part in places])])
    every = np.concatenate(places) if places else np.zeros((0, 2))
    unknown = np.full(len(every), np.nan)
    return Streams(
        downstream=downstream,
        first_point=first.astype(np.int64),
        easting_m=every[:, 0],
        northing_m=every[:, 1],
        chainage_m=_chainage(places, downstream),
        elevation_m=unknown,
        point_area_m2=unknown.copy(),
        cut_off=np.zeros(len(places), dtype=np.bool_),
        name=tuple(names),
        findings=findings,
        drawn=True,
    )


def _cuts(line: _Line) -> list[float]:
    """Return where a line is cut, from 0 to its length [m]."""
    length_m = float(line.along_m[-1])
    cuts = [0.0]
    for at_m in sorted(line.joins_m):
        if at_m - cuts[-1] > SAME_M and length_m - at_m > SAME_M:
            cuts.append(at_m)
    return [*cuts, length_m]


def _part(line: _Line, from_m: float, to_m: float) -> FloatArray:
    """Return the points of a line between two lengths, both ends included."""
    along = line.along_m
    inner = along[(along > from_m) & (along < to_m)]
    at = np.concatenate([[from_m], inner, [to_m]])
    return np.column_stack([np.interp(at, along, line.places[:, k]) for k in (0, 1)])


def _reach_below(
    lines: list[_Line],
    cuts: list[list[float]],
    first_reach: npt.NDArray[np.int64],
    *,
    number: int,
) -> int:
    """Return the reach that the last one of a line flows into; -1 at an outlet."""
    line = lines[number]
    if line.into is None:
        return -1
    receiver = cuts[line.into]
    if receiver[-1] - line.into_at_m <= SAME_M:
        # Joined at the very mouth of the other: both flow into what lies below it.
        return _reach_below(lines, cuts, first_reach, number=line.into)
    nearest = int(np.argmin(np.abs(np.array(receiver[:-1]) - line.into_at_m)))
    return int(first_reach[line.into]) + nearest


def _chainage(
    places: list[FloatArray], downstream: npt.NDArray[np.int64]
) -> FloatArray:
    """Return the way down to the outlet at every point of every reach [m]."""
    own = [
        np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(part, axis=0).T))])
        for part in places
    ]
    foot_m = np.full(len(places), np.nan)
    for reach in range(len(places)):
        way, at = [], reach
        while np.isnan(foot_m[at]):
            way.append(at)
            if downstream[at] < 0:
                foot_m[at] = 0.0
                break
            at = int(downstream[at])
        for upper in reversed(way):
            below = downstream[upper]
            if below >= 0:
                foot_m[upper] = foot_m[below] + own[below][-1]
    along = [foot_m[k] + part[-1] - part for k, part in enumerate(own)]
    return np.concatenate(along) if along else np.zeros(0)


def _has_no_length(drawn: DrawnLine) -> Finding:
    return Finding(
        where=f"drawn line {drawn.said}",
        problem=f"its {len(drawn.places)} points are fewer than two different places",
        remedy="Draw it anew, or delete it.",
        weight="doubt",
    )


def _crossing(drawn: DrawnLine) -> Finding:
    return Finding(
        where=f"drawn line {drawn.said}",
        problem="it crosses itself, which a stream cannot",
        remedy="Move the points at the crossing.",
        weight="doubt",
    )


def _unconnected(drawn: DrawnLine, join_m: float) -> Finding:
    return Finding(
        where=f"drawn line {drawn.said}",
        problem=f"neither of its ends comes within {join_m:.0f} m of another stream",
        remedy="Draw it to its mouth; until then it is taken as a stream of its own.",
        weight="doubt",
    )


def _loop(drawn: DrawnLine, receiver: DrawnLine) -> Finding:
    return Finding(
        where=f"drawn line {drawn.said}",
        problem=(
            f"both of its ends lie on streams (one on {receiver.said}), so that the "
            "water could run in a loop"
        ),
        remedy="Shorten the end where water does not join; the nearer end was joined.",
        weight="doubt",
    )
