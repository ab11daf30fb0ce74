"""Grades of many samples, beside plain Monte Carlo of equal accuracy.

A grade's posterior is a gamma distribution times a lognormal factor. Plain Monte Carlo
draws both and reads three quantiles off; to have them as right as the tool's (0.1 %) it
needs about 600,000 draws a sample. That is timed for 20 samples: times 500 for 10,000.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from pennyweight.records import Ground, Log, Sample, Tally
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.posterior import mixture_quantiles

N_SAMPLES, N_BY_DRAWS = 10_000, 20
N_DRAWS = 600_000
QUANTILES = (0.1, 0.5, 0.9)
LOG_SD = 0.3

FloatArray = npt.NDArray[np.float64]


def made_log(rng: np.random.Generator, n: int) -> Log:
    """Return an invented record of n samples in two size classes."""
    grades = rng.gamma(0.5, 400.0, size=n)
    colors = rng.poisson(grades[:, None] * 0.02 * np.array([0.9, 0.6]))
    samples = tuple(
        Sample(
            sample=f"S{k}",
            dig=f"D{k // 4}",
            top_m=0.5 * (k % 4),
            bottom_m=0.5 * (k % 4) + 0.5,
            pans=4.0,
        )
        for k in range(n)
    )
    tallies = tuple(
        Tally(sample=f"S{k}", size_class=name, colors=int(colors[k, column]))
        for k in range(n)
        for column, name in enumerate(("0.25-0.5", "0.5-1"))
    )
    ground = Ground(name="invented", pan_volume_m3=0.006, swell=0.2)
    return Log(ground=ground, samples=samples, tallies=tallies)


def made_shapes(n: int) -> FloatArray:
    """Return shapes of the posteriors of n samples with few and many colors."""
    return np.random.default_rng(1).gamma(1.0, 10.0, size=n) + 0.4


def bench_grades_of_10000_samples() -> Callable[[], object]:
    """Judge 10,000 samples: record to full posteriors."""
    log = made_log(np.random.default_rng(1), N_SAMPLES)
    return lambda: grade_samples(log)


def bench_quantiles_by_rule() -> Callable[[], object]:
    """Take three quantiles of 10,000 posteriors by the tool's rule."""
    shapes = made_shapes(N_SAMPLES)[:, None]
    return lambda: mixture_quantiles(
        np.ones(1),
        shapes,
        np.ones_like(shapes),
        log_sd=np.full(N_SAMPLES, LOG_SD),
        probabilities=QUANTILES,
    )


def bench_quantiles_by_draws() -> Callable[[], object]:
    """Take three quantiles of 20 posteriors by plain Monte Carlo, as right."""
    shapes = made_shapes(N_BY_DRAWS)
    rng = np.random.default_rng(2)

    def draw() -> list[FloatArray]:
        found = []
        for shape in shapes:
            draws = rng.gamma(shape, size=N_DRAWS)
            draws *= np.exp(rng.normal(0.0, LOG_SD, size=N_DRAWS))
            found.append(np.quantile(draws, QUANTILES))
        return found

    return draw
