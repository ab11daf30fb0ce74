"""Map layers as a GeoPackage: one file that any GIS opens.

Always a fresh file, made in memory: the book itself is never opened by it.

References
----------
OGC 12-128r15, GeoPackage Encoding Standard 1.2.1, clauses 1.1 and 2.1;
docs/sources.md, entry "GeoPackage".
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterable, Sequence

import numpy as np

from pennyweight.exchange.coordinates import MapGrid
from pennyweight.handing.layers import FloatArray, MapLayer, Value

#: "GPKG", and version 1.2.1.
APPLICATION_ID, VERSION = 0x47504B47, 10201
#: Identity of a plane grid that lies nowhere.
NOWHERE = -1
#: Number given to a system that has none in the EPSG list.
OWN_SYSTEM = 100_000
#: The tables carry a time; it is always this one, so that bytes do not change.
_TIME = "1970-01-01T00:00:00.000Z"
_GEOMETRY = {"point": "POINT", "line": "LINESTRING", "area": "POLYGON"}
_WKB = {"point": 1, "line": 2, "area": 3}

_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL,
  identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL, min_x DOUBLE, min_y DOUBLE, max_x DOUBLE,
  max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id)
    REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name)
    REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id)
    REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE about (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, about TEXT, says TEXT);
"""
_UNDEFINED = (
    ("Undefined Cartesian", NOWHERE, "NONE", NOWHERE, "undefined", None),
    ("Undefined geographic", 0, "NONE", 0, "undefined", None),
)
_GLOBE_WKT = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,'
    'AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,'
    'AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,'
    'AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]'
)


def make_geopackage(
    layers: Iterable[MapLayer],
    grid: MapGrid | None,
    about: Iterable[tuple[str, str]],
) -> bytes:
    """Return a GeoPackage of map layers.

    Parameters
    ----------
    layers : iterable of MapLayer
        One table each.
    grid : MapGrid or None
        The ground's; None for meters of nowhere.
    about : iterable of (str, str)
        What the reader must know: caution, assumption, and what it says.
    """
    connection = sqlite3.connect(":memory:")
    try:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.executescript(_TABLES)
        srs_id = _add_systems(connection, grid)
        for layer in layers:
            _add_layer(connection, layer, srs_id, unit_m=grid.unit_m if grid else 1.0)
        connection.executemany("INSERT INTO about (about, says) VALUES (?, ?)", about)
        connection.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier,"
            " last_change) VALUES ('about', 'attributes', 'about', ?)",
            (_TIME,),
        )
        connection.commit()
        return bytes(connection.serialize())
    finally:
        connection.close()


def _add_systems(connection: sqlite3.Connection, grid: MapGrid | None) -> int:
    """Write the coordinate systems; return the one that the layers are in."""
    rows: list[tuple[str | int | None, ...]] = [
        *_UNDEFINED,
        ("WGS 84", 4326, "EPSG", 4326, _GLOBE_WKT, "longitude and latitude"),
    ]
    srs_id = NOWHERE
    if grid is not None:
        srs_id = grid.epsg or OWN_SYSTEM
        source = "EPSG" if grid.epsg else "NONE"
        wkt = grid.well_known_text
        rows.append((grid.name, srs_id, source, srs_id, wkt, grid.crs))
    connection.executemany(
        "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", rows
    )
    return srs_id


def _add_layer(
    connection: sqlite3.Connection, layer: MapLayer, srs_id: int, *, unit_m: float
) -> None:
    """Write one layer as a table."""
    keys = list(dict.fromkeys(key for one in layer.features for key in one.values))
    types = {
        key: _column_type([one.values.get(key) for one in layer.features])
        for key in keys
    }
    columns = "".join(f', "{key}" {types[key]}' for key in keys)
    connection.execute(
        f'CREATE TABLE "{layer.name}" ('
        "fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, "
        f"geom {_GEOMETRY[layer.shape]}{columns})"
    )
    places = np.vstack([part for one in layer.features for part in one.parts]) / unit_m
    low, high = places.min(axis=0).tolist(), places.max(axis=0).tolist()
    connection.execute(
        "INSERT INTO gpkg_contents VALUES (?, 'features', ?, ?, ?, ?, ?, ?, ?, ?)",
        (layer.name, layer.name, layer.title, _TIME, *low, *high, srs_id),
    )
    connection.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)",
        (layer.name, _GEOMETRY[layer.shape], srs_id),
    )
    marks = ", ".join("?" for _ in range(len(keys) + 1))
    names = "".join(f', "{key}"' for key in keys)
    connection.executemany(
        # Names come from this program, values are bound.
        f'INSERT INTO "{layer.name}" (geom{names}) VALUES ({marks})',  # noqa: S608
        [
            (
                _blob(layer.shape, [part / unit_m for part in one.parts], srs_id),
                *(one.values.get(key) for key in keys),
            )
            for one in layer.features
        ],
    )


def _column_type(values: Sequence[Value]) -> str:
    known = [value for value in values if value is not None]
    if known and all(isinstance(value, int) for value in known):
        return "INTEGER"
    if known and all(isinstance(value, (int, float)) for value in known):
        return "REAL"
    return "TEXT"


def _blob(shape: str, parts: Sequence[FloatArray], srs_id: int) -> bytes:
    """Return a geometry: the GeoPackage header, then well-known binary."""
    header = b"GP" + struct.pack("<BBi", 0, 1, srs_id)
    start = struct.pack("<BI", 1, _WKB[shape])
    if shape == "point":
        return header + start + bytes(parts[0][0].astype("<f8").tobytes())
    rows = [_row(part) for part in parts]
    if shape == "line":
        return header + start + rows[0]
    return header + start + struct.pack("<I", len(rows)) + b"".join(rows)


def _row(part: FloatArray) -> bytes:
    return struct.pack("<I", len(part)) + bytes(part.astype("<f8").tobytes())
