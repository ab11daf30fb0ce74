"""Drops from the shape of the ground alone: bends, widenings, breaks, mouths, benches.

The rules are those of the trade, put into numbers; the numbers are our assumptions
(docs/sources.md "drop kinds").
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from pennyweight.highwater.drops import Drop, Reason, large_pieces
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.valleyshape import Creek

FloatArray = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

#: Width taken for the floor where none is known [m].
USUAL_WIDTH_M = 12.0

#: Width over radius from which a bend counts, and at which it is marked [-].
LEAST_BEND, MARKED_BEND = 0.12, 0.5

#: Width over width, some way up and down, from which a change counts [-].
LEAST_WIDENING = 1.4

#: Ground this steep and flatter is a bar or a bench [m/m].
BENCH_SLOPE = 0.12

#: Heights above the creek between which level ground is a high bar, and a bench [m].
BAR_M, BENCH_M, HIGHEST_BENCH_M = 0.7, 1.6, 15.0

#: Level ground smaller than this is no bench [m2].
LEAST_BENCH_M2 = 30.0

#: Stones smaller than this make no lee worth digging in [m].
LEAST_STONE_M = 0.4


def find_shape_drops(creek: Creek) -> list[Drop]:
    """Return the drops that the line, width and fall of a creek tell of.

    Parameters
    ----------
    creek : Creek
        Its shape (`terrain.valleyshape`).

    Returns
    -------
    list of Drop
        Inner bends, widenings, narrows below, breaks of the fall, mouths of feeders.
    """
    return [
        *_inner_bends(creek),
        *_width_changes(creek),
        *_slope_breaks(creek),
        *_mouths(creek),
    ]


def find_lees(
    easting_m: FloatArray,
    northing_m: FloatArray,
    middle_m: FloatArray,
    *,
    creek: Creek,
) -> list[Drop]:
    """Return the drops behind large stones.

    Parameters
    ----------
    easting_m, northing_m : ndarray, shape (n_stones,)
        Where they lie [m].
    middle_m : ndarray, shape (n_stones,)
        Their middle axes [m]; those under 0.4 m are left out.
    creek : Creek
        Which way the water runs.

    Returns
    -------
    list of Drop
        One and a half stone's lengths downstream of each.
    """
    found = []
    for east, north, size in zip(easting_m, northing_m, middle_m, strict=True):
        if not size >= LEAST_STONE_M:
            continue
        away = np.hypot(creek.easting_m - east, creek.northing_m - north)
        along = creek.tangent[int(np.argmin(away))]
        strength = float(1.0 - np.exp(-size / 1.0))
        found.append(
            Drop(
                easting_m=float(east + 1.5 * size * along[0]),
                northing_m=float(north + 1.5 * size * along[1]),
                reasons=(
                    Reason(
                        kind="lee", strength=strength, facts={"size_m": float(size)}
                    ),
                ),
            )
        )
    return found


def find_benches(
    model: ElevationModel, above_m: FloatArray, creek: Creek
) -> list[Drop]:
    """Return high bars and benches: level ground at some height above the creek.

    Parameters
    ----------
    model : ElevationModel
        The surface.
    above_m : ndarray, the model's shape
        Height above the nearest drainage [m] (`terrain.routing`).
    creek : Creek
        Only ground beside it is looked at.

    Returns
    -------
    list of Drop
        One for each level piece of at least 30 m2, at its cell nearest to the creek:
        the edge is where the old channel ran last, and the easiest to open.
    """
    from scipy.ndimage import gaussian_filter  # noqa: PLC0415 - costs 0.1 s

    calm = gaussian_filter(np.nan_to_num(model.elevation_m, nan=1e4), 1.0)
    down, across = np.gradient(calm, model.cell_m)
    level = np.hypot(down, across) <= BENCH_SLOPE
    level &= np.isfinite(model.elevation_m)
    found = []
    for kind, low, high in (
        ("high_bar", BAR_M, BENCH_M),
        ("bench", BENCH_M, HIGHEST_BENCH_M),
    ):
        between = level & (above_m >= low) & (above_m < high)
        for piece in large_pieces(between, LEAST_BENCH_M2 / model.cell_m**2):
            drop = _bench(piece, model, above_m, creek=creek, kind=kind)
            if drop is not None:
                found.append(drop)
    return found


def _bench(
    piece: Mask,
    model: ElevationModel,
    above_m: FloatArray,
    *,
    creek: Creek,
    kind: str,
) -> Drop | None:
    from scipy.spatial import cKDTree  # noqa: PLC0415 - costs 0.1 s

    rows, columns = np.nonzero(piece)
    area_m2 = len(rows) * model.cell_m**2
    east, north = model.centers
    places = np.column_stack([east[columns], north[rows]])
    line = np.column_stack([creek.easting_m, creek.northing_m])
    away_m = np.asarray(cKDTree(line).query(places)[0])
    near = int(np.argmin(away_m))
    width_m = _width(creek)
    if away_m[near] > 4.0 * float(np.median(width_m)):
        return None
    # Larger, and lower: more of the old channel is left, and floods came more often.
    height_m = float(np.median(above_m[piece]))
    strength = (1.0 - np.exp(-area_m2 / 300.0)) * np.exp(-height_m / 8.0)
    reason = Reason(
        kind=kind,
        strength=float(strength),
        facts={"above_m": height_m, "area_m2": float(area_m2)},
    )
    return Drop(
        easting_m=float(places[near, 0]),
        northing_m=float(places[near, 1]),
        reasons=(reason,),
    )


def _width(creek: Creek) -> FloatArray:
    """Return the width of the floor, smoothed; the usual one where unknown [m]."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    width = creek.width_m
    if not np.isfinite(width).any():
        return np.full(len(width), USUAL_WIDTH_M)
    width = np.maximum(np.where(np.isfinite(width), width, np.nanmedian(width)), 1.0)
    step_m = creek.distance_m[1] - creek.distance_m[0]
    return np.asarray(gaussian_filter1d(width, max(3.0 / max(step_m, 1e-9), 1.0)))


def _runs(mask: Mask) -> Iterable[tuple[int, int]]:
    """Return first and last index of each run of True."""
    padded = np.concatenate([[False], mask, [False]])
    edges = np.flatnonzero(np.diff(padded.astype(np.int8)))
    return zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True)


def _inner_bends(creek: Creek) -> list[Drop]:
    """Return the inner side of every bend, a little below its tightest point."""
    width: FloatArray = np.minimum(_width(creek), 3.0 * USUAL_WIDTH_M)
    tight = np.abs(creek.curvature_1_m) * width
    found = []
    for side in (1.0, -1.0):
        for first, last in _runs((creek.curvature_1_m * side * width) > LEAST_BEND):
            apex = first + int(np.argmax(tight[first : last + 1]))
            below = min(apex + (last - apex + 1) // 3, len(width) - 1)
            floor = creek.left_m if side > 0 else creek.right_m
            known = bool(np.isfinite(floor[below]))
            reach_m = float(floor[below] if known else width[below] / 2.0)
            # A third of the way across the inner floor, where bars lie.
            east, north = creek.place(
                creek.distance_m[below], side * max(0.35 * reach_m, 1.0)
            )
            radius_m = 1.0 / max(abs(float(creek.curvature_1_m[apex])), 1e-9)
            found.append(
                _drop(
                    east,
                    north,
                    "inner_bend",
                    strength=1.0 - np.exp(-float(tight[apex]) / MARKED_BEND),
                    radius_m=radius_m,
                    left=side,
                )
            )
    return found


def _width_changes(creek: Creek) -> list[Drop]:
    """Return where the floor widens, and where it is wide above narrows."""
    if not np.isfinite(creek.width_m).any():
        return []
    width = _width(creek)
    step_m = float(creek.distance_m[1] - creek.distance_m[0])
    reach = max(round(1.5 * float(np.median(width)) / max(step_m, 1e-9)), 2)
    if len(width) < 2 * reach + 3:
        return []
    middle = np.arange(reach, len(width) - reach)
    ratio = np.log(width[middle + reach] / width[middle - reach])
    found = []
    for kind, change in (("widening", ratio), ("above_narrows", -ratio)):
        for first, last in _runs(change > np.log(LEAST_WIDENING)):
            peak = first + int(np.argmax(change[first : last + 1]))
            # In the wide part: below a widening, above narrows.
            at = middle[peak] + (reach if kind == "widening" else -reach)
            lean = 0.25 * float(creek.left_m[at] - creek.right_m[at])
            east, north = creek.place(creek.distance_m[at], lean)
            found.append(
                _drop(
                    east,
                    north,
                    kind,
                    strength=1.0 - np.exp(-float(change[peak]) / 0.7),
                    ratio=float(np.exp(change[peak])),
                    width_m=float(width[at]),
                )
            )
    return found


def _slope_breaks(creek: Creek) -> list[Drop]:
    """Return where the creek begins to run flatter."""
    width = float(np.median(_width(creek)))
    found = []
    for one in creek.breaks:
        if not one.eases:
            continue
        at = min(one.distance_m + 0.5 * width, float(creek.distance_m[-1]))
        east, north = creek.place(at)
        lost = 1.0 - max(one.slope_below, 0.0) / one.slope_above
        found.append(
            _drop(
                east,
                north,
                "slope_break",
                strength=one.probability * lost,
                slope_above=one.slope_above,
                slope_below=max(one.slope_below, 0.0),
                between_m=one.high_m - one.low_m,
            )
        )
    return found


def _mouths(creek: Creek) -> list[Drop]:
    """Return the slack water below the mouth of each feeder, on the feeder's side."""
    width = _width(creek)
    found = []
    for one in creek.confluences:
        at = min(one.distance_m + 10.0, float(creek.distance_m[-1]))
        here = float(np.interp(at, creek.distance_m, width))
        side = 1.0 if one.from_left else -1.0
        east, north = creek.place(at, side * 0.2 * here)
        share = one.area_share if np.isfinite(one.area_share) else 0.2
        # A larger feeder that comes in squarely parts the flow more.
        square = np.sin(np.radians(min(one.angle_deg, 90.0)))
        strength = float(np.clip(2.0 * share, 0.0, 1.0) * (0.4 + 0.6 * square))
        found.append(
            _drop(
                east,
                north,
                "confluence",
                strength=strength,
                area_share=share,
                angle_deg=one.angle_deg,
                reach=float(one.reach),
            )
        )
    return found


def _drop(
    east: FloatArray,
    north: FloatArray,
    kind: str,
    *,
    strength: float,
    **facts: float,
) -> Drop:
    reason = Reason(kind=kind, strength=float(np.clip(strength, 0.0, 1.0)), facts=facts)
    return Drop(easting_m=float(east[0]), northing_m=float(north[0]), reasons=(reason,))
