"""Valley coordinates: s meters downstream, n meters left of the centerline.

The straightened valley in which streaks are followed. A centerline is drawn
downstream; n is positive to the left of someone looking that way.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from pennyweight.errors import Finding

FloatArray = npt.NDArray[np.float64]

#: Spacing of the points at which the smoothed line is kept [m]. Newton's steps from
#: the nearest of them make the result exact; the spacing only has to find the basin.
STEP_M = 0.5

#: Newton steps; each roughly squares the error, so that eight leave none.
NEWTON_STEPS = 8


@dataclass(frozen=True)
class Centerline:
    """A smooth line down the valley, with arc length and offset both ways.

    Attributes
    ----------
    easting_m, northing_m : ndarray, shape (n_points,)
        Points in order downstream [m], at least two, none repeated.
    proposed : bool
        True when the program drew it because the user had not.
    """

    easting_m: FloatArray
    northing_m: FloatArray
    proposed: bool = False

    def __post_init__(self) -> None:
        """Refuse a line that has no length."""
        points = np.column_stack([self.easting_m, self.northing_m])
        steps = np.hypot(*np.diff(points, axis=0).T)
        if len(points) < 2 or not np.all(np.isfinite(points)) or np.any(steps <= 0.0):
            msg = (
                f"a centerline of {len(points)} points has no length everywhere; "
                "draw at least two different points, downstream."
            )
            raise ValueError(msg)

    @cached_property
    def _curve(self) -> CubicSpline:
        """The line as a curve over its own arc length."""
        points = np.column_stack([self.easting_m, self.northing_m])
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        if len(points) == 2:
            return CubicSpline(along, points, bc_type="natural")
        # Spline over chord length, then again over its own length: after two
        # rounds the parameter is arc length to better than a millimeter.
        curve = CubicSpline(along, points, bc_type="natural")
        for _ in range(2):
            fine = np.linspace(along[0], along[-1], max(len(points) * 16, 257))
            speed = np.hypot(*curve(fine, 1).T)
            length = np.concatenate(
                [[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0 * np.diff(fine))]
            )
            count = max(len(points), int(np.ceil(length[-1] / 2.0)) + 1)
            even = np.linspace(0.0, length[-1], count)
            points = curve(np.interp(even, length, fine))
            along = even
            curve = CubicSpline(along, points, bc_type="natural")
        return curve

    @cached_property
    def length_m(self) -> float:
        """Length of the line [m]."""
        return float(self._curve.x[-1])

    @cached_property
    def _finder(self) -> tuple[FloatArray, cKDTree]:
        """Closely spaced places on the line, and a tree to find the nearest."""
        count = max(int(np.ceil(self.length_m / STEP_M)) + 1, 2)
        s_m = np.linspace(0.0, self.length_m, count)
        return s_m, cKDTree(self._curve(s_m))

    def _frame(self, s_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return places, unit tangents and curvature; straight beyond both ends."""
        inside = np.clip(s_m, 0.0, self.length_m)
        place, first, second = (self._curve(inside, order) for order in (0, 1, 2))
        speed = np.hypot(*first.T)[:, None]
        tangent = first / speed
        place = place + tangent * (s_m - inside)[:, None]
        curvature = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / speed[
            :, 0
        ] ** 3
        return place, tangent, np.where(inside == s_m, curvature, 0.0)

    def to_map(
        self, s_m: npt.ArrayLike, n_m: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return the map position of places in the valley.

        Parameters
        ----------
        s_m, n_m : array_like, shape (n_places,)
            Meters downstream and meters left [m]. Beyond the ends the line is
            carried on straight.

        Returns
        -------
        tuple of ndarray
            easting_m, northing_m [m].
        """
        along = np.atleast_1d(np.asarray(s_m, dtype=np.float64))
        left = np.atleast_1d(np.asarray(n_m, dtype=np.float64))
        place, tangent, _ = self._frame(along)
        normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        found = place + normal * left[:, None]
        return found[:, 0], found[:, 1]

    def to_valley(
        self, easting_m: npt.ArrayLike, northing_m: npt.ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Return the valley coordinates of places on the map.

        The foot on the line is the nearest one; exact where the offset is smaller
        than the radius of the bend.

        Parameters
        ----------
        easting_m, northing_m : array_like, shape (n_places,)
            Map position [m].

        Returns
        -------
        tuple of ndarray
            s_m downstream, n_m left [m].

        Notes
        -----
        Newton's method on (p - c(s)) . t(s) = 0 from the nearest of the closely
        spaced places.

        References
        ----------
        Smith and McLean 1984, Water Resources Research 20 (coordinates); see
        docs/sources.md, entry "valley coordinates".
        """
        points = np.column_stack(
            [
                np.atleast_1d(np.asarray(easting_m, dtype=np.float64)),
                np.atleast_1d(np.asarray(northing_m, dtype=np.float64)),
            ]
        )
        s_m, offset_m, away_m = self._feet_on_line(points)
        for end_m in (0.0, self.length_m):
            s_end, n_end = self._feet_beyond(points, end_m)
            # Where the line bends back, the straight part beyond an end may pass
            # nearer than the line itself.
            nearer = np.abs(n_end) < away_m
            s_m = np.where(nearer, s_end, s_m)
            offset_m = np.where(nearer, n_end, offset_m)
            away_m = np.where(nearer, np.abs(n_end), away_m)
        return s_m, offset_m

    def _feet_on_line(
        self, points: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return s, n and distance of the nearest feet on the line itself."""
        places, tree = self._finder
        start = places[tree.query(points)[1]]
        low = np.maximum(start - STEP_M, 0.0)
        high = np.minimum(start + STEP_M, self.length_m)
        s_m = start
        for _ in range(NEWTON_STEPS):
            place, tangent, curvature = self._frame(s_m)
            away = points - place
            ahead = np.sum(away * tangent, axis=1)
            left = tangent[:, 0] * away[:, 1] - tangent[:, 1] * away[:, 0]
            # Beyond the center of a bend 1 - n k turns negative, and Newton would
            # walk to the farthest foot instead of the nearest.
            stretch = 1.0 - left * curvature
            s_m = np.clip(s_m + ahead / np.maximum(stretch, 0.2), low, high)
        place, tangent, _ = self._frame(s_m)
        away = points - place
        left = tangent[:, 0] * away[:, 1] - tangent[:, 1] * away[:, 0]
        return s_m, left, np.hypot(*away.T)

    def _feet_beyond(
        self, points: FloatArray, end_m: float
    ) -> tuple[FloatArray, FloatArray]:
        """Return s and n on the straight part beyond one end; inf where none."""
        place, tangent, _ = self._frame(np.array([end_m]))
        away = points - place
        ahead = away @ tangent[0]
        left = tangent[0, 0] * away[:, 1] - tangent[0, 1] * away[:, 0]
        outside = ahead < 0.0 if end_m == 0.0 else ahead > 0.0
        return end_m + ahead, np.where(outside, left, np.inf)

    def smoothed(self, over_m: float) -> Centerline:
        """Return the line with its short wiggles taken out.

        A track walked with a receiver wiggles by meters; offsets beside such a line
        would fold. Both ends stay where they are.

        Parameters
        ----------
        over_m : float
            Standard deviation of the running average along the line [m].

        Returns
        -------
        Centerline
            Smoothed, with the same ends.

        Raises
        ------
        ValueError
            The length is not above 0.
        """
        if not over_m > 0.0:
            msg = f"over_m is {over_m} m; a line is smoothed over more than 0 m."
            raise ValueError(msg)
        count = max(int(np.ceil(self.length_m / max(over_m / 4.0, STEP_M))) + 1, 8)
        even_m = np.linspace(0.0, self.length_m, count)
        places = self._curve(even_m)
        weights_over = over_m / (even_m[1] - even_m[0])
        margin = int(np.ceil(4.0 * weights_over))
        # Mirrored through the ends, so that a straight line stays as it is.
        padded = np.pad(
            places, ((margin, margin), (0, 0)), "reflect", reflect_type="odd"
        )
        smooth = gaussian_filter1d(padded, weights_over, axis=0)[margin:-margin]
        return Centerline(smooth[:, 0], smooth[:, 1], proposed=self.proposed)

    def stretch(self, s_m: npt.ArrayLike, n_m: npt.ArrayLike) -> FloatArray:
        """Return how much larger the ground is than its straightened picture.

        Parameters
        ----------
        s_m, n_m : array_like, shape (n_places,)
            Meters downstream and meters left [m].

        Returns
        -------
        ndarray, shape (n_places,)
            Area on the map over ds times dn [-]; above 1 on the outer side of a
            bend, 0 where the valley folds over itself.

        References
        ----------
        Smith and McLean 1984, Water Resources Research 20 (metric coefficient 1 - n
        times curvature); docs/sources.md, entry "valley coordinates".
        """
        along = np.atleast_1d(np.asarray(s_m, dtype=np.float64))
        left = np.atleast_1d(np.asarray(n_m, dtype=np.float64))
        return np.maximum(1.0 - left * self._frame(along)[2], 0.0)

    def find_folds(self, half_width_m: float) -> list[Finding]:
        """Return the bends that are too tight for the width that is looked at.

        Parameters
        ----------
        half_width_m : float
            Largest offset in use [m].

        Returns
        -------
        list of Finding
            One for each run of the line where the radius is below that offset.
        """
        s_m, _ = self._finder
        place, _, curvature = self._frame(s_m)
        tight = np.abs(curvature) * half_width_m >= 1.0
        starts = np.flatnonzero(tight & ~np.concatenate([[False], tight[:-1]]))
        return [
            Finding(
                where=f"centerline at {s_m[at]:.0f} m downstream",
                problem=(
                    f"the bend's radius is {1.0 / abs(curvature[at]):.1f} m, less than "
                    f"the {half_width_m:.1f} m looked at beside it, so the valley "
                    f"folds over itself near {place[at, 0]:.0f} E {place[at, 1]:.0f} N"
                ),
                remedy="Draw the centerline straighter there.",
                weight="doubt",
            )
            for at in starts
        ]


def propose_centerline(
    easting_m: npt.ArrayLike,
    northing_m: npt.ArrayLike,
    line_index: npt.ArrayLike,
    *,
    elevation_m: npt.ArrayLike | None = None,
) -> Centerline:
    """Return a centerline through the middles of the lines, when none was drawn.

    Lines are put in the order of the shortest walk past their middles; it runs from
    the higher end to the lower one when elevations tell, else in the order in which
    the lines were written.

    Parameters
    ----------
    easting_m, northing_m : array_like, shape (n_digs,)
        Positions [m].
    line_index : array_like of int, shape (n_digs,)
        Which line each dig belongs to, numbered in the order of the record [-].
    elevation_m : array_like, shape (n_digs,), optional
        Surface elevations [m]; nan where unknown.

    Returns
    -------
    Centerline
        With `proposed` set, 20 m longer than the lines at both ends.

    Raises
    ------
    ValueError
        There is no dig.
    """
    points = np.column_stack(
        [np.asarray(easting_m, np.float64), np.asarray(northing_m, np.float64)]
    )
    index = np.asarray(line_index, dtype=np.int64)
    if len(points) == 0:
        msg = "0 digs have a position; a centerline needs one at least."
        raise ValueError(msg)
    names = np.unique(index)
    middles = np.array([points[index == name].mean(axis=0) for name in names])
    if len(names) == 1:
        return _across_one_line(points)
    direction = np.linalg.svd(middles - middles.mean(axis=0))[2][0]
    order = _shortest_walk(middles, np.argsort(middles @ direction))
    along = np.empty(len(names))
    along[order] = _walked_m(middles[order])
    if _points_upstream(along, names, index, elevation_m):
        order = order[::-1]
    ordered = middles[order]
    kept = _without_crowding(ordered)
    ends = np.vstack(
        [
            kept[0] - 20.0 * _unit(kept[1] - kept[0]),
            kept,
            kept[-1] + 20.0 * _unit(kept[-1] - kept[-2]),
        ]
    )
    return Centerline(ends[:, 0], ends[:, 1], proposed=True)


def _walked_m(places: FloatArray) -> FloatArray:
    """Return the distance walked up to each place [m]."""
    steps = np.hypot(*np.diff(places, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _shortest_walk(
    places: FloatArray, order: npt.NDArray[np.intp]
) -> npt.NDArray[np.intp]:
    """Turn stretches of the walk around while that makes it shorter.

    In a valley that bends back the main direction alone would mix its two arms.
    """
    length = _walked_m(places[order])[-1]
    stretches = list(combinations(range(len(order) + 1), 2))
    better = True
    while better:
        better = False
        for first, last in stretches:
            turned = order.copy()
            turned[first:last] = order[first:last][::-1]
            walked = _walked_m(places[turned])[-1]
            if walked < length - 1e-9:
                order, length, better = turned, walked, True
    return order


def _unit(vector: FloatArray) -> FloatArray:
    return np.asarray(vector / np.hypot(*vector))


def _without_crowding(ordered: FloatArray) -> FloatArray:
    """Drop middles that lie closer than 2 m to the one before (two trenches in one)."""
    kept = [ordered[0]]
    for place in ordered[1:]:
        if np.hypot(*(place - kept[-1])) > 2.0:
            kept.append(place)
    if len(kept) == 1:
        kept.append(kept[0] + np.array([1.0, 0.0]))
    return np.array(kept)


def _points_upstream(
    along: FloatArray,
    names: npt.NDArray[np.int64],
    index: npt.NDArray[np.int64],
    elevation_m: npt.ArrayLike | None,
) -> bool:
    """Tell whether the main direction runs uphill, or else against the numbering."""
    if elevation_m is not None:
        heights = np.asarray(elevation_m, dtype=np.float64)
        mean = np.array(
            [
                np.nanmean(heights[index == name])
                if np.any(np.isfinite(heights[index == name]))
                else np.nan
                for name in names
            ]
        )
        known = np.isfinite(mean)
        if np.count_nonzero(known) >= 2:
            fall = np.polyfit(along[known], mean[known], 1)[0]
            if abs(fall) > 1e-6:
                return bool(fall > 0.0)
    written = np.arange(len(names), dtype=np.float64)
    return bool((along - along.mean()) @ (written - written.mean()) < 0.0)


def _across_one_line(points: FloatArray) -> Centerline:
    """Return a short centerline square to a single line of digs."""
    middle = points.mean(axis=0)
    if len(points) == 1 or np.allclose(points, middle):
        across = np.array([1.0, 0.0])
    else:
        across = np.linalg.svd(points - middle)[2][0]
    down = np.array([across[1], -across[0]])
    ends = np.vstack([middle - 20.0 * down, middle + 20.0 * down])
    return Centerline(ends[:, 0], ends[:, 1], proposed=True)
