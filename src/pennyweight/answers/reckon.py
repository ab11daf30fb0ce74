"""What does this one pan say? The calculator, without any book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pennyweight import __version__
from pennyweight.errors import CallError
from pennyweight.records import Ground, Log, Sample, Tally
from pennyweight.sampling.classes import UNSIZED
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSample
from pennyweight.spread import Spread

#: Colors that a sample should hold before its grade is leaned on: Clifton et al.
#: (1969), USGS Professional Paper 625-C.
ENOUGH_COLORS = 20.0

UNSIZED_CAUTION = (
    "A count without size is a guess at weight: unsized colors differ by a factor of "
    "thirty and more. Size them, or weigh some together."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReckonAnswer:
    """One sample of grade, in the fields of `SampleGrade`, with what was supposed."""

    sample: str
    dig: str
    line: str | None
    top_m: float | None
    bottom_m: float | None
    bank_m3: float | None
    colors: float | None
    grade_mg_m3: Spread | None
    reliability: str
    exact_mg_m3: tuple[float, float] | None
    pans_for_20_colors: float | None
    why: str
    plain: str
    version: str = __version__
    cautions: tuple[str, ...] = ()
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def reckon_pan(
    pans: float,
    colors: int,
    pan_volume_m3: float | None = None,
    *,
    swell: float | None = None,
) -> ReckonAnswer:
    """Return what a number of colors in a number of pans can and cannot mean.

    Parameters
    ----------
    pans : float
        Pans washed, above 0 [-].
    colors : int
        Colors seen in all of them, 0 or more [-].
    pan_volume_m3 : float, optional
        What the pan holds, loose [m3]; else a struck 16-inch pan is supposed.
    swell : float, optional
        Growth of the ground when dug, 0 to below 1 [-]; else 0.20 is supposed.

    Returns
    -------
    ReckonAnswer
        One sample of grade, and the same in plain words.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    """
    _check_call(pans, colors, pan_volume_m3, swell=swell)
    sample = Sample(sample="this pan", dig="here", pans=float(pans))
    tally = Tally(sample="this pan", size_class=UNSIZED, colors=int(colors))
    ground = Ground(pan_volume_m3=pan_volume_m3, swell=swell)
    graded = grade_samples(Log(ground=ground, samples=(sample,), tallies=(tally,)))
    one = graded.samples[0]
    return ReckonAnswer(
        sample=one.sample,
        dig=one.dig,
        line=None,
        top_m=None,
        bottom_m=None,
        bank_m3=one.bank_m3,
        colors=one.colors,
        grade_mg_m3=one.grade_mg_m3,
        reliability=one.reliability,
        exact_mg_m3=one.exact_mg_m3,
        pans_for_20_colors=ENOUGH_COLORS / colors * pans if colors else None,
        why=one.why,
        plain=_say(one, pans, colors),
        cautions=(UNSIZED_CAUTION,),
        assumptions=graded.assumptions,
    )


def _check_call(
    pans: float, colors: int, pan_volume_m3: float | None, *, swell: float | None
) -> None:
    """Refuse numbers that no pan can give."""
    if not 0.0 < pans < 1e6:
        msg = f"pans is {pans}; give the number of pans washed, above 0."
        raise CallError(msg)
    if not 0 <= colors < 1e7:
        msg = f"colors is {colors}; give the number seen, 0 or more."
        raise CallError(msg)
    if pan_volume_m3 is not None and not 0.0 < pan_volume_m3 < 1.0:
        liters = pan_volume_m3 * 1000.0
        msg = f"the pan holds {liters:g} l; give what it holds, above 0 (6 is usual)."
        raise CallError(msg)
    if swell is not None and not 0.0 <= swell < 1.0:
        msg = f"swell is {swell}; give a share from 0 to below 1 (0.25 is 25 percent)."
        raise CallError(msg)


def _say(one: GradedSample, pans: float, colors: int) -> str:
    """Return the result as a person would say it."""
    if one.grade_mg_m3 is None or one.exact_mg_m3 is None or one.bank_m3 is None:
        return one.why
    washed = f"{pans:g} pan{'' if pans == 1 else 's'}"
    liters = one.bank_m3 * 1000.0
    share = f"{washed}, {_figure(liters, 3)} liters of ground as it lies"
    if colors == 0:
        most = one.exact_mg_m3[1] * one.bank_m3 * one.recovery / one.color_mg / pans
        return (
            f"No color in {share}. That is not zero: ground that gives up to "
            f"{_figure(most)} colors a pan still shows none in one such try of ten."
        )
    grade = one.grade_mg_m3
    text = (
        f"{colors} color{'' if colors == 1 else 's'} in {share}: most likely about "
        f"{_figure(grade.p50)} mg/m3, and with four chances in five between "
        f"{_figure(grade.p10)} and {_figure(grade.p90)} mg/m3."
    )
    if colors < ENOUGH_COLORS:
        more = ENOUGH_COLORS / colors * pans - pans
        text += (
            f" At this rate about {_figure(more)} more pans would bring 20 colors, the "
            "least to lean on."
        )
    return text


def _figure(value: float, digits: int = 2) -> str:
    """Return a number with few digits and no exponent."""
    return f"{float(f'{value:.{digits}g}'):,.15g}"
