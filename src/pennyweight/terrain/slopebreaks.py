"""Where a creek's fall changes: exact posterior of the breaks of a long profile.

The profile is straight pieces with noise; how many and where they change is unknown.
All ways to part it are summed exactly, so that each break comes with its probability
and with how far up or down it may as well lie.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

FloatArray = npt.NDArray[np.float64]

#: Steps into which a profile is averaged at most; the sum grows with their square.
MOST_STEPS = 160

#: Fewest steps of a piece: fewer show no fall of their own.
FEWEST_STEPS = 4

#: Breaks expected in a profile before it is looked at [-]: our assumption.
EXPECTED_BREAKS = 3.0

#: Falls that are thought possible before looking, one standard deviation [m/m].
PRIOR_SLOPE = 0.2

#: A break is told where it is at least this probable [-].
TOLD_PROBABILITY = 0.5

#: A break is told where the falls differ by at least this ratio [-].
TOLD_RATIO = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeBreak:
    """A place where the fall of a creek changes.

    Attributes
    ----------
    distance_m : float
        Way downstream from the head of the profile [m].
    low_m, high_m : float
        10 and 90 % points of where it lies [m].
    probability : float
        That there is one here at all [-].
    slope_above, slope_below : float
        Fall of the pieces on both sides [m/m].
    """

    distance_m: float
    low_m: float
    high_m: float
    probability: float
    slope_above: float
    slope_below: float

    @property
    def eases(self) -> bool:
        """Whether the creek runs flatter below."""
        return self.slope_below < self.slope_above


def find_slope_breaks(
    distance_m: npt.ArrayLike,
    elevation_m: npt.ArrayLike,
    *,
    noise_m: float | None = None,
) -> tuple[SlopeBreak, ...]:
    """Return the breaks of a long profile, from the head down.

    Parameters
    ----------
    distance_m : array_like, shape (n_points,)
        Way downstream, increasing [m].
    elevation_m : array_like, shape (n_points,)
        Height of the bed [m]; points without one are left out.
    noise_m : float, optional
        Standard deviation of a height about a straight fall [m]; taken from the
        profile's own roughness where not given.

    Returns
    -------
    tuple of SlopeBreak
        Those more likely there than not, across which the fall changes by at least
        30 %. Empty where the profile is too short to tell.

    Notes
    -----
    Pieces are least-squares lines with normal priors on height and fall; a piece ends
    at each step with the same small probability. The recursions are those of Fearnhead
    (2006, Stat. Comput. 16, 203-213), sections 2.1 and 2.2.
    """
    at_m, height_m = _average(
        np.asarray(distance_m, np.float64), np.asarray(elevation_m, np.float64)
    )
    if len(at_m) < 2 * FEWEST_STEPS:
        return ()
    noise_m = _roughness(height_m) if noise_m is None else noise_m
    evidence = piece_evidence(at_m, height_m, noise_m=noise_m)
    mass, best = _weigh_breaks(evidence)
    edges = [0, *best, len(at_m)]
    slopes = [
        -float(np.polyfit(at_m[a:b], height_m[a:b], 1)[0]) for a, b in pairwise(edges)
    ]
    found = [
        _describe(at_m, mass, edges[k - 1 : k + 2], slopes[k - 1 : k + 1])
        for k in range(1, len(edges) - 1)
    ]
    return tuple(one for one in found if _is_told(one))


def piece_evidence(
    at_m: FloatArray, height_m: FloatArray, *, noise_m: float
) -> FloatArray:
    """Return the log marginal likelihood of every straight piece of a profile.

    Parameters
    ----------
    at_m, height_m : ndarray, shape (n_steps,)
        Way downstream and height of each step [m].
    noise_m : float
        Standard deviation of a height about its line [m].

    Returns
    -------
    ndarray, shape (n_steps + 1, n_steps + 1)
        Entry [i, j] is that of the steps i to j - 1 [-]; -inf where they are too few.

    Notes
    -----
    Height = a + b (x - middle of the profile) + noise, with a ~ N(mean height,
    relief^2 + 1) and b ~ N(0, 0.2^2): integrated in closed form (Bayes linear model).
    """
    x = at_m - at_m.mean()
    y = height_m - height_m.mean()
    prior = np.array([1.0 / (np.ptp(y) ** 2 + 1.0), 1.0 / PRIOR_SLOPE**2])
    sums = [
        np.concatenate([[0.0], np.cumsum(part)])
        for part in (np.ones_like(x), x, x * x, y, x * y, y * y)
    ]
    count, sum_x, sum_xx, sum_y, sum_xy, sum_yy = (
        part[None, :] - part[:, None] for part in sums
    )
    precision = 1.0 / noise_m**2
    first = precision * count + prior[0]
    cross = precision * sum_x
    second = precision * sum_xx + prior[1]
    determinant = first * second - cross**2
    on_a, on_b = precision * sum_y, precision * sum_xy
    explained = second * on_a**2 - 2.0 * cross * on_a * on_b + first * on_b**2
    with np.errstate(invalid="ignore", divide="ignore"):
        evidence = (
            -0.5 * count * np.log(2.0 * np.pi * noise_m**2)
            + 0.5 * np.log(prior[0] * prior[1] / determinant)
            - 0.5 * (precision * sum_yy - explained / determinant)
        )
    return np.where(count >= FEWEST_STEPS, evidence, -np.inf)


def _average(distance_m: FloatArray, height_m: FloatArray) -> tuple[FloatArray, ...]:
    """Return a profile in equal steps, the heights within each averaged."""
    known = np.isfinite(distance_m) & np.isfinite(height_m)
    at, height = distance_m[known], height_m[known]
    if len(at) < 2 * FEWEST_STEPS or np.ptp(at) <= 0.0:
        return np.zeros(0), np.zeros(0)
    n_steps = min(MOST_STEPS, len(at) // 2)
    n_steps = max(n_steps, min(len(at), 2 * FEWEST_STEPS))
    step = np.minimum(
        ((at - at[0]) / np.ptp(at) * n_steps).astype(np.int64), n_steps - 1
    )
    count = np.bincount(step, minlength=n_steps)
    kept = count > 0
    middle = np.bincount(step, at, minlength=n_steps)[kept] / count[kept]
    mean = np.bincount(step, height, minlength=n_steps)[kept] / count[kept]
    return middle, mean


def _roughness(height_m: FloatArray) -> float:
    """Return the noise of a profile from its second differences [m].

    For independent noise their standard deviation is sqrt(6) times that of a height;
    the median keeps the breaks themselves out of it. A hundredth of the relief is the
    least: no creek bed is as straight as a ruler.
    """
    bends = np.abs(np.diff(height_m, 2))
    robust = float(np.median(bends)) / 0.6745 / math.sqrt(6.0)
    relief_m = float(np.max(height_m) - np.min(height_m))
    return max(robust, 0.01 * relief_m, 1e-3)


def _weigh_breaks(evidence: FloatArray) -> tuple[FloatArray, list[int]]:
    """Return the probability of a break before each step, and the best set of them."""
    n_steps = len(evidence) - 1
    ends = min(EXPECTED_BREAKS / n_steps, 0.5)
    length = np.arange(n_steps + 1)
    log_end = np.log(ends)
    log_on = np.log1p(-ends) * np.maximum(length - 1, 0)
    forward = np.full(n_steps + 1, -np.inf)
    best, came = np.full(n_steps + 1, -np.inf), np.zeros(n_steps + 1, dtype=np.int64)
    forward[0] = best[0] = 0.0
    for j in range(FEWEST_STEPS, n_steps + 1):
        piece = evidence[:j, j] + log_on[j - length[:j]]
        piece = piece + np.where(length[:j] > 0, log_end, 0.0)
        forward[j] = logsumexp(forward[:j] + piece)
        came[j] = int(np.argmax(best[:j] + piece))
        best[j] = best[came[j]] + piece[came[j]]
    backward = np.full(n_steps + 1, -np.inf)
    backward[n_steps] = 0.0
    for i in range(n_steps - FEWEST_STEPS, -1, -1):
        piece = evidence[i, i + 1 :] + log_on[length[i + 1 :] - i]
        piece = piece + np.where(length[i + 1 :] < n_steps, log_end, 0.0)
        backward[i] = logsumexp(backward[i + 1 :] + piece)
    # A break before a step parts what lies above from what lies below, and is paid.
    mass = ends * np.exp(forward + backward - forward[n_steps])
    breaks, at = [], int(came[n_steps])
    while at > 0:
        breaks.append(at)
        at = int(came[at])
    return mass, breaks[::-1]


def _describe(
    at_m: FloatArray, mass: FloatArray, edges: list[int], slopes: list[float]
) -> SlopeBreak:
    """Return one of the best breaks with the mass around it, half-way to the next."""
    first = max((edges[0] + edges[1]) // 2 + 1, 1)
    last = min((edges[1] + edges[2]) // 2, len(at_m) - 1)
    steps = np.arange(first, last + 1)
    place = 0.5 * (at_m[steps] + at_m[steps - 1])
    share = mass[steps]
    total = float(share.sum())
    rising = np.cumsum(share) / total
    low, high = (int(np.searchsorted(rising, part)) for part in (0.1, 0.9))
    return SlopeBreak(
        distance_m=float(0.5 * (at_m[edges[1]] + at_m[edges[1] - 1])),
        low_m=float(place[low]),
        high_m=float(place[min(high, len(place) - 1)]),
        probability=min(total, 1.0),
        slope_above=slopes[0],
        slope_below=slopes[1],
    )


def _is_told(one: SlopeBreak) -> bool:
    low, high = sorted((one.slope_above, one.slope_below))
    if one.probability < TOLD_PROBABILITY or high <= 0.0:
        return False
    return high >= TOLD_RATIO * max(low, 1e-6)
