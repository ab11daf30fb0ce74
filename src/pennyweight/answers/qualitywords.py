"""How far to trust what the pans say: a sentence or two, and the numbers behind."""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.wording import (
    MINUS,
    NO_BREAK,
    count_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
)
from pennyweight.sampling.quality import (
    WONDER_SAMPLES,
    WONDER_SHARE,
    Blank,
    Drift,
    Duplicate,
    Influence,
    Precision,
    Review,
)
from pennyweight.units import METRIC, Measures

#: Words of a finding that speak of gold which was not in the ground.
SALTED = "salting"
#: Samples whose weight in the answer is listed.
MOST_LISTED = 3
Facts = list[tuple[str, str]]


def quality_verdict(answer: GradeAnswer) -> str:
    """Return in a few short sentences how far the samples can be trusted.

    Parameters
    ----------
    answer : GradeAnswer
        What each pan says.

    Returns
    -------
    str
        Plain words; empty where there is nothing to judge.
    """
    review = answer.review
    if review is None:
        return ""
    told = [
        _on_repeating(review.precision, review.duplicates),
        _on_blanks(review),
        _on_one_sample(review),
    ]
    odd = [one for one in answer.findings if one.weight != "note"]
    if odd:
        asks = "asks" if len(odd) == 1 else "ask"
        told.append(
            f"{count_words(len(odd), 'thing')} {asks} for a second look; nothing was "
            "left out because of it."
        )
    else:
        told.append("Nothing else looks odd.")
    return " ".join(filter(None, told))


def _on_repeating(precision: Precision | None, pairs: Sequence[Duplicate]) -> str:
    """Return how well one sample repeats."""
    if precision is None:
        if pairs:
            return "Repeated samples showed no gold, first or second."
        return (
            "No sample was repeated, so nobody knows how well one repeats: cut one in "
            "ten twice."
        )
    pairs_of = count_words(precision.pairs, "pair")
    near = precision.low <= 1.15 * precision.luck_rel_sd
    luck = "about what" if near else "more than"
    return (
        f"By {pairs_of} of repeated samples one sample is off by about "
        f"{percent_words(precision.rel_sd)}, {luck} the luck of counting gives "
        f"({percent_words(precision.luck_rel_sd)})."
    )


def _on_blanks(review: Review) -> str:
    """Return what the blanks showed; nothing where there is none."""
    if not review.blanks:
        return ""
    dirty = [one.sample for one in review.blanks if not one.is_clean]
    if dirty:
        shown = "shows" if len(dirty) == 1 else "show"
        return (
            f"{count_words(len(dirty), 'blank')} {shown} gold that came from outside: "
            "dirty tools, or salting."
        )
    return f"{count_words(len(review.blanks), 'blank')} washed, no gold in it."


def _on_one_sample(review: Review) -> str:
    """Return whether the answer hangs on one sample."""
    if len(review.influence) < WONDER_SAMPLES:
        return ""
    top = review.influence[0]
    if top.gold_share > WONDER_SHARE:
        return (
            f"Sample {top.sample} alone holds {percent_words(top.gold_share)} of the "
            "gold of all samples: a one-pan wonder until it is cut again."
        )
    return "No single sample carries the answer."


def quality_facts(answer: GradeAnswer, measures: Measures = METRIC) -> Facts:
    """Return the numbers behind that verdict.

    Parameters
    ----------
    answer : GradeAnswer
        What each pan says.
    measures : Measures
        The reader's units.

    Returns
    -------
    list of (str, str)
        What, and how much.
    """
    review = answer.review
    if review is None:
        return []
    return [
        *_repeated(review),
        *[
            (f"Blank {one.sample}", "no gold" if one.is_clean else _gold_in(one))
            for one in review.blanks
        ],
        *_influential(review, measures),
        *_handbook(review, measures),
        *[(f"Washed by {one.who}", _drift_words(one)) for one in review.people],
        *[(f"On {one.who}", _drift_words(one)) for one in review.days],
        _suspicion(answer),
    ]


def _gold_in(blank: Blank) -> str:
    """Return what a blank showed."""
    if blank.colors:
        return count_words(blank.colors, "color")
    return f"{number_words(blank.weighed_mg or 0.0)}{NO_BREAK}mg"


def _repeated(review: Review) -> Facts:
    """Return precision and pairs."""
    rows: Facts = []
    if review.precision is not None:
        one = review.precision
        low, high = 100.0 * one.low, 100.0 * one.high
        shown = f"{percent_words(one.rel_sd)} (80{NO_BREAK}%: {range_words(low, high)})"
        rows.append(("One sample is off by, one sigma", shown))
        rows.append(("By the luck of counting alone", percent_words(one.luck_rel_sd)))
    for pair in review.duplicates:
        ratio = (
            "the first shows none"
            if pair.ratio is None
            else f"{number_words(pair.ratio)} times the first"
        )
        chance = percent_words(pair.chance)
        rows.append(
            (
                f"{pair.second} repeats {pair.first}",
                f"{ratio}; so far apart by luck: {chance}",
            )
        )
    return rows


def _influential(review: Review, measures: Measures) -> Facts:
    """Return what the mean would be without each of the samples that weigh most."""
    return [
        (f"Without sample {one.sample}", _without(one, measures))
        for one in review.influence[:MOST_LISTED]
    ]


def _without(one: Influence, measures: Measures) -> str:
    """Return the mean of the other samples."""
    mean = quantity_words(one.mean_without, "grade", measures, figures=3)
    sign = "+" if one.change >= 0.0 else MINUS
    change = f"{sign}{percent_words(abs(one.change))}"
    return (
        f"mean by thickness {mean}, {change}; it holds {percent_words(one.gold_share)}"
    )


def _handbook(review: Review, measures: Measures) -> Facts:
    """Return what the handbooks would make of the highest value."""
    cut = review.cut
    if cut is None:
        return []
    means = (cut.mean, cut.without_highest, cut.capped_at_next)
    all_, without, capped = (
        quantity_words(one, "grade", measures, figures=3) for one in means
    )
    return [
        ("Plain mean of all samples, nothing cut", all_),
        ("Handbook: highest left out", without),
        ("Handbook: highest lowered to the next", capped),
    ]


def _drift_words(one: Drift) -> str:
    """Return what one finds against what the same lines hold."""
    between = range_words(one.low, one.high)
    return (
        f"{number_words(one.colors, 3)} colors, {number_words(one.expected, 3)} "
        f"expected: ratio {number_words(one.ratio)} (95{NO_BREAK}%: {between})"
    )


def _suspicion(answer: GradeAnswer) -> tuple[str, str]:
    """Return where salting or foreign gold must be ruled out."""
    places = [
        one.where
        for one in answer.findings
        if SALTED in f"{one.problem} {one.remedy}" or "not there before" in one.problem
    ]
    found = ", ".join(dict.fromkeys(places)) or "nowhere"
    return "Mistake, salting or foreign gold to rule out", found
