"""To be surer, in the report: the bulk test, clean-ups beside it, gold by the hour."""

from __future__ import annotations

from pennyweight.answers.answer import Answer
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.bulksaid import WEIGHED_TOGETHER, say_bulk
from pennyweight.answers.bulktest import BulkAnswer
from pennyweight.answers.handsaid import say_hours
from pennyweight.answers.handwork import HoursAnswer
from pennyweight.answers.reconcile import ReconcileAnswer
from pennyweight.answers.reconcilesaid import PART_WORDS
from pennyweight.answers.wording import (
    EN_DASH,
    interval_words,
    number_words,
    percent_words,
    quantity_words,
)
from pennyweight.paper.blocks import (
    Block,
    Section,
    TableColumn,
    caution,
    paragraph,
    picture,
    table,
)
from pennyweight.pictures.reconcilechart import draw_reconcile
from pennyweight.pictures.svg import Look
from pennyweight.spread import Spread
from pennyweight.units import Measures

#: Beginnings of the keys that no other section tells of.
OWN_KEYS = ("reconcile_", "bulk_", "clock_per_")


def surer_section(
    bulk: BulkAnswer | None,
    cleanups: ReconcileAnswer | None,
    hours: HoursAnswer | None,
    *,
    look: Look,
) -> Section | None:
    """Return what would make the estimate surer, and what has.

    Parameters
    ----------
    bulk : BulkAnswer or None
        The bulk test.
    cleanups : ReconcileAnswer or None
        Clean-ups beside their estimates; left out where none is recorded.
    hours : HoursAnswer or None
        Gold by the hour; left out where no outing tells it.
    look : Look
        Units, inks, width of paper.

    Returns
    -------
    Section or None
        None where there is nothing to say.
    """
    blocks: list[Block] = []
    if cleanups is not None and cleanups.cuts:
        blocks += _cleanups(cleanups, look)
    if hours is not None and hours.kinds:
        first = hours.kinds[0]
        said = say_hours(
            first.kind,
            first.work.per_hour,
            money=first.money_per_hour,
            currency=hours.currency or "money",
            measures=look.measures,
        )
        blocks.append(paragraph(said))
    if bulk is not None and bulk.plan is not None:
        blocks += _bulk(bulk, look.measures)
    if not blocks:
        return None
    blocks += _supposed(bulk, cleanups, hours)
    return Section(heading="To be surer", blocks=tuple(blocks))


def _supposed(*answers: Answer | None) -> list[Block]:
    """Return what these answers alone suppose; the rest stands with the others."""
    said: dict[str, str] = {}
    for answer in answers:
        for key, value in {} if answer is None else answer.assumptions.items():
            words, _ = find_assumption(key)
            if words is not None and key.startswith(OWN_KEYS):
                unit = f" {words.unit}" if words.unit else ""
                said[key] = f"{words.label} {number_words(float(value))}{unit}"
    if not said:
        return []
    return [paragraph(f"Supposed for this: {'; '.join(said.values())}.")]


def _cleanups(answer: ReconcileAnswer, look: Look) -> list[Block]:
    """Return clean-ups with their picture, and what they teach."""
    blocks = [
        paragraph(answer.verdict),
        picture(draw_reconcile(answer, look), "Gold won beside gold expected"),
    ]
    if answer.parts:
        columns = [
            TableColumn(head="what may be off", width="1fr"),
            TableColumn(head="before, 80 %", right=True),
            TableColumn(head="now", right=True),
            TableColumn(head="80 %", right=True),
        ]
        rows = [
            [
                PART_WORDS[one.part][0],
                _range(one.before),
                number_words(one.after.p50),
                _range(one.after),
            ]
            for one in answer.parts
        ]
        blocks.append(table(columns, rows))
        state = "carried into" if answer.carried else "kept out of"
        blocks.append(paragraph(f"Clean-ups are {state} the estimate of this report."))
    return [*blocks, *(caution(words) for words in answer.cautions[-2:])]


def _bulk(answer: BulkAnswer, measures: Measures) -> list[Block]:
    """Return the bulk test, what results would mean, and its places."""
    said = say_bulk(
        answer.plan,
        answer.outlook,
        within=answer.within,
        sure=answer.sure,
        tested=answer.tested,
        measures=measures,
    )
    now = interval_words(answer.grade_mg_m3, "grade", measures)
    asked = quantity_words(answer.threshold_mg_m3, "grade", measures)
    blocks = [
        paragraph(f"{said} Its grade is believed to be {now} now; {asked} just pays."),
        paragraph(" ".join([*_verdicts(answer, measures), WEIGHED_TOGETHER])),
    ]
    columns = [
        TableColumn(head="place", width="1fr"),
        TableColumn(head="east", right=True),
        TableColumn(head="north", right=True),
        TableColumn(head="pay from-to", right=True),
        TableColumn(head="wash", right=True),
    ]
    rows = [
        [
            str(one.number),
            f"{one.easting_m:.1f}",
            f"{one.northing_m:.1f}",
            _depths(one.top_m, one.bottom_m, measures),
            quantity_words(one.bank_m3, "volume", measures),
        ]
        for one in answer.places
    ]
    blocks.append(table(columns, rows))
    return [*blocks, *(caution(words) for words in answer.cautions)]


def _verdicts(answer: BulkAnswer, measures: Measures) -> list[str]:
    """Return which results would settle it."""
    look = answer.outlook
    said = []
    if look is not None and look.confirms_above_mg_m3 is not None:
        limit = quantity_words(look.confirms_above_mg_m3, "grade", measures)
        said.append(
            f"A result above {limit} confirms it (chance "
            f"{percent_words(look.chance_confirmed)})."
        )
    if look is not None and look.refutes_below_mg_m3 is not None:
        limit = quantity_words(look.refutes_below_mg_m3, "grade", measures)
        said.append(
            f"A result below {limit} refutes it (chance "
            f"{percent_words(look.chance_refuted)})."
        )
    return said


def _range(spread: Spread) -> str:
    return f"{number_words(spread.p10)}{EN_DASH}{number_words(spread.p90)}"


def _depths(top_m: float | None, bottom_m: float | None, measures: Measures) -> str:
    if top_m is None or bottom_m is None:
        return "unknown"
    (top, unit), (bottom, _) = (
        measures.show(one, "length") for one in (top_m, bottom_m)
    )
    return f"{top:.2f}{EN_DASH}{bottom:.2f} {unit}"
