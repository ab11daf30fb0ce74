"""Which size classes a book counts colors by, for forms and sheets to be filled in."""

from __future__ import annotations

import re

from pennyweight.records import Log

#: Classes where the book has none yet [mm]. Common practice, no source.
CLASSES = ("<0.25", "0.25-0.5", "0.5-1", "1-2", ">2")
#: More than this fit neither a sheet nor a small screen.
MOST_CLASSES = 8

_SIZE = re.compile(r"[<>]?(\d+(?:\.\d+)?)(?:-\d+(?:\.\d+)?)?")


def find_classes(log: Log) -> tuple[str, ...]:
    """Return the size classes in mm that a record counts by, finest first.

    Meshes and weight classes are left out; `CLASSES` where there are no others.

    Parameters
    ----------
    log : Log
        The record.

    Examples
    --------
    >>> find_classes(Log())
    ('<0.25', '0.25-0.5', '0.5-1', '1-2', '>2')
    """
    used = {tally.size_class for tally in log.tallies}
    sizes = {one: found for one in used if (found := _SIZE.fullmatch(one))}
    finest = sorted(
        sizes, key=lambda one: (float(sizes[one][1]), not one.startswith("<"), one)
    )
    return tuple(finest[:MOST_CLASSES]) or CLASSES
