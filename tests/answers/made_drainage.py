"""An invented creek with three feeders, washed place by place; made for tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pennyweight.answers.answer import BookName
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.reading import Reading
from pennyweight.records import (
    Dig,
    Feature,
    Grain,
    Ground,
    Log,
    Rock,
    Sample,
    Tally,
)

CRS = "EPSG:32610"
EAST_M, NORTH_M = 500_000.0, 5_500_000.0
#: Feeder -> where it joins the creek, how far it goes to the side, its bank.
FEEDERS = {"first": (400.0, 500.0), "second": (900.0, -600.0), "third": (1400.0, 400.0)}
#: The creek runs south along the northing axis, 2 km long.
LENGTH_M = 2000.0


def line(role: str, name: str | None, points: list[tuple[float, float]]) -> Feature:
    """Return a drawn line; points are meters from the creek's mouth."""
    east, north = np.array(points).T
    x, y = GroundMap(CRS).to_degrees(EAST_M + east, NORTH_M + north)
    places = np.column_stack([x, y]).tolist()
    geometry = {"type": "LineString", "coordinates": places}
    return Feature(number=1, role=role, name=name, geometry=geometry)


def drawn() -> tuple[Feature, ...]:
    """Return the creek and its feeders, the feeders drawn up and down alike."""
    found = [line("centerline", "creek", [(0.0, LENGTH_M), (0.0, 1000.0), (0.0, 0.0)])]
    for at, (name, (mouth_m, side_m)) in enumerate(FEEDERS.items()):
        points = [(side_m, mouth_m + 300.0), (0.0, mouth_m)]
        found.append(line("tributary", name, points[:: -1 if at % 2 else 1]))
    return tuple(replace(one, number=at + 1) for at, one in enumerate(found))


def on_feeder(name: str, share: float) -> tuple[float, float]:
    """Return a place on a feeder, a share of the way up from its mouth."""
    mouth_m, side_m = FEEDERS[name]
    return side_m * share, mouth_m + 300.0 * share


def washed(
    name: str, place: tuple[float, float], colors: int, pans: float = 8.0
) -> tuple[Dig, Sample, Tally]:
    """Return a dig at a place, its one sample and its tally."""
    dig = Dig(dig=name, easting_m=EAST_M + place[0], northing_m=NORTH_M + place[1])
    sample = Sample(sample=name, dig=name, top_m=0.0, bottom_m=0.3, pans=pans)
    return dig, sample, Tally(sample=name, size_class="all", colors=colors)


def log_of(
    places: list[tuple[Dig, Sample, Tally]],
    features: tuple[Feature, ...] | None = None,
    grains: tuple[Grain, ...] = (),
    rocks: tuple[Rock, ...] = (),
) -> Log:
    """Return the record of some washed places."""
    digs, samples, tallies = zip(*places, strict=True) if places else ((), (), ())
    return Log(
        ground=Ground(name="made", crs=CRS, pan_volume_m3=0.006, swell=0.2),
        digs=tuple(digs),
        samples=tuple(samples),
        tallies=tuple(tallies),
        features=drawn() if features is None else features,
        grains=grains,
        rocks=rocks,
    )


def second_feeder() -> Log:
    """Return a season that found gold up to the second feeder and on it."""
    near = (0.15, 0.5)
    return log_of(
        [
            washed("low", (2.0, 100.0), 14),
            washed("mid", (-3.0, 600.0), 16),
            washed("high", (1.0, 1100.0), 0, 12.0),
            washed("first-mouth", on_feeder("first", near[0]), 0, 40.0),
            washed("second-mouth", on_feeder("second", near[0]), 30),
            washed("second-up", on_feeder("second", near[1]), 25),
        ]
    )


def reading_of(log: Log) -> Reading:
    """Return a fresh look at a record."""
    return Reading(
        book=BookName(name="made", id="1"), revision="1", log=log, made_at="2025-07-01"
    )
