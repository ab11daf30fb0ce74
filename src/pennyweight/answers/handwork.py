"""What does an hour bring? Gold by the hour beside gold by volume, for hand work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pennyweight.answers.answer import Answer
from pennyweight.answers.grade import read_graded
from pennyweight.answers.handsaid import say_hours
from pennyweight.answers.plantread import is_priced, plant_assumptions, read_plant
from pennyweight.answers.reading import Reading
from pennyweight.records import Cleanup, Day, Log
from pennyweight.sampling.gold import UNSIZED_MG
from pennyweight.sampling.graded import GradedSample
from pennyweight.spread import Spread
from pennyweight.worth.handwork import (
    CLOCK_PER_WORKED_HOUR,
    GoldForWork,
    money_per_hour,
    weigh_hours,
    weigh_volumes,
)

CLEANUP, SAMPLING = "clean-up", "sampling day"

ALL_GOLD = (
    "Gold by the hour counts only what was recovered, in the hours written down. Hours "
    "that nobody wrote down make it look better than it was."
)
SAMPLING_DAYS = (
    "Sampling days are told apart: most of their hours go into digging and writing, "
    "not into washing the best ground."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outing:
    """One stretch of work whose gold and hours are both known.

    Attributes
    ----------
    name, kind : str
        Of the clean-up or the day.
    hours : float
        On the ground.
    hours_supplied : bool
        Whether they were reckoned from hours dug.
    gold_mg : float
        Won, not in place.
    bank_m3 : float or None
        Dug or washed, where it was measured.
    """

    name: str
    kind: str
    hours: float
    hours_supplied: bool
    gold_mg: float
    bank_m3: float | None

    @property
    def mg_per_hour(self) -> float:
        """Gold for an hour [mg/h]."""
        return self.gold_mg / self.hours

    @property
    def mg_per_m3(self) -> float | None:
        """Gold for a volume [mg/m3 bank]; None where no volume was measured."""
        return None if self.bank_m3 is None else self.gold_mg / self.bank_m3


@dataclass(frozen=True, slots=True, kw_only=True)
class KindOfWork:
    """What one kind of outing brings.

    Attributes
    ----------
    kind : str
        Clean-ups, or sampling days.
    work : GoldForWork
        Gold by the hour.
    gold_mg_m3 : Spread or None
        Gold won by volume, of those outings whose volume is known.
    m3_per_hour : float or None
        Ground moved in an hour, of the same.
    money_per_hour : Spread or None
        None without a price.
    """

    kind: str
    work: GoldForWork
    gold_mg_m3: Spread | None
    m3_per_hour: float | None
    money_per_hour: Spread | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursAnswer(Answer):
    """Gold by the hour and by volume.

    `cost_per_hour` is the mean cost of an hour on the ground by the diary; None where
    no day has a cost.
    """

    outings: tuple[Outing, ...]
    kinds: tuple[KindOfWork, ...]
    cost_per_hour: float | None
    currency: str
    left_out: int
    verdict: str


def weigh_handwork(reading: Reading) -> HoursAnswer:
    """Return what an hour of work has brought, and what the next may bring."""
    return reading.once("gold by the hour", lambda: _weigh(reading))


def _weigh(reading: Reading) -> HoursAnswer:
    log = reading.log
    color_mg = _color_mg(reading)
    outings = (*_cleanups(log.cleanups), *_days(reading, color_mg))
    cost = _cost_per_hour(log.days)
    rng = np.random.default_rng([reading.seed, 10])
    kinds = tuple(
        found
        for kind in (CLEANUP, SAMPLING)
        if (found := _kind(reading, outings, kind, color_mg=color_mg, rng=rng))
    )
    known = len(outings)
    whole = len(log.cleanups) + len(log.days)
    return HoursAnswer(
        **reading.heading(),
        cautions=(ALL_GOLD, SAMPLING_DAYS) if outings else (),
        assumptions=_assumptions(reading, outings, kinds),
        outings=outings,
        kinds=kinds,
        cost_per_hour=cost,
        currency=log.ground.currency or "",
        left_out=whole - known,
        verdict=say_hours(
            kinds[0].kind if kinds else None,
            kinds[0].work.per_hour if kinds else None,
            money=kinds[0].money_per_hour if kinds else None,
            currency=log.ground.currency or "money",
        ),
    )


def _assumptions(
    reading: Reading, outings: Sequence[Outing], kinds: Sequence[KindOfWork]
) -> dict[str, Any]:
    said: dict[str, Any] = {}
    if any(one.hours_supplied for one in outings):
        said["clock_per_worked_hour"] = CLOCK_PER_WORKED_HOUR
    if any(one.money_per_hour for one in kinds):
        terms = read_plant(reading)
        if "fineness_per_mille" in terms.assumptions:
            said["fineness_per_mille"] = terms.fineness
    return said | plant_assumptions(read_plant(reading), "nothing")


def _color_mg(reading: Reading) -> float:
    """Return what a color weighs on average, over all colors seen [mg]."""
    counted = [one for one in read_graded(reading).samples if one.colors]
    if not counted:
        return UNSIZED_MG
    weights = np.array([one.colors or 0.0 for one in counted])
    return float(weights @ [one.color_mg for one in counted] / weights.sum())


def _cleanups(cleanups: Sequence[Cleanup]) -> list[Outing]:
    return [
        Outing(
            name=one.cleanup,
            kind=CLEANUP,
            hours=one.hours,
            hours_supplied=False,
            gold_mg=one.weighed_mg,
            bank_m3=one.bank_volume_m3,
        )
        for one in cleanups
        if one.hours and one.weighed_mg is not None
    ]


def _days(reading: Reading, color_mg: float) -> list[Outing]:
    """Return the days whose samples are all washed: else their gold is not known."""
    log = reading.log
    graded = {one.sample: one for one in read_graded(reading).samples}
    weighed = _alone_weighed(log)
    found = []
    for day in log.days:
        hours = _hours_of(day)
        own = [
            one
            for one in log.samples
            if one.date == day.date and (day.by is None or one.by in (None, day.by))
        ]
        told = [graded[one.sample] for one in own if one.sample in graded]
        if not hours or not own or any(_unknown(one) for one in told):
            continue
        gold = [
            weighed[one.sample]
            if one.sample in weighed
            else (one.own_colors or 0.0) * (one.color_mg or color_mg)
            for one in told
        ]
        volumes = [one.own_bank_m3 for one in told]
        measured = [one for one in volumes if one is not None]
        found.append(
            Outing(
                name=day.date,
                kind=SAMPLING,
                hours=hours,
                hours_supplied=day.hours is None,
                gold_mg=float(sum(gold)),
                bank_m3=sum(measured) if len(measured) == len(volumes) else None,
            )
        )
    return found


def _alone_weighed(log: Log) -> dict[str, float]:
    return {
        one.sample: one.weighed_mg for one in log.samples if one.weighed_mg is not None
    }


def _unknown(sample: GradedSample) -> bool:
    """Tell whether nobody knows what gold a sample held."""
    return sample.own_colors is None


def _hours_of(day: Day) -> float | None:
    if day.hours is not None:
        return day.hours
    return None if not day.dug_hours else day.dug_hours * CLOCK_PER_WORKED_HOUR


def _cost_per_hour(days: Sequence[Day]) -> float | None:
    """Return the mean cost of an hour on the ground; None where no day tells."""
    told = [(one.cost, _hours_of(one)) for one in days if one.cost is not None]
    hours = sum(each for _, each in told if each)
    cost = sum(cost for cost, each in told if each and cost is not None)
    return cost / hours if hours else None


def _kind(
    reading: Reading,
    outings: Sequence[Outing],
    kind: str,
    *,
    color_mg: float,
    rng: np.random.Generator,
) -> KindOfWork | None:
    """Return what one kind of outing brings; None without any."""
    own = [one for one in outings if one.kind == kind]
    gold, hours = [one.gold_mg for one in own], [one.hours for one in own]
    work = weigh_hours(gold, hours, color_mg=color_mg, rng=rng)
    if work is None:
        return None
    measured = [one for one in own if one.bank_m3]
    volumes = [one.bank_m3 or 0.0 for one in measured]
    return KindOfWork(
        kind=kind,
        work=work,
        gold_mg_m3=weigh_volumes(
            [one.gold_mg for one in measured], volumes, color_mg=color_mg, rng=rng
        ),
        m3_per_hour=(
            sum(volumes) / sum(one.hours for one in measured) if measured else None
        ),
        money_per_hour=_money(reading, work),
    )


def _money(reading: Reading, work: GoldForWork) -> Spread | None:
    """Return what an hour brings, refining and royalty off; None without a price."""
    if not is_priced(reading):
        return None
    terms = read_plant(reading)
    return money_per_hour(
        work.per_hour,
        terms.price_per_g,
        fineness=terms.fineness,
        payable=terms.payable,
    )
