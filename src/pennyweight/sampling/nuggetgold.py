"""What nuggets tell: how many a cubic meter holds, and the gold in them.

Their number is Poisson over all the ground that was washed. A few of them say little:
the rate is pulled toward what is supposed of nuggets beside such ordinary gold, and
its interval is wide. It belongs to the ground as a whole, not to any other pan.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.nuggets import Nugget
from pennyweight.sampling.posterior import counts_log_probability, mixture_quantiles
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]

#: Median gold in nuggets over ordinary gold where one was found [-], and the standard
#: deviation of its log [-]; shape of the rate about it [-]. Ours.
PRIOR_SHARE, PRIOR_SHARE_LOG_SD, PRIOR_SHAPE = 0.10, 0.7, 0.5
#: Variation of the mass of one nugget [-], and the standard deviation of the log of
#: a mass that only its size class tells [-]; ours.
NUGGET_CV, UNWEIGHED_LOG_SD = 1.0, 0.7
#: How unevenly nuggets lie: shape of the gamma law of their rate from place to
#: place [-]; 1 is exponential. Ours.
PLACE_SHAPE = 1.0
_GRID = np.linspace(-3.0, 3.0, 25)
_POINTS = (0.10, 0.50, 0.90)


@dataclass(frozen=True, slots=True)
class NuggetGold:
    """The nuggets of a ground and what they say of it.

    Attributes
    ----------
    nuggets : tuple of Nugget
        Those of samples with a fair volume.
    washed_m3 : float
        Ground that was washed in all such samples [m3].
    weights : ndarray, shape (n_parts,)
        Of the mixture of gamma laws of the rate [-].
    shape : float
        Of each of them [-].
    rates_m3 : ndarray, shape (n_parts,)
        Their rates: ground that the parts stand for [m3].
    mean_mg, mean_log_sd : float
        Mean mass of a nugget [mg], and the standard deviation of its log [-].
    per_m3 : Spread
        Nuggets in a cubic meter of ground.
    grade_mg_m3 : Spread
        Raw gold in them, on average over the ground [mg/m3].
    """

    nuggets: tuple[Nugget, ...]
    washed_m3: float
    weights: FloatArray
    shape: float
    rates_m3: FloatArray
    mean_mg: float
    mean_log_sd: float
    per_m3: Spread
    grade_mg_m3: Spread

    @property
    def number(self) -> int:
        """Nuggets found [-]."""
        return sum(one.number for one in self.nuggets)

    def at_sample(self, number: int, bank_m3: float) -> Spread:
        """Return the gold in nuggets where a sample held some.

        Parameters
        ----------
        number : int
            Nuggets in it [-].
        bank_m3 : float
            Its volume [m3].

        Returns
        -------
        Spread
            [mg/m3]; above the ground's mean, for rates differ from place to place.

        Notes
        -----
        The rate of a place over the ground's is gamma of shape a: given n nuggets in
        a volume V it has the mean (a + n) / (a + rate V).
        """
        expected = self.per_m3.mean * bank_m3
        return self.grade_mg_m3.scaled(
            (PLACE_SHAPE + number) / (PLACE_SHAPE + expected)
        )

    def draw_mg_m3(self, n_draws: int, rng: np.random.Generator) -> FloatArray:
        """Return draws of the gold in nuggets, on average over the ground.

        Parameters
        ----------
        n_draws : int
            How many [-].
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        ndarray, shape (n_draws,)
            [mg/m3].
        """
        part = rng.choice(len(self.weights), size=n_draws, p=self.weights)
        rate = rng.gamma(self.shape, 1.0 / self.rates_m3[part])
        mass = self.mean_log_sd * rng.standard_normal(n_draws)
        mass = self.mean_mg * np.exp(mass - self.mean_log_sd**2 / 2.0)
        return np.asarray(rate * mass, np.float64)


def weigh_nuggets(
    nuggets: tuple[Nugget, ...], washed_m3: float, ordinary_mg_m3: float
) -> NuggetGold:
    """Return what nuggets say of a ground.

    Parameters
    ----------
    nuggets : tuple of Nugget
        One at least.
    washed_m3 : float
        Ground washed in all samples, with and without nuggets, above 0 [m3].
    ordinary_mg_m3 : float
        Mean grade of the ordinary gold, above 0 [mg/m3].

    Returns
    -------
    NuggetGold
        Rate and gold, with their intervals.

    Raises
    ------
    ValueError
        There is no nugget, no volume or no ordinary gold.

    Notes
    -----
    N nuggets in a volume V are Poisson. Their rate is gamma of shape 1/2 about
    share x ordinary grade / mean mass, the log of the share normal: mixed over the
    share on a grid, with the negative binomial chance of N for each; given N the
    rate is gamma of shape 1/2 + N and rate b + V, exactly.

    References
    ----------
    docs/sources.md "nuggets".

    Examples
    --------
    One grain of 400 mg in 55 l of ground that else holds 500 mg/m3:

    >>> found = weigh_nuggets((Nugget("A", 1, 400.0, True),), 0.055, 500.0)
    >>> found.grade_mg_m3.p10 < 250.0 < found.grade_mg_m3.p90
    True
    """
    number = sum(one.number for one in nuggets)
    if number < 1 or washed_m3 <= 0.0 or ordinary_mg_m3 <= 0.0:
        msg = (
            f"{number} nuggets in {washed_m3} m3 beside {ordinary_mg_m3} mg/m3; all "
            "must be above 0."
        )
        raise ValueError(msg)
    mean_mg = sum(one.mg for one in nuggets) / number
    unweighed = sum(one.number for one in nuggets if not one.weighed) / number
    mass_log_sd = float(
        np.sqrt(np.log1p(NUGGET_CV**2 / number) + (UNWEIGHED_LOG_SD * unweighed) ** 2)
    )
    share = PRIOR_SHARE * np.exp(PRIOR_SHARE_LOG_SD * _GRID)
    supposed = share * ordinary_mg_m3 / mean_mg
    log_weight = -(_GRID**2) / 2.0 + counts_log_probability(
        number, supposed * washed_m3, PRIOR_SHAPE
    )
    weights = np.exp(log_weight - log_weight.max())
    weights /= weights.sum()
    shape = PRIOR_SHAPE + number
    rates = PRIOR_SHAPE / supposed + washed_m3
    law = (weights, np.full((1, len(rates)), shape), rates[None])
    mean = float(weights @ (shape / rates))
    per_m3, grade = (
        mixture_quantiles(*law, log_sd=np.array([sd]), probabilities=_POINTS)[0]
        for sd in (0.0, mass_log_sd)
    )
    grade = grade * mean_mg * np.exp(-(mass_log_sd**2) / 2.0)
    return NuggetGold(
        nuggets=nuggets,
        washed_m3=washed_m3,
        weights=weights,
        shape=shape,
        rates_m3=rates,
        mean_mg=mean_mg,
        mean_log_sd=mass_log_sd,
        per_m3=_spread(per_m3, mean),
        grade_mg_m3=_spread(grade, mean * mean_mg),
    )


def _spread(points: FloatArray, mean: float) -> Spread:
    """Return the spread with these three points."""
    p10, p50, p90 = points.tolist()
    return Spread(p10, p50, p90, mean)
