"""What comes out of a pit, draw by draw: gold, pay, cover, hours and money."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from pennyweight.worth.blocks import Blocks, Shares
from pennyweight.worth.season import season_count
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
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
    kept_factor : ndarray, shape (n_draws,), or float
        What the plant keeps in each draw over what it keeps on average, by the sizes
        of the gold [-].
    width_cost : float
        Expected margin given up so that the machine has room [currency].
    """

    mined: BoolArray
    slice_m: float
    washed: BoolArray
    gold_mg: FloatArray
    pay_m3: FloatArray
    cover_m3: FloatArray
    depth_m: FloatArray
    opened_m2: FloatArray
    kept_factor: FloatArray | float = 1.0
    width_cost: float = 0.0

    @cached_property
    def gold_total_mg(self) -> FloatArray:
        """Gold washed in each draw, shape (n_draws,) [mg]."""
        return np.asarray(self.gold_mg.sum(axis=(1, 2)))

    @cached_property
    def pay_total_m3(self) -> FloatArray:
        """Pay washed in each draw, shape (n_draws,) [m3 bank]."""
        return np.asarray(self.pay_m3.sum(axis=(1, 2)))

    @cached_property
    def cover_total_m3(self) -> FloatArray:
        """Everything else moved in each draw, shape (n_draws,) [m3 bank]."""
        return np.asarray(self.cover_m3.sum(axis=(1, 2)))

    @cached_property
    def area_m2(self) -> float:
        """Surface opened [m2]."""
        return float(self.opened_m2.sum())

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
            Stripping, washing and putting back one after the other, the plant running
            [h].
        """
        return np.asarray(
            self.pay_total_m3 * terms.wash_hours_per_m3
            + self.cover_total_m3 / terms.digs_m3_per_hour
            + self.area_m2 * terms.reclaim_hours_per_m2
        )

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
        return np.asarray(self.gold_total_mg * self.kept_factor * terms.value_per_mg)

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
            self.pay_total_m3 * terms.washing + self.cover_total_m3 * terms.stripping
        )
        seasons = season_count(float(self.hours(terms).mean()), terms)
        opened = self.area_m2 * terms.reclaiming
        return np.asarray(moved + opened + terms.each_season * seasons)


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
