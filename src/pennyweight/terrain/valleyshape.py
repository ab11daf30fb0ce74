"""The shape of a creek along its way: heights, fall, bends, width of its valley."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.terrain.slopebreaks import SlopeBreak, find_slope_breaks
from pennyweight.terrain.streams import Streams

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Rise above the bed up to which ground belongs to the valley floor [m]: our
#: assumption.
FLOOR_RISE_M = 1.5

#: How far to each side the floor is looked for [m].
WIDEST_M = 150.0

#: Points along a creek at least and at most.
FEWEST_POINTS, MOST_POINTS = 8, 1500


@dataclass(frozen=True)
class Confluence:
    """Where a feeder joins the creek.

    Attributes
    ----------
    distance_m : float
        Way down the creek from its head [m].
    reach : int
        The feeder's reach [-].
    area_share : float
        Catchment of the feeder over that of the creek below [-]; nan where unknown.
    from_left : bool
        Whether it comes from the left, looking downstream.
    angle_deg : float
        Between the two flows above the junction [deg].
    """

    distance_m: float
    reach: int
    area_share: float
    from_left: bool
    angle_deg: float


@dataclass(frozen=True)
class Creek:
    """A creek from its head down, at even steps.

    Attributes
    ----------
    distance_m : ndarray, shape (n_points,)
        Way downstream from the head [m].
    easting_m, northing_m : ndarray, shape (n_points,)
        The smoothed line [m].
    elevation_m : ndarray, shape (n_points,)
        Bed, never rising downstream [m]; nan where unknown.
    slope : ndarray, shape (n_points,)
        Fall over a few widths [m/m]; nan where unknown.
    curvature_1_m : ndarray, shape (n_points,)
        Of the line, positive where it turns left going down [1/m].
    left_m, right_m : ndarray, shape (n_points,)
        How far the valley floor reaches to each side [m]; nan without a surface.
    area_m2 : ndarray, shape (n_points,)
        Catchment above [m2]; nan where unknown.
    breaks : tuple of SlopeBreak
        Where its fall changes.
    confluences : tuple of Confluence
        Feeders from the head down.
    """

    distance_m: FloatArray
    easting_m: FloatArray
    northing_m: FloatArray
    elevation_m: FloatArray
    slope: FloatArray
    curvature_1_m: FloatArray
    left_m: FloatArray
    right_m: FloatArray
    area_m2: FloatArray
    breaks: tuple[SlopeBreak, ...]
    confluences: tuple[Confluence, ...]

    @property
    def width_m(self) -> FloatArray:
        """Width of the valley floor [m]."""
        return self.left_m + self.right_m

    @property
    def tangent(self) -> FloatArray:
        """Direction downstream at each point, shape (n_points, 2) [-]."""
        along = np.column_stack(
            [np.gradient(self.easting_m), np.gradient(self.northing_m)]
        )
        return np.asarray(along / np.maximum(np.hypot(*along.T), 1e-12)[:, None])

    def place(
        self, distance_m: npt.ArrayLike, left_m: npt.ArrayLike = 0.0
    ) -> tuple[FloatArray, FloatArray]:
        """Return where places beside the creek lie on the map.

        Parameters
        ----------
        distance_m, left_m : array_like, shape (n_places,)
            Way downstream, and meters left of the line [m].

        Returns
        -------
        tuple of ndarray
            easting_m, northing_m [m].
        """
        at = np.atleast_1d(np.asarray(distance_m, dtype=np.float64))
        left = np.broadcast_to(np.asarray(left_m, dtype=np.float64), at.shape)
        along = [np.interp(at, self.distance_m, part) for part in self.tangent.T]
        east = np.interp(at, self.distance_m, self.easting_m) - left * along[1]
        north = np.interp(at, self.distance_m, self.northing_m) + left * along[0]
        return east, north


def main_stem(
    streams: Streams,
    through: int | None = None,
    *,
    along: npt.NDArray[np.bool_] | None = None,
) -> IndexArray:
    """Return the reaches of one creek, from its head down.

    Parameters
    ----------
    streams : Streams
        The tree.
    through : int, optional
        A reach that the creek runs through [-]; by default the largest outlet's.
        Upward it follows the larger catchment, or the longer way where catchments are
        unknown; downward it runs to where the water leaves.
    along : ndarray of bool, shape (n_reaches,), optional
        Reaches that follow what the user drew [-]: upward they come first.

    Returns
    -------
    ndarray of int
        Reach numbers [-].

    Raises
    ------
    ValueError
        The tree has no reach.
    """
    if not streams.n_reaches:
        msg = "a tree of 0 reaches has no creek; draw a line, or add a surface."
        raise ValueError(msg)
    size = streams.area_m2
    if not np.isfinite(size).all():
        size = _longest_way(streams)
    if along is not None:
        size = np.where(along, size + size.max(), size)
    if through is None:
        outlets = np.flatnonzero(streams.downstream < 0)
        through = int(outlets[np.argmax(size[outlets])])
    down = [through]
    while streams.downstream[down[-1]] >= 0:
        down.append(int(streams.downstream[down[-1]]))
    up: list[int] = []
    feeders = np.flatnonzero(streams.downstream == through)
    while len(feeders):
        up.append(int(feeders[np.argmax(size[feeders])]))
        feeders = np.flatnonzero(streams.downstream == up[-1])
    return np.array([*up[::-1], *down], dtype=np.int64)


def _longest_way(streams: Streams) -> FloatArray:
    """Return the longest way up from the lower end of each reach [m]."""
    way = streams.length_m.copy()
    for reach in streams.seq[::-1]:
        below = streams.downstream[reach]
        if below >= 0:
            own = streams.length_m[below]
            way[below] = max(way[below], own + way[reach])
    return way


def survey_creek(
    streams: Streams,
    reaches: IndexArray,
    *,
    model: ElevationModel | None = None,
    smooth_m: float = 8.0,
    floor_rise_m: float = FLOOR_RISE_M,
) -> Creek:
    """Return the shape of a creek along its way.

    Parameters
    ----------
    streams : Streams
        The tree.
    reaches : ndarray of int
        The creek's reaches from its head down [-] (`main_stem`).
    model : ElevationModel, optional
        The surface, for the width of the valley floor.
    smooth_m : float, optional
        Length over which the line and its heights are smoothed [m]: about two widths
        of the channel, so that bends are bends and not steps of cells.
    floor_rise_m : float, optional
        Rise above the bed up to which ground belongs to the valley floor [m].

    Returns
    -------
    Creek
        Line, heights, fall, curvature, width, breaks and confluences.
    """
    raw = _trace(streams, reaches)
    step_m = float(np.clip(smooth_m / 4.0, raw[0, -1] / MOST_POINTS, None))
    count = max(FEWEST_POINTS, int(np.ceil(raw[0, -1] / step_m)) + 1)
    at = np.linspace(0.0, raw[0, -1], count)
    east, north, height, area = (np.interp(at, raw[0], part) for part in raw[1:])
    over = smooth_m / (at[1] - at[0])
    east, north = _calm(east, over), _calm(north, over)
    away = np.hypot(np.diff(east), np.diff(north))
    distance = np.concatenate([[0.0], np.cumsum(away)])
    bed = _never_rising(height)
    left, right = _floor(model, east, north, bed=bed, rise_m=floor_rise_m)
    return Creek(
        distance_m=distance,
        easting_m=east,
        northing_m=north,
        elevation_m=bed,
        slope=np.maximum(-np.gradient(_calm(bed, over), distance), 0.0),
        curvature_1_m=_curvature(east, north, distance, over=over),
        left_m=left,
        right_m=right,
        area_m2=area,
        breaks=find_slope_breaks(distance, bed),
        confluences=_confluences(streams, reaches, total_m=(raw[0, -1], distance[-1])),
    )


def level_streams(
    streams: Streams, chainage_m: npt.ArrayLike, level_m: npt.ArrayLike
) -> FloatArray:
    """Return heights along a drawn creek from surveyed levels of its sections.

    Parameters
    ----------
    streams : Streams
        The tree, drawn by hand.
    chainage_m, level_m : array_like, shape (n_levels,)
        Where on the creek, as way down to the outlet, and how high [m].

    Returns
    -------
    ndarray, shape (n_points,)
        Height of every point of the tree [m], falling toward the outlet as nearly to
        the levels as that can be (least squares, never rising); straight between
        them, and nan beyond the uppermost and the lowest.
    """
    chainage = np.asarray(chainage_m, dtype=np.float64)
    level = np.asarray(level_m, dtype=np.float64)
    known = np.isfinite(chainage) & np.isfinite(level)
    if np.count_nonzero(known) < 2:
        return np.full(len(streams.chainage_m), np.nan)
    order = np.argsort(chainage[known])
    at, height = chainage[known][order], level[known][order]
    height = _never_rising(height[::-1])[::-1]
    return np.interp(streams.chainage_m, at, height, left=np.nan, right=np.nan)


def _trace(streams: Streams, reaches: IndexArray) -> FloatArray:
    """Return distance, easting, northing, height, area along a creek's own points."""
    index = np.concatenate(
        [
            np.arange(streams.first_point[r], streams.first_point[r + 1])[
                0 if k == 0 else 1 :
            ]
            for k, r in enumerate(reaches)
        ]
    )
    parts = (
        streams.chainage_m[index[0]] - streams.chainage_m[index],
        streams.easting_m[index],
        streams.northing_m[index],
        streams.elevation_m[index],
        streams.point_area_m2[index],
    )
    return np.vstack(parts)


def _calm(values: FloatArray, over: float) -> FloatArray:
    """Smooth along the way; ends are carried on straight, so that they stay."""
    if over <= 0.5 or not np.isfinite(values).all():
        return values
    pad = min(int(4.0 * over) + 1, len(values) - 1)
    before = 2.0 * values[0] - values[pad:0:-1]
    after = 2.0 * values[-1] - values[-2 : -pad - 2 : -1]
    padded = np.concatenate([before, values, after])
    return np.asarray(gaussian_filter1d(padded, over)[pad : pad + len(values)])


def _never_rising(height_m: FloatArray) -> FloatArray:
    """Return the nearest heights that never rise downstream (least squares)."""
    from scipy.optimize import isotonic_regression  # noqa: PLC0415 - costs 0.2 s

    known = np.isfinite(height_m)
    found = height_m.copy()
    if known.any():
        found[known] = isotonic_regression(height_m[known], increasing=False).x
    return found


def _curvature(
    east: FloatArray, north: FloatArray, distance: FloatArray, *, over: float
) -> FloatArray:
    heading = np.unwrap(np.arctan2(np.gradient(north), np.gradient(east)))
    return np.asarray(np.gradient(_calm(heading, 0.5 * over), distance))


def _floor(
    model: ElevationModel | None,
    east: FloatArray,
    north: FloatArray,
    *,
    bed: FloatArray,
    rise_m: float,
) -> tuple[FloatArray, FloatArray]:
    """Return how far ground lower than a rise above the bed reaches to each side."""
    if model is None or not np.isfinite(bed).any():
        nothing = np.full(len(east), np.nan)
        return nothing, nothing.copy()
    along = np.column_stack([np.gradient(east), np.gradient(north)])
    along /= np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    out = np.arange(0.0, WIDEST_M, max(0.5 * model.cell_m, WIDEST_M / 300.0))
    reached = []
    for side in (1.0, -1.0):
        at_east = east[:, None] - side * along[:, 1:2] * out
        at_north = north[:, None] + side * along[:, 0:1] * out
        height = read_heights(model, at_east.ravel(), at_north.ravel())
        low = height.reshape(at_east.shape) <= bed[:, None] + rise_m
        # The smoothed line may leave the channel by a cell or two; begin where the
        # ground first is low.
        begun = np.cumsum(low, axis=1) > 0
        ended = np.cumsum(begun & ~low, axis=1) > 0
        reached.append(np.where(begun & ~ended, out, 0.0).max(axis=1))
    return reached[0], reached[1]


def _confluences(
    streams: Streams, reaches: IndexArray, *, total_m: tuple[float, float]
) -> tuple[Confluence, ...]:
    """Return the feeders of a creek; distances follow the smoothed line's length."""
    own = set(reaches.tolist())
    head_m = streams.head_m[reaches[0]]
    found = []
    for reach in reaches.tolist():
        above = [
            int(one)
            for one in np.flatnonzero(streams.downstream == reach)
            if int(one) not in own
        ]
        creek = next((r for r in own if streams.downstream[r] == reach), None)
        for feeder in above:
            at_m = (head_m - streams.foot_m[feeder]) / total_m[0] * total_m[1]
            flow = _last_direction(streams, feeder)
            main = (
                _last_direction(streams, creek)
                if creek is not None
                else -_last_direction(streams, reach)
            )
            turn = float(main[0] * flow[1] - main[1] * flow[0])
            dot = float(np.clip(main @ flow, -1.0, 1.0))
            found.append(
                Confluence(
                    distance_m=float(at_m),
                    reach=feeder,
                    area_share=float(
                        streams.area_m2[feeder]
                        / streams.point_area_m2[streams.first_point[reach]]
                    ),
                    from_left=turn < 0.0,
                    angle_deg=float(np.degrees(np.arccos(dot))),
                )
            )
    return tuple(sorted(found, key=lambda one: one.distance_m))


def _last_direction(streams: Streams, reach: int) -> FloatArray:
    """Return the direction of flow over the last part of a reach [-]."""
    line = streams.line(reach)
    back = line[max(0, len(line) - 9)]
    way = line[-1] - back
    return np.asarray(way / max(float(np.hypot(*way)), 1e-12))
