"""What a color weighs: from the handbook's flake to the ground's own weighed colors.

Mean masses by size class are learnt together. Each starts from geometry or from the
bounds of its weight class; whatever was weighed here moves it, and classes that were
never weighed move along with their neighbors.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

from pennyweight.sampling.classes import UNSIZED, SizeClass, parse_class
from pennyweight.sampling.sizes import Sizes, fit_sizes

FloatArray = npt.NDArray[np.float64]

#: Densities at 20 C [g/cm3]; docs/sources.md "gold density".
GOLD_G_CM3, SILVER_G_CM3 = 19.3, 10.5
#: Fineness where the user says none: average of California placers, Wells (1969).
DEFAULT_FINENESS = 885.0

#: Thickness of a color over its diameter [-]: the flake that reproduces the printed
#: readings of Clifton et al. (1969), USGS Professional Paper 625-C.
FLAKE_THICKNESS_SHARE = 0.1

#: Mean mass of a color that nobody sized [mg]: a flake of 0.5 mm. Wells (1969) values
#: one speck in a pan at 2-5 cents a yard, which is 0.10-0.25 mg of fine gold.
UNSIZED_MG = 0.17
#: Coefficient of variation of its mass [-]: often 3 to 6 in a mixture; ours.
UNSIZED_CV = 3.0

#: Standard deviations of log mean mass before anything is weighed [-]; ours. A sphere
#: weighs 6.7 times the flake of its diameter, hence the shape's.
SHAPE_LOG_SD, SIEVE_LOG_SD, WEIGHT_LOG_SD, UNSIZED_LOG_SD = 0.50, 0.25, 0.25, 1.00
#: Spread of thickness among the grains of one class [-]; ours.
SHAPE_CV = 0.5
#: Spread of a class's mean, and of an unsized color's, from place to place [-]; ours.
PLACE_LOG_SD, PLACE_LOG_SD_UNSIZED = 0.15, 0.35
#: Least relative standard deviation of any weighing [-]; ours.
WEIGHING_REL_SD = 0.02
#: Standard deviation of the log of an unsized color's variation [-]; ours: as sure as
#: from six samples.
CV_LOG_SD = 0.29
#: The same for a mixture of sized colors against the supposed one [colors]; ours.
MIXTURE_PRIOR_COLORS = 20.0

_STEPS, _STILL = 25, 1e-5
_TINY_MG = 1e-9
_LONGEST_STEP = 1.0
#: Least information of a censored weight, of that of a known one [-].
_LEAST_INFORMATION = 1e-6
#: Variations tried, in standard deviations of their log [-].
_CV_NODES = np.arange(-5.0, 2.6, 0.5)


@dataclass(frozen=True, slots=True)
class ClassMass:
    """What a color of one class weighs, and on what that rests.

    Attributes
    ----------
    name : str
        The class.
    mean_mg : float
        Mean mass [mg].
    rel_sd : float
        Relative standard deviation of that mean [-].
    cv : float
        Coefficient of variation of the mass of one color [-].
    prior_mg : float
        Mean mass before anything was weighed [mg].
    colors_weighed : float
        Colors of this class behind the weighings [-].
    """

    name: str
    mean_mg: float
    rel_sd: float
    cv: float
    prior_mg: float
    colors_weighed: float


@dataclass(frozen=True, slots=True)
class Masses:
    """Mean masses of all classes of a ground, learnt together.

    Attributes
    ----------
    classes : tuple of ClassMass
        In the order of the matrix.
    log_covariance : ndarray, shape (n_classes, n_classes)
        Of the logs of the means [-].
    """

    classes: tuple[ClassMass, ...]
    log_covariance: FloatArray

    def shared_rel_sd(self, gold_by_class: npt.ArrayLike) -> float:
        """Return the relative standard deviation of a whole made of these classes.

        Parameters
        ----------
        gold_by_class : array_like, shape (n_classes,)
            Gold of each class, more than 0 together [mg].

        Returns
        -------
        float
            From the means alone [-].
        """
        gold = np.asarray(gold_by_class, np.float64)
        share = gold / gold.sum()
        return float(np.sqrt(share @ self.log_covariance @ share))


@dataclass(frozen=True, slots=True)
class WeighedColors:
    """Counted colors whose weight is known.

    Attributes
    ----------
    colors : mapping
        Class to number [-].
    mg : float
        Their weight together [mg].
    step_mg : float
        Reading step of the balance [mg]; 0 where unknown.
    """

    colors: Mapping[str, float]
    mg: float
    step_mg: float = 0.0


@dataclass(frozen=True, slots=True)
class _Prior:
    """Where the mean masses start."""

    names: tuple[str, ...]
    log_mean: FloatArray
    covariance: FloatArray
    cv: FloatArray
    bounds: FloatArray


def gold_density_g_cm3(fineness: float) -> float:
    """Return the density of gold alloyed with silver.

    Parameters
    ----------
    fineness : float
        Parts of gold in 1000, 0 to 1000 [-].

    Returns
    -------
    float
        Density [g/cm3].

    Raises
    ------
    ValueError
        The fineness is not from 0 to 1000.

    Notes
    -----
    1 / density = sum of mass share / density: volumes add.

    Examples
    --------
    >>> round(gold_density_g_cm3(900.0), 2)
    17.81
    """
    if not 0.0 <= fineness <= 1000.0:
        msg = f"fineness is {fineness}; it lies from 0 to 1000 parts in 1000."
        raise ValueError(msg)
    share = fineness / 1000.0
    return 1.0 / (share / GOLD_G_CM3 + (1.0 - share) / SILVER_G_CM3)


def flake_mass_mg(
    diameter_mm: float,
    density_g_cm3: float,
    thickness_share: float = FLAKE_THICKNESS_SHARE,
) -> float:
    """Return the mass of a round flake.

    Parameters
    ----------
    diameter_mm : float
        Across the flake [mm].
    density_g_cm3 : float
        Of the gold [g/cm3].
    thickness_share : float
        Thickness over diameter [-].

    Returns
    -------
    float
        Mass [mg].

    References
    ----------
    Clifton et al. (1969), USGS Professional Paper 625-C; docs/sources.md "flake".

    Examples
    --------
    >>> round(flake_mass_mg(1.0, 17.5), 3)
    1.374
    """
    thickness_mm = thickness_share * diameter_mm
    return density_g_cm3 * math.pi / 4.0 * diameter_mm**2 * thickness_mm


def sphere_mass_mg(diameter_mm: float, density_g_cm3: float) -> float:
    """Return the mass of a ball.

    Parameters
    ----------
    diameter_mm : float
        Across [mm].
    density_g_cm3 : float
        Of the gold [g/cm3].

    Returns
    -------
    float
        Mass [mg].

    Examples
    --------
    >>> round(sphere_mass_mg(1.0, 17.5), 3)
    9.163
    """
    return density_g_cm3 * math.pi / 6.0 * diameter_mm**3


def effective_grains(grain_mg: npt.ArrayLike) -> float:
    """Return how many equal grains would be as sure as these.

    Parameters
    ----------
    grain_mg : array_like, shape (n_grains,)
        Masses [mg].

    Returns
    -------
    float
        (sum of m) squared over the sum of m squared [-]; 0 without grains.

    References
    ----------
    Kish (1965), Survey Sampling, effective sample size; docs/sources.md
    "effective grains".

    Examples
    --------
    >>> effective_grains([1.0, 1.0, 1.0])
    3.0
    """
    masses = np.asarray(grain_mg, np.float64)
    squares = float((masses**2).sum())
    return float(masses.sum()) ** 2 / squares if squares > 0.0 else 0.0


def handbook_mass(
    size_class: SizeClass, density_g_cm3: float, sizes: Sizes | None = None
) -> tuple[float, float]:
    """Return mean mass and its variation for a class nobody weighed.

    Parameters
    ----------
    size_class : SizeClass
        The class.
    density_g_cm3 : float
        Of the gold [g/cm3].
    sizes : Sizes, optional
        How the ground's colors are spread over the sieves; else evenly.

    Returns
    -------
    tuple of float
        Mean mass [mg] and coefficient of variation of one color [-].

    Notes
    -----
    A sieve class holds flakes. Where no spread is known, sizes (or masses) lie evenly
    over the logarithm of the class: the mean of x^p from a to b is
    (b^p - a^p) / (p ln(b/a)).
    """
    if size_class.kind == "all":
        return UNSIZED_MG, UNSIZED_CV
    power = 3.0 if size_class.kind == "sieve" else 1.0
    first, second = (
        sizes.mean_of_power(size_class, n * power)
        if sizes is not None and size_class.kind == "sieve"
        else _mean_of_power(size_class, n * power)
        for n in (1.0, 2.0)
    )
    spread = second / first**2
    if size_class.kind == "weight":
        return first, math.sqrt(spread - 1.0)
    mean = flake_mass_mg(1.0, density_g_cm3) * first
    return mean, math.sqrt(spread * (1.0 + SHAPE_CV**2) - 1.0)


def _mean_of_power(size_class: SizeClass, power: float) -> float:
    """Return the mean of x to a power, evenly over log x between the bounds."""
    low, high = size_class.low, size_class.high
    return float((high**power - low**power) / (power * math.log(high / low)))


def learn_masses(
    counted: Mapping[str, float],
    weighed: Sequence[WeighedColors],
    density_g_cm3: float,
) -> Masses:
    """Return the mean mass of each class, learnt from the ground's own weighings.

    Parameters
    ----------
    counted : mapping
        Every class of the ground and the colors counted in it, weighed or not [-].
    weighed : sequence of WeighedColors
        Counted colors with their weight; those of other classes are left out.
    density_g_cm3 : float
        Of the gold [g/cm3].

    Returns
    -------
    Masses
        In the order of `counted`.

    Notes
    -----
    A weighing W of colors N_k has mean sum N_k m_k and variance
    sum N_k (m_k cv_k)^2, plus the balance's step^2 / 12 and the variation from place
    to place. Log masses are normal beforehand: sieve classes share a shape factor.
    A weight is taken as lognormal with that mean and variance (Fenton 1960): most
    small samples weigh less than their mean, for few grains carry much of the gold.
    Scoring steps find the most probable masses; the curvature there gives their
    covariance. Colors that were not sized start from the mixture of the sized ones,
    where the ground has some. Their variation is learnt together with the means.

    Examples
    --------
    Four hundred colors that weighed 0.3 mg each outweigh the handbook:

    >>> pans = [WeighedColors({"all": 20}, 6.0)] * 20
    >>> found = learn_masses({"all": 400}, pans, 17.6)
    >>> round(found.classes[0].mean_mg, 1)
    0.3
    """
    names = tuple(counted)
    prior = _prior(names, density_g_cm3, fit_sizes(counted))
    if UNSIZED in names and len(names) > 1:
        sized = {name: counted[name] for name in names if name != UNSIZED}
        mixture = learn_masses(sized, weighed, density_g_cm3)
        prior = _start_from_mixture(prior, mixture, sized)
    usable = [one for one in weighed if _is_usable(one, prior)]
    variations = prior.cv
    if usable:
        log_mean, covariance, variations = _over_variations(prior, usable)
    else:
        log_mean, covariance, _ = _most_probable(prior, usable)
    rel_sd = np.sqrt(np.diag(covariance))
    classes = tuple(
        ClassMass(
            name=name,
            mean_mg=math.exp(log_mean[k]),
            rel_sd=float(rel_sd[k]),
            cv=float(variations[k]),
            prior_mg=math.exp(prior.log_mean[k]),
            colors_weighed=sum(one.colors.get(name, 0.0) for one in usable),
        )
        for k, name in enumerate(names)
    )
    return Masses(classes, covariance)


def mixture_mass(
    shares: npt.ArrayLike, classes: Sequence[ClassMass]
) -> tuple[float, float]:
    """Return mean mass and variation of a color taken from a mixture of classes.

    Parameters
    ----------
    shares : array_like, shape (n_classes,)
        Colors of each class, in any proportion [-].
    classes : sequence of ClassMass
        What they weigh.

    Returns
    -------
    tuple of float
        Mean mass [mg] and coefficient of variation of one color [-].

    Notes
    -----
    Mean square of a mass in a class: m^2 (1 + cv^2); the mixture's is their mean.
    """
    share = np.asarray(shares, np.float64)
    share = share / share.sum()
    mean = np.array([one.mean_mg for one in classes])
    cv = np.array([one.cv for one in classes])
    whole = float(share @ mean)
    square = float(share @ (mean**2 * (1.0 + cv**2)))
    return whole, math.sqrt(max(square / whole**2 - 1.0, 0.0))


def _prior(names: tuple[str, ...], density_g_cm3: float, sizes: Sizes | None) -> _Prior:
    """Return where the masses of these classes start."""
    own_sd = {"sieve": SIEVE_LOG_SD, "weight": WEIGHT_LOG_SD, "all": UNSIZED_LOG_SD}
    classes = [parse_class(name) for name in names]
    masses = [handbook_mass(one, density_g_cm3, sizes) for one in classes]
    sieve = np.array([one.kind == "sieve" for one in classes], dtype=np.float64)
    covariance = np.diag([own_sd[one.kind] ** 2 for one in classes])
    covariance = covariance + SHAPE_LOG_SD**2 * np.outer(sieve, sieve)
    weights = [one.kind == "weight" for one in classes]
    ends = [(one.low, one.high) for one in classes]
    bounds = np.where(np.array(weights)[:, None], np.log(ends), [-np.inf, np.inf])
    log_mean = np.log([mean for mean, _ in masses])
    cv = np.array([variation for _, variation in masses])
    return _Prior(names, log_mean, covariance, cv, bounds)


def _start_from_mixture(
    prior: _Prior, mixture: Masses, counted: Mapping[str, float]
) -> _Prior:
    """Return the prior whose unsized colors are like the ground's sized ones."""
    n_sized = sum(counted.values())
    if n_sized <= 0:
        return prior
    k = prior.names.index(UNSIZED)
    mean, cv = mixture_mass(list(counted.values()), mixture.classes)
    variance = UNSIZED_LOG_SD**2
    seen = PLACE_LOG_SD_UNSIZED**2 + math.log1p(cv**2 / n_sized)
    share = variance / (variance + seen)
    log_mean, covariance, cvs = (
        one.copy() for one in (prior.log_mean, prior.covariance, prior.cv)
    )
    log_mean[k] += share * (math.log(mean) - log_mean[k])
    covariance[k, k] = variance * (1.0 - share)
    trust = n_sized / (n_sized + MIXTURE_PRIOR_COLORS)
    cvs[k] = math.sqrt(trust * cv**2 + (1.0 - trust) * cvs[k] ** 2)
    return replace(prior, log_mean=log_mean, covariance=covariance, cv=cvs)


def _is_usable(one: WeighedColors, prior: _Prior) -> bool:
    """Return whether a weighing says something about these classes."""
    known = set(one.colors) <= set(prior.names) and sum(one.colors.values()) > 0
    return known and (one.mg > 0.0 or one.step_mg > 0.0)


def _most_probable(
    prior: _Prior,
    weighed: Sequence[WeighedColors],
    start: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray, float]:
    """Return log means, their covariance, and the log evidence of the weights."""
    if not weighed:
        return prior.log_mean, prior.covariance, 0.0
    seen = _as_arrays(prior.names, weighed)
    precision = np.linalg.inv(prior.covariance)
    theta = (prior.log_mean if start is None else start).copy()
    for _ in range(_STEPS):
        slope, off, variance, density = _against(seen, theta, prior)
        curvature = precision + slope.T @ (slope / variance[:, None])
        pull = slope.T @ (off / variance) - precision @ (theta - prior.log_mean)
        move = np.clip(np.linalg.solve(curvature, pull), -_LONGEST_STEP, _LONGEST_STEP)
        theta = np.clip(theta + move, prior.bounds[:, 0], prior.bounds[:, 1])
        if np.all(np.abs(move) < _STILL):
            break
    away = theta - prior.log_mean
    evidence = density - away @ precision @ away / 2.0
    evidence -= float(np.linalg.slogdet(curvature)[1]) / 2.0
    covariance = np.asarray(np.linalg.inv(curvature), np.float64)
    return theta, covariance, float(evidence)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Weighings as arrays: colors by class, weight and step [mg]."""

    numbers: FloatArray
    mg: FloatArray
    step: FloatArray


def _as_arrays(names: tuple[str, ...], weighed: Sequence[WeighedColors]) -> _Seen:
    """Return the weighings of these classes as arrays."""
    return _Seen(
        np.array([[w.colors.get(k, 0.0) for k in names] for w in weighed]),
        np.array([w.mg for w in weighed]),
        np.array([w.step_mg for w in weighed]),
    )


def _against(
    seen: _Seen, theta: FloatArray, prior: _Prior
) -> tuple[FloatArray, FloatArray, FloatArray, float]:
    """Return slope, distance and variance of each log weight, and log density.

    A weight is lognormal with the mean and variance of its grains. A reading of
    0 lies anywhere below its step: distance and variance are those of the normal
    law whose score and information are the same there.
    """
    parts = seen.numbers * np.exp(theta)
    total = parts.sum(axis=1)
    read = seen.mg > 0.0
    mg = np.where(read, seen.mg, seen.step)
    variance = _grain_variance(seen.numbers, theta, prior)
    variance += np.where(read, _balance_variance(seen.step, mg), 0.0)
    variance = np.log1p(variance)
    off = np.log(np.maximum(mg, _TINY_MG) / total) + variance / 2.0
    sd = np.sqrt(variance)
    score = off / sd
    below = log_ndtr(score)
    pull = np.exp(-(score**2) / 2.0 - below) / math.sqrt(2.0 * math.pi)
    known = np.maximum(pull * (pull + score), _LEAST_INFORMATION)
    density = np.where(read, -(score**2) / 2.0 - np.log(sd), below)
    return (
        parts / total[:, None],
        np.where(read, off, -pull * sd / known),
        np.where(read, variance, variance / known),
        float(density.sum()),
    )


def _grain_variance(
    numbers: FloatArray, theta: FloatArray, prior: _Prior
) -> FloatArray:
    """Return the relative variance of each weight from grains and places."""
    mass = np.exp(theta)
    total = numbers @ mass
    grains = numbers @ (mass * prior.cv) ** 2 / total**2
    unsized = np.array([name == UNSIZED for name in prior.names])
    share = numbers @ (mass * unsized) / total
    place = PLACE_LOG_SD_UNSIZED**2 * share + PLACE_LOG_SD**2 * (1.0 - share)
    return np.asarray(grains + place, np.float64)


def _balance_variance(step: FloatArray, mg: FloatArray) -> FloatArray:
    """Return the relative variance of each weight that the balance gives."""
    found = WEIGHING_REL_SD**2 + step**2 / 12.0 / np.maximum(mg, _TINY_MG) ** 2
    return np.asarray(found, np.float64)


def _over_variations(
    prior: _Prior, weighed: Sequence[WeighedColors]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return log means, covariance and variations, over what colors may vary.

    The more single colors vary, the more of the gold sits in the few that a small
    sample misses: mean and variation are learnt together. Variation that is supposed
    too large would make the means too large. Where colors were not sized their
    variation is what is learnt, else that of all classes by one factor.
    """
    varies = np.array([name == UNSIZED for name in prior.names])
    if not any(one.colors.get(UNSIZED, 0.0) > 0.0 for one in weighed):
        varies[:] = True
    nodes = _CV_NODES if varies.sum() == 1 else _CV_NODES[::2]
    factors = np.exp(CV_LOG_SD * nodes)
    found: list[tuple[FloatArray, FloatArray, float]] = []
    for factor in factors:
        cv = np.where(varies, prior.cv * factor, prior.cv)
        start = found[-1][0] if found else prior.log_mean
        found.append(_most_probable(replace(prior, cv=cv), weighed, start))
    score = np.array([evidence for _, _, evidence in found]) - nodes**2 / 2.0
    weight = np.exp(score - score.max())
    weight /= weight.sum()
    means = np.array([mean for mean, _, _ in found])
    middle = weight @ means
    away = means - middle
    within = np.tensordot(weight, np.array([inner for _, inner, _ in found]), axes=1)
    cv = np.where(varies, prior.cv * math.sqrt(weight @ factors**2), prior.cv)
    return middle, within + away.T @ (away * weight[:, None]), cv
