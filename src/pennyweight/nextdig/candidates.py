"""Where a dig could go next: between lines, beside them, beyond them, and deeper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]

#: Distance of the first lines from each other, 50 ft; common practice, no source [m].
FIRST_LINES_M = 50.0 * FOOT_M

#: Distance of digs on a first line, 10 ft; common practice, no source [m].
FIRST_DIGS_M = 10.0 * FOOT_M

#: Half-width of a first line where nothing tells how wide the valley is [m].
FIRST_HALF_WIDTH_M = 4.0 * FIRST_DIGS_M

#: Digs nearer than this are one [m]; our assumption.
SAME_PLACE_M = 0.8

#: Digs on a line farther apart than this leave room for one between [m].
ROOM_M = 1.6

#: What can stop a dig without its having seen everything.
SHORT = ("water", "boulder", "clay", "limit")


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedDig:
    """A dig that there is.

    Attributes
    ----------
    name, line : str
        Its name and the line it is read with.
    s_m, n_m : float
        Where it lies in the valley [m].
    bottom_m : float or None
        Depth reached [m].
    stopped_by : str or None
        What stopped it.
    """

    name: str
    line: str
    s_m: float
    n_m: float
    bottom_m: float | None = None
    stopped_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A dig that there could be.

    Attributes
    ----------
    s_m, n_m : float
        Where in the valley [m].
    kind : str
        gap dig, infill dig, step-out, end dig, deepening or first dig.
    line : str or None
        The line it would lie on.
    beside : tuple of str
        Lines, or the dig, that it is reckoned from.
    from_m : float
        Depth that is already dug [m].
    """

    s_m: float
    n_m: float
    kind: str
    line: str | None = None
    beside: tuple[str, ...] = ()
    from_m: float = 0.0


def propose_candidates(digs: Sequence[OpenedDig], *, step_m: float) -> list[Candidate]:
    """Return every dig worth a thought, none at a place that is open already.

    Parameters
    ----------
    digs : sequence of OpenedDig
        What there is, in any order.
    step_m : float
        Distance of new digs across the valley, above 0 [m].

    Returns
    -------
    list of Candidate
        In the order: deepenings, gaps, ends, step-outs, infill.

    Raises
    ------
    ValueError
        The step is not above 0.
    """
    if not step_m > 0.0:
        msg = f"step_m is {step_m} m; digs stand more than 0 m apart."
        raise ValueError(msg)
    lines = _gather_lines(digs)
    wide = [line for line in lines if len(line) > 1]
    found = _deepenings(digs)
    for above, below in pairwise(wide):
        found += _in_gap(above, below, step_m)
    if len(wide) > 1:
        found += _beyond(wide[0], wide[1], step_m)
        found += _beyond(wide[-1], wide[-2], step_m)
    for line in wide:
        found += _beside(line, step_m) + _between(line)
    return [one for one in found if one.kind == "deepening" or _is_free(one, digs)]


def propose_first_lines(
    digs: Sequence[OpenedDig], *, length_m: float, half_width_m: float | None = None
) -> list[Candidate]:
    """Return the first program of a ground of which next to nothing is known.

    Lines across the valley 50 ft apart, digs 10 ft apart on each: common practice, no
    source. The middle of a line comes first, then its sides.

    Parameters
    ----------
    digs : sequence of OpenedDig
        What there is; often nothing.
    length_m : float
        Of the centerline, above 0 [m].
    half_width_m : float, optional
        How far lines reach to each side [m].

    Returns
    -------
    list of Candidate
        Lines near the digs that there are come first, else from the lower end up.

    Raises
    ------
    ValueError
        The centerline has no length.
    """
    if not length_m > 0.0:
        msg = f"length_m is {length_m} m; a centerline is longer than 0 m."
        raise ValueError(msg)
    half = FIRST_HALF_WIDTH_M if half_width_m is None else half_width_m
    start = float(np.median([dig.s_m for dig in digs])) if digs else length_m
    count_up = int(max(start, 0.0) // FIRST_LINES_M)
    count_down = int(max(length_m - start, 0.0) // FIRST_LINES_M)
    places = start + FIRST_LINES_M * np.arange(-count_up, count_down + 1)
    order = np.argsort(np.abs(places - start), kind="stable")
    each = int(half // FIRST_DIGS_M)
    across = sorted(FIRST_DIGS_M * np.arange(-each, each + 1), key=abs)
    found = [
        Candidate(s_m=float(places[at]), n_m=float(n_m), kind="first dig")
        for at in order
        for n_m in across
    ]
    return [one for one in found if _is_free(one, digs)]


def _gather_lines(digs: Sequence[OpenedDig]) -> list[list[OpenedDig]]:
    """Return the lines downstream, their digs from right to left."""
    members: dict[str, list[OpenedDig]] = {}
    for dig in digs:
        members.setdefault(dig.line, []).append(dig)
    for line in members.values():
        line.sort(key=lambda dig: dig.n_m)
    return sorted(members.values(), key=_place)


def _place(line: Sequence[OpenedDig]) -> float:
    return float(np.median([dig.s_m for dig in line]))


def _is_free(candidate: Candidate, digs: Sequence[OpenedDig]) -> bool:
    return all(
        np.hypot(dig.s_m - candidate.s_m, dig.n_m - candidate.n_m) > SAME_PLACE_M
        for dig in digs
    )


def _deepenings(digs: Sequence[OpenedDig]) -> list[Candidate]:
    return [
        Candidate(
            s_m=dig.s_m,
            n_m=dig.n_m,
            kind="deepening",
            line=dig.line,
            beside=(dig.name,),
            from_m=dig.bottom_m or 0.0,
        )
        for dig in digs
        if dig.stopped_by in SHORT
    ]


def _across(first: float, last: float, step_m: float) -> FloatArray:
    """Return evenly spaced places from first to last, about a step apart [m]."""
    count = max(round((last - first) / step_m), 1) + 1
    return np.linspace(first, last, count)


def _in_gap(
    above: Sequence[OpenedDig], below: Sequence[OpenedDig], step_m: float
) -> list[Candidate]:
    middle = (_place(above) + _place(below)) / 2.0
    first = (above[0].n_m + below[0].n_m) / 2.0
    last = (above[-1].n_m + below[-1].n_m) / 2.0
    return [
        Candidate(
            s_m=middle,
            n_m=float(n_m),
            kind="gap dig",
            beside=(above[0].line, below[0].line),
        )
        for n_m in _across(first, last, step_m)
    ]


def _beyond(
    end: Sequence[OpenedDig], inner: Sequence[OpenedDig], step_m: float
) -> list[Candidate]:
    """Return a line as far beyond the outermost one as the next is inside."""
    away = _place(end) + (_place(end) - _place(inner))
    return [
        Candidate(s_m=away, n_m=float(n_m), kind="end dig", beside=(end[0].line,))
        for n_m in _across(end[0].n_m, end[-1].n_m, step_m)
    ]


def _beside(line: Sequence[OpenedDig], step_m: float) -> list[Candidate]:
    return [
        Candidate(
            s_m=end.s_m,
            n_m=end.n_m + side * step_m,
            kind="step-out",
            line=end.line,
            beside=(end.name,),
        )
        for end, side in ((line[0], -1.0), (line[-1], 1.0))
    ]


def _between(line: Sequence[OpenedDig]) -> list[Candidate]:
    return [
        Candidate(
            s_m=(right.s_m + left.s_m) / 2.0,
            n_m=(right.n_m + left.n_m) / 2.0,
            kind="infill dig",
            line=left.line,
            beside=(left.name, right.name),
        )
        for right, left in pairwise(line)
        if left.n_m - right.n_m > ROOM_M
    ]
