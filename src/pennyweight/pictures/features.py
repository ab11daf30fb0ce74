"""What lies on a map besides digs: water, boundary, old workings, the cut."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.answers.ground import GroundAnswer, PlacedFeature
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.trace import TraceAnswer, ValleyField
from pennyweight.answers.worth import WorthAnswer
from pennyweight.pictures.labels import Box, Label
from pennyweight.pictures.legend import Entry
from pennyweight.pictures.mapframe import MapFrame
from pennyweight.pictures.streakbands import Placer
from pennyweight.pictures.svg import Look, Markup, element, group, path_text, title
from pennyweight.valley.coordinates import Centerline

FloatArray = npt.NDArray[np.float64]

#: Arrowheads of the flow stand about so far apart [px].
FLOW_EVERY_PX = 110.0


def draw_features(
    ground: GroundAnswer, frame: MapFrame, look: Look
) -> tuple[Markup, list[Label]]:
    """Return the drawn lines and areas and the centerline, with their names."""
    drawn, labels = [], []
    for number, feature in enumerate(ground.features):
        if feature.role == "centerline":
            continue
        drawn.append(
            group(
                title(feature.name or feature.role),
                *(
                    _part(feature, frame.to_px(part[:, 0], part[:, 1]), look)
                    for part in feature.parts
                    if len(part)
                ),
                data_feature=str(number),
                data_role=feature.role,
            )
        )
        labels += _name(feature, frame, look)
    if ground.centerline is not None:
        drawn.append(_centerline(ground, frame, look))
    return group(*drawn), labels


def _part(
    feature: PlacedFeature, places: list[tuple[float, float]], look: Look
) -> Markup:
    """Return one line, ring or point of a feature."""
    if len(places) == 1:
        x_px, y_px = places[0]
        corners = [(-4.0, 3.0), (4.0, 3.0), (0.0, -4.5)]
        shape = path_text([(x_px + x, y_px + y) for x, y in corners], closed=True)
        inks = look.palette
        return element(
            "path", d=shape, fill=inks.paper, stroke=inks.soft_ink, stroke_width=1.2
        )
    return element(
        "path", d=path_text(places, closed=feature.closed), **_strokes(feature, look)
    )


def _strokes(feature: PlacedFeature, look: Look) -> dict[str, str | float | None]:
    inks = look.palette
    if feature.role in {"water", "tributary"}:
        return {
            "fill": inks.water if feature.closed else "none",
            "fill_opacity": 0.6,
            "stroke": inks.water,
            "stroke_width": 5.0 if feature.role == "water" else 3.0,
            "stroke_linecap": "round",
            "stroke_linejoin": "round",
        }
    if feature.role == "boundary":
        return {
            "fill": "none",
            "stroke": inks.ink,
            "stroke_width": 1.4,
            "stroke_dasharray": "14 4 2 4",
        }
    if feature.role == "worked":
        return {
            "fill": inks.soft_ink if feature.closed else "none",
            "fill_opacity": 0.12,
            "stroke": inks.soft_ink,
            "stroke_width": 1.0,
            "stroke_dasharray": "2 3",
        }
    return {"fill": "none", "stroke": inks.soft_ink, "stroke_width": 1.0}


def _name(feature: PlacedFeature, frame: MapFrame, look: Look) -> list[Label]:
    if not feature.name:
        return []
    seen = [
        place
        for part in feature.parts
        for place in frame.to_px(part[:, 0], part[:, 1])
        if frame.box.grown(-20.0).holds(_point(place))
    ]
    if not seen:
        return []
    x_px, y_px = seen[len(seen) // 3]
    wet = feature.role in {"water", "tributary"}
    return [
        Label(
            words=feature.name,
            x_px=x_px,
            y_px=y_px,
            importance=3.0,
            size_px=look.small_px,
            ink=look.palette.water_ink if wet else look.palette.soft_ink,
            italic=True,
        )
    ]


def _point(place: tuple[float, float]) -> Box:
    return Box(place[0], place[1], place[0], place[1])


def _centerline(ground: GroundAnswer, frame: MapFrame, look: Look) -> Markup:
    line = ground.centerline
    if line is None:
        return Markup("")
    along = np.linspace(0.0, line.length_m, max(int(line.length_m / 3.0), 2))
    words = "centerline, proposed" if line.proposed else "centerline"
    return group(
        element(
            "path",
            title(words),
            d=path_text(frame.to_px(*line.to_map(along, np.zeros_like(along)))),
            data_role="centerline",
            **_center_strokes(look, proposed=line.proposed),
        ),
        draw_flow(line, frame, look),
    )


def draw_flow(line: Centerline, frame: MapFrame, look: Look) -> Markup:
    """Return arrowheads along a centerline that point downstream."""
    between_px = FLOW_EVERY_PX * (0.7 if look.narrow else 1.0)
    count = max(round(line.length_m * frame.px_per_m / between_px), 2)
    at_m = line.length_m * (np.arange(count) + 0.5) / count
    ahead_m = 2.0 / frame.px_per_m
    tips = frame.to_px(*line.to_map(at_m + ahead_m, np.zeros(count)))
    tails = frame.to_px(*line.to_map(at_m - ahead_m, np.zeros(count)))
    heads = "".join(
        _arrowhead(tip, np.array(tip) - np.array(tail))
        for tip, tail in zip(tips, tails, strict=True)
    )
    return element(
        "path",
        title("the water runs this way"),
        d=heads,
        fill=look.palette.water_ink,
        stroke=look.palette.paper,
        stroke_width=1.0,
        data_role="flow",
    )


def _arrowhead(place: tuple[float, float], direction_px: FloatArray) -> str:
    """Return the outline of an arrowhead around a place."""
    ahead = direction_px / max(float(np.hypot(*direction_px)), 1e-9)
    left = np.array([ahead[1], -ahead[0]])
    middle = np.array(place)
    corners = (
        middle + 7.0 * ahead,
        middle - 5.0 * ahead + 5.0 * left,
        middle - 2.0 * ahead,
        middle - 5.0 * ahead - 5.0 * left,
    )
    return path_text([(float(one[0]), float(one[1])) for one in corners], closed=True)


def _center_strokes(look: Look, *, proposed: bool) -> dict[str, str | float | None]:
    return {
        "fill": "none",
        "stroke": look.palette.soft_ink,
        "stroke_width": 0.9,
        "stroke_dasharray": "1 4" if proposed else "7 3 1 3",
    }


def feature_entries(ground: GroundAnswer, look: Look) -> list[Entry]:
    """Return what the lines mean that carry no name of their own on the map."""
    words = {"boundary": "boundary", "worked": "worked before"}
    roles = {one.role for one in ground.features}
    entries = [
        Entry(
            sign=element(
                "path",
                d="M-17 0H17",
                **(_strokes(_unnamed(role), look) | {"fill": "none"}),
            ),
            words=said,
            sign_px=44.0,
        )
        for role, said in words.items()
        if role in roles
    ]
    if ground.centerline is not None:
        proposed = ground.centerline.proposed
        sign = group(
            element("path", d="M-17 0H17", **_center_strokes(look, proposed=proposed)),
            element(
                "path",
                d=_arrowhead((0.0, 0.0), np.array([1.0, 0.0])),
                fill=look.palette.water_ink,
            ),
        )
        said = "downstream, a guess" if proposed else "centerline, downstream"
        entries.append(Entry(sign=sign, words=said, sign_px=44.0))
    return entries


def _unnamed(role: str) -> PlacedFeature:
    return PlacedFeature(role=role, name=None, closed=False, parts=())


def draw_unsampled(trace: TraceAnswer | None, place: Placer, look: Look) -> Markup:
    """Return the hatch over the part of the valley that was never sampled."""
    if trace is None or trace.area is None or not trace.fields:
        return Markup("")
    area = trace.area
    s_m = np.linspace(area.s0_m, area.s1_m, 60)
    outer = _strip(place, s_m, np.full(60, area.n1_m), np.full(60, area.n0_m))
    edges = sampled_edges(trace.fields[0])
    inner = "" if edges is None else _strip(place, *edges)
    return element(
        "path",
        title("never sampled"),
        d=outer + inner,
        fill=f"url(#{look.name('plan-unsampled')})",
        fill_rule="evenodd",
        data_role="unsampled",
    )


def _strip(place: Placer, s_m: FloatArray, left: FloatArray, right: FloatArray) -> str:
    return path_text([*place(s_m, left), *place(s_m, right)[::-1]], closed=True)


def sampled_edges(
    field: ValleyField,
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Return where the sampled stretch lies: s, its left and its right edge [m].

    None where no cell was sampled.
    """
    rows = field.sampled.any(axis=1)
    if not rows.any():
        return None
    inside = field.sampled[rows]
    half_m = float(np.diff(field.n_m).mean()) / 2.0 if len(field.n_m) > 1 else 0.5
    left = np.where(inside, field.n_m, -np.inf).max(axis=1) + half_m
    right = np.where(inside, field.n_m, np.inf).min(axis=1) - half_m
    return field.s_m[rows], left, right


def draw_cut(
    worth: WorthAnswer, ground: GroundAnswer, frame: MapFrame, *, look: Look
) -> Markup:
    """Return the outline of the ground proposed for mining."""
    if worth.cut is None:
        return Markup("")
    return group(
        title("the cut proposed for mining"),
        *(
            element(
                "path", d=path_text(frame.to_px(ring[:, 0], ring[:, 1]), closed=True)
            )
            for ring in polygon_rings(worth.cut.polygon, ground)
        ),
        fill="none",
        stroke=look.palette.ink,
        stroke_width=2.0,
        stroke_linejoin="round",
        data_role="cut",
    )


def polygon_rings(polygon: object, ground: GroundAnswer) -> tuple[FloatArray, ...]:
    """Return the rings of an answer's polygon in the ground's meters."""
    if not isinstance(polygon, dict):
        return ()
    if ground.crs is not None:
        return GroundMap(ground.crs).parts(polygon)[0]
    rings = polygon.get("coordinates", [])
    return tuple(np.array(ring, dtype=np.float64)[:, :2] for ring in rings)
