"""Panning, simulated: what a person would find in a sample of the hidden truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: Size classes of the invented tallies [mm].
CLASSES = ("<0.25", "0.25-0.5", "0.5-1", "1-2", ">2")
LIMITS_MM = (0.25, 0.5, 1.0, 2.0)

#: Share of the colors of each class that this invented panner finds.
FOUND_SHARE = (0.72, 0.9, 0.97, 0.995, 1.0)

#: Spread of the logarithm of a color's size, and of its thickness.
SIZE_SPREAD, SHAPE_SPREAD = 0.45, 0.35

#: Mass of a flake 1 mm wide and a tenth as thick, density 17 [mg].
FLAKE_MG = 1.335

#: Unevenness inside a sample: the fewer, the patchier (negative binomial size).
EVENNESS = 9.0


@dataclass(frozen=True, slots=True)
class Panned:
    """What was found.

    Attributes
    ----------
    colors : tuple of int
        By class.
    mg : tuple of float
        Mass by class [mg].
    """

    colors: tuple[int, ...]
    mg: tuple[float, ...]

    @property
    def whole_mg(self) -> float:
        """All of it [mg]."""
        return sum(self.mg)


def pan_sample(
    rng: np.random.Generator,
    *,
    grade_mg_m3: float,
    bank_m3: float,
    color_mm: float,
) -> Panned:
    """Return the colors found in a sample of that true grade.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of the draws.
    grade_mg_m3 : float
        True raw gold in place [mg/m3 bank].
    bank_m3 : float
        What is washed [m3].
    color_mm : float
        Median size of a color [mm].
    """
    spread = SIZE_SPREAD**2 * 9.0 + SHAPE_SPREAD**2
    mean_mg = FLAKE_MG * color_mm**3 * np.exp(0.5 * spread)
    expected = grade_mg_m3 * bank_m3 / mean_mg
    number = rng.poisson(expected * rng.gamma(EVENNESS, 1.0 / EVENNESS))
    size_mm = color_mm * np.exp(SIZE_SPREAD * rng.normal(size=number))
    thick = np.exp(SHAPE_SPREAD * rng.normal(size=number))
    mass_mg = FLAKE_MG * size_mm**3 * thick
    at = np.searchsorted(LIMITS_MM, size_mm, side="right")
    found = rng.random(number) < np.asarray(FOUND_SHARE)[at]
    return Panned(
        tuple(
            int(np.count_nonzero(found & (at == one))) for one in range(len(CLASSES))
        ),
        tuple(float(mass_mg[found & (at == one)].sum()) for one in range(len(CLASSES))),
    )
