"""Where two streaks come together: draw by draw, whatever the draws agree on.

Both are followed down the links of each draw. They are one from where they reach the
same crossing on, somewhat above it where they lie close; over the draws this gives the
chance that they are one by any place down the valley.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.paths import ONE_CREST, FoundStreak
from pennyweight.streaks.tracing import Traced

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Pairs that come together in fewer draws are left out [-].
LEAST_TOGETHER = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Confluence:
    """Two streaks that come together in some draws.

    Attributes
    ----------
    pair : tuple of int
        Streaks, as numbers in the list of all [-].
    probability : float
        Share of all draws in which they do [-].
    s_m, n_m : ndarray, shape (n_draws,)
        Where, nan in draws in which they do not [m].
    """

    pair: tuple[int, int]
    probability: float
    s_m: FloatArray
    n_m: FloatArray


def find_confluences(
    traced: Traced, streaks: Sequence[FoundStreak], ground: StreakFit
) -> list[Confluence]:
    """Return where the streaks of a horizon come together, pair by pair.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.
    streaks : sequence of FoundStreak
        All streaks; those of other horizons are passed by.
    ground : StreakFit
        What they belong to.

    Returns
    -------
    list of Confluence
        Pairs that cross a common line and come together in a tenth of the draws.
    """
    mine = [at for at, one in enumerate(streaks) if one.horizon == traced.fit.horizon]
    line = traced.fit.crossings.line
    crossed = {at: {int(line[one]) for one in streaks[at].crossings} for at in mine}
    present = traced.present()
    reached = {at: _reach(traced, present, streaks[at].crossings) for at in mine}
    found = []
    for one, other in combinations(mine, 2):
        if not crossed[one] & crossed[other]:
            continue
        s_m, n_m = _meet(traced, reached[one], reached[other], ground)
        share = float(np.isfinite(s_m).mean())
        if share >= LEAST_TOGETHER:
            found.append(
                Confluence(pair=(one, other), probability=share, s_m=s_m, n_m=n_m)
            )
    return found


def _links_down(traced: Traced) -> IntArray:
    """Return the links in order of the line that they leave."""
    return np.argsort(traced.fit.crossings.line[traced.parent], kind="stable")


def _reach(traced: Traced, present: BoolArray, own: Sequence[int]) -> BoolArray:
    """Return which crossings a streak's gold comes to, draw by draw."""
    reached = np.zeros_like(present)
    reached[:, list(own)] = present[:, list(own)]
    for link in _links_down(traced):
        parent, child = int(traced.parent[link]), int(traced.child[link])
        reached[:, child] |= reached[:, parent] & traced.linked[:, link]
    return reached


def _meet(
    traced: Traced, one: BoolArray, other: BoolArray, ground: StreakFit
) -> tuple[FloatArray, FloatArray]:
    """Return where two streaks first reach the same crossing, nan where they do not."""
    line = traced.fit.crossings.line
    s_m, n_m = np.full(len(one), np.nan), np.full(len(one), np.nan)
    both = one & other
    for crossing in np.argsort(line, kind="stable"):
        new = np.flatnonzero(both[:, crossing] & ~np.isfinite(s_m))
        links = np.flatnonzero(traced.child == crossing)
        if not len(new) or not len(links):
            continue
        parents = traced.parent[links]
        from_one = traced.linked[:, links] & one[:, parents]
        from_other = traced.linked[:, links] & other[:, parents]
        centers = np.stack(
            [traced.crossing[int(at)].center_n_m for at in parents], axis=1
        )
        ribbon = traced.crossing[int(crossing)]
        s_one = float(ground.sites.line_s_m[line[crossing]])
        s_far = float(ground.sites.line_s_m[line[parents[0]]])
        for draw in new:
            ends = [
                _mean_of(centers[draw], which[draw]) for which in (from_one, from_other)
            ]
            if not np.isfinite(ends).all():
                continue
            apart = max(abs(ends[1] - ends[0]), 1e-9)
            way = min(1.0, ONE_CREST * float(ribbon.width_m[draw]) / apart)
            here = float(ribbon.center_n_m[draw])
            s_m[draw] = s_one + way * (s_far - s_one)
            n_m[draw] = here + way * (float(np.mean(ends)) - here)
    return s_m, n_m


def _mean_of(values: FloatArray, chosen: BoolArray) -> float:
    picked = values[chosen & np.isfinite(values)]
    return float(picked.mean()) if len(picked) else float("nan")


def chance_by(confluence: Confluence, s_m: FloatArray) -> FloatArray:
    """Return the chance that two streaks are one by each place down the valley.

    Parameters
    ----------
    confluence : Confluence
        Two streaks.
    s_m : ndarray, shape (n_places,)
        Places downstream [m].

    Returns
    -------
    ndarray, shape (n_places,)
        Share of all draws [-]; never falls downstream.
    """
    met = confluence.s_m[np.isfinite(confluence.s_m)]
    return np.asarray((met[:, None] <= s_m[None, :]).sum(axis=0) / len(confluence.s_m))
