"""The diary: what each day saw, took and cost, and how the program comes along."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from scipy import stats

from pennyweight.answers.answer import Answer
from pennyweight.answers.program import Program, read_program
from pennyweight.answers.reading import Reading
from pennyweight.records import Day, Dig, Log, Sample
from pennyweight.spread import Spread

Dated = TypeVar("Dated", Dig, Sample)

#: Letters of a date that name its month: "2026-07".
MONTH_LETTERS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class DiaryDay:
    """One day: what was written about it, and what the record has of it.

    Attributes
    ----------
    date : str
        ISO 8601.
    written : bool
        Whether the diary has the day; else only digs or samples speak of it.
    by, weather, water_level, note : str or None
        As written.
    hours, dug_hours, cost : float or None
        As written [h], [currency].
    digs, samples : tuple of str
        Opened and taken on that day.
    pans, colors : float
        Of those samples [-].
    """

    date: str
    written: bool
    by: str | None
    weather: str | None
    water_level: str | None
    note: str | None
    hours: float | None
    dug_hours: float | None
    cost: float | None
    digs: tuple[str, ...]
    samples: tuple[str, ...]
    pans: float
    colors: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """One month's sums; what nobody wrote down counts nothing.

    `hours`, `cost` in h and the ground's currency; the rest are counts [-].
    """

    month: str
    days: int
    hours: float
    cost: float
    digs: int
    samples: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """One thing of the program, done and planned.

    Attributes
    ----------
    what : str
        days, digs or lines.
    done, planned : float
        So far, and in all [-].
    days_left : Spread or None
        Days of digging that the rest takes at the pace so far; None where no day has
        been dug yet, or nothing is left.
    """

    what: str
    done: float
    planned: float
    days_left: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DiaryAnswer(Answer):
    """The days, the months and the program."""

    days: tuple[DiaryDay, ...]
    months: tuple[Month, ...]
    progress: tuple[Progress, ...]
    currency: str


def read_diary(reading: Reading) -> DiaryAnswer:
    """Return what every day saw, and how far the program has come."""
    log = reading.log
    days = _days_of(log)
    return DiaryAnswer(
        **reading.heading(),
        days=days,
        months=_months_of(days),
        progress=compare_program(read_program(log.ground.program), log, days),
        currency=log.ground.currency or "",
    )


def _days_of(log: Log) -> tuple[DiaryDay, ...]:
    """Return every day that the diary, a dig or a sample names, in their order."""
    written = {day.date: day for day in log.days}
    digs, samples = _by_date(log.digs), _by_date(log.samples)
    colors: dict[str, float] = {}
    for tally in log.tallies:
        colors[tally.sample] = colors.get(tally.sample, 0.0) + tally.colors
    found = []
    for date in sorted({*written, *digs, *samples}):
        day = written.get(date, Day(date=date))
        taken = samples.get(date, ())
        found.append(
            DiaryDay(
                date=date,
                written=date in written,
                by=day.by,
                weather=day.weather,
                water_level=day.water_level,
                note=day.note,
                hours=day.hours,
                dug_hours=day.dug_hours,
                cost=day.cost,
                digs=tuple(one.dig for one in digs.get(date, ())),
                samples=tuple(one.sample for one in taken),
                pans=sum(one.pans or 0.0 for one in taken),
                colors=sum(colors.get(one.sample, 0.0) for one in taken),
            )
        )
    return tuple(found)


def _by_date(records: Iterable[Dated]) -> dict[str, list[Dated]]:
    """Return records by their date; those without one belong to no day."""
    found: dict[str, list[Dated]] = {}
    for one in records:
        if one.date:
            found.setdefault(one.date, []).append(one)
    return found


def _months_of(days: Iterable[DiaryDay]) -> tuple[Month, ...]:
    by_month: dict[str, list[DiaryDay]] = {}
    for day in days:
        by_month.setdefault(day.date[:MONTH_LETTERS], []).append(day)
    return tuple(
        Month(
            month=month,
            days=len(own),
            hours=sum(day.hours or 0.0 for day in own),
            cost=sum(day.cost or 0.0 for day in own),
            digs=sum(len(day.digs) for day in own),
            samples=sum(len(day.samples) for day in own),
        )
        for month, own in sorted(by_month.items())
    )


def compare_program(
    program: Program, log: Log, days: tuple[DiaryDay, ...]
) -> tuple[Progress, ...]:
    """Return what is done of everything that was planned.

    Parameters
    ----------
    program : Program
        What was set out to do.
    log : Log
        The record.
    days : tuple of DiaryDay
        The days that it speaks of.
    """
    lines = {dig.line for dig in log.digs if dig.line}
    done = {"days": len(days), "digs": len(log.digs), "lines": len(lines)}
    planned = {"days": program.days, "digs": program.digs, "lines": program.lines}
    dug = [len(day.digs) for day in days if day.digs]
    found = []
    for what, wanted in planned.items():
        if wanted is None:
            continue
        left = wanted - done[what]
        days_left = None
        if what == "digs" and left > 0.0 and dug:
            days_left = days_for(left, sum(dug), len(dug))
        found.append(
            Progress(
                what=what,
                done=float(done[what]),
                planned=wanted,
                days_left=days_left,
            )
        )
    return tuple(found)


def days_for(left: float, digs: int, days: int) -> Spread:
    """Return the days that so many more digs take at the pace so far.

    Parameters
    ----------
    left : float
        Digs still to open, above 0 [-].
    digs, days : int
        Opened so far, on so many days with digging, 1 or more each [-].

    Returns
    -------
    Spread
        Days of digging [d].

    Notes
    -----
    Digs a day are Poisson with a rate whose posterior is a gamma distribution (prior
    of Jeffreys: shape digs + 1/2, over the days), so that the days are an inverse
    gamma distribution.

    Examples
    --------
    >>> round(days_for(10.0, 40, 10).p50, 1)
    2.5
    """
    shape = digs + 0.5
    days_left = stats.invgamma(shape, scale=left * days)
    p10, p50, p90 = days_left.ppf((0.1, 0.5, 0.9))
    mean = left * days / (shape - 1.0) if shape > 1.0 else float("inf")
    return Spread(float(p10), float(p50), float(p90), mean)
