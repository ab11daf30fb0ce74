"""Places brought onto the nearest stream, with the distance that they were moved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.terrain.streams import Streams

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Snaps:
    """Where places come to lie on a stream tree; all arrays of shape (n_places,).

    Attributes
    ----------
    reach : ndarray of int
        Reach that each place lies on; -1 where none is near enough.
    chainage_m : ndarray
        Way along the stream down to where the water leaves [m].
    distance_m : ndarray
        How far the place was moved [m]; kept also where that was too far.
    easting_m, northing_m : ndarray
        Foot on the stream [m].
    area_m2 : ndarray
        Catchment above the foot [m2]; nan where unknown.

    Without a foot (no tree, or a place without coordinates) all but reach are nan.
    """

    reach: IndexArray
    chainage_m: FloatArray
    distance_m: FloatArray
    easting_m: FloatArray
    northing_m: FloatArray
    area_m2: FloatArray


def snap_places(
    streams: Streams,
    easting_m: npt.ArrayLike,
    northing_m: npt.ArrayLike,
    *,
    farthest_m: float = np.inf,
    onto: npt.NDArray[np.bool_] | None = None,
) -> Snaps:
    """Return the nearest foot on the streams of every place.

    Parameters
    ----------
    streams : Streams
        The tree.
    easting_m, northing_m : array_like, shape (n_places,)
        Where [m]; nan where a place is unknown.
    farthest_m : float, optional
        Beyond this a place lies on no stream [m].
    onto : ndarray of bool, shape (n_reaches,), optional
        Reaches that may be snapped to [-]; all by default. To mend a wrong snap, give
        the one reach that the user named.

    Returns
    -------
    Snaps
        Reach, chainage, foot and distance of each.
    """
    from shapely import STRtree, linestrings, points  # noqa: PLC0415 - costs 0.1 s

    east = np.atleast_1d(np.asarray(easting_m, dtype=np.float64))
    north = np.atleast_1d(np.asarray(northing_m, dtype=np.float64))
    start = _segments(streams, onto)
    known = np.flatnonzero(np.isfinite(east) & np.isfinite(north))
    if not len(start) or not len(known):
        return _no_snaps(len(east))
    ends = np.stack([_place(streams, start), _place(streams, start + 1)], axis=1)
    tree = STRtree(linestrings(ends))
    at, segment = tree.query_nearest(
        points(east[known], north[known]), all_matches=False
    )
    at, (first, last) = known[at], (ends[segment, 0], ends[segment, 1])
    step = last - first
    square = np.maximum(np.einsum("ij,ij->i", step, step), 1e-300)
    to_place = np.column_stack([east[at], north[at]]) - first
    share = np.clip(np.einsum("ij,ij->i", to_place, step) / square, 0.0, 1.0)
    foot = first + share[:, None] * step
    away_m = np.hypot(east[at] - foot[:, 0], north[at] - foot[:, 1])
    found, index = _no_snaps(len(east)), start[segment]
    found.reach[at] = np.where(away_m <= farthest_m, streams.point_reach[index], -1)
    found.distance_m[at] = away_m
    found.easting_m[at], found.northing_m[at] = foot.T
    found.chainage_m[at] = _between(streams.chainage_m, index, share)
    found.area_m2[at] = _between(streams.point_area_m2, index, share)
    return found


def _segments(streams: Streams, onto: npt.NDArray[np.bool_] | None) -> IndexArray:
    """Return the index of the first point of every segment that may be used."""
    start: IndexArray = np.arange(max(len(streams.easting_m) - 1, 0), dtype=np.int64)
    same = streams.point_reach[start] == streams.point_reach[start + 1]
    if onto is not None:
        same &= onto[streams.point_reach[start]]
    kept: IndexArray = start[same]
    return kept


def _place(streams: Streams, index: IndexArray) -> FloatArray:
    return np.column_stack([streams.easting_m[index], streams.northing_m[index]])


def _between(values: FloatArray, index: IndexArray, share: FloatArray) -> FloatArray:
    found: FloatArray = values[index] * (1.0 - share) + values[index + 1] * share
    return found


def _no_snaps(n_places: int) -> Snaps:
    nothing = [np.full(n_places, np.nan) for _ in range(5)]
    return Snaps(np.full(n_places, -1, dtype=np.int64), *nothing)
