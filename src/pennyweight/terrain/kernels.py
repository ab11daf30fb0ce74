"""Loops over the cells of a surface, compiled; imported late, since numba is slow.

Directions are those of the routing library: powers of two clockwise from east,
0 where water leaves, 247 where nothing is known. `below` is the flat index of the
cell downstream of each, -1 where there is none; `order` lists the cells from their
outlets up.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

#: Row and column steps to the neighbors, clockwise from east, and their codes.
ROW_STEPS = np.array([0, 1, 1, 1, 0, -1, -1, -1])
COLUMN_STEPS = np.array([1, 1, 0, -1, -1, -1, 0, 1])
CODES = np.array([1, 2, 4, 8, 16, 32, 64, 128], dtype=np.uint8)

#: Code of a cell of which nothing is known.
UNKNOWN = 247


@njit(cache=True)
def _steepest(filled: Any, directions: Any, row: int, column: int) -> Any:
    """Return the neighbor (0 to 7) of the steepest fall; -1 where none is lower."""
    rows, columns = filled.shape
    steepest, found = 0.0, -1
    for k in range(8):
        r, c = row + ROW_STEPS[k], column + COLUMN_STEPS[k]
        outside = r < 0 or c < 0 or r >= rows or c >= columns
        if outside or directions[r, c] == UNKNOWN:
            continue
        fall = filled[row, column] - filled[r, c]
        if k % 2 == 1:
            fall /= np.sqrt(2.0)
        if fall > steepest:
            steepest, found = fall, k
    return found


@njit(cache=True)
def steepen(filled: Any, directions: Any) -> None:
    """Turn each direction to the steepest of the eight falls, where one falls at all.

    Flats, and pits that were filled, keep the direction in which the filling reached
    them; so no loop can arise: every step goes strictly down or back along the fill.

    Parameters
    ----------
    filled : ndarray, shape (n_rows, n_columns)
        Heights with the sinks filled [m].
    directions : ndarray of uint8, shape (n_rows, n_columns)
        Codes of the directions of the filling [-]; changed in place.
    """
    rows, columns = filled.shape
    for row in range(rows):
        for column in range(columns):
            if directions[row, column] == UNKNOWN:
                continue
            found = _steepest(filled, directions, row, column)
            if found >= 0:
                directions[row, column] = CODES[found]


@njit(cache=True)
def carve(height: Any, below: Any, order: Any) -> None:
    """Lower the cells below a rise in a flow path to the lowest height above them.

    Parameters
    ----------
    height : ndarray, shape (n_cells,)
        Heights [m]; changed in place.
    below, order : ndarray of int, shape (n_cells,)
        Cell below each, and the cells from their outlets up [-].
    """
    for at in range(order.size - 1, -1, -1):
        cell = order[at]
        next_cell = below[cell]
        if next_cell >= 0 and height[next_cell] > height[cell]:
            height[next_cell] = height[cell]


@njit(cache=True)
def mark_below(mask: Any, below: Any, starts: Any) -> None:
    """Mark every cell on the flow paths that begin at the starts.

    Parameters
    ----------
    mask : ndarray of bool, shape (n_cells,)
        Marks [-]; changed in place. A path ends where it meets a mark.
    below, starts : ndarray of int
        Cell below each; cells in which paths begin [-].
    """
    for start in starts:
        cell = start
        while cell >= 0 and not mask[cell]:
            mask[cell] = True
            cell = below[cell]


@njit(cache=True)
def mark_above(mask: Any, below: Any, order: Any) -> None:
    """Mark every cell whose water passes a marked one.

    Parameters
    ----------
    mask : ndarray of bool, shape (n_cells,)
        Marks [-]; changed in place.
    below, order : ndarray of int, shape (n_cells,)
        Cell below each, and the cells from their outlets up [-].
    """
    for cell in order:
        next_cell = below[cell]
        if next_cell >= 0 and mask[next_cell]:
            mask[cell] = True


@njit(cache=True)
def lengthen(below: Any, order: Any, columns: int) -> Any:
    """Return the way down to the outlet for every cell, in cells.

    Parameters
    ----------
    below, order : ndarray of int, shape (n_cells,)
        Cell below each, and the cells from their outlets up [-].
    columns : int
        Of the grid [-].

    Returns
    -------
    ndarray, shape (n_cells,)
        Cells, a step aslant counting as 1.414 [-]; nan where unknown.
    """
    way = np.full(below.size, np.nan)
    for cell in order:
        next_cell = below[cell]
        if next_cell < 0:
            way[cell] = 0.0
            continue
        aslant = cell // columns != next_cell // columns
        aslant = aslant and cell % columns != next_cell % columns
        way[cell] = way[next_cell] + (np.sqrt(2.0) if aslant else 1.0)
    return way
