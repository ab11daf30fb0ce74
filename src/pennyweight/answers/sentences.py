"""Verdicts, written from the numbers by rule, so that each number can be opened.

A verdict is a few sentences; a sentence is a row of parts. A part that is a number
carries what it means, its 80 % interval and its probability, so that the page can
open it where it stands; page, command line and paper say the same words.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from pennyweight.answers.grade import DigGrade, GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.nextsaid import next_verdict
from pennyweight.answers.spoken import (
    Part,
    Sentence,
    open_chance,
    open_number,
    say,
    verdict_text,
)
from pennyweight.answers.trace import Link, PathPoint, Streak, TraceAnswer
from pennyweight.answers.wording import (
    LIMITS,
    NO_BREAK,
    chance_words,
    count_words,
    horizon_words,
    list_words,
    money_interval_words,
    number_words,
    percent_words,
    quantity_words,
    unit_name,
)
from pennyweight.answers.worth import WorthAnswer
from pennyweight.errors import Finding
from pennyweight.spread import Spread, probability_word
from pennyweight.units import Measures

#: What is said under every estimate of gold in the ground.
NO_RESOURCE = "This is no resource or reserve statement under any code."

#: Words for reliability, the best first.
RELIABLE = ("good", "fair", "poor")
RELIABILITY_MEANS = (
    "good: half the 80 % interval is under 25 % of the median; fair: under 60 %; "
    "poor: more"
)

#: Where a sentence of a finding ends and another begins.
_SENTENCE_END = re.compile(r"(?<=[a-z)])\. (?=[A-Z])")

#: Merges that a verdict names; the picture shows them all.
MOST_MERGES = 3


def _on_lines(answer: GroundAnswer) -> str:
    """Return how many lines the digs lie on; a dig by itself is no line."""
    lines = [line for line in answer.lines if len(line.digs) > 1]
    alone = sum(len(line.digs) == 1 for line in answer.lines)
    if not lines:
        return ""
    apart = f" and {alone} apart" if alone else ""
    return f" on {count_words(len(lines), 'line')}{apart}"


def ground_verdict(answer: GroundAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return what has been seen so far."""
    if not answer.digs:
        return (say("Nothing is dug yet. Enter the first dig, or take in a log."),)
    lines = _on_lines(answer)
    deepest = max((dig.bottom_m or 0.0 for dig in answer.digs), default=0.0)
    deep = ""
    if deepest > 0.0:
        deep = f", the deepest {quantity_words(deepest, 'length', measures)} deep"
    said = [
        say(
            f"{count_words(len(answer.digs), 'dig')}{lines}{deep}, "
            f"with {count_words(answer.samples, 'sample')}."
        )
    ]
    if answer.unwashed:
        waiting = count_words(len(answer.unwashed), "sample")
        verb = "is" if len(answer.unwashed) == 1 else "are"
        said.append(
            say(
                Part(text=waiting, means=", ".join(answer.unwashed)),
                f" {verb} not washed yet: unknown, not zero.",
            )
        )
    odd = [one for one in answer.findings if one.weight != "note"]
    if odd:
        verb = "looks" if len(odd) == 1 else "look"
        things = count_words(len(odd), "thing")
        said.append(say(f"{things} in the record {verb} wrong."))
    return tuple(said)


def grade_verdict(answer: GradeAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return what the pans say: the best interval, and how far to trust them."""
    graded = [one for one in answer.digs if one.grade_mg_m3 is not None]
    best = max(graded, key=_accumulation, default=None)
    if best is None or best.grade_mg_m3 is None:
        return (say("No washed sample has a volume yet, so no grade can be told."),)
    said = [_best_interval(best, best.grade_mg_m3, measures)]
    kinds = Counter(one.reliability for one in answer.samples)
    if any(kinds[word] for word in RELIABLE):
        said.append(_reliance(kinds))
    odd = [one for one in answer.findings if one.weight != "note"]
    if odd:
        said.append(say(_check_first(odd[0])))
    return tuple(said)


def _reliance(kinds: Mapping[str, int]) -> Sentence:
    """Return how many of the graded samples can be relied on."""
    counts = {word: kinds[word] for word in RELIABLE}
    count = sum(counts.values())
    only = next((word for word in RELIABLE if counts[word] == count), None)
    if only is not None:
        who = f"All {count} graded samples are"
        if count < 3:
            who = ("One sample is graded; it is", "Both graded samples are")[count - 1]
        limit = (
            LIMITS[only] if count == 1 else LIMITS[only].replace("it may", "each may")
        )
        begin, words, end = f"{who} ", f"{only} to rely on", f": {limit}."
    else:
        begin = f"Of {count_words(count, 'graded sample')}, "
        words = list_words([_so_many(number, word) for word, number in counts.items()])
        end = " to rely on."
        if counts["poor"]:
            end = f" to rely on (poor: {LIMITS['poor']})."
    return say(begin, Part(text=words, means=RELIABILITY_MEANS), end)


def _so_many(count: int, word: str) -> str:
    return f"{count or 'none'} {'are' if count > 1 else 'is'} {word}"


def _check_first(finding: Finding) -> str:
    """Return what to check first as a sentence: "Check dig T1 first: ..."."""
    where = "the ground" if finding.where == "ground" else finding.where
    problem = _SENTENCE_END.split(finding.problem)[0]  # the rest stands in the list
    if problem[1:2].islower() or problem.startswith(("A ", "It ")):
        problem = problem[:1].lower() + problem[1:]
    stop = "" if problem.endswith((".", "!", "?")) else "."
    return f"Check {where} first: {problem}{stop}"


def _accumulation(dig: DigGrade) -> float:
    found = dig.accumulation_mg_m2 or dig.grade_mg_m3
    return found.p50 if found is not None else 0.0


def _best_interval(best: DigGrade, grade: Spread, measures: Measures) -> Sentence:
    where = f", {horizon_words(best.best_horizon)}" if best.best_horizon else ""
    parts: list[Part | str] = [
        f"The best interval is in dig {best.dig}{where}: ",
        open_number(
            grade, "grade", measures, means="raw gold in place, per bank volume"
        ),
    ]
    if best.pay_top_m is not None and best.pay_bottom_m is not None:
        thick = best.pay_bottom_m - best.pay_top_m
        parts.append(f" over {quantity_words(thick, 'length', measures)}")
    if best.overburden_m:
        deep = quantity_words(best.overburden_m, "length", measures)
        parts.append(f", under {deep} of overburden")
    return say(*parts, ".")


def trace_verdict(answer: TraceAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return where the pay runs: the richest streak, its links, merges, others."""
    if not answer.streaks:
        return (_no_streak(answer, measures),)
    richest = answer.streaks[0]  # their letters go in order of gold
    said = [_where(richest, measures), _how_far(richest, answer.rests_on)]
    said += [_merge_sentence(answer, number) for number in _told_merges(answer)]
    others = [one for one in answer.streaks if one is not richest]
    if others:
        said.append(_other_streaks(others))
    return tuple(said)


def _no_streak(answer: TraceAnswer, measures: Measures) -> Sentence:
    cutoff = quantity_words(answer.cutoff_mg_m3, "grade", measures)
    chance = answer.probability_of_any
    return say(
        f"No pay streak above {cutoff} shows. That there is any is ",
        open_chance(
            chance,
            f"{probability_word(chance)} ({percent_words(chance)})",
            "share of joint draws in which any streak exceeds the cutoff",
        ),
        ".",
    )


def _where(streak: Streak, measures: Measures) -> Sentence:
    parts: list[Part | str] = [
        f"Streak {streak.id}, the richest, lies {horizon_words(streak.horizon)}, "
    ]
    parts.append(_across(streak, measures))
    cover = _cover(streak.path)
    if cover is not None:
        parts.append(", under about ")
        parts.append(
            open_number(
                cover,
                "length",
                measures,
                means="depth of the top of the pay, averaged along the streak",
            )
        )
        parts.append(" of overburden")
    return say(*parts, ".")


def _across(streak: Streak, measures: Measures) -> Part:
    """Return how far left or right of the centerline a streak runs."""
    low = min(point.center_n_m.p50 for point in streak.path)
    high = max(point.center_n_m.p50 for point in streak.path)
    return Part(
        text=across_words(low, high, measures),
        means="median of the streak's middle, looking downstream",
    )


def across_words(low_m: float, high_m: float, measures: Measures) -> str:
    """Return a range of offsets as a person standing on the centerline says it.

    Parameters
    ----------
    low_m, high_m : float
        Least and greatest distance left of the centerline; right is negative [m].
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        "2 to 4 m left of the centerline".
    """
    low, high = (measures.show(one, "length")[0] for one in (low_m, high_m))
    unit = unit_name(measures.length)
    near, far = sorted((round(abs(low)), round(abs(high))))
    if far == 0:
        return "along the centerline"
    if low < -0.5 and high > 0.5:
        right, left = (number_words(abs(one), 1) for one in (low, high))
        return (
            f"between {right}{NO_BREAK}{unit} right and {left}{NO_BREAK}{unit} left "
            "of the centerline"
        )
    side = "left" if low + high > 0.0 else "right"
    distance = f"{near} to {far}" if near != far else f"about {far}"
    return f"{distance}{NO_BREAK}{unit} {side} of the centerline"


def _cover(path: Sequence[PathPoint]) -> Spread | None:
    """Return the depth of the pay's top, averaged along a path [m]."""
    tops = [point.top_m for point in path if point.top_m is not None]
    if not tops:
        return None
    count = len(tops)
    return Spread(
        sum(top.p10 for top in tops) / count,
        sum(top.p50 for top in tops) / count,
        sum(top.p90 for top in tops) / count,
        sum(top.mean for top in tops) / count,
    )


def rest_words(rests_on: Mapping[str, int]) -> str:
    """Return how few digs something rests on; empty where nothing is known of them.

    >>> rest_words({"poor": 5}).replace(NO_BREAK, " ")
    ', on 5 digs, all poor to rely on'
    """
    count, poor = sum(rests_on.values()), rests_on.get("poor", 0)
    if not count:
        return ""
    said = f", on {count_words(count, 'dig')}"
    if not poor:
        return said
    of_them = f"{poor} of them"
    if poor == count:
        of_them = {1: "", 2: "both"}.get(count, "all")
    return f"{said}, {of_them} poor to rely on".replace("  ", " ")


def _how_far(streak: Streak, rests_on: Mapping[str, int]) -> Sentence:
    there = open_chance(
        streak.probability,
        probability_word(streak.probability),
        "share of joint draws in which this streak is above the cutoff at two "
        f"adjacent lines and linked: {percent_words(streak.probability)}",
    )
    if not streak.links:
        line = next((point.line for point in streak.path if point.line), None)
        at = f" at line {line}" if line else ""
        return say(f"That it is there{at} is ", there, f"{rest_words(rests_on)}.")
    first, last = streak.links[0].from_line, streak.links[-1].to_line
    parts: list[Part | str] = [
        "That it is there is ",
        there,
        f"{rest_words(rests_on)}; it is followed from line {first} to line {last}",
    ]
    if len(streak.links) > 1:
        weak = min(streak.links, key=lambda one: one.probability)
        parts += [
            f", its weakest link, line {weak.from_line} to {weak.to_line}, being ",
            _link_chance(weak),
        ]
    return say(*parts, ".")


def _link_chance(link: Link) -> Part:
    return open_chance(
        link.probability,
        probability_word(link.probability),
        f"share of joint draws with this link: {percent_words(link.probability)}",
    )


def _told_merges(answer: TraceAnswer) -> list[int]:
    """Return the most probable merges, by their number, in order downstream."""
    ranked = sorted(
        range(len(answer.merges)), key=lambda one: -answer.merges[one].probability
    )
    return sorted(ranked[:MOST_MERGES], key=lambda one: answer.merges[one].s_m)


def _merge_sentence(answer: TraceAnswer, number: int) -> Sentence:
    merge = answer.merges[number]
    near = _nearest_line(answer, merge.s_m)
    return say(
        f"Streaks {list_words(merge.from_)} come together into streak {merge.into}"
        f"{f' near line {near}' if near else ''} (",
        open_chance(
            merge.probability,
            chance_words(merge.probability),
            "share of joint draws in which they join: "
            + percent_words(merge.probability),
        ),
        ").",
    )


def _nearest_line(answer: TraceAnswer, s_m: float) -> str | None:
    lines = {
        point.line: point.s_m
        for streak in answer.streaks
        for point in streak.path
        if point.line
    }
    return min(lines, key=lambda line: abs(lines[line] - s_m), default=None)


def _other_streaks(others: Sequence[Streak]) -> Sentence:
    parts: list[Part | str] = ["Besides it: " if len(others) < 6 else "Among others: "]
    for number, streak in enumerate(others[:5]):
        if number:
            parts.append("; ")
        parts.append(f"streak {streak.id}, {horizon_words(streak.horizon)}, ")
        parts.append(
            open_chance(
                streak.probability,
                probability_word(streak.probability),
                f"share of joint draws: {percent_words(streak.probability)}",
            )
        )
    return say(*parts, ".")


def total_sentences(answer: TraceAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return the gold of the sampled stretch, and what that is not."""
    total = answer.total
    if total.gold_g is None:
        return (
            say(
                "The gold of the stretch cannot be told: two lines with two digs "
                "each are the least that encloses any ground."
            ),
        )
    parts: list[Part | str] = [
        "Between the outermost lines lie about ",
        open_number(
            total.gold_g.scaled(1000.0),
            "mass",
            measures,
            means="raw gold in place, from the surface down to the bedrock taken up",
        ),
        " of raw gold",
    ]
    if total.gravel_m3 is not None:
        gravel = quantity_words(total.gravel_m3.p50, "volume", measures)
        parts.append(f" in {gravel} of ground (bank)")
    if total.gold_g_above_cutoff is not None:
        cutoff = quantity_words(answer.cutoff_mg_m3, "grade", measures)
        parts += [
            ", of which ",
            open_number(
                total.gold_g_above_cutoff.scaled(1000.0),
                "mass",
                measures,
                means="gold wherever the grade exceeds the cutoff, draw by draw",
            ),
            f" lie where the pay is above {cutoff}",
        ]
    return (say(*parts, "."), say(NO_RESOURCE))


def worth_verdict(answer: WorthAnswer, measures: Measures) -> tuple[Sentence, ...]:
    """Return whether it is worth it: the verdict, the money, the cut, the season."""
    said = [say(answer.verdict)]
    if answer.margin is not None:
        said.append(_margin_sentence(answer, answer.margin))
    if answer.cut is not None:
        cut = answer.cut
        pay = quantity_words(cut.pay_m3, "volume", measures)
        cover = quantity_words(cut.overburden_m3, "volume", measures)
        days = ""
        if answer.season is not None:
            days = f" in {count_words(round(answer.season.days), 'day')}"
        said.append(
            say(
                f"The cut moves {cover} of overburden (bank) to wash {pay} of pay"
                f"{days}, down to about ",
                open_number(cut.depth_m, "length", measures, means="depth of the cut"),
                ".",
            )
        )
    told = "must hold" in answer.verdict
    if answer.break_even_grade_mg_m3 is not None and not told:
        even = quantity_words(answer.break_even_grade_mg_m3, "grade", measures)
        said.append(say(f"Ground that pays for itself must hold {even}."))
    return tuple(said)


def _margin_sentence(answer: WorthAnswer, margin: Spread) -> Sentence:
    parts: list[Part | str] = [
        "What is left after all costs: ",
        Part(
            text=money_interval_words(margin, answer.currency),
            means="revenue less cost of the cut, one season",
            spread=margin,
            quantity="money",
        ),
    ]
    if answer.chance_of_loss is not None:
        parts += [
            "; the chance of a loss is ",
            open_chance(
                answer.chance_of_loss,
                chance_words(answer.chance_of_loss),
                "share of joint draws in which the cut loses money: "
                + percent_words(answer.chance_of_loss),
            ),
        ]
    return say(*parts, ".")


__all__ = [
    "NO_RESOURCE",
    "Part",
    "Sentence",
    "across_words",
    "grade_verdict",
    "ground_verdict",
    "next_verdict",
    "total_sentences",
    "trace_verdict",
    "verdict_text",
    "worth_verdict",
]
