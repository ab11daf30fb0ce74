"""Beyond the outermost lines: where a streak may go on, and how fast that is lost.

No line is dug there. A streak goes on as streaks do between lines: it keeps part of its
slope, steps sideways, ends now and then, and grows richer or poorer; every draw does so
by the rates that the chain of links was told, so that the doubt grows with distance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.links import (
    GOLD_CHANGE,
    PER_M,
    STEP_FREEDOM,
    SURVIVAL,
)
from pennyweight.streaks.paths import FoundStreak
from pennyweight.streaks.tracing import Traced, line_place

FloatArray = npt.NDArray[np.float64]

#: Share of its slope that a streak keeps over 15 m [-]. Our choice.
KEPT_SLOPE = 0.5
#: Spacing of the places told [m], how many usual gaps they reach, and how far at most.
STEP_M, REACH_GAPS, MOST_REACH_M = 5.0, 2.0, 60.0
#: A projection is told no further than where it is this likely [-].
LEAST_PROJECTED = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Projected:
    """A place beyond the outermost line where a streak may run.

    Attributes
    ----------
    s_m : float
        Meters downstream [m].
    n_m : ndarray, shape (n_draws,)
        Center in draws where it goes on above the cutoff, else nan [m].
    probability : float
        Share of all draws with it [-].
    """

    s_m: float
    n_m: FloatArray
    probability: float


def project_streak(
    streak: FoundStreak,
    traced: Traced,
    ground: StreakFit,
    *,
    downstream: bool,
    rng: np.random.Generator,
) -> tuple[Projected, ...]:
    """Return where a streak may run beyond the outermost line.

    Parameters
    ----------
    streak : FoundStreak
        The streak.
    traced : Traced
        Its horizon at the same cutoff.
    ground : StreakFit
        What they belong to.
    downstream : bool
        Below the last line; else above the first.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    tuple of Projected
        Away from the line; empty where the streak does not reach the outermost line
        or where there is but one line.
    """
    lines = traced.fit.floor.lines
    crossing = traced.fit.crossings
    end = streak.crossings[-1 if downstream else 0]
    outermost = _outermost(ground, downstream=downstream)
    if len(lines) < 2 or int(crossing.line[end]) != outermost:
        return ()
    start = line_place(ground.grid, outermost, float(crossing.n_m[end]))
    center = np.array(traced.crossing[end].center_n_m)
    alive = np.isfinite(center)
    slope = _slope(streak, traced, ground, downstream=downstream)
    excess = _log_over_cutoff(traced, end, outermost)
    gap_m = float(np.median(np.diff(traced.fit.floor.line_s_m)))
    reach_m = min(REACH_GAPS * gap_m, MOST_REACH_M)
    way = 1.0 if downstream else -1.0
    share = STEP_M / PER_M
    told = []
    for at in range(1, int(reach_m // STEP_M) + 1):
        center = center + way * slope * STEP_M
        scale = traced.fit.topologies.sideways_m * share**0.75
        center = center + scale * rng.standard_t(STEP_FREEDOM, len(center))
        slope = slope * KEPT_SLOPE**share
        excess = excess + GOLD_CHANGE * np.sqrt(share) * rng.standard_normal(
            len(center)
        )
        alive &= rng.random(len(center)) < SURVIVAL**share
        here = alive & (excess > 0.0)
        chance = float(here.mean())
        if chance < LEAST_PROJECTED:
            break
        told.append(
            Projected(
                s_m=start + way * STEP_M * at,
                n_m=np.where(here, center, np.nan),
                probability=chance,
            )
        )
    return tuple(told)


def _outermost(ground: StreakFit, *, downstream: bool) -> int:
    """Return the last line, or the first, that links of any horizon run over."""
    ends = [one.floor.lines[[0, -1]] for one in ground.horizons if len(one.floor.lines)]
    if not ends:
        return -1
    return int(np.max(ends) if downstream else np.min(ends))


def _slope(
    streak: FoundStreak, traced: Traced, ground: StreakFit, *, downstream: bool
) -> FloatArray:
    """Return the slope of each draw between the outermost two crossings [-]."""
    n_draws = len(traced.linked)
    if len(streak.crossings) < 2:
        return np.zeros(n_draws)
    pair = streak.crossings[-2:] if downstream else streak.crossings[:2]
    line = traced.fit.crossings.line
    s_m = [float(ground.sites.line_s_m[line[at]]) for at in pair]
    n_m = [traced.crossing[at].center_n_m for at in pair]
    slope = (n_m[1] - n_m[0]) / max(s_m[1] - s_m[0], 0.5)
    known = slope[np.isfinite(slope)]
    usual = float(np.median(known)) if len(known) else 0.0
    return np.asarray(np.where(np.isfinite(slope), slope, usual))


def _log_over_cutoff(traced: Traced, end: int, line: int) -> FloatArray:
    """Return how far the mean grade of the crossing lies above the cutoff, in logs."""
    ribbon = traced.crossing[end]
    pay = np.median(
        np.maximum(traced.fit.line_pay_m[:, line], traced.min_pay_m), axis=1
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        mean_mg_m2 = ribbon.gold_mg_m / ribbon.width_m
        over = np.log(mean_mg_m2 / (traced.cutoff_mg_m3 * pay))
    return np.asarray(np.where(ribbon.present, over, -np.inf))
