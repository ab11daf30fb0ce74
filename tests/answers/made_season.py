"""An invented straight creek with a streak down its middle, dug and cleaned up."""

from dataclasses import replace
from typing import Any

import numpy as np
from pyproj import Transformer

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.records import (
    Cleanup,
    Day,
    Dig,
    Feature,
    Ground,
    Layer,
    Log,
    Sample,
    Tally,
)

CRS = "EPSG:32606"
EAST_0, NORTH_0 = 500_000.0, 5_300_000.0
COLOR_MG = 0.5


def drawn(role: str, name: str, places: list[tuple[float, float]]) -> Feature:
    """Return a line, or an area for any role but the centerline."""
    back = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    degrees = [list(back.transform(EAST_0 + x, NORTH_0 + y)) for x, y in places]
    line = role == "centerline"
    return Feature(
        number=1,
        role=role,
        name=name,
        geometry={
            "type": "LineString" if line else "Polygon",
            "coordinates": degrees if line else [degrees],
        },
    )


def box(west: float, east: float, south: float, north: float) -> list[Any]:
    """Return the corners of a box [m]."""
    corners = [(west, south), (east, south), (east, north), (west, north)]
    return [*corners, corners[0]]


def true_mg_m2(across_m: float) -> float:
    """Return the true gold: a streak 4 m wide [mg/m2]."""
    return float(20.0 + 500.0 * np.exp(-0.5 * (across_m / 2.0) ** 2))


def season(
    *, seed: int = 4, cleanups: tuple[Cleanup, ...] = (), **ground: Any
) -> Reading:
    """Return four lines of seven digs with one sample each, 1 m to bedrock."""
    rng = np.random.default_rng(seed)
    digs, samples, tallies, layers, days = [], [], [], [], []
    for at, east in enumerate((0.0, 14.0, 28.0, 42.0)):
        date = f"2026-07-{at + 1:02d}"
        days.append(Day(date=date, hours=8.0, dug_hours=5.0, cost=20.0))
        for number, north in enumerate((-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0), 1):
            name = f"L{at + 1}-{number}"
            digs.append(
                Dig(
                    dig=name,
                    line=f"L{at + 1}",
                    easting_m=EAST_0 + east,
                    northing_m=NORTH_0 + north,
                    bottom_m=1.0,
                    stopped_by="bedrock",
                )
            )
            layers.append(Layer(dig=name, top_m=0.0, bottom_m=1.0, base="bedrock"))
            samples.append(
                Sample(
                    sample=name,
                    dig=name,
                    top_m=0.5,
                    bottom_m=1.0,
                    volume_m3=0.03,
                    state="bank",
                    date=date,
                )
            )
            colors = rng.poisson(true_mg_m2(north) / 0.5 * 0.03 / COLOR_MG)
            tallies.append(
                Tally(
                    sample=name,
                    size_class="all",
                    colors=int(colors),
                    mg=float(colors) * COLOR_MG,
                )
            )
    full: dict[str, Any] = {
        "crs": CRS,
        "swell": 0.2,
        "pan_volume_m3": 0.0055,
        "gold_price_per_g": 60.0,
        "currency": "USD",
        "fineness": 880.0,
        "costs": {"wash_per_m3": 6.0, "strip_per_m3": 2.0},
        "plant": {"name": "hand sluice", "recovery": 0.8, "m3_per_hour": 0.5},
    }
    log = Log(
        ground=Ground(**(full | ground)),
        digs=tuple(digs),
        layers=tuple(layers),
        samples=tuple(samples),
        tallies=tuple(tallies),
        days=tuple(days),
        cleanups=cleanups,
        features=(
            drawn("centerline", "creek", [(-5.0, 0.0), (47.0, 0.0)]),
            replace(drawn("note", "Lower cut", box(10, 22, -4, 4)), number=2),
            replace(drawn("worked", "Far away", box(200, 220, -4, 4)), number=3),
        ),
    )
    return Reading(
        book=BookName(name="invented", id="1"),
        revision="1",
        log=log,
        made_at="2026-08-01T12:00:00+00:00",
    )
