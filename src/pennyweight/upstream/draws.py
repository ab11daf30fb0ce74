"""Worlds drawn from the posterior: where sources lie and what gold passes every foot.

What is asked of several places at once (which source is the strongest, what a set of
reaches holds, what two samples tell together) is counted over draws.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.upstream.search import Search
from pennyweight.upstream.source import SourcePosterior

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class SourceDraws:
    """Equally likely worlds.

    Attributes
    ----------
    source : ndarray of bool, shape (n_draws, n_pieces)
        Whether a source lies in each piece.
    gold : ndarray of int, shape (n_draws, n_segments)
        Level of the gold that passes each segment's foot.
    strongest : ndarray of int, shape (n_draws,)
        Piece of the source that brings most gold to the outlet; -1 where none is.
    everywhere_m3 : ndarray, shape (n_draws,)
        Colors that all gravel holds [1/m3].
    evenness : ndarray, shape (n_draws,)
        Shape of the gamma law of places [-].
    """

    source: BoolArray
    gold: IndexArray
    strongest: IndexArray
    everywhere_m3: FloatArray
    evenness: FloatArray

    def thinned(self, every: int) -> SourceDraws:
        """Return one world in so many, for what takes long.

        Parameters
        ----------
        every : int
            1 or more [-].

        Returns
        -------
        SourceDraws
            Still spread over the grid as all are.
        """
        return SourceDraws(
            source=self.source[::every],
            gold=self.gold[::every],
            strongest=self.strongest[::every],
            everywhere_m3=self.everywhere_m3[::every],
            evenness=self.evenness[::every],
        )

    def strongest_chance(self) -> FloatArray:
        """Return how likely the strongest source lies in each piece, if there is one.

        Returns
        -------
        ndarray, shape (n_pieces,)
            Shares that sum to 1 [-]; all 0 where no draw has a source.
        """
        there = self.strongest[self.strongest >= 0]
        count = np.bincount(there, minlength=self.source.shape[1])
        return np.asarray(count / max(len(there), 1), np.float64)


def draw_worlds(
    search: Search,
    posterior: SourcePosterior,
    n_draws: int,
    *,
    rng: np.random.Generator,
) -> SourceDraws:
    """Return worlds drawn from the posterior, up the tree from its outlets.

    Parameters
    ----------
    search : Search
        The tree with its samples.
    posterior : SourcePosterior
        From `find_sources`.
    n_draws : int
        How many [-].
    rng : numpy.random.Generator
        Of every draw.

    Returns
    -------
    SourceDraws
        Grouped by grid point, in no other order.
    """
    from pennyweight.upstream.kernels import draw_up  # noqa: PLC0415 - numba is slow

    often = rng.multinomial(n_draws, posterior.point_weight)
    source, gold, strongest, points = [], [], [], []
    for point, count in zip(posterior.points.tolist(), often.tolist(), strict=True):
        if count == 0:
            continue
        messages, before, _ = search.down(tuple(point))
        parts = search.parts(tuple(point))
        chances = rng.random((count, 2 * len(parts[1]) + len(search.segments.foot)))
        passed = (messages, before, search.strength, search.scale.ratio)
        own, levels = draw_up(parts, passed, chances)
        there, best = _place(search, point[0], own, rng)
        source.append(there)
        gold.append(levels)
        strongest.append(best)
        points += [point] * count
    grid = np.array(points)
    return SourceDraws(
        source=np.concatenate(source),
        gold=np.concatenate(gold),
        strongest=np.concatenate(strongest),
        everywhere_m3=np.asarray(search.supposed.everywhere)[grid[:, 2]]
        * posterior.mean_colors_m3,
        evenness=np.asarray(search.supposed.evenness)[grid[:, 1]],
    )


def _place(
    search: Search, loss: int, own: IndexArray, rng: np.random.Generator
) -> tuple[BoolArray, IndexArray]:
    """Put the source of every part into one of its pieces, by their chances.

    `own` has the level of each part's source, -1 where it has none.
    """
    network, tree = search.network(loss), search.tree
    pieces = np.argsort(network.of_piece, kind="stable")
    first = np.searchsorted(network.of_piece[pieces], np.arange(own.shape[1] + 1))
    running = np.concatenate([[0.0], np.cumsum(search.weight[pieces])])
    draw, part = np.nonzero(own >= 0)
    low, high = running[first[part]], running[first[part + 1]]
    wanted = low + (high - low) * rng.random(len(part))
    found = np.searchsorted(running, wanted, side="right") - 1
    chosen = pieces[np.clip(found, first[part], first[part + 1] - 1)]
    there = np.zeros((len(own), tree.n_reaches), dtype=np.bool_)
    there[draw, chosen] = True
    lost = search.scale.steps_lost(
        search.supposed.loss_per_km[loss]
        / 1000.0
        * (tree.foot_m[chosen] + 0.5 * tree.length_m[chosen])
    )
    brought = own[draw, part] - lost
    strongest = np.full(len(own), -1, dtype=np.int64)
    order = np.argsort(brought, kind="stable")
    strongest[draw[order]] = chosen[order]
    return there, strongest
