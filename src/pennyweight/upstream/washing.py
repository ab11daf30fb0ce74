"""What was washed on the streams, and how likely it is at every level of gold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Colors that stray into a barren sample: a dirty pan, a neighbor's tailings [-];
#: ours. docs/sources.md "stray colors".
STRAY_COLORS = 0.02
#: How likely a find without a volume is where the stream carries no gold [-]; ours.
STRAY_FIND = 0.02
#: Least catchment that dilutes [km2].
LEAST_SUPPLY_KM2 = 1e-4


@dataclass(frozen=True)
class Washings:
    """Places on the streams where gravel was washed, as arrays.

    Attributes
    ----------
    piece : ndarray of int, shape (n_places,)
        Piece at whose foot each lies.
    colors : ndarray
        Colors counted there, all its samples together [-].
    exposure_m3 : ndarray
        Bank volume times the share of colors that washing finds [m3].
    volume_rel_sd : ndarray
        Relative standard deviation of that volume [-].
    find : ndarray of int, shape (n_finds,)
        Pieces with gold in a sample without a fair volume: it is there, no more.
    """

    piece: IndexArray
    colors: FloatArray
    exposure_m3: FloatArray
    volume_rel_sd: FloatArray
    find: IndexArray

    @property
    def n_places(self) -> int:
        """Places with a volume [-]."""
        return len(self.piece)

    @property
    def mean_colors_m3(self) -> float:
        """Colors in a cubic meter, all places together [1/m3]; 0 without any."""
        exposure = float(self.exposure_m3.sum())
        return float(self.colors.sum()) / exposure if exposure > 0.0 else 0.0


def make_washings(
    piece: npt.ArrayLike,
    colors: npt.ArrayLike,
    exposure_m3: npt.ArrayLike,
    *,
    volume_rel_sd: npt.ArrayLike | None = None,
    find: npt.ArrayLike = (),
) -> Washings:
    """Return washings from plain numbers, checked.

    Parameters
    ----------
    piece : array_like of int, shape (n_places,)
        Piece at whose foot each place lies [-].
    colors : array_like, shape (n_places,)
        Counted [-].
    exposure_m3 : array_like, shape (n_places,)
        Bank volume times recovery [m3].
    volume_rel_sd : array_like, optional
        Relative standard deviation of the volume [-]; 0 by default.
    find : array_like of int
        Pieces with a find without a volume [-].

    Returns
    -------
    Washings
        As arrays.

    Raises
    ------
    ValueError
        A count is negative, or an exposure is not above 0.
    """
    count = np.asarray(colors, dtype=np.float64)
    exposure = np.asarray(exposure_m3, dtype=np.float64)
    if (count < 0.0).any():
        msg = f"{count.min()} colors were counted; a count is 0 or more."
        raise ValueError(msg)
    if not (exposure > 0.0).all():
        msg = f"an exposure is {np.nanmin(exposure)} m3; it must lie above 0 m3."
        raise ValueError(msg)
    spread = np.zeros(len(count)) if volume_rel_sd is None else volume_rel_sd
    return Washings(
        piece=np.asarray(piece, dtype=np.int64).reshape(-1),
        colors=count,
        exposure_m3=exposure,
        volume_rel_sd=np.asarray(spread, dtype=np.float64),
        find=np.asarray(find, dtype=np.int64).reshape(-1),
    )


def count_log_likelihood(
    colors: npt.ArrayLike, expected: npt.ArrayLike, evenness: npt.ArrayLike
) -> FloatArray:
    """Return the log probability of counts that scatter more than Poisson ones.

    Parameters
    ----------
    colors : array_like
        Counted [-].
    expected : array_like
        Mean, above 0 [-].
    evenness : array_like
        Shape of the gamma law of places about the mean [-]; large is Poisson.

    Returns
    -------
    ndarray
        Natural logarithm [-].

    Notes
    -----
    Negative binomial of mean m and shape k: variance m + m^2 / k, and
    P(0) = (1 + m / k)^-k; with m 3 and k 0.5 it is 0.378.

    Examples
    --------
    >>> round(float(np.exp(count_log_likelihood(0.0, 3.0, 0.5))), 6)
    0.377964
    """
    n = np.asarray(colors, dtype=np.float64)
    m = np.asarray(expected, dtype=np.float64)
    k = np.asarray(evenness, dtype=np.float64)
    ways = gammaln(n + k) - gammaln(k) - gammaln(n + 1.0)
    return np.asarray(ways + n * np.log(m / (m + k)) - k * np.log1p(m / k), np.float64)


def washing_log_likelihood(
    washed: Washings,
    supply_km2: FloatArray,
    levels: FloatArray,
    *,
    everywhere_m3: float,
    evenness: float,
) -> FloatArray:
    """Return the log likelihood of every place at every level of gold.

    Parameters
    ----------
    washed : Washings
        What was washed.
    supply_km2 : ndarray, shape (n_places,)
        Sediment that passes each place [km2].
    levels : ndarray, shape (n_levels + 1,)
        Productivity [colors km2/m3].
    everywhere_m3 : float
        Colors that every gravel of the ground holds [1/m3].
    evenness : float
        Shape of the gamma law of places about their stream's mean [-].

    Returns
    -------
    ndarray, shape (n_places, n_levels + 1)
        Natural logarithms [-].
    """
    supply = np.maximum(supply_km2, LEAST_SUPPLY_KM2)
    colors_m3 = levels[None, :] / supply[:, None] + everywhere_m3
    expected = colors_m3 * washed.exposure_m3[:, None] + STRAY_COLORS
    shape = 1.0 / (1.0 / evenness + washed.volume_rel_sd**2)
    return count_log_likelihood(washed.colors[:, None], expected, shape[:, None])


def find_log_likelihood(levels: FloatArray, everywhere_m3: float) -> FloatArray:
    """Return the log likelihood of a find without a volume at every level.

    Parameters
    ----------
    levels : ndarray, shape (n_levels + 1,)
        Productivity [colors km2/m3].
    everywhere_m3 : float
        Colors that every gravel holds [1/m3].

    Returns
    -------
    ndarray, shape (n_levels + 1,)
        0 where gold is there, log of the chance of a stray find where it is not [-].
    """
    there = (levels > 0.0) | (everywhere_m3 > 0.0)
    return np.where(there, 0.0, np.log(STRAY_FIND))
