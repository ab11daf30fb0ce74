"""What next, said: what costs no digging, then the digs or that they change little."""

from __future__ import annotations

from collections.abc import Sequence

from pennyweight.answers.digreasons import say_own_limit
from pennyweight.answers.nextdigs import NextAnswer, ProposedDig
from pennyweight.answers.spoken import Part, Sentence, say
from pennyweight.answers.wording import (
    NO_BREAK,
    count_words,
    list_words,
    number_words,
    quantity_words,
)
from pennyweight.units import Measures

#: Samples named one by one; more are counted.
MOST_NAMED = 4


def next_verdict(answer: NextAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return what to do next: wash, cut again, dig; and how long that takes."""
    said = _before_digging(answer)
    if not answer.digs:
        words = answer.verdict or "No dig within reach would change what you decide."
        return (*said, say(words))
    if answer.changes_little:
        said.append(_hardly(answer))
    begin = "Open dig 1 first"
    if answer.changes_little:
        begin = "If you dig all the same, begin with dig 1"
    elif said:
        begin = "Then open dig 1"
    said.append(_open_first(begin, answer.digs[0], measures))
    own = [say_own_limit(dig.reason, measures) for dig in answer.digs if dig.reason]
    said += [say(one) for one in own if one][:1]
    if len(answer.digs) > 1:
        hours = number_words(answer.hours)
        who = "Both" if len(answer.digs) == 2 else f"All {len(answer.digs)}"
        said.append(say(f"{who} take about {hours}{NO_BREAK}hours together."))
    return tuple(said)


def _before_digging(answer: NextAnswer) -> list[Sentence]:
    """Return what costs no new ground: samples that wait, a spot to cut again."""
    said = []
    if answer.to_wash:
        one = len(answer.to_wash) == 1
        said.append(
            say(
                "First wash ",
                Part(text=_names(answer.to_wash), means=", ".join(answer.to_wash)),
                f": {'it waits in your bucket' if one else 'they wait in your buckets'}"
                " and cost"
                f"{'s' if one else ''} no digging.",
            )
        )
    if answer.to_cut_again:
        begin = "Then cut" if said else "First cut"
        said.append(
            say(
                f"{begin} the spot of sample {answer.to_cut_again[0]} again: so much "
                "of all the gold lies in this one sample that it must be sure."
            )
        )
    return said


def _names(samples: Sequence[str]) -> str:
    if len(samples) <= MOST_NAMED + 1:
        return list_words(list(samples))
    more = f"{len(samples) - MOST_NAMED} more"
    return list_words([*samples[:MOST_NAMED], more])


def _hardly(answer: NextAnswer) -> Sentence:
    """Return that digging would hardly change what is decided."""
    told = [one for one in answer.digs if one.gain.chance_of_wrong_decision is not None]
    who = "The dig below lowers"
    if len(told) > 1:
        who = f"The {count_words(len(told), 'dig')} below together lower"
    return say(
        "More digging where you have sampled would hardly change the decision. "
        f"{who} the chance of a wrong one by under 1{NO_BREAK}%."
    )


def _open_first(begin: str, first: ProposedDig, measures: Measures) -> Sentence:
    deep = quantity_words(first.depth_m, "length", measures)
    why = first.say(measures)
    return say(
        f"{begin}, about {deep} deep. ",
        f"{why[:1].upper()}{why[1:].rstrip('.')}.",
    )
