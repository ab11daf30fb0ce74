"""Map layers for a receiver: digs as waypoints, streaks as tracks to walk along."""

from __future__ import annotations

from collections.abc import Iterable

from pennyweight.exchange.coordinates import MapGrid
from pennyweight.exchange.gpx import DrawnLine, write_gpx
from pennyweight.handing.globe import on_globe
from pennyweight.handing.layers import MapFeature, MapLayer
from pennyweight.records import Waypoint

#: Points that help somebody who stands there, and lines to walk along.
POINTS = ("digs", "next_digs", "merges")
LINES = ("streaks", "lines", "cut", "drawn_lines")


def make_gpx(layers: Iterable[MapLayer], grid: MapGrid) -> bytes:
    """Return a GPX file of what a receiver can show.

    Parameters
    ----------
    layers : iterable of MapLayer
        Those of `POINTS` and `LINES`; samples and crossings lie at digs.
    grid : MapGrid
        That their places are on.
    """
    points: list[Waypoint] = []
    lines: list[DrawnLine] = []
    for layer in layers:
        for feature in layer.features:
            places = on_globe(grid, feature.parts[0])
            note = _note(feature)
            if layer.name in POINTS:
                points.append(
                    Waypoint(
                        name=feature.name,
                        longitude=places[0][0],
                        latitude=places[0][1],
                        note=note,
                        extra={"type": layer.name},
                    )
                )
            else:
                lines.append(DrawnLine(feature.name, note, tuple(places)))
    return write_gpx(points, lines)


def _note(feature: MapFeature) -> str:
    """Return the few numbers that somebody in the field wants."""
    wanted = (
        *("grade_p10_mg_m3", "grade_p50_mg_m3", "grade_p90_mg_m3", "pay_top_m"),
        *("pay_bottom_m", "bottom_m", "stopped_by", "probability", "horizon"),
        *("depth_m", "pans", "why"),
    )
    shown = (
        f"{key} {value:.4g}" if isinstance(value, float) else f"{key} {value}"
        for key in wanted
        if (value := feature.values.get(key)) is not None
    )
    return ", ".join(shown)
