"""What is known of each sample once it is washed: the hand-over to the rooms above.

Volumes are bank volumes. Gold is raw gold in place: what panning loses is added back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pennyweight.errors import Finding
from pennyweight.spread import Spread

Reliability = Literal["good", "fair", "poor", "none"]

#: Half-width of the 80 % interval over the median, below which a grade is ... [-].
GOOD_BELOW, FAIR_BELOW = 0.25, 0.60


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedSample:
    """One sample, judged.

    Attributes
    ----------
    sample, dig : str
        Names.
    top_m, bottom_m : float or None
        Depths below the surface [m].
    bank_m3 : float or None
        Bank volume that was looked at, stones included [m3]; None without a fair
        volume (grab, crevice, moss, root and loam samples; nothing measured).
    bank_rel_sd : float
        Relative standard deviation of that volume, this sample's own part [-].
    colors : float or None
        Colors seen; where gold was only weighed, the number that the weight stands
        for [-]. None when not washed yet.
    recovery : float
        Share of the colors in place that washing finds [-].
    color_mg : float
        Mean mass of one color of this sample, in place [mg].
    color_mg_rel_sd : float
        Relative standard deviation of that mean, from few colors [-].
    color_cv : float
        Coefficient of variation of the mass of one color [-].
    grade_mg_m3 : Spread or None
        Posterior of the raw gold in place [mg/m3 bank].
    reliability : str
        good, fair, poor or none.
    counts_for_grade : bool
        Whether it enters averages: washed, fair volume, not a blank, not a
        duplicate's second half (a duplicate is pooled with its first).
    why : str
        One plain sentence where the grade is None or odd; else empty.
    """

    sample: str
    dig: str
    top_m: float | None
    bottom_m: float | None
    bank_m3: float | None
    bank_rel_sd: float
    colors: float | None
    recovery: float
    color_mg: float
    color_mg_rel_sd: float
    color_cv: float
    grade_mg_m3: Spread | None
    reliability: Reliability
    counts_for_grade: bool
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedSamples:
    """All samples of a ground, judged together.

    Attributes
    ----------
    samples : tuple of GradedSample
        In the order of the record.
    volume_common_rel_sd : float
        One factor over every volume: swell and pan size [-].
    mass_common_rel_sd : float
        One factor over every mass: calibration of mean masses [-].
    assumptions : mapping
        Every value that the program supplied, by a key that names its unit.
    findings : tuple of Finding
        What is odd.
    """

    samples: tuple[GradedSample, ...]
    volume_common_rel_sd: float
    mass_common_rel_sd: float
    assumptions: Mapping[str, Any]
    findings: tuple[Finding, ...] = ()

    def by_dig(self) -> dict[str, tuple[GradedSample, ...]]:
        """Return the samples of each dig, top down.

        Returns
        -------
        dict
            Dig name to its samples; those without a depth come last.
        """
        digs: dict[str, list[GradedSample]] = {}
        for sample in self.samples:
            digs.setdefault(sample.dig, []).append(sample)
        return {
            dig: tuple(
                sorted(found, key=lambda one: (one.top_m is None, one.top_m or 0.0))
            )
            for dig, found in digs.items()
        }
