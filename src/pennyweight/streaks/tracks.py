"""Tracks: where linked crossings lie once they are looked at together.

Penalized least squares on the links of one topology: a crossing lies at its track
plus its line's shift plus its own noise; a track steps little and bends little.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.crossings import Crossings
from pennyweight.streaks.links import PER_M, PLACE_M

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Change of the sideways slope over 15 m [-]. Our choice.
BEND = 0.20
#: Draws of places and shifts are spread by this: whether lines shift along the valley
#: too, and how a track may bend, is not known to the least squares [-]. Our choice.
SPREAD_OUT = 1.25
#: A shift without receiver error still has this sd, so that nothing is singular [m].
LEAST_SHIFT_M = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracks:
    """One joint draw of the places of crossings and of the shifts of lines.

    Attributes
    ----------
    n_m : ndarray, shape (n_candidates,)
        Place on the track, shift taken off [m].
    shift_m : ndarray, shape (n_lines,)
        By how much a line was written down too far left [m].
    """

    n_m: FloatArray
    shift_m: FloatArray


def draw_tracks(
    crossings: Crossings,
    links: tuple[IntArray, IntArray],
    line_s_m: FloatArray,
    *,
    shift_sd_m: float,
    sideways_m: float,
    noise: FloatArray,
) -> Tracks:
    """Return a draw of the tracks of one topology.

    Parameters
    ----------
    crossings : Crossings
        All candidates.
    links : tuple of ndarray of int, each shape (n_links,)
        Parent and child of each link [-].
    line_s_m : ndarray, shape (n_lines,)
        Places of the lines [m].
    shift_sd_m : float
        Position error of a whole line [m]; 0 draws no shift.
    sideways_m : float
        Sideways step over 15 m [m].
    noise : ndarray, shape (n_candidates + n_lines,)
        Standard normal numbers that the draw is made of [-].

    Returns
    -------
    Tracks
        Without a position error the places are their mean.
    """
    n_lines, n_found = len(line_s_m), len(crossings.line)
    shift_sd = max(shift_sd_m, LEAST_SHIFT_M)
    precision = np.zeros((n_found + n_lines, n_found + n_lines))
    target = np.zeros(n_found + n_lines)

    def hold(columns: list[int], factors: list[float], sd: float, value: float) -> None:
        row = np.array(factors) / sd
        precision[np.ix_(columns, columns)] += np.outer(row, row)
        target[columns] += row * value / sd

    for at in range(n_found):
        sd = float(np.hypot(crossings.n_sd_m[at], PLACE_M))
        line = n_found + int(crossings.line[at])
        hold([at, line], [1.0, 1.0], sd, float(crossings.n_m[at]))
    for line in range(n_lines):
        hold([n_found + line], [1.0], shift_sd, 0.0)
    parents = _parents(links)
    s_m = line_s_m[crossings.line] if n_found else np.zeros(0)
    for parent, child in zip(*links, strict=True):
        apart = max(float(s_m[child] - s_m[parent]), 0.5)
        sd = sideways_m * (apart / PER_M) ** 0.75
        hold([child, parent], [1.0, -1.0], sd, 0.0)
        for before in parents.get(int(parent), ()):
            earlier = max(float(s_m[parent] - s_m[before]), 0.5)
            sd = BEND * np.sqrt((apart + earlier) / 2.0 / PER_M)
            factors = [1.0 / apart, -1.0 / apart - 1.0 / earlier, 1.0 / earlier]
            hold([int(child), int(parent), before], factors, sd, 0.0)
    mean: FloatArray = np.asarray(np.linalg.solve(precision, target), np.float64)
    if shift_sd_m <= LEAST_SHIFT_M:
        return Tracks(n_m=mean[:n_found], shift_m=np.zeros(n_lines))
    root = np.linalg.cholesky(precision)
    drawn: FloatArray = np.asarray(
        mean + SPREAD_OUT * np.linalg.solve(root.T, noise), np.float64
    )
    return Tracks(n_m=drawn[:n_found], shift_m=drawn[n_found:])


def _parents(links: tuple[IntArray, IntArray]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for parent, child in zip(*links, strict=True):
        found.setdefault(int(child), []).append(int(parent))
    return found
