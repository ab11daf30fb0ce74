"""The invented ground as a field log: what a finished season looks like on disk."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.mapping import GroundMap
from pennyweight.demo.oddments import add_oddments
from pennyweight.demo.relief import (
    FLOOR_M,
    dry_gulch,
    shape_surface,
    side_creek,
)
from pennyweight.demo.season import Tables, run_season
from pennyweight.demo.truth import CRS, LENGTH_M, draw_centerline, thalweg_m
from pennyweight.terrain.elevation import ElevationModel

FloatArray = npt.NDArray[np.float64]

#: Seed of everything that is drawn: the same files on every machine.
SEED = 20250603

NAME = "Candlewick Creek (invented)"

README = f"""{NAME}

This ground does not exist. Its valley, its gold, its digs and its days are made up
by formula and drawn by a seeded generator, to learn on and to test with. The
coordinates lie in the open Pacific. Prices and costs are invented too, and nobody
named here is a person. Do not use any number of it for a real ground.
"""

GROUND_TOML = f"""# {NAME}: an invented ground; every value is made up.
name = "{NAME}"
crs = "{CRS}"
pan_volume_l = 6.0
gold_price_per_ozt = 3000.0
price_date = "2025-08-01"
currency = "USD"
fineness = 860
receiver_error_m = 0.6
min_pay_m = 0.3
hand_depth_limit_m = 1.2

[costs]
wash_per_m3 = 6.0
strip_per_m3 = 2.5
per_hour = 28.0
fixed = 2400.0
royalty_percent = 2.0
refining_percent = 3.0
reclaim_per_m2 = 0.8

[plant]
name = "small digger and sluice"
m3_per_hour = 5.0
digs_m3_per_hour = 18.0
hours_per_day = 7.0
days = 60
recovery = 0.85
min_width_m = 2.0

[program]
people = 1
days = 20
lines = 11
digs = 110
closed = "03-15 to 05-31"
leave_after_lines = 3
leave_below_mg_m3 = 60
go_below_chance_of_loss = 0.2
"""

#: Degrees are written to about a centimeter.
DEGREE_DECIMALS = 7


def write_demo(folder: Path) -> None:
    """Write the field log of the invented ground into a folder.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same names are overwritten.
    """
    rng = np.random.default_rng(SEED)
    folder.mkdir(parents=True, exist_ok=True)
    surface = shape_surface(rng)
    tables = run_season(rng)
    add_oddments(rng, tables)
    (folder / "README.txt").write_text(README, encoding="utf-8")
    (folder / "ground.toml").write_text(GROUND_TOML, encoding="utf-8")
    features = json.dumps(_draw_features(), indent=1) + "\n"
    (folder / "ground.geojson").write_text(features, encoding="utf-8")
    _write_tables(folder, tables)
    _write_surface(folder / "surface.tif", surface)


def _write_tables(folder: Path, tables: Tables) -> None:
    for name, rows in vars(tables).items():
        headings = list(dict.fromkeys(key for row in rows for key in row))
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, headings, restval="", lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


def _write_surface(path: Path, surface: ElevationModel) -> None:
    from pennyweight.exchange.rasters import write_raster  # noqa: PLC0415 - costs 0.3 s

    content = write_raster(
        {"elevation_m": np.round(surface.elevation_m, 2)},
        west_m=surface.west_m,
        north_m=surface.north_m,
        cell_m=surface.cell_m,
        crs=CRS,
    )
    path.write_bytes(content)


def _draw_features() -> dict[str, Any]:
    """Return centerline, boundary, creek, side creek and worked patch as GeoJSON."""
    line = draw_centerline()
    along = np.linspace(0.0, LENGTH_M, 44)
    return {
        "type": "FeatureCollection",
        "features": [
            _feature("centerline", "valley", line.easting_m, line.northing_m),
            _feature("water", "creek", *line.to_map(along, thalweg_m(along))),
            _feature("tributary", "side creek", *side_creek()),
            _feature("tributary", "dry gulch", *dry_gulch()),
            _feature("boundary", "claim", *_strip(2.0, 213.0, FLOOR_M + 4.0)),
            _feature("worked", "old hand workings", *_patch()),
            _note(),
        ],
    }


def _strip(
    first_m: float, last_m: float, half_m: float
) -> tuple[FloatArray, FloatArray]:
    """Return the ring around a stretch of the valley."""
    along = np.linspace(first_m, last_m, 40)
    s_m = np.concatenate([along, along[::-1]])
    n_m = np.repeat([half_m, -half_m], len(along))
    return draw_centerline().to_map(s_m, n_m)


def _patch() -> tuple[FloatArray, FloatArray]:
    """Return the ring of a small patch that was mined before, beside the streaks."""
    turn = np.linspace(0.0, 2.0 * np.pi, 17)[:-1]
    return draw_centerline().to_map(
        142.0 + 7.0 * np.cos(turn), 8.5 + 2.6 * np.sin(turn)
    )


def _feature(
    role: str, name: str, easting_m: FloatArray, northing_m: FloatArray
) -> dict[str, Any]:
    east, north = GroundMap(CRS).to_degrees(easting_m, northing_m)
    places = np.column_stack([east, north]).round(DEGREE_DECIMALS).tolist()
    if role in ("boundary", "worked"):
        geometry = {"type": "Polygon", "coordinates": [[*places, places[0]]]}
    else:
        geometry = {"type": "LineString", "coordinates": places}
    return {
        "type": "Feature",
        "properties": {"role": role, "name": name},
        "geometry": geometry,
    }


def _note() -> dict[str, Any]:
    east, north = GroundMap(CRS).to_degrees(*draw_centerline().to_map([6.0], [12.0]))
    place = [round(float(one[0]), DEGREE_DECIMALS) for one in (east, north)]
    return {
        "type": "Feature",
        "properties": {"role": "note", "name": "invented ground: camp"},
        "geometry": {"type": "Point", "coordinates": place},
    }
