"""The strip at the top of a book's pages: what is in it, and what is still to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pennyweight.records import Log


def unwashed(log: Log) -> frozenset[str]:
    """Return the samples that wait to be washed: neither tallied nor weighed."""
    seen = {tally.sample for tally in log.tallies}
    seen.update(name for weighing in log.weighings for name in weighing.samples)
    return frozenset(
        sample.sample
        for sample in log.samples
        if sample.weighed_mg is None and sample.sample not in seen
    )


@dataclass(frozen=True)
class Strip:
    """What the strip says.

    Attributes
    ----------
    ground : str
        Name of the ground.
    digs, samples, to_wash : int
        Counts.
    backed_up : datetime or None
        When the newest copy was set aside.
    changes_since : int
        How often something was written after that copy.
    """

    ground: str
    digs: int
    samples: int
    to_wash: int
    backed_up: datetime | None
    changes_since: int = 0


def look_over(
    log: Log, name: str, backed_up: datetime | None, *, changes_since: int = 0
) -> Strip:
    """Return the strip of a record; the book's name stands in for the ground's."""
    return Strip(
        ground=log.ground.name or name,
        digs=len(log.digs),
        samples=len(log.samples),
        to_wash=len(unwashed(log)),
        backed_up=backed_up,
        changes_since=changes_since,
    )
