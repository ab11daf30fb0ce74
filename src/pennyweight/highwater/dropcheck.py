"""How the finds so far agree with the drops, and what the scores are worth here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logsumexp
from scipy.stats import rankdata

FloatArray = npt.NDArray[np.float64]

#: Fewer digs than this say nothing about the scores [-]: our assumption.
FEWEST_DIGS = 8

#: Resamples of the digs for the interval of their agreement [-].
RESAMPLES = 1000

#: Spread of what scores may be worth before looking: log odds over the whole range.
PRIOR_WORTH = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How the grades of the digs rank beside what the drops promise there.

    Attributes
    ----------
    n_digs : int
        How many were compared [-].
    rank, low, high : float
        Spearman's rank correlation, with its 10 and 90 % points [-].
    intercept, slope, weight : ndarray
        Posterior of the log odds that a place is richer than the ground's median dig:
        intercept + slope x score [-], on a grid with weights that sum to 1.
    """

    n_digs: int
    rank: float
    low: float
    high: float
    intercept: FloatArray
    slope: FloatArray
    weight: FloatArray

    def chance_richer(self, score: float) -> float:
        """Return the chance that a place of a score beats the ground's median dig.

        Parameters
        ----------
        score : float
            Of a drop, 0 to 1 [-].

        Returns
        -------
        float
            Mean over the posterior [-].
        """
        odds = self.intercept + self.slope * score
        return float(np.sum(self.weight * expit(odds)))


def compare_with_digs(
    promise: npt.ArrayLike, grade_mg_m3: npt.ArrayLike, rng: np.random.Generator
) -> Agreement | None:
    """Return how what the drops promise at digs agrees with what the digs held.

    Parameters
    ----------
    promise : array_like, shape (n_digs,)
        Score at each dig, 0 to 1 [-] (`drops.promise_at`).
    grade_mg_m3 : array_like, shape (n_digs,)
        What each held [mg/m3]; nan where unknown, then it is left out.
    rng : numpy.random.Generator
        Of the resamples.

    Returns
    -------
    Agreement or None
        None with fewer than 8 digs, or where all promise or all hold the same.

    Notes
    -----
    The interval is by resampling the digs. What the scores are worth is a logistic
    relation with normal priors: intercept N(0, 2^2), slope N(2, 2^2) over the scores
    0 to 1, since the rules of the trade are thought to be right before looking;
    its posterior is summed on a grid, without approximation.
    """
    score = np.asarray(promise, dtype=np.float64)
    grade = np.asarray(grade_mg_m3, dtype=np.float64)
    known = np.isfinite(score) & np.isfinite(grade)
    score, grade = score[known], grade[known]
    if len(score) < FEWEST_DIGS or np.ptp(score) <= 0.0 or np.ptp(grade) <= 0.0:
        return None
    drawn = rng.integers(0, len(score), (RESAMPLES, len(score)))
    ranks = [_rank_correlation(score[one], grade[one]) for one in drawn]
    told = np.array([one for one in ranks if np.isfinite(one)])
    low, high = np.quantile(told, [0.1, 0.9])
    intercept, slope, weight = _worth(score, grade > np.median(grade))
    return Agreement(
        n_digs=len(score),
        rank=_rank_correlation(score, grade),
        low=float(low),
        high=float(high),
        intercept=intercept,
        slope=slope,
        weight=weight,
    )


def _rank_correlation(one: FloatArray, other: FloatArray) -> float:
    """Return Spearman's rank correlation; nan where either is all the same [-]."""
    first, second = rankdata(one), rankdata(other)
    first, second = first - first.mean(), second - second.mean()
    scale = float(np.sqrt((first @ first) * (second @ second)))
    return float(first @ second) / scale if scale > 0.0 else float("nan")


def _worth(score: FloatArray, richer: npt.NDArray[np.bool_]) -> tuple[FloatArray, ...]:
    """Return grid and weights of the posterior of the logistic relation."""
    rising, falling = np.linspace(-6.0, 6.0, 97), np.linspace(-8.0, 12.0, 121)
    intercept = np.repeat(rising, len(falling))
    slope = np.tile(falling, len(rising))
    odds = intercept[:, None] + slope[:, None] * score
    sign = np.where(richer, 1.0, -1.0)
    log = -np.logaddexp(0.0, -sign * odds).sum(axis=1)
    log -= 0.5 * (intercept / PRIOR_WORTH) ** 2
    log -= 0.5 * ((slope - PRIOR_WORTH) / PRIOR_WORTH) ** 2
    return intercept, slope, np.exp(log - logsumexp(log))
