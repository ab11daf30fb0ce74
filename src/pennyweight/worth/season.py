"""How long a cut takes, and in which order its stretches are mined.

From the lower end upstream water runs off and tailings lie behind (common practice, no
source); another order is proposed only where it puts clearly less money at risk.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

#: Length of a stretch of the season's plan [m]; our assumption.
STRETCH_M = 12.0

#: Stretches of which every order is tried; of more, neighbors are swapped [-].
MOST_ORDERED = 6

#: Another order than upstream must put this share less at risk [-]; our assumption.
CLEARLY_LESS = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of the cut that is mined in one go.

    Attributes
    ----------
    s0_m, s1_m : float
        From and to, downstream [m].
    cover_m3, pay_m3, hours : float
        Expected overburden and pay [m3], and hours [h].
    margin : ndarray, shape (n_draws,)
        Without fixed costs [currency].
    revenue : ndarray, shape (n_draws,)
        What its gold brings [currency].
    material : ndarray, shape (3, n_draws)
        What stripping, washing and putting back cost beside their hours [currency].
    phases_h : ndarray, shape (3, n_draws)
        Running hours of the same three [h].
    dip : ndarray, shape (n_draws,)
        Money laid out before its first gold: its stripping [currency].
    """

    s0_m: float
    s1_m: float
    cover_m3: float
    pay_m3: float
    hours: float
    margin: FloatArray
    revenue: FloatArray
    material: FloatArray
    phases_h: FloatArray
    dip: FloatArray


def season_count(hours: float, terms: Terms) -> int:
    """Return the number of seasons that so many hours fill, one at least.

    Parameters
    ----------
    hours : float
        Working hours, 0 or more [h].
    terms : Terms
        With the hours of a season.

    Returns
    -------
    int
        Seasons begun [-].
    """
    return max(math.ceil(hours / terms.season_hours - 1e-9), 1)


def plan_stretches(
    s_edges_m: FloatArray,
    terms: Terms,
    *,
    gold_mg: FloatArray,
    pay_m3: FloatArray,
    cover_m3: FloatArray,
    opened_m2: FloatArray,
    kept_factor: FloatArray | float = 1.0,
) -> list[Stretch]:
    """Return the stretches of a cut, upstream.

    Parameters
    ----------
    s_edges_m : ndarray, shape (n_rows + 1,)
        Edges of the columns along the valley [m].
    terms : Terms
        Price, costs and plant.
    gold_mg, pay_m3, cover_m3 : ndarray, shape (n_draws, n_rows)
        Gold washed [mg], pay washed and cover moved [m3] of each row of columns.
    opened_m2 : ndarray, shape (n_rows,)
        Surface opened [m2].
    kept_factor : ndarray, shape (n_draws,), or float
        What the plant keeps in each draw over what it keeps on average [-].

    Returns
    -------
    list of Stretch
        Rows in which nothing is taken are left out.
    """
    stretches = []
    group = np.floor((s_edges_m[:-1] - s_edges_m[0]) / STRETCH_M + 1e-9).astype(int)
    for one in np.unique(group)[::-1]:
        rows = np.flatnonzero((group == one) & (opened_m2 > 0.0))
        if len(rows) == 0:
            continue
        gold = gold_mg[:, rows].sum(axis=1) * kept_factor
        stretches.append(
            _make_stretch(
                terms,
                (float(s_edges_m[rows[0]]), float(s_edges_m[rows[-1] + 1])),
                gold_mg=gold,
                pay_m3=pay_m3[:, rows].sum(axis=1),
                cover_m3=cover_m3[:, rows].sum(axis=1),
                area_m2=float(opened_m2[rows].sum()),
            )
        )
    return stretches


def _make_stretch(
    terms: Terms,
    ends_m: tuple[float, float],
    *,
    gold_mg: FloatArray,
    pay_m3: FloatArray,
    cover_m3: FloatArray,
    area_m2: float,
) -> Stretch:
    strip_h = cover_m3 / terms.digs_m3_per_hour
    wash_h = pay_m3 * terms.wash_hours_per_m3
    back_h = np.full(len(pay_m3), area_m2 * terms.reclaim_hours_per_m2)
    revenue = gold_mg * terms.value_per_mg
    reclaiming = area_m2 * terms.reclaiming
    strip, wash = cover_m3 * terms.stripping, pay_m3 * terms.washing
    hours = strip_h + wash_h + back_h
    # Where a m2 has its price, that pays for its hours too.
    paid_back = area_m2 * (
        terms.reclaiming - terms.running * terms.reclaim_hours_per_m2
    )
    each_m3 = terms.wash_per_m3 + terms.boulder_share * terms.strip_per_m3
    return Stretch(
        s0_m=ends_m[0],
        s1_m=ends_m[1],
        cover_m3=float(cover_m3.mean()),
        pay_m3=float(pay_m3.mean()),
        hours=float(hours.mean()),
        margin=revenue - wash - strip - reclaiming,
        revenue=revenue,
        material=np.stack(
            [
                cover_m3 * terms.strip_per_m3,
                pay_m3 * each_m3,
                np.full(len(pay_m3), paid_back),
            ]
        ),
        phases_h=np.stack([strip_h, wash_h, back_h]),
        dip=strip,
    )


def money_at_risk(stretches: Sequence[Stretch]) -> float:
    """Return how deep the purse goes down in this order, as an expected value.

    Parameters
    ----------
    stretches : sequence of Stretch
        In the order of mining.

    Returns
    -------
    float
        Mean over the draws of the lowest cash, 0 or more, without fixed costs
        [currency].
    """
    if not stretches:
        return 0.0
    ends = np.cumsum([one.margin for one in stretches], axis=0)
    starts = np.concatenate([np.zeros((1, ends.shape[1])), ends[:-1]])
    lows = starts - np.array([one.dip for one in stretches])
    lowest = np.minimum(lows.min(axis=0), ends.min(axis=0))
    return float(np.maximum(-lowest, 0.0).mean())


def order_stretches(
    stretches: Sequence[Stretch], *, laid_out: float = 0.0
) -> list[Stretch]:
    """Return the stretches in the order that puts the least money at risk early.

    Parameters
    ----------
    stretches : sequence of Stretch
        Upstream.
    laid_out : float
        Money at risk before the first of them, 0 or more [currency].

    Returns
    -------
    list of Stretch
        Upstream still, unless another order puts clearly less at risk. Up to six every
        order is tried; of more, the rule for known values is improved by swaps.

    Notes
    -----
    With known values least is laid out when stretches that gain come first, those with
    the smallest outlay before their gold leading, and stretches that lose come last,
    those that give most back after their outlay leading; from memory, no source.
    """
    upstream = list(stretches)
    if len(upstream) < 2:
        return upstream
    if len(upstream) <= MOST_ORDERED:
        best = min(permutations(upstream), key=money_at_risk)
    else:
        best = tuple(_swapped(sorted(upstream, key=_rule)))
    now, other = money_at_risk(upstream), money_at_risk(best)
    least = CLEARLY_LESS * (now + laid_out)
    return upstream if now - other <= least else list(best)


def _rule(one: Stretch) -> tuple[bool, float]:
    margin, dip = float(one.margin.mean()), float(one.dip.mean())
    loses = margin < 0.0
    return loses, -(dip + margin) if loses else dip


def _swapped(stretches: list[Stretch]) -> list[Stretch]:
    """Return an order in which no swap of neighbors puts less at risk."""
    best, risk = list(stretches), money_at_risk(stretches)
    better = True
    while better:
        better = False
        for at in range(len(best) - 1):
            trial = [*best[:at], best[at + 1], best[at], *best[at + 2 :]]
            less = money_at_risk(trial)
            if less < risk - 1e-9:
                best, risk, better = trial, less, True
    return best
