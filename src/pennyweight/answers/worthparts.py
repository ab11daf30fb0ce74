"""The parts of the answer `worth` beside the money: what each is and how it is made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.minable import Minable
from pennyweight.answers.mineground import Water, mud_share
from pennyweight.answers.reading import Reading
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.blocks import Blocks
from pennyweight.worth.cash import follow_cash, present_value
from pennyweight.worth.cut import PriceCut
from pennyweight.worth.pit import Pit
from pennyweight.worth.plants import SIZE_LIMITS_MM
from pennyweight.worth.season import Stretch, money_at_risk
from pennyweight.worth.spoil import DEFAULT_SWELL, SpoilRoom, plan_spoil
from pennyweight.worth.terms import Terms
from pennyweight.worth.waterneed import WaterNeed, need_water

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

NOTHING = Spread(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRow:
    """Gold of one range of sizes; an end that is open is None."""

    from_mm: float | None
    to_mm: float | None
    gold_g: Spread
    keeps: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthRow:
    """One slice of the cut, from top to bottom below the surface."""

    top_m: float
    bottom_m: float
    overburden_m3: float
    pay_m3: float
    gold_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """The ground that goes at a price of gold, with all that goes at lower ones."""

    price_per_g: float
    price_share: float
    area_m2: float
    overburden_m3: float
    pay_m3: float
    recovered_g: float
    margin: float
    margin_at_todays_price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceMap:
    """Which price each column of ground waits for, for the picture.

    `price_share` is nan where it does not go at any of the prices.
    """

    s_edges_m: FloatArray
    n_edges_m: FloatArray
    price_share: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class CashWeek:
    """The purse at the end of a working week; week 0 is before the first."""

    week: int
    cash: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Cash:
    """The purse week by week.

    `at_risk` is the deepest that it goes. `paid_back_week` is the first working week
    from which it stays above nothing in half of the draws; None where it does not.
    `worth_today` is what is left with interest paid, where the user gives one.
    """

    weeks: tuple[CashWeek, ...]
    at_risk: Spread
    at_risk_upstream: float
    at_risk_in_order: float
    is_upstream: bool
    paid_back_week: int | None
    weeks_taken: Spread | None
    worth_today: Spread | None
    cut_off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """Where the cut brings nothing, one thing changed at a time.

    `gold_share` is the part of the expected gold that is enough; `recovery` is None
    where even a plant that keeps all is not enough.
    """

    price_per_g: float | None
    grade_mg_m3: float
    recovery: float | None
    gold_share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Room for spoil and water, as orders of magnitude."""

    spoil: SpoilRoom
    water: WaterNeed
    water_digs: int
    digs: int
    free_m2: float


def size_rows(pit: Pit, shares: FloatArray, terms: Terms) -> tuple[SizeRow, ...]:
    """Return the gold of the cut by size."""
    edges = (None, *SIZE_LIMITS_MM, None)
    grams = pit.gold_total_mg[:, None] / 1000.0 * shares
    return tuple(
        SizeRow(
            from_mm=edges[at],
            to_mm=edges[at + 1],
            gold_g=spread_of(grams[:, at]) or NOTHING,
            keeps=terms.keeps[at],
        )
        for at in range(grams.shape[1])
    )


def depth_rows(
    pit: Pit, blocks: Blocks, shares: tuple[FloatArray, FloatArray]
) -> tuple[DepthRow, ...]:
    """Return what each slice of the cut holds, expected; the nuggets' gold left out."""
    pay_share, cover_share = shares
    taken = pay_share * pit.mined
    washed = pit.washed[:, None] * taken
    pay_m3, cover_m3 = blocks.pay_m3.mean(axis=0), blocks.cover_m3.mean(axis=0)
    gold = (blocks.mean_gold_mg[:, None] * washed).sum(axis=(0, 2, 3)) / 1000.0
    pay = (pay_m3[:, None] * washed).sum(axis=(0, 2, 3))
    thrown = (pay_m3[:, None] * (taken - washed)).sum(axis=(0, 2, 3))
    cover = (cover_m3 * cover_share * pit.mined).sum(axis=(1, 2)) + thrown
    return tuple(
        DepthRow(
            top_m=at * pit.slice_m,
            bottom_m=(at + 1) * pit.slice_m,
            overburden_m3=round(float(cover[at]), 3),
            pay_m3=round(float(pay[at]), 3),
            gold_g=float(gold[at]),
        )
        for at in range(len(pit.mined))
        if pit.mined[at].any()
    )


def price_rows(
    nested: Sequence[PriceCut], blocks: Blocks, terms: Terms
) -> tuple[PriceRow, ...]:
    """Return the ground that goes at each price, from the lowest up."""
    return tuple(
        PriceRow(
            price_per_g=one.price_factor * terms.price_per_g,
            price_share=one.price_factor,
            area_m2=float(blocks.area_m2[one.opened].sum()),
            overburden_m3=one.cover_m3,
            pay_m3=one.pay_m3,
            recovered_g=one.gold_mg / 1000.0 * terms.recovery,
            margin=one.margin,
            margin_at_todays_price=one.margin_today,
        )
        for one in nested
    )


def map_prices(nested: Sequence[PriceCut], blocks: Blocks) -> PriceMap:
    """Return the lowest price at which each column goes."""
    share = np.full(blocks.area_m2.shape, np.nan)
    for one in reversed(nested):
        share[one.opened] = one.price_factor
    return PriceMap(
        s_edges_m=blocks.s_edges_m, n_edges_m=blocks.n_edges_m, price_share=share
    )


def plan_cash(
    reading: Reading,
    ordered: Sequence[Stretch],
    upstream: Sequence[Stretch],
    *,
    terms: Terms,
) -> Cash:
    """Return the purse week by week, in the order given."""
    rng = np.random.default_rng([reading.seed, 20])
    curve = follow_cash(ordered, terms, rng)
    above = (np.median(curve.cash, axis=0) >= 0.0)[1:]
    below = np.flatnonzero(~above)
    back = 1 if len(below) == 0 else int(below[-1]) + 2
    today = None
    if terms.interest_percent > 0.0:
        today = spread_of(present_value(curve.cash, terms.interest_percent))
    taken = curve.weeks_taken[np.isfinite(curve.weeks_taken)]
    return Cash(
        weeks=tuple(
            CashWeek(week=week, cash=spread_of(cash) or NOTHING)
            for week, cash in enumerate(curve.cash.T)
        ),
        at_risk=spread_of(curve.lowest) or NOTHING,
        at_risk_upstream=money_at_risk(upstream),
        at_risk_in_order=money_at_risk(ordered),
        is_upstream=[id(one) for one in ordered] == [id(one) for one in upstream],
        paid_back_week=back if back < curve.cash.shape[1] else None,
        weeks_taken=spread_of(taken) if len(taken) else None,
        worth_today=today,
        cut_off=curve.cut_off,
    )


def break_even(pit: Pit, terms: Terms, price_per_g: float) -> BreakEven:
    """Return where the cut brings nothing, one thing changed at a time."""
    revenue, cost = float(pit.revenue(terms).mean()), float(pit.cost(terms).mean())
    pay_m3 = float(pit.pay_total_m3.mean())
    share = cost / revenue if revenue > 0.0 else None
    recovery = None if share is None else terms.recovery * share
    return BreakEven(
        price_per_g=price_per_g if np.isfinite(price_per_g) else None,
        grade_mg_m3=cost / pay_m3 / terms.value_per_mg,
        recovery=recovery if recovery is not None and recovery <= 1.0 else None,
        gold_share=share,
    )


def plan_room(
    reading: Reading,
    terms: Terms,
    *,
    stretches: Sequence[Stretch],
    pit: Pit,
    minable: Minable,
    water: Water,
) -> Room:
    """Return the room for spoil and water that the cut needs, and has."""
    log = reading.log
    swell = DEFAULT_SWELL if log.ground.swell is None else log.ground.swell
    share = max((one.pay_m3 + one.cover_m3 for one in stretches), default=0.0)
    whole = sum(one.pay_m3 + one.cover_m3 for one in stretches)
    open_m2 = pit.area_m2 * share / whole if whole > 0.0 else pit.area_m2
    opened = pit.opened_m2 > 0.0
    floor_m = float(np.average(pit.depth_m[opened], weights=pit.opened_m2[opened]))
    return Room(
        spoil=plan_spoil(stretches, swell),
        water=need_water(
            pay_m3=float(pit.pay_total_m3.mean()),
            plant_m3_per_hour=terms.water_m3_per_hour,
            floor_m=floor_m,
            open_m2=max(open_m2, 1.0),
            water_depth_m=water.depth_m,
            mud_share=mud_share(log.layers),
        ),
        water_digs=water.digs,
        digs=water.of,
        free_m2=max(minable.room_m2 - pit.area_m2, 0.0),
    )
