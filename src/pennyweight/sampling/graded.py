"""What is known of each sample once it is washed: the hand-over to the rooms above.

Volumes are bank volumes. Gold is raw gold in place: what panning loses is added back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from pennyweight.errors import Finding
from pennyweight.sampling.gold import ClassMass
from pennyweight.sampling.nuggetgold import NuggetGold
from pennyweight.sampling.recovery import Recovery
from pennyweight.sampling.volume import VolumeBasis
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
    exact_mg_m3 : tuple of float or None
        Exact 80 % limits from this sample's colors alone, at its mean mass and
        volume (Garwood 1936) [mg/m3 bank]; with no color the upper one is what the
        ground may still hold. None where nothing was counted.
    own_rel_sd : float
        Relative standard deviation of the grade without the parts that all samples
        share [-]; nan without a grade.
    own_bank_m3, own_colors : float or None
        Of this sample alone, where `bank_m3` and `colors` hold a duplicate too [m3],
        [-]. Colors are None where nobody counted and the weight is below the balance's
        step: unknown, not zero.
    pooled : tuple of str
        Duplicates that `bank_m3`, `colors` and the grade also hold.
    nuggets : int
        Grains in it that are kept apart: `colors`, `color_mg` and `exact_mg_m3` leave
        them out, `own_colors` counts them [-].
    nugget_mg : float
        Their mass [mg].
    nugget_mg_m3 : Spread or None
        Gold in nuggets at this place, which the grade includes [mg/m3 bank].
    counted : bool
        Whether somebody counted its colors; else `own_colors` is the number that its
        weight stands for.
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
    exact_mg_m3: tuple[float, float] | None = None
    own_rel_sd: float = float("nan")
    own_bank_m3: float | None = None
    own_colors: float | None = None
    counted: bool = True
    pooled: tuple[str, ...] = ()
    nuggets: int = 0
    nugget_mg: float = 0.0
    nugget_mg_m3: Spread | None = None


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
        One factor over every mass: calibration of mean masses and of recovery [-].
    assumptions : mapping
        Every value that the program supplied, by a key that names its unit.
    findings : tuple of Finding
        What is odd.
    masses : tuple of ClassMass
        What a color of each size class weighs, and on what that rests.
    recoveries : mapping
        Size class to its recovery.
    basis : VolumeBasis or None
        Pan and swell.
    nuggets : NuggetGold or None
        Nuggets of the ground as a whole, which enter no other sample's grade; None
        where none was found.
    """

    samples: tuple[GradedSample, ...]
    volume_common_rel_sd: float
    mass_common_rel_sd: float
    assumptions: Mapping[str, Any]
    findings: tuple[Finding, ...] = ()
    masses: tuple[ClassMass, ...] = ()
    recoveries: Mapping[str, Recovery] = field(default_factory=dict)
    basis: VolumeBasis | None = None
    nuggets: NuggetGold | None = None

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


def reliability_of(grade: Spread | None) -> Reliability:
    """Return the word for how sure a grade is.

    Parameters
    ----------
    grade : Spread or None
        In any one unit [-].

    Returns
    -------
    {"good", "fair", "poor", "none"}
        By the half-width of the 80 % interval over the median.

    Examples
    --------
    >>> reliability_of(Spread(80.0, 100.0, 120.0, 100.0))
    'good'
    """
    if grade is None:
        return "none"
    width = grade.half_width_share()
    return "good" if width < GOOD_BELOW else "fair" if width < FAIR_BELOW else "poor"
