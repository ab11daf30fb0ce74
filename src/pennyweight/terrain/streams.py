"""The stream tree as a flat record: reaches between confluences, downstream linked.

The same record comes from an elevation model (`find_streams`) and from lines drawn by
hand (`drawnstreams.join_lines`), so that whoever walks the tree need not ask which.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.terrain.routing import Routing

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Catchment from which a stream is drawn where nothing else is asked for [m2]:
#: channel heads were found below 1,000 to 100,000 m2 (Montgomery & Dietrich 1988,
#: Nature 336, 232-234, from memory); docs/sources.md "stream head".
USUAL_HEAD_M2 = 5_000.0

#: But at least this share of the largest catchment, so that a large model does not
#: drown in rills, and at most that one, so that a small one has its creek [-]: ours.
LEAST_SHARE, MOST_SHARE = 0.001, 0.05

#: No stream begins with fewer cells than this: less is the model's own roughness.
FEWEST_CELLS = 25


@dataclass(frozen=True)
class Streams:
    """A stream tree: arrays over reaches, and arrays over the points of their lines.

    A reach is the water between two confluences, a head and a confluence, or a
    confluence and where the water leaves. Reach r owns the points
    `first_point[r]` to `first_point[r + 1] - 1`, in order downstream; its last point
    is the confluence itself, which is the first point of the reach below.

    Attributes
    ----------
    downstream : ndarray of int, shape (n_reaches,)
        Reach that each flows into; -1 where the water leaves.
    first_point : ndarray of int, shape (n_reaches + 1,)
        Where the points of each reach begin.
    easting_m, northing_m : ndarray, shape (n_points,)
        The lines [m].
    chainage_m : ndarray, shape (n_points,)
        Way along the stream down to where the water leaves, 0 there [m].
    elevation_m : ndarray, shape (n_points,)
        Height of the bed, never rising downstream [m]; nan where unknown.
    point_area_m2 : ndarray, shape (n_points,)
        Catchment above each point [m2]; nan where unknown. At the last point of a
        reach it is the reach's own, before the waters join.
    cut_off : ndarray of bool, shape (n_reaches,)
        The catchment touches the edge of the model, so that it may be larger.
    name : tuple of (str or None), length n_reaches
        The user's name of each reach.
    findings : tuple of Finding
        What is odd about the tree, and what to do.
    drawn : bool
        True where lines were drawn by hand instead of found in a surface.
    """

    downstream: IndexArray
    first_point: IndexArray
    easting_m: FloatArray
    northing_m: FloatArray
    chainage_m: FloatArray
    elevation_m: FloatArray
    point_area_m2: FloatArray
    cut_off: npt.NDArray[np.bool_]
    name: tuple[str | None, ...]
    findings: tuple[Finding, ...] = ()
    drawn: bool = False

    @property
    def n_reaches(self) -> int:
        """How many reaches there are [-]."""
        return len(self.downstream)

    def line(self, reach: int) -> FloatArray:
        """Return the line of a reach.

        Parameters
        ----------
        reach : int
            Its number [-].

        Returns
        -------
        ndarray, shape (n_points, 2)
            Easting and northing in order downstream [m].
        """
        own = self.points(reach)
        return np.column_stack([self.easting_m[own], self.northing_m[own]])

    def points(self, reach: int) -> slice:
        """Return which of the point arrays' entries belong to a reach.

        Parameters
        ----------
        reach : int
            Its number [-].

        Returns
        -------
        slice
            Of easting_m and the other arrays over points [-].
        """
        return slice(int(self.first_point[reach]), int(self.first_point[reach + 1]))

    @cached_property
    def point_reach(self) -> IndexArray:
        """Reach that each point belongs to, shape (n_points,)."""
        return np.repeat(np.arange(self.n_reaches), np.diff(self.first_point))

    @cached_property
    def head_m(self) -> FloatArray:
        """Chainage of the upper end of each reach [m]."""
        return self.chainage_m[self.first_point[:-1]]

    @cached_property
    def foot_m(self) -> FloatArray:
        """Chainage of the lower end of each reach [m]."""
        return self.chainage_m[self.first_point[1:] - 1]

    @cached_property
    def length_m(self) -> FloatArray:
        """Length of each reach [m]."""
        return self.head_m - self.foot_m

    @cached_property
    def area_m2(self) -> FloatArray:
        """Catchment at the lower end of each reach, before the waters join [m2]."""
        return self.point_area_m2[self.first_point[1:] - 1]

    @cached_property
    def own_area_m2(self) -> FloatArray:
        """Catchment that drains into each reach itself, feeders left out [m2]."""
        fed = np.zeros(self.n_reaches)
        joins = self.downstream >= 0
        np.add.at(fed, self.downstream[joins], self.area_m2[joins])
        return self.area_m2 - fed

    @cached_property
    def slope(self) -> FloatArray:
        """Fall over length of each reach [m/m]; nan where heights are unknown."""
        top = self.elevation_m[self.first_point[:-1]]
        foot = self.elevation_m[self.first_point[1:] - 1]
        length_m = np.where(self.length_m > 0.0, self.length_m, np.nan)
        return np.asarray((top - foot) / length_m)

    @cached_property
    def seq(self) -> IndexArray:
        """Reaches ordered from where the water leaves, up: each after the one below."""
        # A reach has length, so the head of the one below lies nearer to the outlet.
        return np.asarray(np.argsort(self.head_m, kind="stable"))

    @cached_property
    def order(self) -> IndexArray:
        """Strahler's number of each reach: 1 at a head, one more where equals join."""
        order = np.ones(self.n_reaches, dtype=np.int64)
        largest = np.zeros(self.n_reaches, dtype=np.int64)
        twice = np.zeros(self.n_reaches, dtype=np.bool_)
        for reach in self.seq[::-1]:
            if largest[reach]:
                order[reach] = largest[reach] + bool(twice[reach])
            below = self.downstream[reach]
            if below >= 0:
                twice[below] = (order[reach] == largest[below]) or (
                    twice[below] and order[reach] < largest[below]
                )
                largest[below] = max(largest[below], order[reach])
        return order

    def upstream_of(self, reach: int) -> IndexArray:
        """Return the reaches whose water passes a reach.

        Parameters
        ----------
        reach : int
            Its number [-].

        Returns
        -------
        ndarray of int, shape (n_upstream,)
            Their numbers [-], its own included.
        """
        passes = np.zeros(self.n_reaches, dtype=np.bool_)
        passes[reach] = True
        for other in self.seq:
            below = self.downstream[other]
            passes[other] |= below >= 0 and passes[below]
        return np.flatnonzero(passes)


def find_streams(
    routing: Routing,
    *,
    least_area_m2: float | None = None,
    heads: FloatArray | None = None,
    longest_m: float | None = None,
) -> Streams:
    """Return the stream tree of an elevation model.

    Parameters
    ----------
    routing : Routing
        How water runs.
    least_area_m2 : float, optional
        Catchment from which a stream is drawn [m2]; by default 5,000 m2, between
        0.1 and 5 % of the largest one, and never fewer than 25 cells.
    heads : ndarray, shape (n_heads, 2), optional
        Places where a stream is known to begin [m], whatever its catchment: it is
        followed down from the stream cell found there.
    longest_m : float, optional
        Longer reaches are parted into equal ones no longer than this [m].

    Returns
    -------
    Streams
        The tree; names are None (see `naming.name_reaches`).

    Raises
    ------
    ValueError
        No catchment is as large as asked for.
    """
    from pyflwdir import streams  # noqa: PLC0415 - numba is slow

    from pennyweight.terrain.kernels import mark_below  # noqa: PLC0415

    area_m2 = routing.catchment_m2
    if least_area_m2 is None:
        least_area_m2 = default_least_area_m2(routing)
    mask = np.nan_to_num(area_m2.ravel(), nan=0.0) >= least_area_m2
    if heads is not None and len(heads):
        starts = routing.cells(heads[:, 0], heads[:, 1])
        mark_below(mask, routing.below, starts[starts >= 0])
    if not mask.any():
        msg = (
            f"no catchment of the elevation model reaches {least_area_m2:.0f} m2; the "
            f"largest has {np.nanmax(area_m2):.0f} m2. Ask for less."
        )
        raise ValueError(msg)
    to_itself = np.where(routing.below < 0, np.arange(mask.size), routing.below)
    longest = 0
    if longest_m is not None:
        longest = max(2, round(longest_m / (1.2 * routing.model.cell_m)))
    found = streams.streams(
        to_itself, routing.order, mask=mask, max_len=longest, mv=np.int64(-1)
    )
    return _record(routing, [np.asarray(line, dtype=np.int64) for line in found])


def default_least_area_m2(routing: Routing) -> float:
    """Return the catchment from which a stream is drawn where none is asked for [m2].

    Parameters
    ----------
    routing : Routing
        How water runs.

    Returns
    -------
    float
        5,000 m2, between 0.1 and 5 % of the largest catchment, never fewer than 25
        cells [m2].
    """
    largest = float(np.nanmax(routing.catchment_m2))
    usual = float(np.clip(USUAL_HEAD_M2, LEAST_SHARE * largest, MOST_SHARE * largest))
    return max(usual, FEWEST_CELLS * routing.model.cell_m**2)


def _record(routing: Routing, lines: list[IndexArray]) -> Streams:
    """Return the record of lines of cells that end at their confluence or outlet."""
    # The library ends every tree with a line of no length at its outlet.
    lines = [line for line in lines if line[0] != line[-1]]
    lengths = np.array([len(line) for line in lines], dtype=np.int64)
    first = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64)
    cells = np.concatenate(lines) if lines else np.zeros(0, dtype=np.int64)
    east, north = routing.places(cells)
    at_head = np.full(routing.below.size, -1, dtype=np.int64)
    at_head[cells[first[:-1]]] = np.arange(len(lines))
    last = cells[first[1:] - 1]
    below = np.where(routing.below[last] < 0, -1, at_head[last])
    area_m2 = routing.catchment_m2.ravel()[cells]
    own_last = first[1:] - 1
    joins = below >= 0
    # Waters may also meet in the very cell where they leave.
    _, back, together = np.unique(last, return_inverse=True, return_counts=True)
    joins |= together[back] > 1
    # Before the waters join: what the last cell of its own holds.
    area_m2[own_last[joins]] = area_m2[own_last[joins] - 1]
    return Streams(
        downstream=below,
        first_point=first,
        easting_m=east,
        northing_m=north,
        chainage_m=routing.way_m.ravel()[cells],
        elevation_m=routing.carved_m.ravel()[cells],
        point_area_m2=area_m2,
        cut_off=routing.cut_off.ravel()[cells[own_last - np.where(joins, 1, 0)]],
        name=(None,) * len(lines),
    )
