"""How deep a contact lies everywhere: a smooth surface through the digs that met it.

A Gaussian process over (s, n). A dig that stopped short bounds it: the contact lies
deeper there than the dig went.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from pennyweight.streaks.between import ValleyGrid
from pennyweight.streaks.profiles import matern32

FloatArray = npt.NDArray[np.float64]

#: Unevenness of a contact within one dig [m]. Our choice.
ROUGH_M = 0.08
#: Length scales along and across that the evidence chooses from [m].
ALONG_M, ACROSS_M = (20.0, 60.0), (4.0, 12.0)
#: Least and, for a single dig, assumed standard deviation of a contact's depth [m].
LEAST_SD_M, ASSUMED_SD_M = 0.10, 0.30
#: Noise of the marks of a false bedrock's extent [-], and the lengths over which it is
#: there or not, along and across [m]. Our choice.
EXTENT_NOISE, EXTENT_LENGTHS_M = 0.3, (40.0, 6.0)
#: Rounds of Gibbs' sampler for the digs that stopped short.
ROUNDS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthTold:
    """What the digs say about one contact's depth.

    Attributes
    ----------
    s_m, n_m : ndarray, shape (n_digs,)
        Places [m].
    depth_m : ndarray, shape (n_digs,)
        Depth of the contact, or the depth reached where it was not met [m].
    met : ndarray of bool, shape (n_digs,)
        Whether the dig met it.
    """

    s_m: FloatArray
    n_m: FloatArray
    depth_m: FloatArray
    met: npt.NDArray[np.bool_]


def draw_surface(
    told: DepthTold, grid: ValleyGrid, n_draws: int, *, rng: np.random.Generator
) -> npt.NDArray[np.float32]:
    """Return draws of the depth of a contact in every cell.

    Parameters
    ----------
    told : DepthTold
        At least one dig that met it.
    grid : ValleyGrid
        Cells.
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of float32, shape (n_draws, n_rows, n_grid)
        Depth below the surface, 0 or more [m].

    Notes
    -----
    Separable Matern-3/2; the digs that stopped short are drawn by Gibbs' sampler from
    normals cut off at the depth reached (Geman and Geman 1984), then all cells by
    Matheron's rule.

    Raises
    ------
    ValueError
        No dig met the contact.
    """
    if not told.met.any():
        msg = f"0 of {len(told.met)} digs met the contact; its depth cannot be told."
        raise ValueError(msg)
    mean = float(told.depth_m[told.met].mean())
    spread = float(told.depth_m[told.met].std()) if told.met.sum() > 2 else 0.0
    sd = max(spread, LEAST_SD_M if told.met.sum() > 2 else ASSUMED_SD_M)
    shape = _Shape(mean, sd, ROUGH_M, *_choose_length(told, mean, sd))
    depths = _fill_in(told, mean, _covariance(told, shape), (n_draws, rng))
    drawn = _condition(told, depths, (grid, shape), rng)
    return np.maximum(drawn, np.float32(0.0))


def predict_depth(
    told: DepthTold, n_draws: int = 80, *, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return the depth to be expected of a contact at the digs that stopped short.

    Parameters
    ----------
    told : DepthTold
        At least one dig that met it.
    n_draws : int, optional
        Draws that mean and standard deviation are taken over [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    tuple of ndarray
        Mean and standard deviation at each dig that did not meet it, knowing that it
        lies deeper at all of them together than they went [m].
    """
    met = told.met
    mean = float(told.depth_m[met].mean())
    # Digs meet a contact where it is shallow: the others lie deeper, and farther apart.
    missed = 1.0 + float((~met).mean())
    sd = missed * max(float(told.depth_m[met].std()), LEAST_SD_M)
    shape = _Shape(mean, sd, ROUGH_M, *_choose_length(told, mean, sd))
    depths = _fill_in(told, mean, _covariance(told, shape), (n_draws, rng))
    return depths[:, ~met].mean(axis=0), np.maximum(
        depths[:, ~met].std(axis=0), ROUGH_M / 2.0
    )


def draw_extent(
    told: DepthTold, grid: ValleyGrid, n_draws: int, *, rng: np.random.Generator
) -> npt.NDArray[np.bool_]:
    """Return draws of where a false bedrock is there at all.

    Parameters
    ----------
    told : DepthTold
        Digs that met it, and digs that went past its depth without meeting it; the
        depths are not used.
    grid : ValleyGrid
        Cells.
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of bool, shape (n_draws, n_rows, n_grid)
        A Gaussian process through +1 where it was met and -1 where not, cut at 0.
    """
    shape = _Shape(0.0, 1.0, EXTENT_NOISE, *EXTENT_LENGTHS_M)
    marks = np.tile(np.where(told.met, 1.0, -1.0), (n_draws, 1))
    return np.asarray(_condition(told, marks, (grid, shape), rng) > 0.0)


@dataclass(frozen=True, slots=True)
class _Shape:
    """Mean, standard deviation, noise and length scales of a Gaussian process."""

    mean: float
    sd: float
    noise: float
    along_m: float
    across_m: float


def _covariance(told: DepthTold, shape: _Shape) -> FloatArray:
    """Return the covariance of the digs, unknown level and noise included."""
    kernel = matern32(told.s_m[:, None] - told.s_m[None, :], shape.along_m)
    kernel *= matern32(told.n_m[:, None] - told.n_m[None, :], shape.across_m)
    return shape.sd**2 * (kernel + 1.0) + shape.noise**2 * np.eye(len(kernel))


def _condition(
    told: DepthTold,
    values: FloatArray,
    ground: tuple[ValleyGrid, _Shape],
    rng: np.random.Generator,
) -> npt.NDArray[np.float32]:
    """Return draws in every cell given the values at the digs in each draw."""
    grid, shape = ground
    n_draws = len(values)
    lengths = (shape.along_m, shape.across_m)
    free, at_digs = _free_surface(told, grid, lengths, (n_draws, rng))
    level = rng.standard_normal((n_draws, 1))
    noise = shape.noise * rng.standard_normal(values.shape)
    gap = values - shape.mean - shape.sd * (at_digs + level) - noise
    dual = np.linalg.solve(_covariance(told, shape), gap.T) * shape.sd**2
    along, across = (
        matern32(here[:, None] - there[None, :], length_m).astype(np.float32)
        for here, there, length_m in (
            (grid.s_m, told.s_m, shape.along_m),
            (grid.n_m, told.n_m, shape.across_m),
        )
    )
    out = free * np.float32(shape.sd)
    own = dual.sum(axis=0) + shape.mean + shape.sd * level[:, 0]
    out += own.astype(np.float32)[:, None, None]
    for at, pull in enumerate(dual.T.astype(np.float32)):
        # Separable: (rows x digs) weighted by a draw, times (digs x columns).
        out[at] += (along * pull) @ across.T
    return np.asarray(out)


def _choose_length(told: DepthTold, mean: float, sd: float) -> tuple[float, float]:
    """Return the length scales with the greatest evidence of the digs that met it."""
    s_m, n_m = told.s_m[told.met], told.n_m[told.met]
    gap = told.depth_m[told.met] - mean
    best, chosen = -np.inf, (ALONG_M[-1], ACROSS_M[-1])
    for along in ALONG_M:
        for across in ACROSS_M:
            kernel = sd**2 * (
                matern32(s_m[:, None] - s_m[None, :], along)
                * matern32(n_m[:, None] - n_m[None, :], across)
            )
            kernel += ROUGH_M**2 * np.eye(len(gap))
            root = np.linalg.cholesky(kernel)
            z = np.linalg.solve(root, gap)
            evidence = -0.5 * float(z @ z) - float(np.log(np.diag(root)).sum())
            if evidence > best:
                best, chosen = evidence, (along, across)
    return chosen


def _fill_in(
    told: DepthTold,
    mean: float,
    noisy: FloatArray,
    draws: tuple[int, np.random.Generator],
) -> FloatArray:
    """Return depths at all digs, those that stopped short drawn below their bottom."""
    n_draws, rng = draws
    depths = np.tile(told.depth_m, (n_draws, 1))
    short = np.flatnonzero(~told.met)
    if not len(short):
        return depths
    precision = np.linalg.inv(noisy)
    depths[:, short] += 0.2
    for _ in range(ROUNDS):
        for at in short:
            sd = precision[at, at] ** -0.5
            pull = (depths - mean) @ precision[at] / precision[at, at]
            middle = depths[:, at] - pull
            low = ndtr((told.depth_m[at] - middle) / sd)
            mark = low + (1.0 - low) * rng.random(n_draws)
            # Where the bound lies far above the middle the quantile would overflow.
            drawn = middle + sd * ndtri(np.minimum(mark, 1.0 - 1e-9))
            depths[:, at] = np.maximum(drawn, told.depth_m[at])
    return depths


def _free_surface(
    told: DepthTold,
    grid: ValleyGrid,
    length: tuple[float, float],
    draws: tuple[int, np.random.Generator],
) -> tuple[npt.NDArray[np.float32], FloatArray]:
    """Return unconditioned draws with sd 1, in the cells and at the digs."""
    n_draws, rng = draws
    root_s = _root(grid.s_m, length[0]).astype(np.float32)
    root_n = _root(grid.n_m, length[1]).astype(np.float32)
    size = (n_draws, len(grid.s_m), len(grid.n_m))
    z = rng.standard_normal(size, dtype=np.float32)
    free = root_s @ (z @ root_n.T)
    at_s = np.clip((told.s_m - grid.s_m[0]) / grid.ds_m, 0.0, len(grid.s_m) - 1.001)
    at_n = np.clip((told.n_m - grid.n_m[0]) / grid.dn_m, 0.0, len(grid.n_m) - 1.001)
    row, column = at_s.astype(np.int64), at_n.astype(np.int64)
    part_s, part_n = at_s - row, at_n - column
    upper = free[:, row, column] * (1 - part_n) + free[:, row, column + 1] * part_n
    lower = free[:, row + 1, column] * (1 - part_n)
    lower += free[:, row + 1, column + 1] * part_n
    return free, upper * (1 - part_s) + lower * part_s


def _root(place_m: FloatArray, length_m: float) -> FloatArray:
    shape = matern32(place_m[:, None] - place_m[None, :], length_m)
    return np.asarray(np.linalg.cholesky(shape + 1e-8 * np.eye(len(place_m))))
