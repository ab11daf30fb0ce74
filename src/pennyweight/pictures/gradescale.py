"""Grade as size and as one hue in five steps, with their values."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from pennyweight.answers.wording import EN_DASH, number_words, unit_name
from pennyweight.pictures.svg import Look
from pennyweight.units import Measures, from_inside, to_inside

#: Radius of a dig's mark by step, poorest first, on a wide picture [px].
RADII_PX = (4.5, 5.75, 7.25, 9.0, 11.0)
NARROW_SHARE = 0.78

#: Crowded marks shrink no further than this [-].
LEAST_SIZE = 0.6


@dataclass(frozen=True, slots=True)
class GradeScale:
    """Where one step of the ramp ends and the next begins.

    Attributes
    ----------
    bounds_mg_m3 : tuple of four float
        Ascending; a grade at or above the last is in the richest step.
    size : float
        Of marks, over their usual size [-]; smaller where digs are crowded.
    """

    bounds_mg_m3: tuple[float, float, float, float]
    size: float = 1.0

    def step(self, grade_mg_m3: float) -> int:
        """Return the step of a grade, 0 (poorest) to 4."""
        return sum(grade_mg_m3 >= bound for bound in self.bounds_mg_m3)

    def ink(self, grade_mg_m3: float, look: Look) -> str:
        """Return the ramp's ink for a grade."""
        return look.palette.ramp[self.step(grade_mg_m3)]

    def radius_px(self, grade_mg_m3: float, look: Look) -> float:
        """Return the radius of a mark for a grade."""
        return self.size * mark_radius(self.step(grade_mg_m3), look)

    def for_spacing(self, spacing_px: float, look: Look) -> GradeScale:
        """Return the same steps with marks that suit the distance between digs."""
        usual_px = 2.0 * mark_radius(2, look)
        size = min(max(spacing_px / usual_px, LEAST_SIZE), 1.0)
        return replace(self, size=size)

    def words(self, measures: Measures) -> list[str]:
        """Return what each step means, poorest first; the last carries the unit."""
        shown = [
            number_words(from_inside(bound, measures.grade, "grade"))
            for bound in self.bounds_mg_m3
        ]
        middle = [f"{low}{EN_DASH}{high}" for low, high in pairwise(shown)]
        unit = unit_name(measures.grade)
        return [f"under {shown[0]}", *middle, f"over {shown[-1]} {unit}"]


def mark_radius(step: int, look: Look) -> float:
    """Return the radius of a dig's mark in a step of the ramp [px]."""
    return RADII_PX[step] * (NARROW_SHARE if look.narrow else 1.0)


def grade_scale(grades_mg_m3: Iterable[float], measures: Measures) -> GradeScale:
    """Return steps that suit the grades: 1, 3, 10, 30 ... of the reader's unit.

    The last bound is the greatest such number that some grade reaches, so that the
    richest ink is always in use.

    >>> from pennyweight.units import METRIC
    >>> grade_scale([3.0, 806.0], METRIC).bounds_mg_m3
    (10.0, 30.0, 100.0, 300.0)
    """
    known = [one for one in grades_mg_m3 if one > 0.0]
    richest = from_inside(max(known, default=300.0), measures.grade, "grade")
    halves = math.floor(2.0 * math.log10(richest) + 0.046)
    bounds = [_half_decade(halves - back) for back in (3, 2, 1, 0)]
    inside = [to_inside(bound, measures.grade, "grade") for bound in bounds]
    return GradeScale((inside[0], inside[1], inside[2], inside[3]))


def _half_decade(number: int) -> float:
    """Return 1, 3, 10, 30 ... by count of half decades from 1."""
    tens, odd = divmod(number, 2)
    return float((3.0 if odd else 1.0) * 10.0**tens)
