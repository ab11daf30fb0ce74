"""One kind of gold or two: fresh angular grains among worn ones of an old channel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

FloatArray = npt.NDArray[np.float64]

#: Fewer grains than this tell nothing of two kinds [-]; ours.
FEWEST_GRAINS = 12
#: Least scatter of roundness within a kind [-]: it is judged by eye.
LEAST_SD = 0.05
_STEPS = 200


@dataclass(frozen=True)
class Populations:
    """How grains divide into angular and worn ones.

    Attributes
    ----------
    two_chance : float
        That there are two kinds [-].
    angular, worn : float
        Mean roundness of each kind [-].
    angular_share : float
        Of all grains [-].
    belongs_angular : ndarray, shape (n_grains,)
        Probability that each grain is of the angular kind [-].
    """

    two_chance: float
    angular: float
    worn: float
    angular_share: float
    belongs_angular: FloatArray


def part_populations(roundness: npt.ArrayLike) -> Populations | None:
    """Return whether grains are of one kind or of two; None with too few.

    Parameters
    ----------
    roundness : array_like, shape (n_grains,)
        From 0 to 1, none missing [-].

    Returns
    -------
    Populations or None
        By two normal laws of equal scatter against one.

    Notes
    -----
    Expectation and maximization from a split at the median; the chance of two by the
    Schwarz criterion, both equally likely beforehand.

    References
    ----------
    Dempster, Laird and Rubin (1977); Schwarz (1978), Annals of Statistics 6: 461-464;
    docs/sources.md "two kinds of grains".
    """
    values = np.asarray(roundness, dtype=np.float64)
    count = len(values)
    if count < FEWEST_GRAINS:
        return None
    split = values > np.median(values)
    belongs = np.where(split, 0.1, 0.9)
    share, means, scatter = 0.5, np.array([0.0, 0.0]), LEAST_SD
    for _ in range(_STEPS):
        share = float(np.clip(belongs.mean(), 1e-3, 1.0 - 1e-3))
        sides = np.stack([belongs, 1.0 - belongs])
        means = (sides @ values) / np.maximum(sides.sum(axis=1), 1e-9)
        square = (sides * (values[None, :] - means[:, None]) ** 2).sum() / count
        scatter = max(float(np.sqrt(square)), LEAST_SD)
        angular = share * stats.norm.pdf(values, means[0], scatter)
        worn = (1.0 - share) * stats.norm.pdf(values, means[1], scatter)
        after = angular / np.maximum(angular + worn, 1e-300)
        if np.max(np.abs(after - belongs)) < 1e-9:
            break
        belongs = after
    two = float(np.log(np.maximum(angular + worn, 1e-300)).sum())
    one_sd = max(float(np.std(values)), LEAST_SD)
    one = float(stats.norm.logpdf(values, values.mean(), one_sd).sum())
    # Two more numbers are fitted: the second mean and the share.
    log_odds = two - one - np.log(count)
    return Populations(
        two_chance=float(1.0 / (1.0 + np.exp(-np.clip(log_odds, -50.0, 50.0)))),
        angular=float(means.min()),
        worn=float(means.max()),
        angular_share=share,
        belongs_angular=belongs,
    )
