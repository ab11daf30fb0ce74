"""Where a streak may cross a line: the peaks of the line's profile.

A peak of the posterior geometric mean, with the ground on both sides that drains to
it (its basin), is a candidate; the draws tell whether it is there, where, how wide
and how rich.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: A valley above this share of the lower peak parts nothing [-]. Our choice.
CLEAR_VALLEY = 0.55
#: Peaks closer than this are one [m]. Our choice.
ONE_PEAK_M = 1.2
#: Candidates of a line at most; the likeliest are kept.
MOST_CANDIDATES = 6
#: Candidates less likely than this are noise [-]. Our choice.
LEAST_PRESENCE = 0.05
#: How far beyond the outermost digs a crossing is looked for [m]. Our choice.
BEYOND_M = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossings:
    """Candidates of all lines, in order of line and place across.

    Attributes
    ----------
    line : ndarray of int, shape (n_candidates,)
        Index of the line [-].
    low, high : ndarray of int, shape (n_candidates,)
        First and last grid column of the basin [-].
    presence : ndarray, shape (n_candidates,)
        Share of draws above the level [-].
    n_m, n_sd_m : ndarray, shape (n_candidates,)
        Center across the valley and its standard deviation [m].
    log_gold, log_gold_sd : ndarray, shape (n_candidates,)
        Log of the gold per meter of valley [ln mg/m], and its sd [-].
    """

    line: IntArray
    low: IntArray
    high: IntArray
    presence: FloatArray
    n_m: FloatArray
    n_sd_m: FloatArray
    log_gold: FloatArray
    log_gold_sd: FloatArray

    def of_line(self, line: int) -> IntArray:
        """Return the indices of a line's candidates.

        Parameters
        ----------
        line : int
            Index of the line [-].

        Returns
        -------
        ndarray of int
            In order across the valley [-].
        """
        return np.flatnonzero(self.line == line)

    def only_on(self, lines: IntArray) -> Crossings:
        """Return the candidates of some lines.

        Parameters
        ----------
        lines : ndarray of int
            Indices of the lines kept [-].

        Returns
        -------
        Crossings
            In the same order.
        """
        kept = np.isin(self.line, lines)
        return Crossings(
            **{one.name: getattr(self, one.name)[kept] for one in fields(self)}
        )


def find_peaks(curve: FloatArray, step_m: float) -> list[tuple[int, int, int]]:
    """Return the clear peaks of a curve with their basins.

    Parameters
    ----------
    curve : ndarray, shape (n_grid,)
        Accumulation along a line, above 0 [mg/m2].
    step_m : float
        Spacing of the grid [m].

    Returns
    -------
    list of tuple
        (low, peak, high) columns, in order; basins meet at the valleys.

    Examples
    --------
    >>> find_peaks(np.array([1.0, 9.0, 2.0, 7.0, 1.0]), 1.0)
    [(0, 1, 2), (2, 3, 4)]
    """
    padded = np.concatenate([[-np.inf], curve, [-np.inf]])
    rises = padded[1:-1] > padded[:-2]
    falls = padded[1:-1] >= padded[2:]
    peaks = np.flatnonzero(rises & falls).tolist()
    while len(peaks) > 1:
        valleys = [float(curve[a : b + 1].min()) for a, b in pairwise(peaks)]
        lower = [float(min(curve[a], curve[b])) for a, b in pairwise(peaks)]
        blur = [
            np.inf if (b - a) * step_m < ONE_PEAK_M else valley / least
            for a, b, valley, least in zip(
                peaks, peaks[1:], valleys, lower, strict=False
            )
        ]
        worst = int(np.argmax(blur))
        if blur[worst] <= CLEAR_VALLEY:
            break
        a, b = peaks[worst], peaks[worst + 1]
        peaks.remove(b if curve[a] >= curve[b] else a)
    cuts = [0]
    cuts += [a + int(np.argmin(curve[a : b + 1])) for a, b in pairwise(peaks)]
    cuts.append(len(curve) - 1)
    return [(cuts[at], peak, cuts[at + 1]) for at, peak in enumerate(peaks)]


def find_crossings(
    draws: FloatArray,
    grid_n_m: FloatArray,
    *,
    level_mg_m2: FloatArray,
    reach_m: FloatArray,
) -> Crossings:
    """Return the candidate crossings of every line.

    Parameters
    ----------
    draws : ndarray, shape (n_draws, n_lines, n_grid)
        Log accumulation [ln mg/m2].
    grid_n_m : ndarray, shape (n_grid,)
        Places across [m].
    level_mg_m2 : ndarray, shape (n_lines,)
        Accumulation above which a streak counts as there [mg/m2].
    reach_m : ndarray, shape (n_lines, 2)
        Outermost digs of each line [m]; a line without counts has nan.

    Returns
    -------
    Crossings
        At most six a line, the likeliest.
    """
    step = float(grid_n_m[1] - grid_n_m[0])
    rows: list[tuple[float, ...]] = []
    for line in range(draws.shape[1]):
        inside = (grid_n_m >= reach_m[line, 0] - BEYOND_M) & (
            grid_n_m <= reach_m[line, 1] + BEYOND_M
        )
        columns = np.flatnonzero(inside)
        if len(columns) < 2:
            continue
        here = np.exp(draws[:, line, columns])
        middle = np.exp(draws[:, line, columns].mean(axis=0))
        found = []
        for low, _, high in find_peaks(middle, step):
            told = _describe(
                here[:, low : high + 1],
                grid_n_m[columns[low : high + 1]],
                float(level_mg_m2[line]),
            )
            if told[0] >= LEAST_PRESENCE:
                found.append((line, columns[low], columns[high], *told))
        found = sorted(found, key=lambda row: -row[3])[:MOST_CANDIDATES]
        rows += sorted(found, key=lambda row: row[1])
    table = np.array(rows, dtype=np.float64).reshape(-1, 8).T
    return Crossings(
        line=table[0].astype(np.int64),
        low=table[1].astype(np.int64),
        high=table[2].astype(np.int64),
        presence=table[3],
        n_m=table[4],
        n_sd_m=table[5],
        log_gold=table[6],
        log_gold_sd=table[7],
    )


def _describe(
    accumulation: FloatArray, n_m: FloatArray, level: float
) -> tuple[float, float, float, float, float]:
    """Return presence, center, its sd, log gold per meter, its sd of one basin."""
    step = float(n_m[1] - n_m[0]) if len(n_m) > 1 else 1.0
    present = accumulation.max(axis=1) > level
    # Where it is in too few draws, all of them tell where its peak would be.
    chosen = present if present.sum() >= 8 else np.ones_like(present)
    picked = accumulation[chosen]
    over = np.where(
        picked > np.minimum(level, picked.max(axis=1, keepdims=True) * 0.5), picked, 0.0
    )
    gold = over.sum(axis=1) * step
    center = over @ n_m * step / gold
    log_gold = np.log(gold)
    return (
        float(present.mean()),
        float(center.mean()),
        float(center.std()),
        float(log_gold.mean()),
        float(log_gold.std()),
    )
