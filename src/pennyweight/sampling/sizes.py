"""How the sizes of a ground's colors are spread, from its sized tallies.

Within a sieve class the fine end is the fuller one where gold is mostly fine. The
ground's own counts tell how much, and so what an average color of the class weighs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from pennyweight.sampling.classes import SizeClass, parse_class

FloatArray = npt.NDArray[np.float64]

#: Colors in sieve classes below which no spread of sizes is fitted [-]; ours.
LEAST_COLORS = 10.0
#: What is supposed of median and spread beforehand [mm], [log, -]; ours.
MEDIAN_MM, MEDIAN_LOG_SD = 0.35, 1.0
SPREAD_LOG, SPREAD_LOG_SD = 0.6, 0.5
#: Grids: points each way, and half-width of the finer one in steps of the coarser.
_POINTS, _FINER = 41, 1.5


@dataclass(frozen=True, slots=True)
class Sizes:
    """Diameters of colors: lognormal.

    Attributes
    ----------
    median_mm : float
        Half of the colors are finer [mm].
    log_sd : float
        Standard deviation of the log of the diameter [-].
    """

    median_mm: float
    log_sd: float

    def mean_of_power(self, size_class: SizeClass, power: float) -> float:
        """Return the mean of a power of the diameter within a sieve class.

        Parameters
        ----------
        size_class : SizeClass
            A sieve class; an open end is open here.
        power : float
            Of the diameter [-].

        Returns
        -------
        float
            Mean [mm^power].

        Notes
        -----
        Of a lognormal variable cut off at both ends: exp(p m + p^2 s^2 / 2) times
        the share of the shifted law between the ends over that of the law itself.
        """
        low, high = _log_bounds(size_class)
        middle, sd = math.log(self.median_mm), self.log_sd
        share = float(_between(low, high, middle, sd))
        shifted = float(_between(low, high, middle + power * sd**2, sd))
        scale = math.exp(power * middle + power**2 * sd**2 / 2.0)
        return scale * shifted / max(share, 1e-300)


def fit_sizes(counted: Mapping[str, float]) -> Sizes | None:
    """Return the spread of sizes that fits the counts of the sieve classes best.

    Parameters
    ----------
    counted : mapping
        Class to colors [-]; weight classes and unsized colors are left out.

    Returns
    -------
    Sizes or None
        None where fewer than `LEAST_COLORS` colors or two classes were sieved.

    Notes
    -----
    Highest posterior density of median and spread, on a grid and a finer one about
    its best point: each color falls into its class with the lognormal law's share
    of it, over the share of all classes.
    """
    classes = [parse_class(name) for name in counted]
    sieves = [one for one in classes if one.kind == "sieve"]
    numbers = np.array([counted[one.name] for one in sieves], dtype=np.float64)
    if len(sieves) < 2 or numbers.sum() < LEAST_COLORS:
        return None
    bounds = np.array([_log_bounds(one) for one in sieves])
    middle, spread = math.log(MEDIAN_MM), math.log(SPREAD_LOG)
    reach_middle, reach_spread = 2.5, 1.2
    for _ in range(2):
        middles = np.linspace(middle - reach_middle, middle + reach_middle, _POINTS)
        spreads = np.linspace(spread - reach_spread, spread + reach_spread, _POINTS)
        score = _score(middles[:, None], spreads[None, :], bounds, numbers)
        best = np.unravel_index(int(np.argmax(score)), score.shape)
        middle, spread = float(middles[best[0]]), float(spreads[best[1]])
        reach_middle *= 2.0 * _FINER / (_POINTS - 1)
        reach_spread *= 2.0 * _FINER / (_POINTS - 1)
    return Sizes(math.exp(middle), math.exp(spread))


def share_supposed(size_class: SizeClass) -> float:
    """Return the share of a ground's colors in a class before any was sized.

    Parameters
    ----------
    size_class : SizeClass
        A sieve class [mm].

    Returns
    -------
    float
        Of all colors, by number [-].

    Examples
    --------
    >>> round(share_supposed(parse_class(">2")), 2)
    0.07
    """
    low, high = _log_bounds(size_class)
    # The median itself is uncertain, which widens the law of a single color.
    sd = math.hypot(SPREAD_LOG, MEDIAN_LOG_SD)
    return float(_between(low, high, math.log(MEDIAN_MM), sd))


def _score(
    middles: FloatArray,
    log_spreads: FloatArray,
    bounds: FloatArray,
    numbers: FloatArray,
) -> FloatArray:
    """Return the log posterior density of each median and spread."""
    sd = np.exp(log_spreads)
    shares = np.stack([_between(low, high, middles, sd) for low, high in bounds])
    shares = np.maximum(shares, 1e-300)
    score = np.tensordot(numbers, np.log(shares / shares.sum(axis=0)), axes=1)
    score = score - ((middles - math.log(MEDIAN_MM)) / MEDIAN_LOG_SD) ** 2 / 2.0
    away = (log_spreads - math.log(SPREAD_LOG)) / SPREAD_LOG_SD
    return np.asarray(score - away**2 / 2.0, np.float64)


def _log_bounds(size_class: SizeClass) -> tuple[float, float]:
    """Return the logs of a sieve class's ends; an open end is infinite."""
    low = -math.inf if size_class.name.startswith("<") else math.log(size_class.low)
    high = math.inf if size_class.name.startswith(">") else math.log(size_class.high)
    return low, high


def _between(
    low: float, high: float, middle: float | FloatArray, sd: float | FloatArray
) -> FloatArray:
    """Return the share of a normal law between two ends."""
    found = ndtr((high - middle) / sd) - ndtr((low - middle) / sd)
    return np.asarray(found, np.float64)
