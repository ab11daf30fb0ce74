"""A streak from end to end: points on its path, gold and gravel, draw by draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.merges import (
    LEAST_PROBABILITY,
    Chain,
    Meeting,
    Pattern,
    agree_on_links,
    chain_draws,
    find_pattern,
)
from pennyweight.streaks.ribbons import Ribbon
from pennyweight.streaks.tails import follow_tail, likely_rows
from pennyweight.streaks.tracing import Reach, Traced, follow_links

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Two streaks are one where their middles are this share of a width apart: no valley is
#: left between two crests then [-]. Our choice.
ONE_CREST = 0.4
#: Points of a path are at most this far apart along the valley [m].
POINT_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A place on a streak; draws hold nan where the streak is not there.

    Attributes
    ----------
    s_m : float
        Meters downstream [m].
    line : int or None
        Index of the line crossed here [-].
    probability : float
        Share of all draws with the ribbon here [-].
    center_n_m, width_m, grade_mg_m3, thickness_m, top_m : ndarray, shape (n_draws,)
        In draws with the ribbon here [m], [mg/m3].
    """

    s_m: float
    line: int | None
    probability: float
    center_n_m: FloatArray
    width_m: FloatArray
    grade_mg_m3: FloatArray
    thickness_m: FloatArray
    top_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundStreak:
    """A streak across the draws.

    Attributes
    ----------
    horizon : str
        Its horizon.
    probability : float
        Share of draws with it [-].
    points : tuple of Point
        Downstream.
    links : tuple of tuple
        (line above, line below, probability) of each link [-].
    gold_g, gravel_m3 : ndarray, shape (n_draws,)
        0 in draws without it [g], [m3].
    crossings : tuple of int
        Its candidates among the horizon's [-].
    """

    horizon: str
    probability: float
    points: tuple[Point, ...]
    links: tuple[tuple[int, int, float], ...]
    gold_g: FloatArray
    gravel_m3: FloatArray
    crossings: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundMeeting:
    """A merge or a split.

    Attributes
    ----------
    several : tuple of int
        Streaks that come together, or that part [-].
    one : int
        The streak below a merge, or above a split [-].
    s_m, n_m : float
        Where [m].
    probability : float
        Share of draws in which its links are there together [-].
    """

    several: tuple[int, ...]
    one: int
    s_m: float
    n_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundStreaks:
    """All streaks of a ground at one cutoff, richest first."""

    streaks: tuple[FoundStreak, ...]
    merges: tuple[FoundMeeting, ...]
    splits: tuple[FoundMeeting, ...]


def find_streaks(traced: Sequence[Traced], ground: StreakFit) -> FoundStreaks:
    """Return the streaks of all horizons, with what joins them.

    Parameters
    ----------
    traced : sequence of Traced
        Horizons at one cutoff.
    ground : StreakFit
        What they belong to.

    Returns
    -------
    FoundStreaks
        Streaks below 0.2 are left out, and meetings of fewer than three streaks.
    """
    streaks: list[FoundStreak] = []
    merges: list[FoundMeeting] = []
    splits: list[FoundMeeting] = []
    for one in traced:
        links = agree_on_links(one)
        pattern = find_pattern(one, links)
        followed = follow_links(one, links, ground.grid)
        reaches = dict(zip((int(link) for link in links), followed, strict=True))
        number: dict[int, int] = {}
        for chain in pattern.chains:
            built = _build(one, chain, (pattern, reaches), ground)
            if built.probability >= LEAST_PROBABILITY:
                number |= dict.fromkeys(chain.crossings, len(streaks))
                streaks.append(built)
        merges += _meet(one, pattern.merges, number, (ground, True))
        splits += _meet(one, pattern.splits, number, (ground, False))
    order = sorted(
        range(len(streaks)), key=lambda at: (-float(streaks[at].gold_g.mean()), at)
    )
    rank = {at: place for place, at in enumerate(order)}
    return FoundStreaks(
        streaks=tuple(streaks[at] for at in order),
        merges=tuple(_renamed(meeting, rank) for meeting in merges),
        splits=tuple(_renamed(meeting, rank) for meeting in splits),
    )


def _renamed(meeting: FoundMeeting, rank: dict[int, int]) -> FoundMeeting:
    return FoundMeeting(
        several=tuple(sorted(rank[at] for at in meeting.several)),
        one=rank[meeting.one],
        s_m=meeting.s_m,
        n_m=meeting.n_m,
        probability=meeting.probability,
    )


def _meet(
    traced: Traced,
    meetings: Sequence[Meeting],
    number: dict[int, int],
    where: tuple[StreakFit, bool],
) -> list[FoundMeeting]:
    """Return the merges or splits whose streaks are all listed."""
    ground, is_merge = where
    line = traced.fit.crossings.line
    n_m = traced.fit.crossings.n_m
    found = []
    for meeting in meetings:
        far = traced.parent if is_merge else traced.child
        others = [int(far[link]) for link in meeting.links]
        listed = [number[at] for at in others if at in number]
        if meeting.crossing not in number or len(set(listed)) < 2:
            continue
        share = float(traced.linked[:, list(meeting.links)].all(axis=1).mean())
        s_one = float(ground.sites.line_s_m[line[meeting.crossing]])
        s_far = float(ground.sites.line_s_m[line[others[0]]])
        apart = float(np.ptp(n_m[others]))
        wide = _usual_width(traced, meeting.crossing)
        way = min(1.0, ONE_CREST * wide / max(apart, 1e-9))
        n_one = float(n_m[meeting.crossing])
        found.append(
            FoundMeeting(
                several=tuple(listed),
                one=number[meeting.crossing],
                s_m=s_one + way * (s_far - s_one),
                n_m=n_one + way * (float(n_m[others].mean()) - n_one),
                probability=share,
            )
        )
    return found


def _usual_width(traced: Traced, crossing: int) -> float:
    width = traced.crossing[crossing].width_m
    here = width[width > 0.0]
    return float(np.median(here)) if len(here) else 0.0


def _build(
    traced: Traced,
    chain: Chain,
    made: tuple[Pattern, dict[int, Reach]],
    ground: StreakFit,
) -> FoundStreak:
    """Return one streak with its path, its gold and its gravel."""
    pattern, reaches = made
    sites, grid = ground.sites, ground.grid
    there = chain_draws(traced, chain, n_lines=len(sites.lines))
    gold = np.zeros(len(there))
    gravel = np.zeros(len(there))
    # Ground between a streak and a merge below it, or a split above it, is its own.
    merging = {link for one in pattern.merges for link in one.links}
    parting = {link for one in pattern.splits for link in one.links}
    before = [link for link in chain.out_of if link in parting and link not in merging]
    after = [link for link in chain.into if link in merging]
    tails = _tails(traced, chain, (pattern, reaches), ground)
    points = [
        _point(traced, (float(grid.s_m[row]), row, None), one, ground, there)
        for tail in tails
        for row, one in likely_rows(tail, LEAST_PROBABILITY)
    ]
    points += [
        point
        for link in before
        for point in _between(traced, reaches[link], ground, there)
    ]
    for at, candidate in enumerate(chain.crossings):
        points.append(_on_line(traced, candidate, ground, there))
        if at < len(chain.links):
            points += _between(traced, reaches[chain.links[at]], ground, there)
    points += [
        point
        for link in after
        for point in _between(traced, reaches[link], ground, there)
    ]
    own = [reaches[link] for link in (*before, *chain.links, *after)]
    for reach in (*own, *tails):
        for row, ribbon in zip(reach.rows, reach.ribbons, strict=True):
            gold += np.where(there, ribbon.gold_mg_m, 0.0) * grid.ds_m / 1000.0
            thick = _thickness(traced, int(row), ribbon, ground)
            gravel += np.where(there & ribbon.present, ribbon.width_m * thick, 0.0) * (
                grid.ds_m
            )
    if len(sites.lines) == 1:
        gold, gravel = _one_line(traced, chain, ground)
    return FoundStreak(
        horizon=traced.fit.horizon,
        probability=float(there.mean()),
        points=tuple(_thinned(points)),
        links=tuple(_ends_of(traced, link) for link in (*before, *chain.links, *after)),
        gold_g=gold,
        gravel_m3=gravel,
        crossings=chain.crossings,
    )


def _ends_of(traced: Traced, link: int) -> tuple[int, int, float]:
    """Return the lines that a link joins, and its probability."""
    line = traced.fit.crossings.line
    above, below = line[traced.parent[link]], line[traced.child[link]]
    return int(above), int(below), float(traced.linked[:, link].mean())


def _tails(
    traced: Traced,
    chain: Chain,
    made: tuple[Pattern, dict[int, Reach]],
    ground: StreakFit,
) -> list[Reach]:
    """Return a streak's ribbon beyond the crossings at which it begins and ends."""
    pattern, reaches = made
    others = [at for one in pattern.chains for at in one.crossings]
    ends = [(chain.crossings[0], False)] if not chain.out_of else []
    ends += [(chain.crossings[-1], True)] if not chain.into else []
    found = [
        follow_tail(traced, end, (others, reaches), grid=ground.grid, downstream=way)
        for end, way in ends
    ]
    return [tail for tail in found if tail is not None]


def _one_line(
    traced: Traced, chain: Chain, ground: StreakFit
) -> tuple[FloatArray, FloatArray]:
    """Return gold [g] and gravel [m3] over the length that one line speaks for."""
    length = ground.grid.ds_m * len(ground.grid.s_m)
    at = chain.crossings[0]
    ribbon = traced.crossing[at]
    pay = traced.fit.line_pay_m[:, int(traced.fit.crossings.line[at])].mean(axis=1)
    return ribbon.gold_mg_m * length / 1000.0, ribbon.width_m * pay * length


def _column(ground: StreakFit, center: FloatArray) -> npt.NDArray[np.int64]:
    """Return the grid column of each center, the middle one where there is none."""
    grid = ground.grid
    place = np.where(np.isfinite(center), center, grid.n_m[len(grid.n_m) // 2])
    at = np.rint((place - grid.n_m[0]) / grid.dn_m).astype(np.int64)
    return np.asarray(np.clip(at, 0, len(grid.n_m) - 1), dtype=np.int64)


def _thickness(
    traced: Traced, row: int, ribbon: Ribbon, ground: StreakFit
) -> FloatArray:
    column = _column(ground, ribbon.center_n_m)
    pay = traced.fit.cell_pay_m[np.arange(len(column)), row, column]
    return np.asarray(np.maximum(pay.astype(np.float64), traced.min_pay_m))


def _point(
    traced: Traced,
    where: tuple[float, int, int | None],
    ribbon: Ribbon,
    ground: StreakFit,
    there: BoolArray,
) -> Point:
    """Return a point of a path from a ribbon's row."""
    s_m, row, line = where
    here = ribbon.present & there
    column = _column(ground, ribbon.center_n_m)
    draw = np.arange(len(column))
    thick = traced.fit.cell_pay_m[draw, row, column].astype(np.float64)
    top = traced.fit.top_m[draw, row, column].astype(np.float64)
    with np.errstate(invalid="ignore", divide="ignore"):
        grade = ribbon.gold_mg_m / ribbon.width_m / thick
    return Point(
        s_m=s_m,
        line=line,
        probability=float(here.mean()),
        center_n_m=np.where(here, ribbon.center_n_m, np.nan),
        width_m=np.where(here, ribbon.width_m, np.nan),
        grade_mg_m3=np.where(here, grade, np.nan),
        thickness_m=np.where(here, thick, np.nan),
        top_m=np.where(here, top, np.nan),
    )


def _on_line(
    traced: Traced, candidate: int, ground: StreakFit, there: BoolArray
) -> Point:
    """Return the point at which a streak crosses a line."""
    grid = ground.grid
    ribbon = traced.crossing[candidate]
    line = int(traced.fit.crossings.line[candidate])
    usual = float(traced.fit.crossings.n_m[candidate])
    s_m = float(np.interp(usual, grid.n_m, grid.curve_s_m[line]))
    row = int(np.abs(grid.s_m - s_m).argmin())
    return _point(traced, (s_m, row, line), ribbon, ground, there)


def _between(
    traced: Traced, reach: Reach, ground: StreakFit, there: BoolArray
) -> list[Point]:
    """Return the points between two lines where the ribbon is in some draw."""
    points = [
        _point(
            traced, (float(ground.grid.s_m[row]), int(row), None), one, ground, there
        )
        for row, one in zip(reach.rows, reach.ribbons, strict=True)
    ]
    return [point for point in points if point.probability > 0.0]


def _thinned(points: list[Point]) -> list[Point]:
    """Return points no closer than needed: every line, and at most 5 m apart."""
    ordered = sorted(points, key=lambda point: point.s_m)
    ordered = [point for point in ordered if point.probability > 0.0]
    kept: list[Point] = []
    for at, point in enumerate(ordered):
        last = at == len(ordered) - 1
        onward = last or ordered[at + 1].s_m - kept[-1].s_m > POINT_M if kept else True
        if point.line is not None or onward:
            kept.append(point)
    return kept
