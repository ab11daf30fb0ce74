"""The tables of the report: digs, samples, streaks, proposed digs, assumptions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from pennyweight.answers.answer import Answer
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.digreasons import KIND_WORDS
from pennyweight.answers.grade import DigGrade, GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.nextdigs import NextAnswer
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import (
    horizon_name,
    number_words,
    percent_words,
    range_words,
    unit_name,
)
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthtables import WorthTable
from pennyweight.paper.blocks import Block, TableColumn, table
from pennyweight.spread import Spread, probability_word
from pennyweight.units import Measures

#: A cell whose number cannot be told.
UNKNOWN = "\u2014"


def shown_number(
    value: float | None, quantity: str, measures: Measures, *, figures: int = 2
) -> str:
    """Return a number in the reader's unit without the unit, for a table."""
    if value is None:
        return UNKNOWN
    return number_words(measures.show(value, quantity)[0], figures)


def shown_interval(spread: Spread | None, quantity: str, measures: Measures) -> str:
    """Return "620 (400-900)" in the reader's unit, for a table."""
    if spread is None:
        return UNKNOWN
    middle, low, high = (
        measures.show(one, quantity)[0] for one in (spread.p50, spread.p10, spread.p90)
    )
    return f"{number_words(middle)} ({range_words(low, high)})"


def dig_table(ground: GroundAnswer, grade: GradeAnswer, measures: Measures) -> Block:
    """Return where each dig lies and what its best interval holds."""
    length, unit = unit_name(measures.length), unit_name(measures.grade)
    graded = {one.dig: one for one in grade.digs}
    columns = [
        TableColumn(head="dig"),
        TableColumn(head="line"),
        TableColumn(head="easting, m", right=True),
        TableColumn(head="northing, m", right=True),
        TableColumn(head=f"deep, {length}", right=True),
        TableColumn(head="stopped by"),
        TableColumn(head="best on"),
        TableColumn(head=f"from{chr(0x2013)}to, {length}", right=True),
        TableColumn(head=f"grade, {unit} (80 %)", right=True),
    ]
    rows = []
    for dig in ground.digs:
        found = graded.get(dig.dig)
        horizon = found.best_horizon if found else None
        rows.append(
            [
                dig.dig,
                dig.line or UNKNOWN,
                UNKNOWN if dig.easting_m is None else f"{dig.easting_m:.1f}",
                UNKNOWN if dig.northing_m is None else f"{dig.northing_m:.1f}",
                shown_number(dig.bottom_m, "length", measures),
                dig.stopped_by or UNKNOWN,
                horizon_name(horizon) if horizon else UNKNOWN,
                _from_to(found, measures),
                _dig_grade_words(found, dig.unwashed, measures),
            ]
        )
    return table(columns, rows, size_pt=8.0)


def _from_to(found: DigGrade | None, measures: Measures) -> str:
    if found is None or found.pay_top_m is None or found.pay_bottom_m is None:
        return UNKNOWN
    top, bottom = (
        measures.show(one, "length")[0] for one in (found.pay_top_m, found.pay_bottom_m)
    )
    return range_words(top, bottom)


def _dig_grade_words(found: DigGrade | None, unwashed: int, measures: Measures) -> str:
    if found is None or found.grade_mg_m3 is None:
        return "not washed yet" if unwashed else UNKNOWN
    return shown_interval(found.grade_mg_m3, "grade", measures)


def sample_table(grade: GradeAnswer, measures: Measures) -> Block:
    """Return every sample with its grade and how far to rely on it."""
    length, unit = unit_name(measures.length), unit_name(measures.grade)
    columns = [
        TableColumn(head="sample"),
        TableColumn(head="dig"),
        TableColumn(head=f"from{chr(0x2013)}to, {length}", right=True),
        TableColumn(head="bank, L", right=True),
        TableColumn(head="colors", right=True),
        TableColumn(head=f"grade, {unit} (80 %)", right=True),
        TableColumn(head="rely on it"),
        TableColumn(head="remark", width="1fr"),
    ]
    rows = []
    for one in grade.samples:
        depths = UNKNOWN
        if one.top_m is not None and one.bottom_m is not None:
            top, bottom = (
                measures.show(d, "length")[0] for d in (one.top_m, one.bottom_m)
            )
            depths = range_words(top, bottom)
        rows.append(
            [
                one.sample,
                one.dig,
                depths,
                UNKNOWN if one.bank_m3 is None else number_words(one.bank_m3 * 1000.0),
                UNKNOWN if one.colors is None else number_words(one.colors, 3),
                shown_interval(one.grade_mg_m3, "grade", measures),
                UNKNOWN if one.reliability == "none" else one.reliability,
                one.why,
            ]
        )
    return table(columns, rows, size_pt=8.0)


def streak_table(trace: TraceAnswer, measures: Measures) -> Block:
    """Return each streak: how sure, where, how rich, how much."""
    mass, volume = unit_name(measures.mass), unit_name(measures.volume)
    columns = [
        TableColumn(head="streak"),
        TableColumn(head="lies on"),
        TableColumn(head="lines"),
        TableColumn(head="is there", width="1fr"),
        TableColumn(head=f"gold, {mass} (80 %)", right=True),
        TableColumn(head=f"pay gravel, {volume} (80 %)", right=True),
    ]
    rows = [
        [
            one.id,
            horizon_name(one.horizon),
            _lines_of([point.line for point in one.path]),
            f"{probability_word(one.probability)} ({percent_words(one.probability)})",
            shown_interval(one.gold_g.scaled(1000.0), "mass", measures),
            shown_interval(one.gravel_m3, "volume", measures),
        ]
        for one in trace.streaks
    ]
    return table(columns, rows)


def _lines_of(lines: Iterable[str | None]) -> str:
    named = [line for line in lines if line]
    if not named:
        return UNKNOWN
    return named[0] if len(named) == 1 else f"{named[0]} to {named[-1]}"


def next_table(nextdigs: NextAnswer, measures: Measures) -> Block:
    """Return the digs proposed, each with its reason."""
    columns = [
        TableColumn(head="", right=True),
        TableColumn(head="easting, m", right=True),
        TableColumn(head="northing, m", right=True),
        TableColumn(head="where"),
        TableColumn(head=f"deep, {unit_name(measures.length)}", right=True),
        TableColumn(head="pans", right=True),
        TableColumn(head="hours", right=True),
        TableColumn(head="why", width="1fr"),
    ]
    rows = [
        [
            str(one.rank),
            f"{one.easting_m:.1f}",
            f"{one.northing_m:.1f}",
            KIND_WORDS.get(one.kind, one.kind),
            shown_number(one.depth_m, "length", measures),
            number_words(one.pans),
            number_words(one.hours),
            one.say(measures),
        ]
        for one in nextdigs.digs
    ]
    return table(columns, rows)


def money_table(worth: WorthAnswer, measures: Measures) -> Block:
    """Return gold, revenue, cost and margin with their intervals."""
    mass, money = unit_name(measures.mass), worth.currency
    columns = [
        TableColumn(head="", width="1fr"),
        TableColumn(head="median", right=True),
        TableColumn(head="80 %", right=True),
    ]
    gold = (
        (f"raw gold in the cut, {mass}", worth.gold_g),
        (f"recovered by the plant, {mass}", worth.recovered_g),
    )
    rows = []
    for words, spread in gold:
        in_mg = spread.scaled(1000.0) if spread is not None else None
        factor = measures.show(1.0, "mass")[0]
        rows.append([words, *_middle_and_range(in_mg, factor)])
    sums = (
        (f"revenue, {money}", worth.revenue),
        (f"cost, {money}", worth.cost),
        (f"left after costs, {money}", worth.margin),
    )
    rows += [[words, *_middle_and_range(spread, 1.0)] for words, spread in sums]
    return table(columns, [*rows, *_day_rows(worth)])


def _day_rows(worth: WorthAnswer) -> list[list[str]]:
    """Return the purse at its lowest, and what one more day of digs is worth."""
    money, rows = worth.currency, []
    if worth.cash is not None:
        rows.append(
            [
                f"laid out at the lowest, {money}",
                *_middle_and_range(worth.cash.at_risk, 1.0),
            ]
        )
    day = worth.one_more_day
    if day is not None:
        value, cost = (number_words(round(one)) for one in (day.value, day.cost))
        rows.append([f"one more day of digs is worth, {money}", value, ""])
        rows.append([f"and costs, {money}", cost, ""])
    return rows


def _middle_and_range(spread: Spread | None, factor: float) -> tuple[str, str]:
    if spread is None:
        return UNKNOWN, UNKNOWN
    middle, low, high = (one * factor for one in (spread.p50, spread.p10, spread.p90))
    return number_words(middle), range_words(low, high)


def season_table(worth: WorthAnswer, measures: Measures) -> Block | None:
    """Return the blocks of the season in the order of mining."""
    if worth.season is None or not worth.season.blocks:
        return None
    volume, length = unit_name(measures.volume), unit_name(measures.length)
    columns = [
        TableColumn(head="block", right=True),
        TableColumn(head=f"downstream, {length}", right=True),
        TableColumn(head=f"overburden, {volume}", right=True),
        TableColumn(head=f"pay, {volume}", right=True),
        TableColumn(head="hours", right=True),
        TableColumn(
            head=f"left after costs, {worth.currency} (80 %)", right=True, width="1fr"
        ),
    ]
    rows = []
    for number, one in enumerate(worth.season.blocks, 1):
        start, end = (measures.show(s, "length")[0] for s in (one.s0_m, one.s1_m))
        money = f"{number_words(one.margin.p50)} ("
        money += f"{range_words(one.margin.p10, one.margin.p90)})"
        rows.append(
            [
                str(number),
                range_words(start, end, 3),
                shown_number(one.overburden_m3, "volume", measures),
                shown_number(one.pay_m3, "volume", measures),
                number_words(one.hours),
                money,
            ]
        )
    return table(columns, rows)


def worth_table(shown: WorthTable) -> Block:
    """Return a table of worth as it is told everywhere."""
    columns = [TableColumn(head=shown.headings[0], width="1.4fr")]
    columns += [TableColumn(head=head, right=True) for head in shown.headings[1:]]
    return table(columns, [list(row) for row in shown.rows])


def assumption_table(answers: Iterable[Answer | None]) -> Block | None:
    """Return every value that the program supplied, with where it comes from."""
    supplied: dict[str, Any] = {}
    for answer in answers:
        if answer is not None:
            supplied |= answer.assumptions
    if not supplied:
        return None
    columns = [
        TableColumn(head="assumed", width="1.2fr"),
        TableColumn(head="value", right=True),
        TableColumn(head="where it comes from", width="1.6fr"),
        TableColumn(head="how to replace it", width="1.4fr"),
    ]
    rows = [_assumption_row(key, value) for key, value in sorted(supplied.items())]
    return table(columns, rows)


def _assumption_row(key: str, value: Any) -> list[str]:
    words, rest = find_assumption(key)
    shown = _plain_words(value)
    if words is None:
        return [key.replace("_", " "), shown, "", ""]
    label = f"{words.label}, {rest}" if rest else words.label
    return [label, f"{shown} {words.unit}".strip(), words.source, words.remedy]


def _plain_words(value: Any) -> str:
    if isinstance(value, bool) or value is None:
        return {True: "yes", False: "no", None: "none"}[value]
    if isinstance(value, (int, float)):
        return number_words(float(value), 3)
    if isinstance(value, Mapping):
        return ", ".join(f"{key}: {_plain_words(one)}" for key, one in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(_plain_words(one) for one in value)
    return str(value)
