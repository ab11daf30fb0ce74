"""What counts allow: exact Poisson limits, and the posterior of a gamma mixture.

The rate of colors is gamma distributed before the pan is seen; given a count it is
gamma again, exactly. Volume and mean mass multiply it by a lognormal factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammainc, gammaincinv, gammaln, ndtr, ndtri

FloatArray = npt.NDArray[np.float64]

#: Points of the Gauss-Hermite rule over the lognormal factor, and of the table of
#: each distribution function; with both, quantiles are right to 0.1 %.
FACTOR_POINTS, TABLE_POINTS = 7, 25
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(FACTOR_POINTS)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_TAIL = 0.02
#: Below this a factor counts as exactly known [-].
_NO_SPREAD = 1e-9


def exact_limits(
    colors: npt.ArrayLike, probability: float = 0.80
) -> tuple[FloatArray, FloatArray]:
    """Return the exact limits of the expected number, given the number seen.

    They hold the truth with at least the stated probability whatever it is. With
    nothing seen the lower limit is 0 and the upper one takes its half of the rest.

    Parameters
    ----------
    colors : array_like, shape (n,)
        Numbers seen, 0 or more [-].
    probability : float
        That the limits hold, 0 to 1 [-].

    Returns
    -------
    tuple of ndarray, shape (n,)
        Lower and upper limit [-].

    Raises
    ------
    ValueError
        A count is below 0 or the probability not between 0 and 1.

    Notes
    -----
    Half the chi-square points of 2 n and 2 n + 2 degrees of freedom, which are
    points of gamma distributions of shape n and n + 1.

    References
    ----------
    Garwood (1936), Biometrika 28: 437-442; docs/sources.md "Poisson limits".

    Examples
    --------
    >>> print(exact_limits([0], 0.95)[1].round(4))
    [3.6889]
    """
    seen = np.asarray(colors, dtype=np.float64)
    if np.any(seen < 0.0):
        msg = f"colors are {seen.min()}; a count is 0 or more."
        raise ValueError(msg)
    if not 0.0 < probability < 1.0:
        msg = f"probability is {probability}; it lies between 0 and 1."
        raise ValueError(msg)
    rest = (1.0 - probability) / 2.0
    lower = np.where(seen > 0.0, gammaincinv(np.maximum(seen, 0.5), rest), 0.0)
    upper = gammaincinv(seen + 1.0, 1.0 - rest)
    return np.asarray(lower, np.float64), np.asarray(upper, np.float64)


def upper_limit(colors: float, probability: float = 0.90) -> float:
    """Return the expected number that is exceeded only with the rest's probability.

    Parameters
    ----------
    colors : float
        Number seen [-].
    probability : float
        One-sided [-].

    Returns
    -------
    float
        Upper limit [-].

    References
    ----------
    Garwood (1936); with no color this is -ln(1 - probability).

    Examples
    --------
    >>> round(upper_limit(0.0, 0.95), 4)
    2.9957
    """
    return float(gammaincinv(colors + 1.0, probability))


def counts_log_probability(
    counts: npt.ArrayLike, expected: npt.ArrayLike, shape: npt.ArrayLike
) -> FloatArray:
    """Return the log probability of counts whose rate is gamma distributed.

    Parameters
    ----------
    counts : array_like
        Numbers seen, 0 or more; need not be whole [-].
    expected : array_like
        Mean of the count [-].
    shape : array_like
        Shape of the gamma distribution of the rate [-].

    Returns
    -------
    ndarray
        Natural log of the negative binomial probability [-].

    Notes
    -----
    Variance mu + mu^2 / k and P(0) = (1 + mu / k)^-k for mean mu and shape k.

    Examples
    --------
    >>> round(float(np.exp(counts_log_probability(0, 3.0, 0.5))), 6)
    0.377964
    """
    n, mu, k = (np.asarray(one, np.float64) for one in (counts, expected, shape))
    choose = gammaln(n + k) - gammaln(k) - gammaln(n + 1.0)
    log_k_mu = np.log(k + mu)
    log_mu = np.log(np.maximum(mu, np.finfo(np.float64).tiny))
    return np.asarray(
        choose + k * (np.log(k) - log_k_mu) + n * (log_mu - log_k_mu), np.float64
    )


@dataclass(frozen=True, slots=True)
class _Law:
    """Distribution of gamma mixtures times a lognormal factor, one row a sample.

    The narrower of the two is integrated by a rule, over the other's smooth
    distribution function: `wide` says where the factor is the wider one.
    """

    weights: FloatArray
    shapes: FloatArray
    rates: FloatArray
    log_sd: FloatArray
    wide: npt.NDArray[np.bool_]
    log_points: FloatArray
    """Log of the gamma's points under the rule, shape (n, n_parts, n_nodes)."""


def _law_of(
    weights: FloatArray, shapes: FloatArray, rates: FloatArray, log_sd: FloatArray
) -> _Law:
    """Return the law, with the rule's points where they are needed."""
    wide = log_sd > 1.0 / np.sqrt(shapes.min(axis=1))
    log_points = np.zeros((*shapes.shape, FACTOR_POINTS))
    points = gammaincinv(shapes[wide][:, :, None], ndtr(_NODES))
    log_points[wide] = np.log(points / rates[wide][:, :, None])
    return _Law(weights, shapes, rates, log_sd, wide, log_points)


def _share_below(law: _Law, log_x: FloatArray) -> FloatArray:
    """Return the distribution function at points of shape (n, n_points)."""
    share = np.zeros_like(log_x)
    share[law.wide] = _factor_over_gamma(law, log_x[law.wide])
    share[~law.wide] = _gamma_over_factor(law, log_x[~law.wide])
    return share


def _factor_over_gamma(law: _Law, log_x: FloatArray) -> FloatArray:
    """Return the share below where the factor is the wider one."""
    total = np.zeros_like(log_x)
    log_sd = law.log_sd[law.wide, None, None]
    for node, node_weight in enumerate(_NODE_WEIGHTS):
        points = law.log_points[law.wide, :, node, None]
        below = ndtr((log_x[:, None, :] - points) / log_sd)
        total += node_weight * np.einsum("k,nkp->np", law.weights, below)
    return total


def _gamma_over_factor(law: _Law, log_x: FloatArray) -> FloatArray:
    """Return the share below where the gamma is the wider one."""
    total = np.zeros_like(log_x)
    log_sd = law.log_sd[~law.wide, None]
    shapes, rates = law.shapes[~law.wide, :, None], law.rates[~law.wide, :, None]
    exact = not np.any(log_sd > _NO_SPREAD)
    nodes, node_weights = (
        (np.zeros(1), np.ones(1)) if exact else (_NODES, _NODE_WEIGHTS)
    )
    for node, node_weight in zip(nodes, node_weights, strict=True):
        x = np.exp(log_x - log_sd * node)
        below = gammainc(shapes, rates * x[:, None, :])
        total += node_weight * np.einsum("k,nkp->np", law.weights, below)
    return total


def mixture_quantiles(
    weights: FloatArray,
    shapes: FloatArray,
    rates: FloatArray,
    *,
    log_sd: FloatArray,
    probabilities: tuple[float, ...],
) -> FloatArray:
    """Return quantiles of gamma mixtures times a lognormal factor of median 1.

    Parameters
    ----------
    weights : ndarray, shape (n_parts,)
        Probability of each part of the mixture; they add to 1 [-].
    shapes, rates : ndarray, shape (n, n_parts)
        Of the gamma distributions [-].
    log_sd : ndarray, shape (n,)
        Standard deviation of the log of the factor [-].
    probabilities : tuple of float
        Between 0.03 and 0.97 [-].

    Returns
    -------
    ndarray, shape (n, n_probabilities)
        Quantiles, in one over the unit of the rates [-].

    Notes
    -----
    One part and no factor: the exact inverse. Otherwise the distribution function
    (a Gauss-Hermite rule over whichever of gamma and factor is narrower) is tabled
    over log x, read backward on the probit scale, where it is nearly straight, and
    the reading is mended once.
    """
    wanted = np.asarray(probabilities)
    if weights.size == 1 and not np.any(log_sd > _NO_SPREAD):
        return np.asarray(gammaincinv(shapes, wanted) / rates, np.float64)
    law = _law_of(weights, shapes, rates, log_sd)
    tails = np.array([[[_TAIL]], [[1.0 - _TAIL]]])
    ends = np.log(gammaincinv(shapes, tails) / rates)
    reach = -float(ndtri(_TAIL)) * log_sd
    low, high = ends[0].min(axis=1) - reach, ends[1].max(axis=1) + reach
    steps = np.linspace(0.0, 1.0, TABLE_POINTS)
    points = low[:, None] + (high - low)[:, None] * steps
    table = _probit(_share_below(law, points))
    found = np.empty((len(low), wanted.size))
    rows = np.arange(len(low))
    for column, probit in enumerate(ndtri(wanted)):
        cell = np.clip((table < probit).sum(axis=1) - 1, 0, TABLE_POINTS - 2)
        left = (points[rows, cell], table[rows, cell])
        right = (points[rows, cell + 1], table[rows, cell + 1])
        first = _read_backward(left, right, probit)
        middle = (first, _probit(_share_below(law, first[:, None]))[:, 0])
        found[:, column] = np.where(
            middle[1] < probit,
            _read_backward(middle, right, probit),
            _read_backward(left, middle, probit),
        )
    return np.exp(found)


def _probit(share: FloatArray) -> FloatArray:
    """Return the normal score of a share, kept finite."""
    return np.asarray(ndtri(np.clip(share, 1e-12, 1.0 - 1e-12)), np.float64)


def _read_backward(
    left: tuple[FloatArray, FloatArray],
    right: tuple[FloatArray, FloatArray],
    probit: float,
) -> FloatArray:
    """Return where a straight line between two points reaches a normal score."""
    rise = np.maximum(right[1] - left[1], 1e-12)
    share = np.clip((probit - left[1]) / rise, 0.0, 1.0)
    return left[0] + share * (right[0] - left[0])


def total_rel_sd(expected_colors: float, color_cv: float) -> float:
    """Return the relative spread of the gold of a sample of a given ground.

    Parameters
    ----------
    expected_colors : float
        Mean number of colors, above 0 [-].
    color_cv : float
        Coefficient of variation of the mass of one color [-].

    Returns
    -------
    float
        Standard deviation over mean of the total mass [-].

    Raises
    ------
    ValueError
        No color is expected.

    Notes
    -----
    Compound Poisson: variance = expected number times the mean square of a mass.

    Examples
    --------
    >>> total_rel_sd(20.0, 2.0)
    0.5
    """
    if expected_colors <= 0.0:
        msg = f"expected_colors is {expected_colors}; it must be above 0."
        raise ValueError(msg)
    return float(np.sqrt((1.0 + color_cv**2) / expected_colors))
