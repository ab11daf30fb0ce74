"""How the gold is spread over sizes, drawn, and what a plant keeps of it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from pennyweight.records import Tally
from pennyweight.worth.plants import DEFAULT_SIZE_SHARES, SizeShares, size_masses

FloatArray = npt.NDArray[np.float64]

#: How many samples the supplied shares count for, where no color was sized [-]; our
#: assumption.
FEW_SAMPLES = 6.0


def draw_size_shares(
    tallies: Iterable[Tally], n_draws: int, rng: np.random.Generator
) -> FloatArray:
    """Return draws of how the mass of the gold is spread over the plant's sizes.

    Parameters
    ----------
    tallies : iterable of Tally
        Colors by size class.
    n_draws : int
        How many [-].
    rng : numpy.random.Generator
        Of the draws.

    Returns
    -------
    ndarray, shape (n_draws, 4)
        Shares below, between and above `SIZE_LIMITS_MM`; rows add up to 1 [-].

    Notes
    -----
    Samples are weighed anew in every draw by a flat Dirichlet distribution (the
    Bayesian bootstrap); where no color was sized, the supplied shares are drawn as if
    from six samples.

    References
    ----------
    Rubin 1981, Annals of Statistics 9: 130-134, from memory.
    """
    by_sample: dict[str, list[Tally]] = {}
    for tally in tallies:
        by_sample.setdefault(tally.sample, []).append(tally)
    masses = np.array([size_masses(one) for one in by_sample.values()]).reshape(-1, 4)
    masses = masses[masses.sum(axis=1) > 0.0]
    if len(masses) < 2:
        known = masses[0] / masses[0].sum() if len(masses) else DEFAULT_SIZE_SHARES
        prior = np.maximum(np.asarray(known) * FEW_SAMPLES, 1e-3)
        return np.asarray(rng.dirichlet(prior, n_draws))
    weights = rng.dirichlet(np.ones(len(masses)), n_draws)
    drawn = weights @ masses
    return np.asarray(drawn / drawn.sum(axis=1, keepdims=True))


def kept_shares(shares: FloatArray, keeps: SizeShares) -> FloatArray:
    """Return what a plant keeps of all gold in every draw.

    Parameters
    ----------
    shares : ndarray, shape (n_draws, 4)
        Of the gold, by size [-].
    keeps : tuple of float
        Share kept of each size [-].

    Returns
    -------
    ndarray, shape (n_draws,)
        Recovery [-].

    Examples
    --------
    >>> float(kept_shares(np.array([[0.5, 0.0, 0.0, 0.5]]), (0.4, 0.6, 0.9, 1.0))[0])
    0.7
    """
    return np.asarray(shares @ np.asarray(keeps, dtype=np.float64))
