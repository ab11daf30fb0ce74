"""The gold along each line: a latent curve across the valley behind the counts.

f(n) ~ Gaussian process with constant mean (normal, unknown), Matern-3/2 covariance
sigma^2, l_n, and negative binomial counts. Laplace's approximation, all lines at
once in arrays padded to the longest line. sigma, l_n and r are the same for all
lines of a horizon and found by the evidence; their doubt is carried into the draws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.counting import (
    FieldCounts,
    first_guess,
    log_chance,
    slope_and_weight,
)

FloatArray = npt.NDArray[np.float64]

#: Prior of the mean log accumulation: ln 6 mg/m2 and its standard deviation.
MEAN_LOG, MEAN_LOG_SD = float(np.log(6.0)), 1.5
#: Prior medians of sigma [-], l_n [m], r [-]; sds of their logarithms. Our choice.
PRIOR_MEDIANS = (1.6, 2.0, 3.0)
PRIOR_LOG_SDS = (0.6, 0.5, 0.7)
#: Most spread of the log accumulation that is drawn [-]: one place in six is then over
#: 12 times the median, and the mean 23 times it. Our choice.
MOST_SIGMA = 2.5
#: Smoothness of the curve across, weighed by the evidence: Matern 3/2 and 5/2.
SMOOTHNESS = (1.5, 2.5)
#: Newton steps at most; the peak is usually found in five.
NEWTON_STEPS = 25
#: Steps of the differences that the evidence is climbed by, in log hyperparameters.
DIFFERENCE = 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCounts:
    """Counts of one horizon by line, padded with exposure 0 to the longest line.

    Attributes
    ----------
    n_m : ndarray, shape (n_lines, n_most)
        Place across the valley [m].
    colors, exposed : ndarray, shape (n_lines, n_most)
        Colors [-] and exposure [m2/mg].
    unsure : ndarray, shape (n_lines, n_most), or float
        Relative variance of the exposure [-].
    """

    n_m: FloatArray
    colors: FloatArray
    exposed: FloatArray
    unsure: FloatArray | float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Profiles:
    """Fitted hyperparameters of all lines.

    Attributes
    ----------
    log_hyper : ndarray, shape (2, 3)
        Log of sigma [-], l_n [m] and r [-] at the peak of the evidence, for each of
        `SMOOTHNESS`.
    log_hyper_cov : ndarray, shape (2, 3, 3)
        Their covariance from the curvature [-].
    weight : ndarray, shape (2,)
        Posterior weight of each smoothness [-].
    """

    log_hyper: FloatArray
    log_hyper_cov: FloatArray
    weight: FloatArray


@dataclass(slots=True)
class _Mode:
    """Where Newton's method came to rest, one row a set of hyperparameters."""

    log_mg_m2: FloatArray
    half_weight: FloatArray
    slope: FloatArray
    b_matrix: FloatArray
    evidence: FloatArray

    def only(self) -> _Mode:
        """Return the first set alone."""
        return _Mode(
            self.log_mg_m2[0],
            self.half_weight[0],
            self.slope[0],
            self.b_matrix[0],
            self.evidence,
        )


def matern(
    distance_m: npt.ArrayLike, length_m: float | FloatArray, smooth: float
) -> FloatArray:
    """Return the Matern correlation of smoothness 3/2 or 5/2.

    Parameters
    ----------
    distance_m : array_like
        Distances [m].
    length_m : float or ndarray
        Length scale l, of a shape that the distances take on [m].
    smooth : float
        Smoothness, 1.5 or 2.5 [-].

    Returns
    -------
    ndarray
        Correlation, the shape of the distances [-].

    References
    ----------
    Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, eq. 4.17.
    """
    if smooth < 2.0:
        return matern32(distance_m, length_m)
    scaled = np.sqrt(5.0) * np.abs(np.asarray(distance_m, np.float64)) / length_m
    return np.asarray((1.0 + scaled + scaled**2 / 3.0) * np.exp(-scaled))


def matern32(distance_m: npt.ArrayLike, length_m: float | FloatArray) -> FloatArray:
    """Return the Matern-3/2 correlation (1 + a) exp(-a), a = sqrt(3) d / l.

    Parameters
    ----------
    distance_m : array_like
        Distances [m].
    length_m : float or ndarray
        Length scale l [m].

    Returns
    -------
    ndarray
        Correlation, the shape of the distances [-].

    References
    ----------
    Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, eq. 4.17.
    """
    scaled = np.sqrt(3.0) * np.abs(np.asarray(distance_m, np.float64)) / length_m
    return np.asarray((1.0 + scaled) * np.exp(-scaled))


def pad_lines(counts: FieldCounts, n_lines: int) -> LineCounts:
    """Return the counts sorted by line and place, padded to the longest line.

    Parameters
    ----------
    counts : FieldCounts
        Counts of one horizon.
    n_lines : int
        Number of lines [-].

    Returns
    -------
    LineCounts
        Padding lies at the place 0 with exposure 0.
    """
    order = np.lexsort((counts.n_m, counts.line))
    line = counts.line[order]
    start = np.searchsorted(line, np.arange(n_lines))
    rank = np.arange(len(line)) - start[line]
    most = int(rank.max()) + 1 if len(rank) else 1
    padded = []
    unsure = np.zeros(len(line)) if counts.unsure is None else counts.unsure
    for values in (counts.n_m, counts.colors, counts.exposed, unsure):
        table = np.zeros((n_lines, most))
        table[line, rank] = values[order]
        padded.append(table)
    return LineCounts(
        n_m=padded[0], colors=padded[1], exposed=padded[2], unsure=padded[3]
    )


def _covariance(lines: LineCounts, hyper: FloatArray, smooth: float) -> FloatArray:
    """Return covariances of the digs, one set a row of hyper; (n, n_lines, ...)."""
    apart = lines.n_m[:, :, None] - lines.n_m[:, None, :]
    sigma, length_m = (hyper[:, at, None, None, None] for at in (0, 1))
    return np.asarray(sigma**2 * matern(apart, length_m, smooth) + MEAN_LOG_SD**2)


def _climb(
    lines: LineCounts, covariance: FloatArray, size: FloatArray, start: FloatArray
) -> _Mode:
    """Return Laplace's approximation by Newton's method in data space.

    Several sets of hyperparameters climb side by side, along the first axis.
    """
    eye = np.eye(covariance.shape[-1])
    size = 1.0 / (1.0 / size[:, None, None] + lines.unsure)
    f = np.broadcast_to(start, covariance.shape[:-1])
    best: FloatArray | float = -np.inf
    for _ in range(NEWTON_STEPS):
        slope, weight = slope_and_weight(lines.colors, lines.exposed, f, size=size)
        half = np.sqrt(weight)
        b_matrix = eye + half[..., :, None] * covariance * half[..., None, :]
        target = weight * (f - MEAN_LOG) + slope
        pulled = half[..., None] * (covariance @ target[..., None])
        dual = target - half * np.linalg.solve(b_matrix, pulled)[..., 0]
        step = MEAN_LOG + (covariance @ dual[..., None])[..., 0] - f
        # Far from the peak the quadratic overshoots: no step beyond 2 in the log.
        most = np.abs(step).max(axis=(1, 2), keepdims=True)
        f = f + step * np.minimum(1.0, 2.0 / np.maximum(most, 1e-12))
        fit = log_chance(lines.colors, lines.exposed, f, size=size)
        value = (fit - 0.5 * dual * (f - MEAN_LOG)).sum(axis=(1, 2))
        if most.max() < 1e-4 or (
            most.max() < 1e-2 and np.abs(value - best).max() < 1e-7
        ):
            break
        best = value
    slope, weight = slope_and_weight(lines.colors, lines.exposed, f, size=size)
    half = np.sqrt(weight)
    b_matrix = eye + half[..., :, None] * covariance * half[..., None, :]
    log_det = np.linalg.slogdet(b_matrix)[1].sum(axis=1)
    return _Mode(f, half, slope, b_matrix, value - 0.5 * log_det)


def _start(lines: LineCounts) -> FloatArray:
    """Return where Newton's method starts when nothing is known."""
    guess = first_guess(lines.colors, lines.exposed)
    return np.clip(guess, MEAN_LOG - 4.0, MEAN_LOG + 8.0)


def log_evidence(
    lines: LineCounts,
    sigma: float,
    length_m: float,
    *,
    size: float,
    smooth: float = 1.5,
) -> float:
    """Return Laplace's log evidence of all lines.

    Parameters
    ----------
    lines : LineCounts
        Counts of one horizon.
    sigma : float
        Standard deviation of the log accumulation [-].
    length_m : float
        Its length scale across the valley [m].
    size : float
        Negative binomial size r [-].
    smooth : float, optional
        Smoothness of the curve, 1.5 or 2.5 [-].

    Returns
    -------
    float
        Log probability of the counts [-].

    References
    ----------
    Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, alg. 3.1 and
    eq. 3.32.
    """
    hyper = np.array([[sigma, length_m, size]])
    covariance = _covariance(lines, hyper, smooth)
    return float(_climb(lines, covariance, hyper[:, 2], _start(lines)).evidence[0])


def fit_profiles(lines: LineCounts) -> Profiles:
    """Return the hyperparameters of the lines at the peaks of the evidence.

    Parameters
    ----------
    lines : LineCounts
        Counts of one horizon.

    Returns
    -------
    Profiles
        For both smoothnesses, with the covariance that the curvature gives.
    """
    peaks = []
    start = np.log(PRIOR_MEDIANS)
    for smooth in SMOOTHNESS:
        peaks.append(_fit_peak(lines, smooth, start))
        start = peaks[-1][0]
    # Laplace's evidence over the hyperparameters too.
    log_weight = np.array(
        [peak[2] + 0.5 * float(np.linalg.slogdet(peak[1])[1]) for peak in peaks]
    )
    weight = np.exp(log_weight - log_weight.max())
    return Profiles(
        log_hyper=np.array([peak[0] for peak in peaks]),
        log_hyper_cov=np.array([peak[1] for peak in peaks]),
        weight=weight / weight.sum(),
    )


def _fit_peak(
    lines: LineCounts, smooth: float, start: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Return the peak of the evidence, the covariance there, and its height."""
    prior_mean = np.log(PRIOR_MEDIANS)
    prior_sd = np.array(PRIOR_LOG_SDS)
    kept = _start(lines)

    def heights(thetas: FloatArray) -> FloatArray:
        nonlocal kept
        hyper = np.exp(thetas)
        covariance = _covariance(lines, hyper, smooth)
        mode = _climb(lines, covariance, hyper[:, 2], kept)
        kept = mode.log_mg_m2[0]
        z = (thetas - prior_mean) / prior_sd
        return np.asarray(mode.evidence - 0.5 * (z**2).sum(axis=1))

    theta = start
    at_rest = -np.inf
    for _ in range(6):
        at_rest, slope, negative = _curvature(heights, theta, prior_sd)
        step = np.linalg.solve(negative, slope)
        step *= min(1.0, 0.7 / max(float(np.abs(step).max()), 1e-12))
        # The step and its halves, all at once: the highest is taken.
        shares = np.array([0.0, 1.0, 0.5, 0.25, 0.125])
        tried = heights(theta + shares[:, None] * step)
        share = float(shares[int(tried.argmax())])
        theta, at_rest = theta + share * step, float(tried.max())
        if share * np.abs(step).max() < 0.03:
            break
    return theta, np.asarray(np.linalg.inv(negative)), at_rest


def _curvature(
    heights: Callable[[FloatArray], FloatArray],
    theta: FloatArray,
    prior_sd: FloatArray,
) -> tuple[float, FloatArray, FloatArray]:
    """Return height, slope and minus the curvature, made positive definite."""
    n = len(theta)
    unit = np.eye(n) * DIFFERENCE
    pairs = [(a, b) for a in range(n) for b in range(a)]
    both = np.array([unit[a] + unit[b] for a, b in pairs])
    found = heights(theta + np.vstack([np.zeros(n), unit, -unit, both]))
    middle, up, down = found[0], found[1 : n + 1], found[n + 1 : 2 * n + 1]
    slope = (up - down) / (2.0 * DIFFERENCE)
    bend = np.diag((up - 2.0 * middle + down) / DIFFERENCE**2)
    for (a, b), value in zip(pairs, found[2 * n + 1 :], strict=True):
        bend[a, b] = bend[b, a] = (value - up[a] - up[b] + middle) / DIFFERENCE**2
    values, vectors = np.linalg.eigh(-bend)
    # The prior alone would give prior_sd^-2: never less certain than four times that.
    least = 0.25 * float(np.min(prior_sd**-2.0))
    positive = (vectors * np.maximum(values, least)) @ vectors.T
    return float(middle), slope, np.asarray(positive)


def draw_hyper(
    profiles: Profiles, n_draws: int, rng: np.random.Generator
) -> FloatArray:
    """Return draws of sigma, l_n and r, the first at the peak.

    Parameters
    ----------
    profiles : Profiles
        Fitted.
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray, shape (n_draws, 4)
        sigma [-], l_n [m], r [-], smoothness [-].
    """
    root = np.linalg.cholesky(profiles.log_hyper_cov)
    z = np.clip(rng.standard_normal((n_draws, 3)), -2.0, 2.0)
    kind = rng.choice(len(SMOOTHNESS), size=n_draws, p=profiles.weight)
    z[0], kind[0] = 0.0, int(profiles.weight.argmax())
    logs = profiles.log_hyper[kind] + np.einsum("dab,db->da", root[kind], z)
    logs[:, 0] = np.minimum(logs[:, 0], np.log(MOST_SIGMA))
    return np.column_stack([np.exp(logs), np.array(SMOOTHNESS)[kind]])


def draw_profiles(
    lines: LineCounts,
    grid_n_m: FloatArray,
    hyper: FloatArray,
    *,
    n_each: int,
    rng: np.random.Generator,
) -> FloatArray:
    """Return draws of the log accumulation along every line.

    Parameters
    ----------
    lines : LineCounts
        Counts of one horizon.
    grid_n_m : ndarray, shape (n_grid,)
        Places across the valley [m].
    hyper : ndarray, shape (n_hyper, 4)
        Draws of sigma [-], l_n [m], r [-] and smoothness [-].
    n_each : int
        Draws for each of them [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray, shape (n_hyper * n_each, n_lines, n_grid)
        Log accumulation [ln mg/m2].

    Notes
    -----
    A prior draw moved by Matheron's rule: f + K W^1/2 B^-1 (W^1/2 (y' - f) + z), y'
    the pseudo-observations of Laplace's approximation.

    References
    ----------
    Journel and Huijbregts 1978, Mining Geostatistics, ch. VII (conditioning by
    kriging); from memory.
    """
    n_lines, n_most = lines.n_m.shape
    parts = []
    start = _start(lines)
    for row in hyper:
        sigma, length_m, _, smooth = (float(value) for value in row)
        covariance = _covariance(lines, row[None], smooth)
        mode = _climb(lines, covariance, row[None, 2], start).only()
        start = mode.log_mg_m2
        apart = lines.n_m[:, :, None] - grid_n_m[None, None, :]
        to_grid = sigma**2 * matern(apart, length_m, smooth) + MEAN_LOG_SD**2
        shape = (sigma, length_m, smooth)
        prior = _prior_draws(grid_n_m, shape, n_each * n_lines, rng)
        prior = prior.reshape(n_each, n_lines, len(grid_n_m))
        at_data = _interpolate(prior, grid_n_m, lines.n_m)
        half = mode.half_weight
        safe = np.where(half > 0.0, half, 1.0)
        pseudo = half * mode.log_mg_m2 + np.where(half > 0.0, mode.slope / safe, 0.0)
        noise = rng.standard_normal((n_each, n_lines, n_most))
        gap = pseudo[None] + noise - half[None] * at_data
        inner = np.linalg.solve(mode.b_matrix, gap.transpose(1, 2, 0))
        moved = np.einsum("jag,jad->djg", to_grid, half[:, :, None] * inner)
        parts.append(prior + moved)
    return np.concatenate(parts)


def _prior_draws(
    grid_n_m: FloatArray,
    hyper: tuple[float, float, float],
    n_draws: int,
    rng: np.random.Generator,
) -> FloatArray:
    """Return draws of a line's prior, unknown mean included."""
    sigma, length_m, smooth = hyper
    shape = matern(grid_n_m[:, None] - grid_n_m[None, :], length_m, smooth)
    root = np.linalg.cholesky(shape + 1e-6 * np.eye(len(grid_n_m)))
    z = rng.standard_normal((n_draws, len(grid_n_m)))
    mean = MEAN_LOG + MEAN_LOG_SD * rng.standard_normal((n_draws, 1))
    return np.asarray(mean + sigma * (z @ root.T))


def _interpolate(
    draws: FloatArray, grid_n_m: FloatArray, n_m: FloatArray
) -> FloatArray:
    """Return draws on the grid read off at the places of each line."""
    step = grid_n_m[1] - grid_n_m[0]
    at = np.clip((n_m - grid_n_m[0]) / step, 0.0, len(grid_n_m) - 1.000001)
    low = at.astype(np.int64)
    part = (at - low)[None]
    row = np.arange(n_m.shape[0])[:, None]
    return np.asarray(draws[:, row, low] * (1.0 - part) + draws[:, row, low + 1] * part)
