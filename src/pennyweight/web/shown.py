"""Numbers as the page shows them, in the units of whoever reads.

The words come from `answers.wording`, which page and paper share; here they are
bound to one person's units. What cannot be told is a dash, never a zero.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pennyweight.answers.wording import (
    interval_words,
    money_interval_words,
    money_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
    unit_name,
)
from pennyweight.spread import Spread, probability_word
from pennyweight.units import METRIC, Measures

UNKNOWN = "\u2014"


def known(value: float | None) -> bool:
    """Tell whether there is a number to show."""
    return value is not None and math.isfinite(value)


def plain(value: float, most: int = 3) -> str:
    """Return a number for an input field: no more decimals than it needs.

    Examples
    --------
    >>> plain(0.30000001), plain(12.0)
    ('0.3', '12')
    """
    return f"{value:.{most}f}".rstrip("0").rstrip(".") or "0"


def percent(share: float | None) -> str:
    """Return a share in percent.

    Examples
    --------
    >>> percent(None)
    '—'
    """
    return UNKNOWN if share is None or not known(share) else percent_words(share)


def likelihood(probability: float | None) -> str:
    """Return the fixed word for a probability, with its percentage.

    Examples
    --------
    >>> likelihood(0.9).split("(")[0]
    'very likely '
    """
    if probability is None or not known(probability):
        return UNKNOWN
    return f"{probability_word(probability)} ({percent_words(probability)})"


def money(value: float | None, currency: str) -> str:
    """Return a sum of money, rounded."""
    if value is None or not known(value):
        return UNKNOWN
    return money_words(value, currency)


def money_spread(spread: Spread | None, currency: str) -> str:
    """Return a sum of money with its 80 % interval."""
    return UNKNOWN if spread is None else money_interval_words(spread, currency)


def figure(value: float | None, figures: int = 2) -> str:
    """Return a bare number, rounded."""
    return (
        UNKNOWN if value is None or not known(value) else number_words(value, figures)
    )


@dataclass(frozen=True)
class Figures:
    """Writes quantities in one person's units.

    Attributes
    ----------
    measures : Measures
        The units of choice.
    """

    measures: Measures = METRIC

    def unit(self, quantity: str) -> str:
        """Return the printed name of the unit of a quantity."""
        return unit_name(str(getattr(self.measures, quantity)))

    def bare(self, value: float | None, quantity: str, figures: int = 2) -> str:
        """Return a quantity without its unit, for a column that names it."""
        if value is None or not known(value):
            return UNKNOWN
        return number_words(self.measures.show(value, quantity)[0], figures)

    def one(self, value: float | None, quantity: str, figures: int = 2) -> str:
        """Return a quantity with its unit."""
        if value is None or not known(value):
            return UNKNOWN
        return quantity_words(value, quantity, self.measures, figures=figures)

    def depth(self, value: float | None) -> str:
        """Return a depth without unit, as fine as a tape is read.

        Examples
        --------
        >>> Figures().depth(0.9)
        '0.90'
        """
        if value is None or not known(value):
            return UNKNOWN
        shown, unit = self.measures.show(value, "length")
        return f"{shown:.2f}" if unit == "m" else f"{shown:.1f}"

    def depths(self, top_m: float | None, bottom_m: float | None) -> str:
        """Return an interval of depth with its unit."""
        if not known(top_m) or not known(bottom_m):
            return UNKNOWN
        between = f"{self.depth(top_m)}\u2013{self.depth(bottom_m)}"
        return f"{between}\u00a0{self.unit('length')}"

    def interval(self, spread: Spread | None, quantity: str) -> str:
        """Return the 80 % interval of a spread, without unit."""
        if spread is None:
            return UNKNOWN
        low, high = (
            self.measures.show(end, quantity)[0] for end in (spread.p10, spread.p90)
        )
        return range_words(low, high)

    def spread(self, spread: Spread | None, quantity: str) -> str:
        """Return median, unit and 80 % interval."""
        if spread is None:
            return UNKNOWN
        return interval_words(spread, quantity, self.measures)

    def gold(self, spread_g: Spread | None) -> str:
        """Return an amount of gold given in grams, with its 80 % interval."""
        return self.spread(
            None if spread_g is None else spread_g.scaled(1000.0), "mass"
        )

    def gold_middle(self, spread_g: Spread | None) -> str:
        """Return the median of an amount of gold given in grams."""
        return self.one(None if spread_g is None else spread_g.p50 * 1000.0, "mass")
