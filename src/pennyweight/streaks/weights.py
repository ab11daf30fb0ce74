"""How far the draws may be trusted: importance weights of Laplace's approximation.

The draws come from a normal distribution that touches the posterior at its peak. The
ratio of the two, draw by draw, is what the approximation neglects. Draws of nearly
equal weight need no mending; a few that outweigh all others would give it away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from pennyweight.streaks.counting import FieldCounts, log_chance
from pennyweight.streaks.field import LineDraws, LineField, Prior, read_field
from pennyweight.streaks.profiles import MEAN_LOG, MEAN_LOG_SD

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Shape of the tail below which weights may be averaged: Vehtari et al. 2024.
GOOD_SHAPE = 0.7
#: Largest weights that the tail is fitted to: at most this share of the draws, and at
#: most this many times the root of their number (Vehtari et al. 2024).
TAIL_SHARE, TAIL_ROOT = 0.2, 3.0
#: Least number of weights that a tail is fitted to.
LEAST_TAIL = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawCheck:
    """What weighing the draws by the exact posterior would change.

    Attributes
    ----------
    worth_share : float
        Independent draws that the weighted ones are worth, over their number [-].
    tail_shape : float
        Shape of the tail of the weights; above 0.7 the other two mislead [-].
    gold_ratio : float
        Mean gold with the weights over mean gold without [-].
    """

    worth_share: float
    tail_shape: float
    gold_ratio: float


def weigh_draws(
    field: LineField, counts: FieldCounts, prior: Prior, *, draws: LineDraws
) -> FloatArray:
    """Return the log weight of each draw, but for a constant that they share.

    Parameters
    ----------
    field : LineField
        Laplace's approximation that the draws are from, centered or not.
    counts : FieldCounts
        Counts that it was fitted to.
    prior : Prior
        Prior that it was fitted with.
    draws : LineDraws
        Joint draws of it.

    Returns
    -------
    ndarray, shape (n_draws,)
        Log of posterior density over that of the approximation [-].
    """
    log_mg_m2 = draws.log_mg_m2.transpose(1, 2, 0)
    g = log_mg_m2 - draws.mean_log
    at_digs = read_field(log_mg_m2, counts, prior.across.grid_n_m)
    size = np.reshape(counts.sizes(prior.size), (-1, 1))
    fit = log_chance(
        counts.colors[:, None], counts.exposed[:, None], at_digs, size=size
    )
    joint = fit.sum(axis=0) - 0.5 * (g * field.precision.times(g)).sum(axis=(0, 1))
    joint -= 0.5 * ((draws.mean_log - MEAN_LOG) / MEAN_LOG_SD) ** 2
    return np.asarray(joint - draws.log_density)


def check_draws(log_weight: FloatArray, group: IntArray, gold: FloatArray) -> DrawCheck:
    """Return what the weights of all groups of draws say together.

    Parameters
    ----------
    log_weight : ndarray, shape (n_draws,)
        As `weigh_draws` gives them, a constant a group apart [-].
    group : ndarray of int, shape (n_draws,)
        Draws of one number share topology and hyperparameters [-].
    gold : ndarray, shape (n_draws,)
        Gold of each draw, any unit [-].

    Returns
    -------
    DrawCheck
        Every group keeps the share of the draws that it has.

    References
    ----------
    Kish 1965, Survey Sampling (effective number); Vehtari, Simpson, Gelman, Yao and
    Gabry 2024, Journal of Machine Learning Research 25(72) (smoothed weights).
    """
    own = np.empty(len(log_weight))
    for at in np.unique(group):
        mine = group == at
        own[mine] = log_weight[mine] - logsumexp(log_weight[mine], b=1.0 / mine.sum())
    smooth, shape = smooth_tail(np.exp(own))
    weight = smooth / smooth.sum()
    return DrawCheck(
        worth_share=float(1.0 / (weight**2).sum() / len(weight)),
        tail_shape=shape,
        gold_ratio=float(weight @ gold / gold.mean()),
    )


def smooth_tail(weight: FloatArray) -> tuple[FloatArray, float]:
    """Return the weights with the largest ones smoothed, and the shape of their tail.

    Parameters
    ----------
    weight : ndarray, shape (n_draws,)
        Above 0 [-].

    Returns
    -------
    tuple
        Weights, none above the largest given, and the shape k of the generalized
        Pareto distribution of the largest; -inf where all are alike [-].

    Notes
    -----
    The largest min(0.2 S, 3 sqrt(S)) of S weights are put at the expected order
    statistics of the distribution fitted to them.

    References
    ----------
    Vehtari, Simpson, Gelman, Yao and Gabry 2024, Journal of Machine Learning Research
    25(72), algorithm 1 (from memory).
    """
    n_tail = int(min(TAIL_SHARE * len(weight), TAIL_ROOT * np.sqrt(len(weight))))
    if n_tail < LEAST_TAIL:
        return weight, float("inf")
    order = np.argsort(weight)
    cut = weight[order[-n_tail - 1]]
    over = weight[order[-n_tail:]] - cut
    if over[-1] <= 1e-12 * weight.mean():
        return weight, float("-inf")
    shape, scale = fit_pareto(np.maximum(over, 1e-300))
    rank = (np.arange(n_tail) + 0.5) / n_tail
    place = (
        -np.log1p(-rank)
        if abs(shape) < 1e-9
        else np.expm1(-shape * np.log1p(-rank)) / shape
    )
    out = weight.copy()
    out[order[-n_tail:]] = np.minimum(cut + scale * place, weight.max())
    return out, shape


def fit_pareto(over: FloatArray) -> tuple[float, float]:
    """Return shape and scale of the generalized Pareto distribution of some values.

    Parameters
    ----------
    over : ndarray, shape (n_values,)
        Above 0, in rising order [-].

    Returns
    -------
    tuple of float
        Shape k, drawn toward 1/2 as by ten values, and scale.

    References
    ----------
    Zhang and Stephens 2009, Technometrics 51, 316-325 (from memory); the pull toward
    1/2: Vehtari et al. 2024, appendix.
    """
    n = len(over)
    tries = 30 + int(np.sqrt(n))
    quartile = over[int(n / 4.0 + 0.5) - 1]
    rank = np.arange(1, tries + 1) - 0.5
    theta = 1.0 / over[-1] + (1.0 - np.sqrt(tries / rank)) / (3.0 * quartile)
    shape = np.log1p(-theta[:, None] * over[None, :]).mean(axis=1)
    log_chance_of = n * (np.log(-theta / shape) - shape - 1.0)
    share = np.exp(log_chance_of - logsumexp(log_chance_of))
    mean = float(share @ theta)
    found = float(np.log1p(-mean * over).mean())
    return (found * n + 5.0) / (n + 10.0), -found / mean
