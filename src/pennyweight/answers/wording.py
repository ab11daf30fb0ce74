"""How numbers, intervals and chances are written, wherever a person reads them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pennyweight.spread import Spread
from pennyweight.units import Measures

NO_BREAK = "\u00a0"
EN_DASH = "\u2013"
MINUS = "\u2212"

#: Suffix of the field log -> how it is printed.
UNIT_NAMES = {
    "m3": "m³",
    "yd3": "yd³",
    "ft3": "ft³",
    "l": "L",
    "ozt": "oz t",
    "mg/m3": "mg/m³",
    "mg/yd3": "mg/yd³",
}

#: What the 80 % of an interval are, said once where intervals stand.
EIGHTY = (
    f"80{NO_BREAK}%: four chances in five that it lies between the two numbers; one in "
    "ten that it is less, one in ten that it is more."
)

#: How far a grade may be off, by its reliability.
LIMITS = {
    "good": "within about a quarter either way",
    "fair": "within about a half either way",
    "poor": "it may well be half or double",
    "none": "not washed, or without a fair volume",
}

#: Chances said in words, where one of them is nearer than 3 in a hundred.
_CHANCES = (
    (0.1, "one in ten"),
    (0.2, "one in five"),
    (0.25, "one in four"),
    (1 / 3, "one in three"),
    (0.4, "two in five"),
    (0.5, "one in two"),
    (0.6, "three in five"),
    (2 / 3, "two in three"),
    (0.75, "three in four"),
    (0.8, "four in five"),
    (0.9, "nine in ten"),
)


def unit_name(unit: str) -> str:
    """Return a unit as it is printed.

    >>> unit_name("mg/m3")
    'mg/m³'
    """
    return UNIT_NAMES.get(unit, unit)


def number_words(value: float, figures: int = 2) -> str:
    """Return a number rounded to significant figures, as a reader would write it.

    Whole numbers keep their thousands comma; nothing is written in powers of ten.

    >>> number_words(1234.0), number_words(0.0312)
    ('1,200', '0.031')
    """
    if not math.isfinite(value):
        return "unknown"
    if value == 0.0:
        return "0"
    decimals = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    text = f"{abs(rounded):,.{max(decimals, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{MINUS}{text}" if rounded < 0.0 else text


def quantity_words(
    value: float, quantity: str, measures: Measures, *, figures: int = 2
) -> str:
    """Return a value in the reader's unit, with the unit.

    Parameters
    ----------
    value : float
        In the inside unit: m, m3, mg or mg/m3.
    quantity : {"length", "volume", "mass", "grade"}
        What is measured.
    measures : Measures
        The reader's units.
    figures : int
        Significant figures.

    Returns
    -------
    str
        "620 mg/m³", the unit tied to the number.
    """
    shown, unit = measures.show(value, quantity)
    return f"{number_words(shown, figures)}{NO_BREAK}{unit_name(unit)}"


def range_words(low: float, high: float, figures: int = 2) -> str:
    """Return a range with a dash; "to" where a minus sign would read like one."""
    joint = " to " if low < 0.0 or high < 0.0 else EN_DASH
    return f"{number_words(low, figures)}{joint}{number_words(high, figures)}"


def interval_words(
    spread: Spread, quantity: str, measures: Measures, *, figures: int = 2
) -> str:
    """Return a spread as "620 mg/m³ (80 %: 400-900)".

    Parameters
    ----------
    spread : Spread
        In the inside unit.
    quantity : {"length", "volume", "mass", "grade"}
        What is measured.
    measures : Measures
        The reader's units.
    figures : int
        Significant figures.

    Returns
    -------
    str
        Median with its unit, and the interval, which always says that it is 80 %.
    """
    middle = quantity_words(spread.p50, quantity, measures, figures=figures)
    low, high = (measures.show(end, quantity)[0] for end in (spread.p10, spread.p90))
    return f"{middle} (80{NO_BREAK}%: {range_words(low, high, figures)})"


def money_words(value: float, currency: str, figures: int = 2) -> str:
    """Return a sum of money: "USD 12,000"."""
    return f"{currency}{NO_BREAK}{number_words(value, figures)}"


def money_interval_words(spread: Spread, currency: str) -> str:
    """Return a sum of money with its 80 % interval."""
    return (
        f"{money_words(spread.p50, currency)} "
        f"(80{NO_BREAK}%: {range_words(spread.p10, spread.p90)})"
    )


def percent_words(share: float) -> str:
    """Return a probability as whole percent, never rounded to certainty."""
    if 0.995 <= share < 1.0:
        return f"over 99{NO_BREAK}%"
    if 0.0 < share < 0.005:
        return f"under 1{NO_BREAK}%"
    return f"{share * 100.0:.0f}{NO_BREAK}%"


def chance_words(share: float) -> str:
    """Return a chance as a plain fraction where one is near, else as percent.

    >>> chance_words(0.66)
    'two in three'
    """
    nearest, words = min(_CHANCES, key=lambda chance: abs(chance[0] - share))
    return words if abs(nearest - share) < 0.03 else percent_words(share)


def reliability_words(reliability: str) -> str:
    """Return a reliability with what it means.

    >>> reliability_words("poor")
    'poor: it may well be half or double'
    """
    return f"{reliability}: {LIMITS[reliability]}"


def count_words(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun: "1 dig", "14 digs"."""
    return f"{count:,}{NO_BREAK}{one if count == 1 else many or one + 's'}"


def list_words(words: list[str] | tuple[str, ...]) -> str:
    """Return words as a spoken list.

    >>> list_words(["A", "B", "C"])
    'A, B and C'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def some_words(words: Sequence[str], most: int) -> str:
    """Return words as a spoken list, those beyond the first few counted.

    >>> some_words(["A", "B", "C", "D"], 2)
    'A, B and 2 more'
    """
    if len(words) <= most + 1:
        return list_words(tuple(words))
    return list_words((*words[:most], f"{len(words) - most} more"))


def horizon_words(horizon: str) -> str:
    """Return where gold of a horizon lies, for a sentence.

    >>> horizon_words("false-1"), horizon_words("bedrock")
    ('on the first false bedrock', 'on bedrock')
    """
    if horizon == "bedrock":
        return "on bedrock"
    if horizon == "gravel":
        return "within the gravel"
    number = horizon.removeprefix("false-")
    order = {"1": "first", "2": "second", "3": "third"}.get(number, f"{number}th")
    return f"on the {order} false bedrock"


def horizon_name(horizon: str) -> str:
    """Return the short name of a horizon, for a label.

    >>> horizon_name("false-2")
    'false bedrock 2'
    """
    return horizon.replace("false-", "false bedrock ")
