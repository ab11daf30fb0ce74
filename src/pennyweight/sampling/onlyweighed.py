"""Gold that was weighed and never counted: what its weight says of the grade.

How many colors a weight is, nobody knows: few heavy ones or many light ones. Their
number and their mean mass are summed over, on a grid of the log of the grade.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammainc, gammaln, ndtr

from pennyweight.sampling.gold import PLACE_LOG_SD_UNSIZED, WEIGHING_REL_SD
from pennyweight.sampling.places import Places, stated_places
from pennyweight.sampling.posterior import counts_log_probability

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Step of every grid of logs, and of the mean masses tried: whole steps apart [-].
STEP, MASS_STEPS = 0.1, 3
#: Ends of the grids of the logs of grade [mg/m3] and of the expected colors [-].
_GRADE_ENDS, _COLORS_ENDS = (-5.0, 14.0), (-9.0, 14.0)
#: Number of colors up to which each is summed over; beyond, their sum is lognormal.
MOST_NUMBERED, SUMMED_BELOW = 120, 60.0
#: Standard deviations of the log mean mass that are tried each way [-].
REACH = 2.7
#: Samples that tell what the ground is like; of more, so many spread evenly: enough to
#: know its law by [-].
MOST_TEACHING = 800
#: Samples worked on at a time; least chance of a reading, and of what is kept [-].
_BLOCK, _LEAST, _LEAST_SHARE = 256, 1e-12, 1e-5
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Weights:
    """Weights of samples that nobody counted.

    Attributes
    ----------
    low_mg, high_mg : ndarray, shape (n_samples,)
        Between which each weight lies [mg]; the lower end is 0 for a reading of 0.
    colors_per_grade : ndarray, shape (n_samples,)
        Colors that each would find at 1 mg/m3 and the mean mass [m3/mg].
    color_mg : float
        Median of what a found color weighs on average [mg].
    color_log_sd : float
        Standard deviation of the log of that, the same for all samples [-].
    color_cv : float
        Variation of one color's mass [-].
    teaches : ndarray of bool, shape (n_samples,)
        Whether it tells what the ground is like; a duplicate tells nothing new.
    """

    low_mg: FloatArray
    high_mg: FloatArray
    colors_per_grade: FloatArray
    color_mg: float
    color_log_sd: float
    color_cv: float
    teaches: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class WeightGrades:
    """Grades of samples that nobody counted.

    Attributes
    ----------
    points : ndarray, shape (n_samples, n_probabilities)
        Quantiles [mg/m3].
    mean, rel_sd : ndarray, shape (n_samples,)
        Expected grade [mg/m3], and its own relative standard deviation [-].
    """

    points: FloatArray
    mean: FloatArray
    rel_sd: FloatArray


def bound_weights(
    weight_mg: npt.ArrayLike, step_mg: npt.ArrayLike, zero_below_mg: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return between which ends a weight lies, from its reading.

    Parameters
    ----------
    weight_mg, step_mg : array_like, shape (n_samples,)
        Reading, and reading step of the balance [mg].
    zero_below_mg : array_like, shape (n_samples,)
        Below which a reading of 0 lies [mg].

    Returns
    -------
    tuple of ndarray, shape (n_samples,)
        Lower and upper end [mg].

    Examples
    --------
    >>> low, high = bound_weights([0.0, 2.0], [0.1, 0.1], [0.1, 0.1])
    >>> low.round(3).tolist(), high.round(3).tolist()
    ([0.0, 1.95], [0.1, 2.05])
    """
    weight, step = (np.asarray(x, np.float64) for x in (weight_mg, step_mg))
    half = np.maximum(step / 2.0, WEIGHING_REL_SD * weight)
    zero = weight <= 0.0
    low = np.where(zero, 0.0, np.maximum(weight - half, _LEAST))
    high = np.where(zero, np.asarray(zero_below_mg, np.float64), weight + half)
    return low, high


def grade_weights(
    weights: Weights,
    counts: npt.ArrayLike,
    exposures: npt.ArrayLike,
    *,
    log_sd: FloatArray,
    own_log_sd: FloatArray,
    probabilities: Sequence[float],
) -> WeightGrades:
    """Return the grades that weights without a count stand for.

    Parameters
    ----------
    weights : Weights
        The samples.
    counts, exposures : array_like, shape (n_counted,)
        Counts of the ground's other samples [-], and the mean of each at 1 mg/m3
        [m3/mg]: they too tell what the ground is like.
    log_sd, own_log_sd : ndarray, shape (n_samples,)
        Of the lognormal factor of volume and recovery, and its own part of it [-].
    probabilities : sequence of float
        Of the quantiles, between 0 and 1 [-].

    Returns
    -------
    WeightGrades
        One row a sample.

    Notes
    -----
    Given n colors of mean mass m the weight is lognormal with mean n m and relative
    variance cv^2 / n; n is Poisson; the grade is gamma distributed from place to
    place. The mean mass of all samples is lognormal, that of each one lognormal about
    it. Everything is summed over on a grid of the log of the grade, so that few and
    many colors, light and heavy ones, all have their say.

    References
    ----------
    Fenton (1960), IRE Transactions on Communications Systems 8: 57-67; docs/sources.md
    "compound Poisson".
    """
    log_grade = _grid(_GRADE_ENDS)
    prior = stated_places()
    cells = _cell_masses(prior, log_grade)
    tried = _tried_masses(weights.color_log_sd)
    score = _score_counts(prior, tried, counts, exposures=exposures)
    if weights.color_log_sd > 0.0:
        score -= ((tried / weights.color_log_sd) ** 2 / 2.0)[:, None]
    teaching = np.flatnonzero(weights.teaches)
    every = max(1, math.ceil(len(teaching) / MOST_TEACHING))
    for block in _blocks(teaching[::every]):
        fits = _fits_of_grades(weights, block, tried, log_grade)
        chance = np.einsum("xnu,pu->xpn", fits, cells, optimize=True)
        score += np.log(np.maximum(chance, 1e-300)).sum(axis=2)
    share = np.exp(score - score.max())
    share[share < _LEAST_SHARE] = 0.0
    share /= share.sum()
    held, parts = (np.flatnonzero(share.any(axis=axis)) for axis in (1, 0))
    masses = slice(held[0], held[-1] + 1)
    found = [
        _read_block(
            _fits_of_grades(weights, block, tried[masses], log_grade),
            cells[parts],
            share[masses][:, parts],
            log_grade=log_grade,
            log_sd=log_sd[block],
            own_log_sd=own_log_sd[block],
            probabilities=np.asarray(probabilities),
        )
        for block in _blocks(np.arange(len(weights.high_mg)))
    ]
    return WeightGrades(*(np.concatenate(parts) for parts in zip(*found, strict=True)))


def _blocks(rows: IntArray) -> list[IntArray]:
    """Return rows in blocks that fit into memory."""
    return [rows[at : at + _BLOCK] for at in range(0, len(rows), _BLOCK)]


def _grid(ends: tuple[float, float]) -> FloatArray:
    """Return the points of a grid of logs."""
    steps = np.arange(round(ends[0] / STEP), round(ends[1] / STEP) + 1)
    return np.asarray(steps * STEP, np.float64)


def _tried_masses(log_sd: float) -> FloatArray:
    """Return the logs of mean masses tried, in whole steps about 0."""
    apart = MASS_STEPS * STEP
    most = int(np.ceil(REACH * log_sd / apart)) if log_sd > 0.0 else 0
    return np.asarray(np.arange(-most, most + 1) * apart, np.float64)


def _cell_masses(prior: Places, log_grade: FloatArray) -> FloatArray:
    """Return how likely each cell of grades is in each part, (n_parts, n_grades).

    The lowest cell holds all that is poorer still.
    """
    edges = np.exp(log_grade[:-1] + STEP / 2.0)
    shape = prior.shapes[:, None]
    below = gammainc(shape, shape * edges / prior.means_mg_m3[:, None])
    ends = np.ones((len(below), 1))
    return np.diff(np.hstack([0.0 * ends, below, ends]), axis=1)


def _score_counts(
    prior: Places,
    tried: FloatArray,
    counts: npt.ArrayLike,
    *,
    exposures: npt.ArrayLike,
) -> FloatArray:
    """Return log weights of masses and parts before the weights are looked at."""
    n, exposure = (np.asarray(x, np.float64) for x in (counts, exposures))
    score = np.tile(np.log(prior.weights), (len(tried), 1))
    for row, off in enumerate(tried):
        expected = prior.means_mg_m3[:, None] * exposure * np.exp(-off)
        chances = counts_log_probability(n, expected, prior.shapes[:, None])
        score[row] += chances.sum(axis=1)
    return score


def _fits_of_grades(
    weights: Weights, block: IntArray, tried: FloatArray, log_grade: FloatArray
) -> FloatArray:
    """Return the chance of each reading by mass and grade, (n_tried, n, n_grades)."""
    place, apart = PLACE_LOG_SD_UNSIZED, MASS_STEPS * STEP
    wide = int(np.ceil(REACH * place / apart))
    around = np.arange(-wide, wide + 1)
    kernel = np.exp(-(((around * apart + place**2 / 2.0) / place) ** 2) / 2.0)
    kernel /= kernel.sum()
    log_colors = _grid(_COLORS_ENDS)
    exposure = np.log(weights.colors_per_grade[block])
    first = round(float(tried[0]) / apart) - wide
    own = []
    for number in range(first, first + len(tried) + 2 * wide):
        off = number * apart
        fit = _fits_of_colors(weights, block, off, log_colors)
        # Colors expected at a grade: the heavier they are, the fewer.
        place_on_grid = log_grade[None, :] + exposure[:, None] - off
        own.append(_read_rows(fit, (place_on_grid - log_colors[0]) / STEP))
    return np.array(
        [
            sum(k * own[row + j] for j, k in enumerate(kernel))
            for row in range(len(tried))
        ]
    )


def _fits_of_colors(
    weights: Weights, block: IntArray, off: float, log_colors: FloatArray
) -> FloatArray:
    """Return the chance of each reading by the expected colors, at one mean mass."""
    low, high = weights.low_mg[block][:, None], weights.high_mg[block][:, None]
    mean_mg, square = weights.color_mg * np.exp(off), weights.color_cv**2
    numbers = np.arange(1.0, MOST_NUMBERED + 1.0)
    by_number = _between(low, high, mean_mg * numbers, square / numbers)
    none = np.where(low <= 0.0, 1.0, 0.0)
    fits = np.hstack([none, by_number])
    colors = np.exp(log_colors)
    few = colors < SUMMED_BELOW
    n = np.arange(MOST_NUMBERED + 1.0)[:, None]
    poisson = np.exp(n * log_colors[few] - colors[few] - gammaln(n + 1.0))
    many = colors[~few]
    by_total = _between(low, high, mean_mg * many, (1.0 + square) / many)
    return np.hstack([fits @ poisson, by_total]) + _LEAST


def _between(
    low: FloatArray, high: FloatArray, mean: FloatArray, rel_variance: FloatArray
) -> FloatArray:
    """Return the chance that a lognormal weight lies between two ends."""
    variance = np.log1p(rel_variance)
    sd, middle = np.sqrt(variance), np.log(mean) - variance / 2.0
    below = ndtr((np.log(high) - middle) / sd)
    above = ndtr((np.log(np.maximum(low, 1e-300)) - middle) / sd)
    return np.asarray(below - above, np.float64)


def _read_rows(table: FloatArray, place: FloatArray) -> FloatArray:
    """Return each row of a table read at its own places, straight between cells."""
    place = np.clip(place, 0.0, table.shape[1] - 1.000001)
    cell = place.astype(np.int64)
    left = np.take_along_axis(table, cell, axis=1)
    right = np.take_along_axis(table, cell + 1, axis=1)
    return left + (place - cell) * (right - left)


def _read_block(
    fits: FloatArray,
    cells: FloatArray,
    share: FloatArray,
    *,
    log_grade: FloatArray,
    log_sd: FloatArray,
    own_log_sd: FloatArray,
    probabilities: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return quantiles, mean and own relative spread of some samples."""
    chance = np.einsum("xnu,pu->xnp", fits, cells, optimize=True)
    part = share[:, None, :] / np.maximum(chance, 1e-300)
    density = (np.einsum("xnp,pu->xnu", part, cells, optimize=True) * fits).sum(axis=0)
    density /= density.sum(axis=1, keepdims=True)
    grade = np.exp(log_grade)
    mean, square = density @ grade, density @ grade**2
    rel_sd = np.sqrt(np.maximum(square / mean**2 * np.exp(own_log_sd**2) - 1.0, 0.0))
    below = np.cumsum(density, axis=1)
    steps = np.arange(len(log_grade), dtype=np.float64)
    total = np.zeros_like(below)
    for node, weight in zip(_NODES, _NODE_WEIGHTS, strict=True):
        place = steps[None, :] - (log_sd * node / STEP)[:, None]
        total += weight * _read_rows(below, place)
    points = np.array(
        [_invert(row, log_grade + STEP / 2.0, probabilities) for row in total]
    )
    return np.exp(points), mean * np.exp(log_sd**2 / 2.0), rel_sd


def _invert(
    below: FloatArray, edges: FloatArray, probabilities: FloatArray
) -> FloatArray:
    """Return the logs of quantiles; below the grid the share falls by its power law."""
    log_below = np.log(np.maximum(below, 1e-300))
    found = np.interp(np.log(probabilities), log_below, edges)
    power = max((log_below[5] - log_below[0]) / (5.0 * STEP), 0.02)
    under = edges[0] + (np.log(probabilities) - log_below[0]) / power
    return np.where(probabilities < below[0], under, found)
