"""Ordinary kriging, the usual way to contour grades: kept for comparison.

Studies set it beside the traced streaks. It knows no counts: a pan with one color is
as sure as one with a hundred, and a streak is a smear along the valley.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def krige(
    places_m: npt.ArrayLike,
    values: npt.ArrayLike,
    targets_m: npt.ArrayLike,
    *,
    covariance: Callable[[FloatArray], FloatArray],
    nugget: float = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Return ordinary kriging estimates and their variances.

    Parameters
    ----------
    places_m : array_like, shape (n_samples, 2)
        Where the samples lie [m].
    values : array_like, shape (n_samples,)
        Their values, any unit [-].
    targets_m : array_like, shape (n_targets, 2)
        Where to estimate [m].
    covariance : callable
        Of differences of place, shape (..., 2) [m], without the nugget.
    nugget : float, optional
        Variance that no two samples share, 0 or more [-].

    Returns
    -------
    tuple of ndarray, each shape (n_targets,)
        Estimate in the unit of the values, and its variance.

    Notes
    -----
    Weights and Lagrange multiplier from the bordered system, all targets at once; the
    nugget counts in the variance of a target, as for a point sample.

    References
    ----------
    Isaaks and Srivastava 1989, An Introduction to Applied Geostatistics, ch. 12.
    """
    at = np.asarray(places_m, dtype=np.float64)
    to = np.asarray(targets_m, dtype=np.float64)
    known = np.asarray(values, dtype=np.float64)
    n = len(at)
    system = np.ones((n + 1, n + 1))
    system[:n, :n] = covariance(at[:, None] - at[None, :]) + nugget * np.eye(n)
    system[n, n] = 0.0
    right = np.ones((n + 1, len(to)))
    right[:n] = covariance(at[:, None] - to[None, :])
    solved = np.linalg.solve(system, right)
    estimate = solved[:n].T @ known
    sill = covariance(np.zeros((1, 2)))[0] + nugget
    return estimate, sill - np.einsum("at,at->t", solved, right)
