"""How heavy a color is here: dig, reach and whole ground, shrunk toward each other.

Counts say where the gold is; the mean mass of a color says how much. A few colors
say little about their mean mass, so a dig leans on its reach and the reach on the
whole ground, by pseudo-counts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.horizons import HorizonCounts
from pennyweight.streaks.sites import Sites

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Colors that a neighborhood's mean mass counts for [-]. Our choice.
PSEUDO_COLORS = 60.0
#: Distance along the valley over which mean mass is alike [m]. Our choice.
REACH_M = 25.0
#: Ratio of count rates above which a dig is pay and not background [-]. Our choice.
PAY_RATIO = 3.0
#: Noise of the mean mass never falls below this [-]. Our choice.
LEAST_NOISE = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class ColorMass:
    """Mean mass of a color at each dig of a horizon, and how sure it is.

    Attributes
    ----------
    color_mg : ndarray, shape (n_told,)
        Shrunk mean mass, in place [mg].
    rel_sd : ndarray, shape (n_told,)
        Relative standard deviation of it [-].
    """

    color_mg: FloatArray
    rel_sd: FloatArray


def fit_color_mass(counts: HorizonCounts, sites: Sites) -> ColorMass:
    """Return the local mean mass of a color, pay ground and background apart.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.
    sites : Sites
        Where the digs lie.

    Returns
    -------
    ColorMass
        One value a dig of the horizon.

    Notes
    -----
    m = (N m_dig + 60 m_reach) / (N + 60), m_reach likewise toward the mean of the
    ground; the reach weighs neighbors by exp(-|ds| / 25 m). The noise is the sample's
    own, as the grade carries it: few colors and the differences from place to place
    are in it already, and are not counted again.
    """
    pay = is_pay(counts)
    mass = np.zeros(len(counts.colors))
    for group in (pay, ~pay):
        if not group.any():
            continue
        colors = counts.colors[group]
        own = counts.color_mg[group]
        ground = float(np.average(own, weights=colors + 1e-6))
        s_m = sites.s_m[counts.site[group]]
        near = np.exp(-np.abs(s_m[:, None] - s_m[None, :]) / REACH_M)
        reach_n = near @ colors
        reach = (near @ (colors * own) + PSEUDO_COLORS * ground) / (
            reach_n + PSEUDO_COLORS
        )
        mass[group] = (colors * own + PSEUDO_COLORS * reach) / (colors + PSEUDO_COLORS)
    noise = np.maximum(counts.color_rel_sd, LEAST_NOISE)
    return ColorMass(color_mg=mass, rel_sd=noise)


def is_pay(counts: HorizonCounts) -> npt.NDArray[np.bool_]:
    """Tell which digs stand out of the background of their horizon.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.

    Returns
    -------
    ndarray of bool, shape (n_told,)
        Count rate more than three times the median's.
    """
    rate = (counts.colors + 0.5) / counts.volume_m3
    return np.asarray(rate > PAY_RATIO * np.median(rate))


def line_noise(
    counts: HorizonCounts, mass: ColorMass, *, line: IntArray, n_lines: int
) -> FloatArray:
    """Return how unsure the mean mass of a color is at each line.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.
    mass : ColorMass
        Of the same digs.
    line : ndarray of int, shape (n_told,)
        Which line each of them lies on [-].
    n_lines : int
        Number of lines [-].

    Returns
    -------
    ndarray, shape (n_lines,)
        Relative standard deviation of the mean over a line's gold [-]; where nothing
        was counted, that of the usual dig.

    Notes
    -----
    The noise of one dig is not that of another, so a line's is
    sqrt(sum (g sd)^2) / sum g over the gold g of its digs.
    """
    gold = counts.colors * mass.color_mg
    total = np.bincount(line, gold, n_lines)
    square = np.bincount(line, (gold * mass.rel_sd) ** 2, n_lines)
    noise = np.sqrt(square) / np.maximum(total, 1e-300)
    return np.where(total > 0.0, noise, np.median(mass.rel_sd))


def exposure(counts: HorizonCounts, mass: ColorMass) -> FloatArray:
    """Return the colors that a dig would see for every mg/m2 in place.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.
    mass : ColorMass
        Of the same digs.

    Returns
    -------
    ndarray, shape (n_told,)
        V recovery / (t m), so that mean count = exposure x accumulation [m2/mg].
    """
    return np.asarray(
        counts.volume_m3 * counts.recovery / (counts.thickness_m * mass.color_mg)
    )
