"""The best set of blocks when some must be taken before others.

A maximum-closure problem, solved exactly as a minimum cut.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Money is counted in hundredths: the cut is solved in whole numbers.
PARTS = 100.0

#: Stands in for "at any price"; far above any cut, far below overflow.
NEVER = 2**52


def best_closure(
    value: FloatArray, block: npt.ArrayLike, needs: npt.ArrayLike
) -> npt.NDArray[np.bool_]:
    """Return the smallest set of blocks of greatest total value.

    Parameters
    ----------
    value : ndarray, shape (n_blocks,)
        What each block brings in, costs off [currency].
    block, needs : array_like of int, shape (n_rules,)
        Each rule: `block` can only be taken along with the block `needs` [-].

    Returns
    -------
    ndarray of bool, shape (n_blocks,)
        Which blocks to take; none where nothing pays.

    Raises
    ------
    RuntimeError
        The solver did not reach an optimum.

    Notes
    -----
    Picard's network: the source feeds every block of positive value, every block of
    negative value drains into the sink, rules cannot be cut. The source side of the
    minimum cut is the closure. Values are rounded to hundredths.

    References
    ----------
    Picard 1976, Management Science 22: 1268-1272; Lerchs and Grossmann 1965, CIM
    Bulletin 58: 47-54; docs/sources.md, entry "best cut".
    """
    from ortools.graph.python import (  # type: ignore[import-untyped]  # noqa: PLC0415
        max_flow,
    )

    parts = np.rint(np.asarray(value, dtype=np.float64) * PARTS).astype(np.int64)
    taken = np.zeros(len(parts), dtype=np.bool_)
    gains, losses = np.flatnonzero(parts > 0), np.flatnonzero(parts < 0)
    if len(gains) == 0:
        return taken
    source, sink = len(parts), len(parts) + 1
    first, second = np.asarray(block, np.int64), np.asarray(needs, np.int64)
    solver = max_flow.SimpleMaxFlow()
    solver.add_arcs_with_capacity(
        np.concatenate([np.full(len(gains), source), losses, first]).astype(np.int32),
        np.concatenate([gains, np.full(len(losses), sink), second]).astype(np.int32),
        np.concatenate([parts[gains], -parts[losses], np.full(len(first), NEVER)]),
    )
    # The solver knows the sink only by its arcs; without any loss all gains are free.
    if len(losses) == 0:
        taken[gains] = True
        return _with_needs(taken, first, second)
    status = solver.solve(source, sink)
    if status != solver.OPTIMAL:
        largest = float(np.abs(value).max())
        msg = (
            f"the cut of {len(parts)} blocks with values up to {largest:.6g} was not "
            f"solved (status {status}); check price and costs."
        )
        raise RuntimeError(msg)
    side = np.asarray(solver.get_source_side_min_cut(), dtype=np.int64)
    taken[side[side < len(parts)]] = True
    return taken


def _with_needs(
    taken: npt.NDArray[np.bool_], block: IntArray, needs: IntArray
) -> npt.NDArray[np.bool_]:
    """Add whatever the blocks taken need."""
    while True:
        added = taken.copy()
        added[needs[taken[block]]] = True
        if np.array_equal(added, taken):
            return taken
        taken = added
