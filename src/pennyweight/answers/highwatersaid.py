"""The answer `highwater` in words: why gravel stops, what to look for, the verdict."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from pennyweight.answers.spoken import Part, Sentence, say
from pennyweight.answers.wording import (
    NO_BREAK,
    count_words,
    list_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
)
from pennyweight.highwater.drops import Drop, Reason
from pennyweight.units import METRIC, Measures

if TYPE_CHECKING:
    from pennyweight.answers.highwater import GoldTravels, HighwaterAnswer
    from pennyweight.spread import Spread

#: Cubic feet in a cubic meter.
CUBIC_FEET_PER_M3 = 35.3147

#: Said with every answer.
_RECKONING = (
    "A flood drawn here is a reckoning from stones and today's surface, good to a "
    "factor of two or worse. It is no hazard map: do not camp, park or sleep by it."
)
_RISING = (
    "Creeks rise fast and moving water carries boulders. Leave the creek bed when it "
    "rises, and keep out of holes that make water."
)
_SKIM = (
    "Drops are places to test, not finds. Loose flood sand on top is skim: fine gold "
    "that looks rich and is not pay. Dig to the compact gravel below."
)
CAUTIONS = (_RECKONING, _RISING, _SKIM)

#: Score from which a drop is called clear.
MARKED_SCORE = 0.5

#: What each kind of drop is called.
KIND_NAMES: Mapping[str, str] = {
    "inner_bend": "inner bend",
    "slackening": "water slackens",
    "above_narrows": "wide floor above narrows",
    "slope_break": "fall eases",
    "lee": "lee of an obstruction",
    "widening": "floor widens",
    "confluence": "below a mouth",
    "high_bar": "high bar",
    "bench": "bench",
}

#: The same inside of a sentence.
KIND_PHRASES: Mapping[str, str] = {
    "inner_bend": "an inner bend",
    "slackening": "slack water",
    "above_narrows": "the wide floor above narrows",
    "slope_break": "where the fall eases",
    "lee": "the lee of an obstruction",
    "widening": "where the floor widens",
    "confluence": "below a mouth",
    "high_bar": "a high bar",
    "bench": "a bench",
}

#: What to look for there, by kind.
LOOK_FOR: Mapping[str, str] = {
    "inner_bend": "Start at the upstream end of the bar, where cobbles sit tight in "
    "gravel; dig through the loose sand to compact coarse gravel, and on to a contact.",
    "slackening": "Look for a tight layer of coarse gravel with clay or rust on it, "
    "and for the contact under it; loose sand on top tells nothing.",
    "above_narrows": "Try the upper end of the wide part first, then the contact above "
    "the narrows, where the floor is shallow.",
    "slope_break": "Try the first flat below the break: coarse gravel that packs, and "
    "cracks in any bedrock that shows.",
    "lee": "Dig close behind and under the edge of the stone or rock, down to compact "
    "gravel; roots and moss on its lee side are worth a pan.",
    "widening": "Follow the coarse gravel in from the narrow part; it thins out and "
    "turns to sand where the water spread.",
    "confluence": "Try the bar below the corner, not straight across from the mouth, "
    "and compare its colors with those above the mouth.",
    "high_bar": "Look for old, rusty, packed gravel under the grass; wash moss and "
    "root mats from its upstream edge.",
    "bench": "Open the edge of the bench down to its bedrock or clay; old gravel there "
    "is often stained and packed hard.",
}


def discharge_words(m3_s: float, measures: Measures) -> str:
    """Return a discharge in the reader's units."""
    if measures.length == "ft":
        feet = number_words(m3_s * CUBIC_FEET_PER_M3)
        return f"{feet}{NO_BREAK}ft³/s"
    return f"{number_words(m3_s)}{NO_BREAK}m³/s"


def speed_words(m_s: float, measures: Measures) -> str:
    """Return a speed in the reader's units."""
    return f"{quantity_words(m_s, 'length', measures)}/s"


def _length(value: float, measures: Measures) -> str:
    return quantity_words(value, "length", measures)


def _area(m2: float, measures: Measures) -> str:
    if measures.length == "ft":
        return f"{number_words(m2 * 10.7639)}{NO_BREAK}ft²"
    return f"{number_words(m2)}{NO_BREAK}m²"


def _fall(slope: float) -> str:
    return f"{number_words(100.0 * slope)} in 100"


def _say_bend(facts: Mapping[str, float], measures: Measures) -> str:
    side = "left" if facts["left"] > 0 else "right"
    radius = _length(facts["radius_m"], measures)
    return (
        f"the creek turns {side} around a radius of {radius}; gravel settles on the "
        f"inner, {side} side"
    )


def _say_slackening(facts: Mapping[str, float], measures: Measures) -> str:
    flow = discharge_words(facts["discharge_m3_s"], measures)
    text = (
        f"at {flow} the water here carries {percent_words(facts['lost_share'])} less "
        f"gravel than {_length(facts['over_m'], measures)} upstream"
    )
    moving = facts["moving_gold_m"]
    if moving <= 0.0:
        return f"{text}, and no gold of your sizes moves on"
    return f"{text}; gold up to {number_words(moving * 1000.0)}{NO_BREAK}mm moves on"


def _say_lee(facts: Mapping[str, float], measures: Measures) -> str:
    if "size_m" in facts:
        return (
            f"a boulder of {_length(facts['size_m'], measures)} stands in the way of "
            "the water"
        )
    return (
        f"ground stands out of the water upstream: {_say_slackening(facts, measures)}"
    )


def _say_widening(facts: Mapping[str, float], measures: Measures) -> str:
    return (
        f"the floor grows {number_words(facts['ratio'])} times as wide, to "
        f"{_length(facts['width_m'], measures)}, so that water spreads and slows"
    )


def _say_narrows(facts: Mapping[str, float], measures: Measures) -> str:
    return (
        f"the floor is {_length(facts['width_m'], measures)} wide here and narrows "
        f"{number_words(facts['ratio'])} times below, so that floods back up"
    )


def _say_break(facts: Mapping[str, float], measures: Measures) -> str:
    return (
        f"the fall eases from {_fall(facts['slope_above'])} to "
        f"{_fall(facts['slope_below'])}; the place is good to "
        f"{_length(max(facts['between_m'], 1.0), measures)}"
    )


def _say_mouth(facts: Mapping[str, float], measures: Measures) -> str:
    del measures
    share = percent_words(facts["area_share"])
    return (
        f"a feeder with {share} of the water's ground comes in; slack water stands "
        "below its corner"
    )


def _say_high(facts: Mapping[str, float], measures: Measures) -> str:
    text = (
        f"level ground of {_area(facts['area_m2'], measures)} lies "
        f"{_length(facts['above_m'], measures)} above the creek"
    )
    if "reached_m3_s" in facts:
        reached = discharge_words(facts["reached_m3_s"], measures)
        text += f", reached only from about {reached} on, where the water stands quiet"
    return text


_SAYERS: Mapping[str, Callable[[Mapping[str, float], Measures], str]] = {
    "inner_bend": _say_bend,
    "slackening": _say_slackening,
    "above_narrows": _say_narrows,
    "slope_break": _say_break,
    "lee": _say_lee,
    "widening": _say_widening,
    "confluence": _say_mouth,
    "high_bar": _say_high,
    "bench": _say_high,
}


def say_reason(reason: Reason, measures: Measures = METRIC) -> str:
    """Return one reason in plain words, without a full stop."""
    return _SAYERS[reason.kind](reason.facts, measures)


def say_why(drop: Drop, measures: Measures = METRIC) -> str:
    """Return why gravel may stop at a place, all reasons in their order."""
    text = "; also ".join(say_reason(one, measures) for one in drop.reasons)
    return f"{text[:1].upper()}{text[1:]}."


def say_look(drop: Drop) -> str:
    """Return what to look for at a drop."""
    return LOOK_FOR[drop.kind]


def highwater_verdict(
    answer: HighwaterAnswer, measures: Measures
) -> tuple[Sentence, ...]:
    """Return what the floods did, in a few sentences."""
    said = [_say_flood(answer, measures)]
    if not answer.drops:
        if answer.creek is not None:
            said.append(say("No place stands out where gravel would stop."))
        return tuple(said)
    best = answer.drops[0]
    strong = [one for one in answer.drops if one.score >= MARKED_SCORE]
    count = count_words(len(strong) or len(answer.drops), "place")
    kinds = list(dict.fromkeys(KIND_PHRASES[one.kind] for one in answer.drops[:3]))
    said.append(
        say(
            f"{count[:1].upper()}{count[1:]} along the creek would let gravel stop"
            f"{' clearly' if strong else ', none of them clearly'}; try first: "
            f"{list_words(kinds)}."
        )
    )
    reason = say_reason(best.drop.reasons[0], measures)
    said.append(say(f"The best, number 1 on the map: {reason}."))
    said.append(_say_agreement(answer))
    return tuple(said)


def _say_flood(answer: HighwaterAnswer, measures: Measures) -> Sentence:
    if answer.discharge_m3_s is not None:
        flow = answer.discharge_m3_s
        part = Part(
            text=spread_words(flow, measures),
            means="what the largest stones that water moved say of the flood, m³/s",
            spread=flow,
        )
        places = count_words(len(answer.clasts), "place")
        return say(
            f"The largest stones of {places} took a flood of about ", part, " to move."
        )
    if answer.floods:
        low, high = answer.floods[0], answer.floods[-1]
        return say(
            "No boulder tells of a flood yet; floods from "
            f"{discharge_words(low.discharge_m3_s, measures)} to "
            f"{discharge_words(high.discharge_m3_s, measures)} were tried."
        )
    return say(
        "Nothing tells of the floods yet: attach an elevation model, draw the creek, "
        "and measure the largest stones that water moved."
    )


def spread_words(flow: Spread, measures: Measures) -> str:
    """Return a discharge with its 80 % interval, in the reader's units."""
    factor = CUBIC_FEET_PER_M3 if measures.length == "ft" else 1.0
    between = range_words(flow.p10 * factor, flow.p90 * factor)
    return f"{discharge_words(flow.p50, measures)} (80{NO_BREAK}%: {between})"


def gold_by_look(gold: Sequence[GoldTravels]) -> dict[str, list[str]]:
    """Return where to look -> the sizes and shapes of gold that lie there."""
    found: dict[str, list[str]] = {}
    for one in gold:
        words = f"{number_words(one.size_mm)}{NO_BREAK}mm {one.shape}"
        found.setdefault(one.look, []).append(words)
    return found


def _say_agreement(answer: HighwaterAnswer) -> Sentence:
    found = answer.agreement
    if found is None:
        return say(
            "Too few digs are washed to say whether the drops are true of this ground."
        )
    between = f"rank correlation {number_words(found.rank)}, 80{NO_BREAK}%: "
    between += range_words(found.low, found.high)
    digs = count_words(found.n_digs, "washed dig")
    if found.low > 0.0:
        return say(
            f"Your {digs} agree: the richer ones lie nearer to drops ({between})."
        )
    if found.high < 0.0:
        return say(
            f"Your {digs} speak against it: the richer ones lie away from the drops "
            f"({between}). An older channel may have laid the gold."
        )
    return say(f"Your {digs} neither bear it out nor speak against it ({between}).")
