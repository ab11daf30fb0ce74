"""`ground.geojson`: lines and areas drawn on the ground, RFC 7946.

Positions are longitude and latitude, WGS 84, and are kept as handed in.

References
----------
Butler et al. 2016, The GeoJSON Format, RFC 7946, sections 3 and 4; docs/sources.md,
entry "RFC 7946".
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pennyweight.errors import Finding, Refusal, RefusedError
from pennyweight.exchange.jsontext import from_text, to_text
from pennyweight.exchange.tables import decode_text
from pennyweight.records import Feature

FILE = "ground.geojson"
ROLES = ("centerline", "boundary", "tributary", "water", "worked", "note")
#: How deep the positions of a geometry type lie.
_DEPTH = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}


@dataclass(frozen=True, slots=True)
class FeaturesRead:
    """What a GeoJSON file holds.

    Attributes
    ----------
    features : tuple of Feature
        In file order.
    refusals : tuple of Refusal
        Features that cannot be drawn.
    doubts : tuple of Finding
        What was taken and looks odd.
    """

    features: tuple[Feature, ...]
    refusals: tuple[Refusal, ...]
    doubts: tuple[Finding, ...]


def read_features(content: bytes, file: str = FILE) -> FeaturesRead:
    """Return the features of a GeoJSON file.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.

    Raises
    ------
    RefusedError
        It is no JSON, no GeoJSON, or names another coordinate system.
    """
    text = decode_text(content, file)
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as wrong:
        row = getattr(wrong, "lineno", None)
        expected = "GeoJSON text (RFC 7946)"
        raise RefusedError([Refusal(file, row, None, str(wrong), expected)]) from wrong
    features: list[Feature] = []
    refusals: list[Refusal] = []
    doubts: list[Finding] = []
    for number, one in enumerate(_members(data, file), 1):
        where = f"feature {number}"
        try:
            feature = _feature(one, len(features) + 1)
        except ValueError as wrong:
            found, expected = wrong.args
            refusals.append(Refusal(file, None, where, found, expected))
            continue
        features.append(feature)
        if "role" not in (one.get("properties") or {}):
            doubts.append(
                Finding(
                    where=f"{file}, {where}",
                    problem="it has no role and was taken as a note",
                    remedy=f"Give it a property role: {', '.join(ROLES)}.",
                    weight="doubt",
                )
            )
    return FeaturesRead(tuple(features), tuple(refusals), tuple(doubts))


def _members(data: Any, file: str) -> list[Any]:
    """Return the features of a collection, or a lone one."""
    kind = data.get("type") if isinstance(data, Mapping) else None
    if kind == "Feature":
        members: Any = [data]
    elif kind == "FeatureCollection":
        members = data.get("features")
    else:
        members = None
    if not isinstance(members, list):
        found = f"type {kind!r}"
        expected = "a FeatureCollection with a list of features (RFC 7946)"
        raise RefusedError([Refusal(file, None, None, found, expected)])
    named = data.get("crs")
    if named is not None and "CRS84" not in json.dumps(named):
        found = f"crs {json.dumps(named)[:80]}"
        expected = "longitude and latitude in WGS 84 without a crs (RFC 7946 part 4)"
        raise RefusedError([Refusal(file, None, "crs", found, expected)])
    return members


def _feature(data: Any, number: int) -> Feature:
    """Return one feature; ValueError carries (found, expected)."""
    if not isinstance(data, Mapping) or data.get("type") != "Feature":
        raise ValueError(_short(data), "an object of type Feature")
    properties = data.get("properties")
    if properties is None:
        properties = {}
    if not hasattr(properties, "items"):
        raise ValueError(_short(properties), "properties that are an object or null")
    role = properties.get("role", "note")
    if role not in ROLES:
        raise ValueError(_short(role), f"a role of {', '.join(ROLES)}")
    name = properties.get("name")
    if name is not None and not isinstance(name, str):
        raise ValueError(_short(name), "a name that is a text")
    geometry: Any = data.get("geometry")
    check_geometry(geometry)
    rest = {key: value for key, value in properties.items() if key not in _KNOWN}
    told = data.get("number")
    if isinstance(told, int) and not isinstance(told, bool) and told > number:
        # A log that was written after features were taken out says their numbers.
        number = told
    return Feature(
        number=number,
        role=role,
        name=name,
        geometry=geometry,
        typed={"id": to_text(data["id"])} if "id" in data else {},
        extra={key: to_text(value) for key, value in rest.items()},
    )


_KNOWN = {"role", "name"}


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 80 else f"{text[:77]}..."


def check_geometry(geometry: Any) -> None:
    """Check that a geometry can be drawn on the globe.

    Parameters
    ----------
    geometry : object
        A GeoJSON geometry.

    Raises
    ------
    ValueError
        It cannot; the error carries two texts, what was found and what is expected.
    """
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    if kind == "GeometryCollection":
        members = geometry.get("geometries")
        if not isinstance(members, list) or not members:
            raise ValueError(_short(geometry), "a collection with geometries in it")
        for member in members:
            check_geometry(member)
        return
    if kind not in _DEPTH:
        raise ValueError(_short(geometry), f"a geometry of type {', '.join(_DEPTH)}")
    parts = _parts(geometry.get("coordinates"), _DEPTH[kind])
    least = {"LineString": 2, "MultiLineString": 2, "Polygon": 4, "MultiPolygon": 4}
    for part in parts:
        if len(part) < least.get(kind, 1):
            found = f"{len(part)} positions"
            raise ValueError(found, f"{least.get(kind, 1)} positions or more in {kind}")
        if kind.endswith("Polygon") and part[0] != part[-1]:
            found = f"a ring from {part[0]} to {part[-1]}"
            raise ValueError(found, "rings whose last position repeats the first")


def _parts(coordinates: Any, depth: int) -> Iterator[list[Any]]:
    """Return the rows of positions, each position checked."""
    if not isinstance(coordinates, list) or (depth and not coordinates):
        raise ValueError(_short(coordinates), "coordinates that are lists of numbers")
    if depth > 1:
        for part in coordinates:
            yield from _parts(part, depth - 1)
        return
    row = coordinates if depth else [coordinates]
    for position in row:
        _check_position(position)
    yield row


def _check_position(position: Any) -> None:
    is_numbers = isinstance(position, list) and all(
        isinstance(one, (int, float)) and not isinstance(one, bool) for one in position
    )
    if not is_numbers or not 2 <= len(position) <= 4:
        raise ValueError(_short(position), "a position [longitude, latitude]")
    if not all(math.isfinite(one) for one in position):
        raise ValueError(_short(position), "a position of finite numbers")
    if abs(position[0]) > 180.0 or abs(position[1]) > 90.0:
        raise ValueError(
            _short(position),
            "longitude within 180 and latitude within 90 degrees, WGS 84; save the "
            "file in EPSG:4326 if these are map grid meters",
        )


def write_features(features: Iterable[Feature]) -> bytes:
    """Return the GeoJSON file of features, as they were handed in."""
    members = []
    for at, feature in enumerate(features, 1):
        member: dict[str, Any] = {"type": "Feature"}
        if feature.number != at:
            member["number"] = feature.number
        if "id" in feature.typed:
            member["id"] = from_text(feature.typed["id"])
        properties: dict[str, Any] = {"role": feature.role}
        if feature.name is not None:
            properties["name"] = feature.name
        properties |= {key: from_text(text) for key, text in feature.extra.items()}
        member |= {"properties": properties, "geometry": feature.geometry}
        members.append(member)
    return dump_collection(members)


def dump_collection(members: Sequence[Mapping[str, Any]]) -> bytes:
    """Return a feature collection as text, one feature a line."""
    lines = ",\n".join(
        json.dumps(member, ensure_ascii=False, allow_nan=False) for member in members
    )
    text = f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'
    return text.encode()


def places_of(geometry: Mapping[str, Any]) -> Iterator[tuple[float, float]]:
    """Return every position of a geometry: longitude, latitude [deg]."""
    if geometry["type"] == "GeometryCollection":
        for member in geometry["geometries"]:
            yield from places_of(member)
        return
    for part in _parts(geometry["coordinates"], _DEPTH[geometry["type"]]):
        for position in part:
            yield float(position[0]), float(position[1])
