"""What does this one pan say? The calculator, without any book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pennyweight import __version__
from pennyweight.answers.wording import number_words, quantity_words
from pennyweight.errors import CallError
from pennyweight.records import Ground, Log, PanTest, Sample, Tally
from pennyweight.sampling.classes import UNSIZED
from pennyweight.sampling.grade import grade_samples
from pennyweight.spread import Spread
from pennyweight.units import METRIC, Measures

#: Colors that a sample should hold before its grade is leaned on: Clifton et al.
#: (1969), USGS Professional Paper 625-C.
ENOUGH_COLORS = 20.0

UNSIZED_CAUTION = (
    "A count without size is a guess at weight: unsized colors differ by a factor of "
    "thirty and more. Size them, or weigh some together."
)


#: Colors expected where one try of ten shows none: -ln 0.1 (Garwood 1936).
LIMIT_OF_NONE = 2.302585092994046
#: Most of each that is taken [-]; no camp table sees more.
MOST_PANS, MOST_COLORS, MOST_GRAINS = 1e6, 1e7, 1e6
#: Most gold of one sample [mg]: ten kilograms.
MOST_MG = 1e7


@dataclass(frozen=True, slots=True, kw_only=True)
class PanMore:
    """What a person may know besides pans and colors; what is None is supposed.

    Attributes
    ----------
    size_class : str or None
        Class of all the colors, in its one written form.
    weighed_mg, balance_mg : float or None
        Weight of all the colors, and reading step of the balance [mg].
    put_in, found : int or None
        Grains salted into tailings to try one's panning, and found again [-].
    fineness : float or None
        Gold in 1000 parts of raw gold [-].
    """

    size_class: str | None = None
    weighed_mg: float | None = None
    balance_mg: float | None = None
    put_in: int | None = None
    found: int | None = None
    fineness: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReckonAnswer:
    """One sample of grade, in the fields of `SampleGrade`, with what was supposed."""

    pans: float
    counted: bool
    weighed_mg: float | None
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
    colors: int | None,
    pan_volume_m3: float | None = None,
    *,
    swell: float | None = None,
    more: PanMore | None = None,
) -> ReckonAnswer:
    """Return what a number of colors in a number of pans can and cannot mean.

    Parameters
    ----------
    pans : float
        Pans washed, above 0 [-].
    colors : int or None
        Colors seen in all of them, 0 or more [-]; None where they were only weighed.
    pan_volume_m3 : float, optional
        What the pan holds, loose [m3]; else a struck 16-inch pan is supposed.
    swell : float, optional
        Growth of the ground when dug, 0 to below 1 [-]; else 0.20 is supposed.
    more : PanMore, optional
        What else is known.

    Returns
    -------
    ReckonAnswer
        One sample of grade, and the same in plain words.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    """
    more = more or PanMore()
    _check_call(pans, colors, pan_volume_m3, swell=swell, more=more)
    graded = grade_samples(
        _log_of(pans, colors, more, pan_volume_m3=pan_volume_m3, swell=swell)
    )
    one = graded.samples[0]
    untold = more.size_class is None and more.weighed_mg is None
    answer = ReckonAnswer(
        pans=float(pans),
        counted=colors is not None,
        weighed_mg=more.weighed_mg,
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
        pans_for_20_colors=ENOUGH_COLORS / one.colors * pans if one.colors else None,
        why=one.why,
        plain="",
        cautions=(UNSIZED_CAUTION,) if untold else (),
        assumptions=graded.assumptions,
    )
    return replace(answer, plain=say_pan(answer, METRIC))


def _log_of(
    pans: float,
    colors: int | None,
    more: PanMore,
    *,
    pan_volume_m3: float | None,
    swell: float | None,
) -> Log:
    """Return the record that holds nothing but this pan."""
    size_class, name = more.size_class or UNSIZED, "this pan"
    tallies: tuple[Tally, ...] = ()
    tests: tuple[PanTest, ...] = ()
    if colors is not None:
        tallies = (Tally(sample=name, size_class=size_class, colors=int(colors)),)
    if more.put_in is not None and more.found is not None:
        test = PanTest(
            number=1, size_class=size_class, put_in=more.put_in, found=more.found
        )
        tests = (test,)
    return Log(
        ground=Ground(pan_volume_m3=pan_volume_m3, swell=swell, fineness=more.fineness),
        samples=(
            Sample(
                sample=name,
                dig="here",
                pans=float(pans),
                weighed_mg=more.weighed_mg,
                balance_mg=more.balance_mg,
            ),
        ),
        tallies=tallies,
        pantests=tests,
    )


def _check_call(
    pans: float,
    colors: int | None,
    pan_volume_m3: float | None,
    *,
    swell: float | None,
    more: PanMore,
) -> None:
    """Refuse numbers that no pan can give."""
    if not 0.0 < pans < MOST_PANS:
        msg = f"pans is {pans}; give the pans washed, above 0 and below a million."
        raise CallError(msg)
    if colors is None and more.weighed_mg is None:
        msg = "colors and weight are missing; give the colors seen, or what they weigh."
        raise CallError(msg)
    if colors is not None and not 0 <= colors < MOST_COLORS:
        msg = f"colors is {colors}; give the number seen, 0 to ten million."
        raise CallError(msg)
    if pan_volume_m3 is not None and not 1e-5 <= pan_volume_m3 < 1.0:
        liters = pan_volume_m3 * 1000.0
        msg = (
            f"the pan holds {liters:g} l; give what it holds, 0.01 to below 1000 l "
            "(6 is usual)."
        )
        raise CallError(msg)
    if swell is not None and not 0.0 <= swell < 1.0:
        msg = f"swell is {swell}; give a share from 0 to below 1 (0.25 is 25 percent)."
        raise CallError(msg)
    _check_more(more)


def _check_more(more: PanMore) -> None:
    """Refuse what no balance, test or melt can give."""
    if more.weighed_mg is not None and not 0.0 <= more.weighed_mg <= MOST_MG:
        msg = f"the colors weigh {more.weighed_mg:g} mg; give 0 to {MOST_MG:,.0f} mg."
        raise CallError(msg)
    if more.balance_mg is not None and not 1e-4 <= more.balance_mg <= 1e5:
        msg = f"the balance reads to {more.balance_mg:g} mg; give 0.0001 to 100,000 mg."
        raise CallError(msg)
    if (more.put_in is None) != (more.found is None):
        msg = "a pan test is two numbers; give the grains put in and those found."
        raise CallError(msg)
    put_in, found = more.put_in or 0, more.found or 0
    if more.put_in is not None and not (1 <= put_in <= MOST_GRAINS and found <= put_in):
        msg = (
            f"{found} of {put_in} grains were found again; put in 1 or more, find no "
            "more than that."
        )
        raise CallError(msg)
    if more.fineness is not None and not 300.0 <= more.fineness <= 1000.0:
        msg = f"fineness is {more.fineness:g}; give 300 to 1000 parts in 1000."
        raise CallError(msg)


def say_pan(answer: ReckonAnswer, measures: Measures) -> str:
    """Return what a pan says as a person would say it.

    Parameters
    ----------
    answer : ReckonAnswer
        The answer.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        One to three sentences.
    """
    grade, bank_m3 = answer.grade_mg_m3, answer.bank_m3
    if grade is None or bank_m3 is None:
        return answer.why
    washed = f"{answer.pans:g} pan{'' if answer.pans == 1 else 's'}"
    share = f"{washed}, {number_words(bank_m3 * 1000.0, 3)} liters of ground as it lies"
    if answer.counted and answer.colors == 0 and answer.exact_mg_m3 is not None:
        most = quantity_words(answer.exact_mg_m3[1], "grade", measures)
        a_pan = number_words(LIMIT_OF_NONE / answer.pans)
        return (
            f"No color in {share}. That is not zero: ground that holds {most}, or "
            f"gives up to {a_pan} colors a pan, still shows none in one such try of "
            "ten."
        )
    if not answer.counted and not answer.weighed_mg:
        most = quantity_words(grade.p90, "grade", measures)
        return (
            f"Less gold in {share} than the balance reads. That is not zero: with nine "
            f"chances in ten the ground holds at most {most}."
        )
    middle, high = (
        quantity_words(one, "grade", measures) for one in (grade.p50, grade.p90)
    )
    low = number_words(measures.show(grade.p10, "grade")[0])
    text = (
        f"{_seen(answer)} in {share}: most likely about {middle}, and with four "
        f"chances in five between {low} and {high}."
    )
    pans = answer.pans_for_20_colors
    if answer.counted and pans is not None and pans > answer.pans:
        text += (
            f" At this rate about {number_words(pans - answer.pans)} more pans would "
            "bring 20 colors, the least to lean on."
        )
    return text


def _seen(answer: ReckonAnswer) -> str:
    """Return what was found: "3 colors", or the weight."""
    if answer.counted and answer.colors is not None:
        plural = "" if answer.colors == 1 else "s"
        return f"{answer.colors:,.0f} color{plural}"
    return f"{number_words(answer.weighed_mg or 0.0, 3)} mg of gold"
