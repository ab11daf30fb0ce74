"""The cut: which ground to take, how deep, with walls that do not stand too steep.

The best pit under the walls is an exact optimum; one wide enough for the machine is the
best repair of it that was found, and what the repair costs is kept with it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.ndimage import label

from pennyweight.worth.blocks import (
    Blocks,
    Shares,
    choose_washing,
    slice_height_m,
    slice_shares,
)
from pennyweight.worth.closure import best_closure
from pennyweight.worth.pit import Pit, dig_pit
from pennyweight.worth.season import season_count
from pennyweight.worth.terms import Terms
from pennyweight.worth.walls import (
    GRAVEL_WALL_DEG,
    Walls,
    list_rules,
    slope_walls,
)
from pennyweight.worth.width import (
    FORBIDDEN,
    open_levels,
    pit_value,
    sum_worth,
    widen_pit,
)

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

#: Prices at which pits are made, in parts of today's price, the highest first: the
#: pits are nested. Those of today's and of lower prices are smaller and surer; the one
#: of the greatest expected margin today, all fixed costs paid, is the cut [-].
PRICE_FACTORS = (2.0, 1.5, 1.25, 1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.14)

#: A part that stands alone must bring in this share of a working day's cost [-].
LEAST_DAY_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceCut:
    """The ground that goes at a price of gold.

    Attributes
    ----------
    price_factor : float
        Price over today's [-].
    opened : ndarray of bool, shape (n_rows, n_columns)
        Columns dug.
    gold_mg, pay_m3, cover_m3 : float
        Expected gold washed [mg], pay washed and everything else moved [m3 bank].
    margin : float
        Expected at that price, fixed costs paid [currency].
    margin_today : float
        Expected of the same ground at today's price [currency].
    """

    price_factor: float
    opened: BoolArray
    gold_mg: float
    pay_m3: float
    cover_m3: float
    margin: float
    margin_today: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """The cut, and the ground that would go at other prices.

    Attributes
    ----------
    best : Pit
        Empty where no ground pays for its own digging and washing.
    nested : tuple of PriceCut
        From the lowest price up; those at which nothing goes are left out, and each
        holds those before it.
    tried : tuple of ndarray of int, shape (n_rows, n_columns)
        Slices dug of every pit that was weighed, for decisions taken later [-].
    """

    best: Pit
    nested: tuple[PriceCut, ...]
    tried: tuple[IntArray, ...]


@dataclass(frozen=True, kw_only=True)
class _Ground:
    """What all cuts of one search share."""

    blocks: Blocks
    terms: Terms
    slice_m: float
    shares: Shares
    walls: Walls
    washed: BoolArray = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "washed", choose_washing(self.blocks, self.terms))

    @cached_property
    def means(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Expected gold washed, pay washed and the rest, summed down to each level."""
        pay_share, cover_share = self.shares
        pay = self.blocks.pay_m3.mean(axis=0)
        kept = np.where(self.washed, 1.0, 0.0)
        gold = (kept * self.blocks.mean_gold_mg)[:, None] * pay_share
        cover = self.blocks.cover_m3.mean(axis=0) * cover_share
        thrown = ((1.0 - kept) * pay)[:, None] * pay_share
        washed = (kept * pay)[:, None] * pay_share
        return (
            sum_worth(gold.sum(axis=0)),
            sum_worth(washed.sum(axis=0)),
            sum_worth(cover + thrown.sum(axis=0)),
        )


def _slice_value(ground: _Ground, terms: Terms) -> FloatArray:
    """Return the cautiously expected value of every slice [currency].

    Pay is washed where that is better than throwing it.
    """
    pay_share, cover_share = ground.shares
    pay = ground.blocks.pay_m3.mean(axis=0)
    washed = ground.blocks.cautious_gold_mg * terms.value_per_mg - terms.washing * pay
    each = np.maximum(washed, -terms.stripping * pay)
    value = (each[:, None] * pay_share).sum(axis=0)
    value -= terms.stripping * ground.blocks.cover_m3.mean(axis=0) * cover_share
    value[0] -= terms.reclaiming * ground.blocks.area_m2
    return np.where(ground.blocks.allowed, value, FORBIDDEN)


def _expect(ground: _Ground, levels: IntArray) -> tuple[float, float, float]:
    """Return expected gold [mg], pay and the rest [m3] of a pit."""
    gold, pay, cover = (pit_value(levels, one) for one in ground.means)
    return gold, pay, cover


def _margin(ground: _Ground, levels: IntArray, terms: Terms) -> float:
    """Return the expected margin of a pit, fixed costs paid [currency]."""
    gold, pay, cover = _expect(ground, levels)
    opened = float(ground.blocks.area_m2[levels > 0].sum())
    hours = (
        pay * terms.wash_hours_per_m3
        + cover / terms.digs_m3_per_hour
        + opened * terms.reclaim_hours_per_m2
    )
    cost = pay * terms.washing + cover * terms.stripping + opened * terms.reclaiming
    return (
        gold * terms.value_per_mg
        - cost
        - terms.each_season * season_count(hours, terms)
    )


def find_cut(
    blocks: Blocks, terms: Terms, *, wall_slope_deg: float = GRAVEL_WALL_DEG
) -> Pit:
    """Return the pit of the greatest expected margin, one slope for all walls.

    Parameters
    ----------
    blocks : Blocks
        The columns of ground.
    terms : Terms
        Price, costs and plant.
    wall_slope_deg : float
        Steepest wall, above 0 and below 90 [deg].

    Returns
    -------
    Pit
        Empty where no ground pays for its own digging and washing.

    References
    ----------
    docs/sources.md, entry "best cut".
    """
    slice_m = slice_height_m(blocks, wall_slope_deg)
    slopes = np.full(count_slices(blocks, slice_m), wall_slope_deg)
    return find_cuts(blocks, terms, slice_m=slice_m, slopes_deg=slopes).best


def find_cuts(
    blocks: Blocks, terms: Terms, *, slice_m: float, slopes_deg: FloatArray
) -> Cuts:
    """Return the pit of the greatest expected margin, and those of other prices.

    Every pit is an exact optimum under the walls at its price, with gold expected
    cautiously, repaired where the machine has no room; fixed costs of one or more
    seasons then choose among those of today's and of lower prices.

    Parameters
    ----------
    blocks : Blocks
        The columns of ground.
    terms : Terms
        Price, costs and plant; the cut is at least `min_width_m` wide.
    slice_m : float
        Height of a slice [m].
    slopes_deg : ndarray, shape (n_slices,)
        Steepest wall in each slice, above 0 and below 90 [deg].

    Returns
    -------
    Cuts
        The best, and the nested ones.

    References
    ----------
    Lerchs and Grossmann 1965, CIM Bulletin 58: 47-54 (the problem, and pits nested by
    price); Picard 1976 (as a minimum cut); docs/sources.md, entry "best cut".
    """
    edges_m = _edges_m(blocks)
    ground = _Ground(
        blocks=blocks,
        terms=terms,
        slice_m=slice_m,
        shares=slice_shares(blocks, slice_m),
        walls=slope_walls(slopes_deg, slice_m, edges_m),
    )
    window = _window(terms.min_width_m, edges_m)
    free = _nest_pits(ground)
    wide = [open_levels(levels, window) for levels in free]
    today = PRICE_FACTORS.index(1.0)
    tried = [*wide[today:]]
    if free[today].any():
        value = _slice_value(ground, terms)
        tried.append(widen_pit(free[today], value, window=window, walls=ground.walls))
    tried = [_drop_small_parts(levels, ground) for levels in tried]
    dug = [levels for levels in tried if levels.any()]
    best = max(
        dug, key=lambda levels: _margin(ground, levels, terms), default=0 * free[today]
    )
    pit = _dig(ground, best)
    lost = 0.0
    if dug:
        loose = [one for one in free[today:] if one.any()]
        most = max(_margin(ground, one, terms) for one in [*loose, best])
        lost = most - _margin(ground, best, terms)
    return Cuts(
        best=replace(pit, width_cost=lost),
        nested=_show_nested(ground, wide),
        tried=tuple(one for one in [*wide[:today], *dug] if one.any()),
    )


def _edges_m(blocks: Blocks) -> tuple[float, float]:
    """Return the sides of a column along and across the valley [m]."""
    return float(np.diff(blocks.s_edges_m)[0]), float(np.diff(blocks.n_edges_m)[0])


def _window(width_m: float, edges_m: tuple[float, float]) -> tuple[int, int]:
    """Return how many rows and columns the machine needs."""
    rows, columns = (max(int(np.ceil(width_m / edge - 1e-9)), 1) for edge in edges_m)
    return rows, columns


def count_slices(blocks: Blocks, slice_m: float) -> int:
    """Return how many slices reach the bottom of the deepest pay, one at least.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    slice_m : float
        Height of a slice, above 0 [m].

    Returns
    -------
    int
        Slices [-].
    """
    return max(int(np.ceil(float(blocks.floor_m.max()) / slice_m - 1e-9)), 1)


def _nest_pits(ground: _Ground) -> list[IntArray]:
    """Return the exact best pit at every price, each inside the one before it.

    What does not pay at a high price does not at a lower one, so that each pit is
    looked for inside the last one only.
    """
    terms, shape = ground.terms, ground.blocks.area_m2.shape
    block, needs = list_rules(ground.walls, *shape)
    count = ground.walls.needed.shape[1] - 1
    inside = np.arange(count * shape[0] * shape[1])
    pits = []
    for factor in PRICE_FACTORS:
        priced = replace(terms, price_per_g=terms.price_per_g * factor)
        value = _slice_value(ground, priced).ravel()
        taken = best_closure(value[inside], block, needs)
        place = np.cumsum(taken) - 1
        kept = taken[block] & taken[needs]
        block, needs = place[block[kept]], place[needs[kept]]
        inside = inside[taken]
        mined = np.zeros(len(value), dtype=np.bool_)
        mined[inside] = True
        pits.append(mined.reshape(count, *shape).sum(axis=0).astype(np.int64))
    return pits


def _show_nested(ground: _Ground, pits: list[IntArray]) -> tuple[PriceCut, ...]:
    """Return what goes at each price, from the lowest up."""
    shown = []
    for factor, levels in zip(PRICE_FACTORS, pits, strict=True):
        if not levels.any():
            break
        terms = ground.terms
        priced = replace(terms, price_per_g=terms.price_per_g * factor)
        gold, pay, cover = _expect(ground, levels)
        shown.append(
            PriceCut(
                price_factor=factor,
                opened=levels > 0,
                gold_mg=gold,
                pay_m3=pay,
                cover_m3=cover,
                margin=_margin(ground, levels, priced),
                margin_today=_margin(ground, levels, terms),
            )
        )
    return tuple(shown[::-1])


def wall_rules(
    blocks: Blocks, slice_m: float, wall_slope_deg: float
) -> tuple[IntArray, IntArray]:
    """Return which slice needs which: the one above, and those of a sloping wall.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    slice_m : float
        Height of a slice [m].
    wall_slope_deg : float
        Steepest wall [deg].

    Returns
    -------
    tuple of ndarray of int, shape (n_rules,)
        Slice, and the slice that it needs, as places in the flattened array
        (n_slices, n_rows, n_columns) [-].
    """
    slopes = np.full(count_slices(blocks, slice_m), wall_slope_deg)
    walls = slope_walls(slopes, slice_m, _edges_m(blocks))
    return list_rules(walls, *blocks.area_m2.shape)


def _drop_small_parts(levels: IntArray, ground: _Ground) -> IntArray:
    """Leave out parts that stand alone and would not pay for moving there."""
    terms = ground.terms
    parts, count = label(levels > 0, structure=np.ones((3, 3)))
    least = LEAST_DAY_SHARE * terms.hourly * terms.hours_per_day
    worth = np.take_along_axis(
        sum_worth(_slice_value(ground, terms)), levels[None], axis=0
    )[0]
    whole = np.bincount(parts.ravel(), weights=worth.ravel(), minlength=count + 1)
    kept = whole > least
    kept[0] = False
    return np.asarray(np.where(kept[parts], levels, 0))


def _dig(ground: _Ground, levels: IntArray) -> Pit:
    """Return what comes out of a pit of so many slices, draw by draw."""
    count = ground.walls.needed.shape[1] - 1
    mined = np.arange(count)[:, None, None] < levels
    return dig_pit(
        ground.blocks,
        mined,
        ground.slice_m,
        washed=ground.washed,
        shares=ground.shares,
    )
