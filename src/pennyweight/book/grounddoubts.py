"""What is odd about the ground as a whole, its tests and its dates."""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Iterator

from pennyweight.book.doubtwords import figure
from pennyweight.book.rows import key_of, name_of
from pennyweight.errors import Finding
from pennyweight.records import Log

#: Gravel grows by 0.12 to 0.40 when it is dug; beyond this we ask [-].
SWELL = (0.05, 0.60)
#: From a small round pan to the largest one that a person lifts [m3].
PAN_M3 = (0.001, 0.015)
#: Parts of gold in 1000 of raw placer gold [-].
FINENESS = (500.0, 1000.0)
#: A season is short; a date this far from the middle one is a slip of the pen [d].
DAYS_APART = 3 * 365


def odd_swell(log: Log) -> Iterator[Finding]:
    """Tell of a swell that no gravel has."""
    swell = log.ground.swell
    if swell is not None and not SWELL[0] <= swell <= SWELL[1]:
        yield Finding(
            where="the ground",
            problem=f"The swell is {swell:g}, that is {swell:.0%}.",
            remedy="Gravel grows by 0.12 to 0.40 (12 to 40 %) when it is dug. Measure"
            " it with a neat hole and buckets.",
            weight="doubt",
        )


def odd_pan_volume(log: Log) -> Iterator[Finding]:
    """Tell of pans that no one carries: the ground's, and those of samples."""
    pans = [("the ground", log.ground.pan_volume_m3)]
    pans += [(f"sample {one.sample}", one.pan_volume_m3) for one in log.samples]
    for where, pan_m3 in pans:
        if pan_m3 is not None and not PAN_M3[0] <= pan_m3 <= PAN_M3[1]:
            yield Finding(
                where=where,
                problem=f"A pan of {figure(pan_m3 * 1000)} l is an odd size.",
                remedy="Pans hold 1 to 15 l. Fill one with water, struck level, and"
                " measure the water; check the unit.",
                weight="doubt",
            )


def odd_fineness(log: Log) -> Iterator[Finding]:
    """Tell of a fineness that raw gold does not have."""
    said = [("the ground", log.ground.fineness)]
    said += [(f"sample {one.sample}", one.fineness) for one in log.samples]
    for where, fineness in said:
        if fineness is not None and not FINENESS[0] <= fineness <= FINENESS[1]:
            yield Finding(
                where=where,
                problem=f"The fineness is {fineness:g} parts in 1000.",
                remedy="Raw placer gold has 500 to 1000 parts in 1000. A share of 0.85"
                " is written 850.",
                weight="doubt",
            )


def two_centerlines(log: Log) -> Iterator[Finding]:
    """Tell of more than one line through the valley."""
    count = sum(feature.role == "centerline" for feature in log.features)
    if count > 1:
        yield Finding(
            where="the ground",
            problem=f"There are {count} centerlines.",
            remedy="Draw one line down the valley; distances are measured along it.",
            weight="doubt",
        )


def found_more_than_put_in(log: Log) -> Iterator[Finding]:
    """Tell of pan tests that found more grains than there were."""
    for test in log.pantests:
        if test.found > test.put_in:
            yield Finding(
                where=f"pan test {test.number}, class {test.size_class}",
                problem=f"{test.found} grains were found of {test.put_in} put in.",
                remedy="Correct the counts, or wash the tailings clean before a test.",
                weight="wrong",
            )


def shrinking_buckets(log: Log) -> Iterator[Finding]:
    """Tell of holes from which less came out than they held."""
    for test in log.buckets:
        bank_m3, loose_m3 = test.bank_m3, test.loose_m3
        if bank_m3 is not None and loose_m3 is not None and loose_m3 < bank_m3:
            yield Finding(
                where=f"bucket test {test.number}",
                problem=f"A hole of {figure(bank_m3 * 1000)} l filled only"
                f" {figure(loose_m3 * 1000)} l of buckets.",
                remedy="Ground grows when it is dug. Check that bank is the hole and"
                " loose the buckets, and their units.",
                weight="doubt",
            )


def _dates(log: Log) -> Iterator[tuple[str, datetime.date]]:
    """Yield every readable date of the record with whose it is."""
    for table in ("digs", "samples", "days", "cleanups"):
        for record in getattr(log, table):
            try:
                day = datetime.date.fromisoformat((record.date or "")[:10])
            except ValueError:
                continue
            yield name_of(table, key_of(table, record)), day


def dates_far_from_the_others(log: Log) -> Iterator[Finding]:
    """Tell of dates that lie years away from the middle one."""
    dates = list(_dates(log))
    if len(dates) < 3:
        return
    middle = statistics.median_low(day.toordinal() for _, day in dates)
    for where, day in dates:
        if abs(day.toordinal() - middle) > DAYS_APART:
            yield Finding(
                where=where,
                problem=f"Its date {day} lies over three years from most others"
                f" (around {datetime.date.fromordinal(middle)}).",
                remedy="Check the year.",
                weight="doubt",
            )


def dates_to_come(log: Log, today: datetime.date) -> list[Finding]:
    """Return the doubts about dates that have not come yet."""
    return [
        Finding(
            where=where,
            problem=f"Its date {day} is still to come (today is {today}).",
            remedy="Check the year, and the date of this machine.",
            weight="doubt",
        )
        for where, day in _dates(log)
        if day > today
    ]
