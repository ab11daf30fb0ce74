"""The hidden truth of the invented ground: valley, bedrock, clay and pay streaks.

Everything here is made up by formula. Gold is raw gold in place; s runs downstream
and n to the left, as everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pennyweight.valley.coordinates import Centerline

FloatArray = npt.NDArray[np.float64]

#: Where the invented valley begins. In this coordinate system (UTM zone 6, north) the
#: place lies in the open Pacific, so that nobody takes it for a real creek.
CRS = "EPSG:32606"
EASTING_M, NORTHING_M = 512_400.0, 5_301_800.0

#: Length of the centerline [m].
LENGTH_M = 215.0

#: Elevation of the floor at the upper end [m], and its fall [-].
UPPER_END_M, FALL = 642.0, 0.022

#: Where the side creek comes in from the right [m].
MOUTH_S_M, MOUTH_N_M = 70.0, -13.0

#: Gold of the ground outside of every streak [mg/m2].
BACKGROUND_MG_M2 = 4.0

#: Where the clay ends downstream, and how far to the right it reaches [m].
CLAY_END_S_M, CLAY_EDGE_N_M = 96.0, 2.5

#: From here on a younger channel has cut the pay out [m].
CUT_OUT_S_M = 183.0


@dataclass(frozen=True, slots=True)
class TrueStreak:
    """One pay streak of the truth.

    Attributes
    ----------
    name : str
        For the tests.
    horizon : str
        bedrock or false-1.
    s_m, n_m : tuple of float
        Places that its middle runs through [m].
    crest_mg_m2 : float
        Accumulation in its middle [mg/m2].
    half_width_m : float
        Where it has fallen to e^-1/2 of that [m].
    color_mm : float
        Median size of its colors [mm].
    """

    name: str
    horizon: str
    s_m: tuple[float, ...]
    n_m: tuple[float, ...]
    crest_mg_m2: float
    half_width_m: float
    color_mm: float

    def middle(self, s_m: FloatArray) -> FloatArray:
        """Return where its middle lies [m]; nan above its head and below its end."""
        from scipy.interpolate import PchipInterpolator  # noqa: PLC0415 - costs 0.2 s

        curve = PchipInterpolator(self.s_m, self.n_m, extrapolate=False)
        return np.asarray(curve(s_m), dtype=np.float64)


STREAKS = (
    TrueStreak(
        "left", "bedrock", (0, 36, 76, 98), (6.6, 5.8, 4.2, 1.6), 360, 1.2, 0.55
    ),
    TrueStreak(
        "right", "bedrock", (0, 36, 76, 98), (-4.8, -3.8, -1.2, 1.2), 320, 1.2, 0.5
    ),
    TrueStreak("middle", "bedrock", (90, 120, 160), (1.3, 0.6, -2.4), 480, 1.4, 0.55),
    TrueStreak(
        "side",
        "bedrock",
        (66, 92, 130, 160),
        (-13.0, -9.4, -7.0, -3.4),
        460,
        1.2,
        0.6,
    ),
    TrueStreak("joined", "bedrock", (152, 170, 184), (-2.8, -2.4, -2.0), 680, 1.6, 0.6),
    TrueStreak("upper", "false-1", (0, 45, 96), (8.6, 7.8, 6.8), 180, 1.4, 0.35),
)


@lru_cache(maxsize=1)
def draw_centerline() -> Centerline:
    """Return the curved line down the invented valley, a point every 5 m."""
    fine = np.linspace(0.0, LENGTH_M, 2151)
    heading = 3.9 + 0.55 * np.sin(2.0 * np.pi * fine / 150.0 + 0.6)
    step = fine[1]
    east = EASTING_M + np.concatenate([[0.0], np.cumsum(np.sin(heading[1:]) * step)])
    north = NORTHING_M + np.concatenate([[0.0], np.cumsum(np.cos(heading[1:]) * step)])
    return Centerline(east[::50], north[::50])


def thalweg_m(s_m: FloatArray) -> FloatArray:
    """Return where the present creek runs [m left of the centerline]."""
    return 5.5 * np.sin(2.0 * np.pi * s_m / 82.0 + 2.2) - 1.0


def bedrock_depth_m(s_m: FloatArray, n_m: FloatArray) -> FloatArray:
    """Return the depth of bedrock below the surface of the valley floor [m]."""
    gutter = np.exp(-0.5 * ((n_m - 2.0 + 0.022 * s_m) / 5.0) ** 2)
    rough = 0.05 * np.sin(s_m / 7.0 + n_m) + 0.04 * np.sin(n_m / 1.3 - s_m / 11.0)
    return 0.78 + 0.26 * gutter + rough


def clay_depth_m(s_m: FloatArray, n_m: FloatArray) -> FloatArray:
    """Return the depth of the clay [m]; nan where there is none."""
    depth = 0.46 + 0.05 * np.sin(s_m / 16.0) + 0.004 * (n_m - 6.0)
    there = (s_m < CLAY_END_S_M) & (n_m > CLAY_EDGE_N_M + 0.5 * np.sin(s_m / 9.0))
    return np.where(there, depth, np.nan)


def accumulation_mg_m2(
    s_m: FloatArray, n_m: FloatArray, horizon: str
) -> tuple[FloatArray, FloatArray]:
    """Return the true gold on a contact, and the median size of its colors.

    Returns
    -------
    tuple of ndarray
        Accumulation [mg/m2] and size [mm].
    """
    gold = np.full(np.shape(s_m), BACKGROUND_MG_M2 if horizon == "bedrock" else 1.5)
    size = gold * 0.3
    for at, streak in enumerate(STREAKS):
        if streak.horizon != horizon:
            continue
        away = (n_m - streak.middle(s_m)) / streak.half_width_m
        along = 1.0 + 0.28 * np.sin(s_m / (6.0 + at) + 2.0 * at)
        # Ends fade over a few meters instead of standing like a wall.
        ends = np.clip((streak.s_m[-1] - s_m) / 8.0 + 0.3, 0.0, 1.0)
        if streak.s_m[0] > 0.0:
            ends = ends * np.clip((s_m - streak.s_m[0]) / 10.0 + 0.2, 0.0, 1.0)
        part = streak.crest_mg_m2 * along * ends * np.exp(-0.5 * away**2)
        part = np.nan_to_num(part)
        gold, size = gold + part, size + part * streak.color_mm
    cut_out = s_m > CUT_OUT_S_M
    size = np.where(cut_out, 0.25, size / gold)
    return np.where(cut_out, 1.5, gold), size


def grade_mg_m3(
    s_m: float, n_m: float, *, top_m: float, bottom_m: float
) -> tuple[float, float]:
    """Return the true grade of a sample, and the median size of its colors.

    Gold hugs a contact: a third of it lies in the upper 0.12 m of bedrock (0.05 m of
    clay), half within 0.25 m above and the rest within another 0.25 m.

    Returns
    -------
    tuple of float
        Grade [mg/m3 bank] and size [mm].
    """
    place = np.array([s_m]), np.array([n_m])
    gold_mg_m2, sized = 0.8 * (bottom_m - top_m), 0.2
    size = gold_mg_m2 * sized
    for horizon, depth, below_m in (
        ("bedrock", bedrock_depth_m(*place)[0], 0.12),
        ("false-1", clay_depth_m(*place)[0], 0.05),
    ):
        if not np.isfinite(depth):
            continue
        whole, color_mm = (float(one[0]) for one in accumulation_mg_m2(*place, horizon))
        for share, upper, lower in (
            (0.35, depth, depth + below_m),
            (0.50, depth - 0.25, depth),
            (0.15, depth - 0.50, depth - 0.25),
        ):
            met = max(0.0, min(bottom_m, lower) - max(top_m, upper)) / (lower - upper)
            gold_mg_m2 += whole * share * met
            size += whole * share * met * color_mm
    return gold_mg_m2 / (bottom_m - top_m), size / gold_mg_m2
