"""Chances of a weight that nobody counted, tabled once for all samples of a ground.

What a weight says depends on two ratios alone: weight over mean mass of a color, and
colors expected. One table over the logs of both serves every sample, every grade and
every mean mass tried: another mean mass moves both by the same whole steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view
from scipy.special import gammaln, ndtr

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Step of the logs of grade and of expected colors [-].
STEP = 0.1
#: Mean masses tried lie so many of them apart [-].
MASS_STEPS = 3
#: Step of the log of the weight [-]: half of the narrowest reading, which is 2 % each
#: way.
WEIGHT_STEP = 0.02
_WEIGHT_STEPS = round(MASS_STEPS * STEP / WEIGHT_STEP)
#: Ends of the log of the expected colors [-].
_COLORS_ENDS = (-9.0, 14.0)
#: Number of colors up to which each is summed over; beyond, their sum is lognormal.
MOST_NUMBERED, SUMMED_BELOW = 120, 60.0
#: Standard deviations of the log mean mass that are tried each way [-].
REACH = 2.7
#: Least chance of a reading [-].
_LEAST = 1e-12


@dataclass(frozen=True, slots=True)
class WeightTable:
    """Chance that a sample weighs less, by weight and by expected colors.

    Attributes
    ----------
    below : ndarray, shape (n_weights, n_colors)
        Chance [-]; beyond both ends of the colors it stays what it is there.
    first_log_weight : float
        Log of the first weight, in mean masses of a color [-].
    first_log_colors : float
        Log of the first number of expected colors [-].
    """

    below: FloatArray
    first_log_weight: float
    first_log_colors: float

    def chances(
        self,
        low: FloatArray,
        high: FloatArray,
        *,
        log_colors: FloatArray,
        n_grades: int,
        masses: IntArray,
    ) -> FloatArray:
        """Return the chance of each reading by mean mass and grade.

        Parameters
        ----------
        low, high : ndarray, shape (n,)
            Between which each weight lies, in mean masses of a color [-].
        log_colors : ndarray, shape (n,)
            Log of the colors expected of each at the first grade [-].
        n_grades : int
            Grades, in steps of `STEP` of their log [-].
        masses : ndarray of int, shape (n_masses,)
            Mean masses, in steps of `MASS_STEPS` x `STEP` of their log [-].

        Returns
        -------
        ndarray, shape (n_masses, n, n_grades)
            Chances [-], the least one added.
        """
        some = np.flatnonzero(low > 0.0)
        first = (log_colors - self.first_log_colors) / STEP
        found = np.empty((len(masses), len(low), n_grades))
        for at, number in enumerate(masses.tolist()):
            starts = first - MASS_STEPS * number
            cell = starts.astype(np.int64)
            width = n_grades + 1
            weighs = self._weighs_less(np.log(high), cell, number, width=width)
            weighs[some] -= self._weighs_less(
                np.log(low[some]), cell[some], number, width=width
            )
            part = (starts - cell)[:, None]
            found[at] = weighs[:, :-1] * (1.0 - part) + weighs[:, 1:] * part
        return np.maximum(found, 0.0, out=found) + _LEAST

    def _weighs_less(
        self, log_weight: FloatArray, cell: IntArray, number: int, *, width: int
    ) -> FloatArray:
        """Return the chance of less than each weight, from a cell of colors on."""
        place = (log_weight - self.first_log_weight) / WEIGHT_STEP
        place = np.clip(place - _WEIGHT_STEPS * number, 0.0, len(self.below) - 1.000001)
        row = place.astype(np.int64)
        part = (place - row)[:, None]
        windows = sliding_window_view(self.below, width, axis=1)
        less = windows[row, cell]
        less *= 1.0 - part
        more = windows[row + 1, cell]
        more *= part
        less += more
        return less


def tabulate_weights(
    least: float,
    most: float,
    *,
    color_cv: float,
    place_log_sd: float,
    log_colors: tuple[float, float],
) -> WeightTable:
    """Return the chances of all weights between two, by expected colors.

    Parameters
    ----------
    least, most : float
        Ends of the weights, in mean masses of a color [-].
    color_cv : float
        Variation of one color's mass [-].
    place_log_sd : float
        Standard deviation of the log of the mean mass from place to place [-].
    log_colors : tuple of float
        Logs of the least and of the most colors that are asked for [-].

    Returns
    -------
    WeightTable
        Averaged over mean masses from place to place.

    Notes
    -----
    Given n colors of mean mass m the weight is lognormal with mean n m and relative
    variance cv^2 / n; n is Poisson. From place to place m is lognormal with mean 1.

    References
    ----------
    Fenton (1960), IRE Transactions on Communications Systems 8: 57-67; docs/sources.md
    "compound Poisson".
    """
    apart = MASS_STEPS * STEP
    wide = math.ceil(REACH * place_log_sd / apart)
    around = np.arange(-wide, wide + 1)
    ends = np.log([least, most]) / WEIGHT_STEP
    first = math.floor(ends[0]) - wide * _WEIGHT_STEPS
    last = math.ceil(ends[1]) + 1 + wide * _WEIGHT_STEPS
    columns = np.arange(
        round(_COLORS_ENDS[0] / STEP), round(_COLORS_ENDS[1] / STEP) + 1
    )
    own = _tell_below(np.arange(first, last + 1), columns, color_cv=color_cv)
    off = np.arange(len(own) - 2 * wide * _WEIGHT_STEPS)
    kernel = np.exp(
        -(((around * apart + place_log_sd**2 / 2.0) / place_log_sd) ** 2) / 2.0
    )
    below = np.zeros((len(off), len(columns)))
    for part, number in zip(kernel / kernel.sum(), around.tolist(), strict=True):
        rows = own[off + (wide - number) * _WEIGHT_STEPS]
        below += part * _move_columns(rows, MASS_STEPS * number)
    pads = [
        max(0, math.ceil((_COLORS_ENDS[0] - log_colors[0]) / STEP) + 1),
        max(0, math.ceil((log_colors[1] - _COLORS_ENDS[1]) / STEP) + 2),
    ]
    return WeightTable(
        np.pad(below, ((0, 0), (pads[0], pads[1])), mode="edge"),
        (first + wide * _WEIGHT_STEPS) * WEIGHT_STEP,
        (columns[0] - pads[0]) * STEP,
    )


def _move_columns(rows: FloatArray, by: int) -> FloatArray:
    """Return a table with every row moved to the right, the ends drawn out."""
    columns = np.clip(np.arange(rows.shape[1]) - by, 0, rows.shape[1] - 1)
    return rows[:, columns]


def _tell_below(
    weight_steps: IntArray, color_steps: IntArray, *, color_cv: float
) -> FloatArray:
    """Return the chance of less than each weight, (n_weights, n_colors)."""
    log_weight = np.asarray(weight_steps * WEIGHT_STEP, np.float64)
    log_colors = np.asarray(color_steps * STEP, np.float64)
    square = color_cv**2
    numbers = np.arange(1.0, MOST_NUMBERED + 1.0)
    by_number = _lognormal_below(log_weight, numbers, square / numbers)
    by_number = np.hstack([np.ones((len(log_weight), 1)), by_number])
    colors = np.exp(log_colors)
    few = colors < SUMMED_BELOW
    n = np.arange(MOST_NUMBERED + 1.0)[:, None]
    poisson = np.exp(n * log_colors[few] - colors[few] - gammaln(n + 1.0))
    many = colors[~few]
    by_total = _lognormal_below(log_weight, many, (1.0 + square) / many)
    return np.hstack([by_number @ poisson, by_total])


def _lognormal_below(
    log_weight: FloatArray, mean: FloatArray, rel_variance: FloatArray
) -> FloatArray:
    """Return the chance of less than each weight, for each mean."""
    variance = np.log1p(rel_variance)
    middle = np.log(mean) - variance / 2.0
    score = (log_weight[:, None] - middle) / np.sqrt(variance)
    return np.asarray(ndtr(score), np.float64)
