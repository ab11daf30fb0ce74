"""What have I seen? The record laid out on the map: frame of every other answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.frame import (
    Frame,
    LineOfDigs,
    PlacedFeature,
    frame_ground,
)
from pennyweight.answers.reading import Reading
from pennyweight.book.findings import find_doubts
from pennyweight.errors import Finding
from pennyweight.records import Dig, Layer, Log, Sample
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.valley.coordinates import Centerline

__all__ = [
    "GroundAnswer",
    "LineOfDigs",
    "PlacedDig",
    "PlacedFeature",
    "show_ground",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedDig:
    """A dig where it lies; None where nothing tells."""

    dig: str
    line: str | None
    kind: str | None
    easting_m: float | None
    northing_m: float | None
    s_m: float | None
    n_m: float | None
    surface_m: float | None
    """Elevation of the surface, typed or read off the elevation model [m]."""
    bottom_m: float | None
    stopped_by: str | None
    samples: int
    unwashed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundAnswer(Answer):
    """Digs, lines, features, centerline and terrain in one coordinate system."""

    name: str
    crs: str | None
    digs: tuple[PlacedDig, ...]
    lines: tuple[LineOfDigs, ...]
    samples: int
    unwashed: tuple[str, ...]
    findings: tuple[Finding, ...]
    features: tuple[PlacedFeature, ...] = for_pictures(default=())
    centerline: Centerline | None = for_pictures(default=None)
    elevation: ElevationModel | None = for_pictures(default=None)
    counts: Mapping[str, Any] = for_pictures(default_factory=dict)
    layers: tuple[Layer, ...] = for_pictures(default=())
    """What the walls of the digs showed, as recorded."""


def show_ground(reading: Reading) -> GroundAnswer:
    """Return the record laid out on the map, with what is odd about it."""
    frame, log = frame_ground(reading), reading.log
    unwashed = find_unwashed(log)
    return GroundAnswer(
        **reading.heading(),
        cautions=_cautions(frame, unwashed),
        assumptions=frame.assumptions,
        name=log.ground.name,
        crs=log.ground.crs,
        digs=tuple(_place_dig(dig, frame, log.samples, unwashed) for dig in log.digs),
        lines=frame.lines,
        samples=len(log.samples),
        unwashed=unwashed,
        findings=(*frame.findings, *find_doubts(log)),
        features=frame.features,
        centerline=frame.centerline,
        elevation=frame.elevation,
        counts=_count_records(log),
        layers=log.layers,
    )


def find_unwashed(log: Log) -> tuple[str, ...]:
    """Return the samples that wait to be washed: no tally, no weight, no weighing."""
    seen = {tally.sample for tally in log.tallies}
    seen |= {name for weighing in log.weighings for name in weighing.samples}
    return tuple(
        one.sample
        for one in log.samples
        if one.weighed_mg is None and one.sample not in seen
    )


def _place_dig(
    dig: Dig, frame: Frame, samples: tuple[Sample, ...], unwashed: tuple[str, ...]
) -> PlacedDig:
    place = frame.places.get(dig.dig)
    own = [one.sample for one in samples if one.dig == dig.dig]
    return PlacedDig(
        dig=dig.dig,
        line=dig.line,
        kind=dig.kind,
        easting_m=dig.easting_m,
        northing_m=dig.northing_m,
        s_m=None if place is None else place.s_m,
        n_m=None if place is None else place.n_m,
        surface_m=dig.elevation_m if place is None else place.surface_m,
        bottom_m=dig.bottom_m,
        stopped_by=dig.stopped_by,
        samples=len(own),
        unwashed=len(set(own) & set(unwashed)),
    )


def _cautions(frame: Frame, unwashed: tuple[str, ...]) -> tuple[str, ...]:
    cautions = []
    if frame.centerline is not None and frame.centerline.proposed:
        cautions.append(
            "No centerline was drawn: one was laid through the middles of the lines. "
            "Draw your own if the valley runs otherwise."
        )
    if unwashed:
        count, verbs = "1 sample", ("is", "enters")
        if len(unwashed) > 1:
            count, verbs = f"{len(unwashed)} samples", ("are", "enter")
        cautions.append(f"{count} {verbs[0]} not washed yet and {verbs[1]} no number.")
    return tuple(cautions)


def _count_records(log: Log) -> dict[str, int]:
    """Return how many rows each part of the record has."""
    parts = (field.name for field in fields(log) if field.name != "ground")
    return {name: len(getattr(log, name)) for name in parts}
