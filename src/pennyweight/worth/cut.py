"""The cut: which ground to take, how deep, with walls that do not stand too steep."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
from scipy.ndimage import label

from pennyweight.worth.blocks import Blocks, choose_washing, slice_height_m
from pennyweight.worth.closure import best_closure
from pennyweight.worth.season import season_count
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Steepest wall of gravel, 1.5 across for 1 down (29 CFR 1926 Subpart P, appendix B,
#: type C; deepest 20 ft) [deg]. For reckoning volumes only, never a promise.
GRAVEL_WALL_DEG = 33.69

#: Costs are raised by these factors to find smaller and surer cuts; the cut of the
#: greatest expected margin with all fixed costs is kept [-].
COST_FACTORS = (1.0, 1.1, 1.25, 1.5, 1.8, 2.2, 3.0, 4.5, 7.0)

#: A part that stands alone must bring in this share of a working day's cost [-].
LEAST_DAY_SHARE = 0.5

#: What digging outside the boundary is said to cost; it never pays.
FORBIDDEN = -1.0e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Pit:
    """Ground to take out.

    Attributes
    ----------
    mined : ndarray of bool, shape (n_slices, n_rows, n_columns)
        Slices taken, from the surface down.
    slice_m : float
        Height of a slice [m].
    washed : ndarray of bool, shape (n_horizons, n_rows, n_columns)
        Pay that is washed once it is dug.
    gold_mg, pay_m3, cover_m3 : ndarray, shape (n_draws, n_rows, n_columns)
        Gold washed, pay washed and everything else moved, by column.
    depth_m : ndarray, shape (n_rows, n_columns)
        How deep each column is taken [m].
    opened_m2 : ndarray, shape (n_rows, n_columns)
        Surface opened [m2].
    """

    mined: BoolArray
    slice_m: float
    washed: BoolArray
    gold_mg: FloatArray
    pay_m3: FloatArray
    cover_m3: FloatArray
    depth_m: FloatArray
    opened_m2: FloatArray

    @property
    def is_empty(self) -> bool:
        """Whether nothing is taken."""
        return not bool(self.mined.any())

    def hours(self, terms: Terms) -> FloatArray:
        """Return the working hours of each draw.

        Parameters
        ----------
        terms : Terms
            Price, costs and plant.

        Returns
        -------
        ndarray, shape (n_draws,)
            Washing and stripping one after the other [h].
        """
        pay = self.pay_m3.sum(axis=(1, 2)) / terms.m3_per_hour
        return np.asarray(pay + self.cover_m3.sum(axis=(1, 2)) / terms.digs_m3_per_hour)

    def revenue(self, terms: Terms) -> FloatArray:
        """Return what the gold of each draw brings in.

        Parameters
        ----------
        terms : Terms
            Price, costs and plant.

        Returns
        -------
        ndarray, shape (n_draws,)
            After plant loss, refining and royalty [currency].
        """
        return np.asarray(self.gold_mg.sum(axis=(1, 2)) * terms.value_per_mg)

    def cost(self, terms: Terms) -> FloatArray:
        """Return what each draw costs, fixed costs of every season included.

        Parameters
        ----------
        terms : Terms
            Price, costs and plant.

        Returns
        -------
        ndarray, shape (n_draws,)
            Money [currency].
        """
        moved = (
            self.pay_m3.sum(axis=(1, 2)) * terms.washing
            + self.cover_m3.sum(axis=(1, 2)) * terms.stripping
        )
        seasons = season_count(float(self.hours(terms).mean()), terms)
        opened = float(self.opened_m2.sum()) * terms.reclaim_per_m2
        return np.asarray(moved + opened + terms.fixed * seasons)


def find_cut(
    blocks: Blocks, terms: Terms, *, wall_slope_deg: float = GRAVEL_WALL_DEG
) -> Pit:
    """Return the pit of the greatest expected margin.

    Every pit tried is an exact optimum under the walls for its cost factor, with
    gold expected cautiously; fixed costs of one or more seasons then choose among
    them.

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
    Lerchs and Grossmann 1965, CIM Bulletin 58: 47-54 (the problem, and pits nested by
    cost); Picard 1976 (as a minimum cut); docs/sources.md, entry "best cut".
    """
    slice_m = slice_height_m(blocks, wall_slope_deg)
    washed = choose_washing(blocks, terms)
    shares = slice_shares(blocks, slice_m)
    gains, costs = _slice_money(blocks, terms, washed=washed, shares=shares)
    rules = wall_rules(blocks, slice_m, wall_slope_deg)
    pits = []
    for factor in COST_FACTORS:
        value = np.where(blocks.allowed, gains - factor * costs, FORBIDDEN)
        mined = best_closure(value.ravel(), *rules).reshape(value.shape)
        mined = _drop_small_parts(mined, gains - costs, terms)
        pits.append(dig_pit(blocks, mined, slice_m, washed=washed, shares=shares))
        if pits[-1].is_empty:
            break
    dug = [pit for pit in pits if not pit.is_empty]
    if not dug:
        return pits[0]
    return max(
        dug, key=lambda pit: float((pit.revenue(terms) - pit.cost(terms)).mean())
    )


Shares = tuple[FloatArray, FloatArray]


def slice_shares(blocks: Blocks, slice_m: float) -> Shares:
    """Return which share of every column's pay and cover lies in each slice.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    slice_m : float
        Height of a slice [m].

    Returns
    -------
    tuple of ndarray
        Of the pay, shape (n_horizons, n_slices, n_rows, n_columns), and of the cover,
        shape (n_slices, n_rows, n_columns); each adds up to 1 over the slices [-].
    """
    floor = blocks.floor_m
    count = max(int(np.ceil(float(floor.max()) / slice_m - 1e-9)), 1)
    upper = (np.arange(count) * slice_m)[:, None, None]
    lower = upper + slice_m
    top, bottom = blocks.top_m[:, None], blocks.bottom_m[:, None]
    met = np.clip(np.minimum(lower, bottom) - np.maximum(upper, top), 0.0, None)
    thick = met.sum(axis=1, keepdims=True)
    # Pay without thickness sits in the slice of its top.
    point = (top >= upper) & (top < lower)
    pay = np.where(thick > 0.0, met / np.where(thick > 0.0, thick, 1.0), point)
    reached = np.clip(np.minimum(lower, floor) - upper, 0.0, slice_m)
    barren = np.maximum(reached - met.sum(axis=0), 0.0) + 1e-9 * reached
    whole = barren.sum(axis=0)
    cover = barren / np.where(whole > 0.0, whole, 1.0)
    return pay.astype(np.float64), cover


def _slice_money(
    blocks: Blocks, terms: Terms, *, washed: BoolArray, shares: Shares
) -> tuple[FloatArray, FloatArray]:
    """Return expected gain and cost of every slice [currency]."""
    pay_share, cover_share = shares
    gold = np.where(washed, blocks.cautious_gold_mg, 0.0) * terms.value_per_mg
    gains = (gold[:, None] * pay_share).sum(axis=0)
    each = np.where(washed, terms.washing, terms.stripping)
    dug = each * blocks.pay_m3.mean(axis=0)
    costs = (dug[:, None] * pay_share).sum(axis=0)
    costs += terms.stripping * blocks.cover_m3.mean(axis=0) * cover_share
    costs[0] += terms.reclaim_per_m2 * blocks.area_m2
    return gains, costs


def wall_rules(
    blocks: Blocks, slice_m: float, wall_slope_deg: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
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
    count = max(int(np.ceil(float(blocks.floor_m.max()) / slice_m - 1e-9)), 1)
    rows, columns = blocks.area_m2.shape
    number = np.arange(count * rows * columns).reshape(count, rows, columns)
    block, needs = [number[1:].ravel()], [number[:-1].ravel()]
    steps = np.array([np.diff(blocks.s_edges_m)[0], np.diff(blocks.n_edges_m)[0]])
    for down, right in product((-1, 0, 1), repeat=2):
        if down == right == 0:
            continue
        away_m = float(np.hypot(*(steps * (down, right))))
        fall = away_m * float(np.tan(np.deg2rad(wall_slope_deg))) / slice_m
        drop = max(int(np.floor(fall + 1e-9)), 0)
        if drop >= count:
            continue
        here = number[drop:, _from(-down, rows), _from(-right, columns)]
        there = number[: count - drop, _from(down, rows), _from(right, columns)]
        block.append(here.ravel())
        needs.append(there.ravel())
    return np.concatenate(block), np.concatenate(needs)


def _from(step: int, size: int) -> slice:
    """Return the part of an axis that has a neighbor that many steps back."""
    return slice(max(step, 0), size + min(step, 0))


def _drop_small_parts(mined: BoolArray, value: FloatArray, terms: Terms) -> BoolArray:
    """Leave out parts that stand alone and would not pay for moving there."""
    parts, count = label(mined[0], structure=np.ones((3, 3)))
    least = LEAST_DAY_SHARE * terms.hourly * terms.hours_per_day
    worth = (np.where(mined, value, 0.0)).sum(axis=0)
    kept = np.zeros(count + 1, dtype=np.bool_)
    for part in range(1, count + 1):
        kept[part] = worth[parts == part].sum() > least
    return np.asarray(mined & kept[parts])


def dig_pit(
    blocks: Blocks,
    mined: BoolArray,
    slice_m: float,
    *,
    washed: BoolArray,
    shares: Shares,
) -> Pit:
    """Return what comes out of a pit, draw by draw.

    Parameters
    ----------
    blocks : Blocks
        The columns.
    mined : ndarray of bool, shape (n_slices, n_rows, n_columns)
        Slices taken [-].
    slice_m : float
        Height of a slice [m].
    washed : ndarray of bool, shape (n_horizons, n_rows, n_columns)
        Pay that is washed [-].
    shares : tuple of ndarray
        As `slice_shares` gives them [-].

    Returns
    -------
    Pit
        Gold, pay and cover by column and draw.
    """
    pay_share, cover_share = shares
    taken = (pay_share * mined).sum(axis=1)
    kept = np.where(washed, taken, 0.0)
    gold = (blocks.gold_mg * kept).sum(axis=1)
    pay = (blocks.pay_m3 * kept).sum(axis=1)
    thrown = (blocks.pay_m3 * (taken - kept)).sum(axis=1)
    cover = blocks.cover_m3 * (cover_share * mined).sum(axis=0) + thrown
    depth = np.minimum(mined.sum(axis=0) * slice_m, blocks.floor_m)
    return Pit(
        mined=mined,
        slice_m=slice_m,
        washed=washed,
        gold_mg=gold,
        pay_m3=pay,
        cover_m3=cover,
        depth_m=np.where(mined[0], depth, 0.0),
        opened_m2=np.where(mined[0], blocks.area_m2, 0.0),
    )
