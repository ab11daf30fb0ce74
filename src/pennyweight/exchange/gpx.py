"""GPX files of receivers and phones: waypoints in, points and lines out.

A waypoint named like a dig gives or checks its position. Vendors' extensions are
let be; documents with entities of their own are refused before they are parsed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.parsers import expat

import gpxpy
from gpxpy.gpx import GPXException, GPXWaypoint

from pennyweight.errors import Finding, Refusal, RefusedError
from pennyweight.records import Waypoint

NAMESPACE = "http://www.topografix.com/GPX/1/1"
EXPECTED = "a GPX file as receivers write it; save it again from the receiver"
#: Letters that XML 1.0 cannot hold, tab and line ends aside.
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
#: Tags of a waypoint that are kept as they are, in the order of the schema.
_KEPT = ("cmt", "src", "sym", "type")
#: No place on the ground lies outside of these [m]; else the height is not known.
LOWEST_M, HIGHEST_M = -500.0, 9000.0


@dataclass(frozen=True, slots=True)
class GpxRead:
    """What a GPX file holds.

    Attributes
    ----------
    waypoints : tuple of Waypoint
        Those with a possible place.
    tracks, routes : int
        How many lines it holds besides.
    refusals : tuple of Refusal
        Waypoints that are nowhere on the globe.
    doubts : tuple of Finding
        What was taken and looks odd.
    """

    waypoints: tuple[Waypoint, ...]
    tracks: int
    routes: int
    refusals: tuple[Refusal, ...]
    doubts: tuple[Finding, ...]


def read_gpx(content: bytes, file: str) -> GpxRead:
    """Return the waypoints of a GPX file, and how many lines it holds.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals and for waypoints without a name.

    Raises
    ------
    RefusedError
        It is no well-formed XML, declares entities, or is no GPX.
    """
    rows = _check_xml(content, file)
    try:
        found = gpxpy.parse(content)
    except (GPXException, ValueError, LookupError) as wrong:
        raise _refused(file, None, str(wrong)) from wrong
    stem = file.rsplit(".", 1)[0]
    waypoints: dict[str, Waypoint] = {}
    refusals: list[Refusal] = []
    doubts: list[Finding] = []
    for at, point in enumerate(found.waypoints):
        waypoint = _waypoint(point, f"{stem} {at + 1}")
        row = rows[at] if at < len(rows) else None
        if refusal := _impossible(waypoint, file, row):
            refusals.append(refusal)
        elif (before := waypoints.get(waypoint.name)) is None:
            waypoints[waypoint.name] = waypoint
        elif (before.longitude, before.latitude) != (
            waypoint.longitude,
            waypoint.latitude,
        ):
            doubts.append(_twice(file, waypoint.name))
    if found.routes and not (waypoints or found.tracks):
        doubts.append(
            Finding(
                where=file,
                problem="it holds only routes, which give no dig a position",
                remedy="Save the waypoints from the receiver if digs are meant.",
                weight="note",
            )
        )
    return GpxRead(
        tuple(waypoints.values()),
        len(found.tracks),
        len(found.routes),
        tuple(refusals),
        tuple(doubts),
    )


def _refused(file: str, row: int | None, found: str) -> RefusedError:
    return RefusedError([Refusal(file, row, None, found, EXPECTED)])


def _check_xml(content: bytes, file: str) -> list[int]:
    """Return the lines at which waypoints begin, if the XML is sound and harmless."""
    parser = expat.ParserCreate(namespace_separator=" ")
    rows: list[int] = []
    begun: list[str] = []

    def refuse_entities(name: str, *_rest: object) -> None:
        found = f"a document type declaration ({name})"
        raise _refused(file, parser.CurrentLineNumber, found)

    def note_waypoint(tag: str, _attributes: object) -> None:
        if not begun:
            begun.append(tag)
            if tag.rpartition(" ")[2] != "gpx":
                found = f"a file whose first element is {tag.rpartition(' ')[2]}"
                raise _refused(file, parser.CurrentLineNumber, found)
        if tag.rpartition(" ")[2] == "wpt":
            rows.append(parser.CurrentLineNumber)

    parser.StartDoctypeDeclHandler = refuse_entities
    parser.StartElementHandler = note_waypoint
    try:
        parser.Parse(content, True)
    except (expat.ExpatError, ValueError, LookupError) as wrong:
        raise _refused(file, parser.ErrorLineNumber, str(wrong)) from wrong
    return rows


def _waypoint(point: GPXWaypoint, unnamed: str) -> Waypoint:
    """Return one waypoint of the file as a record."""
    texts = {tag: str(getattr(point, _ATTRIBUTE[tag]) or "").strip() for tag in _KEPT}
    note = str(point.description or "").strip() or texts.pop("cmt")
    return Waypoint(
        name=str(point.name or "").strip() or unnamed,
        longitude=float(point.longitude),
        latitude=float(point.latitude),
        elevation_m=_height(point.elevation),
        time=None if point.time is None else point.time.isoformat(),
        note=note or None,
        extra={tag: text for tag, text in texts.items() if text},
    )


def _height(told: float | None) -> float | None:
    """Return a height that the Earth has; receivers write others for none."""
    height_m = math.nan if told is None else float(told)
    return height_m if LOWEST_M <= height_m <= HIGHEST_M else None


_ATTRIBUTE = {"cmt": "comment", "src": "source", "sym": "symbol", "type": "type"}


def _impossible(waypoint: Waypoint, file: str, row: int | None) -> Refusal | None:
    """Refuse a waypoint that is nowhere on the globe."""
    for column, value, limit in (
        ("lat", waypoint.latitude, 90.0),
        ("lon", waypoint.longitude, 180.0),
    ):
        if not (math.isfinite(value) and abs(value) <= limit):
            found = f"{value} at waypoint {waypoint.name}"
            expected = f"a number between -{limit:.0f} and {limit:.0f}"
            return Refusal(file, row, column, found, expected)
    return None


def _twice(file: str, name: str) -> Finding:
    return Finding(
        where=f"{file}, waypoint {name}",
        problem="the name stands there twice with two places; the first was taken",
        remedy="Rename one of them in the receiver and take the file in again.",
        weight="doubt",
    )


def merge_waypoints(
    parts: Iterable[tuple[str, Sequence[Waypoint]]],
) -> tuple[tuple[Waypoint, ...], tuple[Finding, ...]]:
    """Return the waypoints of several files, each name once.

    Parameters
    ----------
    parts : iterable of (str, sequence of Waypoint)
        File name and its waypoints.
    """
    found: dict[str, Waypoint] = {}
    doubts: list[Finding] = []
    for file, waypoints in parts:
        for waypoint in waypoints:
            before = found.setdefault(waypoint.name, waypoint)
            if (before.longitude, before.latitude) != (
                waypoint.longitude,
                waypoint.latitude,
            ):
                doubts.append(_twice(file, waypoint.name))
    return tuple(found.values()), tuple(doubts)


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A named line on the globe, for a track.

    Attributes
    ----------
    name, note : str
        Shown by the receiver.
    places : tuple of (float, float)
        Longitude and latitude, WGS 84 [deg].
    """

    name: str
    note: str
    places: tuple[tuple[float, float], ...]


def write_gpx(waypoints: Iterable[Waypoint], lines: Iterable[DrawnLine] = ()) -> bytes:
    """Return a GPX 1.1 file of waypoints and tracks.

    Parameters
    ----------
    waypoints : iterable of Waypoint
        Points; letters that XML cannot hold are left out.
    lines : iterable of DrawnLine
        Written as tracks of one segment.
    """
    root = ElementTree.Element(
        "gpx", {"xmlns": NAMESPACE, "version": "1.1", "creator": "pennyweight"}
    )
    for waypoint in waypoints:
        _write_waypoint(root, waypoint)
    for line in lines:
        track = ElementTree.SubElement(root, "trk")
        _write_text(track, "name", line.name)
        _write_text(track, "desc", line.note)
        segment = ElementTree.SubElement(track, "trkseg")
        for longitude, latitude in line.places:
            place = {"lat": repr(latitude), "lon": repr(longitude)}
            ElementTree.SubElement(segment, "trkpt", place)
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _write_waypoint(root: ElementTree.Element, waypoint: Waypoint) -> None:
    place = {"lat": repr(waypoint.latitude), "lon": repr(waypoint.longitude)}
    point = ElementTree.SubElement(root, "wpt", place)
    if waypoint.elevation_m is not None:
        _write_text(point, "ele", repr(waypoint.elevation_m))
    _write_text(point, "time", waypoint.time or "")
    _write_text(point, "name", waypoint.name)
    texts = {"desc": waypoint.note or "", **waypoint.extra}
    for tag in ("cmt", "desc", "src", "sym", "type"):
        _write_text(point, tag, texts.get(tag, ""))


def _write_text(parent: ElementTree.Element, tag: str, text: str) -> None:
    if text:
        ElementTree.SubElement(parent, tag).text = without_control_letters(text)


def without_control_letters(text: str) -> str:
    """Return a text without the letters that XML 1.0 cannot hold."""
    return _NOT_XML.sub("", text)
