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
from numpy.lib.stride_tricks import sliding_window_view
from scipy.special import gammainc

from pennyweight.sampling.gold import PLACE_LOG_SD_UNSIZED, WEIGHING_REL_SD
from pennyweight.sampling.places import MOST_TEACHING, Places, stated_places
from pennyweight.sampling.posterior import counts_log_probability
from pennyweight.sampling.weighttable import (
    MASS_STEPS,
    REACH,
    STEP,
    WeightTable,
    tabulate_weights,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Ends of the grid of the log of the grade [mg/m3].
_GRADE_ENDS = (-5.0, 14.0)
#: Samples worked on at a time; least share of a mass and a part that is kept [-].
_BLOCK, _LEAST_SHARE = 256, 1e-5
#: Least lower end of a weight that was read [mg].
_LEAST_MG = 1e-12
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
    low = np.where(zero, 0.0, np.maximum(weight - half, _LEAST_MG))
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
    masses = _tried_masses(weights.color_log_sd)
    tried = np.asarray(masses * (MASS_STEPS * STEP), np.float64)
    table = _table_of(weights, tried, log_grade)
    score = _score_counts(prior, tried, counts, exposures=exposures)
    if weights.color_log_sd > 0.0:
        score -= ((tried / weights.color_log_sd) ** 2 / 2.0)[:, None]
    teaching = np.flatnonzero(weights.teaches)
    every = max(1, math.ceil(len(teaching) / MOST_TEACHING))
    for block in _blocks(teaching[::every]):
        fits = _fits_of_grades(weights, block, masses, table=table)
        score += np.log(np.maximum(fits @ cells.T, 1e-300)).sum(axis=1)
    share = np.exp(score - score.max())
    share[share < _LEAST_SHARE] = 0.0
    share /= share.sum()
    held, parts = (np.flatnonzero(share.any(axis=axis)) for axis in (1, 0))
    found = [
        _read_block(
            _fits_of_grades(weights, block, masses[held], table=table),
            cells[parts],
            share[held][:, parts],
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


def _tried_masses(log_sd: float) -> IntArray:
    """Return the mean masses tried, in steps of their log about 0."""
    most = math.ceil(REACH * log_sd / (MASS_STEPS * STEP)) if log_sd > 0.0 else 0
    return np.arange(-most, most + 1)


def _table_of(
    weights: Weights, tried: FloatArray, log_grade: FloatArray
) -> WeightTable:
    """Return the table that holds every weight at every mean mass tried."""
    read = np.concatenate([weights.low_mg[weights.low_mg > 0.0], weights.high_mg])
    scale = weights.color_mg * np.exp(tried)
    colors = np.log(weights.colors_per_grade)
    return tabulate_weights(
        float(read.min() / scale.max()),
        float(read.max() / scale.min()),
        color_cv=weights.color_cv,
        place_log_sd=PLACE_LOG_SD_UNSIZED,
        log_colors=(
            float(colors.min() + log_grade[0] - tried[-1]),
            float(colors.max() + log_grade[-1] - tried[0]),
        ),
    )


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
    weights: Weights, block: IntArray, masses: IntArray, *, table: WeightTable
) -> FloatArray:
    """Return the chance of each reading by mass and grade, (n_masses, n, n_grades)."""
    log_grade = _grid(_GRADE_ENDS)
    return table.chances(
        weights.low_mg[block] / weights.color_mg,
        weights.high_mg[block] / weights.color_mg,
        log_colors=np.log(weights.colors_per_grade[block]) + log_grade[0],
        n_grades=len(log_grade),
        masses=masses,
    )


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
    part = share[:, None, :] / np.maximum(fits @ cells.T, 1e-300)
    density = np.einsum("xnu,xnu->nu", part @ cells, fits)
    density /= density.sum(axis=1, keepdims=True)
    grade = np.exp(log_grade)
    mean, square = density @ grade, density @ grade**2
    rel_sd = np.sqrt(np.maximum(square / mean**2 * np.exp(own_log_sd**2) - 1.0, 0.0))
    total = _spread_out(np.cumsum(density, axis=1), log_sd / STEP)
    points = _invert(total, log_grade + STEP / 2.0, probabilities)
    return np.exp(points), mean * np.exp(log_sd**2 / 2.0), rel_sd


def _spread_out(below: FloatArray, sd_steps: FloatArray) -> FloatArray:
    """Return distribution functions after a lognormal factor has spread them."""
    reach = math.ceil(float(sd_steps.max() * _NODES.max())) + 1
    table = np.pad(below, ((0, 0), (reach, reach)), mode="edge")
    windows = sliding_window_view(table, below.shape[1] + 1, axis=1)
    rows, total = np.arange(len(below)), np.zeros_like(below)
    for node, weight in zip(_NODES, _NODE_WEIGHTS, strict=True):
        starts = reach - sd_steps * node
        cell = starts.astype(np.int64)
        part = weight * (starts - cell)[:, None]
        moved = windows[rows, cell]
        total += (weight - part) * moved[:, :-1] + part * moved[:, 1:]
    return total


def _invert(
    below: FloatArray, edges: FloatArray, probabilities: FloatArray
) -> FloatArray:
    """Return the logs of quantiles; below the grid the share falls by its power law."""
    log_below = np.log(np.maximum(below, 1e-300))
    power = np.maximum((log_below[:, 5] - log_below[:, 0]) / (5.0 * STEP), 0.02)
    points, rows = np.empty((len(below), len(probabilities))), np.arange(len(below))
    for column, wanted in enumerate(np.log(probabilities).tolist()):
        cell = np.clip((log_below < wanted).sum(axis=1) - 1, 0, len(edges) - 2)
        left, right = log_below[rows, cell], log_below[rows, cell + 1]
        rise = np.maximum(right - left, 1e-300)
        inside = edges[cell] + STEP * np.clip((wanted - left) / rise, 0.0, 1.0)
        under = edges[0] + (wanted - log_below[:, 0]) / power
        points[:, column] = np.where(wanted < log_below[:, 0], under, inside)
    return points
