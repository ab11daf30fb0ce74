"""Answers as map layers: points, lines and areas with what is known of each.

The layers are in meters of the ground's grid and know no file format. An answer that
cannot be given leaves its layer out, with the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import GradeAnswer, grade_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import (
    Merge,
    PathPoint,
    Split,
    TraceAnswer,
    trace_streaks,
)
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.errors import PennyweightError
from pennyweight.records import Log
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]
Value = str | int | float | None
Shape = Literal["point", "line", "area"]


@dataclass(frozen=True, slots=True)
class MapFeature:
    """One thing on the map.

    Attributes
    ----------
    name : str
        What a map shows beside it.
    parts : tuple of ndarray, shape (n_places, 2)
        easting_m and northing_m of the point, the line, or the rings of the area,
        its outer one first [m].
    values : mapping
        What is known of it, by a key with its unit.
    """

    name: str
    parts: tuple[FloatArray, ...]
    values: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class MapLayer:
    """Things of one kind.

    Attributes
    ----------
    name : str
        Of the layer or table.
    title : str
        In words.
    shape : {"point", "line", "area"}
        What its features are.
    features : tuple of MapFeature
        In the order of the answer.
    """

    name: str
    title: str
    shape: Shape
    features: tuple[MapFeature, ...]


@dataclass(frozen=True, slots=True)
class MapContent:
    """All layers of a reading, and what was left out.

    Attributes
    ----------
    layers : tuple of MapLayer
        Those that hold something.
    left_out : tuple of str
        Answers that could not be given, with the reason.
    cautions : tuple of str
        Of all answers that were.
    assumptions : mapping
        The same.
    """

    layers: tuple[MapLayer, ...]
    left_out: tuple[str, ...]
    cautions: tuple[str, ...]
    assumptions: Mapping[str, Any]


def gather_layers(reading: Reading) -> MapContent:
    """Return everything of a reading that lies on a map.

    Parameters
    ----------
    reading : Reading
        One look at a book.
    """
    frame = frame_ground(reading)
    left_out: list[str] = []
    answers: list[Any] = []

    def ask(what: str, make: Callable[[Reading], Any]) -> Any:
        try:
            answer = make(reading)
        except PennyweightError as reason:
            left_out.append(f"{what}: {reason}")
            return None
        answers.append(answer)
        return answer

    grade: GradeAnswer | None = ask("grades", grade_ground)
    trace: TraceAnswer | None = ask("streaks", trace_streaks)
    worth: WorthAnswer | None = ask("cut", weigh_worth)
    plan: NextAnswer | None = ask("next digs", plan_digs)
    layers = [
        _dig_layer(reading.log, frame, grade),
        _line_layer(frame),
        _sample_layer(reading.log, frame, grade),
        *_streak_layers(trace),
        _cut_layer(worth, frame),
        _next_layer(plan),
        *_drawing_layers(reading.log, frame),
    ]
    return MapContent(
        layers=tuple(layer for layer in layers if layer.features),
        left_out=tuple(left_out),
        cautions=tuple(dict.fromkeys(one for a in answers for one in a.cautions)),
        assumptions={key: a.assumptions[key] for a in answers for key in a.assumptions},
    )


def _point(easting_m: float, northing_m: float) -> tuple[FloatArray, ...]:
    return (np.array([[easting_m, northing_m]]),)


def _spread(name: str, unit: str, spread: Spread | None) -> dict[str, Value]:
    """Return the three points of a spread as values of their own."""
    ending = f"_{unit}" if unit else ""
    return {
        f"{name}_{point}{ending}": None if spread is None else getattr(spread, point)
        for point in ("p10", "p50", "p90")
    }


def _dig_layer(log: Log, frame: Frame, grade: GradeAnswer | None) -> MapLayer:
    graded = {one.dig: one for one in grade.digs} if grade is not None else {}
    features = []
    for dig in log.digs:
        place = frame.places.get(dig.dig)
        if place is None:
            continue
        best = graded.get(dig.dig)
        values: dict[str, Value] = {
            "dig": dig.dig,
            "line": dig.line,
            "kind": dig.kind,
            "date": dig.date,
            "surface_m": place.surface_m,
            "bottom_m": dig.bottom_m,
            "stopped_by": dig.stopped_by,
            "s_m": place.s_m,
            "n_m": place.n_m,
        }
        if best is not None:
            values |= {
                "best_horizon": best.best_horizon,
                "pay_top_m": best.pay_top_m,
                "pay_bottom_m": best.pay_bottom_m,
                "overburden_m": best.overburden_m,
                **_spread("grade", "mg_m3", best.grade_mg_m3),
                **_spread("accumulation", "mg_m2", best.accumulation_mg_m2),
            }
        where = _point(place.easting_m, place.northing_m)
        features.append(MapFeature(dig.dig, where, values))
    return MapLayer("digs", "Digs", "point", tuple(features))


def _line_layer(frame: Frame) -> MapLayer:
    features = []
    for line in frame.lines:
        places = [frame.places[dig] for dig in line.digs if dig in frame.places]
        if len(places) < 2:
            continue
        row = np.array([(one.easting_m, one.northing_m) for one in places])
        values: dict[str, Value] = {
            "line": line.line,
            "s_m": line.s_m,
            "digs": len(places),
        }
        features.append(MapFeature(line.line, (row,), values))
    return MapLayer("lines", "Lines of digs", "line", tuple(features))


def _sample_layer(log: Log, frame: Frame, grade: GradeAnswer | None) -> MapLayer:
    taken = {sample.sample: sample.taken for sample in log.samples}
    features = []
    for one in grade.samples if grade is not None else ():
        place = frame.places.get(one.dig)
        if place is None:
            continue
        values: dict[str, Value] = {
            "sample": one.sample,
            "dig": one.dig,
            "line": one.line,
            "top_m": one.top_m,
            "bottom_m": one.bottom_m,
            "taken": taken.get(one.sample),
            "bank_m3": one.bank_m3,
            "colors": one.colors,
            **_spread("grade", "mg_m3", one.grade_mg_m3),
            "reliability": one.reliability,
        }
        where = _point(place.easting_m, place.northing_m)
        features.append(MapFeature(one.sample, where, values))
    return MapLayer("samples", "Samples with grades", "point", tuple(features))


def _streak_layers(trace: TraceAnswer | None) -> list[MapLayer]:
    if trace is None:
        return []
    streaks, crossings, meetings = [], [], []
    for one in trace.streaks:
        row = np.array([(point.easting_m, point.northing_m) for point in one.path])
        if len(row) > 1:
            values: dict[str, Value] = {
                "streak": one.id,
                "probability": one.probability,
                "horizon": one.horizon,
                "cutoff_mg_m3": trace.cutoff_mg_m3,
                **_spread("gold", "g", one.gold_g),
                **_spread("gravel", "m3", one.gravel_m3),
            }
            streaks.append(MapFeature(f"Streak {one.id}", (row,), values))
        # Between lines a path is an inference; where it crosses one it is seen.
        seen = (point for point in one.path if point.line or len(row) == 1)
        crossings += [_crossing(one.id, point) for point in seen]
    meetings += [_meeting(m, "+".join(m.from_), m.into) for m in trace.merges]
    meetings += [_meeting(m, m.from_, "+".join(m.into)) for m in trace.splits]
    return [
        MapLayer("streaks", "Pay streaks", "line", tuple(streaks)),
        MapLayer("crossings", "Streaks where they cross", "point", tuple(crossings)),
        MapLayer("merges", "Merges and splits", "point", tuple(meetings)),
    ]


def _crossing(streak: str, point: PathPoint) -> MapFeature:
    """Return a streak where it crosses a line."""
    values: dict[str, Value] = {
        "streak": streak,
        "line": point.line,
        "probability": point.probability,
        **_spread("top", "m", point.top_m),
        **_spread("thickness", "m", point.thickness_m),
        **_spread("width", "m", point.width_m),
        **_spread("grade", "mg_m3", point.grade_mg_m3),
    }
    name = f"Streak {streak} at {point.line or 'its line'}"
    return MapFeature(name, _point(point.easting_m, point.northing_m), values)


def _meeting(place: Merge | Split, before: str, after: str) -> MapFeature:
    """Return where streaks come together or part."""
    values: dict[str, Value] = {
        "kind": "merge" if isinstance(place, Merge) else "split",
        "from": before,
        "into": after,
        "s_m": place.s_m,
        "probability": place.probability,
    }
    where = _point(place.easting_m, place.northing_m)
    return MapFeature(f"{before} into {after}", where, values)


def _cut_layer(worth: WorthAnswer | None, frame: Frame) -> MapLayer:
    features: list[MapFeature] = []
    if worth is not None and worth.cut is not None:
        cut = worth.cut
        values: dict[str, Value] = {
            **_spread("depth", "m", cut.depth_m),
            "overburden_m3": cut.overburden_m3,
            "pay_m3": cut.pay_m3,
            "strip_ratio": cut.strip_ratio,
            **_spread("margin", "", worth.margin),
            "currency": worth.currency,
            "chance_of_loss": worth.chance_of_loss,
            "verdict": worth.verdict,
        }
        features = [
            MapFeature("Cut", rings, values) for rings in _areas(cut.polygon, frame)
        ]
    return MapLayer("cut", "Ground proposed for mining", "area", tuple(features))


def _next_layer(plan: NextAnswer | None) -> MapLayer:
    features = [
        MapFeature(
            f"Next {dig.rank}",
            _point(dig.easting_m, dig.northing_m),
            {
                "rank": dig.rank,
                "line": dig.line,
                "kind": dig.kind,
                "depth_m": dig.depth_m,
                "pans": dig.pans,
                "hours": dig.hours,
                "gain_money": dig.gain.money,
                "gain_chance_of_wrong_decision": dig.gain.chance_of_wrong_decision,
                "why": dig.why,
            },
        )
        for dig in (plan.digs if plan is not None else ())
    ]
    return MapLayer("next_digs", "Proposed digs", "point", tuple(features))


def _areas(geometry: Mapping[str, Any], frame: Frame) -> list[tuple[FloatArray, ...]]:
    """Return the areas of a geometry, each as its rings in meters of the grid."""
    kind, coordinates = geometry["type"], geometry.get("coordinates", ())
    if kind == "GeometryCollection":
        return [area for one in geometry["geometries"] for area in _areas(one, frame)]
    polygons = {"Polygon": [coordinates], "MultiPolygon": coordinates}.get(kind, [])
    if frame.map.crs is None:
        # Without a coordinate system an answer's own areas are in meters already.
        return [
            tuple(np.array(ring, dtype=np.float64) for ring in rings)
            for rings in polygons
        ]
    return [
        frame.map.parts({"type": "Polygon", "coordinates": rings})[0]
        for rings in polygons
    ]


def _drawing_layers(log: Log, frame: Frame) -> list[MapLayer]:
    """Return what the user drew: lines and areas."""
    lines: list[MapFeature] = []
    areas: list[MapFeature] = []
    for feature in frame.features:
        if not feature.closed:
            values: dict[str, Value] = {"role": feature.role, "name": feature.name}
            name = feature.name or feature.role
            rows = (part for part in feature.parts if len(part) > 1)
            lines += [MapFeature(name, (row,), values) for row in rows]
    for drawn in log.features if frame.map.crs is not None else ():
        values = {"role": drawn.role, "name": drawn.name}
        name = drawn.name or drawn.role
        areas += [
            MapFeature(name, rings, values) for rings in _areas(drawn.geometry, frame)
        ]
    return [
        MapLayer("drawn_lines", "Lines drawn", "line", tuple(lines)),
        MapLayer("drawn_areas", "Areas drawn", "area", tuple(areas)),
    ]
