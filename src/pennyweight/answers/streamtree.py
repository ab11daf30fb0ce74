"""The stream tree of a ground: from its elevation model, or from what was drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.errors import Finding
from pennyweight.progress import within
from pennyweight.terrain.drawnstreams import join_lines
from pennyweight.terrain.naming import DrawnLine, name_reaches
from pennyweight.terrain.routing import Routing, height_above_drainage, route_water
from pennyweight.terrain.snapping import snap_places
from pennyweight.terrain.streams import (
    Streams,
    default_least_area_m2,
    find_streams,
)
from pennyweight.terrain.valleyshape import (
    Creek,
    level_streams,
    main_stem,
    survey_creek,
)

FloatArray = npt.NDArray[np.float64]

#: How far a stream may run from a line that was drawn for it [m]. Our assumption.
ALONG_M = 20.0

#: How far around the upper end of a drawn feeder its channel is looked for [m].
HEAD_M = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamTree:
    """The streams of a ground and its own creek among them.

    Attributes
    ----------
    streams : Streams
        The tree (`terrain.streams`).
    creek : Creek or None
        The creek that the ground lies on; None without any line.
    reaches : ndarray of int
        Its reaches from the head down.
    routing : Routing or None
        How water runs; None without an elevation model.
    above_m : ndarray or None
        Height of every cell of the model above the nearest drainage [m].
    findings : tuple of Finding
        What is odd about it.
    assumptions : mapping
        What the program supplied.
    """

    streams: Streams
    creek: Creek | None
    reaches: npt.NDArray[np.int64]
    routing: Routing | None
    above_m: FloatArray | None
    findings: tuple[Finding, ...]
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def stream_tree(reading: Reading) -> StreamTree:
    """Return the stream tree of a reading, worked out once.

    Without an elevation model it is joined from the lines that were drawn, with
    heights from the digs where they have any.
    """
    return reading.once("streamtree", lambda: _make_tree(reading))


def drawn_lines(frame: Frame) -> tuple[DrawnLine, ...]:
    """Return the creek and the feeders that the user drew, the creek first.

    Without a drawn creek the centerline that was laid through the digs is taken.
    """
    lines = [
        DrawnLine(part, feature.name, feature.role == "centerline")
        for feature in frame.features
        if feature.role in {"centerline", "tributary"} and not feature.closed
        for part in feature.parts
        if len(part) > 1
    ]
    if not any(line.main for line in lines) and frame.centerline is not None:
        line = frame.centerline
        places = np.column_stack([line.easting_m, line.northing_m])
        lines.append(DrawnLine(places, None, main=True))
    return tuple(sorted(lines, key=lambda one: not one.main))


def _make_tree(reading: Reading) -> StreamTree:
    frame = frame_ground(reading)
    lines = drawn_lines(frame)
    if frame.elevation is None or not np.isfinite(frame.elevation.elevation_m).any():
        return _drawn_tree(frame, lines)
    # The first part of whatever is asked: the answers go on from there.
    routing = route_water(frame.elevation, within(reading.progress, 0.02, 0.1))
    feeders = [line.places[[0, -1]] for line in lines if not line.main]
    least_m2 = default_least_area_m2(routing)
    streams = find_streams(
        routing, least_area_m2=least_m2, heads=_heads(routing, feeders)
    )
    streams = _name(streams, lines, frame)
    drainage = np.zeros(routing.below.size, dtype=np.bool_)
    drainage[routing.cells(streams.easting_m, streams.northing_m)] = True
    reaches = _own_creek(streams, lines)
    streams = _only_feeders(streams, reaches, lines)
    return StreamTree(
        streams=streams,
        creek=survey_creek(streams, reaches, model=frame.elevation),
        reaches=reaches,
        routing=routing,
        above_m=height_above_drainage(routing, drainage.reshape(routing.shape)),
        findings=streams.findings,
        assumptions={"stream_head_m2": least_m2},
    )


def _drawn_tree(frame: Frame, lines: tuple[DrawnLine, ...]) -> StreamTree:
    """Return the tree of drawn lines, leveled by the digs near the creek."""
    streams = join_lines(lines)
    nothing = np.zeros(0, dtype=np.int64)
    if not streams.n_reaches:
        return StreamTree(
            streams=streams,
            creek=None,
            reaches=nothing,
            routing=None,
            above_m=None,
            findings=streams.findings,
        )
    reaches = _own_creek(streams, lines)
    chainage_m, level_m = _levels(frame, streams)
    levels = level_streams(streams, chainage_m, level_m)
    leveled = replace(streams, elevation_m=levels)
    return StreamTree(
        streams=leveled,
        creek=survey_creek(leveled, reaches),
        reaches=reaches,
        routing=None,
        above_m=None,
        findings=streams.findings,
    )


def _levels(frame: Frame, streams: Streams) -> tuple[FloatArray, FloatArray]:
    """Return the lowest surveyed dig of every line, and where on the creek it lies."""
    lowest = []
    for line in frame.lines:
        known = [
            frame.places[dig]
            for dig in line.digs
            if frame.places[dig].surface_m is not None
        ]
        if known:
            lowest.append(min(known, key=lambda place: place.surface_m or 0.0))
    east = [place.easting_m for place in lowest]
    north = [place.northing_m for place in lowest]
    snaps = snap_places(streams, east, north)
    levels = np.array([place.surface_m for place in lowest], dtype=np.float64)
    return snaps.chainage_m, levels


def _heads(routing: Routing, feeders: list[FloatArray]) -> FloatArray:
    """Return the best channel cell around the upper end of each drawn feeder."""
    heads = []
    reach = max(int(np.ceil(HEAD_M / routing.model.cell_m)), 1)
    rows, columns = routing.shape
    for ends in feeders:
        cells = routing.cells(ends[:, 0], ends[:, 1])
        if np.any(cells < 0):
            continue
        # The higher of the two ends, however it was drawn.
        cell = int(cells[np.argmax(routing.filled_m.ravel()[cells])])
        row, column = divmod(cell, columns)
        window = np.s_[
            max(row - reach, 0) : min(row + reach + 1, rows),
            max(column - reach, 0) : min(column + reach + 1, columns),
        ]
        area = np.nan_to_num(routing.catchment_m2[window], nan=-1.0)
        down, right = np.unravel_index(int(np.argmax(area)), area.shape)
        best = (window[0].start + down) * columns + window[1].start + right
        heads.append(np.column_stack(routing.places(np.array([best])))[0])
    return np.array(heads).reshape(-1, 2)


def _name(streams: Streams, lines: tuple[DrawnLine, ...], frame: Frame) -> Streams:
    """Name the reaches; a drawn water line names the creek better than a valley."""
    waters = [
        DrawnLine(part, feature.name, main=True)
        for feature in frame.features
        if feature.role == "water" and not feature.closed and feature.name
        for part in feature.parts
        if len(part) > 1
    ]
    cell_m = frame.elevation.cell_m if frame.elevation is not None else 0.0
    drawn = (*waters, *(line for line in lines if line.name))
    return name_reaches(streams, drawn, within_m=max(ALONG_M, 2.0 * cell_m))


def _only_feeders(
    streams: Streams, reaches: npt.NDArray[np.int64], lines: tuple[DrawnLine, ...]
) -> Streams:
    """Leave other reaches only the names of feeders; rills beside it are not it."""
    feeders = {line.name for line in lines if not line.main}
    own = set(reaches.tolist())
    names = tuple(
        name if number in own or name in feeders else None
        for number, name in enumerate(streams.name)
    )
    return replace(streams, name=names)


def _own_creek(streams: Streams, lines: tuple[DrawnLine, ...]) -> npt.NDArray[np.int64]:
    """Return the reaches of the creek that the main lines follow."""
    mains = [line.places for line in lines if line.main]
    if not mains:
        return main_stem(streams)
    places = np.vstack([_evenly(part) for part in mains])
    snaps = snap_places(streams, places[:, 0], places[:, 1], farthest_m=3.0 * ALONG_M)
    on = snaps.reach[snaps.reach >= 0]
    if not len(on):
        return main_stem(streams)
    counts = np.bincount(on, minlength=streams.n_reaches)
    along = counts > 0
    # The lowest reach that a fair part of the line lies on; from there up along it.
    fair = np.flatnonzero(counts >= max(0.05 * len(on), 1))
    through = int(fair[np.argmin(streams.foot_m[fair])])
    return main_stem(streams, through, along=along)


def _evenly(places: FloatArray) -> FloatArray:
    """Return a line in two hundred even steps."""
    steps = np.hypot(*np.diff(places, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, along[-1], 200)
    return np.column_stack([np.interp(at, along, part) for part in places.T])
