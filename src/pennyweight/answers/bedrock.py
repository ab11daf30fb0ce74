"""Bedrock that digs reached, by how well it may hold gold."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.reading import Reading

#: What fabric and surface of bedrock add to its rating [-]. Common practice, no
#: source; docs/sources.md "bedrock traps".
FABRIC = {"across": 0.5, "along": 0.2, "massive": 0.15}
SURFACE = {"fractured": 0.45, "rough": 0.35, "smooth": 0.05}
UNKNOWN_FABRIC, UNKNOWN_SURFACE = 0.25, 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapRead:
    """Bedrock of one dig, rated 0 to 1, and why."""

    dig: str
    easting_m: float | None
    northing_m: float | None
    rating: float
    why: str


def read_traps(reading: Reading) -> tuple[TrapRead, ...]:
    """Return the bedrock that was seen, the most promising first."""
    places = frame_ground(reading).places
    found = []
    for dig in reading.log.digs:
        if dig.fabric is None and dig.surface is None:
            continue
        place = places.get(dig.dig)
        rating = FABRIC.get(dig.fabric or "", UNKNOWN_FABRIC)
        rating += SURFACE.get(dig.surface or "", UNKNOWN_SURFACE)
        found.append(
            TrapRead(
                dig=dig.dig,
                easting_m=place.easting_m if place else None,
                northing_m=place.northing_m if place else None,
                rating=rating,
                why=say_bedrock(dig.fabric, dig.surface),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.rating))


def say_bedrock(fabric: str | None, surface: str | None) -> str:
    """Return what fabric and surface say of gold, in plain words."""
    said = {
        "across": "ledges stand across the flow like riffles",
        "along": "ledges run along the flow and let gold slide on",
        "massive": "the rock has no ledges",
    }
    on_top = {
        "fractured": "its cracks hold gold below the water's reach; clean them out",
        "rough": "its roughness slows what rolls over it",
        "smooth": "smooth rock holds little",
    }
    parts = [said.get(fabric or ""), on_top.get(surface or "")]
    return "; ".join(one for one in parts if one) or "bedrock was seen"
