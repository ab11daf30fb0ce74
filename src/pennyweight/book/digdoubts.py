"""What is odd about a dig: its place, its depth, its layers."""

from __future__ import annotations

import itertools
import math
import statistics
from collections import defaultdict
from collections.abc import Iterator

from pennyweight.book.doubtwords import names_in_short
from pennyweight.errors import Finding
from pennyweight.records import Dig, Layer, Log

#: No one carries tools from dig to dig farther than this without a reason [m].
FAR_M = 2_000.0
#: Two digs closer than this are one hole written down twice [m].
SAME_PLACE_M = 0.1
#: Depths taped twice agree to this [m].
TAPE_M = 0.05
#: A dig that ends this many times as deep as anything in it, and this far below it, is
#: a slip like 37.5 for 3.75 [-], [m].
TIMES_DEEPER, FAR_BELOW_M = 2.0, 2.0
#: Deeper than people dig by hand without shoring that stays [m].
DEEP_M = 20.0
#: Surfaces along one trench, and over one ground, differ by no more than this [m].
LINE_RELIEF_M = 30.0
GROUND_RELIEF_M = 500.0


def _placed(log: Log) -> list[tuple[Dig, float, float]]:
    """Return the digs that have coordinates, with them."""
    return [
        (dig, dig.easting_m, dig.northing_m)
        for dig in log.digs
        if dig.easting_m is not None and dig.northing_m is not None
    ]


def far_from_the_others(log: Log) -> Iterator[Finding]:
    """Tell of digs that have no other one near."""
    placed = _placed(log)
    if len(placed) < 3:
        return
    # Squares as wide as the distance: whoever is near is in one of nine of them.
    squares: dict[tuple[int, int], list[tuple[float, float]]] = defaultdict(list)
    for _, easting_m, northing_m in placed:
        square = (int(easting_m // FAR_M), int(northing_m // FAR_M))
        squares[square].append((easting_m, northing_m))
    for dig, easting_m, northing_m in placed:
        here = (easting_m, northing_m)
        near = (
            math.dist(here, other) <= FAR_M
            for column, row in itertools.product((-1, 0, 1), repeat=2)
            for other in squares.get(
                (int(easting_m // FAR_M) + column, int(northing_m // FAR_M) + row), ()
            )
        )
        # It is always near itself.
        if sum(itertools.islice(filter(None, near), 2)) < 2:
            yield Finding(
                where=f"dig {dig.dig}",
                problem=f"It lies at {easting_m:.0f} E, {northing_m:.0f} N, over"
                f" {FAR_M / 1000:.0f} km from every other dig.",
                remedy="Look for swapped or mistyped digits and the wrong zone.",
                weight="doubt",
            )


def two_in_one_place(log: Log) -> Iterator[Finding]:
    """Tell of digs that share their coordinates."""
    first: dict[tuple[int, int], str] = {}
    for dig, easting_m, northing_m in _placed(log):
        place = (round(easting_m / SAME_PLACE_M), round(northing_m / SAME_PLACE_M))
        other = first.setdefault(place, dig.dig)
        if other != dig.dig:
            yield Finding(
                where=f"dig {dig.dig}",
                problem=f"It lies in the same place as dig {other}.",
                remedy="If it is the same hole, give its layers and samples to one of"
                " the two; else correct a position.",
                weight="doubt",
            )


def unknown_pegs(log: Log) -> Iterator[Finding]:
    """Tell of tape measures from a dig that is not in the record."""
    names = {dig.dig for dig in log.digs}
    for dig in log.digs:
        for word, name in (("peg", dig.peg), ("toward", dig.toward)):
            if name is not None and name not in names:
                yield Finding(
                    where=f"dig {dig.dig}",
                    problem=f"Its {word} is {name}, a dig that is not in the record.",
                    remedy=f"Enter dig {name}, or correct the name.",
                    weight="doubt",
                )


def odd_elevation(log: Log) -> Iterator[Finding]:
    """Tell of surfaces far above or below those of the same trench or ground."""
    known = [(dig, dig.elevation_m) for dig in log.digs if dig.elevation_m is not None]
    lines: dict[str | None, list[float]] = defaultdict(list)
    for dig, elevation_m in known:
        lines[dig.line].append(elevation_m)
    everywhere_m = statistics.median(e for _, e in known) if known else 0.0
    for dig, elevation_m in known:
        mates = lines[dig.line]
        in_line = dig.line is not None and len(mates) >= 3
        usual_m = statistics.median(mates) if in_line else everywhere_m
        limit_m = LINE_RELIEF_M if in_line else GROUND_RELIEF_M
        if abs(elevation_m - usual_m) > limit_m:
            others = f"line {dig.line}" if in_line else "the ground"
            yield Finding(
                where=f"dig {dig.dig}",
                problem=f"Its elevation is {elevation_m:.1f} m, but that of {others} is"
                f" about {usual_m:.1f} m.",
                remedy="Check the number, its unit, and whether both heights have the"
                " same zero.",
                weight="doubt",
            )


def _by_dig(log: Log) -> dict[str, list[Layer]]:
    """Return the layers of each dig from the top down."""
    found: dict[str, list[Layer]] = defaultdict(list)
    for layer in sorted(log.layers, key=lambda layer: layer.top_m):
        found[layer.dig].append(layer)
    return found


def layers_below_the_bottom(log: Log) -> Iterator[Finding]:
    """Tell of layers that reach below the depth that was dug."""
    bottoms = {dig.dig: dig.bottom_m for dig in log.digs}
    for dig, layers in _by_dig(log).items():
        bottom_m, lowest_m = bottoms.get(dig), max(one.bottom_m for one in layers)
        if bottom_m is not None and lowest_m > bottom_m + TAPE_M:
            yield Finding(
                where=f"dig {dig}",
                problem=f"A layer reaches down to {lowest_m:.2f} m, but the dig ends at"
                f" {bottom_m:.2f} m.",
                remedy="Correct the bottom of the layer or of the dig.",
                weight="wrong",
            )


def bottom_far_below(log: Log) -> Iterator[Finding]:
    """Tell of digs that end far below their lowest layer and sample."""
    lowest: dict[str, float] = {}
    ends = [(layer.dig, layer.bottom_m) for layer in log.layers]
    ends += [(one.dig, one.bottom_m) for one in log.samples if one.bottom_m is not None]
    for name, end_m in ends:
        lowest[name] = max(end_m, lowest.get(name, 0.0))
    for dig in log.digs:
        lowest_m, bottom_m = lowest.get(dig.dig), dig.bottom_m
        if lowest_m is None or bottom_m is None:
            continue
        if bottom_m > max(TIMES_DEEPER * lowest_m, lowest_m + FAR_BELOW_M):
            yield Finding(
                where=f"dig {dig.dig}",
                problem=f"It ends at {bottom_m:.2f} m, but its layers and samples end"
                f" at {lowest_m:.2f} m.",
                remedy="Check the decimal point and the unit of the depth, or enter"
                " what lies between.",
                weight="doubt",
            )


def deeper_than_hands_dig(log: Log) -> Iterator[Finding]:
    """Tell of depths that no hand-dug hole has."""
    deepest: dict[str, float] = {}
    ends = [(layer.dig, layer.bottom_m) for layer in log.layers]
    ends += [(one.dig, one.bottom_m) for one in log.samples if one.bottom_m is not None]
    for name, end_m in ends:
        deepest[name] = max(end_m, deepest.get(name, 0.0))
    for dig in log.digs:
        # A bottom far below all that is in a dig is told as such.
        deepest.setdefault(dig.dig, dig.bottom_m or 0.0)
    for name, end_m in deepest.items():
        if end_m > DEEP_M:
            yield Finding(
                where=f"dig {name}",
                problem=f"It goes down to {end_m:.2f} m.",
                remedy=f"Holes dug by hand end above {DEEP_M:.0f} m: check the decimal"
                " point and the unit. A drill hole or an old shaft is nothing wrong.",
                weight="doubt",
            )


def overlapping_layers(log: Log) -> Iterator[Finding]:
    """Tell of layers that lie in one another."""
    for dig, layers in _by_dig(log).items():
        for upper, lower in itertools.pairwise(layers):
            if upper.bottom_m > lower.top_m + TAPE_M:
                yield Finding(
                    where=f"dig {dig}",
                    problem=f"The layer from {upper.top_m:.2f} m ends at"
                    f" {upper.bottom_m:.2f} m, below the top of the next one at"
                    f" {lower.top_m:.2f} m.",
                    remedy="Correct one of the two depths.",
                    weight="wrong",
                )


def no_bottom(log: Log) -> Iterator[Finding]:
    """Tell of digs whose depth nobody wrote down."""
    open_ended = [dig.dig for dig in log.digs if dig.bottom_m is None]
    if open_ended:
        yield Finding(
            where=f"dig {names_in_short(open_ended)}",
            problem="The depth reached is not written down.",
            remedy="Enter the bottom and what stopped the digging; whether bedrock was"
            " reached decides how far down the gold is told.",
            weight="note",
        )


def no_sample(log: Log) -> Iterator[Finding]:
    """Tell of digs from which nothing was taken."""
    sampled = {sample.dig for sample in log.samples}
    for dig in log.digs:
        if dig.dig not in sampled:
            yield Finding(
                where=f"dig {dig.dig}",
                problem="No sample was taken from it.",
                remedy="If one was taken, enter it; an empty dig says nothing of gold.",
                weight="note",
            )
