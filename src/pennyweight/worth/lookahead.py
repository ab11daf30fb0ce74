"""What looking again is worth: deciding after it, over deciding now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.worth.blocks import Blocks, Shares
from pennyweight.worth.season import season_count
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lookahead:
    """What deciding after another look brings over deciding now.

    Attributes
    ----------
    now, after : float
        Expected margin of the best decision now, and after looking, the cost of
        looking not taken off [currency].
    noise : float
        Standard error of their difference from the number of draws [currency].
    turns : float
        Chance that looking turns mining into leaving, or leaving into mining [-].
    """

    now: float
    after: float
    noise: float
    turns: float

    @property
    def value(self) -> float:
        """What looking brings; 0 where the noise of the draws could make it."""
        gained = self.after - self.now
        return gained if gained > self.noise else 0.0


def margins_of(
    blocks: Blocks,
    terms: Terms,
    plans: Sequence[IntArray],
    *,
    shares: Shares,
    washed: BoolArray,
    kept_factor: FloatArray | float,
) -> FloatArray:
    """Return the margin of every plan in every draw.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    terms : Terms
        Price, costs and plant.
    plans : sequence of ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    shares : tuple of ndarray
        As `slice_shares` gives them [-].
    washed : ndarray of bool, shape (n_horizons, n_rows, n_columns)
        Pay that is washed [-].
    kept_factor : ndarray, shape (n_draws,), or float
        What the plant keeps in each draw over what it keeps on average [-].

    Returns
    -------
    ndarray, shape (n_plans + 1, n_draws)
        Fixed costs paid; the last plan is to leave the ground [currency].
    """
    n_draws = len(blocks.gold_mg)
    gold, pay, cover = (
        one.reshape(n_draws, -1)
        for one in (blocks.gold_mg, blocks.pay_m3, blocks.cover_m3)
    )
    taken, dug, opened = _parts_taken(blocks, plans, shares)
    kept = taken * washed.reshape(-1, 1)
    sold = (gold @ kept).T * kept_factor * terms.value_per_mg
    wash = (pay @ kept).T
    strip = (pay @ (taken - kept) + cover @ dug).T
    hours = (
        wash.mean(axis=1) * terms.wash_hours_per_m3
        + strip.mean(axis=1) / terms.digs_m3_per_hour
        + opened * terms.reclaim_hours_per_m2
    )
    fixed = [
        terms.each_season * season_count(float(one), terms) if area > 0.0 else 0.0
        for one, area in zip(hours, opened, strict=True)
    ]
    still = opened * terms.reclaiming + np.array(fixed)
    margins = sold - wash * terms.washing - strip * terms.stripping - still[:, None]
    return np.concatenate([margins, np.zeros((1, n_draws))])


def _parts_taken(
    blocks: Blocks, plans: Sequence[IntArray], shares: Shares
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return which part of pay and cover each plan takes, and the surface it opens.

    Shapes (n_horizons n_rows n_columns, n_plans), (n_rows n_columns, n_plans) and
    (n_plans,).
    """
    pay_share, cover_share = shares
    depths = np.arange(len(cover_share))[:, None, None]
    taken, dug = [], []
    for levels in plans:
        mined = depths < levels
        taken.append((pay_share * mined).sum(axis=1).ravel())
        dug.append((cover_share * mined).sum(axis=0).ravel())
    opened = [float(blocks.area_m2[levels > 0].sum()) for levels in plans]
    return np.array(taken).T, np.array(dug).T, np.array(opened)


def look_ahead(margins: FloatArray, expected: FloatArray) -> Lookahead:
    """Return what deciding after a look brings over deciding now.

    Parameters
    ----------
    margins : ndarray, shape (n_plans, n_draws)
        Of every plan in every draw; the last plan is to leave the ground [currency].
    expected : ndarray, shape (n_plans, n_draws)
        What would be expected of every plan after the look, in every draw [currency].

    Returns
    -------
    Lookahead
        Never below deciding now where looking keeps the mean of every plan.

    Notes
    -----
    The expected value of sample information: E[max over plans of what is expected
    after the look] - max over plans of what is expected now.

    References
    ----------
    Howard 1966, IEEE Transactions on Systems Science and Cybernetics 2: 22-26; Strong,
    Oakley, Brennan and Breeze 2015, Medical Decision Making 35: 570-583;
    docs/sources.md, entry "worth of knowing".

    Examples
    --------
    Two kinds of ground, as likely; a look that tells them apart saves the loss of 100
    half of the time, where mining either way brings 50 on average.

    >>> margins = np.array([[200.0, 200.0, -100.0, -100.0], [0.0, 0.0, 0.0, 0.0]])
    >>> found = look_ahead(margins, margins)
    >>> found.now, found.after
    (50.0, 100.0)
    """
    best_now = int(np.argmax(margins.mean(axis=1)))
    best_then = np.argmax(expected, axis=0)
    gained = expected.max(axis=0) - expected[best_now]
    leave = len(margins) - 1
    turned = (best_then == leave) != (best_now == leave)
    now = float(margins[best_now].mean())
    return Lookahead(
        now=now,
        after=now + float(gained.mean()),
        noise=float(gained.std()) / float(np.sqrt(margins.shape[1])),
        turns=float(turned.mean()),
    )
