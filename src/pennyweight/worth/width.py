"""A pit wide enough for the machine: the best repair found of the freest one.

A pit is wide enough where every slice of it can be covered by squares as wide as the
machine that lie in it whole. The freest pit under the walls is solved exactly; that
rule makes the problem too hard for that, so that several repairs are tried and
the best is kept. What the repair costs is told by the caller.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from pennyweight.worth.closure import best_closure
from pennyweight.worth.walls import Walls, dig_walls, fill_walls, list_rules

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: What digging where it is not allowed is said to cost; it never pays.
FORBIDDEN = -1.0e9

#: Single changes that are tried from each pit, at most [-].
MOST_TRIALS = 300

#: Changes of one square, about [-].
TRIALS_EACH = 4

#: Pits from which such changes begin: the best of those tried [-].
MOST_STARTS = 3

#: Least gain for which a change is taken [currency].
MARGIN = 1e-6


def open_levels(levels: IntArray, window: tuple[int, int]) -> IntArray:
    """Return the part of a pit that the machine can reach.

    Parameters
    ----------
    levels : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    window : tuple of int
        Rows and columns that the machine needs, 1 or more [-].

    Returns
    -------
    ndarray of int, shape (n_rows, n_columns)
        The largest pit inside the one given that is wide enough at every depth; its
        walls are no steeper [-].

    Examples
    --------
    >>> open_levels(np.array([[1, 3, 2, 0, 1]]), (1, 2)).tolist()
    [[1, 2, 2, 0, 0]]
    """
    if levels.shape[0] < window[0] or levels.shape[1] < window[1]:
        return np.zeros_like(levels)
    deepest = sliding_window_view(levels, window).min(axis=(2, 3))
    wide = np.zeros_like(levels)
    rows, columns = deepest.shape
    for down, right in product(range(window[0]), range(window[1])):
        there = wide[down : down + rows, right : right + columns]
        np.maximum(there, deepest, out=there)
    return wide


def pit_value(levels: IntArray, worth: FloatArray) -> float:
    """Return what a pit is worth.

    Parameters
    ----------
    levels : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    worth : ndarray, shape (n_slices + 1, n_rows, n_columns)
        Of each column dug to each level, 0 at level 0 [currency].

    Returns
    -------
    float
        Money [currency].
    """
    return float(np.take_along_axis(worth, levels[None], axis=0).sum())


def sum_worth(value: FloatArray) -> FloatArray:
    """Return what every column is worth, dug to each level.

    Parameters
    ----------
    value : ndarray, shape (n_slices, n_rows, n_columns)
        Of each slice [currency].

    Returns
    -------
    ndarray, shape (n_slices + 1, n_rows, n_columns)
        Added up from the surface [currency].
    """
    return np.concatenate([np.zeros((1, *value.shape[1:])), np.cumsum(value, axis=0)])


def widen_pit(
    free: IntArray, value: FloatArray, *, window: tuple[int, int], walls: Walls
) -> IntArray:
    """Return the best pit found that is wide enough for the machine.

    Parameters
    ----------
    free : ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column of the best pit under the walls alone [-].
    value : ndarray, shape (n_slices, n_rows, n_columns)
        Of each slice [currency].
    window : tuple of int
        Rows and columns that the machine needs, 1 or more [-].
    walls : Walls
        What the walls need.

    Returns
    -------
    ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column; never worth more than the free pit [-].

    Notes
    -----
    Tried are: what the machine can reach of the free pit, and of the pit of values
    smoothed over the machine's width; the exact best pit of squares laid side by side,
    for every way to lay them. From the best of these, single squares are deepened
    with their walls, or given up, for as long as that pays.
    """
    worth = sum_worth(value)
    if window == (1, 1) or not free.any():
        return free
    tried = [open_levels(free, window), np.zeros_like(free)]
    tried.append(open_levels(_smoothed_pit(value, window, walls), window))
    tried += [
        _tiled_pit(value, window, (down, right), walls)
        for down, right in product(range(window[0]), range(window[1]))
    ]
    starts = sorted(tried, key=lambda levels: -pit_value(levels, worth))[:MOST_STARTS]
    machine = _Machine(window, walls)
    improved = [_improve(start, free, worth, machine) for start in starts]
    return max(improved, key=lambda levels: pit_value(levels, worth))


def solve_pit(value: FloatArray, walls: Walls) -> IntArray:
    """Return the exact best pit under the walls alone.

    Parameters
    ----------
    value : ndarray, shape (n_slices, n_rows, n_columns)
        Of each slice [currency].
    walls : Walls
        What the walls need.

    Returns
    -------
    ndarray of int, shape (n_rows, n_columns)
        Slices dug from each column [-].
    """
    rules = list_rules(walls, *value.shape[1:])
    mined = best_closure(value.ravel(), *rules).reshape(value.shape)
    return np.asarray(mined.sum(axis=0), dtype=np.int64)


def _smoothed_pit(value: FloatArray, window: tuple[int, int], walls: Walls) -> IntArray:
    """Return the pit of values averaged over the machine's width."""
    padded = np.pad(
        value, ((0, 0), (0, window[0] - 1), (0, window[1] - 1)), mode="edge"
    )
    means = sliding_window_view(padded, window, axis=(1, 2)).mean(axis=(3, 4))
    return solve_pit(np.where(value <= FORBIDDEN, FORBIDDEN, means), walls)


def _tiled_pit(
    value: FloatArray, window: tuple[int, int], first: tuple[int, int], walls: Walls
) -> IntArray:
    """Return the exact best pit of squares laid side by side from a first one."""
    count, rows, columns = value.shape
    down, right = window
    starts = [np.arange(first[0] - down, rows, down)]
    starts.append(np.arange(first[1] - right, columns, right))
    sums = np.full((count, len(starts[0]), len(starts[1])), FORBIDDEN)
    for at, row in enumerate(starts[0]):
        if row < 0 or row + down > rows:
            continue
        band = value[:, row : row + down].sum(axis=1)
        whole = (starts[1] >= 0) & (starts[1] + right <= columns)
        ends = np.concatenate([np.zeros((count, 1)), np.cumsum(band, axis=1)], axis=1)
        left = starts[1][whole]
        sums[:, at, whole] = ends[:, left + right] - ends[:, left]
    levels = solve_pit(sums, walls)
    spread = np.repeat(np.repeat(levels, down, axis=0), right, axis=1)
    above, before = -int(starts[0][0]), -int(starts[1][0])
    return np.asarray(spread[above : above + rows, before : before + columns])


@dataclass(frozen=True)
class _Machine:
    """What one change of a square brings along, the same wherever the square lies."""

    window: tuple[int, int]
    walls: Walls

    @property
    def reach(self) -> int:
        """How far a change can go, with a rim over which the machine may stand."""
        return int(self.walls.needed.shape[1]) + 2 * max(self.window)

    @cached_property
    def cones(self) -> list[IntArray]:
        """Least levels around a square of each depth: its walls."""
        return [self._around(0, depth, dig_walls) for depth in self._depths]

    @cached_property
    def roofs(self) -> list[IntArray]:
        """Most levels around a square left at each depth."""
        deepest = self._depths[-1]
        return [self._around(deepest, depth, fill_walls) for depth in self._depths]

    @property
    def _depths(self) -> range:
        return range(self.walls.needed.shape[1])

    def _around(
        self, usual: int, depth: int, settle: Callable[[IntArray, Walls], IntArray]
    ) -> IntArray:
        rows, columns = (size + 2 * self.reach for size in self.window)
        levels = np.full((rows, columns), usual, dtype=np.int64)
        levels[self.square] = depth
        return settle(levels, self.walls)

    @property
    def square(self) -> tuple[slice, slice]:
        """The square in the ground around it."""
        rows, columns = (slice(self.reach, self.reach + size) for size in self.window)
        return rows, columns


def _improve(
    levels: IntArray, free: IntArray, worth: FloatArray, machine: _Machine
) -> IntArray:
    """Deepen single squares, or give them up, for as long as that pays.

    Ground around the grid is added, which nobody may dig.
    """
    reach = machine.reach
    best, wanted = (np.pad(one, reach) for one in (levels, free))
    sides = ((0, 0), (reach, reach), (reach, reach))
    money_at = np.pad(worth, sides)
    inside = np.pad(np.ones(levels.shape, dtype=np.bool_), reach)
    trials, better = 0, True
    while better and trials < MOST_TRIALS:
        better = False
        places = _changed_places(best, wanted, money_at, machine.window)
        for place in places[: (MOST_TRIALS - trials) // TRIALS_EACH + 1]:
            around = _ground_around(place, machine)
            ground = _Patch(
                best[around], wanted[around], inside[around], money_at[:, *around]
            )
            found = _best_change(ground, machine)
            trials += TRIALS_EACH
            if found is not None:
                best[around], better = found, True
    return best[reach:-reach, reach:-reach]


@dataclass(frozen=True, slots=True)
class _Patch:
    """The ground around a square: pit, free pit, what may be dug, and its worth."""

    levels: IntArray
    free: IntArray
    inside: BoolArray
    worth: FloatArray


def _best_change(ground: _Patch, machine: _Machine) -> IntArray | None:
    """Return the pit after the change that pays most; None where none pays."""
    found, money = None, pit_value(ground.levels, ground.worth) + MARGIN
    for trial in _trials(ground, machine):
        gained = pit_value(trial, ground.worth)
        if gained > money:
            found, money = trial, gained
    return found


def _changed_places(
    levels: IntArray, free: IntArray, worth: FloatArray, window: tuple[int, int]
) -> list[tuple[int, int]]:
    """Return where squares begin over which the pit and the free one differ.

    Those that give up most come first.
    """
    differs = sliding_window_view(levels != free, window).any(axis=(2, 3))
    given_up = np.take_along_axis(worth, free[None], axis=0)[0]
    given_up = given_up - np.take_along_axis(worth, levels[None], axis=0)[0]
    lost = sliding_window_view(given_up, window).sum(axis=(2, 3))[differs]
    places = np.argwhere(differs)[np.argsort(-lost, kind="stable")]
    return [(int(place[0]), int(place[1])) for place in places]


def _ground_around(place: tuple[int, int], machine: _Machine) -> tuple[slice, slice]:
    rows, columns = (
        slice(max(start - machine.reach, 0), start + size + machine.reach)
        for start, size in zip(place, machine.window, strict=True)
    )
    return rows, columns


def _trials(ground: _Patch, machine: _Machine) -> Iterator[IntArray]:
    """Return the pit with one square deepened, or left shallower, in several ways."""
    levels, free, inside = ground.levels, ground.free, ground.inside
    shape = (
        machine.window[0] + 2 * machine.reach,
        machine.window[1] + 2 * machine.reach,
    )
    if levels.shape != shape or not inside[machine.square].all():
        return
    now, wanted = levels[machine.square], free[machine.square]
    for depth in sorted({int(wanted.max()), int(wanted.min()), int(now.max())}):
        if depth > now.min():
            yield np.where(inside, np.maximum(levels, machine.cones[depth]), 0)
    for depth in sorted({int(wanted.min()), max(int(now.max()) - 1, 0), 0}):
        if depth < now.max():
            lower = np.minimum(levels, machine.roofs[depth])
            opened = open_levels(lower, machine.window)
            # At the rim the machine may stand on ground that is not looked at here.
            rim = max(machine.window)
            trial = levels.copy()
            trial[rim:-rim, rim:-rim] = opened[rim:-rim, rim:-rim]
            yield trial
