"""Averages down a hole, and the interval that is best mined.

Depths are below the surface, positive down. Averages are by thickness, never plain;
a depth that no sample covers is unknown: it costs like any other and is credited
with nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.graded import GradedSample
from pennyweight.sampling.posterior import mixture_quantiles
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]

#: Thickness that a sample without one is given: a skim [m]; ours.
THIN_M = 0.02
_QUANTILES = (0.10, 0.50, 0.90)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slices:
    """A dig cut at every depth where a sample begins or ends.

    Attributes
    ----------
    top_m, bottom_m : ndarray, shape (n_slices,)
        Depths [m].
    weights : ndarray, shape (n_slices, n_samples)
        Share of each sample in a slice's grade, by volume [-]; a row of zeros is a
        depth that no sample covers.
    """

    top_m: FloatArray
    bottom_m: FloatArray
    weights: FloatArray

    @property
    def thickness_m(self) -> FloatArray:
        """Thickness of each slice [m]."""
        return self.bottom_m - self.top_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A run of slices.

    Attributes
    ----------
    first, last : int
        Its slices, both included [-].
    top_m, bottom_m : float
        Depths [m].
    accumulation_mg_m2 : float
        Gold below each square meter [mg/m2].
    net_mg_m2 : float
        That less what washing and stripping cost, in gold [mg/m2].
    """

    first: int
    last: int
    top_m: float
    bottom_m: float
    accumulation_mg_m2: float
    net_mg_m2: float

    @property
    def grade_mg_m3(self) -> float:
        """Average over the interval [mg/m3]."""
        return self.accumulation_mg_m2 / (self.bottom_m - self.top_m)


def interval_average(values: npt.ArrayLike, thickness_m: npt.ArrayLike) -> float:
    """Return the average of a hole's samples by their thickness.

    Parameters
    ----------
    values : array_like, shape (n,)
        Grades of the samples [mg/m3].
    thickness_m : array_like, shape (n,)
        Their thickness, above 0 together [m].

    Returns
    -------
    float
        Average [mg/m3].

    Raises
    ------
    ValueError
        A thickness is below 0, or all are 0.

    Examples
    --------
    Two feet at 20 and five feet at 1 are not 10.5:

    >>> round(interval_average([20.0, 1.0], [2.0, 5.0]), 2)
    6.43
    """
    value, thickness = (np.asarray(x, np.float64) for x in (values, thickness_m))
    if np.any(thickness < 0.0) or thickness.sum() <= 0.0:
        msg = f"thicknesses are {thickness} m; none below 0 and not all 0."
        raise ValueError(msg)
    return float(value @ thickness / thickness.sum())


def longest_run_above(
    values: npt.ArrayLike, thickness_m: npt.ArrayLike, cutoff: float
) -> tuple[int, int] | None:
    """Return the thickest run of samples whose average is at least the cutoff.

    Samples below the cutoff that lie inside the run stay in.

    Parameters
    ----------
    values : array_like, shape (n,)
        Grades from the top down [mg/m3].
    thickness_m : array_like, shape (n,)
        Their thickness [m].
    cutoff : float
        Least average [mg/m3].

    Returns
    -------
    tuple of int, or None
        First and last sample of the run, both included; None where no sample
        reaches the cutoff.
    """
    value, thickness = (np.asarray(x, np.float64) for x in (values, thickness_m))
    over, deep = _between(thickness * (value - cutoff)), _between(thickness)
    found = np.where(over >= -1e-9 * max(cutoff, 1.0), deep, -1.0)
    first, last = np.unravel_index(int(np.argmax(found)), found.shape)
    return (int(first), int(last)) if found[first, last] > 0.0 else None


def _between(parts: FloatArray) -> FloatArray:
    """Return the sum from each first to each last part; -inf where last < first."""
    total = np.concatenate([[0.0], np.cumsum(parts)])
    sums = total[None, 1:] - total[:-1, None]
    return np.where(np.tri(len(parts), k=-1, dtype=np.bool_), -np.inf, sums)


def cut_slices(samples: Sequence[GradedSample]) -> Slices | None:
    """Return a dig cut into slices, from the surface to its deepest sample.

    Parameters
    ----------
    samples : sequence of GradedSample
        Of one dig; those that count for the grade and have depths are used.

    Returns
    -------
    Slices or None
        None where no sample can be used. Columns are those of `samples`.
    """
    used = [k for k, one in enumerate(samples) if _has_depths(one)]
    if not used:
        return None
    tops = np.array([samples[k].top_m for k in used], dtype=np.float64)
    bottoms = np.array([samples[k].bottom_m for k in used], dtype=np.float64)
    bottoms = np.maximum(bottoms, tops + THIN_M)
    edges = np.unique(np.concatenate([[0.0], tops, bottoms]))
    middle = (edges[:-1] + edges[1:]) / 2.0
    volumes = np.array([samples[k].bank_m3 for k in used], dtype=np.float64)
    per_meter = volumes / (bottoms - tops)
    inside = (tops < middle[:, None]) & (middle[:, None] < bottoms)
    weights = np.zeros((len(middle), len(samples)))
    weights[:, used] = inside * per_meter
    total = weights.sum(axis=1, keepdims=True)
    weights = np.divide(weights, total, out=weights, where=total > 0.0)
    return Slices(top_m=edges[:-1], bottom_m=edges[1:], weights=weights)


def _has_depths(sample: GradedSample) -> bool:
    """Return whether a sample can stand in a column."""
    known = sample.top_m is not None and sample.bottom_m is not None
    return known and sample.counts_for_grade and sample.grade_mg_m3 is not None


def best_interval(
    slices: Slices,
    grade_mg_m3: npt.ArrayLike,
    *,
    wash_mg_m3: float,
    strip_mg_m3: float,
    min_pay_m: float,
) -> Interval:
    """Return the interval of greatest net value, over all tops and bottoms.

    Where none pays, the richest one of at least the least thickness.

    Parameters
    ----------
    slices : Slices
        The dig.
    grade_mg_m3 : array_like, shape (n_samples,)
        Expected grade of each sample [mg/m3]; not looked at where its weight is 0.
    wash_mg_m3, strip_mg_m3 : float
        Grades that just pay for washing, and for stripping, a cubic meter [mg/m3].
    min_pay_m : float
        Least thickness that is taken as pay [m].

    Returns
    -------
    Interval
        The best one.

    Notes
    -----
    net = accumulation - wash x max(thickness, least) - strip x depth of the top.
    """
    parts = slices.weights @ np.nan_to_num(np.asarray(grade_mg_m3, np.float64))
    thickness = slices.thickness_m
    accumulation, deep = _between(parts * thickness), _between(thickness)
    some = deep > 0.0
    taken = np.maximum(deep, min_pay_m)
    cover = slices.top_m[:, None]
    net = accumulation - wash_mg_m3 * taken - strip_mg_m3 * cover
    net = np.where(some, net, -np.inf)
    score = net if net.max() > 0.0 else np.where(some, accumulation / taken, -np.inf)
    # Of equals, the thinnest: barren edges add nothing.
    best = np.isclose(score, score.max(), rtol=1e-9, atol=0.0) & some
    flat = int(np.argmin(np.where(best, deep, np.inf)))
    first, last = np.unravel_index(flat, deep.shape)
    return Interval(
        first=int(first),
        last=int(last),
        top_m=float(slices.top_m[first]),
        bottom_m=float(slices.bottom_m[last]),
        accumulation_mg_m2=float(accumulation[first, last]),
        net_mg_m2=float(net[first, last]),
    )


def sample_thickness(slices: Slices, first: int, last: int) -> FloatArray:
    """Return the thickness for which each sample speaks in a run of slices.

    Parameters
    ----------
    slices : Slices
        The dig.
    first, last : int
        Slices of the run, both included [-].

    Returns
    -------
    ndarray, shape (n_samples,)
        Accumulation = sum of these times the grades [m].
    """
    run = slice(first, last + 1)
    return np.asarray(slices.thickness_m[run] @ slices.weights[run], np.float64)


def sum_spread(
    samples: Sequence[GradedSample], parts: npt.ArrayLike, *, shared_rel_sd: float
) -> Spread | None:
    """Return how sure a weighted sum of sample grades is.

    Parameters
    ----------
    samples : sequence of GradedSample
        The samples.
    parts : array_like, shape (n_samples,)
        Weight of each grade: a thickness for an accumulation [m], a share for an
        average [-].
    shared_rel_sd : float
        Relative standard deviation that all grades share [-].

    Returns
    -------
    Spread or None
        Of the sum, in the unit of weight x grade; None where nothing has a weight.

    Notes
    -----
    One sample: its own posterior. Several: their own parts are independent; their
    sum is a gamma distribution with the same mean and variance, times the lognormal
    factor that all share.
    """
    weight = np.asarray(parts, np.float64)
    used = [
        (float(w), one.grade_mg_m3, one.own_rel_sd)
        for w, one in zip(weight, samples, strict=True)
        if w > 0.0 and one.grade_mg_m3 is not None
    ]
    if not used:
        return None
    if len(used) == 1:
        return used[0][1].scaled(used[0][0])
    part = np.array([w * grade.mean for w, grade, _ in used])
    own = np.array([rel_sd for _, _, rel_sd in used])
    total = float(part.sum())
    shape = total**2 / float(((part * own) ** 2).sum())
    # The means hold the mean of the shared factor, exp(sd^2 / 2); its median is 1.
    factor = float(np.exp(shared_rel_sd**2 / 2.0))
    points = mixture_quantiles(
        np.ones(1),
        np.array([[shape]]),
        np.array([[shape / (total / factor)]]),
        log_sd=np.array([shared_rel_sd]),
        probabilities=_QUANTILES,
    )[0]
    return Spread(float(points[0]), float(points[1]), float(points[2]), total)
