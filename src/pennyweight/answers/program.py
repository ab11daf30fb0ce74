"""What the user set out to do: people, days, digs, closed seasons, and two rules.

The table `[program]` of the field log, read. A rule is written down before the digging
begins, so that neither a rich pan nor a bad week moves it afterwards.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

#: Most people of one camp that are believed [-].
MOST_PEOPLE = 50

#: A closed season as it is typed: month-day to month-day, each year.
_CLOSED = re.compile(r"(\d\d)-(\d\d)\s*(?:\.\.|to)\s*(\d\d)-(\d\d)")

#: A leap year, in which every day of every year is a date.
_LEAP_YEAR = 2000


@dataclass(frozen=True, slots=True)
class Closed:
    """A part of each year in which the creek is not to be dug.

    Attributes
    ----------
    first, last : tuple of int
        Month and day, both closed; it may run over the new year.
    """

    first: tuple[int, int]
    last: tuple[int, int]

    def holds(self, day: datetime.date) -> bool:
        """Return whether a day lies in it.

        Examples
        --------
        >>> Closed((11, 15), (5, 1)).holds(datetime.date(2026, 1, 3))
        True
        """
        at = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last

    @property
    def words(self) -> str:
        """The season as it is typed: "09-15 to 05-31"."""
        (month, day), (last_month, last_day) = self.first, self.last
        return f"{month:02}-{day:02} to {last_month:02}-{last_day:02}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What was set out to do; None where nothing was written down.

    Attributes
    ----------
    people : int or None
        Who dig together [-].
    days, digs, lines : float or None
        What was planned in all: days of work, digs, lines [-].
    leave_after_lines : int or None
        Leave when so many lines show nothing above `leave_below_mg_m3` [-].
    leave_below_mg_m3 : float or None
        Bank grade of raw gold [mg/m3].
    go_below_chance_of_loss : float or None
        Go on to mining when the chance of loss is under this [-].
    closed : tuple of Closed
        Seasons in which the creek is left alone.
    """

    people: int | None = None
    days: float | None = None
    digs: float | None = None
    lines: float | None = None
    leave_after_lines: int | None = None
    leave_below_mg_m3: float | None = None
    go_below_chance_of_loss: float | None = None
    closed: tuple[Closed, ...] = ()

    @property
    def has_leave_rule(self) -> bool:
        """Whether it says when to leave."""
        return None not in (self.leave_after_lines, self.leave_below_mg_m3)

    def closed_on(self, day: datetime.date) -> Closed | None:
        """Return the closed season that a day lies in; None for an open one."""
        return next((one for one in self.closed if one.holds(day)), None)


def read_program(table: Mapping[str, Any]) -> Program:
    """Return the program of a ground; what cannot be read stands as not said.

    Parameters
    ----------
    table : mapping
        `[program]` as typed: people, days, digs, lines, leave_after_lines,
        leave_below_mg_m3, go_below_chance_of_loss, closed ("09-15 to 05-31", several
        parted by commas).
    """
    people = _number(table, "people", MOST_PEOPLE)
    after = _number(table, "leave_after_lines", 1e4)
    try:
        closed = parse_closed(str(table.get("closed", "")))
    except ValueError:
        closed = ()
    return Program(
        people=None if people is None else max(round(people), 1),
        days=_number(table, "days", 1e4),
        digs=_number(table, "digs", 1e6),
        lines=_number(table, "lines", 1e5),
        leave_after_lines=None if after is None else max(round(after), 1),
        leave_below_mg_m3=_number(table, "leave_below_mg_m3", 1e9),
        go_below_chance_of_loss=_number(table, "go_below_chance_of_loss", 1.0),
        closed=closed,
    )


def _number(table: Mapping[str, Any], key: str, most: float) -> float | None:
    """Return a number above 0 and up to `most`; None for anything else."""
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if 0.0 < value <= most else None


def parse_closed(text: str) -> tuple[Closed, ...]:
    """Return the closed seasons that a text names.

    Parameters
    ----------
    text : str
        "09-15 to 05-31", several parted by commas; empty for none.

    Raises
    ------
    ValueError
        A part is no season.

    Examples
    --------
    >>> parse_closed("09-15 to 05-31")[0].words
    '09-15 to 05-31'
    """
    return tuple(_parse_season(one.strip()) for one in text.split(",") if one.strip())


def _parse_season(text: str) -> Closed:
    found = _CLOSED.fullmatch(text)
    if found is None:
        msg = f"{text!r} is no season; write month-day to month-day: 09-15 to 05-31."
        raise ValueError(msg)
    month, day, last_month, last_day = (int(one) for one in found.groups())
    for one in ((month, day), (last_month, last_day)):
        try:
            datetime.date(_LEAP_YEAR, *one)
        except ValueError as wrong:
            msg = f"{text!r} holds no day of the year ({wrong}); write 09-15 to 05-31."
            raise ValueError(msg) from wrong
    return Closed((month, day), (last_month, last_day))
