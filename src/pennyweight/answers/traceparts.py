"""The parts of the answer `trace`: streaks, their meetings, their ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import for_pictures
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
class Beyond:
    """A place beyond the outermost line where a streak may run; nothing is dug there.

    `toward` is `upstream` or `downstream`.
    """

    toward: str
    s_m: float
    n_m: float
    center_n_m: Spread
    easting_m: float
    northing_m: float
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
    beyond: tuple[Beyond, ...] = ()
    """Where it may go on beyond the outermost lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OneBy:
    """A place down the valley, and the chance that two streaks are one by there."""

    s_m: float
    n_m: float
    easting_m: float
    northing_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Confluence:
    """Where two streaks come together, over all draws.

    `probability` is the chance that they do at all in the sampled stretch; `s_m` is
    where, in draws in which they do; `one_by` is the merge map.
    """

    streaks: tuple[str, ...]
    probability: float
    s_m: Spread
    easting_m: float
    northing_m: float
    one_by: tuple[OneBy, ...]


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

    nugget_gold_g: Spread | None = None
    """Of `gold_g`, what nuggets hold; streaks and cutoff leave it out."""

    def as_json(self) -> dict[str, Any] | None:
        """Return the object that the answer prints; None where nothing can be told."""
        if self.gold_g is None and self.outline is None:
            return None
        return {one.name: getattr(self, one.name) for one in fields(self)}


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
    horizon: str = "bedrock"


@dataclass(frozen=True, slots=True, kw_only=True)
class HandDoubt:
    """A straight join of the hand method that the streaks do not bear out, and why."""

    from_dig: str
    to_dig: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandCompared:
    """The hand method beside the streaks: joins, how many agree, and the others."""

    joins: int
    agree: int
    doubts: tuple[HandDoubt, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinge:
    """What would change the answer most.

    Attributes
    ----------
    kind : str
        `link` (a trench there would tell) or `shared error` (an assumption).
    what : str
        In words.
    share : float
        Of a link the chance that it is one [-]; of a shared error its share of the
        variance of the gold [-].
    easting_m, northing_m : float or None
        Where to dig [m].
    """

    kind: str
    what: str
    share: float
    easting_m: float | None = None
    northing_m: float | None = None
