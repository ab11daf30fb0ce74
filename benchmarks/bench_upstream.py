"""Upstream: the search for a source on trees of growing size, and the whole answer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from pennyweight.upstream.search import Search, begin_search
from pennyweight.upstream.source import find_sources
from pennyweight.upstream.tree import StreamTree, cut_reaches, make_tree
from pennyweight.upstream.washing import make_washings


def grown_tree(n_reaches: int, rng: np.random.Generator) -> StreamTree:
    """Return a tree that was grown upstream: every head forks or stays."""
    down: npt.NDArray[np.int64] = np.full(n_reaches, -1, dtype=np.int64)
    heads, count = [0], 1
    while count + 1 < n_reaches:
        at = int(rng.integers(len(heads)))
        below = heads[at]
        down[count] = down[count + 1] = below
        heads[at] = count
        heads.append(count + 1)
        count += 2
    down = down[:count]
    return make_tree(down, rng.uniform(50.0, 300.0, len(down)))


def washed_search(n_reaches: int, n_samples: int) -> Callable[[], Search]:
    """Return what sets up a search: one place in five has gold."""
    rng = np.random.default_rng(1)
    tree = grown_tree(n_reaches, rng)
    reach = rng.integers(tree.n_reaches, size=n_samples)
    above = rng.uniform(0.0, 50.0, n_samples)
    colors = rng.poisson(np.where(rng.random(n_samples) < 0.2, 5.0, 0.0))

    def begin() -> Search:
        pieces = cut_reaches(tree, reach, above)
        exposure = np.full(n_samples, 0.02)
        washed = make_washings(pieces.at, colors, exposure)
        return begin_search(pieces.tree, washed)

    return begin


def bench_source_of_1_000_reaches() -> Callable[[], object]:
    """Find the source on 1,000 reaches with 2,000 samples."""
    begin = washed_search(1_000, 2_000)
    return lambda: find_sources(begin())


def bench_source_of_10_000_reaches() -> Callable[[], object]:
    """Find the source on 10,000 reaches with 2,000 samples."""
    begin = washed_search(10_000, 2_000)
    return lambda: find_sources(begin())


def bench_source_of_30_000_reaches() -> Callable[[], object]:
    """Find the source on 30,000 reaches with 2,000 samples."""
    begin = washed_search(30_000, 2_000)
    return lambda: find_sources(begin())


def bench_source_of_100_000_reaches() -> Callable[[], object]:
    """Find the source on 100,000 reaches with 2,000 samples."""
    begin = washed_search(100_000, 2_000)
    return lambda: find_sources(begin())


def bench_source_of_300_000_reaches() -> Callable[[], object]:
    """Find the source on 300,000 reaches with 2,000 samples."""
    begin = washed_search(300_000, 2_000)
    return lambda: find_sources(begin())
