"""Where the gold stops on the way up a stream: a change point with its interval."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class GoldStop:
    """How far up a way the gold goes.

    Attributes
    ----------
    chance : float
        That gold of a source passes the lower end at all [-].
    above_m : Spread or None
        Way from the lower end up to where the gold of the highest source on it
        enters, if it passes the lower end [m]; None where it hardly does.
    beyond_chance : float
        That it comes from the uppermost piece, or from the ground above it, if it
        passes the lower end [-].
    """

    chance: float
    above_m: Spread | None
    beyond_chance: float


def climb(
    down: IndexArray, order: IndexArray, start: int, *, carries: FloatArray
) -> IndexArray:
    """Return the pieces from a start up to a head, where most likely gold comes from.

    Parameters
    ----------
    down, order : ndarray of int, shape (n_pieces,)
        Piece below each; pieces upstream first [-].
    start : int
        Lowest piece [-].
    carries : ndarray, shape (n_pieces,)
        Probability that gold passes the foot of each [-].

    Returns
    -------
    ndarray of int
        Pieces, the start first.
    """
    best = np.full(len(down), -1, dtype=np.int64)
    for piece in order.tolist():
        below = down[piece]
        if below >= 0 and (best[below] < 0 or carries[piece] > carries[best[below]]):
            best[below] = piece
    way = [start]
    while best[way[-1]] >= 0:
        way.append(int(best[way[-1]]))
    return np.array(way, dtype=np.int64)


def find_stop(foot_m: FloatArray, head_m: FloatArray, carries: FloatArray) -> GoldStop:
    """Return where the gold stops on a way up.

    Parameters
    ----------
    foot_m, head_m : ndarray, shape (n_pieces,)
        Lower and upper end of each piece of the way, from its lower end up [m].
    carries : ndarray, shape (n_pieces,)
        Probability that gold passes the foot of each [-].

    Returns
    -------
    GoldStop
        Quantiles between feet are linear.

    Notes
    -----
    No gold passes a place if and only if the gold stops below it. So the probability
    of none, which never falls on the way up, is the distribution of the stop.

    Examples
    --------
    >>> foot_m, head_m = np.array([0.0, 50.0]), np.array([50.0, 90.0])
    >>> stop = find_stop(foot_m, head_m, np.array([1.0, 0.0]))
    >>> stop.above_m.p50
    25.0
    """
    passing = np.minimum.accumulate(np.asarray(carries, dtype=np.float64))
    chance = float(passing[0])
    if chance < 1e-3:
        return GoldStop(chance, None, 0.0)
    place = np.append(foot_m, head_m[-1]) - foot_m[0]
    stopped = np.append(1.0 - passing / chance, 1.0)
    p10, p50, p90 = np.interp((0.1, 0.5, 0.9), stopped, place)
    middle = 0.5 * (place[1:] + place[:-1])
    mean = float(np.diff(stopped) @ middle)
    spread = Spread(float(p10), float(p50), float(p90), mean)
    return GoldStop(chance, spread, float(passing[-1] / chance))
