"""A stream tree with its samples, ready to be summed at any point of the grid.

The grid holds what is unknown of the whole ground: how fast gold is lost downstream,
how unevenly it lies, how much all gravel holds, how many sources there may be.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from pennyweight.upstream.fluxes import FluxScale
from pennyweight.upstream.network import (
    Network,
    Segments,
    find_parting,
    make_network,
)
from pennyweight.upstream.tree import StreamTree
from pennyweight.upstream.washing import (
    Washings,
    find_log_likelihood,
    washing_log_likelihood,
)

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Trees up to this size are told of at every piece [-].
FEW_PIECES = 400
#: Trees of so many parts keep what was passed down them at every grid point [-].
KEPT_PARTS = 1500
#: That no gold lies in all gravel of a ground, beforehand [-]; ours.
NOTHING_EVERYWHERE = 0.7


@dataclass(frozen=True)
class Supposed:
    """What is unknown of the whole ground, as a grid.

    Values of one row are equally likely, but that nothing lies everywhere is likelier
    than all amounts of it together.

    All are ours; docs/sources.md "loss downstream", "unevenness of a creek",
    "gold everywhere", "number of sources".

    Attributes
    ----------
    loss_per_km : tuple of float
        Rate at which gold is lost downstream [1/km].
    evenness : tuple of float
        Shape of the gamma law of places about their stream's mean [-].
    everywhere : tuple of float
        Colors that all gravel of the ground holds, over the mean of all samples [-].
    sources : tuple of float
        Sources that are expected in the ground above the samples [-].
    """

    loss_per_km: tuple[float, ...] = (0.0, 0.1, 0.3, 1.0, 3.0)
    evenness: tuple[float, ...] = (0.4, 1.0, 3.0)
    everywhere: tuple[float, ...] = (0.0, 0.1, 0.3, 1.0)
    sources: tuple[float, ...] = (0.5, 1.5, 4.0)

    @property
    def shape(self) -> tuple[int, ...]:
        """How many values each has."""
        return (
            len(self.loss_per_km),
            len(self.evenness),
            len(self.everywhere),
            len(self.sources),
        )

    def log_share(self, point: tuple[int, ...]) -> float:
        """Return how likely a grid point is beforehand.

        Parameters
        ----------
        point : tuple of int
            Place on the grid [-].

        Returns
        -------
        float
            Natural logarithm of its share [-].
        """
        nothing = [value == 0.0 for value in self.everywhere]
        share = 1.0 / len(nothing)
        if any(nothing) and not all(nothing):
            own = nothing[point[2]]
            whole = NOTHING_EVERYWHERE if own else 1.0 - NOTHING_EVERYWHERE
            share = whole / sum(one == own for one in nothing)
        rest = len(self.loss_per_km) * len(self.evenness) * len(self.sources)
        return float(np.log(share / rest))


@dataclass
class Search:
    """One tree with its samples, ready to be summed at any point of the grid."""

    tree: StreamTree
    washed: Washings
    segments: Segments
    weight: FloatArray
    supposed: Supposed
    scale: FluxScale
    strength: FloatArray
    _networks: dict[int, Network] = field(default_factory=dict)
    _likelihoods: dict[tuple[int, int], FloatArray] = field(default_factory=dict)
    _logs: dict[tuple[int, int], float] = field(default_factory=dict)
    _passed: dict[tuple[int, ...], tuple[FloatArray, FloatArray, float]] = field(
        default_factory=dict
    )

    def network(self, loss: int) -> Network:
        """Return the parts of the tree at a rate of loss.

        Parameters
        ----------
        loss : int
            Place on the grid [-].

        Returns
        -------
        Network
            Worked out once.
        """
        if loss not in self._networks:
            self._networks[loss] = make_network(
                self.tree,
                self.segments,
                self.weight,
                loss_per_km=self.supposed.loss_per_km[loss],
                scale=self.scale,
            )
        return self._networks[loss]

    def everywhere_m3(self, everywhere: int) -> float:
        """Return what all gravel holds.

        Parameters
        ----------
        everywhere : int
            Place on the grid [-].

        Returns
        -------
        float
            Colors in a cubic meter [1/m3].
        """
        return self.supposed.everywhere[everywhere] * self.washed.mean_colors_m3

    def likelihood(self, evenness: int, everywhere: int) -> tuple[FloatArray, float]:
        """Return the likelihood of every segment's samples, and its logged scale.

        Parameters
        ----------
        evenness, everywhere : int
            Places on the grid [-].

        Returns
        -------
        tuple of (ndarray, float)
            Shape (n_segments, n_levels + 1), the best level 1 [-]; log of what they
            were divided by [-].
        """
        key = (evenness, everywhere)
        if key not in self._likelihoods:
            logs = np.zeros((len(self.segments.foot), len(self.scale.value)))
            of_piece, washed = self.segments.of_piece, self.washed
            own = washing_log_likelihood(
                washed,
                self.tree.supply_km2[washed.piece],
                self.scale.value,
                everywhere_m3=self.everywhere_m3(everywhere),
                evenness=self.supposed.evenness[evenness],
            )
            np.add.at(logs, of_piece[washed.piece], own)
            found = find_log_likelihood(
                self.scale.value, self.everywhere_m3(everywhere)
            )
            np.add.at(logs, of_piece[washed.find], found)
            most = logs.max(axis=1, keepdims=True)
            self._likelihoods[key] = np.exp(logs - most)
            self._logs[key] = float(most.sum())
        return self._likelihoods[key], self._logs[key]

    def chance(self, point: tuple[int, ...]) -> FloatArray:
        """Return the chance of a source in every part at a grid point.

        Parameters
        ----------
        point : tuple of int
            Place on the grid [-].

        Returns
        -------
        ndarray, shape (n_parts,)
            Beforehand [-]; 0 for parts from above.
        """
        expected = self.supposed.sources[point[3]] * self.network(point[0]).weight
        return np.asarray(-np.expm1(-expected))

    def parts(self, point: tuple[int, ...]) -> tuple[npt.NDArray[np.generic], ...]:
        """Return the parts of every segment as the kernels take them.

        Parameters
        ----------
        point : tuple of int
            Place on the grid [-].

        Returns
        -------
        tuple of ndarray
            Where they begin, segment above, levels lost, chance of a source [-].
        """
        network = self.network(point[0])
        return network.first_part, network.child, network.steps, self.chance(point)

    def down(self, point: tuple[int, ...]) -> tuple[FloatArray, FloatArray, float]:
        """Return messages, what came before each part, and the log evidence.

        Parameters
        ----------
        point : tuple of int
            Place on the grid [-].

        Returns
        -------
        tuple of (ndarray, ndarray, float)
            As `kernels.pass_down` [-].
        """
        from pennyweight.upstream.kernels import pass_down  # noqa: PLC0415 - numba

        if point in self._passed:
            return self._passed[point]
        likelihood, log_scale = self.likelihood(point[1], point[2])
        levels = (self.strength, self.scale.ratio)
        messages, before, evidence = pass_down(self.parts(point), likelihood, levels)
        passed = (messages, before, float(evidence) + log_scale)
        if len(before) <= KEPT_PARTS:
            self._passed[point] = passed
        return passed

    def up(self, point: tuple[int, ...]) -> tuple[FloatArray, FloatArray]:
        """Return the gold at every foot, and the chance of a source in every part.

        Parameters
        ----------
        point : tuple of int
            Place on the grid [-].

        Returns
        -------
        tuple of (ndarray, ndarray)
            As `kernels.pass_up` [-].
        """
        from pennyweight.upstream.kernels import pass_up  # noqa: PLC0415 - numba

        messages, before, _ = self.down(point)
        passed = (messages, before, self.strength, self.scale.ratio)
        likelihood, _ = self.likelihood(point[1], point[2])
        gold, source = pass_up(self.parts(point), likelihood, passed)
        return np.asarray(gold), np.asarray(source)


def begin_search(
    tree: StreamTree,
    washed: Washings,
    *,
    pointers: FloatArray | None = None,
    asked: BoolArray | None = None,
    supposed: Supposed | None = None,
    scale: FluxScale | None = None,
    strength: FloatArray | None = None,
) -> Search:
    """Return a search: the tree parted by its samples, and the chances beforehand.

    Parameters
    ----------
    tree : StreamTree
        Of pieces.
    washed : Washings
        What was washed on it.
    pointers : ndarray, shape (n_pieces,), optional
        How much likelier a source is in each piece than its area says [-]: rocks.
    asked : ndarray of bool, shape (n_pieces,), optional
        Pieces whose foot is to be told of exactly [-]; small trees are everywhere.
    supposed : Supposed, optional
        The grid.
    scale : FluxScale, optional
        Levels of gold.
    strength : ndarray, shape (n_levels + 1,), optional
        How likely a source is to give each level [-].

    Returns
    -------
    Search
        To be handed to `find_sources`.
    """
    marked = np.zeros(tree.n_reaches, dtype=np.bool_)
    marked[washed.piece] = True
    marked[washed.find] = True
    if asked is None:
        asked = np.full(tree.n_reaches, tree.n_reaches <= FEW_PIECES)
    weight = tree.own_area_km2 * (1.0 if pointers is None else pointers)
    above = _above(tree, marked)
    weight = weight / weight[above].sum()
    scale = scale or FluxScale()
    return Search(
        tree=tree,
        washed=washed,
        segments=find_parting(tree, marked, asked),
        weight=weight,
        supposed=supposed or Supposed(),
        scale=scale,
        strength=scale.strength() if strength is None else strength,
    )


def _above(tree: StreamTree, marked: BoolArray) -> BoolArray:
    """Return the pieces whose water passes a sample; all where there is none."""
    from pennyweight.upstream.kernels import sum_below  # noqa: PLC0415 - numba is slow

    count = sum_below(tree.down, tree.order, marked.astype(np.float64))
    above = (np.asarray(count) > 0.0) | marked
    return above if above.any() else np.ones(tree.n_reaches, dtype=np.bool_)
