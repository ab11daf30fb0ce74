"""High values by the handbook: averages with and without them, for comparison.

The grades of this program are never cut: the ground's own law treats a rich pan (see
`places`). What the handbooks would do stands here, so that both can be seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import hyp0f1


@dataclass(frozen=True, slots=True)
class Cut:
    """A series of values averaged in the handbooks' ways.

    Attributes
    ----------
    mean : float
        Of all values, in their unit.
    without_highest : float
        The highest left out.
    capped_at_next : float
        The highest lowered to the next.
    highest_share : float
        Of the highest value in the sum of all [-].
    """

    mean: float
    without_highest: float
    capped_at_next: float
    highest_share: float


def cut_highest(values: npt.ArrayLike) -> Cut:
    """Return what the handbooks' treatments of the highest value would give.

    Parameters
    ----------
    values : array_like, shape (n_values,)
        At least two [-].

    Returns
    -------
    Cut
        In the unit of the values.

    Raises
    ------
    ValueError
        Fewer than two values.

    References
    ----------
    Common practice: leave out, or lower to the next; neither is right, first rule
    out a mistake or salting. docs/sources.md "high values".

    Examples
    --------
    >>> cut_highest([1.0, 2.0, 9.0]).capped_at_next
    1.6666666666666667
    """
    seen = np.sort(np.asarray(values, np.float64))
    if seen.size < 2:
        msg = f"values are {seen.tolist()}; give two or more."
        raise ValueError(msg)
    total = float(seen.sum())
    return Cut(
        mean=float(seen.mean()),
        without_highest=float(seen[:-1].mean()),
        capped_at_next=float((total - seen[-1] + seen[-2]) / seen.size),
        highest_share=float(seen[-1]) / total if total > 0.0 else 0.0,
    )


def capped_mean(values: npt.ArrayLike, cap: float) -> float:
    """Return the mean with every value above the cap lowered to it.

    Parameters
    ----------
    values : array_like, shape (n_values,)
        At least one [-].
    cap : float
        Highest value judged reasonable, in the same unit [-].

    Returns
    -------
    float
        Mean [-].

    Examples
    --------
    >>> capped_mean([20.0, 900.0], 100.0)
    60.0
    """
    return float(np.minimum(np.asarray(values, np.float64), cap).mean())


def recut_mean(values: npt.ArrayLike, recuts: Mapping[int, float]) -> float:
    """Return the mean with the lower of two results where a sample was repeated.

    Parameters
    ----------
    values : array_like, shape (n_values,)
        First results [-].
    recuts : mapping of int to float
        Place of a value in the series, and the second result there [-].

    Returns
    -------
    float
        Mean [-].

    Examples
    --------
    >>> recut_mean([20.0, 900.0], {1: 60.0})
    40.0
    """
    lower = np.asarray(values, np.float64).copy()
    for place, second in recuts.items():
        lower[place] = min(lower[place], second)
    return float(lower.mean())


def lognormal_mean(values: npt.ArrayLike) -> float:
    """Return Sichel's estimate of the mean of a few skewed values.

    Parameters
    ----------
    values : array_like, shape (n_values,)
        Above 0, at least two [-].

    Returns
    -------
    float
        Mean, in the unit of the values [-].

    Raises
    ------
    ValueError
        Fewer than two values, or one that is not above 0.

    Notes
    -----
    exp(mean of logs) x gamma_n(V), V the variance of the logs divided by n (not
    n - 1): the minimum-variance unbiased estimator for lognormal values.

    References
    ----------
    Sichel (1966), SAIMM symposium on mathematical statistics and computers in
    valuation, Johannesburg; docs/sources.md "Sichel's mean".

    Examples
    --------
    >>> round(lognormal_mean([5.0, 5.0]), 6)
    5.0
    """
    seen = np.asarray(values, np.float64)
    if seen.size < 2 or np.any(seen <= 0.0):
        msg = f"values are {seen.tolist()}; give two or more, all above 0."
        raise ValueError(msg)
    logs = np.log(seen)
    factor = sichel_factor(seen.size, float(logs.var()))
    return float(np.exp(logs.mean())) * factor


def sichel_factor(n: int, variance: float) -> float:
    """Return Sichel's factor gamma_n(V).

    Parameters
    ----------
    n : int
        Number of values, 2 or more [-].
    variance : float
        Of their logs, divided by n [-].

    Returns
    -------
    float
        Factor [-].

    Notes
    -----
    0F1(; (n - 1) / 2; (n - 1) V / 4): for n = 2 it is cosh(sqrt V), for n = 4
    sinh(sqrt 3V) / sqrt 3V, for large n exp(V / 2).

    References
    ----------
    Sichel (1966); docs/sources.md "Sichel's mean".

    Examples
    --------
    >>> round(sichel_factor(2, 1.0), 5)
    1.54308
    """
    half = (n - 1) / 2.0
    return float(hyp0f1(half, half * variance / 2.0))
