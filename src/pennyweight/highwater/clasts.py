"""The largest stones that water set down, gathered by dig or by bar.

One stone misleads: the mean of the three largest stands for the flood. What slides,
ice or people brought tells nothing of water and is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.cluster.hierarchy import fcluster, linkage

from pennyweight.records import Rock

#: How many of the largest stones are averaged.
LARGEST = 3
#: Stones without a dig and nearer than this to one another lie on one bar [m]; ours.
BAR_M = 30.0
#: Middle over long axis where only the long one was measured [-]; ours, docs/sources.md
#: "boulders".
MIDDLE_OVER_LONG = 0.7
#: Kinds of rock that no flood carried or of which that is not known.
NOT_CARRIED = ("bedrock", "float")


@dataclass(frozen=True, slots=True)
class Clasts:
    """The largest stones of one place.

    Attributes
    ----------
    place : str
        "dig T4" or "bar at 500123 E, 6000456 N".
    dig : str or None
        The dig's name.
    easting_m, northing_m : float or None
        Middle of the stones where they have coordinates [m].
    sizes_m : tuple of float
        Middle axes of the up to three largest, the largest first [m].
    n_stones : int
        How many were measured there and count.
    warnings : tuple of str
        What speaks against them, one sentence each.
    """

    place: str
    dig: str | None
    easting_m: float | None
    northing_m: float | None
    sizes_m: tuple[float, ...]
    n_stones: int
    warnings: tuple[str, ...]

    @property
    def size_m(self) -> float | None:
        """Mean of the largest [m]; None where none counts."""
        return float(np.mean(self.sizes_m)) if self.sizes_m else None


def middle_axis_m(rock: Rock) -> float | None:
    """Return the middle axis of a stone, from the others where it was not measured.

    Parameters
    ----------
    rock : Rock
        The stone.

    Returns
    -------
    float or None
        Middle axis [m]: root of long times short where both are known, 0.7 of the long
        where only that is; None where no axis is.

    Examples
    --------
    >>> middle_axis_m(Rock(number=1, long_m=1.0))
    0.7
    """
    if rock.middle_m is not None:
        return rock.middle_m
    if rock.long_m is None:
        return None
    if rock.short_m is None:
        return MIDDLE_OVER_LONG * rock.long_m
    return math.sqrt(rock.long_m * rock.short_m)


def gather_clasts(rocks: Sequence[Rock]) -> tuple[Clasts, ...]:
    """Return the largest stones of each dig and of each bar.

    Parameters
    ----------
    rocks : sequence of Rock
        All observations of rock; bedrock, float and those without an axis are passed
        over.

    Returns
    -------
    tuple of Clasts
        Digs by name, then bars from west to east. A place where no stone counts is
        there too, and says why.
    """
    stones = [
        rock
        for rock in rocks
        if middle_axis_m(rock) is not None and rock.kind not in NOT_CARRIED
    ]
    by_dig: dict[str, list[Rock]] = {}
    loose: list[Rock] = []
    for rock in stones:
        if rock.dig is not None:
            by_dig.setdefault(rock.dig, []).append(rock)
        elif rock.easting_m is not None and rock.northing_m is not None:
            loose.append(rock)
    digs = [_clasts_of(f"dig {name}", name, by_dig[name]) for name in sorted(by_dig)]
    bars = [_clasts_of("", None, bar) for bar in _bars(loose)]
    return (*digs, *sorted(bars, key=lambda one: one.easting_m or 0.0))


def _bars(rocks: list[Rock]) -> list[list[Rock]]:
    """Return stones in groups that lie together."""
    if len(rocks) < 2:
        return [rocks] if rocks else []
    places = np.array([(rock.easting_m, rock.northing_m) for rock in rocks], np.float64)
    labels = fcluster(linkage(places, "single"), BAR_M, "distance")
    return [
        [rock for rock, label in zip(rocks, labels, strict=True) if label == one]
        for one in np.unique(labels)
    ]


def _clasts_of(place: str, dig: str | None, rocks: list[Rock]) -> Clasts:
    """Return the largest of one place's stones, with what speaks against them."""
    carried = [
        rock for rock in rocks if rock.set_down_by in {None, "", "water", "unknown"}
    ]
    largest = sorted(carried, key=_size, reverse=True)[:LARGEST]
    places = [
        (rock.easting_m, rock.northing_m)
        for rock in rocks
        if rock.easting_m is not None and rock.northing_m is not None
    ]
    east, north = np.mean(places, axis=0) if places else (None, None)
    name = place or f"bar at {east:.0f} E, {north:.0f} N"
    return Clasts(
        place=name,
        dig=dig,
        easting_m=None if east is None else float(east),
        northing_m=None if north is None else float(north),
        sizes_m=tuple(_size(rock) for rock in largest),
        n_stones=len(carried),
        warnings=tuple(_doubts(rocks, carried, largest)),
    )


def _size(rock: Rock) -> float:
    """Return the middle axis of a stone that has one [m]."""
    return middle_axis_m(rock) or 0.0


def _doubts(rocks: list[Rock], carried: list[Rock], largest: list[Rock]) -> list[str]:
    """Return what speaks against the stones of a place."""
    said: list[str] = []
    others = sorted({rock.set_down_by or "" for rock in rocks if rock not in carried})
    if others:
        count = len(rocks) - len(carried)
        said.append(
            f"{count} of {len(rocks)} stones set down by {' and '.join(others)} tell "
            "nothing of floods and were left out."
        )
    unknown = sum(rock.set_down_by != "water" for rock in largest)
    if unknown:
        said.append(
            f"For {unknown} of the {len(largest)} largest it is not written down that "
            "water brought them; a slide, ice or people may have."
        )
    if largest and not any(rock.imbricated for rock in largest):
        said.append("None of the largest is noted as leaning downstream on others.")
    if len(largest) == 1:
        said.append("Only one stone was measured, and one stone misleads: measure two.")
    elif len(largest) == 2:
        said.append("Only two stones were measured; the mean of three is steadier.")
    if any(rock.middle_m is None for rock in largest):
        said.append(
            "A middle axis was not measured and was reckoned from the other axes."
        )
    if len(largest) > 1 and _size(largest[0]) > 2.0 * _size(largest[1]):
        said.append("The largest is more than twice the next: it may be from a slide.")
    return said
