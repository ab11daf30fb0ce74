"""The mean of something that differs from place to place, told by counts.

Colors in a volume of ground, or in an hour of work: counts are Poisson at each place,
the rates of places are gamma distributed about the mean that is asked for, and how
unevenly they lie is learned together with it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.posterior import counts_log_probability

FloatArray = npt.NDArray[np.float64]

#: Shape of the gamma law of rates from place to place before any count: its median
#: [-], and the standard deviation of its log [-]. A shape of 1 is a variation of
#: 100 %. Our assumption: docs/sources.md, "unevenness of places".
SHAPE_MEDIAN, SHAPE_LOG_SD = 1.0, 0.8
#: Lowest and highest score of the shape: no ground is believed to vary by more than
#: 200 % from place to place, else a few barren places would allow any mean [-]; ours.
SHAPE_REACH = (-1.75, 3.0)
#: Points of the grid over the log of the mean, and over the log of the shape.
MEAN_POINTS, SHAPE_POINTS = 241, 25
#: How far the first grid reaches below and above the pooled mean [-].
REACH = (1e-6, 1e2)
#: Half-width of the second grid in standard deviations of the first one [-].
CLOSE_SD = 7.0
#: Times what was seen, with three colors more, beyond which a mean is hardly believed
#: [-]; ours. Without it a few poor places would leave the mean without bound.
HARDLY_BEYOND, MORE_COLORS = 10.0, 3.0
#: A grid is not drawn closer than this [ln].
LEAST_SD = 1e-3


@dataclass(frozen=True, slots=True)
class MeanRate:
    """Posterior of a mean rate, and of how unevenly rates lie about it.

    Attributes
    ----------
    rates : ndarray, shape (n_rates,)
        Possible means, in gold or counts for each unit of exposure [-].
    shapes : ndarray, shape (n_shapes,)
        Possible shapes of the gamma law from place to place [-].
    weights : ndarray, shape (n_rates, n_shapes)
        Their joint probability; adds to 1 [-].
    """

    rates: FloatArray
    shapes: FloatArray
    weights: FloatArray

    def mean(self) -> float:
        """Return the expected mean rate.

        Returns
        -------
        float
            In the unit of the rates [-].
        """
        return float(self.weights.sum(axis=1) @ self.rates)

    def place_cv(self) -> float:
        """Return how much rates differ from place to place.

        Returns
        -------
        float
            Median coefficient of variation [-].
        """
        share = np.cumsum(self.weights.sum(axis=0))
        middle = int(np.searchsorted(share, 0.5))
        return float(1.0 / np.sqrt(self.shapes[min(middle, len(self.shapes) - 1)]))

    def draw(
        self, n_draws: int, rng: np.random.Generator
    ) -> tuple[FloatArray, FloatArray]:
        """Return joint draws of the mean and of the shape.

        Parameters
        ----------
        n_draws : int
            How many [-].
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        tuple of ndarray, shape (n_draws,)
            Mean rates, and shapes [-].
        """
        flat = rng.choice(self.weights.size, size=n_draws, p=self.weights.ravel())
        at, shape_at = np.divmod(flat, len(self.shapes))
        step = float(np.log(self.rates[1] / self.rates[0]))
        within = np.exp(step * (rng.random(n_draws) - 0.5))
        return self.rates[at] * within, self.shapes[shape_at]

    def draw_place(self, n_draws: int, rng: np.random.Generator) -> FloatArray:
        """Return draws of the rate at one more place.

        Parameters
        ----------
        n_draws : int
            How many [-].
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        ndarray, shape (n_draws,)
            Wider than the mean's: the place may be a poor or a rich one [-].
        """
        mean, shape = self.draw(n_draws, rng)
        return np.asarray(mean * rng.gamma(shape) / shape)


def fit_mean_rate(counts: npt.ArrayLike, exposure: npt.ArrayLike) -> MeanRate:
    """Return what counts at several places say of the mean over all of them.

    Parameters
    ----------
    counts : array_like, shape (n_places,)
        Seen at each place, 0 or more; need not be whole [-].
    exposure : array_like, shape (n_places,)
        What each was looked for in, above 0: volume over the mass of a color, or
        hours over it [-].

    Returns
    -------
    MeanRate
        Joint posterior of mean and unevenness.

    Raises
    ------
    ValueError
        No place, a count below 0 or an exposure that is not above 0.

    Notes
    -----
    Each count is negative binomial with mean m = rate x exposure and shape k; ln k is
    normal about ln 1 with 0.8, cut off at 0.25. Given k, the rate has Jeffreys' prior:
    the square root of its Fisher information, the mean over places of m / (m + k) on
    a log scale. It is flat in the log where colors are many and rate^(-1/2) where they
    are few; far above what was seen it falls with the square of the rate, so that the
    mean is bounded. Both are summed over a grid, once wide and once close about what
    was found.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., sections 2.6 and 3.7, from
    memory; docs/sources.md "unevenness of places".

    Examples
    --------
    Nothing in 4 cubic meters where a color weighs 0.5 mg; it may be a poor place:

    >>> round(fit_mean_rate([0.0], [8.0]).mean(), 2)
    0.24
    >>> round(fit_mean_rate([0.0] * 6, [8.0] * 6).mean(), 3)
    0.014
    """
    seen = np.asarray(counts, dtype=np.float64)
    looked = np.asarray(exposure, dtype=np.float64)
    if seen.size == 0 or seen.shape != looked.shape:
        msg = f"{seen.size} counts at {looked.size} places; give one count a place."
        raise ValueError(msg)
    if not (np.all(seen >= 0.0) and np.all(looked > 0.0)):
        msg = (
            f"counts down to {seen.min()} and exposures down to {looked.min()}; "
            "counts are 0 or more, exposures above 0."
        )
        raise ValueError(msg)
    pooled = float((seen.sum() + 0.5) / looked.sum())
    wide = np.geomspace(pooled * REACH[0], pooled * REACH[1], MEAN_POINTS)
    first = _weigh(seen, looked, wide)
    share = first.weights.sum(axis=1)
    middle = float(share @ np.log(wide))
    log_sd = float(np.sqrt(share @ (np.log(wide) - middle) ** 2))
    half = CLOSE_SD * max(log_sd, LEAST_SD)
    close = np.exp(np.linspace(middle - half, middle + half, MEAN_POINTS))
    return _weigh(seen, looked, close)


def _weigh(seen: FloatArray, looked: FloatArray, rates: FloatArray) -> MeanRate:
    """Return the posterior on one grid of means."""
    scores = np.linspace(*SHAPE_REACH, SHAPE_POINTS)
    shapes = SHAPE_MEDIAN * np.exp(SHAPE_LOG_SD * scores)
    expected = rates[:, None, None] * looked
    informed = (expected / (shapes[:, None] + expected)).mean(axis=2)
    log_weight = 0.5 * np.log(informed) - scores**2 / 2.0
    log_weight += counts_log_probability(seen, expected, shapes[:, None]).sum(axis=2)
    much = HARDLY_BEYOND * (seen.sum() + MORE_COLORS) / looked.sum()
    log_weight -= np.log1p((rates[:, None] / much) ** 2)
    weights = np.exp(log_weight - log_weight.max())
    return MeanRate(rates=rates, shapes=shapes, weights=weights / weights.sum())
