"""What is said of gold by the hour."""

from __future__ import annotations

from pennyweight.answers.wording import interval_words, money_interval_words
from pennyweight.spread import Spread
from pennyweight.units import METRIC, Measures


def say_hours(
    kind: str | None,
    per_hour: Spread | None,
    *,
    money: Spread | None,
    currency: str,
    measures: Measures = METRIC,
) -> str:
    """Return what an hour of work brings.

    Parameters
    ----------
    kind : str or None
        Kind of outing that it is told by; None without any.
    per_hour : Spread or None
        Raw gold won [mg/h].
    money : Spread or None
        The same in money; None without a price.
    currency : str
        Of the money.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        One sentence or two.
    """
    if kind is None or per_hour is None:
        return (
            "No stretch of work has both its hours and its gold written down. Write "
            "hours with every clean-up, and with the days on which samples were taken."
        )
    by = "clean-ups" if kind == "clean-up" else "the days of sampling"
    said = (
        f"By {by}, an hour wins {interval_words(per_hour, 'mass', measures)} of gold."
    )
    if money is None:
        return said + " Without a price it is not told in money."
    return (
        f"{said} That is {money_interval_words(money, currency)} an hour, before what "
        "the day costs."
    )
