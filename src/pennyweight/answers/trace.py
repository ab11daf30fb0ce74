"""Where does it run? The answer `trace`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPoint:
    """A place on a streak, conditional on the streak being there."""

    s_m: float
    n_m: float
    center_n_m: Spread
    easting_m: float
    northing_m: float
    probability: float
    top_m: Spread | None
    thickness_m: Spread | None
    width_m: Spread
    grade_mg_m3: Spread
    line: str | None = for_pictures(default=None)
    """The line crossed here; None between lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A streak's join between two lines."""

    from_line: str
    to_line: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Streak:
    """A pay streak across the draws."""

    id: str
    probability: float
    horizon: str
    path: tuple[PathPoint, ...]
    links: tuple[Link, ...]
    gold_g: Spread
    gravel_m3: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge:
    """Streaks that come together."""

    from_: tuple[str, ...]
    into: str
    s_m: float
    easting_m: float
    northing_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """A streak that parts."""

    from_: str
    into: tuple[str, ...]
    s_m: float
    easting_m: float
    northing_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Gold and gravel of the sampled stretch; None where it cannot be told."""

    gold_g: Spread | None
    gravel_m3: Spread | None
    gold_g_above_cutoff: Spread | None
    outline: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """The stretch of valley that the field was worked out on."""

    s0_m: float
    s1_m: float
    n0_m: float
    n1_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ValleyField:
    """A horizon's field on the valley grid, for pictures and for worth.

    Attributes
    ----------
    horizon : str
        Name.
    s_m, n_m : ndarray, shapes (n_s,), (n_n,)
        Cell centers [m].
    accumulation_mg_m2 : ndarray, shape (n_draws, n_s, n_n)
        Joint draws, raw gold in place [mg/m2].
    thickness_m, top_m : ndarray, shape (n_draws, n_s, n_n)
        Thickness of the pay and depth of its top below the surface [m]; nan where
        the depth cannot be told.
    probability_above : ndarray, shape (n_s, n_n)
        Share of draws above the cutoff [-].
    sampled : ndarray of bool, shape (n_s, n_n)
        Whether the cell lies inside the outline of the sampled stretch.
    """

    horizon: str
    s_m: FloatArray
    n_m: FloatArray
    accumulation_mg_m2: npt.NDArray[np.float32]
    thickness_m: npt.NDArray[np.float32]
    top_m: npt.NDArray[np.float32]
    probability_above: FloatArray
    sampled: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandJoin:
    """One straight join of the hand method, for comparison."""

    from_dig: str
    to_dig: str
    s_m: tuple[float, float]
    n_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceAnswer(Answer):
    """Pay streaks, their links and merges, and the gold of the sampled stretch."""

    cutoff_mg_m3: float
    probability_of_any: float
    streaks: tuple[Streak, ...]
    merges: tuple[Merge, ...]
    splits: tuple[Split, ...]
    total: Total
    area: Area | None
    fields: tuple[ValleyField, ...] = for_pictures(default=())
    hand_joins: tuple[HandJoin, ...] = for_pictures(default=())
    gold_draws_g: FloatArray | None = for_pictures(default=None)
    """Gold of the sampled stretch, one value a draw [g]."""
