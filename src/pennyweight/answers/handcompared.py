"""The hand method beside the streaks: straight joins, and where they disagree."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pennyweight.answers.traceparts import (
    HandCompared,
    HandDoubt,
    HandJoin,
    Streak,
)
from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.handmethod import counted_mg_m2, join_by_hand

#: A dig this near to a streak's middle lies on it, or within its half-width [m].
ON_STREAK_M = 1.5
#: A streak or a link that is less likely is not held against the hand method [-].
TOLD = 0.5


def draw_hand_joins(
    fit: StreakFit, cutoff: float, min_pay_m: float
) -> tuple[HandJoin, ...]:
    """Return the straight joins of the hand method, horizon by horizon."""
    sites = fit.sites
    joins = []
    for horizon in fit.horizons:
        counts = horizon.counts
        hand = join_by_hand(
            sites,
            counts.site,
            counted_mg_m2(counts),
            threshold_mg_m2=cutoff * np.maximum(counts.pay_m, min_pay_m),
        )
        joins += [
            HandJoin(
                from_dig=sites.digs[a],
                to_dig=sites.digs[b],
                s_m=(float(sites.s_m[a]), float(sites.s_m[b])),
                n_m=(float(sites.n_m[a]), float(sites.n_m[b])),
                horizon=horizon.horizon,
            )
            for a, b in zip(hand.upper, hand.lower, strict=True)
        ]
    return tuple(joins)


def compare_hand(joins: Sequence[HandJoin], streaks: Sequence[Streak]) -> HandCompared:
    """Return which straight joins the streaks bear out, and why not the others."""
    doubts = []
    for join in joins:
        why = _why_not(join, [one for one in streaks if one.horizon == join.horizon])
        if why:
            doubts.append(
                HandDoubt(from_dig=join.from_dig, to_dig=join.to_dig, why=why)
            )
    return HandCompared(
        joins=len(joins), agree=len(joins) - len(doubts), doubts=tuple(doubts)
    )


def _why_not(join: HandJoin, streaks: Sequence[Streak]) -> str:
    """Return why a join is not borne out; nothing where it is."""
    above = _streaks_at(join.s_m[0], join.n_m[0], streaks)
    below = _streaks_at(join.s_m[1], join.n_m[1], streaks)
    lone = [dig for dig, on in ((join.from_dig, above), (join.to_dig, below)) if not on]
    if lone:
        digs = " and ".join(f"dig {dig}" for dig in lone)
        return (
            f"{digs} is rich by its own count, but no streak runs there: its neighbors "
            "across and along say no, and few colors may be luck"
            if len(lone) == 1
            else f"{digs} are rich by their own counts, but no streak runs there"
        )
    if above & below or _linked(above, below, streaks):
        return ""
    one, other = sorted(above)[0], sorted(below)[0]
    return (
        f"it crosses from streak {one} to streak {other}: the nearest rich dig of the "
        "next line belongs to another streak"
    )


def _streaks_at(s_m: float, n_m: float, streaks: Sequence[Streak]) -> set[str]:
    """Return the likely streaks that run through a place."""
    found = set()
    for streak in streaks:
        if streak.probability < TOLD:
            continue
        near = min(streak.path, key=lambda point: abs(point.s_m - s_m), default=None)
        if near is None or abs(near.s_m - s_m) > 5.0:
            continue
        reach = max(near.width_m.p50 / 2.0 + 1.0, ON_STREAK_M)
        if abs(near.n_m - n_m) <= reach:
            found.add(streak.id)
    return found


def _linked(above: set[str], below: set[str], streaks: Sequence[Streak]) -> bool:
    """Tell whether a streak above ends where one below begins."""
    ends = {
        one.id: (one.path[0], one.path[-1])
        for one in streaks
        if one.id in above | below
    }
    return any(
        abs(ends[one][1].s_m - ends[other][0].s_m) <= 7.5
        and abs(ends[one][1].n_m - ends[other][0].n_m) <= 5.0
        for one in above
        for other in below
    )
