"""Washing plants: what they wash in an hour, what gold they keep, how wide they dig.

The templates are common practice, no source: orders of magnitude to begin with, each
value shown with the answer until the user gives their own in `[plant]`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import log

from pennyweight.records import Tally
from pennyweight.units import MESH_MM

#: Sizes at which a plant's recovery changes [mm]; common practice, no source.
SIZE_LIMITS_MM = (0.15, 0.3, 1.0)

#: Four numbers, one for each range of sizes, the finest first.
SizeShares = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """A kind of washing plant with the digging that feeds it.

    Attributes
    ----------
    name : str
        Plain words.
    m3_per_hour : float
        Bank pay washed in an hour [m3/h].
    digs_m3_per_hour : float
        Bank overburden moved in an hour [m3/h].
    hours_per_day : float
        Hours of washing in a working day [h].
    days : float
        Working days in a season [d].
    min_width_m : float
        Narrowest cut that it can be dug in [m].
    recovery_by_size : tuple of float
        Share of raw gold kept below, between and above `SIZE_LIMITS_MM` [-].
    people : float
        Crew [-].
    fuel_l_per_hour : float
        Burned in a running hour by plant, pump and digger [l/h].
    water_m3_per_hour : float
        Through the plant [m3/h].
    largest_stone_m, moves_stone_m : float
        Longest stone that it passes, and that its crew and digger move aside [m].
    reclaim_m2_per_hour : float
        Ground put back in an hour [m2/h].
    availability : float
        Share of paid hours in which all runs [-].
    days_per_week : float
        Working days [d].
    """

    name: str
    m3_per_hour: float
    digs_m3_per_hour: float
    hours_per_day: float
    days: float
    min_width_m: float
    recovery_by_size: SizeShares
    people: float
    fuel_l_per_hour: float
    water_m3_per_hour: float
    largest_stone_m: float
    moves_stone_m: float
    reclaim_m2_per_hour: float
    availability: float = 0.85
    days_per_week: float = 6.0

    def recovery(self, size_shares: SizeShares) -> float:
        """Return the share of all raw gold that is kept.

        Parameters
        ----------
        size_shares : tuple of float
            Mass of the gold in each size range, adding up to 1 [-].

        Returns
        -------
        float
            Recovery [-].
        """
        return sum(
            kept * share
            for kept, share in zip(self.recovery_by_size, size_shares, strict=True)
        )


PLANTS = (
    Plant(
        name="rocker",
        m3_per_hour=0.25,
        digs_m3_per_hour=0.6,
        hours_per_day=6.0,
        days=100.0,
        min_width_m=0.6,
        recovery_by_size=(0.3, 0.6, 0.85, 0.95),
        people=2.0,
        fuel_l_per_hour=0.0,
        water_m3_per_hour=0.5,
        largest_stone_m=0.1,
        moves_stone_m=0.4,
        reclaim_m2_per_hour=2.0,
        availability=0.9,
    ),
    Plant(
        name="hand sluice",
        m3_per_hour=0.5,
        digs_m3_per_hour=0.6,
        hours_per_day=6.0,
        days=100.0,
        min_width_m=0.6,
        recovery_by_size=(0.3, 0.6, 0.85, 0.95),
        people=1.0,
        fuel_l_per_hour=0.0,
        water_m3_per_hour=30.0,
        largest_stone_m=0.1,
        moves_stone_m=0.4,
        reclaim_m2_per_hour=2.0,
        availability=0.9,
    ),
    Plant(
        name="powered sluice",
        m3_per_hour=1.0,
        digs_m3_per_hour=1.2,
        hours_per_day=6.0,
        days=100.0,
        min_width_m=0.8,
        recovery_by_size=(0.3, 0.6, 0.86, 0.95),
        people=2.0,
        fuel_l_per_hour=1.0,
        water_m3_per_hour=15.0,
        largest_stone_m=0.15,
        moves_stone_m=0.5,
        reclaim_m2_per_hour=4.0,
    ),
    Plant(
        name="small digger and sluice",
        m3_per_hour=2.0,
        digs_m3_per_hour=8.0,
        hours_per_day=8.0,
        days=100.0,
        min_width_m=2.0,
        recovery_by_size=(0.3, 0.65, 0.88, 0.96),
        people=2.0,
        fuel_l_per_hour=4.0,
        water_m3_per_hour=40.0,
        largest_stone_m=0.25,
        moves_stone_m=0.7,
        reclaim_m2_per_hour=20.0,
    ),
    Plant(
        name="small trommel and excavator",
        m3_per_hour=8.0,
        digs_m3_per_hour=25.0,
        hours_per_day=9.0,
        days=100.0,
        min_width_m=3.0,
        recovery_by_size=(0.35, 0.68, 0.9, 0.97),
        people=2.0,
        fuel_l_per_hour=18.0,
        water_m3_per_hour=70.0,
        largest_stone_m=0.4,
        moves_stone_m=1.0,
        reclaim_m2_per_hour=50.0,
    ),
    Plant(
        name="excavator and trommel",
        m3_per_hour=15.0,
        digs_m3_per_hour=45.0,
        hours_per_day=9.0,
        days=100.0,
        min_width_m=4.0,
        recovery_by_size=(0.35, 0.7, 0.9, 0.97),
        people=3.0,
        fuel_l_per_hour=35.0,
        water_m3_per_hour=130.0,
        largest_stone_m=0.5,
        moves_stone_m=1.3,
        reclaim_m2_per_hour=80.0,
    ),
)

#: Which template stands in where the user names none.
DEFAULT_PLANT = PLANTS[3]

#: Shares of the mass of gold where no sized tally tells; common practice, no source.
DEFAULT_SIZE_SHARES = (0.05, 0.15, 0.45, 0.35)

#: Sizes that weight classes stand for, from a flake a tenth as thick as wide of
#: density 17: 1 mg is 0.9 mm and 4 mg is 1.44 mm wide [mm].
WEIGHT_CLASS_MM = {"No.3": (0.3, 0.9), "No.2": (0.9, 1.44), "No.1": (1.44, 3.0)}


def choose_plant(name: str | None) -> Plant:
    """Return the template that the user's plant name speaks of, else the default.

    The name of a template inside the user's counts first, then the most words in
    common: "trommel" is the small one.

    Parameters
    ----------
    name : str or None
        As typed: "My hand sluice".

    Returns
    -------
    Plant
        One of `PLANTS`.
    """
    typed = (name or "").lower()
    whole = [plant for plant in PLANTS if plant.name in typed]
    if whole:
        return whole[0]
    words = set(re.findall(r"\w+", typed)) - {"and"}
    alike = [len(words & set(plant.name.split())) for plant in PLANTS]
    most = max(alike)
    # A sluice alone may be any of three: then the usual plant stands in.
    if most == 0 or (alike.count(most) > 1 and words & {"sluice"}):
        return DEFAULT_PLANT
    return PLANTS[alike.index(most)]


def size_shares(
    tallies: Iterable[Tally],
) -> SizeShares | None:
    """Return how the mass of the gold counted is spread over the plant's sizes.

    A class with a weight counts with it, else with the cube of its mean size for each
    color. A class that spans a limit is shared out evenly over the logarithm of size.

    Parameters
    ----------
    tallies : iterable of Tally
        Colors by size class.

    Returns
    -------
    tuple of float or None
        Shares below, between and above `SIZE_LIMITS_MM`, adding up to 1 [-]; None
        where no color was sized.
    """
    mass = size_masses(tallies)
    total = sum(mass)
    if total <= 0.0:
        return None
    return (mass[0] / total, mass[1] / total, mass[2] / total, mass[3] / total)


def size_masses(tallies: Iterable[Tally]) -> list[float]:
    """Return the mass of the gold counted in each of the plant's sizes.

    Parameters
    ----------
    tallies : iterable of Tally
        Colors by size class.

    Returns
    -------
    list of float
        Below, between and above `SIZE_LIMITS_MM` [mg].
    """
    mass = [0.0] * (len(SIZE_LIMITS_MM) + 1)
    for tally in tallies:
        span = class_span_mm(tally.size_class)
        if span is None or tally.colors == 0:
            continue
        low, high = span
        # Only proportions matter: 1.3 mg for a flake of 1 mm (flake model).
        estimate = 1.3 * tally.colors * (low * high) ** 1.5
        whole = estimate if tally.mg is None else tally.mg
        for at, share in enumerate(_overlaps(low, high)):
            mass[at] += whole * share
    return mass


def _overlaps(low: float, high: float) -> list[float]:
    """Return the share of a size class in each range, by the logarithm of size."""
    edges = (1e-3, *SIZE_LIMITS_MM, 1e3)
    whole = log(high / low)
    return [
        max(0.0, log(min(high, above) / max(low, below))) / whole
        if min(high, above) > max(low, below)
        else 0.0
        for below, above in pairwise(edges)
    ]


def class_span_mm(size_class: str) -> tuple[float, float] | None:
    """Return the sizes between which a class lies.

    Parameters
    ----------
    size_class : str
        In its written form: `0.25-0.5`, `<0.25`, `>2`, `20/40 mesh`, `No.2`, `all`.

    Returns
    -------
    tuple of float or None
        Lower and upper size [mm]; an open end is taken to reach a factor of two
        further. None for `all` and for what is not understood.

    Examples
    --------
    >>> class_span_mm("20/40 mesh"), class_span_mm("<0.25"), class_span_mm("all")
    ((0.425, 0.85), (0.125, 0.25), None)
    """
    if size_class in WEIGHT_CLASS_MM:
        return WEIGHT_CLASS_MM[size_class]
    mesh = re.fullmatch(r"(\d+)/(\d+) mesh", size_class)
    if mesh is not None:
        found = [_mesh_mm(MESH_MM, int(one)) for one in mesh.groups()]
        return (min(found), max(found)) if found[0] != found[1] else None
    between = re.fullmatch(r"([\d.]+)-([\d.]+)", size_class)
    if between is not None:
        low, high = (float(one) for one in between.groups())
        return (max(low, high / 4.0), high) if low < high else None
    open_end = re.fullmatch(r"([<>])([\d.]+)", size_class)
    if open_end is not None:
        size = float(open_end.group(2))
        return (size / 2.0, size) if open_end.group(1) == "<" else (size, size * 2.0)
    return None


def _mesh_mm(openings: Mapping[int, float], mesh: int) -> float:
    """Return the opening of a mesh, or of the nearest one known."""
    return openings[min(openings, key=lambda known: abs(known - mesh))]
