"""Size classes of colors: what `0.25-0.5`, `20/40 mesh`, `No.2` and `all` mean.

A class is bounded by the sieve opening that a grain passes [mm] or by the weight of
a grain [mg]. The lower end belongs to the class.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from pennyweight.units import MESH_MM

ClassKind = Literal["sieve", "weight", "all"]

#: The class of colors that were counted without being sized.
UNSIZED = "all"

#: Bounds of the weight classes [mg]: Wells (1969), BLM Technical Bulletin 4,
#: appendix D. The outer bounds, 0.02 and 16 mg, are ours.
WEIGHT_CLASS_MG = {"No.1": (4.0, 16.0), "No.2": (1.0, 4.0), "No.3": (0.02, 1.0)}

#: A class with one open end reaches this many times further [-]; ours.
OPEN_END_RATIO = 2.5

_NUMBER = r"(\d+(?:\.\d+)?)"
_BETWEEN = re.compile(rf"{_NUMBER}\s*(?:-|to|\.\.)\s*{_NUMBER}(?:\s*mm)?")
_ONE_END = re.compile(rf"([<>])\s*{_NUMBER}(?:\s*(mm|mesh))?")
_MESHES = re.compile(r"(\d+)\s*/\s*(\d+)\s*mesh")


@dataclass(frozen=True, slots=True)
class SizeClass:
    """One class and its bounds.

    Attributes
    ----------
    name : str
        As written in the tally.
    kind : {"sieve", "weight", "all"}
        What the bounds are.
    low, high : float
        Bounds of a grain, mm for a sieve class, mg for a weight class, nan for
        unsized colors [-].
    """

    name: str
    kind: ClassKind
    low: float = math.nan
    high: float = math.nan


def parse_class(name: str) -> SizeClass:
    """Return the class that a tally names.

    Parameters
    ----------
    name : str
        `0.25-0.5`, `<0.25`, `>2` (mm), `20/40 mesh`, `<60 mesh`, `No.1` or `all`.

    Returns
    -------
    SizeClass
        With both ends closed: an open one reaches `OPEN_END_RATIO` times further.

    Raises
    ------
    ValueError
        The text is no class.

    Examples
    --------
    >>> parse_class("20/40 mesh").low
    0.425
    """
    if name == UNSIZED:
        return SizeClass(name, "all")
    if name in WEIGHT_CLASS_MG:
        return SizeClass(name, "weight", *WEIGHT_CLASS_MG[name])
    low, high = _sieve_bounds(name.strip())
    if not 0.0 < low < high:
        msg = (
            f"size class {name!r} runs from {low} to {high} mm; write the finer first."
        )
        raise ValueError(msg)
    return SizeClass(name, "sieve", low, high)


def _sieve_bounds(text: str) -> tuple[float, float]:
    """Return the sieve openings between which a class lies [mm]."""
    if match := _BETWEEN.fullmatch(text):
        low, high = float(match[1]), float(match[2])
        # "0-0.25" means everything that passes 0.25 mm.
        return (low or high / OPEN_END_RATIO), high
    if match := _MESHES.fullmatch(text):
        openings = sorted((_opening_mm(match[1]), _opening_mm(match[2])))
        return openings[0], openings[1]
    if match := _ONE_END.fullmatch(text):
        is_mesh = match[3] == "mesh"
        end = _opening_mm(match[2]) if is_mesh else float(match[2])
        if match[1] == "<":
            return end / OPEN_END_RATIO, end
        return end, end * OPEN_END_RATIO
    msg = (
        f"size class is {text!r}; write it like 0.25-0.5, <0.25 or >2 (mm), "
        "20/40 mesh, No.1, No.2, No.3 or all."
    )
    raise ValueError(msg)


def _opening_mm(mesh: str) -> float:
    """Return the opening of a mesh number [mm]."""
    number = float(mesh)
    if number not in MESH_MM:
        msg = f"mesh is {mesh}; the sieves known are {', '.join(map(str, MESH_MM))}."
        raise ValueError(msg)
    return MESH_MM[int(number)]


def overlap_share(test: SizeClass, of: SizeClass) -> float:
    """Return how much of a class another one covers, on a logarithmic scale.

    Parameters
    ----------
    test : SizeClass
        The class that covers, such as that of a panning test.
    of : SizeClass
        The class that is covered.

    Returns
    -------
    float
        0 to 1 [-]; 1 for the same class; 0 between a sieve and a weight class.
    """
    if test.name == of.name:
        return 1.0
    if test.kind != of.kind or test.kind == "all":
        return 0.0
    low, high = max(test.low, of.low), min(test.high, of.high)
    if high <= low:
        return 0.0
    return math.log(high / low) / math.log(of.high / of.low)
