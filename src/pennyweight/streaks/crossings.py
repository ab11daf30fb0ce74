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

#: A valley above this share of the lower peak parts nothing [-]; in the mean of the
#: draws it may be shallower, as long as it is clear in some of them. Our choice.
CLEAR_VALLEY, FAINT_VALLEY = 0.55, 0.9
#: Share of draws in which a faint valley has to be clear [-]. Our choice.
LEAST_PARTED = 0.1
#: Peaks closer than this are one [m]. Our choice.
ONE_PEAK_M = 1.2
#: Candidates of a line at most; the likeliest are kept.
MOST_CANDIDATES = 6
#: Candidates less likely than this to be above so small a share of the level are
#: noise [-]. Our choice; those below the level serve lower cutoffs traced later.
LEAST_PRESENCE, LOWER_LEVEL = 0.05, 0.25
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
    seen : ndarray of bool, shape (n_candidates, n_draws), or None
        In which joint draws of a line its candidates are there; None where only the
        shares are known [-].
    """

    line: IntArray
    low: IntArray
    high: IntArray
    presence: FloatArray
    n_m: FloatArray
    n_sd_m: FloatArray
    log_gold: FloatArray
    log_gold_sd: FloatArray
    seen: BoolArray | None = None

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
        known = [
            one.name for one in fields(self) if getattr(self, one.name) is not None
        ]
        return Crossings(**{name: getattr(self, name)[kept] for name in known})


def find_peaks(
    curve: FloatArray, step_m: float, clear: float = CLEAR_VALLEY
) -> list[tuple[int, int, int]]:
    """Return the clear peaks of a curve with their basins.

    Parameters
    ----------
    curve : ndarray, shape (n_grid,)
        Accumulation along a line, above 0 [mg/m2].
    step_m : float
        Spacing of the grid [m].
    clear : float, optional
        Share of the lower peak that a valley between two may reach [-].

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
        if blur[worst] <= clear:
            break
        a, b = peaks[worst], peaks[worst + 1]
        peaks.remove(b if curve[a] >= curve[b] else a)
    cuts = [0]
    cuts += [a + int(np.argmin(curve[a : b + 1])) for a, b in pairwise(peaks)]
    cuts.append(len(curve) - 1)
    return [(cuts[at], peak, cuts[at + 1]) for at, peak in enumerate(peaks)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """How the basins of a line part it in every draw.

    Attributes
    ----------
    own : ndarray of bool, shape (n_draws, n_basins)
        Whether a basin holds a peak of its own, and not the flank of a neighbor's.
    top_log : ndarray, shape (n_draws, n_basins)
        Highest log accumulation of each basin [ln mg/m2].
    low, high : ndarray of int, shape (n_draws, n_basins)
        Columns from which to which its peak reaches: its own basin, and those of the
        neighbors that hold no peak of their own [-].
    """

    own: BoolArray
    top_log: FloatArray
    low: IntArray
    high: IntArray


def part_line(
    draws: FloatArray,
    basins: tuple[IntArray, IntArray],
    step_m: float,
    *,
    apart: BoolArray | None = None,
) -> Parted:
    """Return which basins of a line hold a peak of their own, draw by draw.

    Parameters
    ----------
    draws : ndarray, shape (n_draws, n_grid)
        Log accumulation along the line [ln mg/m2].
    basins : tuple of ndarray of int, each shape (n_draws or 1, n_basins)
        First and last column of each basin, in order across [-].
    step_m : float
        Spacing of the grid [m].
    apart : ndarray of bool, shape (n_draws, n_basins), optional
        Basins known to hold a peak of their own; two of them are never one [-].

    Returns
    -------
    Parted
        Neighbors without a clear valley between their peaks are one: the higher.
    """
    low, high = (np.broadcast_to(one, (len(draws), one.shape[1])) for one in basins)
    column = np.arange(draws.shape[1])[None, None, :]
    within = (column >= low[:, :, None]) & (column <= high[:, :, None])
    inside = np.where(within, draws[:, None, :], -np.inf)
    best, top = inside.argmax(axis=2), inside.max(axis=2)
    from_, to = best[:, :-1, None], best[:, 1:, None]
    between = (column >= from_) & (column <= to)
    valley = np.where(between, draws[:, None, :], np.inf).min(axis=2, initial=np.inf)
    lower = np.minimum(top[:, :-1], top[:, 1:])
    parted = valley - lower <= np.log(CLEAR_VALLEY)
    parted &= (best[:, 1:] - best[:, :-1]) * step_m >= ONE_PEAK_M
    if apart is not None:
        parted |= apart[:, :-1] & apart[:, 1:]
    parted |= low[:, 1:] > high[:, :-1] + 1
    group = np.concatenate([np.zeros((len(draws), 1)), parted.cumsum(axis=1)], axis=1)
    same = group[:, :, None] == group[:, None, :]
    return Parted(
        own=top >= np.where(same, top[:, None, :], -np.inf).max(axis=2),
        top_log=top,
        low=np.where(same, low[:, None, :], draws.shape[1]).min(axis=2),
        high=np.where(same, high[:, None, :], -1).max(axis=2),
    )


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
    rows: list[tuple[float, ...]] = []
    seen: list[BoolArray] = []
    for line in range(draws.shape[1]):
        inside = (grid_n_m >= reach_m[line, 0] - BEYOND_M) & (
            grid_n_m <= reach_m[line, 1] + BEYOND_M
        )
        columns = np.flatnonzero(inside)
        if len(columns) < 2:
            continue
        level_log = float(np.log(level_mg_m2[line]))
        here, n_m = draws[:, line, columns], grid_n_m[columns]
        basins, parted = _part_candidates(here, n_m, level_log)
        present = parted.own & (parted.top_log > level_log)
        share = present.mean(axis=0)
        lower_log = level_log + np.log(LOWER_LEVEL)
        faint = (parted.own & (parted.top_log > lower_log)).mean(axis=0)
        likely = np.lexsort((-faint, -share))[:MOST_CANDIDATES]
        for at in sorted(int(one) for one in likely if faint[one] >= LEAST_PRESENCE):
            low, high = (int(columns[basins[side][0, at]]) for side in (0, 1))
            told = _describe(here, n_m, (present[:, at], parted, at), level_log)
            rows.append((line, low, high, float(share[at]), *told))
            seen.append(present[:, at])
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
        seen=np.array(seen, dtype=bool).reshape(len(seen), len(draws)),
    )


def _part_candidates(
    here: FloatArray, n_m: FloatArray, level_log: float
) -> tuple[tuple[IntArray, IntArray], Parted]:
    """Return the basins of a line: clear in the mean, or parted in enough draws."""
    step = float(n_m[1] - n_m[0])
    middle = np.exp(here.mean(axis=0))
    peaks = find_peaks(middle, step, FAINT_VALLEY)
    while True:
        low = np.array([[peak[0] for peak in peaks]])
        high = np.array([[peak[2] for peak in peaks]])
        parted = part_line(here, (low, high), step)
        present = parted.own & (parted.top_log > level_log)
        both = (present[:, 1:] & present[:, :-1]).mean(axis=0)
        for at, (one, other) in enumerate(pairwise(peaks)):
            lower = min(middle[one[1]], middle[other[1]])
            if middle[one[2]] <= CLEAR_VALLEY * lower:
                both[at] = 1.0
        if not len(both) or both.min() >= LEAST_PARTED:
            return (low, high), parted
        at = int(both.argmin())
        one, other = peaks[at], peaks[at + 1]
        top = one[1] if middle[one[1]] >= middle[other[1]] else other[1]
        peaks[at : at + 2] = [(one[0], top, other[2])]


def _describe(
    here: FloatArray,
    n_m: FloatArray,
    which: tuple[BoolArray, Parted, int],
    level_log: float,
) -> tuple[float, float, float, float]:
    """Return center, its sd, log gold per meter, and its sd of one candidate."""
    present, parted, at = which
    step = float(n_m[1] - n_m[0])
    # Where it is in too few draws, all of them tell where its peak would be.
    chosen = present if present.sum() >= 8 else np.ones_like(present)
    column = np.arange(len(n_m))[None, :]
    run = (column >= parted.low[chosen, at, None]) & (
        column <= parted.high[chosen, at, None]
    )
    picked = np.where(run, np.exp(here[chosen]), 0.0)
    half_top = 0.5 * picked.max(axis=1, keepdims=True)
    over = np.where(picked > np.minimum(np.exp(level_log), half_top), picked, 0.0)
    gold = over.sum(axis=1) * step
    center = over @ n_m * step / gold
    log_gold = np.log(gold)
    return (
        float(center.mean()),
        float(center.std()),
        float(log_gold.mean()),
        float(log_gold.std()),
    )
