"""The frame of every answer: centerline, places of the digs, lines downstream."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from pennyweight.answers.mapping import NAME_A_GRID, GroundMap
from pennyweight.answers.reading import Reading
from pennyweight.errors import Finding
from pennyweight.records import Dig, Log
from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.terrain.surfacedoubts import find_surface_doubts
from pennyweight.valley.coordinates import Centerline, propose_centerline

FloatArray = npt.NDArray[np.float64]

#: Digs without a line whose places along the valley differ by less belong together
#: [m]. Our assumption.
GROUP_GAP_M = 5.0

#: A ground smaller than this with no line named is one line [m]. Our assumption.
ONE_LINE_M = 20.0

#: Lengths over which a centerline is smoothed, one after the other, until it folds
#: nowhere over the digs [m]. Our assumption.
SMOOTH_OVER_M = (5.0, 10.0, 20.0, 40.0)

#: Half-width of valley within which a bend may not fold: to the outermost dig, but
#: between these [m]. Our assumption.
LEAST_HALF_WIDTH_M, MOST_HALF_WIDTH_M = 5.0, 60.0

#: Ground around the digs of which an elevation model keeps every cell [m]. Ours.
AROUND_M = 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineOfDigs:
    """A trench line: its digs from the left of the valley to the right."""

    line: str
    s_m: float
    digs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedFeature:
    """A drawn line or area in the ground's own coordinates.

    `parts` holds one array of (easting_m, northing_m) rows for each line or ring.
    """

    role: str
    name: str | None
    closed: bool
    parts: tuple[FloatArray, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a dig lies on the map and in the valley [m]."""

    easting_m: float
    northing_m: float
    s_m: float
    n_m: float
    surface_m: float | None
    line: str
    """The line that it is read with; a made-up one where the user named none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What every answer is laid out on.

    Attributes
    ----------
    map : GroundMap
        The ground's coordinate system.
    centerline : Centerline or None
        None when no dig has a position and none was drawn.
    places : mapping
        Dig name to its place; digs without a position are left out.
    lines : tuple of LineOfDigs
        Downstream; lines that the program put together from unnamed digs included.
    features : tuple of PlacedFeature
        All that was drawn.
    elevation : ElevationModel or None
        The attached elevation models as one.
    """

    map: GroundMap
    centerline: Centerline | None
    places: Mapping[str, Place]
    lines: tuple[LineOfDigs, ...]
    features: tuple[PlacedFeature, ...] = ()
    elevation: ElevationModel | None = None
    findings: tuple[Finding, ...] = ()
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def frame_ground(reading: Reading) -> Frame:
    """Return the frame of a reading, worked out once."""
    return reading.once("frame", lambda: _make_frame(reading.log))


def _make_frame(log: Log) -> Frame:
    ground_map = GroundMap(log.ground.crs)
    features, findings = _place_features(log, ground_map)
    elevation = _read_surface(log)
    digs = [dig for dig in log.digs if _has_place(dig)]
    east = np.array([dig.easting_m for dig in digs], dtype=np.float64)
    north = np.array([dig.northing_m for dig in digs], dtype=np.float64)
    surface = _surface_heights(digs, elevation)
    centerline = _drawn_centerline(features)
    assumptions: dict[str, Any] = {}
    if centerline is None and digs:
        index = _written_lines(digs, east, north)
        known = index >= 0
        centerline = propose_centerline(
            east[known], north[known], index[known], elevation_m=surface[known]
        )
        assumptions["centerline"] = "through the middles of the lines"
    if centerline is None:
        return Frame(
            map=ground_map,
            centerline=None,
            places={},
            lines=(),
            features=features,
            elevation=elevation,
            findings=tuple(findings),
        )
    centerline, over_m, folds = _unfold(centerline, east, north)
    findings += folds
    if over_m:
        assumptions["centerline_smoothed_over_m"] = over_m
    s_m, n_m = centerline.to_valley(east, north) if digs else (east, north)
    names = _name_lines(digs, s_m)
    findings += _find_uphill(centerline, s_m, surface)
    if elevation is not None:
        findings += find_surface_doubts(
            elevation, east, north, surveyed_m=_typed_heights(digs)
        )
    places = {
        dig.dig: Place(
            easting_m=float(east[at]),
            northing_m=float(north[at]),
            s_m=float(s_m[at]),
            n_m=float(n_m[at]),
            surface_m=float(surface[at]) if np.isfinite(surface[at]) else None,
            line=names[at],
        )
        for at, dig in enumerate(digs)
    }
    return Frame(
        map=ground_map,
        centerline=centerline,
        places=places,
        lines=_order_lines(places),
        features=features,
        elevation=elevation,
        findings=tuple(findings),
        assumptions=assumptions,
    )


def _has_place(dig: Dig) -> bool:
    return dig.easting_m is not None and dig.northing_m is not None


def _place_features(
    log: Log, ground_map: GroundMap
) -> tuple[tuple[PlacedFeature, ...], list[Finding]]:
    """Put the drawn features into the ground's coordinates, where it has any."""
    if log.features and ground_map.crs is None:
        finding = Finding(
            where="ground.geojson",
            problem=(
                f"{len(log.features)} drawn features lie in longitude and latitude, "
                "but the ground has no coordinate system; they are left out"
            ),
            remedy=NAME_A_GRID,
            weight="doubt",
        )
        return (), [finding]
    placed = []
    for feature in log.features:
        parts, closed = ground_map.parts(feature.geometry)
        placed.append(
            PlacedFeature(
                role=feature.role, name=feature.name, closed=closed, parts=parts
            )
        )
    return tuple(placed), []


def _drawn_centerline(features: tuple[PlacedFeature, ...]) -> Centerline | None:
    """Return the longest line drawn as centerline."""
    longest: FloatArray | None = None
    longest_m = 0.0
    for feature in features:
        for part in feature.parts if feature.role == "centerline" else ():
            steps = np.hypot(*np.diff(part, axis=0).T)
            kept = part[np.concatenate([[True], steps > 0.0])]
            if steps.sum() > longest_m and len(kept) > 1:
                longest, longest_m = kept, float(steps.sum())
    return None if longest is None else Centerline(longest[:, 0], longest[:, 1])


def _read_surface(log: Log) -> ElevationModel | None:
    """Return the attached elevation models as one, in the ground's coordinates."""
    tiles = [
        (attachment.file, attachment.content)
        for attachment in log.attachments
        if attachment.kind == "elevation"
    ]
    if not tiles:
        return None
    from pennyweight.exchange.rasters import read_mosaic  # noqa: PLC0415 - costs 0.5 s

    places = [(dig.easting_m, dig.northing_m) for dig in log.digs if _has_place(dig)]
    around = None
    if places:
        east, north = np.array(places, dtype=np.float64).T
        around = (
            float(east.min()) - AROUND_M,
            float(east.max()) + AROUND_M,
            float(north.min()) - AROUND_M,
            float(north.max()) + AROUND_M,
        )
    unit = said_unit(log)
    return read_mosaic(tiles, log.ground.crs, around=around, unit=unit)


def said_unit(log: Log) -> Literal["m", "ft"] | None:
    """Return what the user says the heights of the elevation model are."""
    said = log.ground.extra.get("elevation_unit", "").strip(' "').lower()
    if said in {"ft", "feet", "foot"}:
        return "ft"
    return "m" if said in {"m", "meters", "meter"} else None


def _typed_heights(digs: list[Dig]) -> FloatArray:
    return np.array(
        [np.nan if dig.elevation_m is None else dig.elevation_m for dig in digs],
        dtype=np.float64,
    )


def _surface_heights(digs: list[Dig], elevation: ElevationModel | None) -> FloatArray:
    """Return the typed elevation of each dig, else what the model says."""
    typed = _typed_heights(digs)
    if elevation is None or not digs:
        return typed
    east = np.array([dig.easting_m for dig in digs], dtype=np.float64)
    north = np.array([dig.northing_m for dig in digs], dtype=np.float64)
    return np.where(np.isfinite(typed), typed, read_heights(elevation, east, north))


def _written_lines(
    digs: list[Dig], east: FloatArray, north: FloatArray
) -> npt.NDArray[np.int64]:
    """Return the number of each dig's line to draw through; -1 for digs left out."""
    named = list(dict.fromkeys(dig.line for dig in digs if dig.line is not None))
    if len(named) > 1:
        number = {line: at for at, line in enumerate(named)}
        return np.array([number.get(dig.line or "", -1) for dig in digs])
    places = np.column_stack([east, north])
    away = places - places.mean(axis=0)
    along = away @ np.linalg.svd(away)[2][0] if len(digs) > 1 else np.zeros(1)
    if named and all(dig.line is not None for dig in digs):
        return np.zeros(len(digs), dtype=np.int64)
    if np.ptp(along) < ONE_LINE_M:
        return np.zeros(len(digs), dtype=np.int64)
    clusters = _cluster(along)
    # Numbered in the order in which they were written, which tells upstream from
    # downstream where elevations do not.
    order = list(dict.fromkeys(clusters.tolist()))
    return np.array([order.index(one) for one in clusters.tolist()])


def _cluster(along_m: FloatArray) -> npt.NDArray[np.int64]:
    """Return the number of each place's group, from the lowest up; gaps part them."""
    order = np.argsort(along_m, kind="stable")
    gaps = np.diff(along_m[order], prepend=along_m[order[0]]) > GROUP_GAP_M
    groups = np.empty(len(along_m), dtype=np.int64)
    groups[order] = np.cumsum(gaps)
    return groups


def _unfold(
    centerline: Centerline, east: FloatArray, north: FloatArray
) -> tuple[Centerline, float, list[Finding]]:
    """Smooth a line that folds over the digs until it does not."""
    half_width_m = LEAST_HALF_WIDTH_M
    if len(east):
        offsets = np.abs(centerline.to_valley(east, north)[1])
        half_width_m = float(
            np.clip(offsets.max(), LEAST_HALF_WIDTH_M, MOST_HALF_WIDTH_M)
        )
    folds = centerline.find_folds(half_width_m)
    if not folds:
        return centerline, 0.0, []
    for over_m in SMOOTH_OVER_M:
        calm = centerline.smoothed(over_m)
        if not calm.find_folds(half_width_m):
            smoothed = Finding(
                where=folds[0].where,
                problem=(
                    f"{folds[0].problem}; the line was smoothed over {over_m:.0f} m"
                ),
                remedy=folds[0].remedy,
                weight="note",
            )
            return calm, over_m, [smoothed]
    return centerline, 0.0, folds


def _name_lines(digs: list[Dig], s_m: FloatArray) -> list[str]:
    """Return each dig's line: the user's, a near one, or one made up."""
    middles = {
        line: float(
            np.median(
                [at for dig, at in zip(digs, s_m, strict=True) if dig.line == line]
            )
        )
        for line in {dig.line for dig in digs if dig.line is not None}
    }
    lone = np.array([at for at, dig in enumerate(digs) if dig.line is None], dtype=int)
    names = [dig.line or "" for dig in digs]
    free = []
    for at in lone.tolist():
        near = min(middles, key=lambda line: abs(middles[line] - s_m[at]), default=None)
        if near is not None and abs(middles[near] - s_m[at]) < GROUP_GAP_M / 2.0:
            names[at] = near
        else:
            free.append(at)
    if free:
        groups = _cluster(s_m[free])
        for group in np.unique(groups):
            members = [at for at, one in zip(free, groups, strict=True) if one == group]
            name = f"near {np.median(s_m[members]):.0f} m"
            while name in middles:
                name += "'"
            for at in members:
                names[at] = name
    return names


def _order_lines(places: Mapping[str, Place]) -> tuple[LineOfDigs, ...]:
    """Put the lines in order downstream, their digs from left to right."""
    members: dict[str, list[str]] = {}
    for dig, place in places.items():
        members.setdefault(place.line, []).append(dig)
    lines = [
        LineOfDigs(
            line=line,
            s_m=float(np.median([places[dig].s_m for dig in digs])),
            digs=tuple(sorted(digs, key=lambda dig: -places[dig].n_m)),
        )
        for line, digs in members.items()
    ]
    return tuple(sorted(lines, key=lambda line: (line.s_m, line.line)))


def _find_uphill(
    centerline: Centerline, s_m: FloatArray, surface_m: FloatArray
) -> list[Finding]:
    """Doubt a drawn centerline along which the surface rises."""
    known = np.isfinite(surface_m)
    if centerline.proposed or np.count_nonzero(known) < 3 or np.ptp(s_m[known]) < 20.0:
        return []
    rise = float(np.polyfit(s_m[known], surface_m[known], 1)[0])
    if rise * np.ptp(s_m[known]) < 0.5:
        return []
    return [
        Finding(
            where="centerline",
            problem=(
                f"the surface rises by {rise * 100.0:.1f} m in 100 m along the drawn "
                "centerline, which should run downstream"
            ),
            remedy="Draw the centerline from the upper end to the lower one.",
            weight="doubt",
        )
    ]
