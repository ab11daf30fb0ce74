"""Which record of a log is which record of the book, and what it then says.

Most records are known by their natural key. Grains and rocks are known only as the set
of one sample or one place, pan tests, buckets and drawings as the next of their kind:
those that say the same are the same, the others pair up in order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pennyweight.book.rows import same
from pennyweight.records import (
    BucketTest,
    Feature,
    Grain,
    Ground,
    PanTest,
    Record,
    Rock,
)

#: Columns that say where a dig or rock lies, in whatever way.
PLACES = {
    "easting_m", "northing_m", "easting_ft", "northing_ft", "longitude", "latitude",
    "along_m", "across_m", "peg", "toward", "bearing_deg",
}  # fmt: skip
DEGREES = ("longitude", "latitude")
#: Fields that hold text by heading.
WORDS = ("typed", "extra")


def _rock_group(rock: Rock) -> Hashable:
    """Return what a rock belongs to: its dig, or its own place."""
    if rock.dig is not None:
        return rock.dig
    return (rock.easting_m, rock.northing_m)


def _grain_group(grain: Grain) -> Hashable:
    return grain.sample


def _test_group(test: PanTest) -> Hashable:
    return (test.by, test.size_class)


def _bucket_group(test: BucketTest) -> Hashable:
    return type(test).__name__


def _feature_group(feature: Feature) -> Hashable:
    return (feature.role, feature.name)


@dataclass(frozen=True, slots=True)
class Counted:
    """How records that are only numbered are told apart.

    Attributes
    ----------
    group : callable
        A record -> what it belongs to.
    whole : bool
        Whether a group is replaced as a set: what it lacks is removed.
    """

    group: Callable[[Any], Hashable]
    whole: bool


COUNTED = {
    "grains": Counted(_grain_group, whole=True),
    "rocks": Counted(_rock_group, whole=True),
    "pantests": Counted(_test_group, whole=False),
    "buckets": Counted(_bucket_group, whole=False),
    "features": Counted(_feature_group, whole=False),
}


@dataclass(frozen=True, slots=True)
class Match:
    """One record of the log beside the one of the book; either may be missing."""

    old: Any
    new: Any


def group_records(table: str, records: Sequence[Any]) -> dict[Hashable, list[Any]]:
    """Return numbered records by what they belong to, in their order."""
    groups: dict[Hashable, list[Any]] = defaultdict(list)
    for record in records:
        groups[COUNTED[table].group(record)].append(record)
    return groups


def match_group(table: str, old: Sequence[Any], new: Sequence[Any]) -> list[Match]:
    """Return how the records of one group pair up, whatever their numbers.

    Parameters
    ----------
    table : str
        grains, rocks, pantests, buckets or features.
    old, new : sequence of Record
        Of one group; in the book, in the log.
    """
    left = list(old)
    matches, others = [], []
    for record in new:
        twin = next((o for o in left if _says_the_same(table, o, record)), None)
        if twin is None:
            others.append(record)
            continue
        left.remove(twin)
        matches.append(Match(twin, twin))
    changed = list(zip(left, others, strict=False))
    matches += [Match(o, replace(n, number=o.number)) for o, n in changed]
    matches += [Match(None, record) for record in others[len(changed) :]]
    if COUNTED[table].whole:
        matches += [Match(record, None) for record in left[len(changed) :]]
    return matches


def _says_the_same(table: str, one: Any, other: Any) -> bool:
    """Tell whether two numbered records say the same, whatever their number."""
    return same(table, one, replace(other, number=one.number))


def merge_ground(old: Record, new: Ground) -> Record:
    """Return the ground with what the log says of it; what it leaves out stays."""
    said = {
        name: value
        for name in Ground.__dataclass_fields__
        if (value := getattr(new, name)) not in (None, "", {})
    }
    said.pop("log_id", None)
    for name in WORDS:
        said[name] = {**getattr(old, name), **getattr(new, name)}
    return replace(old, **said)


def merge_row(old: Record, new: Record, columns: Collection[str] | None) -> Record:
    """Return a record as a row of a log leaves it.

    Where the file has a column, its cell counts, also an empty one; what the file has
    no column for stays as it was.

    Parameters
    ----------
    old, new : Record
        In the book, in the log.
    columns : collection of str or None
        Fields that the file has columns for; None when the record did not come from a
        table and is whole.
    """
    if columns is None:
        return new
    there = set(columns)
    if there & PLACES:
        there |= PLACES
    kept = {
        name
        for name in type(old).__dataclass_fields__
        if name not in WORDS and name not in there
    }
    bases = {_base(name) for name in kept}
    typed = {
        heading: text
        for heading, text in old.typed.items()
        if (_base(heading) in bases) or (heading in DEGREES and not there & PLACES)
    }
    return replace(
        new,
        **{name: getattr(old, name) for name in kept},
        typed={**typed, **new.typed},
        extra={**old.extra, **new.extra},
    )


def _base(name: str) -> str:
    """Return a heading or a field without its unit: top_ft and top_m are both top."""
    base, _, unit = name.rpartition("_")
    return base if base and len(unit) <= 5 else name
