"""How deep the neighbors of a column must be dug, so that no wall stands too steep.

A level counts the slices that are dug from a column: 0 is untouched ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: The eight neighbors of a column: steps over rows and over columns.
NEIGHBORS = tuple(step for step in product((-1, 0, 1), repeat=2) if step != (0, 0))

#: Steepest walls by what stands in them, 29 CFR 1926 Subpart P, appendix B, for
#: reckoning volumes up to 20 ft deep, never a promise [deg]: type C 1.5 across for 1
#: down (gravel, sand, anything that seeps), type B 1 to 1 (silt, clay), type A 0.75 to
#: 1 (cemented ground; rock is taken no steeper).
MATERIAL_WALL_DEG = {
    "gravel": 33.69,
    "sand": 33.69,
    "silt": 45.0,
    "clay": 45.0,
    "cemented gravel": 53.13,
    "bedrock": 53.13,
}

#: Where a material is not among these, and for anything under water.
GRAVEL_WALL_DEG = 33.69


@dataclass(frozen=True, slots=True)
class Walls:
    """Levels that the neighbors of a column need.

    Attributes
    ----------
    needed : ndarray of int, shape (8, n_slices + 1)
        For each of `NEIGHBORS` and each level of a column, the level that this
        neighbor needs at least [-]. It never falls with the level.
    """

    needed: IntArray


def slope_walls(
    slopes_deg: FloatArray, slice_m: float, edges_m: tuple[float, float]
) -> Walls:
    """Return what the walls of a pit need, from their slope in every slice.

    Parameters
    ----------
    slopes_deg : ndarray, shape (n_slices,)
        Steepest wall in each slice, above 0 and below 90 [deg].
    slice_m : float
        Height of a slice, above 0 [m].
    edges_m : tuple of float
        Sides of a column along and across the valley, above 0 [m].

    Returns
    -------
    Walls
        A wall that starts at the bottom of a slice and rises through the slices over
        it may not reach farther up at the next column than it can.

    Raises
    ------
    ValueError
        A slope lies outside what is allowed.

    Examples
    --------
    >>> walls = slope_walls(np.full(3, 45.0), 1.0, (2.0, 1.0))
    >>> walls.needed[NEIGHBORS.index((0, 1))].tolist()
    [0, 0, 1, 2]
    >>> walls.needed[NEIGHBORS.index((1, 0))].tolist()
    [0, 0, 0, 1]
    """
    if not np.all((slopes_deg > 0.0) & (slopes_deg < 90.0)):
        odd = float(slopes_deg[~((slopes_deg > 0.0) & (slopes_deg < 90.0))][0])
        msg = f"wall_slope_deg is {odd}; it lies between 0 and 90."
        raise ValueError(msg)
    reach = np.cumsum(slice_m / np.tan(np.deg2rad(slopes_deg)))
    needed = np.zeros((len(NEIGHBORS), len(slopes_deg) + 1), dtype=np.int64)
    for at, step in enumerate(NEIGHBORS):
        away_m = float(np.hypot(edges_m[0] * step[0], edges_m[1] * step[1]))
        left = reach - away_m - 1e-9 * reach[-1]
        needed[at, 1:] = np.where(left > 0.0, np.searchsorted(reach, left) + 1, 0)
    return Walls(needed)


def list_rules(walls: Walls, rows: int, columns: int) -> tuple[IntArray, IntArray]:
    """Return which slice needs which: the one above, and those of the walls.

    Parameters
    ----------
    walls : Walls
        What the walls need.
    rows, columns : int
        Of the ground [-].

    Returns
    -------
    tuple of ndarray of int, shape (n_rules,)
        Slice, and the slice that it needs, as places in the flattened array
        (n_slices, n_rows, n_columns) [-].
    """
    count = walls.needed.shape[1] - 1
    number = np.arange(count * rows * columns).reshape(count, rows, columns)
    block, needs = [number[1:].ravel()], [number[:-1].ravel()]
    for (down, right), levels in zip(NEIGHBORS, walls.needed, strict=True):
        deep = np.flatnonzero(levels[1:] > 0)
        if len(deep) == 0:
            continue
        here = number[deep][:, part(-down, rows), part(-right, columns)]
        above = number[levels[1:][deep] - 1]
        block.append(here.ravel())
        needs.append(above[:, part(down, rows), part(right, columns)].ravel())
    return np.concatenate(block), np.concatenate(needs)


def part(step: int, size: int) -> slice:
    """Return the part of an axis that has a neighbor that many steps back.

    Parameters
    ----------
    step, size : int
        Steps, and length of the axis [-].

    Returns
    -------
    slice
        Of that axis.
    """
    return slice(max(step, 0), size + min(step, 0))


def stands(levels: IntArray, walls: Walls) -> bool:
    """Tell whether no wall of a pit is steeper than allowed.

    Parameters
    ----------
    levels : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    walls : Walls
        What the walls need.

    Returns
    -------
    bool
        The edge of the ground itself is not looked at.
    """
    rows, columns = levels.shape
    for (down, right), needed in zip(NEIGHBORS, walls.needed, strict=True):
        here = levels[part(-down, rows), part(-right, columns)]
        there = levels[part(down, rows), part(right, columns)]
        if np.any(there < needed[here]):
            return False
    return True


def dig_walls(levels: IntArray, walls: Walls) -> IntArray:
    """Return a pit made larger until all its walls stand.

    Parameters
    ----------
    levels : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    walls : Walls
        What the walls need.

    Returns
    -------
    ndarray of int, shape (n_rows, n_columns)
        The smallest such pit that holds the one given [-].
    """
    rows, columns = levels.shape
    dug = levels.copy()
    while True:
        before = dug.copy()
        for (down, right), needed in zip(NEIGHBORS, walls.needed, strict=True):
            here = dug[part(-down, rows), part(-right, columns)]
            there = dug[part(down, rows), part(right, columns)]
            np.maximum(there, needed[here], out=there)
        if np.array_equal(before, dug):
            return dug


def fill_walls(levels: IntArray, walls: Walls) -> IntArray:
    """Return a pit made smaller until all its walls stand.

    Parameters
    ----------
    levels : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    walls : Walls
        What the walls need.

    Returns
    -------
    ndarray of int, shape (n_rows, n_columns)
        The largest such pit inside the one given [-].
    """
    rows, columns = levels.shape
    depths = np.arange(walls.needed.shape[1])
    allowed = [
        np.searchsorted(needed, depths, side="right") - 1 for needed in walls.needed
    ]
    left = levels.copy()
    while True:
        before = left.copy()
        for (down, right), most in zip(NEIGHBORS, allowed, strict=True):
            here = left[part(-down, rows), part(-right, columns)]
            there = left[part(down, rows), part(right, columns)]
            np.minimum(here, most[there], out=here)
        if np.array_equal(before, left):
            return left
