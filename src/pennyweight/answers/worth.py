"""Is it worth it? The answer `worth`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.spread import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The ground proposed for mining."""

    polygon: Mapping[str, Any]
    depth_m: Spread
    overburden_m3: float
    pay_m3: float
    strip_ratio: float
    s0_m: float = for_pictures(default=0.0)
    s1_m: float = for_pictures(default=0.0)
    n0_m: float = for_pictures(default=0.0)
    n1_m: float = for_pictures(default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonBlock:
    """One block of the cut in the order of mining."""

    s0_m: float
    s1_m: float
    overburden_m3: float
    pay_m3: float
    hours: float
    margin: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """How long the cut takes."""

    days: float
    hours: float
    m3_per_hour: float
    blocks: tuple[SeasonBlock, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthAnswer(Answer):
    """Gold, money and the chance of losing it; money in `currency`."""

    cut: Cut | None
    gold_g: Spread | None
    recovered_g: Spread | None
    revenue: Spread | None
    cost: Spread | None
    margin: Spread | None
    chance_of_loss: float | None
    break_even_grade_mg_m3: float | None
    season: Season | None
    verdict: str
    currency: str
    margin_draws: npt.NDArray[np.float64] | None = for_pictures(default=None)
    """Margin of the cut, one value a draw [currency]."""
