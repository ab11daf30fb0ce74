"""Dates as people write them; one that can be read in two ways is asked about."""

from __future__ import annotations

import re
from datetime import date

MONTHS = (
    *("jan", "feb", "mar", "apr", "may", "jun"),
    *("jul", "aug", "sep", "oct", "nov", "dec"),
)
EXAMPLE = "12 Aug 2026 or 2026-08-12"

_YEAR_FIRST = re.compile(r"(\d{4})[-./ ](\d{1,2})[-./ ](\d{1,2})", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})[-./ ]\s*(\d{1,2})[-./ ]\s*(\d{4})", re.ASCII)
_DAY_WORD = re.compile(r"(\d{1,2})\.?[ -]*([a-z]{3,9})\.?,?[ -]*(\d{4})", re.ASCII)
_WORD_DAY = re.compile(r"([a-z]{3,9})\.?[ -]*(\d{1,2}),?[ -]+(\d{4})", re.ASCII)


class DateError(ValueError):
    """The text is no date, or more than one; it says what to write."""


def read_date(text: str) -> str:
    """Return a date, ISO 8601, from what was typed.

    Parameters
    ----------
    text : str
        "2026-08-12", "12 Aug 2026", "Aug 12, 2026", "31.08.2026", "8/31/2026".

    Raises
    ------
    DateError
        It is in no calendar, has no year of four digits, or has two readings.

    Examples
    --------
    >>> read_date("12 Aug 2026"), read_date("31.8.2026"), read_date("8/31/2026")
    ('2026-08-12', '2026-08-31', '2026-08-31')
    """
    readings = sorted({day.isoformat() for day in _readings(text.strip().lower())})
    if not readings:
        msg = f"{text.strip()} is no date that is in the calendar. Write {EXAMPLE}."
        raise DateError(msg)
    if len(readings) > 1:
        first, second = (date.fromisoformat(one) for one in readings)
        msg = (
            f"{text.strip()} may be {spoken(first)} or {spoken(second)}. Write "
            f"{readings[0]} or {readings[1]}."
        )
        raise DateError(msg)
    return readings[0]


def spoken(day: date) -> str:
    """Return a date that has one reading only.

    Examples
    --------
    >>> spoken(date(2026, 8, 12))
    '12 Aug 2026'
    """
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"


def _readings(text: str) -> list[date]:
    """Return every date in the calendar that a text may be."""
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = map(int, found.groups())
        return _in_calendar((year, month, day))
    if found := _YEAR_LAST.fullmatch(text):
        first, second, year = map(int, found.groups())
        return _in_calendar((year, second, first), (year, first, second))
    if found := _DAY_WORD.fullmatch(text):
        return _in_calendar((int(found[3]), _month(found[2]), int(found[1])))
    if found := _WORD_DAY.fullmatch(text):
        return _in_calendar((int(found[3]), _month(found[1]), int(found[2])))
    return []


def _month(word: str) -> int:
    """Return the number of a month; 0, which no calendar has, for no month."""
    full = ("january", "february", "march", "april", "may", "june", "july", "august")
    names = (*full, "september", "october", "november", "december")
    found = (at for at, name in enumerate(names, 1) if name.startswith(word))
    return next(found, 0) if word != "sept" else 9


def _in_calendar(*parts: tuple[int, int, int]) -> list[date]:
    """Return those of the days that there are."""
    days = []
    for year, month, day in parts:
        try:
            days.append(date(year, month, day))
        except ValueError:
            continue
    return days
