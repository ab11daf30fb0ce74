"""Words that doubts are told in: names in short, numbers as a person writes them."""

from __future__ import annotations

#: Names told one by one; more are counted.
NAMED = 8


def names_in_short(names: list[str]) -> str:
    """Return names in a row; the first eight, and how many more there are."""
    shown = ", ".join(names[:NAMED])
    more = len(names) - NAMED
    return f"{shown} and {more} more" if more > 0 else shown


def figure(value: float) -> str:
    """Return a number with three figures and no powers of ten.

    >>> figure(0.0312), figure(1234.5)
    ('0.0312', '1,234')
    """
    return f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.3g}"
