"""How many pans are enough? What a pan can show of ground that just pays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.nextdig.effort import dig_effort
from pennyweight.records import Dig
from pennyweight.sampling.adequacy import (
    NextStep,
    blank_pans_to_clear,
    chance_of_blank,
    expected_colors,
    pans_for_error,
    weigh_pan_against_dig,
)
from pennyweight.sampling.graded import GradedSample, GradedSamples
from pennyweight.sampling.volume import DEFAULT_SWELL

#: Colors that a sample should hold: Clifton et al. (1969), USGS PP 625-C.
ENOUGH_COLORS = 20.0
#: Error that counts as good [-]: within a quarter, four times in five.
GOOD_ERROR = 0.25
#: Least digs with counted gold from which the ground's unevenness is told [-]; ours.
LEAST_DIGS = 3
#: Least relative spread from dig to dig [-]; no ground is more even.
LEAST_BETWEEN = 0.10
#: Depth of a dig where none is known [m].
DEFAULT_DEPTH_M = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Enough:
    """What one pan shows at the cutoff, and how many it takes.

    Attributes
    ----------
    cutoff_mg_m3 : float
        Grade that is asked about.
    pan_bank_m3 : float
        Ground in one pan, as it lies.
    colors_per_pan : float
        Expected at the cutoff.
    chance_of_blank_pan : float
        Chance that a pan of paying gravel shows nothing.
    pans_for_20_colors : float
        Until 20 colors are expected.
    pans_for_good : float
        Until the grade lies within a quarter, four times in five.
    blank_pans_to_clear : float
        Pans without a color that rule the cutoff out with 95 %.
    next_step : NextStep or None
        One more pan in every dig against one more dig; None from fewer than three
        digs with counted samples.
    """

    cutoff_mg_m3: float
    pan_bank_m3: float
    colors_per_pan: float
    chance_of_blank_pan: float
    pans_for_20_colors: float
    pans_for_good: float
    blank_pans_to_clear: float
    next_step: NextStep | None = None


def judge_enough(
    graded: GradedSamples, digs: Sequence[Dig], cutoff_mg_m3: float
) -> Enough | None:
    """Return how many pans are enough in this ground.

    None before anything counts, or where washing costs nothing.
    """
    counting = [one for one in graded.samples if one.counts_for_grade and one.bank_m3]
    if not counting or graded.basis is None or cutoff_mg_m3 <= 0.0:
        return None
    basis = graded.basis
    swell = DEFAULT_SWELL if basis.swell is None else basis.swell
    pan_bank_m3 = basis.bank_per_pan_m3 or basis.pan_m3 / (1.0 + swell)
    color_mg = float(np.mean([one.color_mg for one in counting]))
    recovery = float(np.mean([one.recovery for one in counting]))
    colors = expected_colors(cutoff_mg_m3, pan_bank_m3, color_mg, recovery=recovery)
    cv = counting[0].color_cv
    return Enough(
        cutoff_mg_m3=cutoff_mg_m3,
        pan_bank_m3=pan_bank_m3,
        colors_per_pan=colors,
        chance_of_blank_pan=chance_of_blank(colors),
        pans_for_20_colors=ENOUGH_COLORS / colors,
        pans_for_good=pans_for_error(GOOD_ERROR, colors, color_cv=cv),
        blank_pans_to_clear=blank_pans_to_clear(colors),
        next_step=_next_step(counting, digs, pan_bank_m3),
    )


def _next_step(
    samples: Sequence[GradedSample], digs: Sequence[Dig], pan_bank_m3: float
) -> NextStep | None:
    """Return one more pan in every dig against one more dig.

    The spread between digs is what their counts scatter beyond the Poisson law.
    """
    found: dict[str, list[float]] = {}
    for one in samples:
        colors, bank = one.colors or 0.0, one.bank_m3 or 0.0
        parts = found.setdefault(one.dig, [0.0, 0.0, 0.0])
        for at, value in enumerate((colors, bank * one.recovery, bank)):
            parts[at] += value
    colors, exposure, bank = np.array(list(found.values())).T
    if len(found) < LEAST_DIGS or colors.sum() <= 0.0:
        return None
    expected = exposure * colors.sum() / exposure.sum()
    beyond = float(((colors - expected) ** 2 - expected).sum())
    between = math.sqrt(max(beyond / float((expected**2).sum()), LEAST_BETWEEN**2))
    per_pan = float(colors.sum() / bank.sum()) * pan_bank_m3
    pan_rel_sd = math.sqrt((1.0 + samples[0].color_cv ** 2) / per_pan)
    pans = float(bank.mean()) / pan_bank_m3
    depths = [one.bottom_m for one in digs if one.bottom_m]
    depth_m = float(np.mean(depths)) if depths else DEFAULT_DEPTH_M
    without = dig_effort(depth_m, 0.0).hours
    return weigh_pan_against_dig(
        between,
        pan_rel_sd,
        digs=len(found),
        pans=pans,
        hours_per_dig=without,
        hours_per_pan=dig_effort(depth_m, 1.0).hours - without,
    )
