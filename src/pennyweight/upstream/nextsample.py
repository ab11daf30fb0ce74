"""Where to wash next: the samples that tell most about the source for their hours.

A sample is worth what it is expected to tell about the place of the strongest source:
the entropy of what it may show (no color, a few, many), less what is left of it once
the place is known. Several samples are chosen together, so that they do not tell the
same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import betainc

from pennyweight.upstream.draws import SourceDraws
from pennyweight.upstream.search import Search
from pennyweight.upstream.tree import StreamTree
from pennyweight.upstream.washing import LEAST_SUPPLY_KM2, STRAY_COLORS

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Walking up and down a creek without a path [km/h], carrying a bucket of gravel to
#: the water [m/h there and back], digging and panning one pan [h]; common practice, no
#: source. docs/sources.md "hours of sampling".
WALKING_KM_H, CARRYING_M_H, HOURS_A_PAN = 1.5, 400.0, 0.25
#: Samples that are proposed at once, at most [-].
MOST_SAMPLES = 5
#: A sample that is expected to tell less [bit], or less than this share of the first
#: [-], is not proposed; ours.
LEAST_BITS, LEAST_SHARE = 0.005, 0.15
#: So many colors are a few, more are many [-]; ours.
A_FEW = 4.0
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


def outcome_chances(
    search: Search,
    draws: SourceDraws,
    pieces: IndexArray,
    *,
    exposure_m3: float,
) -> FloatArray:
    """Return how likely a sample shows no color, a few or many, world by world.

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
    ndarray, shape (3, n_draws, n_candidates)
        Probabilities, which sum to 1 over the first axis [-].
    """
    by_piece = np.argsort(search.segments.foot, kind="stable")
    segment = by_piece[np.searchsorted(search.segments.foot[by_piece], pieces)]
    supply = np.maximum(search.tree.supply_km2[pieces], LEAST_SUPPLY_KM2)
    colors_m3 = search.scale.value[draws.gold[:, segment]] / supply
    colors_m3 = colors_m3 + draws.everywhere_m3[:, None]
    expected = colors_m3 * exposure_m3 + STRAY_COLORS
    shape = np.broadcast_to(draws.evenness[:, None], expected.shape)
    none = np.exp(-shape * np.log1p(expected / shape))
    # Cumulative law of the negative binomial, by the incomplete beta function.
    few = betainc(shape, A_FEW + 1.0, shape / (shape + expected))
    return np.stack([none, np.maximum(few - none, 0.0), 1.0 - few])


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
    way = tree.foot_m[piece] + tree.foot_m - 2.0 * meets
    return np.asarray(np.where(np.isfinite(meets), way, np.inf))


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
    shows = outcome_chances(search, draws, candidates, exposure_m3=exposure_m3)
    carried = np.zeros(len(candidates)) if carry_m is None else carry_m
    work_h = pans * (HOURS_A_PAN + carried / CARRYING_M_H)
    by_place = _by_place(draws.strongest)
    weights = np.full((by_place.shape[1], 1), 1.0 / by_place.shape[1])
    chosen: list[ProposedSample] = []
    left = np.ones(len(candidates), dtype=np.bool_)
    while len(chosen) < MOST_SAMPLES and left.any():
        gain = _gains(weights, shows, by_place)
        hours = work_h + _walk_hours(search.tree, start)[candidates]
        best = int(np.argmax(np.where(left, gain / hours, -1.0)))
        least = max([LEAST_BITS, *(LEAST_SHARE * one.gain_bits for one in chosen)])
        if gain[best] < least:
            break
        chosen.append(
            ProposedSample(
                piece=int(candidates[best]),
                gain_bits=float(gain[best]),
                gold_chance=float(1.0 - shows[0, :, best].mean()),
                hours=float(hours[best]),
            )
        )
        left[best] = False
        start = int(candidates[best])
        weights = np.concatenate([weights * one[:, [best]] for one in shows], axis=1)
    return tuple(chosen)


def _walk_hours(tree: StreamTree, start: int | None) -> FloatArray:
    """Return the hours of the walk to every piece; none where no start is given."""
    if start is None:
        return np.zeros(tree.n_reaches)
    walk_km = way_m(tree, start) / 1000.0
    # Another tree cannot be reached along the water: an hour's walk, ours.
    return np.asarray(np.where(np.isfinite(walk_km), walk_km / WALKING_KM_H, 1.0))


def _by_place(strongest: IndexArray) -> BoolArray:
    """Return which worlds have their strongest source in which place, one a row."""
    _, place = np.unique(strongest, return_inverse=True)
    return np.asarray(np.arange(place.max() + 1)[:, None] == place[None, :])


def _gains(weights: FloatArray, shows: FloatArray, by_place: BoolArray) -> FloatArray:
    """Return what each candidate tells of the place, beyond what is known [bit].

    `weights` is the joint probability of every world (row) and outcome so far.
    """
    held = by_place.astype(np.float64)
    before = -_plogp(weights.sum(axis=0)).sum() + _plogp(held @ weights).sum()
    after = np.full(shows.shape[2], -before)
    for outcome in weights.T:
        for one in shows:
            joint = held @ (outcome[:, None] * one)
            after += _plogp(joint).sum(axis=0) - _plogp(joint.sum(axis=0))
    return np.asarray(np.maximum(after, 0.0))


def _plogp(share: FloatArray) -> FloatArray:
    clipped = np.maximum(share, 0.0)
    return np.asarray(clipped * np.log2(np.maximum(clipped, _LEAST)), np.float64)
