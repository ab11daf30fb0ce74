"""How counts of colors scatter about what lies there: the negative binomial.

Poisson scatter plus heterogeneity inside a sample. With mean m = E exp(f) and size
r the variance is m + m^2 / r; r without bound is Poisson. The logarithm of the
likelihood is concave in f, so Newton's method finds its one peak.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Log accumulation is kept within these so that no exponential overflows.
LEAST_LOG, MOST_LOG = -25.0, 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldCounts:
    """Counts of one horizon with their places on the lines.

    Attributes
    ----------
    line : ndarray of int, shape (n_told,)
        Index of the line [-].
    n_m, colors, exposed : ndarray, shape (n_told,)
        Place across [m], colors [-], exposure [m2/mg].
    unsure : ndarray, shape (n_told,), or None
        Relative variance of the exposure; None where it is sure everywhere [-].
    """

    line: IntArray
    n_m: FloatArray
    colors: FloatArray
    exposed: FloatArray
    unsure: FloatArray | None = None

    def sizes(self, size: float) -> float | FloatArray:
        """Return the negative binomial size of each count [-].

        Parameters
        ----------
        size : float
            Where the exposure is sure [-].

        Returns
        -------
        float or ndarray, shape (n_told,)
            1 / (1 / r + v): an exposure of relative variance v adds v m^2.
        """
        if self.unsure is None:
            return size
        return np.asarray(1.0 / (1.0 / size + self.unsure))


def log_chance(
    colors: FloatArray,
    exposed: FloatArray,
    log_mg_m2: FloatArray,
    *,
    size: float | FloatArray,
) -> FloatArray:
    """Return the log probability of each count.

    Parameters
    ----------
    colors : ndarray
        Colors seen [-]; need not be whole numbers.
    exposed : ndarray
        Exposure, 0 where nothing was washed [m2/mg].
    log_mg_m2 : ndarray
        Log accumulation f [ln mg/m2].
    size : float or ndarray
        Negative binomial size r [-].

    Returns
    -------
    ndarray
        Natural logarithms [-]; 0 where the exposure is 0.

    References
    ----------
    Negative binomial in the mean and size form: var = m + m^2/r; see docs/sources.md,
    "negative binomial counts".

    Examples
    --------
    >>> float(np.exp(log_chance(np.array([0.0]), np.array([1.0]),
    ...                         np.log(np.array([3.0])), size=0.5))[0].round(4))
    0.378
    """
    mean = exposed * np.exp(np.clip(log_mg_m2, LEAST_LOG, MOST_LOG))
    told = exposed > 0.0
    safe = np.where(told, mean, 1.0)
    chance = (
        gammaln(colors + size)
        - gammaln(size)
        - gammaln(colors + 1.0)
        + size * np.log(size / (size + safe))
        + colors * np.log(safe / (size + safe))
    )
    return np.where(told, chance, 0.0)


def slope_and_weight(
    colors: FloatArray,
    exposed: FloatArray,
    log_mg_m2: FloatArray,
    *,
    size: float | FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return the first derivative and minus the second of the log probability in f.

    Parameters
    ----------
    colors, exposed, log_mg_m2 : ndarray
        As in `log_chance` [-], [m2/mg], [ln mg/m2].
    size : float or ndarray
        Negative binomial size r [-].

    Returns
    -------
    tuple of ndarray
        Slope y - (y + r) m / (r + m) and weight (y + r) r m / (r + m)^2 [-].
    """
    mean = exposed * np.exp(np.clip(log_mg_m2, LEAST_LOG, MOST_LOG))
    told = exposed > 0.0
    share = mean / (size + mean)
    slope = np.where(told, colors - (colors + size) * share, 0.0)
    return slope, (colors + size) * share * (1.0 - share)


def skewness_of(
    colors: FloatArray,
    exposed: FloatArray,
    log_mg_m2: FloatArray,
    *,
    size: float | FloatArray,
) -> FloatArray:
    """Return the third derivative of the log probability in f.

    Parameters
    ----------
    colors, exposed, log_mg_m2 : ndarray
        As in `log_chance` [-], [m2/mg], [ln mg/m2].
    size : float or ndarray
        Negative binomial size r [-].

    Returns
    -------
    ndarray
        -(y + r) s (1 - s) (1 - 2 s), s = m / (r + m) [-].
    """
    mean = exposed * np.exp(np.clip(log_mg_m2, LEAST_LOG, MOST_LOG))
    share = mean / (size + mean)
    return -(colors + size) * share * (1.0 - share) * (1.0 - 2.0 * share)


def first_guess(colors: FloatArray, exposed: FloatArray) -> FloatArray:
    """Return a log accumulation to start Newton's method from.

    Parameters
    ----------
    colors, exposed : ndarray
        As in `log_chance` [-], [m2/mg].

    Returns
    -------
    ndarray
        ln((y + 1/2) / E), the median of them where nothing was washed [ln mg/m2].
    """
    told = exposed > 0.0
    guess = np.log((colors + 0.5) / np.where(told, exposed, 1.0))
    middle = float(np.median(guess[told])) if told.any() else 0.0
    return np.where(told, guess, middle)
