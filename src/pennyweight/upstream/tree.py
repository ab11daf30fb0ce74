"""The stream tree as the search for a source sees it: pieces, areas, what feeds what.

A piece is a stretch of a reach; its foot is its lower end. Pieces are cut so that
every sample lies at the foot of one. Distances run along the water.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Catchment that a kilometer of stream drains where no surface tells [km2/km]; ours.
DEFAULT_WIDTH_KM = 1.0
#: Power of the slope in the yield of sediment, and how far it may raise or lower it
#: [-]; ours. docs/sources.md "sediment yield".
SLOPE_POWER, MOST_SLOPE_FACTOR = 0.5, 3.0
#: Least area of a piece [km2], so that every piece may hold a source.
LEAST_AREA_KM2 = 1e-6


@dataclass(frozen=True)
class StreamTree:
    """Reaches that flow into one another, as arrays of shape (n_reaches,).

    Attributes
    ----------
    down : ndarray of int
        Reach that each flows into; -1 at an outlet.
    length_m : ndarray
        Lengths, 0 or more [m].
    own_area_km2 : ndarray
        Catchment that drains into the reach itself, feeders left out, what lies above
        its head included [km2].
    head_area_km2 : ndarray
        The part of it above the head; 0 where feeders meet [km2].
    yield_factor : ndarray
        Sediment that a square kilometer of it gives, over the usual [-].
    """

    down: IndexArray
    length_m: FloatArray
    own_area_km2: FloatArray
    head_area_km2: FloatArray
    yield_factor: FloatArray

    @property
    def n_reaches(self) -> int:
        """How many reaches there are [-]."""
        return len(self.down)

    @cached_property
    def order(self) -> IndexArray:
        """Reaches ordered so that each comes after all that flow into it."""
        return order_upstream_first(self.down)

    @cached_property
    def foot_m(self) -> FloatArray:
        """Way from each reach's foot down to the outlet [m]."""
        from pennyweight.upstream.kernels import sum_below  # noqa: PLC0415 - numba

        return np.asarray(sum_below(self.down, self.order, self.length_m))

    @cached_property
    def supply_km2(self) -> FloatArray:
        """Sediment that passes each reach's foot, as the area of usual yield [km2]."""
        return gather(self.down, self.order, self.own_area_km2 * self.yield_factor)


def make_tree(
    down: npt.ArrayLike,
    length_m: npt.ArrayLike,
    *,
    own_area_km2: npt.ArrayLike | None = None,
    head_area_km2: npt.ArrayLike | None = None,
    slope: npt.ArrayLike | None = None,
    erodibility: npt.ArrayLike | None = None,
    width_km: float = DEFAULT_WIDTH_KM,
) -> StreamTree:
    """Return a stream tree with what is unknown filled in.

    Parameters
    ----------
    down : array_like of int, shape (n_reaches,)
        Reach that each flows into; -1 at an outlet [-].
    length_m : array_like, shape (n_reaches,)
        Lengths [m].
    own_area_km2, head_area_km2 : array_like, optional
        As in `StreamTree` [km2]; nan where unknown.
    slope : array_like, optional
        Fall over length [m/m]; nan where unknown.
    erodibility : array_like, optional
        How readily the mapped rock wears down, over the usual rock [-].
    width_km : float
        Catchment of a kilometer of stream where no area is known [km2/km].

    Returns
    -------
    StreamTree
        Areas and yields above 0 everywhere.

    Raises
    ------
    ValueError
        The reaches flow in a circle, or a length is negative.
    """
    below = np.asarray(down, dtype=np.int64)
    length = np.asarray(length_m, dtype=np.float64)
    _check(below, length)
    area = _filled(own_area_km2, len(below))
    guessed = np.maximum(length / 1000.0 * width_km, LEAST_AREA_KM2)
    area = np.where(np.isfinite(area), np.maximum(area, LEAST_AREA_KM2), guessed)
    head = np.nan_to_num(_filled(head_area_km2, len(below)))
    factor = slope_factor(_filled(slope, len(below)))
    rock = _filled(erodibility, len(below))
    factor = factor * np.where(np.isfinite(rock), np.maximum(rock, 1e-3), 1.0)
    return StreamTree(
        down=below,
        length_m=length,
        own_area_km2=area,
        head_area_km2=np.clip(head, 0.0, area),
        yield_factor=factor,
    )


def _check(down: IndexArray, length_m: FloatArray) -> None:
    outside = (down >= len(down)) | (down < -1)
    if outside.any():
        at = int(np.argmax(outside))
        msg = f"reach {at} flows into reach {down[at]}; there are {len(down)} reaches."
        raise ValueError(msg)
    wrong = ~(length_m >= 0.0)
    if wrong.any():
        at = int(np.argmax(wrong))
        msg = f"reach {at} is {length_m[at]} m long; a length is 0 or more."
        raise ValueError(msg)
    order_upstream_first(down)


def _filled(values: npt.ArrayLike | None, count: int) -> FloatArray:
    if values is None:
        return np.full(count, np.nan)
    return np.asarray(values, dtype=np.float64)


def slope_factor(slope: npt.ArrayLike) -> FloatArray:
    """Return how much sediment steeper ground gives, over the median slope's.

    Parameters
    ----------
    slope : array_like
        Fall over length [m/m]; nan where unknown, which counts as the median.

    Returns
    -------
    ndarray
        (slope over median)^0.5, between a third and three [-].

    Examples
    --------
    >>> slope_factor([0.04, 0.04, 0.16]).round(6).tolist()
    [1.0, 1.0, 2.0]
    """
    falls = np.asarray(slope, dtype=np.float64)
    known = falls[np.isfinite(falls) & (falls > 0.0)]
    if known.size == 0:
        return np.ones(falls.shape)
    middle = float(np.median(known))
    share = np.where(np.isfinite(falls), np.maximum(falls, 0.0), middle) / middle
    factor = np.power(share, SLOPE_POWER)
    return np.asarray(np.clip(factor, 1.0 / MOST_SLOPE_FACTOR, MOST_SLOPE_FACTOR))


def order_upstream_first(down: IndexArray) -> IndexArray:
    """Return the reaches so that each comes after all that flow into it.

    Parameters
    ----------
    down : ndarray of int, shape (n_reaches,)
        Reach that each flows into; -1 at an outlet [-].

    Returns
    -------
    ndarray of int, shape (n_reaches,)
        Reaches in that order.

    Raises
    ------
    ValueError
        Reaches flow in a circle.
    """
    from pennyweight.upstream.kernels import sort_down  # noqa: PLC0415 - numba is slow

    order = np.asarray(sort_down(np.ascontiguousarray(down, dtype=np.int64)))
    if len(order) < len(down):
        stuck = sorted(set(range(len(down))) - set(order.tolist()))
        msg = (
            f"reach {stuck[0]} flows back into itself, in a circle of "
            f"{len(stuck)} reaches or fewer; water cannot. Draw the loop apart."
        )
        raise ValueError(msg)
    return order


def gather(down: IndexArray, order: IndexArray, values: FloatArray) -> FloatArray:
    """Return the sum of values over each reach and all that flow into it.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_reaches,)
        Reach below each; reaches upstream first [-].
    values : ndarray, shape (n_reaches,)
        In any one unit [-].

    Returns
    -------
    ndarray, shape (n_reaches,)
        Sums, in the same unit.
    """
    from pennyweight.upstream.kernels import sum_above  # noqa: PLC0415 - numba is slow

    return np.asarray(sum_above(down, order, np.asarray(values, dtype=np.float64)))


@dataclass(frozen=True)
class Pieces:
    """Reaches cut into pieces, a tree again.

    Attributes
    ----------
    tree : StreamTree
        Of the pieces.
    reach : ndarray of int, shape (n_pieces,)
        Reach that each piece belongs to.
    above_m : ndarray, shape (n_pieces,)
        Way from the foot of its reach up to the foot of the piece [m].
    at : ndarray of int, shape (n_cuts,)
        Piece whose foot lies at each cut that was asked for.
    """

    tree: StreamTree
    reach: IndexArray
    above_m: FloatArray
    at: IndexArray


def cut_reaches(
    tree: StreamTree,
    reach: npt.ArrayLike,
    above_m: npt.ArrayLike,
    *,
    longest_m: float = np.inf,
) -> Pieces:
    """Return the tree in pieces that begin and end where samples were taken.

    Parameters
    ----------
    tree : StreamTree
        Of reaches.
    reach : array_like of int, shape (n_cuts,)
        Reach of each cut [-].
    above_m : array_like, shape (n_cuts,)
        Way from the reach's foot up to the cut [m]; clipped to the reach.
    longest_m : float
        Longer pieces are parted into equal ones [m].

    Returns
    -------
    Pieces
        From the foot of reach 0 up, then reach 1, and so on.
    """
    where = np.asarray(reach, dtype=np.int64)
    # To a millimeter: a cut at the very head would leave a piece without length.
    high = np.clip(np.asarray(above_m, dtype=np.float64), 0.0, None)
    high = np.asarray(np.minimum(high, 0.999 * tree.length_m[where]).round(3))
    if np.isfinite(longest_m) and longest_m > 0.0:
        parts = np.maximum(np.ceil(tree.length_m / longest_m), 1.0).astype(np.int64)
    else:
        parts = np.ones(tree.n_reaches, dtype=np.int64)
    owner = np.repeat(np.arange(tree.n_reaches), parts)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
    even = np.asarray((number * tree.length_m[owner] / parts[owner]).round(3))
    keys = np.stack([np.concatenate([owner, where]), np.concatenate([even, high])])
    found, back = np.unique(keys, axis=1, return_inverse=True)
    own = found[0].astype(np.int64)
    foot = np.asarray(found[1], dtype=np.float64)
    at = back.reshape(-1)[len(owner) :].astype(np.int64)
    return Pieces(_tree_of_pieces(tree, own, foot), own, foot, at)


def _tree_of_pieces(
    tree: StreamTree, own: IndexArray, foot_m: FloatArray
) -> StreamTree:
    """Return the tree of pieces, in order of reach and height above its foot."""
    count = len(own)
    first = np.searchsorted(own, np.arange(tree.n_reaches))
    lowest = np.zeros(count, dtype=np.bool_)
    lowest[first] = True
    last = np.append(lowest[1:], True)
    top = np.where(last, tree.length_m[own], np.append(foot_m[1:], 0.0))
    length = np.maximum(top - foot_m, 0.0)
    below = tree.down[own]
    # A feeder flows in at the head of the reach below: into its uppermost piece.
    upper = np.append(first[1:], count) - 1
    into = np.where(below >= 0, upper[np.maximum(below, 0)], -1)
    down = np.where(lowest, into, np.arange(count) - 1)
    whole = np.maximum(tree.length_m[own], 1e-9)
    spread = tree.own_area_km2[own] - tree.head_area_km2[own]
    share = np.where(tree.length_m[own] > 0.0, length / whole, last)
    area = spread * share + np.where(last, tree.head_area_km2[own], 0.0)
    return StreamTree(
        down=down,
        length_m=length,
        own_area_km2=np.maximum(area, LEAST_AREA_KM2 * 1e-3),
        head_area_km2=np.where(last, tree.head_area_km2[own], 0.0),
        yield_factor=tree.yield_factor[own],
    )
