"""What is said of a bulk test: how much, where, and what it can show."""

from __future__ import annotations

from pennyweight.answers.wording import (
    NO_BREAK,
    chance_words,
    count_words,
    number_words,
    quantity_words,
)
from pennyweight.units import METRIC, Measures
from pennyweight.worth.bulktest import BulkPlan, Outlook

WEIGHED_TOGETHER = (
    "A result is weighed together with what the samples say already: it need not pass "
    "the grade to confirm by itself, nor does passing it settle the matter."
)


def say_bulk(
    plan: BulkPlan | None,
    outlook: Outlook | None,
    *,
    within: float,
    sure: float,
    tested: str,
    measures: Measures = METRIC,
) -> str:
    """Return the bulk test in two or three sentences.

    Parameters
    ----------
    plan : BulkPlan or None
        None where no test can do it.
    outlook : Outlook or None
        What its results would mean.
    within, sure : float
        What was asked for [-].
    tested : str
        Which ground.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        Plain sentences.
    """
    asked = f"within {within:.0%} at {sure:.0%}".replace("%", f"{NO_BREAK}%")
    if plan is None or outlook is None:
        return (
            f"No bulk test of up to 60 places can tell the grade of {tested} {asked}: "
            "the ground is too uneven, or survey and recovery are too unsure. Ask for "
            "less."
        )
    holes = count_words(plan.places, "place")
    said = (
        f"Wash {quantity_words(plan.bank_m3, 'volume', measures)} of pay from {holes} "
        f"spread over {tested}: its grade is then known {asked}. That takes about "
        f"{number_words(plan.hours)} hours."
    )
    return f"{said} {_say_outlook(outlook)}"


#: Chance of one verdict from which the ground is settled already [-]; ours.
SETTLED = 0.99


def _say_outlook(outlook: Outlook) -> str:
    """Return the chance that it settles anything."""
    for chance, what in (
        (outlook.chance_confirmed, "pays"),
        (outlook.chance_refuted, "does not pay"),
    ):
        if chance > SETTLED:
            return (
                f"It would hardly change anything: the samples already say that the "
                f"ground {what}, whatever the test brings."
            )
    settled = outlook.chance_confirmed + outlook.chance_refuted
    if settled < 0.05:
        return "It would hardly settle anything: the ground is too near what just pays."
    return (
        f"As things stand it confirms that the ground pays with a chance of "
        f"{chance_words(outlook.chance_confirmed)}, refutes it with "
        f"{chance_words(outlook.chance_refuted)}, and leaves it open with "
        f"{chance_words(outlook.chance_open)}."
    )
