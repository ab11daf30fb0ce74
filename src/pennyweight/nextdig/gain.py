"""What a dig is expected to change in the decision, from the joint draws alone.

Each draw in turn plays the truth: what would be counted there is simulated, the other
draws are weighed by how well they agree with it, mine-or-leave is decided anew for
every block, and the truth settles what that decision brings. Nothing is fitted again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Size of the negative binomial of a count: patchiness inside a sample [-].
PATCHINESS = 3.0

#: Draws that must still speak after weighing; below, weights are flattened [-].
LEAST_SPEAKING = 12.0

#: Most halvings of the weights' logarithm.
MOST_HALVINGS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedGain:
    """What looking is worth.

    Attributes
    ----------
    value : float
        Expected rise of what the decisions bring, in the unit of the values.
    wrong : float
        Expected fall of the share of blocks decided wrongly [-].
    noise : float
        Standard error of `value` from the number of draws.
    """

    value: float
    wrong: float
    noise: float = 0.0

    @property
    def sure_value(self) -> float:
        """The value, or 0 where the noise of the draws could make it."""
        return self.value if self.value > self.noise else 0.0


def expected_colors(
    accumulation_mg_m2: FloatArray,
    thickness_m: FloatArray,
    *,
    bank_m3: float,
    color_mg: float,
    recovery: float,
) -> FloatArray:
    """Return the colors that a sample of the zone would show in every draw.

    Parameters
    ----------
    accumulation_mg_m2, thickness_m : ndarray, any one shape
        Gold of the zone [mg/m2] and its thickness [m].
    bank_m3 : float
        Bank volume to be washed, above 0 [m3].
    color_mg : float
        Mean mass of a color, above 0 [mg].
    recovery : float
        Share of the colors that is found, above 0 [-].

    Returns
    -------
    ndarray
        Expected count [-].

    Raises
    ------
    ValueError
        A volume, mass or share that is not above 0.

    Examples
    --------
    >>> float(expected_colors(np.array(60.0), np.array(0.3),
    ...     bank_m3=0.04, color_mg=0.5, recovery=0.9))
    14.4
    """
    for name, one in (
        ("bank_m3", bank_m3),
        ("color_mg", color_mg),
        ("recovery", recovery),
    ):
        if not one > 0.0:
            msg = f"{name} is {one}; it must be above 0 to expect colors."
            raise ValueError(msg)
    grade = accumulation_mg_m2 / np.maximum(thickness_m, 0.05)
    return np.asarray(grade * bank_m3 * recovery / color_mg)


def simulate_counts(expected: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return a count for every expectation, patchiness included.

    Parameters
    ----------
    expected : ndarray
        Expected colors [-].
    rng : numpy.random.Generator
        Of the draws.

    Returns
    -------
    ndarray
        Colors [-].

    Notes
    -----
    Negative binomial of size 3: Poisson counts of gamma rates.
    """
    rates = expected * rng.gamma(PATCHINESS, 1.0 / PATCHINESS, np.shape(expected))
    return rng.poisson(rates).astype(np.float64)


def log_agreement(counts: FloatArray, expected: FloatArray) -> FloatArray:
    """Return how well every draw agrees with the count of every other one.

    Parameters
    ----------
    counts : ndarray, shape (n_horizons, n_draws)
        What was counted where that draw was the truth [-].
    expected : ndarray, shape (n_horizons, n_draws)
        What each draw expects [-].

    Returns
    -------
    ndarray, shape (n_draws, n_draws)
        Logarithm of the likelihood: row the truth, column the draw that explains [-].

    Notes
    -----
    Negative binomial of size 3 and mean `expected`; horizons are counted apart.
    """
    seen = counts[:, :, None]
    mean = np.maximum(expected, 1e-6)[:, None, :]
    likelihood = (
        gammaln(seen + PATCHINESS)
        - gammaln(PATCHINESS)
        - gammaln(seen + 1.0)
        + PATCHINESS * np.log(PATCHINESS / (PATCHINESS + mean))
        + seen * np.log(mean / (PATCHINESS + mean))
    )
    return np.asarray(likelihood.sum(axis=0))


def weigh_others(agreement: FloatArray) -> FloatArray:
    """Return weights over the other draws for every draw that plays the truth.

    Parameters
    ----------
    agreement : ndarray, shape (n_draws, n_draws)
        Logarithm of the likelihood [-].

    Returns
    -------
    ndarray, shape (n_draws, n_draws)
        Rows add up to 1, the diagonal is 0 [-]. Where fewer than a dozen draws would
        speak, the row is flattened, which makes the gain smaller, never larger.
    """
    logs = np.array(agreement, dtype=np.float64)
    np.fill_diagonal(logs, -np.inf)
    weights = _normalize(logs)
    enough = min(LEAST_SPEAKING, len(logs) / 3.0)
    for _ in range(MOST_HALVINGS):
        few = 1.0 / (weights**2).sum(axis=1) < enough
        if not few.any():
            break
        logs[few] /= 2.0
        weights[few] = _normalize(logs[few])
    return weights


def _normalize(logs: FloatArray) -> FloatArray:
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def gain_of(weights: FloatArray, value: FloatArray) -> ExpectedGain:
    """Return what deciding with those weights brings over deciding now.

    Parameters
    ----------
    weights : ndarray, shape (n_draws, n_draws)
        As `weigh_others` gives them [-].
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-]: any one unit of money or gold.

    Returns
    -------
    ExpectedGain
        Below 0 only by the noise of the draws.

    Notes
    -----
    The new decision of a row rests on the other draws only, and is settled by the
    draw that played the truth: no draw is used to choose and to judge.

    References
    ----------
    Howard 1966, IEEE Transactions on Systems Science and Cybernetics 2: 22-26 (value
    of information); docs/sources.md, entry "worth of knowing".
    """
    count = len(value)
    before = value.mean(axis=0) > 0.0
    after = weights @ value > 0.0
    right = value > 0.0
    settled = np.where(after, value, 0.0) - np.where(before, value, 0.0)
    wrong = (before != right).mean() - (after != right).mean() if value.size else 0.0
    each = settled.sum(axis=1)
    noise = float(each.std()) / np.sqrt(max(count, 1))
    return ExpectedGain(
        value=float(each.mean()), wrong=float(wrong), noise=float(noise)
    )
