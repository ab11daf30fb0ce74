"""Lines and areas that are drawn on the map, and which way the water runs.

What is drawn is a list of places, one a line, as a person types it or as clicks on the
map leave it: longitude and latitude, or easting and northing in meters. It is kept as
a feature of the record, in WGS 84.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.mapping import DEGREE_DECIMALS, GroundMap
from pennyweight.records import Feature, Log
from pennyweight.valley.coordinates import Centerline
from pennyweight.web.forms import FieldError, parse_number

FloatArray = npt.NDArray[np.float64]

#: The most points of one drawing.
MOST_POINTS = 2000

_BETWEEN = re.compile(r"[,;\s]+")
_DEGREES = re.compile(r"([NSEW]?)([-+\u2212]?[\d.]+)\u00b0?([NSEW]?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """One kind of thing that can be drawn.

    Attributes
    ----------
    role, label, hint : str
        Role of the feature, its words, and how it is drawn.
    shape : str
        line, area or point.
    least : int
        Points that it needs [-].
    """

    role: str
    label: str
    hint: str
    shape: str
    least: int


SKETCHES = (
    Sketch(
        role="centerline",
        label="Centerline of the valley",
        hint="From the upper end to the lower one, as the water runs.",
        shape="line",
        least=2,
    ),
    Sketch(
        role="boundary",
        label="Boundary",
        hint="Around the ground that you may dig.",
        shape="area",
        least=3,
    ),
    Sketch(
        role="tributary",
        label="Tributary",
        hint="From its upper end to the mouth.",
        shape="line",
        least=2,
    ),
    Sketch(
        role="water",
        label="Water",
        hint="The bed of the creek, downstream.",
        shape="line",
        least=2,
    ),
    Sketch(
        role="worked",
        label="Worked ground",
        hint="Around what others have dug.",
        shape="area",
        least=3,
    ),
    Sketch(
        role="note",
        label="Note",
        hint="One place, with a name.",
        shape="point",
        least=1,
    ),
)

SKETCH_OF = {one.role: one for one in SKETCHES}


def read_points(text: str, crs: str | None) -> FloatArray:
    """Return the places of a list, one a line, as longitude and latitude.

    Parameters
    ----------
    text : str
        "longitude, latitude" or "easting, northing"; degrees may carry N, S, E, W and
        then stand in either order.
    crs : str or None
        Coordinate system of eastings and northings.

    Returns
    -------
    ndarray, shape (n_points, 2)
        WGS 84 [deg].

    Raises
    ------
    FieldError
        A line is no place, or is one that the ground cannot have.
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > MOST_POINTS:
        msg = f"{len(lines)} points are too many; draw up to {MOST_POINTS}."
        raise FieldError(msg)
    places = [_read_place(line, crs) for line in lines]
    return np.array(places, dtype=np.float64).reshape(-1, 2)


def _read_place(line: str, crs: str | None) -> tuple[float, float]:
    parts = [part for part in _BETWEEN.split(line.strip()) if part]
    if len(parts) != 2:
        msg = f"“{line.strip()}” is no place: write two numbers, -121.50456, 46.05123."
        raise FieldError(msg)
    found = [_DEGREES.fullmatch(part) for part in parts]
    letters = "".join((one[1] or one[3]).upper() if one else "" for one in found)
    one, other = (
        parse_number(match[2] if match else part)
        for match, part in zip(found, parts, strict=True)
    )
    if letters:
        one, other = _by_letters(letters, one, other, line)
    if abs(one) <= 180.0 and abs(other) <= 90.0:
        return one, other
    if letters or crs is None:
        needs = "the ground has no map grid yet" if crs is None else "no such degrees"
        msg = f"“{line.strip()}” has no place on Earth: {needs}."
        raise FieldError(msg)
    longitude, latitude = GroundMap(crs).to_degrees(one, other)
    if not (np.isfinite(longitude) and np.isfinite(latitude)):
        msg = f"“{line.strip()}” lies outside of the map grid {crs}."
        raise FieldError(msg)
    return float(longitude), float(latitude)


def _by_letters(
    letters: str, one: float, other: float, line: str
) -> tuple[float, float]:
    """Return longitude and latitude of two degrees that carry letters."""
    if len(letters) != 2 or (letters[0] in "NS") == (letters[1] in "NS"):
        msg = f"“{line.strip()}” needs one of N or S, and one of E or W."
        raise FieldError(msg)
    signed = [
        -abs(value) if letter in "SW" else value
        for letter, value in zip(letters, (one, other), strict=True)
    ]
    return (signed[1], signed[0]) if letters[0] in "NS" else (signed[0], signed[1])


def geometry_of(sketch: Sketch, degrees: FloatArray) -> dict[str, Any]:
    """Return what was drawn as GeoJSON geometry (RFC 7946).

    Raises
    ------
    FieldError
        There are too few different points.
    """
    places = degrees.round(DEGREE_DECIMALS).tolist()
    kept = places[:1] + [at for was, at in pairwise(places) if at != was]
    if sketch.shape == "area" and len(kept) > 1 and kept[0] == kept[-1]:
        kept = kept[:-1]
    if len(kept) < sketch.least:
        msg = (
            f"{sketch.label} has {len(kept)} different points; it needs at least "
            f"{sketch.least}."
        )
        raise FieldError(msg)
    if sketch.shape == "point":
        return {"type": "Point", "coordinates": kept[0]}
    if sketch.shape == "line":
        return {"type": "LineString", "coordinates": kept}
    ring = np.array(kept)
    turn = ring[:, 0] @ np.roll(ring[:, 1], -1) - ring[:, 1] @ np.roll(ring[:, 0], -1)
    if turn < 0.0:
        kept = kept[::-1]
    return {"type": "Polygon", "coordinates": [[*kept, kept[0]]]}


def points_text(geometry: Mapping[str, Any], crs: str | None) -> str | None:
    """Return the points of a drawing as they are typed; None where it has parts."""
    places = geometry["coordinates"]
    rows: Sequence[Sequence[float]]
    if geometry["type"] == "Point":
        rows = [places]
    elif geometry["type"] == "LineString":
        rows = places
    elif geometry["type"] == "Polygon" and len(places) == 1:
        rows = places[0][:-1]
    else:
        return None
    return write_points(np.array([row[:2] for row in rows], dtype=np.float64), crs)


def write_points(degrees: FloatArray, crs: str | None) -> str:
    """Return places as a list: in the ground's grid where it has one."""
    if crs is None:
        return "\n".join(f"{x:.7f}, {y:.7f}" for x, y in degrees.tolist())
    east, north = GroundMap(crs).from_degrees(degrees[:, 0], degrees[:, 1])
    places = zip(east.tolist(), north.tolist(), strict=True)
    return "\n".join(f"{x:.2f}, {y:.2f}" for x, y in places)


def number_for(log: Log, role: str) -> int:
    """Return the number of a new feature; a ground has one centerline."""
    if role == "centerline":
        drawn = [one.number for one in log.features if one.role == role]
        if drawn:
            return drawn[0]
    return max((one.number for one in log.features), default=0) + 1


def flow_feature(line: Centerline, number: int, crs: str, *, turned: bool) -> Feature:
    """Return a centerline as a feature of the record.

    Parameters
    ----------
    line : Centerline
        As it was proposed.
    number : int
        Of the feature.
    crs : str
        The ground's coordinate system.
    turned : bool
        Whether the water runs the other way.
    """
    degrees = np.column_stack(
        GroundMap(crs).to_degrees(line.easting_m, line.northing_m)
    )
    places = degrees[::-1] if turned else degrees
    geometry = geometry_of(SKETCH_OF["centerline"], places)
    return Feature(number=number, role="centerline", geometry=geometry)


def turned_around(geometry: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line, or several, drawn from the other end."""
    places = geometry["coordinates"]
    if geometry["type"] == "MultiLineString":
        places = [part[::-1] for part in places[::-1]]
    else:
        places = places[::-1]
    return {**geometry, "coordinates": places}


def length_m(degrees: FloatArray, crs: str, *, closed: bool = False) -> float:
    """Return how long a line of places is, or the way around them [m]."""
    places = np.column_stack(GroundMap(crs).from_degrees(degrees[:, 0], degrees[:, 1]))
    if closed and len(places):
        places = np.vstack([places, places[:1]])
    return float(np.hypot(*np.diff(places, axis=0).T).sum())


#: Names of the eight directions, clockwise from north.
DIRECTIONS = (
    *("north", "northeast", "east", "southeast"),
    *("south", "southwest", "west", "northwest"),
)


def direction_words(line: Centerline) -> str:
    """Return where a line leads, from its first point to its last: "southeast"."""
    east = line.easting_m[-1] - line.easting_m[0]
    north = line.northing_m[-1] - line.northing_m[0]
    eighth = round(float(np.degrees(np.arctan2(east, north))) / 45.0) % 8
    return DIRECTIONS[eighth]
