"""The tree as few segments: what no sample parts is one to the samples.

A segment ends where something was washed, where two branches with samples meet, or
where the caller asks to be told. Sources of a segment that lie equally far from its
foot, in levels lost on the way, cannot be told apart by any count: they are one part,
with the chance of all of them, and its probability is shared out by their own chances.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.upstream.fluxes import FluxScale
from pennyweight.upstream.tree import StreamTree, gather

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Segments:
    """Which segment each piece belongs to.

    Attributes
    ----------
    foot : ndarray of int, shape (n_segments,)
        Piece at the foot of each segment, upstream first.
    of_piece : ndarray of int, shape (n_pieces,)
        Segment of each piece.
    below : ndarray of int, shape (n_segments,)
        Segment that each flows into; -1 at an outlet.
    """

    foot: IndexArray
    of_piece: IndexArray
    below: IndexArray


@dataclass(frozen=True)
class Network:
    """Segments with their parts, at one rate of loss.

    Attributes
    ----------
    first_part : ndarray of int, shape (n_segments + 1,)
        Where the parts of each segment begin.
    child, steps : ndarray of int, shape (n_parts,)
        Segment that a part comes from, -1 for own sources; levels lost on the way.
    weight : ndarray, shape (n_parts,)
        Share of all expected sources that a part holds [-]; 0 from above.
    of_piece : ndarray of int, shape (n_pieces,)
        Part that holds the sources of each piece.
    """

    first_part: IndexArray
    child: IndexArray
    steps: IndexArray
    weight: FloatArray
    of_piece: IndexArray


def find_parting(tree: StreamTree, washed: BoolArray, asked: BoolArray) -> Segments:
    """Return the segments that samples and questions part the tree into.

    Parameters
    ----------
    tree : StreamTree
        Of pieces.
    washed, asked : ndarray of bool, shape (n_pieces,)
        Pieces at whose foot was washed; pieces whose foot is to be told of [-].

    Returns
    -------
    Segments
        Upstream first.
    """
    from pennyweight.upstream.kernels import find_segments  # noqa: PLC0415 - numba

    marked = washed | asked
    known = gather(tree.down, tree.order, marked.astype(np.float64)) > 0.0
    feeds = known & (tree.down >= 0)
    branches = np.bincount(tree.down[feeds], minlength=tree.n_reaches)
    marked[feeds] |= branches[tree.down[feeds]] >= 2
    root = np.asarray(find_segments(tree.down, tree.order, marked))
    foot = tree.order[root[tree.order] == tree.order]
    number = np.empty(tree.n_reaches, dtype=np.int64)
    number[foot] = np.arange(len(foot))
    under = tree.down[foot]
    below = np.where(under >= 0, number[root[np.maximum(under, 0)]], -1)
    return Segments(foot=foot, of_piece=number[root], below=below)


def make_network(
    tree: StreamTree,
    segments: Segments,
    weight: FloatArray,
    *,
    loss_per_km: float,
    scale: FluxScale,
) -> Network:
    """Return the parts of every segment at one rate of loss.

    Parameters
    ----------
    tree : StreamTree
        Of pieces.
    segments : Segments
        Of them.
    weight : ndarray, shape (n_pieces,)
        Share of all expected sources in each piece [-].
    loss_per_km : float
        Rate at which gold is lost downstream [1/km].
    scale : FluxScale
        Levels of gold.

    Returns
    -------
    Network
        Parts from above first, then own sources, nearest first.
    """
    at_foot = scale.steps_lost(loss_per_km / 1000.0 * tree.foot_m)
    middle_m = tree.foot_m + 0.5 * tree.length_m
    at_middle = scale.steps_lost(loss_per_km / 1000.0 * middle_m)
    count = len(segments.foot)
    away = at_middle - at_foot[segments.foot[segments.of_piece]]
    farthest = int(away.max(initial=0)) + 1
    key, of_piece = np.unique(segments.of_piece * farthest + away, return_inverse=True)
    own_weight = np.bincount(of_piece, weight, len(key))
    child = np.flatnonzero(segments.below >= 0)
    under = segments.below[child]
    child_steps = at_foot[segments.foot[child]] - at_foot[segments.foot[under]]
    owner = np.concatenate([under, key // farthest])
    sort = np.argsort(owner, kind="stable")
    place = np.empty(len(owner), dtype=np.int64)
    place[sort] = np.arange(len(owner))
    nothing = np.full(len(key), -1, dtype=np.int64)
    return Network(
        first_part=np.searchsorted(owner[sort], np.arange(count + 1)),
        child=np.concatenate([child, nothing])[sort],
        steps=np.concatenate([child_steps, key % farthest])[sort],
        weight=np.concatenate([np.zeros(len(child)), own_weight])[sort],
        of_piece=place[len(child) + of_piece.reshape(-1)],
    )
