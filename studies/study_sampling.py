"""Measure whether the intervals of the sampling room hold what they promise.

    python studies/study_sampling.py [--quick] [--out docs/studies/sampling.md]

Grounds are made with known truth (`panned_grounds`), on seeds that nothing was ever
tuned on, and judged by the same function that judges a real record.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).parent))

from panned_grounds import Kind, MadeGround, draw_grades, pan_ground

from pennyweight.sampling.gold import UNSIZED_MG
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.posterior import exact_limits
from pennyweight.sampling.recovery import RECOVERY_UNSIZED

FloatArray = npt.NDArray[np.float64]

SEED = 20_300_501
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


def study_prior(kind: Kind, n: int, n_grounds: int, seed: int) -> Coverage:
    """Return the coverage with grades drawn from the stated prior."""
    rng = np.random.default_rng(seed)
    return measure_coverage(
        pan_ground(rng, draw_grades(rng, n), PANS, kind) for _ in range(n_grounds)
    )


def study_fixed(expected: float, n: int, n_grounds: int, seed: int) -> Coverage:
    """Return the coverage at one grade, the same for all samples of all grounds."""
    rng = np.random.default_rng(seed)
    grade = expected * UNSIZED_MG / RECOVERY_UNSIZED / BANK_M3
    return measure_coverage(
        pan_ground(rng, np.full(n, grade), PANS, "counted") for _ in range(n_grounds)
    )


def prior_rows(quick: bool) -> list[str]:
    """Return the lines of the first table."""
    plans: list[tuple[Kind, int, int]] = [
        ("counted", 1, 5000),
        ("counted", 10, 1000),
        ("counted", 100, 200),
        ("weighed", 10, 500),
        ("only weighed", 10, 500),
    ]
    rows = []
    for k, (kind, n, n_grounds) in enumerate(plans):
        found = study_prior(kind, n, n_grounds // (20 if quick else 1), SEED + k)
        rows.append(
            f"| {kind} | {n} | {found.samples} | {found.held:.3f} +- "
            f"{found.error:.3f} | {found.below:.3f} |"
        )
    return rows


def fixed_rows(quick: bool) -> list[str]:
    """Return the lines of the second table."""
    rows = []
    for k, expected in enumerate(FIXED_COLORS):
        found = study_fixed(expected, 4, 60 if quick else 1000, SEED + 100 + k)
        rows.append(
            f"| {expected:g} | {found.samples} | {found.held:.3f} +- "
            f"{found.error:.3f} | {found.below:.3f} | {found.exact:.3f} |"
        )
    return rows


def write_page(quick: bool, tell: Callable[[str], None]) -> str:
    """Return the page, telling each table as it is done."""
    prior = prior_rows(quick)
    tell("\n".join(prior))
    fixed = fixed_rows(quick)
    tell("\n".join(fixed))
    return PAGE.format(prior="\n".join(prior), fixed="\n".join(fixed), seed=SEED)


PAGE = """# Do the intervals of a grade hold what they promise?

Made by `python studies/study_sampling.py`, seed {seed} and following. Every ground is
invented: grades, masses, recovery and volumes are drawn from what the sampling room
states as its assumptions, the gravel is panned grain by grain, and the record is judged
like any other. Ten pans a sample, colors not sized. +- is the 95 % interval of the
share, grounds (not samples) being the units.

## Grades drawn from the stated prior
An 80 % interval should hold the truth in 78 to 82 of 100 samples, and 10 of 100
truths should lie below p10.

| gold | samples a ground | samples | intervals that hold | below p10 |
| --- | --- | --- | --- | --- |
{prior}

`counted`: colors only. `weighed`: colors and their weight to 0.1 mg. `only weighed`: no
count; where the gold weighs little, the supposed shape of the masses of single colors
matters, and the interval is less sure than it says. Counting is cheap: count too.

## One grade for all samples
Intervals that come from a prior hold on average over it, not at every grade: counts are
whole numbers. From 20 expected colors up, 76 to 84 of 100 are wanted. The last column
is the share of the exact limits of the number of colors (Garwood 1936) that hold; they
promise 80 of 100 or more whatever the grade, and every answer carries them too.

| expected colors | samples | intervals that hold | below p10 | exact limits that hold |
| --- | --- | --- | --- | --- |
{fixed}
"""


def main(words: list[str]) -> int:
    """Run the study and write its page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--out", type=Path, default=Path("docs/studies/sampling.md"))
    asked = parser.parse_args(words)
    start = time.perf_counter()
    page = write_page(asked.quick, print)
    asked.out.write_text(page, encoding="utf-8")
    print(f"{asked.out}: {time.perf_counter() - start:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
