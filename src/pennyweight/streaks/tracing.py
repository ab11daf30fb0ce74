"""Tracing: presence, ribbons and links in every draw, at one cutoff.

A change of the cutoff only traces again: the joins are drawn anew for the crossings
that are above it in each draw, by the same exact chain, and the field stays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.between import ValleyGrid
from pennyweight.streaks.crossings import part_line
from pennyweight.streaks.fit import HorizonFit, StreakFit
from pennyweight.streaks.links import draw_joins
from pennyweight.streaks.ribbons import Ribbon, cut_ribbon, keep_draws

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
Cells = npt.NDArray[np.float32]

#: How far beside the straight join of two crossings a ribbon is looked for [m].
BESIDE_M = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """One horizon at one cutoff.

    Attributes
    ----------
    fit : HorizonFit
        The horizon.
    cutoff_mg_m3, min_pay_m : float
        Bank grade [mg/m3] and least thickness [m].
    crossing : tuple of Ribbon
        One a candidate crossing, on its line.
    parent, child : ndarray of int, shape (n_links,)
        Candidates that each possible link joins [-].
    linked : ndarray of bool, shape (n_draws, n_links)
        Links in each draw; both ends are above the cutoff where linked.
    """

    fit: HorizonFit
    cutoff_mg_m3: float
    min_pay_m: float
    crossing: tuple[Ribbon, ...]
    parent: IntArray
    child: IntArray
    linked: BoolArray

    def present(self) -> BoolArray:
        """Return whether each crossing is above the cutoff in each draw.

        Returns
        -------
        ndarray of bool, shape (n_draws, n_candidates)
            Presence.
        """
        if not self.crossing:
            return np.zeros((len(self.linked), 0), dtype=bool)
        return np.stack([ribbon.present for ribbon in self.crossing], axis=1)

    def threshold_mg_m2(self, row: int) -> Cells:
        """Return what the field must exceed in one row.

        Parameters
        ----------
        row : int
            Row of the grid [-].

        Returns
        -------
        ndarray of float32, shape (n_draws, n_grid)
            Cutoff times pay thickness [mg/m2].
        """
        pay = self.fit.cell_pay_m[:, row]
        return np.asarray(self.cutoff_mg_m3 * np.maximum(pay, self.min_pay_m))


def trace_horizon(
    fit: HorizonFit,
    ground: StreakFit,
    *,
    cutoff_mg_m3: float,
    min_pay_m: float,
    rng: np.random.Generator,
) -> Traced:
    """Return presence and links of a horizon at a cutoff.

    Parameters
    ----------
    fit : HorizonFit
        The horizon.
    ground : StreakFit
        What it belongs to.
    cutoff_mg_m3, min_pay_m : float
        Bank grade [mg/m3] and least thickness [m].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Traced
        In every draw.
    """
    found = fit.crossings
    grid = ground.grid
    threshold = cutoff_mg_m3 * np.maximum(fit.line_pay_m, min_pay_m)
    ribbons: list[Ribbon] = []
    for line in np.unique(found.line):
        ribbons += _cross(fit, int(line), threshold[:, line], grid)
    present = (
        np.stack([ribbon.present for ribbon in ribbons], axis=1)
        if ribbons
        else np.zeros((len(fit.shift_m), 0), dtype=bool)
    )
    linked = draw_joins(
        found, fit.floor, present, sideways_m=fit.topologies.sideways_m, rng=rng
    )
    return Traced(
        fit=fit,
        cutoff_mg_m3=cutoff_mg_m3,
        min_pay_m=min_pay_m,
        crossing=tuple(ribbons),
        parent=fit.topologies.parent,
        child=fit.topologies.child,
        linked=linked,
    )


def _cross(
    fit: HorizonFit, line: int, threshold: FloatArray, grid: ValleyGrid
) -> list[Ribbon]:
    """Return the ribbons of a line's candidates; one without a peak of its own is not.

    Candidates that the links hold to be two stay two.
    """
    mine = fit.crossings.of_line(line)
    shift = fit.shift_m[:, line, None] / grid.dn_m
    last = len(grid.n_m) - 1
    low, high = (
        np.clip(np.rint(side[mine] - shift), 0, last).astype(np.int64)
        for side in (fit.crossings.low, fit.crossings.high)
    )
    field = fit.line_mg_m2[:, line]
    parted = part_line(
        np.log(field), (low, high), grid.dn_m, apart=fit.topologies.real[:, mine]
    )
    ribbons = []
    for at in range(len(mine)):
        window = grid.n_m[parted.low[:, at]], grid.n_m[parted.high[:, at]]
        ribbon = cut_ribbon(
            field, threshold, grid.n_m, search_n_m=window, limit_n_m=window
        )
        ribbons.append(keep_draws(ribbon, parted.own[:, at]))
    return ribbons


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """A link's ribbon in the rows between its two lines.

    Attributes
    ----------
    rows : ndarray of int, shape (n_rows,)
        Rows of the grid [-].
    ribbons : tuple of Ribbon
        One a row; nothing is present in draws without the link.
    """

    rows: IntArray
    ribbons: tuple[Ribbon, ...]


def follow_links(traced: Traced, links: IntArray, grid: ValleyGrid) -> list[Reach]:
    """Return the ribbons of some links between their lines, none counted twice.

    Parameters
    ----------
    traced : Traced
        Horizon at a cutoff.
    links : ndarray of int, shape (n_followed,)
        Which of the possible links [-].
    grid : ValleyGrid
        Cells.

    Returns
    -------
    list of Reach
        One a link, in their order.
    """
    line = traced.fit.crossings.line
    ends = [_ends(traced, int(link), grid) for link in links]
    return [
        _follow(traced, int(link), (at, ends, line[traced.parent[links]]), grid)
        for at, link in enumerate(links)
    ]


def _ends(
    traced: Traced, link: int, grid: ValleyGrid
) -> tuple[FloatArray, FloatArray, float, float]:
    """Return a link's centers at both lines in every draw, and where the lines lie."""
    out: list[FloatArray] = []
    places: list[float] = []
    for candidate in (int(traced.parent[link]), int(traced.child[link])):
        ribbon = traced.crossing[candidate]
        usual = float(traced.fit.crossings.n_m[candidate])
        center = np.where(ribbon.present, ribbon.center_n_m, usual)
        out.append(center)
        line = int(traced.fit.crossings.line[candidate])
        places.append(line_place(grid, line, float(np.median(center))))
    return out[0], out[1], places[0], places[1]


def line_place(grid: ValleyGrid, line: int, n_m: float) -> float:
    """Return where a line lies down the valley at a place across.

    Parameters
    ----------
    grid : ValleyGrid
        Cells and the curves of the lines.
    line : int
        The line [-].
    n_m : float
        Place across [m].

    Returns
    -------
    float
        Meters downstream [m].
    """
    return float(np.interp(n_m, grid.n_m, grid.curve_s_m[line]))


def _follow(
    traced: Traced,
    link: int,
    beside: tuple[int, list[tuple[FloatArray, FloatArray, float, float]], IntArray],
    grid: ValleyGrid,
) -> Reach:
    """Return one link's ribbons, bounded half-way to its neighbors' tracks."""
    at, ends, lines = beside
    upper, lower, s_upper, s_lower = ends[at]
    rows = np.flatnonzero((grid.s_m > s_upper) & (grid.s_m <= s_lower))
    on = traced.linked[:, link]
    ribbons = []
    for row in rows:
        share = (grid.s_m[row] - s_upper) / max(s_lower - s_upper, 1e-9)
        track = upper + share * (lower - upper)
        low = np.full(len(track), grid.n_m[0])
        high = np.full(len(track), grid.n_m[-1])
        for other, (theirs_upper, theirs_lower, s_0, s_1) in enumerate(ends):
            if other == at or lines[other] != lines[at]:
                continue
            part = np.clip((grid.s_m[row] - s_0) / max(s_1 - s_0, 1e-9), 0.0, 1.0)
            theirs = theirs_upper + part * (theirs_lower - theirs_upper)
            middle = (track + theirs) / 2.0
            is_left = (theirs > track) | ((theirs == track) & (other > at))
            high = np.where(is_left, np.minimum(high, middle), high)
            low = np.where(is_left, low, np.maximum(low, middle))
        ribbon = cut_ribbon(
            traced.fit.cell_mg_m2[:, row],
            traced.threshold_mg_m2(int(row)),
            grid.n_m,
            search_n_m=(
                np.maximum(track - BESIDE_M, low),
                np.minimum(track + BESIDE_M, high),
            ),
            limit_n_m=(low, high),
        )
        ribbons.append(keep_draws(ribbon, on))
    return Reach(rows=rows, ribbons=tuple(ribbons))
