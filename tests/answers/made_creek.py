"""A small invented creek with an elevation model, digs and boulders."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import Any

import numpy as np
from pyproj import Transformer

from pennyweight.answers.answer import BookName
from pennyweight.answers.highwater import HighwaterAnswer, read_floods
from pennyweight.answers.reading import Reading
from pennyweight.exchange.rasters import write_raster
from pennyweight.progress import Progress, quiet
from pennyweight.records import (
    Attachment,
    Dig,
    Feature,
    Ground,
    Log,
    Rock,
    Sample,
    Tally,
)

CRS = "EPSG:32610"
EAST_0, NORTH_0 = 500_000.0, 5_400_000.0
ROWS, COLUMNS, CELL_M = 40, 90, 2.0


def line_m(east_m: np.ndarray) -> np.ndarray:
    """Return the northing of the creek: one bend to each side [m]."""
    return 40.0 + 12.0 * np.sin(2.0 * np.pi * east_m / 120.0)


def make_surface() -> Attachment:
    """Return a valley that falls east, with a channel along the creek."""
    east = (np.arange(COLUMNS) + 0.5) * CELL_M
    north = (ROWS - np.arange(ROWS) - 0.5) * CELL_M
    off = np.abs(north[:, None] - line_m(east)[None, :])
    height = 100.0 - 0.02 * east + np.clip(off - 3.0, 0.0, None) * 0.12
    height = height + np.clip(off - 16.0, 0.0, None) * 0.6
    content = write_raster(
        {"elevation_m": height},
        west_m=EAST_0,
        north_m=NORTH_0 + ROWS * CELL_M,
        cell_m=CELL_M,
        crs=CRS,
    )
    return Attachment(
        file="surface.tif",
        kind="elevation",
        media_type="image/tiff",
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
    )


def drawn(role: str, name: str | None, *places: tuple[float, float]) -> Feature:
    """Return a line through places, meters from the corner of the surface."""
    back = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    degrees = [list(back.transform(EAST_0 + x, NORTH_0 + y)) for x, y in places]
    geometry = {"type": "LineString", "coordinates": degrees}
    return Feature(number=1, role=role, name=name, geometry=geometry)


def centerline() -> Feature:
    east = np.linspace(6.0, 174.0, 29)
    return drawn(
        "centerline",
        "Made Creek",
        *zip(east.tolist(), line_m(east).tolist(), strict=True),
    )


def made_log(*, surface: bool = True, **more: Any) -> Log:
    """Return nine digs on three lines along the creek, their samples, three stones."""
    digs, samples, tallies = [], [], []
    for number, along in enumerate((40.0, 90.0, 140.0), 1):
        for place, aside in enumerate((-6.0, 0.0, 6.0)):
            name = f"L{number}-{place}"
            north = float(line_m(np.array([along]))[0]) + aside
            digs.append(
                Dig(
                    dig=name,
                    line=f"L{number}",
                    easting_m=EAST_0 + along,
                    northing_m=NORTH_0 + north,
                    elevation_m=100.0 - 0.02 * along + 0.1 * abs(aside),
                    fabric="across" if place == 1 else None,
                    surface="fractured" if place == 1 else None,
                )
            )
            samples.append(
                Sample(sample=f"{name}-a", dig=name, top_m=0.4, bottom_m=0.8, pans=6.0)
            )
            colors = 1 + 3 * number + 2 * place
            tallies.append(Tally(sample=f"{name}-a", size_class="0.5-1", colors=colors))
    rocks = tuple(
        Rock(
            number=k,
            kind="boulder",
            easting_m=EAST_0 + 60.0 + 8.0 * k,
            northing_m=NORTH_0 + float(line_m(np.array([60.0 + 8.0 * k]))[0]),
            long_m=0.5,
            middle_m=0.3 + 0.02 * k,
            short_m=0.2,
            imbricated=True,
            set_down_by="water",
        )
        for k in range(3)
    )
    fields: dict[str, Any] = {
        "ground": Ground(name="Made Creek", crs=CRS, swell=0.2, pan_volume_m3=0.006),
        "digs": tuple(digs),
        "samples": tuple(samples),
        "tallies": tuple(tallies),
        "rocks": rocks,
        "features": (centerline(),),
        "attachments": (make_surface(),) if surface else (),
    }
    return Log(**fields | more)


@cache
def made_answer() -> HighwaterAnswer:
    """Return what the floods did to the made creek, worked out once."""
    return read_floods(read(made_log()))


def read(log: Log, progress: Progress = quiet) -> Reading:
    return Reading(
        book=BookName(name="Made Creek", id="b1"),
        revision="r1",
        log=log,
        made_at="2026-01-01T00:00:00+00:00",
        progress=progress,
    )
