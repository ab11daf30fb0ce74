"""The largest stones that water moved, and the flood that each place tells of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import for_pictures
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.streamtree import StreamTree
from pennyweight.highwater.boulders import (
    BoulderFlow,
    Channel,
    flow_of_clasts,
    mix_discharges,
)
from pennyweight.highwater.clasts import Clasts, gather_clasts
from pennyweight.highwater.dropflow import Bed
from pennyweight.highwater.sections import Section
from pennyweight.spread import Spread
from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.terrain.valleyshape import Creek

FloatArray = npt.NDArray[np.float64]

#: Way along the creek over which its fall is taken at a stone [m]. Our assumption.
SLOPE_OVER_M = 40.0

#: Ground across the valley to each side of the creek, at most, and how high above
#: its bed a section is cut off [m]. Our assumptions.
ACROSS_M, HIGHEST_M = 120.0, 12.0

#: Gentlest and steepest fall that is reckoned with [m/m]. Our assumption.
GENTLEST, STEEPEST = 0.002, 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class ClastFlow:
    """The largest stones of a place and the flood that set them down.

    `size_mm` is the mean middle axis of the up to three largest. The water is the mean
    over its depth; `at_least_m_s` is the highest of the published lower limits.
    """

    dig: str | None
    size_mm: float
    velocity_m_s: Spread | None
    shear_pa: Spread | None
    depth_m: Spread | None
    place: str = ""
    n_stones: int = 0
    power_w_m2: Spread | None = None
    discharge_m3_s: Spread | None = None
    at_least_m_s: float | None = None
    warnings: tuple[str, ...] = ()
    flow: BoulderFlow | None = for_pictures(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClastsRead:
    """All places with stones, and the discharge that they tell of."""

    clasts: tuple[ClastFlow, ...]
    discharge_m3_s: Spread | None
    cautions: tuple[str, ...]
    assumptions: Mapping[str, Any] = field(default_factory=dict)


def read_clasts(reading: Reading, tree: StreamTree, bed: Bed) -> ClastsRead:
    """Return the floods behind the stones that water set down."""
    frame, rng = frame_ground(reading), np.random.default_rng(reading.seed)
    places = gather_clasts(reading.log.rocks)
    flows = [
        flow_of_clasts(one, _channel(one, frame, tree, bed=bed), rng=rng)
        for one in places
    ]
    found = tuple(flow for flow in flows if flow is not None)
    left_out = [
        f"{one.place}: {one.warnings[0]}"
        for one, flow in zip(places, flows, strict=True)
        if flow is None and one.warnings
    ]
    if len(found) == 1 and found[0].single:
        left_out.append(
            "The flood is read from a single stone, which may have come from the bank. "
            "Measure the three largest that water moved."
        )
    return ClastsRead(
        clasts=tuple(map(_tell, found)),
        discharge_m3_s=mix_discharges(found, rng=rng),
        cautions=tuple(left_out),
    )


def _tell(flow: BoulderFlow) -> ClastFlow:
    return ClastFlow(
        dig=flow.dig,
        size_mm=flow.size_m * 1000.0,
        velocity_m_s=flow.velocity_m_s,
        shear_pa=flow.shear_pa,
        depth_m=flow.depth_m,
        place=flow.place,
        n_stones=flow.n_stones,
        power_w_m2=flow.power_w_m2,
        discharge_m3_s=flow.discharge_m3_s,
        at_least_m_s=flow.at_least.velocity_m_s,
        warnings=flow.warnings,
        flow=flow,
    )


def _channel(
    clasts: Clasts, frame: Frame, tree: StreamTree, *, bed: Bed
) -> Channel | None:
    """Return fall and section of the creek at the stones; None where unknown."""
    east, north = clasts.easting_m, clasts.northing_m
    if east is None and clasts.dig in frame.places:
        place = frame.places[str(clasts.dig)]
        east, north = place.easting_m, place.northing_m
    creek = tree.creek
    if creek is None or east is None or north is None:
        return None
    away = np.hypot(creek.easting_m - east, creek.northing_m - north)
    at = int(np.argmin(away))
    near = np.abs(creek.distance_m - creek.distance_m[at]) <= SLOPE_OVER_M
    if not np.isfinite(creek.slope[near]).any():
        return None
    slope = float(np.clip(np.nanmean(creek.slope[near]), GENTLEST, STEEPEST))
    model = tree.routing.model if tree.routing is not None else None
    return Channel(
        slope=slope,
        stones_m=float(bed.size_m[-1]),
        section=None if model is None else _section(creek, at, model),
        median_m=bed.mean_m,
    )


def _section(creek: Creek, at: int, model: ElevationModel) -> Section | None:
    """Return the ground across the valley, up to where it first stands high."""
    out = np.arange(-ACROSS_M, ACROSS_M + 0.5 * model.cell_m, model.cell_m)
    east, north = creek.place(np.full(len(out), creek.distance_m[at]), -out)
    level = read_heights(model, east, north)
    bed_m = float(creek.elevation_m[at])
    low = np.isfinite(level) & (level <= bed_m + HIGHEST_M)
    middle = len(out) // 2
    if not low[middle]:
        return None
    above = np.flatnonzero(~low)
    first = int(above[above < middle].max()) + 1 if np.any(above < middle) else 0
    last = int(above[above > middle].min()) if np.any(above > middle) else len(out)
    if last - first < 3:
        return None
    return Section(out[first:last], level[first:last])
