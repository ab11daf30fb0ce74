"""Is it worth it? The answer `worth`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.carried import say_carried
from pennyweight.answers.frame import Frame
from pennyweight.answers.grade import refuse_unwashed
from pennyweight.answers.influence import (
    Without,
    all_poor,
    read_without,
    strongest_sample,
)
from pennyweight.answers.minable import LeftOut, Minable, outline_columns
from pennyweight.answers.mineground import (
    COLUMNS_PER_WIDTH,
    minable_of,
    terms_of,
)
from pennyweight.answers.oneday import OneMoreDay
from pennyweight.answers.openmine import (
    Mine,
    add_nuggets,
    leave_out_nuggets,
    open_mine,
    weigh_day,
)
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.worthcautions import Risks, say_cautions, say_heavy
from pennyweight.answers.worthparts import (
    BreakEven,
    Cash,
    DepthRow,
    PriceMap,
    PriceRow,
    Room,
    SizeRow,
    break_even,
    depth_rows,
    map_prices,
    plan_cash,
    plan_room,
    price_rows,
    size_rows,
)
from pennyweight.answers.worthsaid import (
    PROBABLY_LOSS,
    Case,
    decide,
    say_knowing,
    say_poor,
    say_reasons,
)
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.blocks import slice_shares
from pennyweight.worth.pit import Pit
from pennyweight.worth.risk import (
    Swing,
    break_even_price,
    chance_of_loss,
    swing_terms,
    worth_of_knowing,
)
from pennyweight.worth.season import Stretch, order_stretches, plan_stretches
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import Terms

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
    seasons: float = 1.0
    availability: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthAnswer(Answer):
    """Gold, money and the chance of losing it; money in `currency`.

    `decision` is mine, sample more, walk away, or not told.
    """

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
    decision: str = "not told"
    reasons: tuple[str, ...] = ()
    one_more_day: OneMoreDay | None = None
    break_even: BreakEven | None = None
    prices: tuple[PriceRow, ...] = ()
    cost_of_machine_width: float | None = None
    cash: Cash | None = None
    room: Room | None = None
    stones: Stones | None = None
    sizes: tuple[SizeRow, ...] = ()
    depths: tuple[DepthRow, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    swings: tuple[Swing, ...] = ()
    """What each term alone does to the expected margin, the strongest first."""
    margin_draws: npt.NDArray[np.float64] | None = for_pictures(default=None)
    """Margin of the cut, one value a draw [currency]."""
    price_map: PriceMap | None = for_pictures(default=None)
    worth_of_knowing: float | None = for_pictures(default=None)
    """The most that any sampling could still add to the plan [currency]."""
    break_even_price_per_g: float | None = for_pictures(default=None)
    """Price of fine gold at which the cut brings nothing [currency/g]."""
    without: tuple[Without, ...] = ()
    """What is left without the nuggets, and without the sample it rests on most."""


#: Share of the samples' gold from which one sample is left out for a trial [-]; ours.
TRIED_SHARE = 0.10


def weigh_worth(reading: Reading) -> WorthAnswer:
    """Return what the best cut would bring, and the chance that it loses money.

    Raises
    ------
    TooLittleError
        Price or costs are missing; the text names the keys to give. Or no washed
        sample has a volume.
    """
    return reading.once("worth", lambda: _weigh(reading, alone=True))


def _weigh(reading: Reading, *, alone: bool) -> WorthAnswer:
    """Return the answer; `alone` asks whether it holds without its strongest sample."""
    terms = terms_of(reading)
    trace = trace_streaks(reading)
    reading.progress(0.9, "finding the best cut")
    if not trace.fields:
        refuse_unwashed(reading)
    minable = minable_of(
        reading,
        edge_m=terms.min_width_m / COLUMNS_PER_WIDTH,
        min_pay_m=terms.min_pay_m,
        terms=terms,
    )
    assumptions = {**trace.assumptions, **terms.assumptions}
    known = (*trace.cautions, *say_carried(reading))
    if minable is None:
        return WorthAnswer(
            **reading.heading(),
            **_nothing(terms),
            cautions=say_cautions(known, Risks(terms=terms)),
            assumptions=assumptions,
            break_even_grade_mg_m3=terms.break_even_grade_mg_m3(),
            verdict="It cannot be told yet: no stretch between lines was sampled.",
        )
    mine = open_mine(reading, terms, minable)
    assumptions |= mine.walls.assumptions
    best = mine.cuts.best
    risks = Risks(
        terms=terms,
        minable=minable,
        pit=best,
        stones=mine.stones,
    )
    cautions = say_cautions(known, risks)
    day = weigh_day(mine) if alone else None
    if best.is_empty:
        return _no_cut(mine, assumptions, cautions=cautions, day=day)
    return _with_cut(mine, assumptions, cautions=cautions, day=day, alone=alone)


def _with_cut(
    mine: Mine,
    assumptions: Mapping[str, Any],
    *,
    cautions: tuple[str, ...],
    day: OneMoreDay | None,
    alone: bool,
) -> WorthAnswer:
    reading, terms = mine.reading, mine.terms
    ordinary = replace(mine.cuts.best, kept_factor=mine.kept)
    pit = add_nuggets(reading, ordinary)
    revenue, cost = pit.revenue(terms), pit.cost(terms)
    margin = revenue - cost
    gold_g = pit.gold_total_mg / 1000.0
    swings = swing_terms(terms, lambda one: pit.revenue(one) - pit.cost(one), gold_g)
    case = Case(
        margin=float(margin.mean()),
        loss=chance_of_loss(margin),
        low=float(np.quantile(margin, 0.1)),
        day=day,
        stones=mine.stones,
        terms=terms,
        all_poor=all_poor(reading),
    )
    if alone:
        withouts = (
            *leave_out_nuggets(reading, terms, (ordinary, pit)),
            *_without_sample(reading, terms, case.margin, case.loss),
        )
        case = replace(case, withouts=withouts)
    price = break_even_price(revenue, cost, terms.price_per_g)
    decided, even = decide(case), break_even(pit, terms, price)
    return WorthAnswer(
        **reading.heading(),
        **_plan_mining(mine, pit),
        cautions=(*cautions, *say_heavy(gold_g)),
        assumptions=assumptions,
        cut=_show_cut(pit, mine.minable, mine.frame),
        gold_g=spread_of(gold_g),
        recovered_g=spread_of(gold_g * terms.recovery * pit.kept_factor),
        revenue=spread_of(revenue),
        cost=spread_of(cost),
        margin=spread_of(margin),
        chance_of_loss=case.loss,
        break_even_grade_mg_m3=even.grade_mg_m3,
        break_even=even,
        verdict=decided.verdict,
        decision=decided.decision,
        reasons=(
            *say_reasons(case, swings, even, cuts=mine.cuts),
            *say_knowing(worth_of_knowing(margin), case),
        ),
        currency=terms.currency,
        one_more_day=day,
        margin_draws=margin,
        swings=tuple(swings),
        worth_of_knowing=worth_of_knowing(margin),
        break_even_price_per_g=price,
        without=case.withouts,
    )


def _plan_mining(mine: Mine, pit: Pit) -> dict[str, Any]:
    """Return what comes after the money: season, purse, room, rows of tables."""
    terms, blocks = mine.terms, mine.minable.blocks
    upstream = plan_stretches(
        blocks.s_edges_m,
        terms,
        gold_mg=pit.gold_mg.sum(axis=2),
        pay_m3=pit.pay_m3.sum(axis=2),
        cover_m3=pit.cover_m3.sum(axis=2),
        opened_m2=pit.opened_m2.sum(axis=1),
        kept_factor=pit.kept_factor,
    )
    ordered = order_stretches(upstream, laid_out=terms.each_season + terms.bond)
    shares = slice_shares(blocks, mine.walls.slice_m)
    return _shown_ground(mine) | {
        "season": _show_season(pit, ordered, terms),
        "cash": plan_cash(mine.reading, ordered, upstream, terms=terms),
        "room": plan_room(
            mine.reading,
            terms,
            stretches=ordered,
            pit=pit,
            minable=mine.minable,
            water=mine.water,
        ),
        "sizes": size_rows(pit, mine.size_draws, terms),
        "depths": depth_rows(pit, blocks, shares),
        "cost_of_machine_width": pit.width_cost,
    }


def _shown_ground(mine: Mine) -> dict[str, Any]:
    """Return what is told of the ground whether or not there is a cut."""
    nested, blocks = mine.cuts.nested, mine.minable.blocks
    return {
        "prices": price_rows(nested, blocks, mine.terms),
        "price_map": map_prices(nested, blocks) if nested else None,
        "stones": mine.stones,
        "left_out": mine.minable.left_out,
    }


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


def _nothing(terms: Terms) -> dict[str, Any]:
    """Return the fields of an answer without a cut."""
    empty = (
        "cut",
        "gold_g",
        "recovered_g",
        "revenue",
        "cost",
        "margin",
        "chance_of_loss",
        "season",
    )
    return dict.fromkeys(empty) | {"currency": terms.currency}


def _no_cut(
    mine: Mine,
    assumptions: Mapping[str, Any],
    *,
    cautions: tuple[str, ...],
    day: OneMoreDay | None,
) -> WorthAnswer:
    terms = mine.terms
    ratio = _typical_strip_ratio(mine.minable)
    needed = terms.break_even_grade_mg_m3(ratio)
    decided = say_poor(mine.minable, needed, day=day, terms=terms, nested=mine.cuts)
    return WorthAnswer(
        **mine.reading.heading(),
        **_nothing(terms),
        **_shown_ground(mine),
        cautions=cautions,
        assumptions=assumptions,
        break_even_grade_mg_m3=needed,
        verdict=decided.verdict,
        decision=decided.decision,
        one_more_day=day,
    )


def _show_cut(pit: Pit, minable: Minable, frame: Frame) -> Cut:
    """Return the cut; its depth is spread over the columns that are opened."""
    blocks, opened = minable.blocks, pit.opened_m2 > 0.0
    rows, columns = (np.flatnonzero(opened.any(axis=axis)) for axis in (1, 0))
    cover = float(pit.cover_total_m3.mean())
    pay = float(pit.pay_total_m3.mean())
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


def _show_season(pit: Pit, ordered: Sequence[Stretch], terms: Terms) -> Season:
    hours = float(pit.hours(terms).mean())
    return Season(
        days=hours / (terms.hours_per_day * terms.availability),
        hours=hours / terms.availability,
        m3_per_hour=terms.m3_per_hour,
        seasons=hours / terms.season_hours,
        availability=terms.availability,
        blocks=tuple(
            SeasonBlock(
                s0_m=one.s0_m,
                s1_m=one.s1_m,
                overburden_m3=one.cover_m3,
                pay_m3=one.pay_m3,
                hours=one.hours / terms.availability,
                margin=spread_of(one.margin) or Spread(0.0, 0.0, 0.0, 0.0),
            )
            for one in ordered
        ),
    )


def _typical_strip_ratio(minable: Minable) -> float:
    """Return overburden over pay where pay is counted [-]."""
    pay = minable.blocks.pay_m3.sum(axis=1)
    counted = pay.mean(axis=0) > 0.0
    if not counted.any():
        return 0.0
    cover = minable.blocks.cover_m3[:, counted].mean()
    return float(cover / pay[:, counted].mean())
