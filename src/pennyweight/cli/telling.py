"""Answers told to a person: the verdict, the numbers, then what they rest on."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pennyweight.answers.answer import Answer
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.digreasons import KIND_WORDS
from pennyweight.answers.grade import DigGrade, GradeAnswer, SampleGrade
from pennyweight.answers.nextdigs import NextAnswer
from pennyweight.answers.nextsaid import unmet_rules
from pennyweight.answers.reckon import ReckonAnswer, say_pan
from pennyweight.answers.sentences import (
    Sentence,
    grade_verdict,
    next_verdict,
    total_sentences,
    trace_verdict,
    verdict_text,
    worth_verdict,
)
from pennyweight.answers.trace import Merge, Split, Streak, TraceAnswer
from pennyweight.answers.wording import (
    EIGHTY,
    LIMITS,
    NO_BREAK,
    chance_words,
    count_words,
    horizon_name,
    interval_words,
    list_words,
    money_interval_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
    reliability_words,
    unit_name,
)
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthtables import worth_tables
from pennyweight.cli.alike import alike_lines
from pennyweight.cli.layout import bullets, pairs, paragraph, table
from pennyweight.cli.tellingcompany import tell_company
from pennyweight.spread import Spread, probability_word
from pennyweight.units import Measures

MG_IN_G = 1000.0


def _verdict(sentences: Sequence[Sentence]) -> list[str]:
    """Return a verdict as a paragraph."""
    return paragraph(verdict_text(sentences))


def _rest(
    cautions: Sequence[str],
    assumptions: Mapping[str, Any],
    who: str = "the book does",
) -> list[str]:
    """Return what an answer rests on, and what to know before acting on it."""
    supposed = [_assumption(key, value) for key, value in assumptions.items()]
    supposed = list(dict.fromkeys(supposed))  # one value may stand under two keys
    return [
        *bullets(f"Supposed, because {who} not say:", supposed),
        *bullets("Before you act on it:", cautions),
    ]


def tell_rest(answer: Answer) -> list[str]:
    """Return what an answer of a book rests on, and its cautions, as lines."""
    return _rest(answer.cautions, answer.assumptions)


def _assumption(key: str, value: Any) -> str:
    """Return an assumption as one line: what, how much, whence, how to replace it."""
    words, of_what = find_assumption(key)
    shown = number_words(value, 3) if isinstance(value, int | float) else str(value)
    if words is None:
        return f"{key.replace('_', ' ')}: {shown}."
    label = f"{words.label} ({of_what})" if of_what else words.label
    unit = f" {words.unit}" if words.unit else ""
    return f"{label}: {shown}{unit} ({words.source}). {words.remedy}"


def _length(value_m: float | None, measures: Measures) -> str:
    """Return a length, or nothing where it cannot be told."""
    return "" if value_m is None else quantity_words(value_m, "length", measures)


def _stretch(top_m: float | None, bottom_m: float | None, measures: Measures) -> str:
    """Return the depths between which something lies."""
    if top_m is None or bottom_m is None:
        return ""
    top, unit = measures.show(top_m, "length")
    bottom, _ = measures.show(bottom_m, "length")
    return f"{top:.2f}-{bottom:.2f} {unit}"


def _spread(spread: Spread | None, quantity: str, measures: Measures) -> str:
    """Return an uncertain quantity with its 80 % interval."""
    return "" if spread is None else interval_words(spread, quantity, measures)


def tell_grade(answer: GradeAnswer, measures: Measures) -> list[str]:
    """Return what each dig and pan holds, as lines."""
    digs = [_dig_row(one, measures) for one in answer.digs]
    samples = [_sample_row(one, measures) for one in answer.samples]
    doubts = alike_lines([one for one in answer.findings if one.weight != "note"])
    notes = alike_lines([one for one in answer.findings if one.weight == "note"])
    return [
        *_verdict(grade_verdict(answer, measures)),
        *table(
            ("dig", "line", "best gravel", "overburden", "on", "grade (bank)"), digs
        ),
        *table(
            ("sample", "dig", "taken from", "colors", "grade (bank)", "trust"), samples
        ),
        *_trust({one.reliability for one in answer.samples}),
        *_eighty(),
        *bullets("Odd:", doubts),
        *bullets("Noted:", notes),
        *_rest(answer.cautions, answer.assumptions),
    ]


def _eighty() -> list[str]:
    """Return, once for an answer, what its intervals are."""
    return ["", *paragraph(EIGHTY)]


def _trust(reliabilities: Collection[str]) -> list[str]:
    """Return what the words for trust mean, those alone that stand there."""
    words = [f"{word} ({LIMITS[word]})" for word in LIMITS if word in reliabilities]
    return ["", *paragraph(f"Trust in words: {'; '.join(words)}.")] if words else []


def _dig_row(dig: DigGrade, measures: Measures) -> tuple[str, ...]:
    """Return the best interval of a dig as cells."""
    return (
        dig.dig,
        dig.line or "",
        _stretch(dig.pay_top_m, dig.pay_bottom_m, measures),
        _length(dig.overburden_m, measures),
        horizon_name(dig.best_horizon) if dig.best_horizon else "",
        _spread(dig.grade_mg_m3, "grade", measures),
    )


def _sample_row(sample: SampleGrade, measures: Measures) -> tuple[str, ...]:
    """Return a sample as cells."""
    return (
        sample.sample,
        sample.dig,
        _stretch(sample.top_m, sample.bottom_m, measures),
        "" if sample.colors is None else number_words(sample.colors),
        _spread(sample.grade_mg_m3, "grade", measures),
        sample.reliability,
    )


def tell_trace(answer: TraceAnswer, measures: Measures) -> list[str]:
    """Return where the streaks run, as lines."""
    meetings = [_merge(one, measures) for one in answer.merges]
    meetings += [_split(one, measures) for one in answer.splits]
    links = [
        (one.id, f"{link.from_line} to {link.to_line}", _chance(link.probability))
        for one in answer.streaks
        for link in one.links
    ]
    return [
        *_verdict(trace_verdict(answer, measures)),
        *_followed(answer, measures),
        *table(
            ("streak", "there", "on", "along the valley", "gold", "gravel (bank)"),
            [_streak_row(one, measures) for one in answer.streaks],
        ),
        *table(("streak", "from line to line", "linked"), links),
        *bullets("Where they meet or part:", meetings),
        *tell_company(answer, measures),
        "",
        *_verdict(total_sentences(answer, measures)),
        *_eighty(),
        *_rest(answer.cautions, answer.assumptions),
    ]


def _followed(answer: TraceAnswer, measures: Measures) -> list[str]:
    """Return the cutoff; where no streak shows, the verdict has said it."""
    if not answer.streaks:
        return []
    cutoff = quantity_words(answer.cutoff_mg_m3, "grade", measures)
    chance = _chance(answer.probability_of_any)
    return ["", f"Followed above {cutoff} (bank). That there is any: {chance}."]


def _chance(probability: float) -> str:
    """Return a probability in the fixed words, with its percent."""
    return f"{percent_words(probability)}, {probability_word(probability)}"


def _streak_row(streak: Streak, measures: Measures) -> tuple[str, ...]:
    """Return a streak as cells."""
    first, last = streak.path[0].s_m, streak.path[-1].s_m
    start, unit = measures.show(first, "length")
    end, _ = measures.show(last, "length")
    return (
        streak.id,
        _chance(streak.probability),
        horizon_name(streak.horizon),
        f"{start:.0f}-{end:.0f} {unit}",
        _spread(streak.gold_g.scaled(MG_IN_G), "mass", measures),
        _spread(streak.gravel_m3, "volume", measures),
    )


def _merge(merge: Merge, measures: Measures) -> str:
    """Return a merge as a sentence."""
    return (
        f"Streaks {list_words(list(merge.from_))} come together into streak"
        f" {merge.into} at"
        f" {_length(merge.s_m, measures)} along the valley"
        f" ({merge.easting_m:.0f} E, {merge.northing_m:.0f} N):"
        f" {_chance(merge.probability)}."
    )


def _split(split: Split, measures: Measures) -> str:
    """Return a split as a sentence."""
    return (
        f"Streak {split.from_} parts into streaks {list_words(list(split.into))} at"
        f" {_length(split.s_m, measures)} along the valley"
        f" ({split.easting_m:.0f} E, {split.northing_m:.0f} N):"
        f" {_chance(split.probability)}."
    )


def tell_worth(answer: WorthAnswer, measures: Measures) -> list[str]:
    """Return whether it is worth it, as lines."""
    gold = (("gold in the cut", answer.gold_g), ("gold recovered", answer.recovered_g))
    rows = [
        (what, interval_words(grams.scaled(MG_IN_G), "mass", measures))
        for what, grams in gold
        if grams is not None
    ]
    money = (
        ("revenue", answer.revenue),
        ("cost", answer.cost),
        ("left over", answer.margin),
    )
    rows += [
        (what, money_interval_words(sum_, answer.currency))
        for what, sum_ in money
        if sum_ is not None
    ]
    if answer.chance_of_loss is not None:
        rows.append(("chance of a loss", chance_words(answer.chance_of_loss)))
    return [
        *_verdict(worth_verdict(answer, measures)),
        *bullets("Why:", answer.reasons),
        *pairs(rows),
        *_season(answer, measures),
        *_worth_tables(answer, measures),
        *(_eighty() if rows else []),
        *_rest(answer.cautions, answer.assumptions),
    ]


def _worth_tables(answer: WorthAnswer, measures: Measures) -> list[str]:
    """Return what moves the margin, the purse, the room: each with its title."""
    lines: list[str] = []
    for one in worth_tables(answer, measures):
        lines += ["", f"{one.title}:", *table(one.headings, one.rows)]
        lines += paragraph(one.note) if one.note else []
    return lines


def _season(answer: WorthAnswer, measures: Measures) -> list[str]:
    """Return the blocks of the cut in the order of mining, as lines."""
    if answer.season is None:
        return []
    rows = [
        (
            str(number),
            _along(block.s0_m, block.s1_m, measures),
            quantity_words(block.overburden_m3, "volume", measures),
            quantity_words(block.pay_m3, "volume", measures),
            number_words(block.hours),
            money_interval_words(block.margin, answer.currency),
        )
        for number, block in enumerate(answer.season.blocks, 1)
    ]
    headings = ("block", "along the valley", "overburden", "pay", "hours", "left over")
    return table(headings, rows)


def _along(first_m: float, last_m: float, measures: Measures) -> str:
    """Return a stretch of the valley."""
    first, unit = measures.show(first_m, "length")
    return f"{first:.0f}-{measures.show(last_m, 'length')[0]:.0f} {unit}"


def tell_next(answer: NextAnswer, measures: Measures) -> list[str]:
    """Return where to dig next, as lines."""
    rows = [
        (
            str(dig.rank),
            f"{dig.easting_m:.0f} E, {dig.northing_m:.0f} N",
            dig.line or "",
            KIND_WORDS.get(dig.kind, dig.kind),
            _length(dig.depth_m, measures),
            number_words(dig.pans),
            number_words(dig.hours),
        )
        for dig in answer.digs
    ]
    headings = ("dig", "at", "line", "where", "depth", "pans", "hours")
    reasons = [f"{dig.rank}: {dig.say(measures)}" for dig in answer.digs]
    lines = [*_verdict(next_verdict(answer, measures)), *table(headings, rows)]
    if answer.digs:
        count = count_words(len(answer.digs), "dig")
        lines += ["", f"{count}, {number_words(answer.hours)} hours together."]
    return [
        *lines,
        *bullets("For a receiver, latitude and longitude (WGS 84):", _degrees(answer)),
        *bullets("Why there:", reasons),
        *bullets("Your rules:", unmet_rules(answer, measures)),
        *_rest(answer.cautions, answer.assumptions),
    ]


def _degrees(answer: NextAnswer) -> list[str]:
    """Return where the digs are on Earth, where that is known."""
    return [
        f"{dig.rank}: {dig.latitude:.6f}, {dig.longitude:.6f}"
        for dig in answer.digs
        if dig.latitude is not None and dig.longitude is not None
    ]


def tell_reckoning(answer: ReckonAnswer, measures: Measures) -> list[str]:
    """Return what a pan says, as lines."""
    none = answer.grade_mg_m3 is not None and not (answer.colors or answer.weighed_mg)
    rows = [("grade (bank)", _spread(answer.grade_mg_m3, "grade", measures))]
    if none and answer.grade_mg_m3 is not None:
        most = quantity_words(answer.grade_mg_m3.p90, "grade", measures)
        rows = [("grade (bank)", f"at most {most}, nine chances in ten")]
    if answer.exact_mg_m3 is not None:
        low, high = (measures.show(end, "grade")[0] for end in answer.exact_mg_m3)
        exact = f"{range_words(low, high)}{NO_BREAK}{unit_name(measures.grade)}"
        rows.append((f"by the count alone (80{NO_BREAK}%)", exact))
    if answer.counted and answer.pans_for_20_colors is not None:
        rows.append(("pans for 20 colors", number_words(answer.pans_for_20_colors)))
    rows.append(("trust", reliability_words(answer.reliability)))
    return [
        *paragraph(say_pan(answer, measures)),
        *pairs(rows),
        *([] if none else _eighty()),
        *_rest(answer.cautions, answer.assumptions, "you did"),
    ]
