"""Grades of many samples, beside plain Monte Carlo of equal accuracy.

Counted: a grade's posterior is a gamma distribution times a lognormal factor. Plain
Monte Carlo draws both and reads three quantiles off; to have them as right as the
tool's (0.1 %) it needs about 600,000 draws a sample.

Only weighed: how many colors the weight stands for is not known. Plain Monte Carlo
draws grade, number and mass, and keeps what weighs as much as was read. The tool's
median and p90 are within 0.6 % of those on a grid four times as fine; draws come that
near with about 6,000,000 a sample (400,000 are off by 1 to 2 %).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from pennyweight.records import Ground, Log, Sample, Tally
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.places import stated_places
from pennyweight.sampling.posterior import mixture_quantiles

N_SAMPLES = 10_000
N_BY_DRAWS, N_DRAWS = 20, 600_000
N_WEIGHED_BY_DRAWS, N_DRAWS_WEIGHED = 2, 6_000_000
QUANTILES = (0.1, 0.5, 0.9)
LOG_SD = 0.3
#: What the invented colors weigh: median [mg] and standard deviation of the log [-].
COLOR_MG, COLOR_LOG_SD = 0.17, 1.0
BALANCE_MG = 0.1
#: For the table: what is judged, the tool's benchmark, the plain one, and how many
#: times the plain one would be done for as many samples.
BESIDE = (
    (
        "grades of 10,000 counted samples",
        "bench_grades_of_10000_samples",
        "bench_quantiles_by_draws",
        N_SAMPLES // N_BY_DRAWS,
    ),
    (
        "grades of 10,000 only weighed samples",
        "bench_grades_of_10000_weighed_samples",
        "bench_weighed_by_draws",
        N_SAMPLES // N_WEIGHED_BY_DRAWS,
    ),
)

FloatArray = npt.NDArray[np.float64]


def made_log(rng: np.random.Generator, n: int, weighed_share: float = 0.0) -> Log:
    """Return an invented record of n samples, a share of them weighed, not counted."""
    grades = rng.gamma(0.5, 400.0, size=n)
    pans = rng.integers(2, 9, size=n).astype(np.float64)
    expected = grades * pans * 0.005
    colors = rng.poisson(expected[:, None] * np.array([0.9, 0.6]))
    weighed = rng.random(n) < weighed_share
    return Log(
        ground=Ground(name="invented", pan_volume_m3=0.006, swell=0.2),
        samples=tuple(
            Sample(
                sample=f"S{k}",
                dig=f"D{k // 4}",
                top_m=0.5 * (k % 4),
                bottom_m=0.5 * (k % 4) + 0.5,
                pans=float(pans[k]),
                weighed_mg=read_balance(rng, int(colors[k].sum()))
                if weighed[k]
                else None,
                balance_mg=BALANCE_MG if weighed[k] else None,
            )
            for k in range(n)
        ),
        tallies=tuple(
            Tally(sample=f"S{k}", size_class=name, colors=int(colors[k, column]))
            for k in np.flatnonzero(~weighed).tolist()
            for column, name in enumerate(("0.25-0.5", "0.5-1"))
        ),
    )


def read_balance(rng: np.random.Generator, colors: int) -> float:
    """Return what a balance reads of so many colors [mg]."""
    masses = rng.lognormal(np.log(COLOR_MG), COLOR_LOG_SD, size=colors)
    return round(float(masses.sum()) / BALANCE_MG) * BALANCE_MG


def made_shapes(n: int) -> FloatArray:
    """Return shapes of the posteriors of n samples with few and many colors."""
    return np.random.default_rng(1).gamma(1.0, 10.0, size=n) + 0.4


def bench_grades_of_10000_samples() -> Callable[[], object]:
    """Judge 10,000 counted samples: record to full posteriors."""
    log = made_log(np.random.default_rng(1), N_SAMPLES)
    return lambda: grade_samples(log)


def bench_grades_of_10000_weighed_samples() -> Callable[[], object]:
    """Judge 10,000 samples that were weighed and never counted."""
    log = made_log(np.random.default_rng(2), N_SAMPLES, weighed_share=1.0)
    return lambda: grade_samples(log)


def bench_grades_of_10000_mixed_samples() -> Callable[[], object]:
    """Judge 10,000 samples, half of them counted, half only weighed."""
    log = made_log(np.random.default_rng(3), N_SAMPLES, weighed_share=0.5)
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


def bench_weighed_by_draws() -> Callable[[], object]:
    """Judge 2 weights by plain Monte Carlo, as right."""
    rng = np.random.default_rng(4)
    weights_mg = np.round(rng.lognormal(0.0, 1.0, size=N_WEIGHED_BY_DRAWS), 1)
    prior = stated_places()

    def draw() -> list[FloatArray]:
        found = []
        for weight_mg in weights_mg.tolist():
            part = rng.choice(len(prior.weights), N_DRAWS_WEIGHED, p=prior.weights)
            shape = prior.shapes[part]
            grade = rng.gamma(shape, prior.means_mg_m3[part] / shape)
            number = np.maximum(rng.poisson(np.minimum(grade * 0.02, 1e6)), 1)
            square = np.log1p((np.exp(COLOR_LOG_SD**2) - 1.0) / number)
            mean = COLOR_MG * np.exp(COLOR_LOG_SD**2 / 2.0) * number
            mass = mean * np.exp(rng.normal(-square / 2.0, np.sqrt(square)))
            kept = np.abs(mass - weight_mg) < max(BALANCE_MG / 2.0, 0.02 * weight_mg)
            found.append(np.quantile(grade[kept], QUANTILES))
        return found

    return draw
