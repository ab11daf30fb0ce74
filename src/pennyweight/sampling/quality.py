"""How far the samples can be trusted: duplicates, blanks, wonders, drift, salting.

Everything here is a doubt for a person to look into. Nothing is left out of a grade
because of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import bdtr, bdtrc, gammaincinv, ndtri

from pennyweight.errors import Finding
from pennyweight.records import Log, Sample
from pennyweight.sampling.cutting import Cut, cut_highest
from pennyweight.sampling.graded import GradedSample
from pennyweight.sampling.posterior import exact_limits
from pennyweight.sampling.tallies import count_colors

FloatArray = npt.NDArray[np.float64]

#: A sample that holds more than this of the gold of at least so many is a wonder [-].
WONDER_SHARE, WONDER_SAMPLES = 0.30, 5
#: Chance below which two results are called different [-]; ours.
UNLIKELY, VERY_UNLIKELY = 0.01, 0.001
#: Chance below which only the limit is said [-].
LEAST_TOLD = 1e-5
#: Difference of fineness that asks for a reason [parts in 1000]; ours.
ODD_FINENESS = 40.0
#: Least colors behind a person's or a day's share before it is judged [-]; ours.
LEAST_DRIFT_COLORS = 20.0


@dataclass(frozen=True, slots=True)
class Duplicate:
    """Two samples of the same ground.

    Attributes
    ----------
    first, second : str
        Samples.
    ratio : float or None
        Colors per volume, second over first [-]; None where the first shows none.
    chance : float
        Of a difference at least so great by luck alone [-].
    """

    first: str
    second: str
    ratio: float | None
    chance: float


@dataclass(frozen=True, slots=True)
class Precision:
    """What all duplicates together say of a single sample.

    Attributes
    ----------
    pairs : int
        Pairs with gold in them [-].
    rel_sd, low, high : float
        Relative standard deviation of one sample, and its 80 % interval [-].
    luck_rel_sd : float
        What counting alone would give [-].
    """

    pairs: int
    rel_sd: float
    low: float
    high: float
    luck_rel_sd: float


@dataclass(frozen=True, slots=True)
class Influence:
    """How much of the answer rests on one sample.

    Attributes
    ----------
    sample : str
        Its name.
    gold_share : float
        Of the gold total [-].
    mean_without : float
        Mean grade of the others [mg/m3].
    change : float
        Of the mean grade when it is left out, below 0 for a fall [-].
    """

    sample: str
    gold_share: float
    mean_without: float
    change: float


@dataclass(frozen=True, slots=True)
class Drift:
    """What one person or one day finds against what the same lines hold.

    Attributes
    ----------
    who : str
        Person, or date.
    colors, expected : float
        Found, and to be expected at the lines' own means [-].
    ratio, low, high : float
        Found over expected, and its 95 % interval with the samples' own scatter [-].
    """

    who: str
    colors: float
    expected: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Blank:
    """Barren material that was washed on purpose.

    Attributes
    ----------
    sample : str
        Its name.
    colors : int or None
        Colors in it [-]; None where nobody counted.
    weighed_mg : float or None
        Gold in it [mg]; None where nobody weighed.
    """

    sample: str
    colors: int | None
    weighed_mg: float | None

    @property
    def is_clean(self) -> bool:
        """Whether it was looked at and showed no gold."""
        return not (self.colors or self.weighed_mg)


@dataclass(frozen=True, slots=True)
class Review:
    """What the grades rest on, in numbers.

    Attributes
    ----------
    precision : Precision or None
        From duplicates; None without a pair that holds gold.
    influence : tuple of Influence
        Of each sample, the greatest first.
    cut : Cut or None
        What the handbooks would make of the highest value; for comparison only.
    people, days : tuple of Drift
        What each finds against what the same lines hold.
    duplicates : tuple of Duplicate
        How each repeated sample compares with its first.
    blanks : tuple of Blank
        Barren material washed on purpose, and what it showed.
    """

    precision: Precision | None
    influence: tuple[Influence, ...]
    cut: Cut | None
    people: tuple[Drift, ...]
    days: tuple[Drift, ...]
    duplicates: tuple[Duplicate, ...] = ()
    blanks: tuple[Blank, ...] = ()


def review_quality(log: Log, graded: Sequence[GradedSample]) -> Review:
    """Return what the grades rest on: duplicates, single samples, people, days.

    Parameters
    ----------
    log : Log
        The whole record.
    graded : sequence of GradedSample
        Its samples, judged.

    Returns
    -------
    Review
        Numbers; `check_quality` puts what is odd into words.
    """
    counting = [
        one
        for one in graded
        if one.counts_for_grade and one.grade_mg_m3 is not None and one.bank_m3
    ]
    grades = [one.grade_mg_m3.p50 for one in counting if one.grade_mg_m3 is not None]
    names = [one.sample for one in counting]
    records = {one.sample: one for one in log.samples}
    lines: Mapping[str, str | None] = {one.dig: one.line or one.dig for one in log.digs}
    counted = [one for one in graded if _is_counted(one)]
    groups = [lines.get(one.dig, one.dig) for one in counted]
    colors = [one.own_colors or 0.0 for one in counted]
    exposure = [_exposure(one) for one in counted]
    people = [records[one.sample].by for one in counted]
    days = [records[one.sample].date for one in counted]
    return Review(
        precision=precision_of(log, graded),
        influence=tuple(weigh_influence(grades, _thickness(counting), names)),
        cut=cut_highest(grades) if len(grades) > 1 else None,
        people=tuple(find_drift(people, groups, colors, exposure=exposure)),
        days=tuple(find_drift(days, groups, colors, exposure=exposure)),
        duplicates=tuple(compare_duplicates(log, graded)),
        blanks=tuple(_washed_blanks(log)),
    )


def _washed_blanks(log: Log) -> Iterator[Blank]:
    """Yield the blanks that were washed, with what they showed."""
    colors = count_colors(log.tallies)
    for one in log.samples:
        if one.blank and (one.sample in colors or one.weighed_mg is not None):
            seen = colors[one.sample].total if one.sample in colors else None
            yield Blank(one.sample, seen, one.weighed_mg)


def compare_duplicates(log: Log, graded: Sequence[GradedSample]) -> list[Duplicate]:
    """Return how each duplicate compares with its first sample.

    Parameters
    ----------
    log : Log
        The whole record.
    graded : sequence of GradedSample
        Its samples, judged.

    Returns
    -------
    list of Duplicate
        Those where both were counted and have a fair volume.

    Notes
    -----
    In ground of one grade the colors of the second, given those of both, are
    binomial with its share of the exposure: an exact test, twice the smaller tail.
    """
    by_name = {one.sample: one for one in graded}
    found = []
    for second in log.samples:
        first = by_name.get(second.duplicate_of or "")
        other = by_name[second.sample]
        if first is None or not (_is_counted(first) and _is_counted(other)):
            continue
        a, b = int(first.own_colors or 0.0), int(other.own_colors or 0.0)
        share = _exposure(other) / (_exposure(other) + _exposure(first))
        chance = _chance_of_parting(b, a + b, share)
        ratio = b / a * (1.0 - share) / share if a else None
        found.append(Duplicate(first.sample, second.sample, ratio, chance))
    return found


def _chance_of_parting(second: int, both: int, share: float) -> float:
    """Return the two-sided chance of a part so far from its share: twice a tail."""
    if both == 0:
        return 1.0
    below = float(bdtr(second, both, share))
    above = float(bdtrc(second - 1, both, share)) if second else 1.0
    return min(1.0, 2.0 * min(below, above))


def _is_counted(one: GradedSample) -> bool:
    """Return whether a sample has counted colors and a fair volume."""
    return one.exact_mg_m3 is not None and (one.own_bank_m3 or 0.0) > 0.0


def _exposure(one: GradedSample) -> float:
    """Return the volume that a sample's own colors were found in [m3]."""
    return (one.own_bank_m3 or 0.0) * one.recovery


def duplicate_precision(
    first: npt.ArrayLike, second: npt.ArrayLike, expected_colors: float
) -> Precision | None:
    """Return how well one sample repeats, from pairs of grades.

    Parameters
    ----------
    first, second : array_like, shape (n_pairs,)
        Grades of both [mg/m3].
    expected_colors : float
        Colors of a typical sample of the pairs [-].

    Returns
    -------
    Precision or None
        None where no pair holds gold.

    Notes
    -----
    Relative variance of one sample = mean of (a - b)^2 / (2 m^2), with m the pair's
    mean; its interval from the chi-square distribution with one degree of freedom a
    pair.

    References
    ----------
    Dahlberg (1940) error of duplicate measurements, from memory; docs/sources.md
    "duplicates".

    Examples
    --------
    >>> found = duplicate_precision([90.0, 110.0], [110.0, 90.0], 50.0)
    >>> round(found.rel_sd, 4)
    0.1414
    """
    a, b = np.asarray(first, np.float64), np.asarray(second, np.float64)
    mean = (a + b) / 2.0
    some = mean > 0.0
    pairs = int(some.sum())
    if not pairs:
        return None
    variance = float((((a - b)[some] / mean[some]) ** 2).mean() / 2.0)
    half = pairs / 2.0
    low, high = (half / float(gammaincinv(half, share)) for share in (0.9, 0.1))
    return Precision(
        pairs=pairs,
        rel_sd=math.sqrt(variance),
        low=math.sqrt(variance * low),
        high=math.sqrt(variance * high),
        luck_rel_sd=1.0 / math.sqrt(max(expected_colors, 1.0)),
    )


def precision_of(log: Log, graded: Sequence[GradedSample]) -> Precision | None:
    """Return the precision of one sample from all duplicates of a record.

    Parameters
    ----------
    log : Log
        The whole record.
    graded : sequence of GradedSample
        Its samples, judged.

    Returns
    -------
    Precision or None
        None without a pair that holds gold.
    """
    by_name = {one.sample: one for one in graded}
    pairs = [
        (by_name[one.first], by_name[one.second])
        for one in compare_duplicates(log, graded)
    ]
    if not pairs:
        return None
    rates = [
        [(one.own_colors or 0.0) / _exposure(one) * one.color_mg for one in pair]
        for pair in pairs
    ]
    colors = [one.own_colors or 0.0 for pair in pairs for one in pair]
    first, second = np.array(rates).T
    return duplicate_precision(first, second, float(np.mean(colors)))


def weigh_influence(
    grades_mg_m3: npt.ArrayLike, weights: npt.ArrayLike, names: Sequence[str]
) -> list[Influence]:
    """Return how much of the mean grade rests on each sample, the greatest first.

    Parameters
    ----------
    grades_mg_m3 : array_like, shape (n_samples,)
        Grades [mg/m3].
    weights : array_like, shape (n_samples,)
        Thickness or volume that each stands for, 0 or more [-].
    names : sequence of str
        Of the samples.

    Returns
    -------
    list of Influence
        Empty for fewer than two samples or no gold.

    Notes
    -----
    Leave one out: the weighted mean of the others against that of all.

    Examples
    --------
    >>> found = weigh_influence([10.0, 90.0], [1.0, 1.0], ["a", "b"])
    >>> found[0].sample, found[0].gold_share, found[0].change
    ('b', 0.9, -0.8)
    """
    grade, weight = (np.asarray(x, np.float64) for x in (grades_mg_m3, weights))
    gold = grade * weight
    total, whole = float(gold.sum()), float(weight.sum())
    if len(names) < 2 or total <= 0.0:
        return []
    mean = total / whole
    found = []
    for k in np.argsort(-gold, kind="stable"):
        rest = whole - float(weight[k])
        without = (total - float(gold[k])) / rest if rest > 0.0 else 0.0
        found.append(
            Influence(names[k], float(gold[k]) / total, without, without / mean - 1.0)
        )
    return found


def find_drift(
    who: Sequence[str | None],
    groups: Sequence[str | None],
    colors: npt.ArrayLike,
    *,
    exposure: npt.ArrayLike,
) -> list[Drift]:
    """Return what each person, or each day, finds against the lines' own means.

    Parameters
    ----------
    who : sequence of str or None, shape (n_samples,)
        Person or date; None is left out.
    groups : sequence of str or None, shape (n_samples,)
        Ground that is alike: the line, or the dig. Those with one person say nothing.
    colors : array_like, shape (n_samples,)
        Colors found [-].
    exposure : array_like, shape (n_samples,)
        Volume times recovery [m3].

    Returns
    -------
    list of Drift
        Those with at least `LEAST_DRIFT_COLORS` expected.

    Notes
    -----
    Expected colors are the group's mean rate times the exposure. The interval is
    normal on the log ratio, with variance = dispersion / expected, and dispersion
    the mean of (found - expected)^2 / expected, never below 1.

    Examples
    --------
    >>> find_drift(["a", "b"], ["1", "1"], [30, 90], exposure=[1.0, 1.0])[0].ratio
    0.5
    """
    found, volume = (np.asarray(x, np.float64) for x in (colors, exposure))
    expected = np.full(len(found), np.nan)
    for group in {one for one in groups if one is not None}:
        rows = np.array(
            [g == group and w is not None for g, w in zip(groups, who, strict=True)]
        )
        people = {w for w, row in zip(who, rows, strict=True) if row}
        if len(people) > 1 and volume[rows].sum() > 0.0:
            expected[rows] = volume[rows] * found[rows].sum() / volume[rows].sum()
    told = np.isfinite(expected) & (expected > 0.0)
    if told.sum() < 2:
        return []
    scatter = (found[told] - expected[told]) ** 2 / expected[told]
    dispersion = max(float(scatter.mean()), 1.0)
    drifts = []
    for one in sorted(
        {w for w, t in zip(who, told, strict=True) if t and w is not None}
    ):
        rows = told & np.array([w == one for w in who])
        seen, hoped = float(found[rows].sum()), float(expected[rows].sum())
        if hoped < LEAST_DRIFT_COLORS:
            continue
        reach = math.exp(1.96 * math.sqrt(dispersion / hoped))
        ratio = seen / hoped
        drifts.append(Drift(one, seen, hoped, ratio, ratio / reach, ratio * reach))
    return drifts


def check_quality(
    log: Log, graded: Sequence[GradedSample], review: Review | None = None
) -> list[Finding]:
    """Return every doubt about how far the samples can be trusted.

    Parameters
    ----------
    log : Log
        The whole record.
    graded : sequence of GradedSample
        Its samples, judged.
    review : Review, optional
        What they rest on; else worked out here.

    Returns
    -------
    list of Finding
        Blanks with gold, duplicates that differ, wonders, drift, odd fineness.
    """
    seen = review if review is not None else review_quality(log, graded)
    return [
        *_doubt_blanks(log),
        *_doubt_duplicates(log, graded),
        *_doubt_wonders(log, seen),
        *_doubt_drift("washed by", seen.people),
        *_doubt_drift("day", seen.days),
        *_doubt_fineness(log.samples),
    ]


def _doubt_blanks(log: Log) -> Iterator[Finding]:
    """Yield blanks that hold gold: it came from outside."""
    colors = count_colors(log.tallies)
    blanks = [one for one in log.samples if one.blank]
    for one in blanks:
        seen = colors[one.sample].total if one.sample in colors else 0
        if seen or (one.weighed_mg or 0.0) > 0.0:
            shown = f"{seen} colors" if seen else f"{one.weighed_mg:g} mg"
            most = float(exact_limits([seen])[1][0])
            yield Finding(
                f"sample {one.sample}",
                f"A blank shows {shown}; up to {most:.1f} colors may come into every "
                "such sample from outside.",
                "Clean pan and tools, wash another blank, and rule out salting.",
                "doubt",
            )


def _rarely(chance: float) -> str:
    """Return how seldom luck alone does that."""
    if chance < LEAST_TOLD:
        return f"by luck less than once in {1.0 / LEAST_TOLD:,.0f} times"
    return f"by luck once in {float(f'{1.0 / chance:.1g}'):,.0f} times"


def _doubt_duplicates(log: Log, graded: Sequence[GradedSample]) -> Iterator[Finding]:
    """Yield duplicates that differ more than luck allows."""
    for one in compare_duplicates(log, graded):
        if one.chance < UNLIKELY:
            strong = one.chance < VERY_UNLIKELY
            yield Finding(
                f"samples {one.first} and {one.second}",
                "They repeat the same ground and differ more than luck allows "
                f"({_rarely(one.chance)}).",
                "Cut it a third time; look for a mixed-up bag, a nugget or salting."
                if strong
                else "Cut it a third time.",
                "doubt",
            )


def _doubt_wonders(log: Log, review: Review) -> Iterator[Finding]:
    """Yield samples on which the answer rests, with what the handbook would do."""
    found, cut = review.influence, review.cut
    repeated = {one.duplicate_of for one in log.samples if one.duplicate_of}
    if cut is None or len(found) < WONDER_SAMPLES:
        return
    if found[0].gold_share <= WONDER_SHARE:
        return
    top = found[0]
    bare = (
        "It stands alone: cut the spot again before believing it; rule out a mistake "
        "or salting."
    )
    plain = (
        f"plain mean {cut.without_highest:.3g} instead of {cut.mean:.3g} mg/m3) or "
        f"lower it to the next ({cut.capped_at_next:.3g} mg/m3); here it stays."
    )
    yield Finding(
        f"sample {top.sample}",
        f"It alone holds {top.gold_share:.0%} of the gold of {len(found)} samples; "
        f"without it the mean grade changes by {top.change:+.0%}. Handbooks would "
        f"leave it out ({plain}",
        "Cut the spot again." if top.sample in repeated else bare,
        "doubt",
    )


def _thickness(samples: Sequence[GradedSample]) -> FloatArray:
    """Return the thickness that each sample stands for; 1 m where none is known."""
    return np.array(
        [
            one.bottom_m - one.top_m
            if one.bottom_m is not None and one.top_m is not None
            else 1.0
            for one in samples
        ],
        dtype=np.float64,
    )


def _doubt_drift(label: str, drifts: Sequence[Drift]) -> Iterator[Finding]:
    """Yield people or days that find more or less than others in the same lines."""
    # One in twenty of many looks odd by luck: the limit grows with their number.
    limit = -float(ndtri(UNLIKELY / 2.0 / max(len(drifts), 1))) / 1.96
    for one in drifts:
        reach = math.log(one.high / one.ratio) * limit if one.ratio > 0.0 else 0.0
        if one.ratio <= 0.0 or abs(math.log(one.ratio)) > reach:
            yield Finding(
                f"{label} {one.who}",
                f"{one.colors:.0f} colors where the same lines let "
                f"{one.expected:.0f} expect (ratio {one.ratio:.2f}).",
                "Have both wash halves of one sample; test the panning with counted "
                "grains.",
                "doubt",
            )


def _doubt_fineness(samples: Sequence[Sample]) -> Iterator[Finding]:
    """Yield samples whose gold is of another fineness than the rest."""
    known = [(s.sample, s.fineness) for s in samples if s.fineness is not None]
    if len(known) < WONDER_SAMPLES:
        return
    middle = float(np.median([fineness for _, fineness in known]))
    for sample, fineness in known:
        if abs(fineness - middle) > ODD_FINENESS:
            yield Finding(
                f"sample {sample}",
                f"Its gold is {fineness:.0f} fine, the ground's {middle:.0f}: another "
                "source, an assay gone wrong, or gold that was not there before.",
                "Have it assayed again, and cut the spot again.",
                "doubt",
            )
