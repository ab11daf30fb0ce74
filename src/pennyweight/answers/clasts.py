"""The largest stones that water moved, and what flow that took; bedrock that traps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.streamtree import StreamTree
from pennyweight.highwater.mobility import GRAVEL_RATIO, shields_shear_pa
from pennyweight.highwater.reach import DEEP, SHALLOW
from pennyweight.records import Rock
from pennyweight.sampling.settling import GRAVITY_M_S2, WATER_KG_M3
from pennyweight.spread import Spread, spread_of
from pennyweight.terrain.valleyshape import Creek

FloatArray = npt.NDArray[np.float64]

#: Draws of the flow behind a stone [-].
DRAWS = 4000

#: What moved a stone, other than water.
NOT_WATER = {
    "slide": "a slide",
    "landslide": "a slide",
    "ice": "ice",
    "people": "people",
}

#: Usual Shields number of a moving stone [-], and the factor within which it lies in
#: four cases of five: docs/sources.md "Shields number".
USUAL_SHIELDS, SHIELDS_FACTOR = 0.045, 2.0

#: Width of the water where the floor's is unknown [m]. Our assumption.
USUAL_WIDTH_M = 8.0

#: Fall of a creek where nothing tells it [m/m]. Our assumption.
USUAL_SLOPE = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class ClastFlow:
    """A stone, or the mean of the three largest, and the flow that moved it.

    Attributes
    ----------
    dig : str or None
        The dig that it was measured at, or the nearest one.
    size_mm : float
        Middle axis [mm].
    velocity_m_s, shear_pa, depth_m : Spread
        Of the water that just moved it, mean over the depth.
    """

    dig: str | None
    size_mm: float
    velocity_m_s: Spread | None
    shear_pa: Spread | None
    depth_m: Spread | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClastsRead:
    """All stones, and the discharge that the largest tell of."""

    clasts: tuple[ClastFlow, ...]
    discharge_m3_s: Spread | None
    cautions: tuple[str, ...]
    assumptions: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapRead:
    """Bedrock that may hold gold, as seen in a dig."""

    dig: str
    easting_m: float | None
    northing_m: float | None
    rating: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stone:
    dig: str | None
    size_m: float
    slope: float
    width_m: float


def read_clasts(reading: Reading, tree: StreamTree) -> ClastsRead:
    """Return the flows behind the stones that water moved."""
    moved, elsewise = _moved(reading.log.rocks)
    assumptions: dict[str, Any] = {}
    if not moved:
        return ClastsRead(
            clasts=(), discharge_m3_s=None, cautions=_say_left_out(elsewise)
        )
    rng = np.random.default_rng(reading.seed)
    stones = [_stone(rock, reading, tree.creek, assumptions) for rock in moved]
    stones = sorted(stones, key=lambda one: -one.size_m)
    rows = tuple(_flow(one, rng)[0] for one in stones)
    largest = stones[:3]
    mean = _Stone(
        dig=None,
        size_m=float(np.mean([one.size_m for one in largest])),
        slope=float(np.mean([one.slope for one in largest])),
        width_m=float(np.mean([one.width_m for one in largest])),
    )
    _, discharge = _flow(mean, rng)
    cautions = list(_say_left_out(elsewise))
    if len(stones) < 3:
        cautions.append(
            f"The flood is read from {len(stones)} stone{'s' * (len(stones) > 1)}; one "
            "may have rolled from the bank. Measure the three largest that water moved."
        )
    return ClastsRead(
        clasts=rows,
        discharge_m3_s=discharge,
        cautions=tuple(cautions),
        assumptions=assumptions,
    )


def _moved(rocks: Sequence[Rock]) -> tuple[list[Rock], list[Rock]]:
    """Return boulders with a size: moved by water or unknown, and by other things."""
    sized = [
        rock for rock in rocks if rock.kind == "boulder" and _size_m(rock) is not None
    ]
    other = [rock for rock in sized if (rock.set_down_by or "") in NOT_WATER]
    return [rock for rock in sized if rock not in other], other


def _size_m(rock: Rock) -> float | None:
    """Return the middle axis; of two axes the shorter of the long ones [m]."""
    if rock.middle_m is not None:
        return rock.middle_m
    if rock.long_m is not None and rock.short_m is not None:
        return float(np.sqrt(rock.long_m * rock.short_m))
    return None


def _say_left_out(rocks: Sequence[Rock]) -> tuple[str, ...]:
    if not rocks:
        return ()
    by = sorted({NOT_WATER[rock.set_down_by or ""] for rock in rocks})
    stones = "1 boulder was" if len(rocks) == 1 else f"{len(rocks)} boulders were"
    return (f"{stones} left out: set down by {' or '.join(by)}, not by water.",)


def _stone(
    rock: Rock, reading: Reading, creek: Creek | None, assumptions: dict[str, Any]
) -> _Stone:
    """Return a stone with the fall and the width of the creek where it lies."""
    places = frame_ground(reading).places
    east, north, dig = rock.easting_m, rock.northing_m, rock.dig
    if east is None and dig is not None and dig in places:
        east, north = places[dig].easting_m, places[dig].northing_m
    if dig is None and east is not None and north is not None and places:
        dig = min(
            places,
            key=lambda name: np.hypot(
                places[name].easting_m - east, places[name].northing_m - north
            ),
        )
    slope, width_m = np.nan, np.nan
    if creek is not None and east is not None and north is not None:
        away = np.hypot(creek.easting_m - east, creek.northing_m - north)
        at = int(np.argmin(away))
        near = np.abs(creek.distance_m - creek.distance_m[at]) <= 40.0
        if np.isfinite(creek.slope[near]).any():
            slope = float(np.nanmean(creek.slope[near]))
        if np.isfinite(creek.width_m[near]).any():
            width_m = float(np.nanmedian(creek.width_m[near]))
    if not slope > 0.0:
        assumptions["creek_slope"] = slope = USUAL_SLOPE
    if not width_m > 0.0:
        assumptions["flood_width_m"] = width_m = USUAL_WIDTH_M
    size_m = _size_m(rock)
    return _Stone(dig=dig, size_m=size_m or np.nan, slope=slope, width_m=width_m)


def _flow(stone: _Stone, rng: np.random.Generator) -> tuple[ClastFlow, Spread | None]:
    """Return the flow that just moves a stone, and its discharge."""
    spread = np.log(SHIELDS_FACTOR) / 1.2816
    shields = USUAL_SHIELDS * np.exp(rng.normal(0.0, spread, DRAWS))
    shear = shields_shear_pa(shields, stone.size_m, GRAVEL_RATIO)
    depth = shear / (WATER_KG_M3 * GRAVITY_M_S2 * stone.slope)
    # Ferguson's resistance, as in the flood; stones of the bed half as large.
    bed_m = 0.5 * stone.size_m
    drag = np.cbrt(bed_m / depth) / DEEP**2 + (bed_m / SHALLOW / depth) ** 2
    speed = np.sqrt(shear / WATER_KG_M3 / drag)
    speed = speed * np.exp(rng.normal(0.0, np.log(1.3) / 1.2816, DRAWS))
    row = ClastFlow(
        dig=stone.dig,
        size_mm=stone.size_m * 1000.0,
        velocity_m_s=spread_of(speed),
        shear_pa=spread_of(shear),
        depth_m=spread_of(depth),
    )
    return row, spread_of(speed * depth * stone.width_m)


def read_traps(reading: Reading, tree: StreamTree) -> tuple[TrapRead, ...]:
    """Return digs that reached bedrock, by how well it may hold gold."""
    places = frame_ground(reading).places
    found = []
    for dig in reading.log.digs:
        if dig.fabric is None and dig.surface is None:
            continue
        rating, why = rate_bedrock(dig.fabric, dig.surface)
        place = places.get(dig.dig)
        found.append(
            TrapRead(
                dig=dig.dig,
                easting_m=place.easting_m if place else None,
                northing_m=place.northing_m if place else None,
                rating=rating,
                why=why,
            )
        )
    return tuple(sorted(found, key=lambda one: -one.rating))


def rate_bedrock(fabric: str | None, surface: str | None) -> tuple[float, str]:
    """Return a rating, 0 to 1, and why; the rules are common practice, no source."""
    by_fabric = {"across": 0.5, "massive": 0.15, "along": 0.2}.get(fabric or "", 0.25)
    by_surface = {"fractured": 0.45, "rough": 0.35, "smooth": 0.05}.get(
        surface or "", 0.2
    )
    said = []
    if fabric == "across":
        said.append("ledges stand across the flow like riffles")
    elif fabric == "along":
        said.append("ledges run along the flow and let gold slide on")
    if surface == "fractured":
        said.append("cracks hold gold below the reach of water; clean them to the end")
    elif surface == "rough":
        said.append("rough rock slows what rolls over it")
    elif surface == "smooth":
        said.append("smooth rock holds little")
    return by_fabric + by_surface, "; ".join(said) or "bedrock was reached"
