"""The fit behind the streaks: from a reading's record to the streaks room."""

from __future__ import annotations

from typing import Any

import numpy as np

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.grade import read_cutoff, read_graded
from pennyweight.answers.reading import Reading
from pennyweight.streaks.ceiling import RICHEST_RATIO
from pennyweight.streaks.contacts import (
    BEDROCK,
    Column,
    fill_in_bedrock,
    read_columns,
)
from pennyweight.streaks.fit import Settings, StreakFit, fit_streaks
from pennyweight.streaks.horizons import ZONE_ABOVE_M, ZONE_INTO_FALSE_M
from pennyweight.streaks.sites import Place, Sites, arrange_sites
from pennyweight.streaks.weights import GOOD_SHAPE

#: Position error of a whole line when the user names none [m]. Our assumption.
RECEIVER_ERROR_M = 0.8
#: Digs asked for the depth of bedrock where one is silent, and how near they lie [m].
NEIGHBORS, NEAR_M = 3, 30.0


def read_fit(reading: Reading) -> StreakFit:
    """Return the fit of a ground, worked out once; every cutoff is traced on it.

    Parameters
    ----------
    reading : Reading
        The book; some dig has a position.

    Returns
    -------
    StreakFit
        Of all horizons.
    """
    level = read_cutoff(reading.log.ground).wash_mg_m3
    return reading.once(("streaks", level), lambda: _fit(reading, level))


def _fit(reading: Reading, cutoff_mg_m3: float) -> StreakFit:
    sites = arrange_sites(
        [
            Place(dig=name, line=place.line, s_m=place.s_m, n_m=place.n_m)
            for name, place in frame_ground(reading).places.items()
        ]
    )
    graded = read_graded(reading)
    ground = reading.log.ground
    columns = _columns(reading, sites)
    common = np.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd)
    min_pay_m = read_cutoff(ground).min_pay_m
    return fit_streaks(
        sites,
        columns,
        graded.by_dig(),
        settings=Settings(
            cutoff_mg_m3=cutoff_mg_m3,
            min_pay_m=min_pay_m,
            shift_sd_m=_shift_sd(reading),
            common_rel_sd=float(common),
        ),
        rng=np.random.default_rng([reading.seed, 1]),
        progress=reading.progress,
    )


def _columns(reading: Reading, sites: Sites) -> dict[str, Column]:
    """Return what every dig met, bedrock filled in where neighbors agree on it."""
    columns = read_columns(reading.log)
    silent = [
        dig.dig
        for dig in reading.log.digs
        if dig.dig in sites.digs
        and not dig.stopped_by
        and not any(layer.dig == dig.dig for layer in reading.log.layers)
    ]
    met = [
        at
        for at, name in enumerate(sites.digs)
        if columns[name].depth_of(BEDROCK) is not None
    ]
    index = {name: at for at, name in enumerate(sites.digs)}
    neighbors: dict[str, list[str]] = {}
    for name in silent if met else ():
        away = np.hypot(
            sites.s_m[met] - sites.s_m[index[name]],
            sites.n_m[met] - sites.n_m[index[name]],
        )
        near = np.argsort(away, kind="stable")[:NEIGHBORS]
        neighbors[name] = [sites.digs[met[at]] for at in near if away[at] <= NEAR_M]
    return fill_in_bedrock(columns, silent, neighbors)


def _shift_sd(reading: Reading) -> float:
    typed = reading.log.ground.receiver_error_m
    return RECEIVER_ERROR_M if typed is None else typed


def said_of_fit(reading: Reading, fit: StreakFit) -> dict[str, Any]:
    """Return the values that the fit supplied."""
    said: dict[str, Any] = {
        "zone_above_contact_m": ZONE_ABOVE_M,
        "zone_into_false_bedrock_m": ZONE_INTO_FALSE_M,
        "richest_over_allowed": RICHEST_RATIO,
    }
    if reading.log.ground.receiver_error_m is None:
        said["receiver_error_m"] = RECEIVER_ERROR_M
    if not fit.bedrock_met:
        said["bedrock_depth"] = "not met by any dig"
    if fit.taken:
        said["bedrock_taken_for_bottom"] = fit.taken
    if fit.expected:
        said["bedrock_expected"] = fit.expected
    return said | said_of_draws(fit)


def said_of_draws(fit: StreakFit) -> dict[str, Any]:
    """Return how far the approximation behind the draws may be trusted.

    Parameters
    ----------
    fit : StreakFit
        Of one horizon at least.

    Returns
    -------
    dict
        Of the horizon where the exact posterior would change the gold most.
    """
    worst = max(fit.horizons, key=lambda one: abs(np.log(one.check.gold_ratio)))
    said: dict[str, Any] = {
        "draws_worth_share": round(worst.check.worth_share, 2),
        "draws_gold_ratio": round(worst.check.gold_ratio, 3),
    }
    if worst.check.tail_shape > GOOD_SHAPE:
        said["draws_doubted"] = worst.horizon
    return said
