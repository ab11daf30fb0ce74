"""How long a cut takes, and in which order its stretches are mined.

Mined from the lower end upstream, so that water runs off and tailings lie behind;
common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

#: Length of a stretch of the season's plan [m]; our assumption.
STRETCH_M = 12.0


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
    """

    s0_m: float
    s1_m: float
    cover_m3: float
    pay_m3: float
    hours: float
    margin: FloatArray


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
) -> list[Stretch]:
    """Return the stretches of a cut in the order of mining, upstream.

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
        pay = pay_m3[:, rows].sum(axis=1)
        cover = cover_m3[:, rows].sum(axis=1)
        margin = (
            gold_mg[:, rows].sum(axis=1) * terms.value_per_mg
            - pay * terms.washing
            - cover * terms.stripping
            - float(opened_m2[rows].sum()) * terms.reclaim_per_m2
        )
        hours = pay / terms.m3_per_hour + cover / terms.digs_m3_per_hour
        stretches.append(
            Stretch(
                s0_m=float(s_edges_m[rows[0]]),
                s1_m=float(s_edges_m[rows[-1] + 1]),
                cover_m3=float(cover.mean()),
                pay_m3=float(pay.mean()),
                hours=float(hours.mean()),
                margin=margin,
            )
        )
    return stretches
