"""What next, said: what costs no digging, then the digs or that they change little."""

from __future__ import annotations

from pennyweight.answers.digreasons import say_own_limit
from pennyweight.answers.nextdigs import NextAnswer, ProposedDig
from pennyweight.answers.rules import say_go, say_leave
from pennyweight.answers.spoken import Part, Sentence, say
from pennyweight.answers.wording import (
    NO_BREAK,
    count_words,
    number_words,
    quantity_words,
    some_words,
)
from pennyweight.units import Measures

#: Samples named one by one; more are counted.
MOST_NAMED = 4


def next_verdict(answer: NextAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return what to do next: wash, cut again, dig; and how long that takes."""
    said = _rules_first(answer, measures) + _before_digging(answer)
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
        shared = f"{who} take about {hours}{NO_BREAK}hours together"
        if answer.people > 1:
            shared += f", shared by {answer.people} people"
        said.append(say(f"{shared}."))
    return tuple(said)


def _rules_first(answer: NextAnswer, measures: Measures) -> list[Sentence]:
    """Return the rules of the program that are met: they come before any plan."""
    return [say(told) for is_met, told in _rules(answer, measures) if is_met]


def unmet_rules(answer: NextAnswer, measures: Measures) -> tuple[str, ...]:
    """Return the rules that are not met or not told, each with how it stands."""
    return tuple(told for is_met, told in _rules(answer, measures) if not is_met)


def _rules(answer: NextAnswer, measures: Measures) -> list[tuple[bool, str]]:
    leave = None if answer.rules is None else answer.rules.leave
    go = None if answer.rules is None else answer.rules.go
    told = []
    if leave is not None:
        told.append((leave.state == "met", say_leave(leave, measures)))
    if go is not None:
        told.append((go.state == "met", say_go(go)))
    return told


def _before_digging(answer: NextAnswer) -> list[Sentence]:
    """Return what costs no new ground: samples that wait, a spot to cut again."""
    said = []
    if answer.to_wash:
        one = len(answer.to_wash) == 1
        said.append(
            say(
                "First wash ",
                Part(
                    text=some_words(answer.to_wash, MOST_NAMED),
                    means=", ".join(answer.to_wash),
                ),
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
