"""Nuggets shown: added to their own sample's grade, and told in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from scipy.special import ndtri

from pennyweight.errors import Finding
from pennyweight.sampling.cutting import cut_highest
from pennyweight.sampling.graded import GradedSample, GradedSamples, reliability_of
from pennyweight.sampling.nuggetgold import PRIOR_SHARE, NuggetGold, weigh_nuggets
from pennyweight.sampling.nuggets import Nugget
from pennyweight.spread import Spread

ONLY_NUGGET = (
    "Only nuggets are written down for it: how many ordinary colors it holds is "
    "unknown, not zero."
)


def add_nuggets(graded: GradedSamples, nuggets: Sequence[Nugget]) -> GradedSamples:
    """Return the judged samples with their nuggets.

    Parameters
    ----------
    graded : GradedSamples
        The ordinary gold of a ground.
    nuggets : sequence of Nugget
        What was taken out before.

    Returns
    -------
    GradedSamples
        Unchanged without nuggets. Else each nugget raises the grade of its own
        sample, and the whole ground has a rate of them; no other sample changes.

    Notes
    -----
    Both parts of a sum are supposed to be high and low together, so their quantiles
    add: the widest interval that the two allow.
    """
    if not nuggets:
        return graded
    by_sample = {one.sample: one for one in nuggets}
    held = [
        one
        for sample in graded.samples
        if sample.counts_for_grade
        for name in (sample.sample, *sample.pooled)
        if (one := by_sample.get(name)) is not None
    ]
    counting = [one for one in graded.samples if one.counts_for_grade and one.bank_m3]
    gold = None
    if held and counting:
        washed_m3 = sum(one.bank_m3 or 0.0 for one in counting)
        gold = weigh_nuggets(tuple(held), washed_m3, _ordinary(counting))
    samples = tuple(_with_own(one, by_sample, gold) for one in graded.samples)
    assumptions = dict(graded.assumptions)
    if gold is not None:
        assumptions["nugget_share"] = PRIOR_SHARE
    return replace(
        graded,
        samples=samples,
        nuggets=gold,
        assumptions=assumptions,
        findings=(*graded.findings, *_findings(samples)),
    )


def _ordinary(counting: Sequence[GradedSample]) -> float:
    """Return the mean ordinary grade of the samples, by volume [mg/m3]."""
    rows = [
        (one.grade_mg_m3.mean, one.bank_m3)
        for one in counting
        if one.grade_mg_m3 is not None and one.bank_m3
    ]
    return sum(mean * bank for mean, bank in rows) / sum(bank for _, bank in rows)


def _with_own(
    sample: GradedSample, by_sample: dict[str, Nugget], gold: NuggetGold | None
) -> GradedSample:
    """Return a sample with its own nuggets, where it holds some."""
    inside = [by_sample[k] for k in (sample.sample, *sample.pooled) if k in by_sample]
    if not inside:
        return sample
    number = sum(one.number for one in inside)
    own = by_sample.get(sample.sample)
    own_colors = sample.own_colors
    if own is not None:
        own_colors = (own_colors or 0.0) + own.number
    found = replace(
        sample,
        nuggets=number,
        nugget_mg=sum(one.mg for one in inside),
        own_colors=own_colors,
    )
    if sample.grade_mg_m3 is None or sample.bank_m3 is None:
        return replace(found, why=ONLY_NUGGET) if sample.colors is None else found
    if gold is None or not sample.counts_for_grade:
        return found
    more = gold.at_sample(number, sample.bank_m3)
    grade = _plus(sample.grade_mg_m3, more)
    return replace(
        found,
        grade_mg_m3=grade,
        reliability=reliability_of(grade),
        nugget_mg_m3=more,
        own_rel_sd=_own_rel_sd(sample.grade_mg_m3.mean, sample.own_rel_sd, more),
        why=" ".join(filter(None, (_why(found), sample.why))),
    )


def _plus(one: Spread, more: Spread) -> Spread:
    """Return the sum of two quantities that are high and low together."""
    return Spread(
        one.p10 + more.p10, one.p50 + more.p50, one.p90 + more.p90, one.mean + more.mean
    )


def _own_rel_sd(mean_mg_m3: float, own_rel_sd: float, more: Spread) -> float:
    """Return the relative spread of ordinary gold and nuggets together [-].

    That of the nuggets is the one of the lognormal law with their interval.
    """
    log_sd = math.log(more.p90 / more.p10) / (2.0 * float(ndtri(0.9)))
    nuggets_sd = more.mean * math.sqrt(math.expm1(log_sd**2))
    return math.hypot(mean_mg_m3 * own_rel_sd, nuggets_sd) / (mean_mg_m3 + more.mean)


def _called(sample: GradedSample) -> str:
    """Return what a sample's nuggets are called, with their mass."""
    mass = f"{_figure(sample.nugget_mg)} mg"
    if sample.nuggets == 1:
        return f"One nugget of {mass}"
    return f"{sample.nuggets} nuggets of {mass} together"


def _figure(value: float) -> str:
    """Return a number with three digits and no exponent."""
    return f"{float(f'{value:.3g}'):,.15g}"


def _why(sample: GradedSample) -> str:
    """Return how a sample's nuggets entered its grade."""
    return (
        f"{_called(sample)} {'is' if sample.nuggets == 1 else 'are'} kept apart from "
        "its colors: how often such grains lie here is told from all that was washed."
    )


def _findings(samples: Sequence[GradedSample]) -> list[Finding]:
    """Return each sample with nuggets, with what the handbook would do."""
    as_found = [
        (one.colors * one.color_mg / one.recovery + one.nugget_mg) / one.bank_m3
        for one in samples
        if one.counts_for_grade and one.bank_m3 and one.colors is not None
    ]
    plain = ""
    if len(as_found) > 1:
        cut = cut_highest(as_found)
        plain = (
            f" Taken as found, the plain mean of {len(as_found)} samples would be "
            f"{_figure(cut.mean)} mg/m3; handbooks leave the highest out "
            f"({_figure(cut.without_highest)}) or lower it to the next "
            f"({_figure(cut.capped_at_next)}). Here nothing is cut: how often such "
            "grains come is told apart."
        )
    return [
        Finding(
            f"sample {one.sample}",
            f"{_called(one)}, far heavier than the other gold of this ground.{plain}",
            "Cut the spot again before believing it; rule out a mistake or salting. "
            "More pans tell how often such grains come.",
            "doubt",
        )
        for one in samples
        if one.nuggets
    ]
