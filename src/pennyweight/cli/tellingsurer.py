"""The bulk test, clean-ups and hours as lines for a terminal."""

from __future__ import annotations

from pennyweight.answers.bulksaid import WEIGHED_TOGETHER, say_bulk
from pennyweight.answers.bulktest import BulkAnswer
from pennyweight.answers.handsaid import say_hours
from pennyweight.answers.handwork import HoursAnswer, KindOfWork
from pennyweight.answers.reconcile import ReconcileAnswer
from pennyweight.answers.reconcilesaid import PART_WORDS
from pennyweight.answers.wording import (
    EIGHTY,
    EN_DASH,
    NO_BREAK,
    interval_words,
    money_interval_words,
    number_words,
    percent_words,
    quantity_words,
)
from pennyweight.cli.layout import bullets, pairs, paragraph, table
from pennyweight.cli.telling import tell_rest
from pennyweight.spread import Spread
from pennyweight.units import Measures

MG_IN_G = 1000.0


def tell_bulk(answer: BulkAnswer, measures: Measures) -> list[str]:
    """Return the bulk test, as lines."""
    said = say_bulk(
        answer.plan,
        answer.outlook,
        within=answer.within,
        sure=answer.sure,
        tested=answer.tested,
        measures=measures,
    )
    now = interval_words(answer.grade_mg_m3, "grade", measures)
    rows = [
        ("grade as believed now", now),
        ("to be confirmed", quantity_words(answer.threshold_mg_m3, "grade", measures)),
    ]
    rows += _outlook(answer, measures)
    if answer.plan is not None:
        water = quantity_words(answer.plan.water_m3, "volume", measures)
        rows += [
            (f"hours with {answer.plant}", number_words(answer.plan.hours)),
            ("water through it", water),
        ]
    return [
        *paragraph(said),
        *pairs(rows),
        *(["", *paragraph(WEIGHED_TOGETHER)] if answer.outlook else []),
        *_ladder(answer, measures),
        *_places(answer, measures),
        "",
        *paragraph(EIGHTY),
        *tell_rest(answer),
    ]


def _outlook(answer: BulkAnswer, measures: Measures) -> list[tuple[str, str]]:
    """Return what results would mean."""
    look = answer.outlook
    if look is None:
        return []
    rows = []
    for words, side, limit, chance in (
        ("confirms", "above", look.confirms_above_mg_m3, look.chance_confirmed),
        ("refutes", "below", look.refutes_below_mg_m3, look.chance_refuted),
    ):
        shown = "no result can"
        if limit is not None:
            shown = (
                f"{side} {quantity_words(limit, 'grade', measures)}, chance "
                f"{percent_words(chance)}"
            )
        rows.append((words, shown))
    return [*rows, ("tells you wrong", f"chance {percent_words(look.chance_wrong)}")]


def _ladder(answer: BulkAnswer, measures: Measures) -> list[str]:
    rows = [
        (
            percent_words(one.within),
            "" if one.places is None else str(one.places),
            ""
            if one.bank_m3 is None
            else quantity_words(one.bank_m3, "volume", measures),
            "" if one.hours is None else number_words(one.hours),
        )
        for one in answer.ladder
    ]
    return table(("within", "places", "pay", "hours"), rows)


def _places(answer: BulkAnswer, measures: Measures) -> list[str]:
    rows = [
        (
            str(one.number),
            f"{one.easting_m:.1f}",
            f"{one.northing_m:.1f}",
            ""
            if one.top_m is None or one.bottom_m is None
            else _depths(one.top_m, one.bottom_m, measures),
            quantity_words(one.bank_m3, "volume", measures),
        )
        for one in answer.places
    ]
    return table(("place", "east", "north", "pay", "wash"), rows)


def _depths(top_m: float, bottom_m: float, measures: Measures) -> str:
    """Return an interval of depth as fine as a tape is read."""
    (top, unit), (bottom, _) = (
        measures.show(one, "length") for one in (top_m, bottom_m)
    )
    return f"{top:.2f}{EN_DASH}{bottom:.2f}{NO_BREAK}{unit}"


def tell_reconcile(answer: ReconcileAnswer, measures: Measures) -> list[str]:
    """Return clean-ups beside their estimates, as lines."""
    lines = paragraph(answer.verdict)
    for cut in answer.cuts:
        place = f" ({cut.area})" if cut.area else ""
        lines += ["", *paragraph(f"{cut.cleanup}{place}: {cut.said}")]
        if cut.won_g is not None:
            won = quantity_words(cut.won_g * MG_IN_G, "mass", measures)
            lines.append(f"  won       {won}")
        if cut.expected_g is not None:
            lines.append(f"  expected  {_gold(cut.expected_g, measures)}")
    rows = [
        (PART_WORDS[one.part][0], _range(one.before), _factor(one.after))
        for one in answer.parts
    ]
    if answer.ground_factor is not None:
        whole = _factor(answer.ground_factor)
        rows.append(("The ground over its estimate", "", whole))
    lines += table(("what may be off", "before", "now"), rows)
    if answer.left_g is not None and answer.left_before_g is not None and rows:
        state = "carried into" if answer.carried else "kept out of"
        lines += [
            "",
            *paragraph(
                f"Clean-ups are {state} the next estimate. Gold outside the cuts: "
                f"{_gold(answer.left_g, measures)}; by the samples alone "
                f"{_gold(answer.left_before_g, measures)}."
            ),
        ]
    lines += _kinds(answer, measures)
    return [*lines, "", *paragraph(EIGHTY), *tell_rest(answer)]


def _kinds(answer: ReconcileAnswer, measures: Measures) -> list[str]:
    """Return the grades of worked and virgin ground, where any is worked."""
    kinds = answer.kinds
    if not kinds.marked:
        return []
    return pairs(
        [
            (words, "" if grade is None else interval_words(grade, "grade", measures))
            for words, grade in (
                ("virgin ground", kinds.virgin.grade_mg_m3),
                ("worked before", kinds.worked.grade_mg_m3),
            )
        ]
    )


def _gold(spread_g: Spread, measures: Measures) -> str:
    return interval_words(spread_g.scaled(MG_IN_G), "mass", measures)


def _range(spread: Spread) -> str:
    return f"{number_words(spread.p10)}{EN_DASH}{number_words(spread.p90)}"


def _factor(spread: Spread) -> str:
    return f"{number_words(spread.p50)} ({_range(spread)})"


def tell_hours(answer: HoursAnswer, measures: Measures) -> list[str]:
    """Return gold by the hour, as lines."""
    first = answer.kinds[0] if answer.kinds else None
    said = say_hours(
        first.kind if first else None,
        first.work.per_hour if first else None,
        money=first.money_per_hour if first else None,
        currency=answer.currency or "money",
        measures=measures,
    )
    lines = paragraph(said)
    for one in answer.kinds:
        lines += ["", f"By {one.kind}s:", *pairs(_work(one, answer.currency, measures))]
    rows = [
        (
            one.name,
            number_words(one.hours),
            quantity_words(one.gold_mg, "mass", measures),
            quantity_words(one.mg_per_hour, "mass", measures),
            ""
            if one.mg_per_m3 is None
            else quantity_words(one.mg_per_m3, "grade", measures),
        )
        for one in answer.outings
    ]
    lines += table(("outing", "hours", "gold", "an hour", "grade"), rows)
    if answer.left_out:
        left = (
            f"{answer.left_out} of all clean-ups and days: hours or gold are not "
            "known. Unknown is not nothing."
        )
        lines += bullets("Left out:", [left])
    return [*lines, "", *paragraph(EIGHTY), *tell_rest(answer)]


def _work(one: KindOfWork, currency: str, measures: Measures) -> list[tuple[str, str]]:
    """Return what one kind of outing brings."""
    rows = [
        ("gold for an hour", interval_words(one.work.per_hour, "mass", measures)),
        ("the next outing", interval_words(one.work.next_per_hour, "mass", measures)),
    ]
    if one.money_per_hour is not None:
        rows.append(("in money", money_interval_words(one.money_per_hour, currency)))
    if one.gold_mg_m3 is not None:
        rows.append(
            ("gold by volume", interval_words(one.gold_mg_m3, "grade", measures))
        )
    if one.m3_per_hour is not None:
        moved = quantity_words(one.m3_per_hour, "volume", measures)
        rows.append(("ground moved in an hour", moved))
    return rows
