"""What a ground's grades are like as a whole, learnt from all its samples at once.

Grades from place to place are gamma distributed about the ground's mean; neither
that mean nor the shape is known beforehand. The stated prior: the log of the mean is
normal with median `PRIOR_MEAN_MG_M3` and standard deviation `PRIOR_LOG_SD`; each of
the shapes of `SHAPES` is as likely as the others.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.posterior import counts_log_probability

FloatArray = npt.NDArray[np.float64]

#: Median of the ground's mean grade before anything is washed [mg/m3], and the
#: standard deviation of its log [-]; ours: the middle half runs from 26 to 385 mg/m3,
#: which holds the 193 mg/m3 of commercial ground in Wells (1969).
PRIOR_MEAN_MG_M3, PRIOR_LOG_SD = 100.0, 2.0
#: Shapes of the gamma distribution of grades from place to place [-]; ours.
#: 1 would be exponential; 0.1 is barren ground with a few rich places: the richest
#: tenth of them holds 81 % of the gold.
SHAPES = (0.1, 0.2, 0.4, 0.8)

#: Grid of the log of the mean: this many standard deviations each way, in steps [-].
_REACH, _STEP = 3.0, 0.25
#: Parts of the mixture that hold less than this are left out [-], and at most this
#: many sample-parts are kept, so that 10,000 samples stay fast.
_LEAST, _MOST_PARTS = 1e-4, 20_000
#: Samples without a count that tell what the ground is like; of more, so many spread
#: evenly: enough to know its law by [-].
MOST_TEACHING = 800


@dataclass(frozen=True, slots=True)
class Places:
    """How grades lie in this ground: a mixture of gamma distributions.

    Attributes
    ----------
    weights : ndarray, shape (n_parts,)
        Probability of each part; they add to 1 [-].
    shapes : ndarray, shape (n_parts,)
        Shape of the gamma distribution [-].
    means_mg_m3 : ndarray, shape (n_parts,)
        Its mean [mg/m3].
    """

    weights: FloatArray
    shapes: FloatArray
    means_mg_m3: FloatArray


def stated_places() -> Places:
    """Return what is supposed of a ground before anything is washed.

    Returns
    -------
    Places
        The stated prior on a grid.
    """
    log_means = np.arange(-_REACH * PRIOR_LOG_SD, _REACH * PRIOR_LOG_SD + 1e-9, _STEP)
    density = np.exp(-0.5 * (log_means / PRIOR_LOG_SD) ** 2)
    shapes, means = np.meshgrid(SHAPES, PRIOR_MEAN_MG_M3 * np.exp(log_means))
    weights = np.broadcast_to(density[:, None], shapes.shape).ravel()
    return Places(weights / weights.sum(), shapes.ravel(), means.ravel())


@dataclass(frozen=True, slots=True)
class HiddenColors:
    """Samples whose number of colors only a weight tells.

    Attributes
    ----------
    numbers, widths : ndarray, shape (n_numbers,)
        Numbers that may hide, and how many of them each stands for [-].
    fits : ndarray, shape (n_samples, n_numbers)
        Chance of the weight, given the number [-].
    colors_per_grade : ndarray, shape (n_samples,)
        Colors that each sample would find at a grade of 1 mg/m3 [m3/mg].
    """

    numbers: FloatArray
    widths: FloatArray
    fits: FloatArray
    colors_per_grade: FloatArray

    def chances(self, shape: float, mean_mg_m3: float) -> FloatArray:
        """Return the chance of weight and number together.

        Parameters
        ----------
        shape : float
            Of the gamma distribution of grades [-].
        mean_mg_m3 : float
            Its mean [mg/m3].

        Returns
        -------
        ndarray, shape (n_samples, n_numbers)
            Chances [-]; they add to that of the weight.
        """
        expected = self.colors_per_grade[:, None] * mean_mg_m3
        before = np.exp(counts_log_probability(self.numbers, expected, shape))
        return before * self.widths * self.fits

    def spread_evenly(self, most: int) -> HiddenColors:
        """Return at most so many of the samples, spread evenly over the record.

        Parameters
        ----------
        most : int
            Samples to keep, 1 or more [-].

        Returns
        -------
        HiddenColors
            All of them where they are no more than that.
        """
        every = slice(None, None, max(1, -(-len(self.fits) // most)))
        return replace(
            self,
            fits=self.fits[every],
            colors_per_grade=self.colors_per_grade[every],
        )


def learn_places(
    colors: npt.ArrayLike,
    colors_per_grade: npt.ArrayLike,
    n_wanted: int,
    *,
    hidden: HiddenColors | None = None,
) -> Places:
    """Return what the samples together say about grades in this ground.

    Parameters
    ----------
    colors : array_like, shape (n_samples,)
        Colors found [-].
    colors_per_grade : array_like, shape (n_samples,)
        Colors that each sample would find at a grade of 1 mg/m3 [m3/mg].
    n_wanted : int
        Samples that will be judged with it; many samples keep fewer parts [-].
    hidden : HiddenColors, optional
        Further samples, whose number of colors only a weight tells.

    Returns
    -------
    Places
        Posterior mixture; the likelihood of a count is negative binomial.
    """
    prior = stated_places()
    n = np.asarray(colors, np.float64)
    exposure = np.asarray(colors_per_grade, np.float64)
    log_weight = np.log(prior.weights)
    for shape in SHAPES:
        parts = np.flatnonzero(prior.shapes == shape)
        expected = prior.means_mg_m3[parts, None] * exposure
        log_weight[parts] += counts_log_probability(n, expected, shape).sum(axis=1)
    if hidden is not None:
        hidden = hidden.spread_evenly(MOST_TEACHING)
        for part, (shape, mean) in enumerate(
            zip(prior.shapes, prior.means_mg_m3, strict=True)
        ):
            chance = hidden.chances(float(shape), float(mean)).sum(axis=1)
            log_weight[part] += np.log(chance).sum()
    weights = np.exp(log_weight - log_weight.max())
    weights /= weights.sum()
    most = max(1, _MOST_PARTS // max(n_wanted, 1))
    kept = np.argsort(weights)[::-1][:most]
    kept = kept[weights[kept] > _LEAST]
    share = weights[kept] / weights[kept].sum()
    return Places(share, prior.shapes[kept], prior.means_mg_m3[kept])


def number_hidden(
    places: Places, hidden: HiddenColors
) -> tuple[FloatArray, FloatArray]:
    """Return how many colors a weight stands for, with the variance of that number.

    Parameters
    ----------
    places : Places
        What all samples say of the ground.
    hidden : HiddenColors
        The samples.

    Returns
    -------
    tuple of ndarray, shape (n_samples,)
        Mean and variance of the number [-].
    """
    total = np.zeros_like(hidden.fits)
    for weight, shape, mean in zip(
        places.weights, places.shapes, places.means_mg_m3, strict=True
    ):
        chance = hidden.chances(shape, mean)
        total += weight * chance / chance.sum(axis=1, keepdims=True)
    number = total @ hidden.numbers
    return number, np.maximum(total @ hidden.numbers**2 - number**2, 0.0)
