"""Longitude and latitude into the ground's meters, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: Where a ground's system is given, on the page and in a file.
NAME_A_GRID = (
    'Name its map grid: under "The ground as a whole" on the page, or as crs in '
    "ground.toml."
)

#: Decimals of a longitude or latitude that is handed out: 0.1 mm on the ground.
DEGREE_DECIMALS = 9


@dataclass(frozen=True)
class GroundMap:
    """The ground's coordinate system, in meters whatever its own unit.

    Attributes
    ----------
    crs : str or None
        "EPSG:32610"; None when nothing tells where on Earth the ground lies.
    """

    crs: str | None

    @cached_property
    def _unit_m(self) -> float:
        from pyproj import CRS  # noqa: PLC0415 - costs 0.2 s

        axes = CRS.from_user_input(self.crs).axis_info
        return float(axes[0].unit_conversion_factor) if axes else 1.0

    def from_degrees(
        self, longitude: npt.ArrayLike, latitude: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return easting_m and northing_m of WGS 84 positions.

        Raises
        ------
        ValueError
            The ground has no coordinate system.
        """
        east, north = self._transform("EPSG:4326", self._named(), longitude, latitude)
        return east * self._unit_m, north * self._unit_m

    def to_degrees(
        self, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return WGS 84 longitude and latitude of places.

        Raises
        ------
        ValueError
            The ground has no coordinate system.
        """
        name = self._named()
        east = np.asarray(easting_m, dtype=np.float64) / self._unit_m
        north = np.asarray(northing_m, dtype=np.float64) / self._unit_m
        return self._transform(name, "EPSG:4326", east, north)

    def polygon(
        self, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
    ) -> dict[str, Any]:
        """Return a ring as a GeoJSON polygon (RFC 7946).

        In longitude and latitude; without a coordinate system in the ground's own
        meters, as the only ones there are. The ring is closed and runs
        counterclockwise, as RFC 7946 asks.
        """
        east = np.asarray(easting_m, dtype=np.float64)
        north = np.asarray(northing_m, dtype=np.float64)
        turn = np.dot(east, np.roll(north, -1)) - np.dot(north, np.roll(east, -1))
        if turn < 0.0:
            east, north = east[::-1], north[::-1]
        if self.crs is not None:
            east, north = self.to_degrees(east, north)
        ring = np.column_stack([east, north]).round(DEGREE_DECIMALS).tolist()
        return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}

    def parts(self, geometry: Mapping[str, Any]) -> tuple[tuple[FloatArray, ...], bool]:
        """Return the lines or rings of a GeoJSON geometry in meters.

        Returns
        -------
        tuple of (tuple of ndarray, bool)
            One array of (easting_m, northing_m) rows for each; True for areas.
        """
        rings = _positions(geometry)
        closed = str(geometry.get("type", "")).endswith("Polygon")
        found = []
        for ring in rings:
            degrees = np.array([place[:2] for place in ring], dtype=np.float64)
            east, north = self.from_degrees(degrees[:, 0], degrees[:, 1])
            found.append(np.column_stack([east, north]))
        return tuple(found), closed

    def _named(self) -> str:
        if self.crs is None:
            msg = (
                "the ground has no coordinate system, and longitude and latitude need "
                f"one. {NAME_A_GRID}"
            )
            raise ValueError(msg)
        return self.crs

    @staticmethod
    def _transform(
        source: str, target: str, first: npt.ArrayLike, second: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        from pyproj import Transformer  # noqa: PLC0415 - costs 0.2 s

        change = Transformer.from_crs(source, target, always_xy=True)
        found = change.transform(
            np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
        )
        return np.asarray(found[0]), np.asarray(found[1])


def _positions(geometry: Mapping[str, Any]) -> list[list[Any]]:
    """Return every line, ring or point of a geometry as a list of positions."""
    kind, places = str(geometry.get("type", "")), geometry.get("coordinates", [])
    if kind == "GeometryCollection":
        inside = geometry.get("geometries", [])
        return [ring for one in inside for ring in _positions(one)]
    if kind == "Point":
        return [[places]] if places else []
    if kind in ("LineString", "MultiPoint"):
        return [places] if places else []
    if kind in ("Polygon", "MultiLineString"):
        return [ring for ring in places if ring]
    if kind == "MultiPolygon":
        return [ring for polygon in places for ring in polygon if ring]
    return []
