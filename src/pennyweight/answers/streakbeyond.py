"""Where streaks may go on beyond the lines, and where two of them become one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame
from pennyweight.answers.streaktold import map_of
from pennyweight.answers.traceparts import (
    Beyond,
    Confluence,
    Merge,
    OneBy,
    PathPoint,
    Streak,
)
from pennyweight.spread import spread_of
from pennyweight.streaks import confluence
from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.paths import FoundStreak, FoundStreaks
from pennyweight.streaks.projection import Projected, project_streak
from pennyweight.streaks.tracing import Traced

FloatArray = npt.NDArray[np.float64]

#: Spacing of the places of the merge map [m].
PLACE_M = 2.5
#: Two meetings this near are one [m].
SAME_PLACE_M = 7.5
#: A streak that would pass a line's last dig by more than this has left it [m].
LEAVES_M = 1.0
#: The merge map is told between these points of where two streaks meet [-].
MAP_SHARES = (0.02, 0.98)


def look_beyond(
    streak: FoundStreak,
    traced: Sequence[Traced],
    base: tuple[Frame, StreakFit],
    *,
    rng: np.random.Generator,
) -> tuple[Beyond, ...]:
    """Return where a streak may run above the first and below the last line."""
    frame, fit = base
    mine = next(one for one in traced if one.fit.horizon == streak.horizon)
    return tuple(
        told
        for toward, down in (("upstream", False), ("downstream", True))
        for place in project_streak(streak, mine, fit, downstream=down, rng=rng)
        if (told := _tell_place(place, toward, frame)) is not None
    )


def _tell_place(place: Projected, toward: str, frame: Frame) -> Beyond | None:
    center = spread_of(place.n_m)
    if center is None:
        return None
    east, north = map_of(frame, [place.s_m], [center.p50])[0]
    return Beyond(
        toward=toward,
        s_m=place.s_m,
        n_m=center.p50,
        center_n_m=center,
        easting_m=float(east),
        northing_m=float(north),
        probability=place.probability,
    )


def find_confluences(
    traced: Sequence[Traced],
    found: FoundStreaks,
    names: Sequence[str],
    *,
    base: tuple[Frame, StreakFit],
) -> tuple[Confluence, ...]:
    """Return where streaks come together, the likeliest pair first.

    Where two have become a third, what joins it below is told of the third alone.
    """
    frame, fit = base
    pairs = [
        one
        for horizon in traced
        for one in confluence.find_confluences(horizon, found.streaks, fit)
    ]
    usual = {frozenset(one.pair): _usual_s(one) for one in pairs}
    told = [one for one in pairs if not _is_implied(one, found, usual)]
    told.sort(key=lambda one: -one.probability)
    return tuple(_tell_confluence(one, names, frame) for one in told)


def _is_implied(
    one: confluence.Confluence,
    found: FoundStreaks,
    usual_m: Mapping[frozenset[int], float],
) -> bool:
    """Tell whether a streak meets another only as part of the one that it became."""
    here = usual_m[frozenset(one.pair)]
    return any(
        abs(usual_m.get(frozenset((merge.one, theirs)), np.inf) - here) <= SAME_PLACE_M
        for mine, theirs in (one.pair, one.pair[::-1])
        for merge in found.merges
        if mine in merge.several and theirs != merge.one
    )


def _usual_s(one: confluence.Confluence) -> float:
    return float(np.nanmedian(one.s_m))


def _tell_confluence(
    one: confluence.Confluence, names: Sequence[str], frame: Frame
) -> Confluence:
    met = np.isfinite(one.s_m)
    s_met, n_met = one.s_m[met], one.n_m[met]
    spread = spread_of(s_met)
    low, middle, high = np.quantile(s_met, (MAP_SHARES[0], 0.5, MAP_SHARES[1]))
    count = max(int(np.ceil((high - low) / PLACE_M)), 1) + 1
    s_m = np.linspace(low, high, count)
    places = np.append(s_m, middle)
    n_m = np.array([_usual_n(s_met, n_met, float(place)) for place in places])
    where = map_of(frame, places.tolist(), n_m.tolist())
    chance = confluence.chance_by(one, s_m)
    if spread is None:
        msg = "two streaks that come together do so in no draw."
        raise AssertionError(msg)
    return Confluence(
        streaks=tuple(sorted(names[at] for at in one.pair)),
        probability=one.probability,
        s_m=spread,
        easting_m=float(where[-1, 0]),
        northing_m=float(where[-1, 1]),
        one_by=tuple(
            OneBy(
                s_m=float(s_m[at]),
                n_m=float(n_m[at]),
                easting_m=float(where[at, 0]),
                northing_m=float(where[at, 1]),
                probability=float(chance[at]),
            )
            for at in range(len(s_m))
        ),
    )


def _usual_n(s_m: FloatArray, n_m: FloatArray, place_m: float) -> float:
    """Return the usual offset of the meetings nearest to a place."""
    near = np.argsort(np.abs(s_m - place_m), kind="stable")[: max(len(s_m) // 5, 5)]
    return float(np.median(n_m[near]))


def warn_of_leaving(
    streaks: Sequence[Streak], merges: Sequence[Merge], fit: StreakFit
) -> list[str]:
    """Return a caution for each streak that runs out at the side of what was dug."""
    joined = {name for merge in merges for name in merge.from_}
    begun = {merge.into for merge in merges}
    cautions = []
    for streak in streaks:
        stops = [point for point in streak.path if point.line is not None]
        ends = [] if streak.id in joined else [(stops[-2:], 1, "below")]
        ends += [] if streak.id in begun else [(stops[:2][::-1], -1, "above")]
        for pair, way, where in ends:
            side = _side_left(pair, way, fit) if len(pair) == 2 else ""
            if side:
                cautions.append(
                    f"Streak {streak.id} leaves the dug strip on the {side} {where} "
                    f"line {pair[-1].line}: no dig tells where it runs on."
                )
    return cautions


def _side_left(pair: Sequence[PathPoint], way: int, fit: StreakFit) -> str:
    """Return on which side a streak is out of the next line's digs; "" if it is not."""
    sites = fit.sites
    next_line = sites.lines.index(pair[-1].line or "") + way
    if not 0 <= next_line < len(sites.lines):
        return ""
    n_m = sites.n_m[sites.line_index == next_line]
    apart = pair[-1].s_m - pair[0].s_m
    slope = (pair[-1].n_m - pair[0].n_m) / (apart if abs(apart) > 0.5 else 0.5)
    onward = pair[-1].n_m + slope * float(sites.line_s_m[next_line] - pair[-1].s_m)
    if onward > n_m.max() + LEAVES_M:
        return "left"
    return "right" if onward < n_m.min() - LEAVES_M else ""
