"""The streams of a ground: from what was drawn, or from the elevation model.

Digs are brought onto the nearest stream, with the distance shown. Where that is wrong,
the user says by name which stream a dig belongs to, or that it belongs to none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.errors import Finding
from pennyweight.records import Dig, Log
from pennyweight.terrain.drawnstreams import join_lines
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.naming import DrawnLine, name_reaches
from pennyweight.terrain.snapping import Snaps, snap_places
from pennyweight.terrain.streams import Streams, find_streams

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: A dig farther from every stream than this lies on none [m]; our assumption.
SNAP_M = 60.0
#: A drawn line that leaves the elevation model by more than this share is not followed
#: there [-].
OUTSIDE_SHARE = 0.1
#: Column of digs.csv by which a dig is given to a stream, and the word for none.
STREAM_COLUMN, NO_STREAM = "stream", "none"
#: Kinds of digs that lie off the water: what they hold did not come down it lately.
DRY_KINDS = ("bench",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """One stream: reaches in a row, from its mouth up to its head.

    Attributes
    ----------
    id : str
        S1 is the main one.
    name : str
        The user's name, or one by its order: "feeder 3".
    reaches : tuple of int
        From the mouth up.
    into : int
        Number of the stream that it flows into; -1 where the water leaves.
    side : str
        left or right of that one, looking downstream; empty for a main one.
    """

    id: str
    name: str
    reaches: tuple[int, ...]
    into: int
    side: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedOnWater:
    """A dig brought onto the streams.

    Attributes
    ----------
    dig : str
        Its name.
    easting_m, northing_m : float
        Where it was dug [m].
    stream : int
        Number of its stream; -1 where it lies on none.
    reach : int
        Number of its reach; -1 where it lies on none.
    chainage_m : float
        Way along the water to where it leaves [m].
    distance_m : float
        How far it was moved [m].
    said : bool
        Whether the user said which stream it belongs to.
    """

    dig: str
    easting_m: float
    northing_m: float
    stream: int
    reach: int
    chainage_m: float
    distance_m: float
    said: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Waters:
    """The streams of a ground, and its digs on them.

    Attributes
    ----------
    streams : Streams or None
        None where nothing tells where water runs.
    rows : tuple of Stream
        The main one first, then as they come on the way up.
    stream_of : ndarray of int, shape (n_reaches,)
        Number of the stream of each reach.
    digs : mapping
        Dig to its place; digs without a position, and dry ones, are left out.
    findings : tuple of Finding
        What is odd.
    basis : str
        drawn, elevation, or digs (the line through them).
    """

    streams: Streams | None
    rows: tuple[Stream, ...]
    stream_of: IndexArray
    digs: Mapping[str, PlacedOnWater]
    findings: tuple[Finding, ...]
    basis: str


def find_waters(reading: Reading) -> Waters:
    """Return the streams of a reading, worked out once."""
    return reading.once("waters", lambda: _find(reading))


def _find(reading: Reading) -> Waters:
    frame, log = frame_ground(reading), reading.log
    lines = drawn_lines(frame)
    streams, basis = _streams(frame, lines)
    if streams is None:
        nothing = np.zeros(0, dtype=np.int64)
        return Waters(
            streams=None, rows=(), stream_of=nothing, digs={}, findings=(), basis=""
        )
    rows, stream_of = name_streams(streams)
    digs, findings = _place_digs(log, streams, rows, stream_of)
    return Waters(
        streams=streams,
        rows=rows,
        stream_of=stream_of,
        digs=digs,
        findings=(*streams.findings, *findings),
        basis=basis,
    )


def drawn_lines(frame: Frame) -> list[DrawnLine]:
    """Return the creek and its tributaries as they were drawn."""
    found = []
    for feature in frame.features:
        if feature.role not in {"centerline", "tributary"} or feature.closed:
            continue
        main = feature.role == "centerline"
        found += [
            DrawnLine(part, feature.name if not main else None, main)
            for part in feature.parts
            if len(part) > 1
        ]
    return found


def _streams(frame: Frame, lines: list[DrawnLine]) -> tuple[Streams | None, str]:
    """Return the stream tree, and what it rests on."""
    tributaries = [line for line in lines if not line.main]
    if frame.elevation is not None and _covers(frame.elevation, lines):
        found = _from_elevation(frame.elevation, tributaries)
        if found is not None and _holds_heads(found, lines):
            near_m = max(SNAP_M / 2.0, 2.0 * frame.elevation.cell_m)
            named = name_reaches(found, lines, within_m=near_m)
            if not tributaries or any(named.name):
                return named, "elevation"
    if lines:
        return join_lines(_with_main(lines, frame)), "drawn"
    if frame.centerline is not None:
        return join_lines(_with_main([], frame)), "digs"
    return None, ""


def _with_main(lines: list[DrawnLine], frame: Frame) -> list[DrawnLine]:
    """Return the lines with the creek that runs past the digs among them."""
    if any(line.main for line in lines) or frame.centerline is None:
        return lines
    line = frame.centerline
    along = np.linspace(0.0, line.length_m, max(int(line.length_m / 10.0), 2))
    east, north = line.to_map(along, np.zeros_like(along))
    return [DrawnLine(np.column_stack([east, north]), None, main=True), *lines]


def _covers(model: ElevationModel, lines: list[DrawnLine]) -> bool:
    """Tell whether nearly all that was drawn lies on the elevation model."""
    west, east, south, north = model.region
    if not lines:
        return True
    place = np.concatenate([line.places for line in lines])
    inside = (place[:, 0] >= west) & (place[:, 0] <= east)
    inside &= (place[:, 1] >= south) & (place[:, 1] <= north)
    return float(inside.mean()) >= 1.0 - OUTSIDE_SHARE


def _holds_heads(streams: Streams, lines: list[DrawnLine]) -> bool:
    """Tell whether the surface holds the ground above what was drawn, or most of it.

    A surface of the digs alone cuts the creek off: it knows none of its catchment.
    """
    if not lines:
        return float(streams.cut_off.mean()) < 0.5
    ends = np.array([line.places[0] for line in lines])
    snaps = snap_places(streams, ends[:, 0], ends[:, 1])
    return not bool(streams.cut_off[snaps.reach[snaps.reach >= 0]].any())


def _from_elevation(
    model: ElevationModel, tributaries: list[DrawnLine]
) -> Streams | None:
    """Return the streams of a surface, those that were drawn among them."""
    from pennyweight.terrain.routing import route_water  # noqa: PLC0415 - numba

    ends = [line.places[at] for line in tributaries for at in (0, -1)]
    try:
        return find_streams(route_water(model), heads=np.array(ends) if ends else None)
    except ValueError:
        # A surface too small or too flat for any stream tells nothing of water.
        return None


def name_streams(streams: Streams) -> tuple[tuple[Stream, ...], IndexArray]:
    """Return the streams that reaches make up: the larger feeder goes on as the same.

    A name goes before size. Unnamed ones are numbered on the way up.
    """
    size = _size_above(streams)
    goes_on = _going_on(streams, size)
    stream_of = np.full(streams.n_reaches, -1, dtype=np.int64)
    rows: list[Stream] = []
    roots = [one for one in streams.seq.tolist() if streams.downstream[one] < 0]
    starts = sorted(roots, key=lambda one: -size[one])
    starts += [
        one
        for one in streams.seq.tolist()
        if streams.downstream[one] >= 0 and goes_on[streams.downstream[one]] != one
    ]
    unnamed = 0
    for start in starts:
        reaches = [start]
        while goes_on[reaches[-1]] >= 0:
            reaches.append(int(goes_on[reaches[-1]]))
        below = int(streams.downstream[start])
        given = next((streams.name[one] for one in reaches if streams.name[one]), None)
        if given is None and below >= 0:
            unnamed += 1
        usual = "the creek" if not rows else f"creek {len(rows) + 1}"
        rows.append(
            Stream(
                id=f"S{len(rows) + 1}",
                name=given or (usual if below < 0 else f"feeder {unnamed}"),
                reaches=tuple(reaches),
                into=-1 if below < 0 else below,
                side="" if below < 0 else _side(streams, start, below),
            )
        )
        stream_of[reaches] = len(rows) - 1
    return tuple(
        replace(row, into=-1 if row.into < 0 else int(stream_of[row.into]))
        for row in rows
    ), stream_of


def _size_above(streams: Streams) -> FloatArray:
    """Return catchment, or length of all water above where none is known."""
    if np.isfinite(streams.area_m2).all():
        return streams.area_m2
    size = streams.length_m.copy()
    for reach in streams.seq[::-1].tolist():
        if streams.downstream[reach] >= 0:
            size[streams.downstream[reach]] += size[reach]
    return np.asarray(size)


def _going_on(streams: Streams, size: FloatArray) -> IndexArray:
    """Return the feeder of each reach that is the same stream; -1 at a head."""
    best = np.full(streams.n_reaches, -1, dtype=np.int64)
    for reach in streams.seq[::-1].tolist():
        below = int(streams.downstream[reach])
        if below < 0:
            continue
        rival = int(best[below])
        if rival < 0 or _rank(streams, size, reach, below) > _rank(
            streams, size, rival, below
        ):
            best[below] = reach
    return best


def _rank(
    streams: Streams, size: FloatArray, reach: int, below: int
) -> tuple[bool, float]:
    return streams.name[reach] == streams.name[below], float(size[reach])


def _side(streams: Streams, reach: int, below: int) -> str:
    """Return the bank at which a reach flows in, looking downstream."""
    feeder, water = streams.line(reach), streams.line(below)
    if len(feeder) < 2 or len(water) < 2:
        return ""
    back = feeder[max(len(feeder) - 6, 0)] - water[0]
    ahead = water[min(5, len(water) - 1)] - water[0]
    return "left" if ahead[0] * back[1] - ahead[1] * back[0] > 0.0 else "right"


def _place_digs(
    log: Log, streams: Streams, rows: tuple[Stream, ...], stream_of: IndexArray
) -> tuple[dict[str, PlacedOnWater], list[Finding]]:
    """Bring the digs onto the streams; say which lie off them."""
    digs = [
        dig
        for dig in log.digs
        if dig.easting_m is not None
        and dig.northing_m is not None
        and dig.kind not in DRY_KINDS
    ]
    east = np.array([dig.easting_m for dig in digs], dtype=np.float64)
    north = np.array([dig.northing_m for dig in digs], dtype=np.float64)
    snaps = snap_places(streams, east, north, farthest_m=SNAP_M)
    placed: dict[str, PlacedOnWater] = {}
    findings = []
    for at, dig in enumerate(digs):
        place = _placed(dig, snaps, at, stream_of)
        said = dig.extra.get(STREAM_COLUMN, "").strip()
        if said:
            place, finding = _as_said(dig, said, streams, rows=rows, guess=place)
            findings += finding
        placed[dig.dig] = place
    _keep_lines_together(digs, placed, streams, rows=rows)
    findings += [
        _off_stream(one) for one in placed.values() if one.stream < 0 and not one.said
    ]
    return placed, findings


def _keep_lines_together(
    digs: list[Dig],
    placed: dict[str, PlacedOnWater],
    streams: Streams,
    *,
    rows: tuple[Stream, ...],
) -> None:
    """Bring the digs of a trench line onto the stream that most of them are nearest.

    A line crosses one valley; where a feeder comes in beside it some of its digs lie
    nearer to that.
    """
    lines: dict[str, list[PlacedOnWater]] = {}
    for dig in digs:
        one = placed[dig.dig]
        if dig.line and one.stream >= 0 and not one.said:
            lines.setdefault(dig.line, []).append(one)
    for own in lines.values():
        count = np.bincount([one.stream for one in own])
        # Of equals the first wins: the main creek comes before its feeders.
        stream = int(np.argmax(count))
        onto = np.zeros(streams.n_reaches, dtype=np.bool_)
        onto[list(rows[stream].reaches)] = True
        for one in own:
            if one.stream != stream:
                placed[one.dig] = _moved_onto(one, streams, onto, stream=stream)


def _moved_onto(
    place: PlacedOnWater,
    streams: Streams,
    onto: npt.NDArray[np.bool_],
    *,
    stream: int,
) -> PlacedOnWater:
    """Return a dig on the nearest water of some reaches."""
    snaps = snap_places(streams, [place.easting_m], [place.northing_m], onto=onto)
    return replace(
        place,
        stream=stream,
        reach=int(snaps.reach[0]),
        chainage_m=float(snaps.chainage_m[0]),
        distance_m=float(snaps.distance_m[0]),
    )


def _placed(dig: Dig, snaps: Snaps, at: int, stream_of: IndexArray) -> PlacedOnWater:
    reach = int(snaps.reach[at])
    return PlacedOnWater(
        dig=dig.dig,
        easting_m=float(dig.easting_m or 0.0),
        northing_m=float(dig.northing_m or 0.0),
        stream=-1 if reach < 0 else int(stream_of[reach]),
        reach=reach,
        chainage_m=float(snaps.chainage_m[at]),
        distance_m=float(snaps.distance_m[at]),
        said=False,
    )


def _as_said(
    dig: Dig,
    said: str,
    streams: Streams,
    *,
    rows: tuple[Stream, ...],
    guess: PlacedOnWater,
) -> tuple[PlacedOnWater, list[Finding]]:
    """Return where a dig lies on the stream that the user named."""
    if said.lower() == NO_STREAM:
        return replace(guess, stream=-1, reach=-1, said=True), []
    wanted = said.lower()
    number = next(
        (
            n
            for n, row in enumerate(rows)
            if wanted in (row.id.lower(), row.name.lower())
        ),
        None,
    )
    if number is None:
        finding = Finding(
            where=f"dig {dig.dig}",
            problem=f"it is said to belong to the stream {said!r}, and there is none",
            remedy=f"Use one of these names, or {NO_STREAM}.",
            weight="doubt",
        )
        return guess, [finding]
    onto = np.zeros(streams.n_reaches, dtype=np.bool_)
    onto[list(rows[number].reaches)] = True
    return replace(_moved_onto(guess, streams, onto, stream=number), said=True), []


def _off_stream(place: PlacedOnWater) -> Finding:
    return Finding(
        where=f"dig {place.dig}",
        problem=(
            f"it lies {place.distance_m:.0f} m from the nearest stream and does not "
            "enter the search for the source"
        ),
        remedy=(
            "Say which stream it belongs to, draw that stream, or mend its position."
        ),
        weight="note",
    )
