"""Bedrock that digs reached, by how well it may hold gold."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.reading import Reading

#: What fabric and surface of bedrock add to its rating [-]. Common practice, no
#: source; docs/sources.md "bedrock traps".
FABRIC = {"across": 0.5, "along": 0.2, "massive": 0.15}
SURFACE = {"fractured": 0.45, "rough": 0.35, "smooth": 0.05}
UNKNOWN_FABRIC, UNKNOWN_SURFACE = 0.25, 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapRead:
    """Bedrock of one kind, rated 0 to 1, with the digs where it was seen, and why."""

    digs: tuple[str, ...]
    rating: float
    why: str


def read_traps(reading: Reading) -> tuple[TrapRead, ...]:
    """Return the kinds of bedrock that were seen, the most promising first."""
    seen: dict[tuple[str | None, str | None], list[str]] = {}
    for dig in reading.log.digs:
        if dig.fabric is not None or dig.surface is not None:
            seen.setdefault((dig.fabric, dig.surface), []).append(dig.dig)
    found = [
        TrapRead(
            digs=tuple(digs),
            rating=FABRIC.get(fabric or "", UNKNOWN_FABRIC)
            + SURFACE.get(surface or "", UNKNOWN_SURFACE),
            why=say_bedrock(fabric, surface),
        )
        for (fabric, surface), digs in seen.items()
    ]
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
