"""Where the gold enters: the posterior over all pieces of a stream tree, exactly.

The model. Every piece may hold a source, with a chance in proportion to its ground;
how many there are, and how strong each is, is unknown. Gold is lost downstream at an
unknown rate, diluted by the sediment of the catchment, and lies unevenly; gravel may
hold some everywhere. Colors are counted with a Poisson law about what lies at the
place. On the levels of `FluxScale` this is a tree of discrete quantities, so that
messages passed once down and once up the tree give the posterior without any error
beyond rounding. What is unknown of the whole ground is summed over a grid.
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.progress import Progress, quiet
from pennyweight.upstream.fluxes import FluxScale
from pennyweight.upstream.network import Segments
from pennyweight.upstream.search import Search, Supposed
from pennyweight.upstream.tree import gather

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Grid points whose posterior weight is less than e^-this of the best are left out [-].
LEAST_LOG_WEIGHT = 16.0


@dataclass(frozen=True)
class SourcePosterior:
    """Where gold enters, after all that was washed.

    Attributes
    ----------
    source_chance : ndarray, shape (n_pieces,)
        Probability that a source lies in each piece [-].
    carries_chance : ndarray, shape (n_pieces,)
        Probability that gold of a source passes the foot of each piece [-]; exact
        where `told`, else as if the parts of its segment were independent.
    told : ndarray of bool, shape (n_pieces,)
        Pieces at the foot of a segment.
    prior_chance, prior_carries : ndarray, shape (n_pieces,)
        The same before anything was washed [-], told where `told`; else nan.
    weights : ndarray, shape of `Supposed`
        Posterior of the grid [-].
    points : ndarray of int, shape (n_points, 4)
        Grid points that were kept.
    point_weight : ndarray, shape (n_points,)
        Their posterior [-].
    gold : ndarray, shape (n_points, n_segments, n_levels + 1)
        Distribution of the gold at each segment's foot.
    segments : Segments
        Of the pieces.
    supposed : Supposed
        The grid.
    scale : FluxScale
        Levels.
    mean_colors_m3 : float
        Of all samples together [1/m3].
    log_evidence : float
        Log probability of all that was counted [-].
    """

    source_chance: FloatArray
    carries_chance: FloatArray
    told: BoolArray
    prior_chance: FloatArray
    prior_carries: FloatArray
    weights: FloatArray
    points: npt.NDArray[np.int64]
    point_weight: FloatArray
    gold: FloatArray
    segments: Segments
    supposed: Supposed
    scale: FluxScale
    mean_colors_m3: float
    log_evidence: float

    @property
    def everywhere_chance(self) -> float:
        """Probability that all gravel of the ground holds some gold [-]."""
        by_level = self.weights.sum(axis=(0, 1, 3))
        none = np.asarray(self.supposed.everywhere) == 0.0
        return float(by_level[~none].sum()) if self.mean_colors_m3 > 0.0 else 0.0

    @property
    def expected_sources(self) -> float:
        """Mean number of sources [-]."""
        return float(self.source_chance.sum())


def find_sources(search: Search, progress: Progress = quiet) -> SourcePosterior:
    """Return where gold enters, after all that was washed.

    Parameters
    ----------
    search : Search
        The tree with its samples.
    progress : Progress
        Told how far it is.

    Returns
    -------
    SourcePosterior
        Exact on the levels and the grid, but for grid points of less than e^-16 of
        the best one's weight.
    """
    logs = explore_grid(search, progress)
    kept = sorted(logs, key=lambda point: -logs[point])
    log = np.array([logs[point] for point in kept])
    share = np.exp(log - log.max())
    share /= share.sum()
    segments = search.segments
    part_sum = np.zeros(search.tree.n_reaches)
    none_sum = np.zeros(search.tree.n_reaches)
    gold = np.empty((len(kept), len(segments.foot), len(search.scale.value)))
    for number, point in enumerate(kept):
        progress(0.5 + 0.5 * number / len(kept), "asking every piece for its source")
        gold[number], source = search.up(point)
        found, none = _share_out(search, point, gold[number], source)
        part_sum += share[number] * found
        none_sum += share[number] * none
    weights = np.zeros(search.supposed.shape)
    for point, one in zip(kept, share, strict=True):
        weights[point] = one
    told = np.zeros(search.tree.n_reaches, dtype=np.bool_)
    told[segments.foot] = True
    prior, prior_carries = _beforehand(search)
    return SourcePosterior(
        source_chance=part_sum,
        carries_chance=np.clip(1.0 - none_sum, 0.0, 1.0),
        told=told,
        prior_chance=prior,
        prior_carries=prior_carries,
        weights=weights,
        points=np.array(kept, dtype=np.int64),
        point_weight=share,
        gold=gold,
        segments=segments,
        supposed=search.supposed,
        scale=search.scale,
        mean_colors_m3=search.washed.mean_colors_m3,
        log_evidence=float(log.max() + np.log(np.exp(log - log.max()).sum())),
    )


def explore_grid(
    search: Search, progress: Progress = quiet
) -> dict[tuple[int, ...], float]:
    """Return the log evidence of every grid point that matters.

    From the middle of the grid to its neighbors, as long as they are not ruled out:
    the evidence falls off steadily from its best point.

    Parameters
    ----------
    search : Search
        The tree with its samples.
    progress : Progress
        Told how far it is.

    Returns
    -------
    dict
        Grid point to log evidence [-].
    """
    shape = search.supposed.shape
    found: dict[tuple[int, ...], float] = {}
    middle = tuple(size // 2 for size in shape)
    # The most promising first: next to the best points so far.
    waiting = [(0.0, middle), (0.0, tuple(0 for _ in shape))]
    best = -np.inf
    while waiting:
        _, point = heapq.heappop(waiting)
        if point in found:
            continue
        found[point] = search.down(point)[2] + search.supposed.log_share(point)
        best = max(best, found[point])
        progress(0.5 * len(found) / np.prod(shape), "weighing what is unknown")
        if found[point] >= best - LEAST_LOG_WEIGHT:
            for near in _neighbors(point, shape):
                heapq.heappush(waiting, (-found[point], near))
    return {k: v for k, v in found.items() if v >= best - LEAST_LOG_WEIGHT}


def _neighbors(point: tuple[int, ...], shape: tuple[int, ...]) -> list[tuple[int, ...]]:
    near = []
    for axis, step in itertools.product(range(len(shape)), (-1, 1)):
        moved = point[axis] + step
        if 0 <= moved < shape[axis]:
            near.append((*point[:axis], moved, *point[axis + 1 :]))
    return near


def _share_out(
    search: Search, point: tuple[int, ...], gold: FloatArray, source: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return each piece's chance of a source, and of no gold at its foot."""
    network, tree = search.network(point[0]), search.tree
    part = network.of_piece
    share = search.weight / np.maximum(network.weight[part], 1e-300)
    found = source[part] * share
    # Within a segment: no source above the piece, and none from above it.
    own = np.log1p(-np.minimum(found, 1.0 - 1e-12))
    inside = gather(tree.down, tree.order, own)
    none = np.exp(np.maximum(inside, -700.0))
    none[search.segments.foot] = gold[:, 0]
    return found, none


def _beforehand(search: Search) -> tuple[FloatArray, FloatArray]:
    """Return chances of a source in each piece and above each foot, before washing."""
    grid = np.asarray(search.supposed.sources)
    tree = search.tree
    above = gather(tree.down, tree.order, search.weight)
    piece = -np.expm1(-grid[:, None] * search.weight).mean(axis=0)
    carries = -np.expm1(-grid[:, None] * above).mean(axis=0)
    return np.asarray(piece), np.asarray(carries)
