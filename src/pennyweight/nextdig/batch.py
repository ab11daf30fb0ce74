"""Which digs together: each chosen for what it adds to those chosen before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.nextdig.gain import ExpectedGain, Told, gain_of, tell, tell_nothing
from pennyweight.progress import Progress, quiet

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Options that are looked at again once some digs are chosen: the best by themselves.
SHORT_LIST = 80

#: A block that is mined, or left, in more of the draws than this cannot turn [-].
SETTLED_SHARE = 0.98


@dataclass(frozen=True, slots=True)
class Option:
    """A dig that could be chosen.

    Attributes
    ----------
    looks : ndarray, shape (n_draws, n_looks)
        As `look_at` gives them [-].
    near : ndarray of bool, shape (n_blocks,)
        Blocks that it can tell something of.
    s_m : float
        Where in the valley [m].
    hours : float
        What it takes, above 0 [h].
    """

    looks: FloatArray
    near: BoolArray
    s_m: float
    hours: float


@dataclass(frozen=True, slots=True)
class Choice:
    """An option chosen.

    Attributes
    ----------
    index : int
        Which option.
    gain : ExpectedGain
        What it adds to the choices taken before it.
    """

    index: int
    gain: ExpectedGain


def find_open_blocks(value: FloatArray) -> BoolArray:
    """Return the blocks on which the draws do not agree.

    Parameters
    ----------
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-].

    Returns
    -------
    ndarray of bool, shape (n_blocks,)
        Where mine-or-leave is not settled.
    """
    share = (value > 0.0).mean(axis=0)
    return np.asarray((share > 1.0 - SETTLED_SHARE) & (share < SETTLED_SHARE))


def choose_batch(
    options: Sequence[Option],
    value: FloatArray,
    *,
    hours: float,
    progress: Progress = quiet,
) -> list[Choice]:
    """Return the options to take together, the most for an hour first.

    Each is taken for what it adds to those taken before it.

    Parameters
    ----------
    options : sequence of Option
        All of them.
    value : ndarray, shape (n_draws, n_blocks)
        What mining a block brings over leaving it [-].
    hours : float
        To spend [h].
    progress : callable
        Told how far it is.

    Returns
    -------
    list of Choice
        Together within the hours; empty where nothing fits or nothing is open.
    """
    known, single = tell_nothing(value), []
    for at, option in enumerate(options):
        progress(at / max(len(options), 1), "weighing the next digs")
        single.append(_added(option, known, value)[0])
    best = sorted(
        range(len(options)),
        key=lambda at: _score(single[at], options[at]),
        reverse=True,
    )
    left = [at for at in best if _matters(single[at])][:SHORT_LIST]
    chosen: list[Choice] = []
    spent = 0.0
    while True:
        fitting = [at for at in left if spent + options[at].hours <= hours + 1e-9]
        gains = {at: _added(options[at], known, value)[0] for at in fitting}
        useful = [at for at in fitting if _matters(gains[at])]
        if not useful:
            return sorted(
                chosen,
                key=lambda one: _score(one.gain, options[one.index]),
                reverse=True,
            )
        at = max(useful, key=lambda one: _score(gains[one], options[one]))
        chosen.append(Choice(at, gains[at]))
        known = _added(options[at], known, value)[1]
        spent += options[at].hours
        left.remove(at)


def _matters(gain: ExpectedGain) -> bool:
    return gain.sure_value > 0.0 or gain.wrong > 0.0


def _score(gain: ExpectedGain, option: Option) -> tuple[float, float]:
    """Return value for an hour, and then fewer wrong decisions for an hour."""
    return gain.sure_value / option.hours, gain.wrong / option.hours


def _added(option: Option, known: Told, value: FloatArray) -> tuple[ExpectedGain, Told]:
    """Return what one more dig adds, and what is expected then."""
    after = tell(known, option.looks, value, near=option.near)
    return gain_of(known, after, value), after
