"""What one more day of digging is worth before deciding, as a number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.digchoice import choose_digs
from pennyweight.answers.mineground import WallPlan
from pennyweight.answers.reading import Reading
from pennyweight.nextdig.gain import tell, tell_nothing
from pennyweight.worth.blocks import Blocks, choose_washing, slice_shares
from pennyweight.worth.lookahead import look_ahead, margins_of
from pennyweight.worth.terms import Terms
from pennyweight.worth.walls import Walls, fill_walls, slope_walls

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Pieces along the valley that may be left or taken alone, at most [-].
MOST_PIECES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMoreDay:
    """Digging for one more day before deciding, against deciding now.

    `value` is what deciding after it brings over deciding now; `net` has the cost of
    the day taken off. `expected_now` and `expected_after` are the margins of the best
    decision, to leave included. `noise` is the standard error of the value.
    """

    digs: int
    hours: float
    expected_now: float
    expected_after: float
    value: float
    cost: float
    net: float
    noise: float
    chance_of_turning: float


def weigh_one_day(
    reading: Reading,
    terms: Terms,
    *,
    blocks: Blocks,
    walls: WallPlan,
    tried: Sequence[IntArray],
    kept_factor: FloatArray | float,
) -> OneMoreDay | None:
    """Return what one more day of the best next digs is worth.

    None where no stretch was sampled. Plans weighed are every pit that was tried, the
    pits of dearer gold, and the best of them without a piece, or one piece alone.
    """
    chosen = choose_digs(reading, 1.0)
    if chosen is None:
        return None
    ground_walls = slope_walls(
        walls.slopes_deg,
        walls.slice_m,
        (float(np.diff(blocks.s_edges_m)[0]), float(np.diff(blocks.n_edges_m)[0])),
    )
    plans = [*tried, *(p for one in tried[-1:] for p in _pieces(one, ground_walls))]
    margins = margins_of(
        blocks,
        terms,
        plans,
        shares=slice_shares(blocks, walls.slice_m),
        washed=choose_washing(blocks, terms),
        kept_factor=kept_factor,
    )
    told = tell_nothing(margins.T)
    for one in chosen.choices:
        told = tell(told, chosen.options[one.index].looks, margins.T)
    hours = sum(chosen.options[one.index].hours for one in chosen.choices)
    found = look_ahead(margins, told.value.T)
    value = found.value if chosen.choices else 0.0
    cost = terms.sampling_day or terms.wage_per_hour * chosen.setting.hours
    return OneMoreDay(
        digs=len(chosen.choices),
        hours=hours,
        expected_now=found.now,
        expected_after=found.now + value,
        value=value,
        cost=cost,
        net=value - cost,
        noise=found.noise,
        chance_of_turning=found.turns if value > 0.0 else 0.0,
    )


def _pieces(levels: IntArray, walls: Walls) -> list[IntArray]:
    """Return a pit without one piece of the valley, and each piece alone."""
    rows = np.flatnonzero(levels.any(axis=1))
    pieces = [
        part
        for part in np.array_split(rows, min(MOST_PIECES, len(rows)))
        if len(part) > 0
    ]
    if len(pieces) < 2:
        return []
    found = []
    for piece in pieces:
        without, alone = levels.copy(), np.zeros_like(levels)
        without[piece] = 0
        alone[piece] = levels[piece]
        found += [fill_walls(without, walls), fill_walls(alone, walls)]
    return [one for one in found if one.any()]
