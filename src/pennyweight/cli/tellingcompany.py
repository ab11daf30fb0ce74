"""What stands beside the streaks: where they meet, go on, and what is open."""

from __future__ import annotations

from pennyweight.answers.trace import Confluence, Hinge, Streak, TraceAnswer
from pennyweight.answers.wording import list_words, percent_words, quantity_words
from pennyweight.cli.layout import bullets
from pennyweight.spread import probability_word
from pennyweight.units import Measures

#: Joins by hand that are told one by one; the others are counted.
MOST_TOLD = 5


def tell_company(answer: TraceAnswer, measures: Measures) -> list[str]:
    """Return what is told beside the streaks, as lines."""
    doubts = [
        f"Dig {one.from_dig} to dig {one.to_dig}: {one.why}."
        for one in answer.by_hand.doubts
    ]
    if len(doubts) > MOST_TOLD:
        doubts = [*doubts[:MOST_TOLD], f"And {len(doubts) - MOST_TOLD} more."]
    hand = (
        f"Of {answer.by_hand.joins} straight joins of the richest digs, "
        f"{answer.by_hand.agree} run along a streak; the others:"
    )
    return [
        *bullets(
            "They become one:", [_meeting(one, measures) for one in answer.confluences]
        ),
        *bullets(
            "What would change this most:", [_hinge(one) for one in answer.hinges]
        ),
        *bullets(
            "Beyond the lines, where none is dug:",
            [told for streak in answer.streaks for told in _far_ends(streak, measures)],
        ),
        *bullets(hand, doubts),
    ]


def _chance(probability: float) -> str:
    return f"{percent_words(probability)}, {probability_word(probability)}"


def _meeting(one: Confluence, measures: Measures) -> str:
    """Return where two streaks come together as a sentence."""
    soonest, latest = (
        quantity_words(place, "length", measures, figures=3)
        for place in (one.s_m.p10, one.s_m.p90)
    )
    return (
        f"Streaks {list_words(list(one.streaks))}: {_chance(one.probability)}; if so, "
        f"by {soonest} along the valley at the soonest and {latest} at the latest "
        "(80 %)."
    )


def _hinge(one: Hinge) -> str:
    """Return what would tell as a sentence."""
    if one.easting_m is None or one.northing_m is None:
        return f"{one.what}; it makes {percent_words(one.share)} of the doubt."
    return (
        f"{one.what} ({one.easting_m:.0f} E, {one.northing_m:.0f} N); "
        f"now {_chance(one.share)}."
    )


def _far_ends(streak: Streak, measures: Measures) -> list[str]:
    """Return how far a streak may go on, upstream and downstream."""
    told = []
    for toward, at in (("upstream", 0), ("downstream", -1)):
        places = [one for one in streak.beyond if one.toward == toward]
        if not places:
            continue
        last = places[-1]
        off = quantity_words(
            abs(last.s_m - streak.path[at].s_m), "length", measures, figures=2
        )
        wide = quantity_words(
            last.center_n_m.p90 - last.center_n_m.p10, "length", measures, figures=2
        )
        told.append(
            f"Streak {streak.id} {toward}: {_chance(last.probability)} after {off}, "
            f"somewhere within {wide} across."
        )
    return told
