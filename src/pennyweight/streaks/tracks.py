"""Tracks: where linked crossings lie once they are looked at together.

Penalized least squares on the links of one topology: a crossing lies at its track
plus its line's shift plus its own noise; a track steps little and bends little. Steps
and bends have heavy tails, so that one streak that swings over to another does not
pull its whole line along.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.crossings import Crossings
from pennyweight.streaks.links import FURTHER_PARENT_M, PER_M, PLACE_M, STEP_FREEDOM

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Change of the sideways slope over 15 m [-]. Our choice.
BEND = 0.20
#: Draws of places and shifts are spread by this: whether lines shift along the valley
#: too, and how a track may bend, is not known to the least squares [-]. Our choice.
SPREAD_OUT = 1.25
#: A shift without receiver error still has this sd, so that nothing is singular [m].
LEAST_SHIFT_M = 0.05
#: Rounds of reweighting; the places rest to a centimeter after three.
ROUNDS = 4


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


@dataclass(frozen=True, slots=True)
class _Tie:
    """A sum of unknowns held at a value; a tailed one gives way to large misfits."""

    columns: tuple[int, ...]
    factors: tuple[float, ...]
    sd: float
    value: float = 0.0
    tailed: bool = True


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

    Notes
    -----
    Student-t steps by reweighting: a row of z sds weighs (nu + 1) / (nu + z^2), nu
    the freedom of a sideways step.

    References
    ----------
    Lange, Little and Taylor 1989, Journal of the American Statistical Association
    84(408), 881-896 (t errors by reweighted least squares); from memory.
    """
    n_lines, n_found = len(line_s_m), len(crossings.line)
    ties = [
        _Tie(
            (at, n_found + int(crossings.line[at])),
            (1.0, 1.0),
            float(np.hypot(crossings.n_sd_m[at], PLACE_M)),
            float(crossings.n_m[at]),
            tailed=False,
        )
        for at in range(n_found)
    ]
    shift_sd = max(shift_sd_m, LEAST_SHIFT_M)
    ties += [
        _Tie((n_found + line,), (1.0,), shift_sd, tailed=False)
        for line in range(n_lines)
    ]
    s_m = line_s_m[crossings.line] if n_found else np.zeros(0)
    ties += _tie_links(crossings, links, s_m, sideways_m)
    mean, precision = _settle(ties, n_found + n_lines)
    if shift_sd_m <= LEAST_SHIFT_M:
        return Tracks(n_m=mean[:n_found], shift_m=np.zeros(n_lines))
    root = np.linalg.cholesky(precision)
    drawn: FloatArray = np.asarray(
        mean + SPREAD_OUT * np.linalg.solve(root.T, noise), np.float64
    )
    return Tracks(n_m=drawn[:n_found], shift_m=drawn[n_found:])


def _tie_links(
    crossings: Crossings,
    links: tuple[IntArray, IntArray],
    s_m: FloatArray,
    sideways_m: float,
) -> list[_Tie]:
    """Hold every step and every bend; the further parents of a merge come from far."""
    parents = _parents(links)
    ties = []
    for parent, child in zip(*(one.tolist() for one in links), strict=True):
        apart = max(float(s_m[child] - s_m[parent]), 0.5)
        step = np.abs(crossings.n_m[parents[child]] - crossings.n_m[child])
        pair = (child, parent)
        if step.min() < abs(crossings.n_m[parent] - crossings.n_m[child]):
            far = FURTHER_PARENT_M * max(apart / PER_M, 1.0) ** 0.5
            ties.append(_Tie(pair, (1.0, -1.0), far))
            continue
        ties.append(_Tie(pair, (1.0, -1.0), sideways_m * (apart / PER_M) ** 0.75))
        for before in parents.get(parent, ()):
            earlier = max(float(s_m[parent] - s_m[before]), 0.5)
            sd = BEND * float(np.sqrt((apart + earlier) / 2.0 / PER_M))
            factors = (1.0 / apart, -1.0 / apart - 1.0 / earlier, 1.0 / earlier)
            ties.append(_Tie((*pair, before), factors, sd))
    return ties


def _settle(ties: list[_Tie], n_unknown: int) -> tuple[FloatArray, FloatArray]:
    """Return the places and shifts that hold best, and their precision."""
    rows = np.zeros((len(ties), n_unknown))
    for row, tie in zip(rows, ties, strict=True):
        row[list(tie.columns)] = np.array(tie.factors) / tie.sd
    values = np.array([tie.value / tie.sd for tie in ties])
    tailed = np.array([tie.tailed for tie in ties])
    weight = np.ones(len(ties))
    mean, precision = np.zeros(n_unknown), np.eye(n_unknown)
    for _ in range(ROUNDS):
        precision = rows.T @ (weight[:, None] * rows)
        mean = np.linalg.solve(precision, rows.T @ (weight * values))
        z2 = (rows @ mean - values) ** 2
        weight = np.where(tailed, (STEP_FREEDOM + 1.0) / (STEP_FREEDOM + z2), 1.0)
    return mean, precision


def _parents(links: tuple[IntArray, IntArray]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for parent, child in zip(*links, strict=True):
        found.setdefault(int(child), []).append(int(parent))
    return found
