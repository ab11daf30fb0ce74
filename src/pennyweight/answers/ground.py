"""What have I seen? The record laid out on the map: frame of every other answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.errors import Finding
from pennyweight.records import Layer
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.valley.coordinates import Centerline

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedDig:
    """A dig where it lies; None where nothing tells."""

    dig: str
    line: str | None
    kind: str | None
    easting_m: float | None
    northing_m: float | None
    s_m: float | None
    n_m: float | None
    surface_m: float | None
    """Elevation of the surface, typed or read off the elevation model [m]."""
    bottom_m: float | None
    stopped_by: str | None
    samples: int
    unwashed: int


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
class LineOfDigs:
    """A trench line: its digs from the left of the valley to the right."""

    line: str
    s_m: float
    digs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundAnswer(Answer):
    """Digs, lines, features, centerline and terrain in one coordinate system."""

    name: str
    crs: str | None
    digs: tuple[PlacedDig, ...]
    lines: tuple[LineOfDigs, ...]
    samples: int
    unwashed: tuple[str, ...]
    findings: tuple[Finding, ...]
    features: tuple[PlacedFeature, ...] = for_pictures(default=())
    centerline: Centerline | None = for_pictures(default=None)
    elevation: ElevationModel | None = for_pictures(default=None)
    counts: Mapping[str, Any] = for_pictures(default_factory=dict)
    layers: tuple[Layer, ...] = for_pictures(default=())
    """What the walls of the digs showed, as recorded."""
