"""Where to wash next: the samples that tell most about the source for their hours.

A sample is worth what it is expected to tell: the entropy of what it may show, less
what would be chance even if one knew the truth. Several samples are chosen together,
so that they do not tell the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.upstream.draws import SourceDraws
from pennyweight.upstream.search import Search
from pennyweight.upstream.tree import StreamTree
from pennyweight.upstream.washing import LEAST_SUPPLY_KM2, STRAY_COLORS

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Walking up and down a creek without a path [km/h], carrying a bucket of gravel to
#: the water [m/h there and back], digging and panning one pan [h]; common practice, no
#: source. docs/sources.md "hours of sampling".
WALKING_KM_H, CARRYING_M_H, HOURS_A_PAN = 1.5, 400.0, 0.25
#: Samples that are proposed at once, at most [-].
MOST_SAMPLES = 5
_LEAST = 1e-300


@dataclass(frozen=True)
class ProposedSample:
    """A sample that would split the question.

    Attributes
    ----------
    piece : int
        At whose foot to wash.
    gain_bits : float
        What it is expected to tell beyond those before it [bit].
    gold_chance : float
        That it shows gold [-].
    hours : float
        Walking there from the one before, digging, carrying and washing [h].
    """

    piece: int
    gain_bits: float
    gold_chance: float
    hours: float


def gold_chances(
    search: Search,
    draws: SourceDraws,
    pieces: IndexArray,
    *,
    exposure_m3: float,
) -> FloatArray:
    """Return how likely a sample shows any color, world by world.

    Parameters
    ----------
    search : Search
        The tree.
    draws : SourceDraws
        Worlds.
    pieces : ndarray of int, shape (n_candidates,)
        Where; each at the foot of a segment [-].
    exposure_m3 : float
        Bank volume of the sample times recovery [m3].

    Returns
    -------
    ndarray, shape (n_draws, n_candidates)
        Probabilities [-].
    """
    row = np.searchsorted(search.segments.foot[_sorted(search)], pieces)
    segment = _sorted(search)[row]
    supply = np.maximum(search.tree.supply_km2[pieces], LEAST_SUPPLY_KM2)
    colors_m3 = search.scale.value[draws.gold[:, segment]] / supply
    colors_m3 = colors_m3 + draws.everywhere_m3[:, None]
    expected = colors_m3 * exposure_m3 + STRAY_COLORS
    shape = draws.evenness[:, None]
    return np.asarray(-np.expm1(-shape * np.log1p(expected / shape)))


def _sorted(search: Search) -> IndexArray:
    return np.argsort(search.segments.foot, kind="stable")


def way_m(tree: StreamTree, piece: int) -> FloatArray:
    """Return the way along the water from the foot of one piece to all others.

    Parameters
    ----------
    tree : StreamTree
        Of pieces.
    piece : int
        From where [-].

    Returns
    -------
    ndarray, shape (n_pieces,)
        Down to where the ways meet, and up again [m]; inf on another tree.
    """
    meets = np.full(tree.n_reaches, np.inf)
    at = piece
    on_way = np.zeros(tree.n_reaches, dtype=np.bool_)
    while at >= 0:
        on_way[at] = True
        at = int(tree.down[at])
    for one in tree.order[::-1].tolist():
        below = int(tree.down[one])
        if on_way[one]:
            meets[one] = tree.foot_m[one]
        elif below >= 0 and np.isfinite(meets[below]):
            # Off the way the paths part at the head of the last piece on it.
            head_m = tree.foot_m[below] + tree.length_m[below]
            above = on_way[below]
            meets[one] = min(head_m, tree.foot_m[piece]) if above else meets[below]
    return np.asarray(tree.foot_m[piece] + tree.foot_m - 2.0 * meets)


def choose_samples(
    search: Search,
    draws: SourceDraws,
    candidates: IndexArray,
    *,
    pans: float,
    exposure_m3: float,
    start: int | None = None,
    carry_m: FloatArray | None = None,
) -> tuple[ProposedSample, ...]:
    """Return the samples that tell most for their hours, each beyond those before.

    Parameters
    ----------
    search : Search
        The tree.
    draws : SourceDraws
        Worlds.
    candidates : ndarray of int, shape (n_candidates,)
        Pieces at whose foot one could wash [-].
    pans : float
        Pans in a sample [-].
    exposure_m3 : float
        Their bank volume times recovery [m3].
    start : int, optional
        Piece from which one sets out; at the first sample by default [-].
    carry_m : ndarray, shape (n_candidates,), optional
        How far the gravel is carried to water [m]; 0 by default.

    Returns
    -------
    tuple of ProposedSample
        In order; it ends where another sample would tell next to nothing.
    """
    if not len(candidates):
        return ()
    shows = gold_chances(search, draws, candidates, exposure_m3=exposure_m3)
    carried = np.zeros(len(candidates)) if carry_m is None else carry_m
    work_h = pans * (HOURS_A_PAN + carried / CARRYING_M_H)
    weights = np.full((len(shows), 1), 1.0 / len(shows))
    chosen: list[ProposedSample] = []
    left = np.ones(len(candidates), dtype=np.bool_)
    while len(chosen) < MOST_SAMPLES and left.any():
        gain = _gains(weights, shows)
        hours = work_h.copy()
        if start is not None:
            walk_m = way_m(search.tree, start)[candidates]
            # Another tree cannot be reached along the water: an hour's walk, ours.
            walk_m = np.where(np.isfinite(walk_m), walk_m, 1000.0 * WALKING_KM_H)
            hours = work_h + walk_m / 1000.0 / WALKING_KM_H
        best = int(np.argmax(np.where(left, gain / hours, -1.0)))
        if gain[best] < 0.01 * max([gain[best], *(one.gain_bits for one in chosen)]):
            break
        if gain[best] < 1e-4:
            break
        chosen.append(
            ProposedSample(
                piece=int(candidates[best]),
                gain_bits=float(gain[best]),
                gold_chance=float(shows[:, best].mean()),
                hours=float(hours[best]),
            )
        )
        left[best] = False
        start = int(candidates[best])
        yes = weights * shows[:, [best]]
        weights = np.concatenate([yes, weights - yes], axis=1)
    return tuple(chosen)


def _gains(weights: FloatArray, shows: FloatArray) -> FloatArray:
    """Return what each candidate tells about the world, beyond what is known [bit].

    `weights` is the joint probability of every world (row) and outcome so far.
    """
    before = weights.sum(axis=0)
    yes = weights.T @ shows
    no = before[:, None] - yes
    after = _plogp(yes) + _plogp(no) - _plogp(before)[:, None]
    chance = _plogp(shows) + _plogp(1.0 - shows)
    known = weights.sum(axis=1) @ chance
    return np.asarray(np.maximum(known - after.sum(axis=0), 0.0))


def _plogp(share: FloatArray) -> FloatArray:
    clipped = np.maximum(share, 0.0)
    return np.asarray(clipped * np.log2(np.maximum(clipped, _LEAST)), np.float64)
