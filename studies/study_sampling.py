"""Do the intervals of a grade hold what they promise.

Every ground is invented: grades, masses, recovery and volumes are drawn from what the
sampling room states as its assumptions (`studies/panned_grounds.py`), the gravel is
panned grain by grain, and the record is judged like any other. Ten pans a sample,
colors not sized. +- is the 95 % interval of a share, grounds (not samples) being its
units.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from panned_grounds import Kind, MadeGround, draw_grades, pan_ground

from pennyweight.sampling.gold import UNSIZED_MG
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.posterior import exact_limits
from pennyweight.sampling.recovery import RECOVERY_UNSIZED

FloatArray = npt.NDArray[np.float64]

PANS = 10
#: Bank volume of ten pans of 6 l with a swell of 20 % [m3].
BANK_M3 = 0.050
#: Expected colors of the samples at fixed grades.
FIXED_COLORS = (0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0, 200.0)


@dataclass(frozen=True)
class Coverage:
    """How often intervals held the truth."""

    held: float
    """Share of the 80 % intervals that held it [-]."""
    error: float
    """Half-width of the 95 % interval of that share; grounds are drawn, not samples."""
    below: float
    """Share of truths below p10; 0.10 is promised [-]."""
    exact: float
    """Share of exact limits of the number of colors that held it [-]."""
    samples: int


def measure_coverage(grounds: Iterable[MadeGround]) -> Coverage:
    """Return how often the intervals of these grounds hold their truth."""
    held, below, exact, counted = [], [], [], 0
    for made in grounds:
        graded = grade_samples(made.log).samples
        spreads = [one.grade_mg_m3 for one in graded]
        low = np.array([one.p10 for one in spreads if one is not None])
        high = np.array([one.p90 for one in spreads if one is not None])
        truth = made.grade_mg_m3
        held.append(((low <= truth) & (truth <= high)).mean())
        below.append((truth < low).mean())
        seen = np.array([one.own_colors for one in graded], dtype=np.float64)
        first, last = exact_limits(seen)
        inside = (first <= made.expected_colors) & (made.expected_colors <= last)
        exact.append(inside.mean())
        counted += len(graded)
    error = 1.96 * float(np.std(held)) / np.sqrt(len(held))
    return Coverage(
        float(np.mean(held)),
        float(error),
        float(np.mean(below)),
        float(np.mean(exact)),
        counted,
    )


def try_prior(rng: np.random.Generator, kind: Kind, n: int, n_grounds: int) -> Coverage:
    """Return the coverage with grades drawn from the stated prior."""
    return measure_coverage(
        pan_ground(rng, draw_grades(rng, n), PANS, kind) for _ in range(n_grounds)
    )


def try_fixed(
    rng: np.random.Generator, expected: float, n: int, n_grounds: int
) -> Coverage:
    """Return the coverage at one grade, the same for all samples of all grounds."""
    grade = expected * UNSIZED_MG / RECOVERY_UNSIZED / BANK_M3
    return measure_coverage(
        pan_ground(rng, np.full(n, grade), PANS, "counted") for _ in range(n_grounds)
    )


#: What is judged, samples a ground, grounds.
PRIOR_PLANS: tuple[tuple[Kind, int, int], ...] = (
    ("counted", 1, 2_000),
    ("counted", 10, 1_000),
    ("counted", 100, 100),
    ("weighed", 10, 1_000),
    ("only weighed", 10, 1_000),
)
FIXED_SAMPLES, FIXED_GROUNDS = 8, 250

ABOUT_PRIOR = """## Grades drawn from the stated prior

An 80 % interval should hold the truth in 78 to 82 of 100 samples, and 10 of 100
truths should lie below p10.

| gold | samples a ground | samples | intervals that hold | below p10 |
| --- | --- | --- | --- | --- |
"""

ABOUT_KINDS = """
`counted`: colors only. `weighed`: colors and their weight to 0.1 mg. `only weighed`: no
count. The made colors are lognormal with a variation of 3, so that few of them carry
most of the gold and a small sample usually weighs less than its mean. Mean mass and
variation are learnt with that skew. Where nobody counted, the number of colors and
their mean mass are summed over.
"""

ABOUT_FIXED = """
## One grade for all samples

Intervals that come from a prior hold on average over it, not at every grade: counts are
whole numbers. From 20 expected colors up, 76 to 84 of 100 are wanted. The last column
is the share of the exact limits of the number of colors (Garwood 1936) that hold; they
promise 80 of 100 or more whatever the grade, and every answer carries them too.

| expected colors | samples | intervals that hold | below p10 | exact limits that hold |
| --- | --- | --- | --- | --- |
"""


def study(rng: np.random.Generator) -> str:
    """Return what was found, as Markdown below the title."""
    prior = []
    for kind, n, n_grounds in PRIOR_PLANS:
        found = try_prior(rng, kind, n, n_grounds)
        held = f"{found.held:.3f} +- {found.error:.3f}"
        prior.append(f"| {kind} | {n} | {found.samples} | {held} | {found.below:.3f} |")
        print(prior[-1], flush=True)
    fixed = []
    for expected in FIXED_COLORS:
        found = try_fixed(rng, expected, FIXED_SAMPLES, FIXED_GROUNDS)
        held = f"{found.held:.3f} +- {found.error:.3f}"
        row = f"| {expected:g} | {found.samples} | {held} | {found.below:.3f} "
        fixed.append(f"{row}| {found.exact:.3f} |")
        print(fixed[-1], flush=True)
    tables = ("\n".join(prior), "\n".join(fixed))
    return f"{ABOUT_PRIOR}{tables[0]}\n{ABOUT_KINDS}{ABOUT_FIXED}{tables[1]}\n"
