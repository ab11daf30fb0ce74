"""The field of log accumulation: on every line jointly, steered by the links.

Prior: Matern-3/2 across the valley; along it a line is `rho` times the line above,
read along the links, plus what is new, rho = exp(-ds / l_s). Without links this is
exactly the Gaussian process with covariance sigma^2 exp(-|ds|/l_s) Matern(dn; l_n);
its precision is block tridiagonal, so one look costs (lines)(columns)^3. Counts are
negative binomial; Newton's method, Laplace's approximation. The mean is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotri

from pennyweight.streaks.chain import (
    Chain,
    Factor,
    factor_chain,
    inverse_blocks,
    solve_chain,
    solve_up,
)
from pennyweight.streaks.counting import (
    FieldCounts,
    log_chance,
    skewness_of,
    slope_and_weight,
)
from pennyweight.streaks.profiles import MEAN_LOG, MEAN_LOG_SD, matern
from pennyweight.streaks.steering import reading_weights

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Added to the diagonal of the correlation across, so that it can be factored [-].
JITTER = 1e-5
#: The correction for skewness moves nothing farther than this [-]. Our choice.
MOST_MOVED = 0.5
#: Newton steps at most.
NEWTON_STEPS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Across:
    """The correlation across the valley, factored once for one length scale.

    Attributes
    ----------
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].
    root, inverse : ndarray, shape (n_grid, n_grid)
        Lower Cholesky factor and inverse of the correlation [-].
    log_det : float
        Log determinant of the correlation [-].
    """

    grid_n_m: FloatArray
    root: FloatArray
    inverse: FloatArray
    log_det: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Hyperparameters and the reading of each line off the one above it.

    Attributes
    ----------
    across : Across
        Correlation across the valley.
    sigma, size : float
        Standard deviation of the log accumulation, negative binomial size [-].
    rho : ndarray, shape (n_lines - 1,)
        Correlation of each line with the one above [-].
    offset_m : ndarray, shape (n_lines - 1, n_grid)
        Where each place on a line is read off the line above, as an offset [m].
    """

    across: Across
    sigma: float
    size: float
    rho: FloatArray
    offset_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class LineField:
    """Laplace's approximation of the field on the lines.

    Attributes
    ----------
    mean_log : float
        Mean log accumulation at the peak [ln mg/m2].
    log_mg_m2 : ndarray, shape (n_lines, n_grid)
        The field at the peak [ln mg/m2].
    evidence : float
        Laplace's log evidence [-].
    precision : Chain
        Of the prior, the mean held fast.
    factor : Factor
        Block Cholesky factor of the posterior's precision.
    toward_mean, mean_sd : ndarray, shape (n_lines, n_grid), and float
        Change of the field for a unit of the mean [-], sd of the mean [-].
    """

    mean_log: float
    log_mg_m2: FloatArray
    evidence: float
    precision: Chain
    factor: Factor
    toward_mean: FloatArray
    mean_sd: float


def factor_across(grid_n_m: FloatArray, length_m: float, smooth: float = 1.5) -> Across:
    """Return the correlation across the valley, factored.

    Parameters
    ----------
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].
    length_m : float
        Length scale l_n [m].
    smooth : float, optional
        Smoothness of the Matern correlation, 1.5 or 2.5 [-].

    Returns
    -------
    Across
        Matern correlation with 1e-5 on the diagonal.
    """
    shape = matern(grid_n_m[:, None] - grid_n_m[None, :], length_m, smooth)
    shape += JITTER * np.eye(len(grid_n_m))
    root = np.asarray(np.linalg.cholesky(shape), dtype=np.float64)
    half, _ = dpotri(root, lower=1)
    inverse = np.tril(half) + np.tril(half, -1).T
    log_det = 2.0 * float(np.log(np.diag(root)).sum())
    return Across(grid_n_m=grid_n_m, root=root, inverse=inverse, log_det=log_det)


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What the precision is made of: it serves every length along the valley.

    Attributes
    ----------
    inverse : ndarray, shape (n_grid, n_grid)
        Of the covariance across the valley [-].
    read : ndarray, shape (n_lines - 1, n_grid, n_grid)
        That times the reading of each line off the one above [-].
    both : ndarray, shape (n_lines - 1, n_grid, n_grid)
        The reading's transpose times that [-].
    """

    inverse: FloatArray
    read: FloatArray
    both: FloatArray


def read_lines(prior: Prior) -> Readings:
    """Return the parts of the precision that do not depend on `rho`.

    Parameters
    ----------
    prior : Prior
        Hyperparameters and steering.

    Returns
    -------
    Readings
        For all priors that differ in `rho` and `size` only.
    """
    inverse = prior.across.inverse / prior.sigma**2
    grid = prior.across.grid_n_m
    neighbor = float(prior.across.root[1, 0] * prior.across.root[0, 0])
    read = np.tile(inverse, (len(prior.rho), 1, 1))
    both = read.copy()
    for gap in np.flatnonzero(prior.offset_m.any(axis=1)):
        reading = _reading_matrix(grid, prior.offset_m[gap], neighbor)
        read[gap] = inverse @ reading
        both[gap] = reading.T @ read[gap]
    return Readings(inverse=inverse, read=read, both=both)


def _precision(prior: Prior, readings: Readings) -> Chain:
    """Return the precision of the field on the lines."""
    news = 1.0 - prior.rho**2
    factor = (prior.rho / news)[:, None, None]
    diagonal = np.multiply.outer(np.append(1.0, 1.0 / news), readings.inverse)
    diagonal[:-1] += prior.rho[:, None, None] * factor * readings.both
    return Chain(diagonal=diagonal, below=-factor * readings.read)


def _reading_matrix(
    grid_n_m: FloatArray, offset_m: FloatArray, neighbor: float
) -> FloatArray:
    """Return the matrix that reads a line at offset places."""
    low, part = reading_weights(grid_n_m, grid_n_m + offset_m)
    rows = np.arange(len(grid_n_m))
    matrix = np.zeros((len(grid_n_m), len(grid_n_m)))
    # Half-way between columns a mean of two would vary less than either: scaled up.
    alike = 2.0 * neighbor * part * (1.0 - part)
    scale = 1.0 / np.sqrt(part**2 + (1.0 - part) ** 2 + alike)
    matrix[rows, low] = (1.0 - part) * scale
    matrix[rows, low + 1] += part * scale
    return matrix


def fit_field(
    counts: FieldCounts,
    prior: Prior,
    *,
    start: FloatArray | None = None,
    rest: float = 1e-3,
    readings: Readings | None = None,
) -> LineField:
    """Return Laplace's approximation of the field on the lines.

    Parameters
    ----------
    counts : FieldCounts
        Counts of one horizon.
    prior : Prior
        Hyperparameters and steering.
    start : ndarray, shape (n_lines, n_grid), optional
        Field to start Newton's method from [ln mg/m2].
    rest : float, optional
        Newton's method ends after a step that moves no dig farther than this; what is
        left is about its square [-].
    readings : Readings, optional
        As `read_lines` gives them, where another length shares them.

    Returns
    -------
    LineField
        Peak, evidence and factored precision.

    Notes
    -----
    The mean m ~ N(ln 6, 1.5^2) is bordered onto the precision, so that draws carry
    its doubt; f = m + g.

    References
    ----------
    Rue and Held 2005, Gaussian Markov Random Fields, alg. 2.1-2.4 and section 4.4.
    """
    shape = len(prior.rho) + 1, len(prior.across.grid_n_m)
    chain = _precision(prior, read_lines(prior) if readings is None else readings)
    low, part = reading_weights(prior.across.grid_n_m, counts.n_m)
    place = (counts.line, low, part)
    mean = MEAN_LOG
    g = np.zeros(shape) if start is None else start - mean
    for _ in range(NEWTON_STEPS):
        f = mean + _read(g, place)
        slope, weight = slope_and_weight(
            counts.colors, counts.exposed, f, size=counts.sizes(prior.size)
        )
        factor = factor_chain(_with_data(chain, place, weight))
        # Newton for (g, m) jointly, m eliminated last.
        side = _spread(np.stack([slope, weight], axis=-1), place, shape)
        side[..., 0] -= chain.times(g)
        solved = solve_chain(factor, side)
        coupled = _read(solved[..., 1], place)
        stiff = MEAN_LOG_SD**-2.0 + float(weight.sum() - weight @ coupled)
        pull = float(slope.sum()) - (mean - MEAN_LOG) / MEAN_LOG_SD**2
        pull -= float(weight @ _read(solved[..., 0], place))
        d_mean = pull / stiff
        step = solved[..., 0] - d_mean * solved[..., 1]
        largest = float(np.abs(d_mean + _read(step, place)).max(initial=abs(d_mean)))
        # Far from the peak the quadratic overshoots: no step beyond 3 in the log.
        cut = min(1.0, 3.0 / max(largest, 1e-12))
        g, mean = g + cut * step, mean + cut * d_mean
        if largest < rest:
            break
    at_digs, size = mean + _read(g, place), counts.sizes(prior.size)
    evidence = float(
        log_chance(counts.colors, counts.exposed, at_digs, size=size).sum()
    )
    evidence -= 0.5 * float((g * chain.times(g)).sum())
    evidence -= 0.5 * ((mean - MEAN_LOG) / MEAN_LOG_SD) ** 2
    evidence += 0.5 * (_log_det_prior(prior, *shape) - factor.log_det)
    evidence -= 0.5 * float(np.log(stiff * MEAN_LOG_SD**2))
    return LineField(
        mean_log=mean,
        log_mg_m2=mean + g,
        evidence=evidence,
        precision=chain,
        factor=factor,
        toward_mean=-solved[..., 1],
        mean_sd=float(stiff**-0.5),
    )


def _log_det_prior(prior: Prior, n_lines: int, n_grid: int) -> float:
    """Return the log determinant of the prior precision."""
    each = prior.across.log_det + 2.0 * n_grid * np.log(prior.sigma)
    return -float(n_lines * each + n_grid * np.log(1.0 - prior.rho**2).sum())


def _read(
    field: FloatArray, place: tuple[IntArray, IntArray, FloatArray]
) -> FloatArray:
    line, low, part = place
    return np.asarray(field[line, low] * (1.0 - part) + field[line, low + 1] * part)


def _spread(
    values: FloatArray,
    place: tuple[IntArray, IntArray, FloatArray],
    shape: tuple[int, int],
) -> FloatArray:
    """Return the transpose of reading: values put back onto the grid."""
    line, low, part = place
    out = np.zeros((*shape, *values.shape[1:]))
    part = part.reshape(-1, *[1] * (values.ndim - 1))
    np.add.at(out, (line, low), values * (1.0 - part))
    np.add.at(out, (line, low + 1), values * part)
    return out


def _with_data(
    chain: Chain, place: tuple[IntArray, IntArray, FloatArray], weight: FloatArray
) -> Chain:
    """Return the precision with what the counts tell added."""
    line, low, part = place
    out = chain.diagonal.copy()
    np.add.at(out, (line, low, low), weight * (1.0 - part) ** 2)
    np.add.at(out, (line, low + 1, low + 1), weight * part**2)
    both = weight * part * (1.0 - part)
    np.add.at(out, (line, low, low + 1), both)
    np.add.at(out, (line, low + 1, low), both)
    return Chain(diagonal=out, below=chain.below)


def center_field(field: LineField, counts: FieldCounts, prior: Prior) -> LineField:
    """Return the field with its peak moved to the mean of the skewed posterior.

    Few colors make the posterior lean to the left of its peak, a small size r to the
    right; gold, an exponential of the field, would come out too high or too low.

    Parameters
    ----------
    field : LineField
        Laplace's approximation.
    counts : FieldCounts
        Counts that it was fitted to.
    prior : Prior
        Prior that it was fitted with.

    Returns
    -------
    LineField
        Mean and field moved; precision and evidence as they were.

    Notes
    -----
    The first term beyond Laplace's: half of the sum over digs of the covariance with
    a dig, the third derivative there, and its variance.

    References
    ----------
    Tierney and Kadane 1986, Journal of the American Statistical Association 81, 82-86
    (from memory).
    """
    low, part = reading_weights(prior.across.grid_n_m, counts.n_m)
    place = (counts.line, low, part)
    f = _read(field.log_mg_m2, place)
    toward = 1.0 + _read(field.toward_mean, place)
    variance = _variance_at(field, place) + (toward * field.mean_sd) ** 2
    third = skewness_of(counts.colors, counts.exposed, f, size=counts.sizes(prior.size))
    pull = 0.5 * third * variance
    side = _spread(pull, place, field.log_mg_m2.shape)[..., None]
    moved = solve_chain(field.factor, side)[..., 0]
    # The mean is eliminated last: what pulls on it directly and through the field.
    off = field.mean_sd**2 * float(pull @ toward)
    change = moved + off * (1.0 + field.toward_mean)
    change = np.clip(change, -MOST_MOVED, MOST_MOVED)
    return replace(
        field,
        mean_log=field.mean_log + float(np.clip(off, -MOST_MOVED, MOST_MOVED)),
        log_mg_m2=field.log_mg_m2 + change,
    )


def _variance_at(
    field: LineField, place: tuple[IntArray, IntArray, FloatArray]
) -> FloatArray:
    """Return the variance at the digs, the mean held fast."""
    line, low, part = place
    blocks = inverse_blocks(field.factor)
    return np.asarray(
        (1.0 - part) ** 2 * blocks[line, low, low]
        + part**2 * blocks[line, low + 1, low + 1]
        + 2.0 * part * (1.0 - part) * blocks[line, low, low + 1]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDraws:
    """Joint draws of the field on the lines.

    Attributes
    ----------
    mean_log : ndarray, shape (n_draws,)
        Mean log accumulation [ln mg/m2].
    log_mg_m2 : ndarray, shape (n_draws, n_lines, n_grid)
        The field [ln mg/m2].
    log_density : ndarray, shape (n_draws,)
        Log density of each draw, but for a constant [-].
    """

    mean_log: FloatArray
    log_mg_m2: FloatArray
    log_density: FloatArray


def draw_lines(field: LineField, n_draws: int, rng: np.random.Generator) -> LineDraws:
    """Return joint draws of the field on the lines.

    Parameters
    ----------
    field : LineField
        Fitted.
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    LineDraws
        From the normal distribution at the peak.
    """
    z = rng.standard_normal((*field.log_mg_m2.shape, n_draws))
    z_mean = rng.standard_normal(n_draws)
    off = field.mean_sd * z_mean
    moved = solve_up(field.factor, z)
    moved += (1.0 + field.toward_mean[..., None]) * off
    moved += field.log_mg_m2[..., None]
    return LineDraws(
        mean_log=field.mean_log + off,
        log_mg_m2=np.ascontiguousarray(moved.transpose(2, 0, 1)),
        log_density=-0.5 * ((z**2).sum(axis=(0, 1)) + z_mean**2),
    )


def read_field(
    field: FloatArray, counts: FieldCounts, grid_n_m: FloatArray
) -> FloatArray:
    """Return a field on the lines read off at the digs.

    Parameters
    ----------
    field : ndarray, shape (n_lines, n_grid, ...)
        Any quantity, further axes kept [-].
    counts : FieldCounts
        Whose places are read.
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].

    Returns
    -------
    ndarray, shape (n_told, ...)
        Values, between columns in proportion [-].
    """
    low, part = reading_weights(grid_n_m, counts.n_m)
    part = part.reshape(-1, *[1] * (field.ndim - 2))
    line = counts.line
    return np.asarray(field[line, low] * (1.0 - part) + field[line, low + 1] * part)
