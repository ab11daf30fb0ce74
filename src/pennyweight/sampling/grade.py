"""Grades of washed samples: each one a posterior, all of them judged together.

Counts are Poisson about the grade; the grade of a place is gamma distributed about
the ground's mean, so that its posterior given a count is exact. Mean mass of a
color, volume and recovery multiply it by lognormal factors.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from pennyweight.records import Log
from pennyweight.sampling.evidence import (
    Evidence,
    Mixture,
    count_hidden,
    find_hidden,
    mix_colors,
    weigh_evidence,
)
from pennyweight.sampling.gold import (
    DEFAULT_FINENESS,
    Masses,
    gold_density_g_cm3,
    learn_masses,
)
from pennyweight.sampling.graded import GradedSamples
from pennyweight.sampling.nuggets import part_nuggets
from pennyweight.sampling.nuggetshow import add_nuggets
from pennyweight.sampling.onlyweighed import Weights, bound_weights, grade_weights
from pennyweight.sampling.places import Places, learn_places
from pennyweight.sampling.posterior import mixture_quantiles
from pennyweight.sampling.recovery import Recovery, learn_recoveries
from pennyweight.sampling.verdicts import (
    describe_samples,
    find_doubts,
    list_assumptions,
)
from pennyweight.sampling.volume import SD_FLOOR
from pennyweight.sampling.washed import Washed, read_samples, weighed_colors
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: The middle 80 %, and its median.
QUANTILES = (0.10, 0.50, 0.90)
#: Colors that a weight may stand for, up to which they are summed over [-]; beyond,
#: their number hardly matters.
MANY_COLORS = 2_000.0


def grade_samples(log: Log) -> GradedSamples:
    """Return every sample of a ground with the posterior of its grade.

    Parameters
    ----------
    log : Log
        The whole record.

    Returns
    -------
    GradedSamples
        In the order of the record; those without a grade say why.

    Raises
    ------
    ValueError
        A tally or test holds an impossible count.

    Notes
    -----
    With count N, exposure E (colors at 1 mg/m3) and a gamma distribution of shape a
    and mean mu of grades from place to place, the grade's posterior is gamma with
    shape a + N and rate a / mu + E: exact. It is mixed over what the samples together
    say about a and mu (`places`), and multiplied by lognormal factors of median 1
    for volume, mean mass and recovery. A sample that was only weighed counts as
    weight / (m (1 + cv^2)) colors of that larger mass: a compound Poisson total has
    that ratio of variance to mean. Nuggets are taken out before and added to their own
    sample after (`nuggets`).

    References
    ----------
    docs/sources.md, entries "grade posterior", "compound Poisson" and "nuggets".
    """
    parted = part_nuggets(log)
    return add_nuggets(_grade_ordinary(parted.log), parted.nuggets)


def _grade_ordinary(log: Log) -> GradedSamples:
    """Return every sample with the posterior of its grade, in colors alone."""
    washed = read_samples(log)
    recoveries = learn_recoveries(washed.classes, log.pantests)
    fineness = log.ground.fineness
    density = gold_density_g_cm3(DEFAULT_FINENESS if fineness is None else fineness)
    counted = dict(zip(washed.classes, washed.colors.sum(axis=0).tolist(), strict=True))
    masses = learn_masses(counted, weighed_colors(log, washed.tallied), density)
    mixture = mix_colors(washed, masses, recoveries)
    evidence = weigh_evidence(washed, mixture)
    judged = washed.washed & np.isfinite(washed.bank_m3) & ~_blanks(washed)
    evidence, places = _learn(evidence, washed, mixture, n_wanted=int(judged.sum()))
    volume_sd, own_volume_sd = _volume_sds(washed)
    mass_sd, recovery_sd = _calibration(masses, recoveries, mixture)
    own_sd = np.hypot(evidence.own_log_sd, own_volume_sd)
    shared_sd = np.sqrt(
        volume_sd**2 + recovery_sd**2 + (mass_sd * evidence.calibrated) ** 2
    )
    weighed = _weighed_few(washed, evidence)
    spreads, own_rel_sd = _posteriors(
        places, evidence, judged & ~weighed, own_sd=own_sd, shared_sd=shared_sd
    )
    _grade_weighed(
        washed,
        evidence,
        mixture,
        mass_log_sd=mass_sd,
        own_sd=own_volume_sd,
        shared_sd=math.hypot(volume_sd, recovery_sd),
        into=(spreads, own_rel_sd),
    )
    entering = evidence.calibrated[washed.counts]
    calibrated = float(entering.mean()) if entering.size else 1.0
    return GradedSamples(
        samples=describe_samples(
            washed,
            evidence,
            mixture,
            spreads=spreads,
            own_rel_sd=own_rel_sd,
            volume_rel_sd=own_volume_sd,
        ),
        volume_common_rel_sd=volume_sd,
        mass_common_rel_sd=math.hypot(mass_sd * calibrated, recovery_sd),
        assumptions=list_assumptions(log, washed, masses, recoveries=recoveries),
        findings=find_doubts(washed),
        masses=masses.classes,
        recoveries=recoveries,
        basis=washed.basis,
    )


def _blanks(washed: Washed) -> BoolArray:
    """Return which samples are barren material washed on purpose."""
    return np.array([one.blank for one in washed.samples], dtype=np.bool_)


def _learn(
    evidence: Evidence, washed: Washed, mixture: Mixture, *, n_wanted: int
) -> tuple[Evidence, Places]:
    """Return what the samples that count say about the ground, and with it their own.

    Where few colors were weighed and none counted, their number is learnt with it.
    """
    hidden, rows = find_hidden(evidence, washed, mixture)
    counting = washed.counts.copy()
    if hidden is not None:
        counting[rows] = False
    places = learn_places(
        evidence.count[counting],
        evidence.median_exposure[counting],
        n_wanted,
        hidden=hidden,
    )
    if hidden is not None:
        evidence = count_hidden(evidence, hidden, rows, places=places)
    return evidence, places


def _volume_sds(washed: Washed) -> tuple[float, FloatArray]:
    """Return the shared relative standard deviation of volumes, and each one's own.

    Pans and buckets share their calibration, measured holes do not: the ground's
    share is the mean one, and what a sample has beyond it counts as its own.
    """
    shared = np.array([one.shared_rel_sd for one in washed.volumes])
    own = np.array([one.own_rel_sd for one in washed.volumes])
    counting = shared[washed.counts]
    mean = float(counting.mean()) if counting.size else 0.0
    beyond = np.sqrt(np.maximum(shared**2 - mean**2, 0.0))
    return max(mean, SD_FLOOR), np.hypot(own, beyond)


def _calibration(
    masses: Masses, recoveries: dict[str, Recovery], mixture: Mixture
) -> tuple[float, float]:
    """Return the shared relative standard deviations of mass and of recovery [-]."""
    share = mixture.gold_share
    recovery_sd = np.array([one.rel_sd for one in recoveries.values()])
    return masses.shared_rel_sd(share), float(
        np.sqrt(((share * recovery_sd) ** 2).sum())
    )


def _posteriors(
    places: Places,
    evidence: Evidence,
    judged: BoolArray,
    *,
    own_sd: FloatArray,
    shared_sd: FloatArray,
) -> tuple[list[Spread | None], FloatArray]:
    """Return the grade of each judged sample, and its own relative spread [-]."""
    spreads: list[Spread | None] = [None] * len(judged)
    own_rel_sd = np.full(len(judged), np.nan)
    rows = np.flatnonzero(judged)
    if not rows.size:
        return spreads, own_rel_sd
    shapes = places.shapes + evidence.count[rows, None]
    rates = places.shapes / places.means_mg_m3 + evidence.median_exposure[rows, None]
    log_sd = np.hypot(own_sd[rows], shared_sd[rows])
    points = mixture_quantiles(
        places.weights, shapes, rates, log_sd=log_sd, probabilities=QUANTILES
    )
    mean = (shapes / rates) @ places.weights
    square = (shapes * (shapes + 1.0) / rates**2) @ places.weights
    own_factor = np.exp(own_sd[rows] ** 2)
    own_rel_sd[rows] = np.sqrt(np.maximum(square / mean**2 * own_factor - 1.0, 0.0))
    mean = mean * np.exp(log_sd**2 / 2.0)
    for row, (p10, p50, p90), expected in zip(
        rows, points.tolist(), mean.tolist(), strict=True
    ):
        spreads[row] = Spread(p10, p50, p90, expected)
    return spreads, own_rel_sd


def _weighed_few(washed: Washed, evidence: Evidence) -> BoolArray:
    """Return which samples were weighed, never counted, and not of very many colors.

    Those whose weight stands for very many colors keep what the closed form says.
    """
    only_weighed = ~washed.counted & np.isfinite(washed.weight_mg) & ~_blanks(washed)
    few = np.nan_to_num(evidence.colors) < MANY_COLORS
    return np.asarray(only_weighed & few & np.isfinite(washed.bank_m3), np.bool_)


def _grade_weighed(
    washed: Washed,
    evidence: Evidence,
    mixture: Mixture,
    *,
    mass_log_sd: float,
    own_sd: FloatArray,
    shared_sd: float,
    into: tuple[list[Spread | None], FloatArray],
) -> None:
    """Put the grades of samples that nobody counted into place."""
    spreads, own_rel_sd = into
    rows = np.flatnonzero(_weighed_few(washed, evidence))
    if not rows.size:
        return
    low, high = bound_weights(
        washed.weight_mg[rows], washed.step_mg[rows], washed.zero_below_mg[rows]
    )
    counted = washed.counts & washed.counted
    found = grade_weights(
        Weights(
            low,
            high,
            washed.bank_m3[rows] * evidence.recovery[rows] / mixture.color_mg,
            mixture.found_color_mg,
            mass_log_sd,
            mixture.cv,
            washed.counts[rows],
        ),
        evidence.count[counted],
        evidence.median_exposure[counted],
        log_sd=np.hypot(own_sd[rows], shared_sd),
        own_log_sd=own_sd[rows],
        probabilities=QUANTILES,
    )
    own_rel_sd[rows] = found.rel_sd
    for row, (p10, p50, p90), mean in zip(
        rows, found.points.tolist(), found.mean.tolist(), strict=True
    ):
        spreads[row] = Spread(p10, p50, p90, mean)
