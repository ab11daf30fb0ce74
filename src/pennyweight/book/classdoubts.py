"""What is odd about the size classes of one sample: colors that two of them hold."""

from __future__ import annotations

import itertools
import math
import re
from collections import defaultdict
from collections.abc import Iterator

from pennyweight.errors import Finding
from pennyweight.records import Log
from pennyweight.units import MESH_MM

#: Ends of two classes that differ by less are one sieve [-].
SAME_SIEVE = 0.02

_MESHES = re.compile(r"(\d+)/(\d+) mesh")
_BETWEEN = re.compile(r"([\d.]+)-([\d.]+)")
_OPEN = re.compile(r"([<>])([\d.]+)")


def sieve_ends_mm(size_class: str) -> tuple[float, float] | None:
    """Return the ends of a sieve class [mm]; None for colors not sieved.

    >>> sieve_ends_mm("20/40 mesh"), sieve_ends_mm(">2"), sieve_ends_mm("No.3")
    ((0.425, 0.85), (2.0, inf), None)
    """
    if both := _BETWEEN.fullmatch(size_class):
        return float(both[1]), float(both[2])
    if half := _OPEN.fullmatch(size_class):
        end_mm = float(half[2])
        return (0.0, end_mm) if half[1] == "<" else (end_mm, math.inf)
    meshes = _MESHES.fullmatch(size_class)
    if meshes and {int(one) for one in meshes.groups()} <= MESH_MM.keys():
        ends = sorted(MESH_MM[int(one)] for one in meshes.groups())
        return ends[0], ends[1]
    return None


def _classes(log: Log) -> dict[str, list[str]]:
    """Return the classes that each sample was told in, without `all`."""
    classes: dict[str, list[str]] = defaultdict(list)
    for tally in log.tallies:
        if tally.size_class != "all":
            classes[tally.sample].append(tally.size_class)
    return classes


def overlapping_classes(log: Log) -> Iterator[Finding]:
    """Tell of sieve classes that share grain sizes in one sample."""
    for sample, classes in _classes(log).items():
        ends = [(one, sieve_ends_mm(one)) for one in classes]
        sieved = sorted((found, one) for one, found in ends if found is not None)
        for (upper, first), (lower, second) in itertools.pairwise(sieved):
            if upper[1] > lower[0] * (1.0 + SAME_SIEVE):
                yield Finding(
                    where=f"sample {sample}",
                    problem=f"Its classes {first} and {second} share grains of"
                    f" {lower[0]:g} mm and more; colors of both were added up.",
                    remedy="If a color was counted in both, correct one count; else"
                    " name the sieves that it was sorted with.",
                    weight="doubt",
                )
                break


def classes_of_two_kinds(log: Log) -> Iterator[Finding]:
    """Tell of samples sorted by eye and by sieve at once."""
    for sample, classes in _classes(log).items():
        by_eye = [one for one in classes if one.startswith("No.")]
        sieved = [one for one in classes if sieve_ends_mm(one) is not None]
        if by_eye and sieved:
            yield Finding(
                where=f"sample {sample}",
                problem=f"It was counted by weight class ({', '.join(by_eye)}) and by"
                f" sieve ({', '.join(sieved)}); colors of both were added up.",
                remedy="If these are the same colors told twice, keep one of the two"
                " ways.",
                weight="doubt",
            )
