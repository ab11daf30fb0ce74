"""Soil lines on the slopes above the last gold, and what soil holes have found."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.grade import read_graded
from pennyweight.answers.reading import Reading
from pennyweight.answers.upstream import SoilFind, Stop
from pennyweight.answers.waters import Waters
from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.terrain.streams import Streams
from pennyweight.upstream.slopelines import SoilLine, find_band, lay_lines

FloatArray = npt.NDArray[np.float64]

#: Fewest holes of a line that tell of a band [-].
FEWEST_HOLES = 3
#: How far from the creek the slope is read [m], over the cell of the surface.
SLOPE_REACH_M = 20.0
#: What a soil hole gives where no volume is written: about a pan [m3 bank]; ours.
SOIL_BANK_M3, SOIL_RECOVERY = 0.004, 0.85


def lay_soil_lines(
    reading: Reading, streams: Streams, stop: Stop | None
) -> tuple[SoilLine, ...]:
    """Return lines of soil holes beside the stretch where the gold stops."""
    if stop is None:
        return ()
    low, high = stop.chainage_m.p10, max(stop.chainage_m.p90, stop.chainage_m.p10 + 1.0)
    creek = _creek_between(streams, low, high)
    if creek is None:
        return ()
    surface = frame_ground(reading).elevation
    if surface is None:
        return lay_lines(creek)
    uphill, slope = _read_banks(creek, surface)
    return lay_lines(creek, uphill, slope=slope)


def _creek_between(streams: Streams, low_m: float, high_m: float) -> FloatArray | None:
    """Return the water of the reach that holds most of a stretch, downstream."""
    overlap = np.minimum(streams.head_m, high_m) - np.maximum(streams.foot_m, low_m)
    reach = int(np.argmax(overlap))
    if overlap[reach] <= 0.0:
        return None
    own = streams.points(reach)
    chainage = streams.chainage_m[own][::-1]
    at = np.linspace(min(high_m, chainage[-1]), max(low_m, chainage[0]), 20)
    east = np.interp(at, chainage, streams.easting_m[own][::-1])
    north = np.interp(at, chainage, streams.northing_m[own][::-1])
    return np.column_stack([east, north])


def _read_banks(
    creek: FloatArray, surface: ElevationModel
) -> tuple[dict[str, FloatArray], dict[str, float]]:
    """Return the way up and the slope of both banks, read off the surface."""
    way = creek[-1] - creek[0]
    way = way / max(float(np.hypot(*way)), 1e-9)
    reach_m = max(SLOPE_REACH_M, 2.0 * surface.cell_m)
    middle = creek[len(creek) // 2]
    uphill, slope = {}, {}
    for bank, turn in (("left", (-way[1], way[0])), ("right", (way[1], -way[0]))):
        side = np.array(turn)
        far = creek + side * reach_m
        rise = read_heights(surface, far[:, 0], far[:, 1]) - read_heights(
            surface, creek[:, 0], creek[:, 1]
        )
        uphill[bank] = side
        known = rise[np.isfinite(rise)]
        if len(known) and np.isfinite(middle).all():
            slope[bank] = float(np.median(known) / reach_m)
    return uphill, slope


def find_soil(reading: Reading, waters: Waters) -> tuple[SoilFind, ...]:
    """Return what every line of soil holes found."""
    log = reading.log
    soil = {one.sample: one for one in log.samples if one.taken == "loam"}
    if not soil:
        return ()
    graded = {one.sample: one for one in read_graded(reading).samples}
    digs = {one.dig: one for one in log.digs}
    holes: dict[str, list[tuple[float, float, float, float]]] = {}
    for name, sample in soil.items():
        dig, judged = digs.get(sample.dig), graded.get(name)
        if dig is None or judged is None or judged.own_colors is None:
            continue
        if dig.easting_m is None or dig.northing_m is None:
            continue
        bank = judged.own_bank_m3 or _volume(sample.pans)
        holes.setdefault(dig.line or "soil", []).append(
            (dig.easting_m, dig.northing_m, judged.own_colors, bank * SOIL_RECOVERY)
        )
    return tuple(
        _judge_line(line, np.array(rows))
        for line, rows in sorted(holes.items())
        if len(rows) >= FEWEST_HOLES
    )


def _volume(pans: float | None) -> float:
    return SOIL_BANK_M3 * (pans or 1.0)


def _judge_line(line: str, rows: FloatArray) -> SoilFind:
    """Return the band across a line, its holes put in a row along their long way."""
    place = rows[:, :2] - rows[:, :2].mean(axis=0)
    _, _, turns = np.linalg.svd(place, full_matrices=False)
    along = place @ turns[0]
    along = along - along.min()
    band = find_band(along, rows[:, 2], rows[:, 3])
    return SoilFind(
        line=line,
        holes=len(rows),
        colors=float(rows[:, 2].sum()),
        there_probability=band.there_chance,
        middle_m=band.middle_m,
        half_width_m=band.half_width_m,
    )
