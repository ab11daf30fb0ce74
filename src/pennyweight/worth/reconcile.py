"""What was won from cuts beside what they were said to hold, and what that teaches.

Three things can make all cuts of a ground differ from the estimate alike: one factor
over all samples (pan, swell, mass of a color, panning loss), the plant keeping another
share than was supposed, and the estimate as such. Cuts cannot tell them apart; what
each was thought to be able to do, before, divides the difference among them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import binom

from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]

#: How far the estimate as such may be off all over a ground [-]; ours.
MODEL_REL_SD = 0.20
#: Uncertainty of a plant's recovery that the user named, and of one supplied [-]; ours.
OWN_RECOVERY_REL_SD, SUPPLIED_RECOVERY_REL_SD = 0.06, 0.15
#: What surveying a cut and weighing a clean-up add to each cut alone [-]; ours.
SURVEY_REL_SD = 0.08
#: Points of the grid of recoveries, and how far it reaches [sd].
POINTS, REACH_SD = 301, 5.0
#: A plant keeps some of the gold at least [-].
LEAST_RECOVERY = 0.02
#: Chance of as many cuts outside their intervals, below which it is told [-]; ours.
ODD_CHANCE = 0.05
#: Part -> which of the factors over all samples and of the estimate it is made of, and
#: whether the recovery belongs to it.
PARTS: dict[str, tuple[tuple[float, float], float]] = {
    "common": ((1.0, 0.0), 0.0),
    "recovery": ((0.0, 0.0), 1.0),
    "model": ((0.0, 1.0), 0.0),
    "ground": ((1.0, 1.0), 0.0),
    "call": ((1.0, 1.0), 1.0),
}
#: Points of a normal law, and their weights, for spreads.
NODES = np.linspace(-4.0, 4.0, 81)
NODE_WEIGHTS = np.exp(-(NODES**2) / 2.0) / np.exp(-(NODES**2) / 2.0).sum()


@dataclass(frozen=True, slots=True)
class Priors:
    """What was known of the three before any clean-up.

    Attributes
    ----------
    common_rel_sd : float
        Of the factor over all samples, whose mean is 1 [-].
    recovery : float
        Share of the raw gold that the plant is supposed to keep, up to 1 [-].
    recovery_rel_sd : float
        How far that may be off [-].
    model_rel_sd : float
        Of the factor of the estimate as such, whose mean is 1 [-].
    survey_rel_sd : float
        Of each cut alone [-].
    """

    common_rel_sd: float
    recovery: float
    recovery_rel_sd: float
    model_rel_sd: float = MODEL_REL_SD
    survey_rel_sd: float = SURVEY_REL_SD

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        sds = (self.common_rel_sd, self.recovery_rel_sd, self.model_rel_sd)
        if not (0.0 < self.recovery <= 1.0 and min(*sds, self.survey_rel_sd) > 0.0):
            msg = (
                f"recovery is {self.recovery}, the deviations are {sds} and "
                f"{self.survey_rel_sd}; recovery lies above 0 and up to 1, the others "
                "above 0."
            )
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Joint posterior of the three: a grid of recoveries, the other two given each.

    Attributes
    ----------
    log_recovery : ndarray, shape (n_points,)
        Logs of the share that the plant keeps [-].
    weights, prior_weights : ndarray, shape (n_points,)
        Of each with and without the clean-ups; both add to 1 [-].
    means : ndarray, shape (n_points, 2)
        Means of the logs of the factor over all samples and of the factor of the
        estimate, given each recovery [-].
    covariance : ndarray, shape (2, 2)
        Of these two [-].
    priors : Priors
        What went in.
    """

    log_recovery: FloatArray
    weights: FloatArray
    prior_weights: FloatArray
    means: FloatArray
    covariance: FloatArray
    priors: Priors

    def spread_of_part(self, part: str, *, before: bool = False) -> Spread:
        """Return one of the three, or several together.

        Parameters
        ----------
        part : {"common", "recovery", "model", "ground", "call"}
            The factor over all samples; the recovery itself; the factor of the
            estimate; the first times the third, which is what the ground holds over
            its estimate; and all three, which is gold won over gold expected.
        before : bool
            Without the clean-ups.

        Returns
        -------
        Spread
            A factor, or a share for the recovery [-].

        Raises
        ------
        ValueError
            There is no such part.
        """
        if part not in PARTS:
            msg = f"{part!r} is no part; give one of {', '.join(PARTS)}."
            raise ValueError(msg)
        of_two, of_recovery = PARTS[part]
        taken = np.array(of_two, dtype=np.float64)
        means, covariance, weights = self.means, self.covariance, self.weights
        if before:
            variances = _log_variances(self.priors)
            means = np.broadcast_to(-variances / 2.0, self.means.shape)
            covariance, weights = np.diag(variances), self.prior_weights
        middle = means @ taken + of_recovery * self.log_recovery
        if part == "call":
            middle = middle - np.log(self.priors.recovery)
        sd = float(np.sqrt(abs(taken @ covariance @ taken)))
        values = middle[:, None] + sd * NODES
        return _weighted_spread(np.exp(values), weights[:, None] * NODE_WEIGHTS)

    def draw(
        self, n_draws: int, rng: np.random.Generator
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return joint draws with the clean-ups known.

        Parameters
        ----------
        n_draws : int
            How many [-].
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        tuple of ndarray, shape (n_draws,)
            Factor over all samples, recovery, factor of the estimate [-].
        """
        at = rng.choice(len(self.weights), size=n_draws, p=self.weights)
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        two = self.means[at] + rng.standard_normal((n_draws, 2)) @ root.T
        factors = np.exp(two)
        return factors[:, 0], np.exp(self.log_recovery[at]), factors[:, 1]


@dataclass(frozen=True, slots=True)
class CutBesideEstimate:
    """One cut: what was expected to be won, and where the outcome lies in it.

    Attributes
    ----------
    expected_mg : Spread
        Gold that the plant was expected to win [mg].
    chance_below : float
        Chance, before, of winning less than was won [-].
    inside : bool
        Whether the outcome lies in the 80 % interval.
    """

    expected_mg: Spread
    chance_below: float
    inside: bool


def learn_from_cuts(
    gold_mg: FloatArray, won_mg: npt.ArrayLike, *, priors: Priors
) -> Evidence:
    """Return what the gold won from cuts says of samples, plant and estimate.

    Parameters
    ----------
    gold_mg : ndarray, shape (n_draws, n_cuts)
        Draws of the raw gold in place in what was taken, the factor over all samples
        taken out [mg]; two draws at least.
    won_mg : array_like, shape (n_cuts,)
        Raw gold weighed, above 0 [mg].
    priors : Priors
        What was known before.

    Returns
    -------
    Evidence
        Joint posterior; the prior itself where there is no cut.

    Raises
    ------
    ValueError
        Gold won or expected is not above 0, or there is one draw alone.

    Notes
    -----
    ln won = ln gold in place + ln common + ln recovery + ln model + error of the cut.
    Gold in place is taken for lognormal with the mean and the covariances of the draws,
    so that cuts beside one another count for less than two. The first and third
    factor are lognormal with mean 1; the recovery is lognormal about the one supposed
    and never above 1: a grid of it, the two others in closed form for each point.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 3.7, from memory;
    docs/sources.md "clean-ups beside the estimate".

    Examples
    --------
    Ten cuts of 1 g each, well known, of which 0.6 g are won each time, with a plant
    that should keep 0.8: gold won is about 0.75 of what was expected.

    >>> gold = np.full((400, 10), 1000.0)
    >>> priors = Priors(common_rel_sd=0.2, recovery=0.8, recovery_rel_sd=0.1)
    >>> found = learn_from_cuts(gold, np.full(10, 600.0), priors=priors)
    >>> round(found.spread_of_part("call").p50, 2)
    0.75
    """
    won = np.asarray(won_mg, dtype=np.float64)
    log_recovery, prior = _lay_grid(priors)
    variances = _log_variances(priors)
    means = np.broadcast_to(-variances / 2.0, (len(prior), 2))
    if won.size == 0:
        return Evidence(log_recovery, prior, prior, means, np.diag(variances), priors)
    middle, covariance = _log_moments(gold_mg, won)
    covariance = covariance + np.eye(len(won)) * np.log1p(priors.survey_rel_sd**2)
    # All cuts meet the same factor: they tell its log with this precision.
    weight = np.linalg.solve(covariance, np.ones(len(won)))
    precision = float(weight.sum())
    told = float(weight @ (np.log(won) - middle)) / precision
    off = told - log_recovery - means.sum(axis=1)
    variance = float(variances.sum()) + 1.0 / precision
    log_weight = np.log(prior) - 0.5 * off**2 / variance
    weights = np.exp(log_weight - log_weight.max())
    gain = variances / variance
    return Evidence(
        log_recovery,
        weights / weights.sum(),
        prior,
        means + off[:, None] * gain,
        np.diag(variances) - np.outer(gain, variances),
        priors,
    )


def compare_cut(
    gold_mg: FloatArray,
    won_mg: float,
    *,
    priors: Priors,
    rng: np.random.Generator,
) -> CutBesideEstimate:
    """Return where the gold won from a cut lies in what was expected of it.

    Parameters
    ----------
    gold_mg : ndarray, shape (n_draws,)
        Draws of the raw gold in place in what was taken, the factor over all samples
        included [mg].
    won_mg : float
        Raw gold weighed, 0 or more [mg].
    priors : Priors
        Of the plant, the estimate and the survey.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    CutBesideEstimate
        Without the help of any clean-up.

    Raises
    ------
    ValueError
        The gold won is below 0.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> priors = Priors(common_rel_sd=0.2, recovery=0.8, recovery_rel_sd=0.1)
    >>> compare_cut(np.full(500, 1000.0), 800.0, priors=priors, rng=rng).inside
    True
    """
    if not won_mg >= 0.0:
        msg = f"the gold won is {won_mg} mg; it is 0 or more."
        raise ValueError(msg)
    n = len(gold_mg)
    tries = max(1, -(-4000 // n))
    size = n * tries
    factors = np.exp(
        _lognormal(priors.model_rel_sd, rng.standard_normal(size))
        + _lognormal(priors.survey_rel_sd, rng.standard_normal(size))
    )
    kept = np.exp(_draw_log_recovery(priors, size, rng))
    expected = np.tile(gold_mg, tries) * factors * kept
    p10, p50, p90 = np.quantile(expected, (0.1, 0.5, 0.9))
    return CutBesideEstimate(
        expected_mg=Spread(float(p10), float(p50), float(p90), float(expected.mean())),
        chance_below=float(np.mean(expected < won_mg)),
        inside=bool(p10 <= won_mg <= p90),
    )


def chance_of_outside(n_outside: int, n_cuts: int) -> float:
    """Return the chance of as many cuts outside their 80 % intervals, or more.

    Parameters
    ----------
    n_outside, n_cuts : int
        How many lie outside, and how many there are [-].

    Returns
    -------
    float
        Chance, were all intervals fair and cuts independent [-].

    Raises
    ------
    ValueError
        More lie outside than there are.

    Examples
    --------
    Two of two: one time in twenty-five.

    >>> round(chance_of_outside(2, 2), 2)
    0.04
    """
    if not 0 <= n_outside <= n_cuts:
        msg = f"{n_outside} of {n_cuts} cuts lie outside; no more than there are."
        raise ValueError(msg)
    return float(binom.sf(n_outside - 1, n_cuts, 0.2))


def _log_variances(priors: Priors) -> FloatArray:
    """Return the variances of the logs of the two factors."""
    rel_sd = np.array([priors.common_rel_sd, priors.model_rel_sd])
    return np.asarray(np.log1p(rel_sd**2))


def _lay_grid(priors: Priors) -> tuple[FloatArray, FloatArray]:
    """Return logs of possible recoveries, never above 1, and their prior weights."""
    sd = float(np.sqrt(np.log1p(priors.recovery_rel_sd**2)))
    middle = float(np.log(priors.recovery))
    low = max(middle - REACH_SD * sd, float(np.log(LEAST_RECOVERY)))
    # Midpoints, so that the edge at a recovery of 1 is neither lost nor doubled.
    edges = np.linspace(low, min(middle + REACH_SD * sd, 0.0), POINTS + 1)
    logs = (edges[1:] + edges[:-1]) / 2.0
    weights = np.exp(-(((logs - middle) / sd) ** 2) / 2.0)
    return logs, weights / weights.sum()


def _lognormal(rel_sd: float, scores: FloatArray) -> FloatArray:
    """Return the log of a factor of mean 1 at standard scores."""
    variance = float(np.log1p(rel_sd**2))
    return np.asarray(np.sqrt(variance) * scores - variance / 2.0)


def _draw_log_recovery(
    priors: Priors, size: int, rng: np.random.Generator
) -> FloatArray:
    """Return draws of the log of a recovery that is never above 1."""
    sd = float(np.sqrt(np.log1p(priors.recovery_rel_sd**2)))
    middle = float(np.log(priors.recovery))
    drawn = middle + sd * rng.standard_normal(size)
    while (over := drawn > 0.0).any():
        drawn[over] = middle + sd * rng.standard_normal(int(over.sum()))
    return drawn


def _log_moments(gold_mg: FloatArray, won: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return means and covariances of the logs of lognormals with these moments."""
    if gold_mg.ndim != 2 or gold_mg.shape[1] != len(won) or len(gold_mg) < 2:
        msg = (
            f"draws of shape {gold_mg.shape} for {len(won)} cuts; give two draws at "
            "least, one column a cut."
        )
        raise ValueError(msg)
    mean = gold_mg.mean(axis=0)
    if not (np.all(mean > 0.0) and np.all(won > 0.0)):
        msg = (
            f"gold expected down to {mean.min()} mg and won down to {won.min()} mg; "
            "both must be above 0."
        )
        raise ValueError(msg)
    shares = gold_mg / mean - 1.0
    covariance = shares.T @ shares / len(shares)
    # Draws that go against one another may not pass what a lognormal allows.
    covariance = np.log1p(np.maximum(covariance, -0.9))
    return np.log(mean) - np.diag(covariance) / 2.0, covariance


def _weighted_spread(values: FloatArray, weights: FloatArray) -> Spread:
    """Return the spread of weighted values."""
    flat, each = values.ravel(), weights.ravel()
    order = np.argsort(flat)
    share = np.cumsum(each[order]) - each[order] / 2.0
    p10, p50, p90 = np.interp((0.1, 0.5, 0.9), share, flat[order])
    return Spread(float(p10), float(p50), float(p90), float(each @ flat))
