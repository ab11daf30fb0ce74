"""The verdict of `worth` in words: mine, sample more or walk away, and why.

"Sample more" is a computed answer: it is given where one more day of digs brings more
than it costs, and where all rests on one sample, one nugget or on poor samples.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pennyweight.answers.influence import Without
from pennyweight.answers.minable import Minable
from pennyweight.answers.oneday import OneMoreDay
from pennyweight.answers.wording import (
    count_words,
    list_words,
    money_words,
    number_words,
    percent_words,
)
from pennyweight.answers.worthparts import BreakEven
from pennyweight.worth.cut import Cuts
from pennyweight.worth.risk import SWINGS, Swing
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import Terms

#: What a term is called in a sentence.
TERM_WORDS = {
    "price_per_g": "the price of gold",
    "recovery": "what the plant keeps",
    "wash_per_m3": "the cost of washing",
    "strip_per_m3": "the cost of stripping",
    "m3_per_hour": "how fast the plant washes",
    "digs_m3_per_hour": "how fast the digger strips",
    "fixed": "the fixed costs",
    "per_hour": "what an hour costs",
    "wage_per_hour": "wages",
    "fuel_per_l": "the price of fuel",
    "fineness": "the fineness",
    "availability": "how much of the time all runs",
    "gold": "how much gold there is",
}

#: Sampling on is proposed, and what knowing is worth is told, where it brings more than
#: this share of what is expected [-]; our assumption.
WORTH_SAYING = 0.01
#: Chances of a loss up to which the cut is worth mining, probably so, or open [-].
WORTH_LOSS, PROBABLY_LOSS, OPEN_LOSS = 0.15, 0.35, 0.60


MINE, SAMPLE, LEAVE, UNTOLD = "mine", "sample more", "walk away", "not told"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What a verdict is given from.

    Attributes
    ----------
    margin, loss, low : float
        Expected margin, chance of a loss, and the margin that one case in ten stays
        below [currency], [-], [currency].
    day : OneMoreDay or None
        What one more day of digs is worth; None where that cannot be told.
    stones : Stones
        Of the ground, as the plant meets them.
    terms : Terms
        Price, costs and plant.
    all_poor : bool
        Whether every sample is poor to rely on.
    withouts : tuple of Without
        The same with something left out; empty where nothing weighs that much.
    """

    margin: float
    loss: float
    low: float
    day: OneMoreDay | None
    stones: Stones
    terms: Terms
    all_poor: bool
    withouts: tuple[Without, ...] = ()


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision in one word, and the verdict in sentences."""

    decision: str
    verdict: str


def decide(case: Case) -> Decided:
    """Return the decision and its verdict; it must hold without one sample or nugget.

    Parameters
    ----------
    case : Case
        Of a ground with a cut.

    Returns
    -------
    Decided
        One decision; one or more sentences.
    """
    decision, first = _decide(case)
    told = [_say_without(one) for one in case.withouts]
    day = [_say_day(case.day, case)] if case.day is not None else []
    return Decided(decision, " ".join([first, *told, *day]))


def _decide(case: Case) -> tuple[str, str]:
    pays = case.margin > 0.0 and case.loss <= PROBABLY_LOSS
    broken = [one for one in case.withouts if not _pays(one)]
    if case.stones.bar_the_plant:
        return LEAVE, _say_barred(case)
    if pays and broken:
        return SAMPLE, f"Open: it pays only with {broken[0].what}. Sample more first."
    if pays and case.all_poor:
        return SAMPLE, (
            "Sample more first: by these numbers it would pay, but every sample is "
            "poor to rely on."
        )
    if _day_pays(case):
        return SAMPLE, _say_sample(case)
    losses = [one.chance_of_loss or 0.0 for one in case.withouts] if pays else []
    return _decide_plain(case, max([case.loss, *losses]))


def _day_pays(case: Case) -> bool:
    """Return whether one more day brings clearly more than it costs."""
    if case.day is None:
        return False
    return case.day.net > WORTH_SAYING * abs(case.margin)


def _say_sample(case: Case) -> str:
    if case.margin > 0.0 and case.loss <= PROBABLY_LOSS:
        return "Sample more first, then mine: it would pay as it stands."
    if case.margin > 0.0:
        return "Open: it pays on average, but a loss is near. Sample more first."
    return "Not as it stands: it loses on average. Sample more first."


def _decide_plain(case: Case, loss: float) -> tuple[str, str]:
    """Return the decision by margin and chance of a loss, sampling on set aside."""
    if case.margin > 0.0 and loss <= WORTH_LOSS:
        return MINE, "Worth mining by these numbers."
    if case.margin > 0.0 and loss <= PROBABLY_LOSS:
        return MINE, (
            "Probably worth mining, but a loss is not far: test the cut in bulk first."
        )
    if case.margin > 0.0:
        near = "about as near" if loss <= OPEN_LOSS else "nearer"
        first = f"Open: it pays on average, but a loss is {near}."
        if case.day is None:
            return SAMPLE, f"{first} Sample more first."
        low = money_words(-case.low, case.terms.currency)
        return MINE, (
            f"{first} Mine only if you can bear to lose {low}, which happens one time "
            "in ten; else walk away."
        )
    if loss < 1.0 - WORTH_LOSS:
        if case.day is None:
            return SAMPLE, (
                "Not as it stands: it loses on average, but more digs may turn it."
            )
        return LEAVE, (
            "Not as it stands: it loses on average, and digging on brings less than it "
            "costs. Walk away."
        )
    return LEAVE, "Leave it: even the best cut very probably loses."


def _say_barred(case: Case) -> str:
    share, plant = percent_words(case.stones.unmoved_share), case.terms.plant
    largest, most = case.stones.largest_m or 0.0, case.terms.moves_stone_m
    return (
        f"Walk away with this plant ({plant}): in {share} of the layers lies a stone "
        f"too big for it. The largest is {number_words(largest)} m long, and it moves "
        f"{number_words(most)} m. The numbers below hold only for a machine that does."
    )


def _say_day(day: OneMoreDay, case: Case) -> str:
    """Return what one more day of digs is worth, against what it costs."""
    currency = case.terms.currency
    if day.digs == 0 or day.value <= WORTH_SAYING * abs(case.margin):
        return "One more day of digs would hardly change what you decide."
    value, cost = (money_words(one, currency) for one in (day.value, day.cost))
    said = f"One more day ({count_words(day.digs, 'dig')}) before deciding is worth "
    said += f"{value} over deciding now"
    return (
        f"{said} and costs {cost}."
        if day.cost > 0.0
        else f"{said}, its cost not counted."
    )


def say_poor(
    minable: Minable,
    needed_mg_m3: float,
    *,
    day: OneMoreDay | None,
    terms: Terms,
    nested: Cuts,
) -> Decided:
    """Return why nothing pays, with the best ground that there is.

    Parameters
    ----------
    minable : Minable
        The ground.
    needed_mg_m3 : float
        Grade that pay must hold [mg/m3 bank].
    day : OneMoreDay or None
        What one more day of digs is worth.
    terms : Terms
        Price, costs and plant.
    nested : Cuts
        With the ground that goes at higher prices.

    Returns
    -------
    Decided
        Walk away, unless one more day brings more than it costs.
    """
    said = _say_why_poor(minable, needed_mg_m3)
    if nested.nested:
        price = money_words(
            nested.nested[0].price_factor * terms.price_per_g, terms.currency
        )
        said += f" The first ground would go at {price} a gram."
    if day is not None and day.net > 0.0:
        value = money_words(day.value, terms.currency)
        cost = money_words(day.cost, terms.currency)
        return Decided(
            SAMPLE,
            f"Not as it stands. {said} But one more day of digs before leaving is "
            f"worth {value}, and costs {cost}: sample more first.",
        )
    if day is not None and day.digs > 0:
        value = money_words(round(day.value), terms.currency)
        cost = money_words(round(day.cost), terms.currency)
        said += (
            f" One more day of digs before leaving is worth {value} and costs {cost}."
        )
    return Decided(LEAVE, said)


def _say_why_poor(minable: Minable, needed_mg_m3: float) -> str:
    blocks = minable.blocks
    gold, pay = blocks.cautious_gold_mg, blocks.pay_m3.mean(axis=0)
    rich = (pay > 0.0) & blocks.allowed
    if not rich.any():
        return _say_nothing_allowed(minable)
    best = float((gold[rich] / pay[rich]).max())
    said = "Leave it: no ground pays for its own digging and washing; "
    if best <= 0.0:
        return said + "no gold was found in it."
    if best > needed_mg_m3:
        return said + "its rich spots are too small for the ground around them."
    return said + (
        f"its richest block is expected to hold {number_words(best)} mg/m³ of pay, and "
        f"pay must hold about {number_words(needed_mg_m3)} mg/m³."
    )


def _say_nothing_allowed(minable: Minable) -> str:
    """Return that no sampled ground may be mined, and what stands against it."""
    reasons = [one.reason for one in minable.left_out]
    if not reasons or reasons == ["outside the boundary"]:
        return "Leave it: no ground inside the boundary was sampled."
    return (
        "Leave it: no ground that was sampled may be mined; all of it lies "
        f"{list_words(reasons)}."
    )


def _pays(without: Without) -> bool:
    """Return whether it is still probably worth mining."""
    margin, loss = without.margin_mean, without.chance_of_loss
    if margin is None or loss is None:
        return False
    return margin > 0.0 and loss <= PROBABLY_LOSS


def _say_without(one: Without) -> str:
    """Return what a sample or nugget makes, and what is left without it."""
    what = one.what[:1].upper() + one.what[1:]
    verb = "make" if one.many else "makes"
    said = f"{what} {verb} {percent_words(one.gold_share)} of {one.gold_of}; without "
    said += "them " if one.many else "it "
    if one.margin_mean is None or one.chance_of_loss is None:
        return said + "no ground pays for its own digging and washing."
    left = money_words(one.margin_mean, one.currency)
    chance = percent_words(one.chance_of_loss)
    return said + f"{left} is left on average and the chance of a loss is {chance}."


def say_reasons(
    case: Case, swings: Sequence[Swing], even: BreakEven, *, cuts: Cuts
) -> tuple[str, ...]:
    """Return the reasons under the verdict, one sentence each.

    Parameters
    ----------
    case : Case
        Of a ground with a cut.
    swings : sequence of Swing
        The strongest first.
    even : BreakEven
        Where the cut brings nothing.
    cuts : Cuts
        With what the machine's width costs.

    Returns
    -------
    tuple of str
        What moves the margin, where it ends, what digging on and knowing are worth.
    """
    currency, said = case.terms.currency, []
    if swings:
        first = f"What moves it most is {TERM_WORDS[swings[0].name]}"
        others = [TERM_WORDS[one.name] for one in swings[1:3]]
        said.append(f"{first}, then {list_words(others)}." if others else f"{first}.")
    if even.price_per_g is not None and even.gold_share is not None:
        price = money_words(even.price_per_g, currency)
        said.append(
            f"It brings nothing at {price} a gram of fine gold, or with "
            f"{percent_words(even.gold_share)} of the gold expected."
        )
    wide = cuts.best.width_cost
    if wide > WORTH_SAYING * abs(case.margin):
        lost = money_words(wide, currency)
        said.append(
            f"The machine's width costs {lost} of what a finer cut would bring."
        )
    return tuple(said)


def say_knowing(knowing: float, case: Case) -> tuple[str, ...]:
    """Return what knowing the ground exactly would be worth, where that is something.

    Parameters
    ----------
    knowing : float
        The most that sampling could add [currency].
    case : Case
        Of a ground with a cut.

    Returns
    -------
    tuple of str
        One sentence, or none.
    """
    if knowing <= WORTH_SAYING * abs(case.margin):
        return ()
    worth = money_words(knowing, case.terms.currency)
    return (f"Knowing the ground exactly would be worth {worth} at most.",)


def swing_words(name: str) -> str:
    """Return how far a term is swung: "20 % less to 20 % more".

    Parameters
    ----------
    name : str
        Field of `Terms`, or "gold".

    Returns
    -------
    str
        The bad end first.
    """
    if name not in SWINGS:
        return "poorest to richest fifth of the draws"
    return " to ".join(_changed(factor) for factor in SWINGS[name])


def _changed(factor: float) -> str:
    share = percent_words(abs(factor - 1.0))
    return f"{share} {'more' if factor > 1.0 else 'less'}"
