"""The ground's map grid: degrees to meters and back, and taping from a peg.

Inside, easting and northing are meters of the ground's coordinate system, even
where that system itself counts feet. Longitude and latitude are WGS 84 degrees.
Nothing is fetched: where a transformation would need a correction grid, the coarser
one is used and its accuracy is told.
"""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt
import pyproj
from pyproj.exceptions import ProjError
from pyproj.network import set_network_enabled  # type: ignore[attr-defined]
from pyproj.transformer import TransformerGroup

FloatArray = npt.NDArray[np.float64]

# Nothing leaves the machine, whatever the environment says.
set_network_enabled(active=False)

#: WGS 84 with longitude first.
GLOBE = "EPSG:4326"

#: UTM is defined between these latitudes [deg]. Source: docs/sources.md, "UTM".
UTM_SOUTH_DEG, UTM_NORTH_DEG = -80.0, 84.0

#: How a system is named: a number of a list, "EPSG:32610", two of them with a "+", or
#: its whole text in well-known form. Strings of other kinds may hold any computation.
_LISTED = re.compile(r"(?:[A-Za-z]+:)?\d{4,6}(?:\+\d{4,6})?|urn:ogc:def:crs:[\w:.]+")
_WELL_KNOWN = re.compile(
    r"(?:PROJCS|PROJCRS|PROJECTEDCRS|GEOGCS|GEOGCRS|GEODCRS|COMPD_CS|COMPOUNDCRS|"
    r"BOUNDCRS)\s*[\[(]",
    re.IGNORECASE,
)

#: A foot that a system counts in is between these [m].
_FOOT_M = (0.3, 0.31)


@dataclass(frozen=True)
class MapGrid:
    """One projected coordinate system, in meters.

    Attributes
    ----------
    crs : str
        How it was named, "EPSG:32610".
    """

    crs: str

    @cached_property
    def _system(self) -> pyproj.CRS:
        system = pyproj.CRS.from_user_input(self.crs)
        return system.sub_crs_list[0] if system.is_compound else system

    @cached_property
    def unit_m(self) -> float:
        """Length of the system's own unit [m]."""
        return float(self._system.axis_info[0].unit_conversion_factor)

    @property
    def foot_m(self) -> float | None:
        """Length of the system's own foot [m]; None where it counts meters."""
        low, high = _FOOT_M
        return self.unit_m if low < self.unit_m < high else None

    @property
    def well_known_text(self) -> str:
        """The system written out, for files that carry it along."""
        return self._system.to_wkt("WKT1_GDAL")

    @property
    def epsg(self) -> int | None:
        """Its number in the EPSG list; None where it has none."""
        return self._system.to_epsg()

    @property
    def name(self) -> str:
        """What the list of systems calls it."""
        return str(self._system.name)

    @cached_property
    def _from_globe(self) -> pyproj.Transformer:
        return pyproj.Transformer.from_crs(GLOBE, self._system, always_xy=True)

    @cached_property
    def accuracy_m(self) -> float | None:
        """How far a transformed place may be off [m]; None where it is not known."""
        with warnings.catch_warnings():
            # The missing correction grid is told by the accuracy itself.
            warnings.simplefilter("ignore")
            group = TransformerGroup(GLOBE, self._system, always_xy=True)
        if not group.transformers or group.transformers[0].accuracy < 0.0:
            return None
        return float(group.transformers[0].accuracy)

    def to_grid(
        self, longitude: npt.ArrayLike, latitude: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return the grid position of places on the globe.

        Parameters
        ----------
        longitude, latitude : array_like, shape (n_places,)
            WGS 84 [deg].

        Returns
        -------
        tuple of ndarray
            easting_m, northing_m [m]; inf where the system does not reach.
        """
        east, north = self._from_globe.transform(
            np.asarray(longitude, dtype=np.float64),
            np.asarray(latitude, dtype=np.float64),
        )
        return np.asarray(east) * self.unit_m, np.asarray(north) * self.unit_m

    def to_globe(
        self, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return the place on the globe of grid positions.

        Parameters
        ----------
        easting_m, northing_m : array_like, shape (n_places,)
            In this system [m].

        Returns
        -------
        tuple of ndarray
            longitude, latitude, WGS 84 [deg]; inf where the system does not reach.
        """
        longitude, latitude = self._from_globe.transform(
            np.asarray(easting_m, dtype=np.float64) / self.unit_m,
            np.asarray(northing_m, dtype=np.float64) / self.unit_m,
            direction="INVERSE",
        )
        return np.asarray(longitude), np.asarray(latitude)

    def reaches(self, longitude: float, latitude: float) -> bool:
        """Tell whether a place lies in the area that the system is meant for.

        A margin of one degree is allowed, as people work across a zone's edge.
        """
        area = self._system.area_of_use
        if area is None:
            return bool(np.isfinite(longitude) and np.isfinite(latitude))
        inside = area.west - 1.0 <= longitude <= area.east + 1.0
        return bool(inside and area.south - 1.0 <= latitude <= area.north + 1.0)

    def bearing_on_grid(
        self, bearing_deg: float, *, easting_m: float, northing_m: float
    ) -> float:
        """Return a true bearing as a bearing from grid north, at one place.

        Parameters
        ----------
        bearing_deg : float
            From true north, clockwise [deg].
        easting_m, northing_m : float
            The place [m].

        Returns
        -------
        float
            From grid north, clockwise [deg].

        Notes
        -----
        The meridian convergence is the angle from true north to grid north,
        clockwise; it is taken off the true bearing.
        """
        longitude, latitude = self.to_globe(easting_m, northing_m)
        with warnings.catch_warnings():
            # A datum shift of arc seconds does not turn the meridian.
            warnings.simplefilter("ignore")
            factors = pyproj.Proj(self._system).get_factors(longitude, latitude)
        return bearing_deg - float(np.asarray(factors.meridian_convergence))


@lru_cache(maxsize=32)
def open_grid(crs: str) -> MapGrid:
    """Return the map grid of that name.

    Raises
    ------
    ValueError
        No such system is known, or it is not a projected one in meters or feet; or
        it is not named by its number or its well-known text.
    """
    _check_form(crs)
    try:
        system = pyproj.CRS.from_user_input(crs)
    except ProjError as wrong:
        msg = (
            f"crs is {crs!r}, which names no known coordinate system; write it like "
            '"EPSG:32610", or leave it out and give longitude and latitude.'
        )
        raise ValueError(msg) from wrong
    if not (system.sub_crs_list[0] if system.is_compound else system).is_projected:
        msg = (
            f"crs is {crs!r} ({system.name}), which is not a map grid in meters or "
            "feet; name a projected system, or leave crs out and give longitude and "
            "latitude in WGS 84."
        )
        raise ValueError(msg)
    return MapGrid(crs)


def _check_form(crs: str) -> None:
    """Refuse what names no system by its number or its well-known text."""
    text = crs.strip()
    if _LISTED.fullmatch(text) or _WELL_KNOWN.match(text):
        return
    msg = (
        f"crs is {crs!r}, which is neither the number of a system nor its well-known "
        'text (WKT); write it like "EPSG:32610", or leave it out and give longitude '
        "and latitude."
    )
    raise ValueError(msg)


def is_plain_globe(crs: str) -> bool:
    """Tell whether a system is WGS 84 longitude and latitude, which is no grid."""
    return crs.strip().upper() in {"EPSG:4326", "OGC:CRS84", "WGS84", "WGS 84"}


def pick_utm(longitude: float, latitude: float) -> str:
    """Return the UTM zone that a place lies in, as "EPSG:326zz" or "EPSG:327zz".

    Raises
    ------
    ValueError
        The place lies beyond the latitudes of UTM.

    Examples
    --------
    >>> pick_utm(14.5, 46.05)
    'EPSG:32633'
    """
    if not UTM_SOUTH_DEG <= latitude <= UTM_NORTH_DEG:
        msg = (
            f"latitude is {latitude:.4f}; UTM reaches from {UTM_SOUTH_DEG:.0f} to "
            f"{UTM_NORTH_DEG:.0f} degrees. Name a polar system as crs in ground.toml."
        )
        raise ValueError(msg)
    zone = int((longitude + 180.0) // 6.0) % 60 + 1
    return f"EPSG:{(32600 if latitude >= 0.0 else 32700) + zone}"


def tape_from_peg(
    peg_m: tuple[float, float],
    bearing_deg: float,
    *,
    along_m: npt.ArrayLike,
    across_m: npt.ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the grid positions of places taped from a peg.

    Tape lengths are taken as grid lengths: in UTM they differ by 0.04 % at most,
    4 cm in 100 m.

    Parameters
    ----------
    peg_m : tuple of (float, float)
        easting_m, northing_m of the peg [m].
    bearing_deg : float
        From grid north to the tape, clockwise [deg].
    along_m, across_m : array_like, shape (n_places,)
        Along the tape, and to the right of it when looking along it [m].

    Returns
    -------
    tuple of ndarray
        easting_m, northing_m [m].

    Examples
    --------
    >>> east, north = tape_from_peg((0.0, 0.0), 90.0, along_m=10.0, across_m=2.0)
    >>> round(float(east), 6), round(float(north), 6)
    (10.0, -2.0)
    """
    turn = np.deg2rad(bearing_deg)
    return tape_in_direction(
        peg_m,
        (float(np.sin(turn)), float(np.cos(turn))),
        along_m=along_m,
        across_m=across_m,
    )


def tape_in_direction(
    peg_m: tuple[float, float],
    direction: tuple[float, float],
    *,
    along_m: npt.ArrayLike,
    across_m: npt.ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return grid positions taped from a peg in the direction of a unit vector."""
    along = np.asarray(along_m, dtype=np.float64)
    across = np.asarray(across_m, dtype=np.float64)
    east, north = direction
    return (
        peg_m[0] + along * east + across * north,
        peg_m[1] + along * north - across * east,
    )
