"""What in the record is odd, or cannot be right; told as data, never refused.

Every check is a small function from a log to findings. A limit is common practice
without a source unless it says otherwise; it only decides when to ask, and enters no
answer.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable

from pennyweight.book import classdoubts, digdoubts, grounddoubts, sampledoubts
from pennyweight.errors import Finding
from pennyweight.records import Log

Check = Callable[[Log], Iterable[Finding]]

#: In the order in which they are told; the checks of one subject stand together.
CHECKS: tuple[Check, ...] = (
    grounddoubts.odd_swell,
    grounddoubts.odd_pan_volume,
    grounddoubts.odd_fineness,
    grounddoubts.two_centerlines,
    grounddoubts.found_more_than_put_in,
    grounddoubts.shrinking_buckets,
    grounddoubts.dates_far_from_the_others,
    digdoubts.far_from_the_others,
    digdoubts.two_in_one_place,
    digdoubts.unknown_pegs,
    digdoubts.odd_elevation,
    digdoubts.layers_below_the_bottom,
    digdoubts.bottom_far_below,
    digdoubts.deeper_than_hands_dig,
    digdoubts.overlapping_layers,
    digdoubts.no_bottom,
    digdoubts.no_sample,
    sampledoubts.below_the_bottom,
    sampledoubts.outside_the_layers,
    sampledoubts.overlapping,
    sampledoubts.more_than_was_cut,
    sampledoubts.mostly_oversize,
    sampledoubts.odd_duplicates,
    sampledoubts.disagreeing_duplicates,
    sampledoubts.gold_in_blanks,
    classdoubts.overlapping_classes,
    classdoubts.classes_of_two_kinds,
    sampledoubts.classes_beyond_all,
    sampledoubts.classes_outweigh_the_sample,
    sampledoubts.heavy_colors,
    sampledoubts.much_gold,
    sampledoubts.hardly_washed,
    sampledoubts.odd_balance,
    sampledoubts.not_washed_yet,
)


def find_doubts(log: Log, today: datetime.date | None = None) -> list[Finding]:
    """Return everything in a record that is odd or cannot be right.

    Parameters
    ----------
    log : Log
        The record.
    today : date, optional
        Then dates after it are told too.

    Returns
    -------
    list of Finding
        In the order of the checks.
    """
    found = [finding for check in CHECKS for finding in check(log)]
    if today is not None:
        found += grounddoubts.dates_to_come(log, today)
    return found
