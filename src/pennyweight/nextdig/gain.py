"""What a dig is expected to change in the decision, from the joint draws alone.

What would be counted there is simulated in every draw, and what mining each block
brings is regressed on that count over the draws: the fitted values are what would be
expected of the block once the count is known, and mine-or-leave follows them. Nothing
is fitted again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Size of the negative binomial of a count: patchiness inside a sample [-].
PATCHINESS = 3.0

#: Colors added before the logarithm of a count is taken [-].
HALF_A_COLOR = 0.5

#: Length of a look's new part, of 1, below which it tells nothing new [-].
NOTHING_NEW = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedGain:
    """What looking is worth.

    Attributes
    ----------
    value : float
        Expected rise of what the decisions bring, in the unit of the values.
    wrong : float
        Expected fall of the share of blocks decided wrongly [-].
    noise : float
        Standard error of `value` from the number of draws.
    """

    value: float
    wrong: float
    noise: float = 0.0

    @property
    def sure_value(self) -> float:
        """The value, or 0 where the noise of the draws could make it."""
        return self.value if self.value > self.noise else 0.0


def expected_colors(
    accumulation_mg_m2: FloatArray,
    thickness_m: FloatArray,
    *,
    bank_m3: float,
    color_mg: float,
    recovery: float,
) -> FloatArray:
    """Return the colors that a sample of the zone would show in every draw.

    Parameters
    ----------
    accumulation_mg_m2, thickness_m : ndarray, any one shape
        Gold of the zone [mg/m2] and its thickness [m].
    bank_m3 : float
        Bank volume to be washed, above 0 [m3].
    color_mg : float
        Mean mass of a color, above 0 [mg].
    recovery : float
        Share of the colors that is found, above 0 [-].

    Returns
    -------
    ndarray
        Expected count [-].

    Raises
    ------
    ValueError
        A volume, mass or share that is not above 0.

    Examples
    --------
    >>> float(expected_colors(np.array(60.0), np.array(0.3),
    ...     bank_m3=0.04, color_mg=0.5, recovery=0.9))
    14.4
    """
    for name, one in (
        ("bank_m3", bank_m3),
        ("color_mg", color_mg),
        ("recovery", recovery),
    ):
        if not one > 0.0:
            msg = f"{name} is {one}; it must be above 0 to expect colors."
            raise ValueError(msg)
    grade = accumulation_mg_m2 / np.maximum(thickness_m, 0.05)
    return np.asarray(grade * bank_m3 * recovery / color_mg)


def simulate_counts(expected: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return a count for every expectation, patchiness included.

    Parameters
    ----------
    expected : ndarray
        Expected colors [-].
    rng : numpy.random.Generator
        Of the draws.

    Returns
    -------
    ndarray
        Colors [-].

    Notes
    -----
    Negative binomial of size 3: Poisson counts of gamma rates.
    """
    rates = expected * rng.gamma(PATCHINESS, 1.0 / PATCHINESS, np.shape(expected))
    return rng.poisson(rates).astype(np.float64)


def look_at(counts: FloatArray) -> FloatArray:
    """Return what counts tell, as columns to regress on.

    Parameters
    ----------
    counts : ndarray, shape (n_horizons, n_draws)
        What would be counted in every draw [-].

    Returns
    -------
    ndarray, shape (n_draws, 2 n_horizons)
        Logarithm of the count and its square, each of mean 0 [-].
    """
    logs = np.log(counts + HALF_A_COLOR).T
    logs = logs - logs.mean(axis=0)
    squares = logs**2
    return np.hstack([logs, squares - squares.mean(axis=0)])


@dataclass(frozen=True, slots=True)
class Told:
    """What is expected of the blocks, draw by draw, once some digs are looked at.

    Attributes
    ----------
    basis : ndarray, shape (n_draws, n_columns)
        Orthonormal columns of all looks so far, each of mean 0 [-].
    value : ndarray, shape (n_draws, n_blocks)
        Expected value of mining a block, given those looks [-].
    """

    basis: FloatArray
    value: FloatArray


def tell_nothing(value: FloatArray) -> Told:
    """Return what is expected before anything is looked at.

    Parameters
    ----------
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-].

    Returns
    -------
    Told
        The mean of every block in every draw.
    """
    return Told(np.zeros((len(value), 0)), np.tile(value.mean(axis=0), (len(value), 1)))


def tell(
    known: Told,
    looks: FloatArray,
    value: FloatArray,
    *,
    near: BoolArray | None = None,
) -> Told:
    """Return what is expected once one more dig is looked at.

    Parameters
    ----------
    known : Told
        What was expected before.
    looks : ndarray, shape (n_draws, n_looks)
        As `look_at` gives them [-].
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-].
    near : ndarray of bool, shape (n_blocks,), optional
        Blocks that the dig can tell of; all if nothing is said [-].

    Returns
    -------
    Told
        With the basis one look longer, where it holds anything new.

    Notes
    -----
    Least squares on the part of the look that the former ones do not hold. Each
    block's coefficients are shrunk by the share of their square that chance alone
    would give (the positive part of 1 - p s^2 / |c|^2, James and Stein 1961), so that
    a look that tells nothing changes nothing.

    References
    ----------
    Strong, Oakley, Brennan and Breeze 2015, Medical Decision Making 35: 570-583 (value
    of sample information by regression); docs/sources.md, entry "worth of knowing".
    """
    new = _new_part(known.basis, looks)
    if new.shape[1] == 0:
        return known
    at = np.arange(value.shape[1]) if near is None else np.flatnonzero(near)
    left = value[:, at] - known.value[:, at]
    coefficient = new.T @ left
    explained = (coefficient**2).sum(axis=0)
    free = max(len(value) - 1 - known.basis.shape[1] - new.shape[1], 1)
    chance = new.shape[1] * np.maximum((left**2).sum(axis=0) - explained, 0.0) / free
    kept = np.clip(1.0 - chance / np.maximum(explained, 1e-300), 0.0, 1.0)
    after = known.value.copy()
    after[:, at] += new @ (kept * coefficient)
    return Told(np.hstack([known.basis, new]), after)


def _new_part(basis: FloatArray, looks: FloatArray) -> FloatArray:
    """Return orthonormal columns for what looks hold beyond a basis."""
    length = np.linalg.norm(looks, axis=0)
    scaled = looks[:, length > 0.0] / length[length > 0.0]
    left = scaled - basis @ (basis.T @ scaled)
    found, size, _ = np.linalg.svd(left, full_matrices=False)
    return np.asarray(found[:, size > NOTHING_NEW])


def gain_of(before: Told, after: Told, value: FloatArray) -> ExpectedGain:
    """Return what deciding with more looks brings over deciding without them.

    Parameters
    ----------
    before, after : Told
        What is expected of the blocks without and with them.
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-]: any one unit of money or gold.

    Returns
    -------
    ExpectedGain
        Its value is never below 0.

    References
    ----------
    Howard 1966, IEEE Transactions on Systems Science and Cybernetics 2: 22-26 (value
    of information); docs/sources.md, entry "worth of knowing".
    """
    moved = np.flatnonzero((before.value != after.value).any(axis=0))
    if not len(moved):
        return ExpectedGain(value=0.0, wrong=0.0)
    told, better = before.value[:, moved], after.value[:, moved]
    # What is expected of a block keeps its mean, so that only turned decisions count.
    each = np.maximum(np.where(told > 0.0, -better, better), 0.0).sum(axis=1)
    right = value[:, moved] > 0.0
    fewer = ((told > 0.0) != right).sum() - ((better > 0.0) != right).sum()
    return ExpectedGain(
        value=float(each.mean()),
        wrong=float(fewer) / value.size,
        noise=float(each.std() / np.sqrt(len(each))),
    )
