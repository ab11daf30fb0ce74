"""Gold that passes a place, on a scale of steps: none, or one of many levels.

Gold of a stream is its *productivity*: colors in a cubic meter times the area that
gives its sediment, so that diluting changes nothing (Hawkes 1976). Levels lie a fixed
ratio apart. Two streams add up to a sum between two levels; it is given to both in
shares that keep its mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy import stats

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Levels in a factor of ten [-], and the lowest and highest productivity that is told
#: apart from none and from more [colors km2/m3]; ours.
LEVELS_A_DECADE, LOWEST, HIGHEST = 3, 1e-2, 1e6
#: What one source gives before anything is washed: median [colors km2/m3] and standard
#: deviation of its decimal logarithm [-]; ours. docs/sources.md "strength of a source".
STRENGTH_MEDIAN, STRENGTH_DECADES = 100.0, 1.0


@dataclass(frozen=True)
class FluxScale:
    """The levels that the gold of a stream may have.

    Attributes
    ----------
    lowest : float
        Productivity of level 1 [colors km2/m3]; level 0 is none.
    ratio : float
        Of a level to the one below, 2 or more [-]: so a sum of two levels never lies
        above the level next to the higher one.
    n_levels : int
        Levels above none [-].
    """

    lowest: float = LOWEST
    ratio: float = 10.0 ** (1.0 / LEVELS_A_DECADE)
    n_levels: int = round(LEVELS_A_DECADE * np.log10(HIGHEST / LOWEST)) + 1

    def __post_init__(self) -> None:
        if self.ratio < 2.0:
            msg = f"levels lie a factor {self.ratio} apart; it must be 2 or more."
            raise ValueError(msg)

    @cached_property
    def value(self) -> FloatArray:
        """Productivity of every level, none included [colors km2/m3]."""
        above = self.lowest * self.ratio ** np.arange(self.n_levels)
        return np.concatenate([[0.0], above])

    def sum_shares(self, first: int, second: int) -> dict[int, float]:
        """Return which levels the sum of two levels is given to, with their shares.

        Parameters
        ----------
        first, second : int
            Levels, 0 for none [-].

        Returns
        -------
        dict
            Level to share; the mean is the sum itself, but above the highest level.
        """
        low = max(first, second)
        if min(first, second) == 0:
            return {low: 1.0}
        share = self.ratio ** -abs(first - second) / (self.ratio - 1.0)
        high = min(low + 1, self.n_levels)
        if high == low:
            return {low: 1.0}
        return {low: 1.0 - share, high: share}

    def steps_lost(self, loss: npt.ArrayLike) -> IndexArray:
        """Return a loss as whole levels.

        Parameters
        ----------
        loss : array_like
            Natural logarithm of the share that is lost, 0 or more [-].

        Returns
        -------
        ndarray of int
            Levels, rounded to the nearest.
        """
        steps = np.asarray(loss, dtype=np.float64) / np.log(self.ratio)
        return np.asarray(np.floor(steps + 0.5), dtype=np.int64)

    def strength(
        self, median: float = STRENGTH_MEDIAN, decades: float = STRENGTH_DECADES
    ) -> FloatArray:
        """Return how likely one source is to give each level.

        Parameters
        ----------
        median : float
            Of its productivity [colors km2/m3].
        decades : float
            Standard deviation of the decimal logarithm [-].

        Returns
        -------
        ndarray, shape (n_levels + 1,)
            Shares that sum to 1 [-]; none has 0.
        """
        edges = np.log10(self.value[1:]) + 0.5 * np.log10(self.ratio)
        below = stats.norm.cdf((edges - np.log10(median)) / decades)
        below[-1] = 1.0
        return np.concatenate([[0.0, below[0]], np.diff(below)])
