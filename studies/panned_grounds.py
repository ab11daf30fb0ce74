"""Made grounds whose every truth is drawn from what the sampling room states.

Nothing here looks at how grades are judged: it draws grades, masses, recoveries and
volumes, pans the gravel grain by grain, and writes down what a panner would.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from pennyweight.records import Ground, Log, Sample, Tally
from pennyweight.sampling import gold, places, recovery, volume

FloatArray = npt.NDArray[np.float64]
Kind = Literal["counted", "weighed", "only weighed"]

PAN_M3, SWELL, STEP_MG = 0.006, 0.20, 0.1


@dataclass(frozen=True)
class MadeGround:
    """A record, and the truth behind it."""

    log: Log
    grade_mg_m3: FloatArray
    expected_colors: FloatArray


@dataclass(frozen=True)
class Truth:
    """What holds over a whole made ground."""

    color_mg: float
    recovery: float
    volume_factor: float


def draw_truth(rng: np.random.Generator) -> Truth:
    """Return what holds over a ground, from the stated priors."""
    shared = np.hypot(volume.PAN_SD_TYPED, volume.SWELL_SD_TYPED)
    mean = recovery.RECOVERY_UNSIZED * recovery.PRIOR_GRAINS
    log_mass = rng.normal(0.0, gold.UNSIZED_LOG_SD)
    return Truth(
        color_mg=gold.UNSIZED_MG * float(np.exp(log_mass)),
        recovery=float(rng.beta(mean, recovery.PRIOR_GRAINS - mean)),
        volume_factor=float(np.exp(rng.normal(0.0, shared))),
    )


def draw_grades(rng: np.random.Generator, n: int) -> FloatArray:
    """Return grades of places in one ground, from the stated prior [mg/m3]."""
    shape = float(rng.choice(places.SHAPES))
    mean = places.PRIOR_MEAN_MG_M3 * np.exp(rng.normal(0.0, places.PRIOR_LOG_SD))
    # Beyond the grid the prior holds nothing.
    reach = np.exp(3.0 * places.PRIOR_LOG_SD)
    middle = places.PRIOR_MEAN_MG_M3
    mean = float(np.clip(mean, middle / reach, middle * reach))
    return rng.gamma(shape, mean / shape, size=n)


def pan_ground(
    rng: np.random.Generator, grade_mg_m3: FloatArray, pans: float, kind: Kind
) -> MadeGround:
    """Return what a panner writes down, one sample a grade."""
    n = len(grade_mg_m3)
    truth = draw_truth(rng)
    own: float = max(volume.SD_FLOOR, volume.SD_ONE_FILL / np.sqrt(max(pans, 1.0)))
    nominal_m3 = pans * PAN_M3 / (1.0 + SWELL)
    bank = nominal_m3 * truth.volume_factor * np.exp(rng.normal(0.0, own, size=n))
    place = gold.PLACE_LOG_SD_UNSIZED
    # Right on average over the ground, as the mean of a ground's colors is.
    mass = truth.color_mg * np.exp(rng.normal(-(place**2) / 2.0, place, size=n))
    expected = grade_mg_m3 * bank * truth.recovery / mass
    # A pan with more than this many colors is weighed, not counted, by anyone.
    expected = np.minimum(expected, 1e5)
    colors = rng.poisson(expected)
    samples, tallies = [], []
    for k in range(n):
        sample = Sample(
            sample=f"S{k}", dig=f"D{k}", top_m=0.0, bottom_m=0.5, pans=float(pans)
        )
        if kind != "counted":
            grains = draw_masses(rng, mass[k], int(colors[k]))
            read = round(float(grains.sum()) / STEP_MG) * STEP_MG
            sample = replace(sample, weighed_mg=read, balance_mg=STEP_MG)
        if kind != "only weighed":
            tallies.append(
                Tally(sample=f"S{k}", size_class="all", colors=int(colors[k]))
            )
        samples.append(sample)
    ground = Ground(name="made ground", pan_volume_m3=PAN_M3, swell=SWELL)
    log = Log(ground=ground, samples=tuple(samples), tallies=tuple(tallies))
    return MadeGround(log, expected * mass / bank / truth.recovery, expected)


def draw_masses(rng: np.random.Generator, mean_mg: float, n: int) -> FloatArray:
    """Return masses of colors: lognormal, of the supposed variation [mg]."""
    spread = np.sqrt(np.log1p(gold.UNSIZED_CV**2))
    return rng.lognormal(np.log(mean_mg) - spread**2 / 2.0, spread, size=n)
