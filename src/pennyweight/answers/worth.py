"""Is it worth it? The answer `worth`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_graded, refuse_unwashed
from pennyweight.answers.influence import (
    MUCH_OF_MEAN,
    Without,
    all_poor,
    draw_nuggets,
    heavy_tail,
    nugget_words,
    read_without,
    strongest_sample,
)
from pennyweight.answers.minable import Minable, make_minable, outline_columns
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, trace_streaks
from pennyweight.answers.wording import list_words, number_words, percent_words
from pennyweight.answers.worthsaid import PROBABLY_LOSS, say_reasons, say_verdict
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.cut import GRAVEL_WALL_DEG, Pit, find_cut
from pennyweight.worth.plants import size_shares
from pennyweight.worth.risk import (
    Swing,
    break_even_price,
    chance_of_loss,
    swing_terms,
    worth_of_knowing,
)
from pennyweight.worth.season import plan_stretches
from pennyweight.worth.terms import Terms, read_terms

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The ground proposed for mining."""

    polygon: Mapping[str, Any]
    depth_m: Spread
    overburden_m3: float
    pay_m3: float
    strip_ratio: float
    s0_m: float = for_pictures(default=0.0)
    s1_m: float = for_pictures(default=0.0)
    n0_m: float = for_pictures(default=0.0)
    n1_m: float = for_pictures(default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonBlock:
    """One block of the cut in the order of mining."""

    s0_m: float
    s1_m: float
    overburden_m3: float
    pay_m3: float
    hours: float
    margin: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """How long the cut takes."""

    days: float
    hours: float
    m3_per_hour: float
    blocks: tuple[SeasonBlock, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthAnswer(Answer):
    """Gold, money and the chance of losing it; money in `currency`."""

    cut: Cut | None
    gold_g: Spread | None
    recovered_g: Spread | None
    revenue: Spread | None
    cost: Spread | None
    margin: Spread | None
    chance_of_loss: float | None
    break_even_grade_mg_m3: float | None
    season: Season | None
    verdict: str
    currency: str
    margin_draws: npt.NDArray[np.float64] | None = for_pictures(default=None)
    """Margin of the cut, one value a draw [currency]."""
    swings: tuple[Swing, ...] = for_pictures(default=())
    """What each term alone does to the expected margin, the strongest first."""
    worth_of_knowing: float | None = for_pictures(default=None)
    """The most that any sampling could still add to the plan [currency]."""
    break_even_price_per_g: float | None = for_pictures(default=None)
    """Price of fine gold at which the cut brings nothing [currency/g]."""
    without: tuple[Without, ...] = ()
    """What is left without the nuggets, and without the sample it rests on most."""


#: Share of the samples' gold from which one sample is left out for a trial [-]; ours.
TRIED_SHARE = 0.10

NO_RESOURCE = "This is no resource or reserve statement under any code."
WALL_CAUTION = (
    "Volumes are reckoned with walls that slope 1.5 across for 1 down, as United "
    "States rules ask of gravel (29 CFR 1926 Subpart P, up to 20 ft deep). No wall is "
    "promised to stand: follow the rules of your place, and keep out of ground that "
    "runs or seeps."
)
PERMIT_CAUTION = (
    "Digging by machine needs permits almost everywhere: ask before moving anything."
)


def weigh_worth(reading: Reading) -> WorthAnswer:
    """Return what the best cut would bring, and the chance that it loses money.

    Raises
    ------
    TooLittleError
        Price or costs are missing; the text names the keys to give. Or no washed
        sample has a volume.
    """
    return reading.once("worth", lambda: _weigh(reading, alone=True))


def terms_of(reading: Reading) -> Terms:
    """Return price, costs and plant of a reading, supplied where not recorded.

    Raises
    ------
    TooLittleError
        Price or costs are missing.
    """
    log = reading.log
    return read_terms(log.ground, size_shares(log.tallies))


def minable_of(reading: Reading, *, edge_m: float, min_pay_m: float) -> Minable | None:
    """Return the blocks of a reading, made once for each size."""
    trace = trace_streaks(reading)
    return reading.once(
        ("minable", edge_m, min_pay_m),
        lambda: make_minable(
            trace.fields, frame_ground(reading), edge_m=edge_m, min_pay_m=min_pay_m
        ),
    )


def _weigh(reading: Reading, *, alone: bool) -> WorthAnswer:
    """Return the answer; `alone` asks whether it holds without its strongest sample."""
    terms = terms_of(reading)
    trace, frame = trace_streaks(reading), frame_ground(reading)
    reading.progress(0.9, "finding the best cut")
    if not trace.fields:
        refuse_unwashed(reading)
    minable = minable_of(reading, edge_m=terms.min_width_m, min_pay_m=terms.min_pay_m)
    assumptions = {**trace.assumptions, **terms.assumptions}
    if minable is None:
        return _no_cut(
            reading,
            terms,
            assumptions,
            cautions=trace.cautions,
            verdict="It cannot be told yet: no stretch between lines was sampled.",
        )
    assumptions["wall_slope_deg"] = GRAVEL_WALL_DEG
    pit = find_cut(minable.blocks, terms)
    cautions = _cautions(minable, pit, terms, trace)
    if pit.is_empty:
        return _no_cut(
            reading,
            terms,
            assumptions,
            cautions=cautions,
            verdict=_poor_verdict(minable, terms),
            strip_ratio=_typical_strip_ratio(minable),
        )
    return _with_cut(
        reading,
        terms,
        assumptions,
        pit=pit,
        where=(minable, frame),
        cautions=cautions,
        alone=alone,
    )


def _with_cut(
    reading: Reading,
    terms: Terms,
    assumptions: Mapping[str, Any],
    *,
    pit: Pit,
    where: tuple[Minable, Frame],
    cautions: tuple[str, ...],
    alone: bool,
) -> WorthAnswer:
    minable, frame = where
    ordinary, pit = pit, _add_nuggets(reading, pit)
    revenue, cost = pit.revenue(terms), pit.cost(terms)
    margin = revenue - cost
    gold_g = pit.gold_mg.sum(axis=(1, 2)) / 1000.0
    pay_m3 = float(pit.pay_m3.sum(axis=(1, 2)).mean())
    swings = swing_terms(terms, lambda one: pit.revenue(one) - pit.cost(one), gold_g)
    loss = chance_of_loss(margin)
    knowing = worth_of_knowing(margin)
    mean = float(margin.mean())
    withouts: tuple[Without, ...] = ()
    if alone:
        withouts = (
            *_without_nuggets(reading, terms, (ordinary, pit)),
            *_without_sample(reading, terms, mean, loss),
        )
    verdict = say_verdict(mean, loss, withouts=withouts, all_poor=all_poor(reading))
    return WorthAnswer(
        **reading.heading(),
        cautions=(*cautions, *_heavy(gold_g)),
        assumptions=assumptions,
        cut=_show_cut(pit, minable, frame),
        gold_g=spread_of(gold_g),
        recovered_g=spread_of(gold_g * terms.recovery),
        revenue=spread_of(revenue),
        cost=spread_of(cost),
        margin=spread_of(margin),
        chance_of_loss=loss,
        break_even_grade_mg_m3=float(cost.mean()) / pay_m3 / terms.value_per_mg,
        season=_plan_season(pit, minable, terms),
        verdict=verdict + say_reasons(mean, swings, knowing, terms=terms),
        currency=terms.currency,
        margin_draws=margin,
        swings=tuple(swings),
        worth_of_knowing=knowing,
        break_even_price_per_g=break_even_price(revenue, cost, terms.price_per_g),
        without=withouts,
    )


def _add_nuggets(reading: Reading, pit: Pit) -> Pit:
    """Return the pit with what nuggets add to its pay; they never choose the pit."""
    nuggets_mg_m3 = draw_nuggets(reading, len(pit.gold_mg))
    if nuggets_mg_m3 is None:
        return pit
    more = nuggets_mg_m3[:, None, None] * pit.pay_m3
    return replace(pit, gold_mg=pit.gold_mg + more)


def _without_nuggets(
    reading: Reading, terms: Terms, pits: tuple[Pit, Pit]
) -> tuple[Without, ...]:
    """Return what the cut brings without the nuggets' gold."""
    gold = read_graded(reading).nuggets
    if gold is None:
        return ()
    ordinary, whole = pits
    margin = ordinary.revenue(terms) - ordinary.cost(terms)
    share = 1.0 - float(ordinary.gold_mg.sum() / whole.gold_mg.sum())
    return (
        Without(
            sample=gold.nuggets[0].sample,
            what=nugget_words(gold),
            gold_share=share,
            gold_of="the gold in the cut",
            margin_mean=float(margin.mean()),
            chance_of_loss=chance_of_loss(margin),
            currency=terms.currency,
            many=gold.number > 1,
        ),
    )


def _without_sample(
    reading: Reading, terms: Terms, mean: float, loss: float
) -> tuple[Without, ...]:
    """Return the answer over again without its strongest sample, where that matters.

    That is where it pays, and one sample holds much of the samples' gold.
    """
    if mean <= 0.0 or loss > PROBABLY_LOSS:
        return ()
    top = strongest_sample(reading)
    if top is None or top.gold_share < TRIED_SHARE:
        return ()
    left = _weigh(read_without(reading, top.sample), alone=False)
    return (
        Without(
            sample=top.sample,
            what=f"sample {top.sample}",
            gold_share=top.gold_share,
            gold_of="the gold of all samples",
            margin_mean=None if left.margin is None else left.margin.mean,
            chance_of_loss=left.chance_of_loss,
            currency=terms.currency,
        ),
    )


def _heavy(gold_g: FloatArray) -> tuple[str, ...]:
    """Return the caution where the mean rests on a few draws."""
    share = heavy_tail(gold_g)
    if share <= MUCH_OF_MEAN:
        return ()
    said = (
        f"One draw in a hundred holds {percent_words(share)} of the expected gold of "
        "the cut: lean on the middle value, not on the mean."
    )
    return (said,)


def _no_cut(
    reading: Reading,
    terms: Terms,
    assumptions: Mapping[str, Any],
    *,
    cautions: tuple[str, ...],
    verdict: str,
    strip_ratio: float = 0.0,
) -> WorthAnswer:
    return WorthAnswer(
        **reading.heading(),
        cautions=cautions,
        assumptions=assumptions,
        cut=None,
        gold_g=None,
        recovered_g=None,
        revenue=None,
        cost=None,
        margin=None,
        chance_of_loss=None,
        break_even_grade_mg_m3=terms.break_even_grade_mg_m3(strip_ratio),
        season=None,
        verdict=verdict,
        currency=terms.currency,
    )


def _show_cut(pit: Pit, minable: Minable, frame: Frame) -> Cut:
    """Return the cut; its depth is spread over the columns that are opened."""
    blocks, opened = minable.blocks, pit.opened_m2 > 0.0
    rows, columns = (np.flatnonzero(opened.any(axis=axis)) for axis in (1, 0))
    cover = float(pit.cover_m3.sum(axis=(1, 2)).mean())
    pay = float(pit.pay_m3.sum(axis=(1, 2)).mean())
    depth = spread_of(pit.depth_m[opened])
    return Cut(
        polygon=outline_columns(blocks, opened, frame),
        depth_m=depth if depth is not None else Spread(0.0, 0.0, 0.0, 0.0),
        overburden_m3=cover,
        pay_m3=pay,
        strip_ratio=cover / pay,
        s0_m=float(blocks.s_edges_m[rows[0]]),
        s1_m=float(blocks.s_edges_m[rows[-1] + 1]),
        n0_m=float(blocks.n_edges_m[columns[0]]),
        n1_m=float(blocks.n_edges_m[columns[-1] + 1]),
    )


def _plan_season(pit: Pit, minable: Minable, terms: Terms) -> Season:
    hours = float(pit.hours(terms).mean())
    stretches = plan_stretches(
        minable.blocks.s_edges_m,
        terms,
        gold_mg=pit.gold_mg.sum(axis=2),
        pay_m3=pit.pay_m3.sum(axis=2),
        cover_m3=pit.cover_m3.sum(axis=2),
        opened_m2=pit.opened_m2.sum(axis=1),
    )
    return Season(
        days=hours / terms.hours_per_day,
        hours=hours,
        m3_per_hour=terms.m3_per_hour,
        blocks=tuple(
            SeasonBlock(
                s0_m=one.s0_m,
                s1_m=one.s1_m,
                overburden_m3=one.cover_m3,
                pay_m3=one.pay_m3,
                hours=one.hours,
                margin=spread_of(one.margin) or Spread(0.0, 0.0, 0.0, 0.0),
            )
            for one in stretches
        ),
    )


def _poor_verdict(minable: Minable, terms: Terms) -> str:
    """Return why nothing pays, with the best ground that there is."""
    blocks = minable.blocks
    needed = terms.break_even_grade_mg_m3(_typical_strip_ratio(minable))
    gold, pay = blocks.cautious_gold_mg, blocks.pay_m3.mean(axis=0)
    rich = pay > 0.0
    if not rich.any():
        return "Leave it: no ground inside the boundary was sampled."
    best = float((gold[rich] / pay[rich]).max())
    said = "Leave it: no ground pays for its own digging and washing; "
    if best <= 0.0:
        return said + "no gold was found in it."
    if best > needed:
        return said + "its rich spots are too small for the ground around them."
    return said + (
        f"its richest block is expected to hold {number_words(best)} mg/m³ of pay, and "
        f"pay must hold about {number_words(needed)} mg/m³."
    )


def _typical_strip_ratio(minable: Minable) -> float:
    """Return overburden over pay where pay is counted [-]."""
    pay = minable.blocks.pay_m3.sum(axis=1)
    counted = pay.mean(axis=0) > 0.0
    if not counted.any():
        return 0.0
    cover = minable.blocks.cover_m3[:, counted].mean()
    return float(cover / pay[:, counted].mean())


def _cautions(
    minable: Minable, pit: Pit, terms: Terms, trace: TraceAnswer
) -> tuple[str, ...]:
    said = [*trace.cautions, NO_RESOURCE]
    if not pit.is_empty:
        said += [WALL_CAUTION, PERMIT_CAUTION]
    if not minable.has_boundary:
        said.append("No boundary is drawn: the cut may leave your claim.")
    if not minable.depth_known:
        said.append(
            "How deep the pay lies cannot be told: overburden is reckoned as nothing, "
            "and costs are too low."
        )
    opened = pit.opened_m2 > 0.0
    if (opened & minable.in_worked).any():
        said.append("The cut takes in ground that was mined before: gold may be gone.")
    if (opened & minable.in_water).any():
        said.append("The cut takes in water: pumping and permits are not reckoned.")
    seasons = float(pit.hours(terms).mean()) / terms.season_hours
    if seasons > 1.0:
        said.append(f"The cut takes {seasons:.1f} seasons of {terms.days:.0f} days.")
    if terms.not_understood:
        names = list_words(terms.not_understood)
        said.append(f"Not understood, and left out of the costs: {names}.")
    return tuple(said)
