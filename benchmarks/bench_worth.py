"""The cut: a million blocks solved exactly, and worth drawn many times."""

from collections.abc import Callable

import networkx as nx  # type: ignore[import-untyped]
import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from pennyweight.records import Ground
from pennyweight.worth.blocks import PayHorizon, ValleyGrid, build_blocks
from pennyweight.worth.closure import PARTS, best_closure
from pennyweight.worth.cut import find_cut
from pennyweight.worth.rates import fit_mean_rate
from pennyweight.worth.reconcile import Priors, learn_from_cuts
from pennyweight.worth.terms import Terms, read_terms

IntArray = npt.NDArray[np.int64]
Made = tuple[npt.NDArray[np.float64], IntArray, IntArray]

#: Rows and columns of a layer, and layers, of the large ground: a million blocks.
LARGE = (200, 200, 25)
#: Of the grounds that the other two solvers can finish.
MIDDLE, SMALL = (40, 40, 10), (12, 12, 6)


def made_pit(shape: tuple[int, int, int], *, rich: bool = False) -> Made:
    """Return blocks in layers, each needing five above it: above, and four beside.

    Placer ground: overburden that costs, and pay in the lowest layers along streaks
    that wander. Rich ground pays nearly everywhere below: the hardest cut to solve.
    """
    rows, columns, layers = shape
    rng = np.random.default_rng(7)
    coarse = rng.standard_normal((rows // 4 + 2, columns // 4 + 2))
    smooth = np.kron(coarse, np.ones((4, 4)))[:rows, :columns]
    noise = rng.standard_normal((layers, rows, columns))
    if rich:
        depth = np.linspace(-1.0, 1.6, layers)[:, None, None]
        value = 400.0 * (smooth + 1.5 * depth - 0.4) + 300.0 * noise
    else:
        value = np.full((layers, rows, columns), -3.0) - 0.2 * np.abs(noise)
        lowest = max(layers // 5, 1)
        gold = 25.0 * np.exp(1.2 * smooth) * np.exp(0.5 * noise[-lowest:])
        value[-lowest:] = gold - 40.0
    number = np.arange(value.size).reshape(value.shape)
    block, needs = [], []
    for down, right in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):
        here = number[1:, _part(down, rows), _part(right, columns)]
        above = number[:-1, _part(-down, rows), _part(-right, columns)]
        block.append(here.ravel())
        needs.append(above.ravel())
    return value.ravel(), np.concatenate(block), np.concatenate(needs)


def _part(step: int, size: int) -> slice:
    return slice(max(step, 0), size + min(step, 0))


def network(made: Made) -> tuple[csr_array, int, int]:
    """Return the flow network of a pit for scipy, with source and sink."""
    value, block, needs = made
    parts = np.rint(value * PARTS).astype(np.int64)
    source, sink = len(parts), len(parts) + 1
    gains, losses = np.flatnonzero(parts > 0), np.flatnonzero(parts < 0)
    tail = np.concatenate([np.full(len(gains), source), losses, block])
    head = np.concatenate([gains, np.full(len(losses), sink), needs])
    room = np.concatenate(
        [parts[gains], -parts[losses], np.full(len(block), 2**31 - 1)]
    )
    size = len(parts) + 2
    graph = csr_array((room.astype(np.int32), (tail, head)), shape=(size, size))
    return graph, source, sink


def bench_closure_of_a_million_blocks() -> Callable[[], object]:
    """Find the maximum closure of 1,000,000 blocks, five predecessors each."""
    made = made_pit(LARGE)
    return lambda: best_closure(*made)


def bench_closure_of_a_million_rich_blocks() -> Callable[[], object]:
    """Find the maximum closure of 1,000,000 blocks that nearly all pay."""
    made = made_pit(LARGE, rich=True)
    return lambda: best_closure(*made)


def bench_closure_16000() -> Callable[[], object]:
    """Find that of 16,000 blocks, beside the next line."""
    made = made_pit(MIDDLE)
    return lambda: best_closure(*made)


def bench_closure_16000_scipy() -> Callable[[], object]:
    """16,000 blocks by scipy.sparse.csgraph.maximum_flow, the flow alone."""
    graph, source, sink = network(made_pit(MIDDLE))
    return lambda: maximum_flow(graph, source, sink)


def bench_closure_864() -> Callable[[], object]:
    """Find that of 864 blocks, beside the next line."""
    made = made_pit(SMALL)
    return lambda: best_closure(*made)


def bench_closure_864_networkx() -> Callable[[], object]:
    """864 blocks by networkx.minimum_cut."""
    graph, source, sink = network(made_pit(SMALL))
    drawn = nx.DiGraph()
    arcs = graph.tocoo()
    for tail, head, room in zip(arcs.row, arcs.col, arcs.data, strict=True):
        drawn.add_edge(int(tail), int(head), capacity=int(room))
    return lambda: nx.minimum_cut(drawn, source, sink)


def bench_worth_of_500_draws() -> Callable[[], object]:
    """Blocks, cut and margin of 500 draws of a grid of 300 x 60 x 6."""
    rng = np.random.default_rng(3)
    s_m, n_m = np.linspace(0.0, 299.0, 300), np.linspace(-30.0, 29.0, 60)
    crest = 900.0 * np.exp(-0.5 * (n_m / 5.0) ** 2)
    level = np.exp(0.4 * rng.standard_normal((500, 300, 1)))
    gold = level * crest
    horizon = PayHorizon(
        horizon="bedrock",
        accumulation_mg_m2=gold,
        thickness_m=np.full(gold.shape, 0.6),
        top_m=np.full(gold.shape, 0.7),
    )
    grid = ValleyGrid(
        s_m=s_m,
        n_m=n_m,
        area_m2=np.ones((300, 60)),
        sampled=np.ones((300, 60), dtype=bool),
        allowed=np.ones((300, 60), dtype=bool),
    )
    terms = made_terms()

    def weigh() -> object:
        blocks = build_blocks(grid, [horizon], edge_m=1.0, min_pay_m=0.3)
        pit = find_cut(blocks, terms)
        return pit.revenue(terms) - pit.cost(terms)

    return weigh


def made_terms() -> Terms:
    """Return invented terms."""
    return read_terms(
        Ground(
            currency="USD",
            gold_price_per_g=70.0,
            costs={"wash_per_m3": 8.0, "strip_per_m3": 3.0},
            plant={"name": "small digger and sluice", "recovery": 0.85},
        )
    )


def bench_evidence_of_20_cuts() -> Callable[[], object]:
    """Learn from 20 clean-ups what samples, plant and estimate are off."""
    rng = np.random.default_rng(4)
    gold = 3000.0 * np.exp(0.4 * rng.standard_normal((500, 20)))
    priors = Priors(common_rel_sd=0.2, recovery=0.8, recovery_rel_sd=0.1)
    return lambda: learn_from_cuts(gold, np.full(20, 2000.0), priors=priors)


def bench_mean_rate_of_200_places() -> Callable[[], object]:
    """Mean grade and unevenness of 200 places."""
    rng = np.random.default_rng(5)
    counts = rng.poisson(6.0 * rng.gamma(1.0, 1.0, 200))
    return lambda: fit_mean_rate(counts, np.ones(200))
