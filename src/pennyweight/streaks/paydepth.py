"""How thick the pay of a horizon is, how deep it lies, and where it is at all."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from pennyweight.streaks.between import ValleyGrid
from pennyweight.streaks.contacts import BEDROCK, GRAVEL, Column
from pennyweight.streaks.horizons import HorizonCounts
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.surfaces import DepthTold, draw_extent, draw_surface

FloatArray = npt.NDArray[np.float64]
Cells = npt.NDArray[np.float32]
#: Digs and lines, cells, and what each dig met.
Opened = tuple[Sites, ValleyGrid, Mapping[str, Column]]

#: Distances over which pay thickness is alike along and across [m]. Our choice.
THICK_ALONG_M, THICK_ACROSS_M = 20.0, 4.0
#: Spread of pay thickness from dig to dig is taken between these [-]. Our choice.
THICK_LEAST, THICK_MOST = 0.05, 0.30
#: Draws of a surface that all draws share among them.
SHARED_SURFACES = 4


def draw_thickness(
    counts: HorizonCounts, ground: Opened, n_draws: int, *, rng: np.random.Generator
) -> tuple[FloatArray, Cells]:
    """Return draws of the pay thickness on the lines and in the cells.

    Parameters
    ----------
    counts : HorizonCounts
        With the pay thickness of each dig [m].
    ground : tuple
        Digs and lines, cells, and what each dig met.
    n_draws : int
        Number of draws [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    tuple of ndarray
        Shapes (n_draws, n_lines, n_grid) and (n_draws, n_rows, n_grid) [m].
    """
    sites, grid, _ = ground
    mean_line, mean_cell = (
        smooth_log(counts.pay_m, counts, sites, at=at)
        for at in (
            (sites.line_s_m, grid.n_m),
            (grid.s_m, grid.n_m),
        )
    )
    scatter = float(np.log(counts.pay_m).std()) if len(counts.pay_m) > 2 else THICK_MOST
    sd = float(np.clip(scatter, THICK_LEAST, THICK_MOST))
    own = sd * rng.standard_normal((n_draws, len(sites.lines)))
    rows = np.array([np.interp(grid.s_m, sites.line_s_m, one) for one in own])
    line = mean_line[None] * np.exp(own)[:, :, None]
    cell = (
        mean_cell.astype(np.float32)[None] * np.exp(rows).astype(np.float32)[:, :, None]
    )
    return line, cell


def smooth_log(
    values: FloatArray,
    counts: HorizonCounts,
    sites: Sites,
    *,
    at: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return a positive quantity of the digs smoothed over the valley.

    Parameters
    ----------
    values : ndarray, shape (n_told,)
        Above 0, any unit [-].
    counts : HorizonCounts
        Whose digs they are.
    sites : Sites
        Where the digs lie.
    at : tuple of ndarray
        Places along, shape (n_s,), and across, shape (n_n,) [m].

    Returns
    -------
    ndarray, shape (n_s, n_n)
        Geometric mean, weights exp(-|ds| / 20 m) exp(-|dn| / 4 m), a little of the
        whole ground's mean everywhere.
    """
    logs = np.log(np.maximum(values, 1e-6))
    along = np.exp(
        -np.abs(at[0][:, None] - sites.s_m[counts.site][None, :]) / THICK_ALONG_M
    )
    across = np.exp(
        -np.abs(at[1][:, None] - sites.n_m[counts.site][None, :]) / THICK_ACROSS_M
    )
    total = along @ across.T + 1e-3
    held = (along * logs[None, :]) @ across.T + 1e-3 * logs.mean()
    return np.asarray(np.exp(held / total))


def draw_contact(
    horizon: str, ground: Opened, n_draws: int, *, rng: np.random.Generator
) -> Cells | None:
    """Return draws of a contact's depth; of the digs' bottoms for no name.

    Parameters
    ----------
    horizon : str
        Its name; empty for the bottoms of the digs.
    ground : tuple
        Digs and lines, cells, and what each dig met.
    n_draws : int
        Number of draws, a multiple of 4 [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of float32, shape (n_draws, n_rows, n_grid), or None
        Below the surface [m]; None where no dig met it.
    """
    sites, grid, columns = ground
    depth: list[float] = []
    met: list[bool] = []
    index: list[int] = []
    for site, name in enumerate(sites.digs):
        column = columns.get(name)
        if column is None:
            continue
        found = column.depth_of(horizon) if horizon else column.bottom_m
        if found is not None:
            depth.append(found)
            met.append(True)
        elif _bounds(column, horizon):
            depth.append(float(column.bottom_m or 0.0))
            met.append(False)
        else:
            continue
        index.append(site)
    if not any(met):
        return None
    told = DepthTold(
        s_m=sites.s_m[index],
        n_m=sites.n_m[index],
        depth_m=np.array(depth),
        met=np.array(met),
    )
    drawn = draw_surface(told, grid, n_draws // SHARED_SURFACES, rng=rng)
    return np.tile(drawn, (SHARED_SURFACES, 1, 1))


def draw_there(
    horizon: str, ground: Opened, n_draws: int, *, rng: np.random.Generator
) -> npt.NDArray[np.bool_] | None:
    """Return draws of where a false bedrock is; None where it is everywhere.

    Parameters
    ----------
    horizon : str
        Its name.
    ground : tuple
        Digs and lines, cells, and what each dig met.
    n_draws : int
        Number of draws, a multiple of 4 [-].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of bool, shape (n_draws, n_rows, n_grid), or None
        Whether it is there.
    """
    sites, grid, columns = ground
    if not horizon.startswith("false"):
        return None
    index: list[int] = []
    met: list[bool] = []
    for site, name in enumerate(sites.digs):
        column = columns.get(name)
        if column is None:
            continue
        here = column.depth_of(horizon) is not None
        if here or any(one.horizon == BEDROCK for one in column.contacts):
            index.append(site)
            met.append(here)
    if all(met):
        return None
    told = DepthTold(
        s_m=sites.s_m[index],
        n_m=sites.n_m[index],
        depth_m=np.zeros(len(index)),
        met=np.array(met),
    )
    drawn = draw_extent(told, grid, n_draws // SHARED_SURFACES, rng=rng)
    return np.tile(drawn, (SHARED_SURFACES, 1, 1))


def on_curves(cells: npt.NDArray[np.bool_], grid: ValleyGrid) -> npt.NDArray[np.bool_]:
    """Return what holds in the cells nearest to the lines.

    Parameters
    ----------
    cells : ndarray of bool, shape (n_draws, n_rows, n_grid)
        What holds in every cell [-].
    grid : ValleyGrid
        Cells and curves of the lines.

    Returns
    -------
    ndarray of bool, shape (n_draws, n_lines, n_grid)
        What holds on the lines.
    """
    row = np.rint((grid.curve_s_m - grid.s_m[0]) / grid.ds_m).astype(np.int64)
    row = np.clip(row, 0, len(grid.s_m) - 1)
    return np.asarray(cells[:, row, np.arange(len(grid.n_m))[None, :]])


def _bounds(column: Column, horizon: str) -> bool:
    """Tell whether a dig that did not meet a contact bounds its depth."""
    deeper = any(contact.horizon > horizon for contact in column.contacts)
    past = column.depth_of(BEDROCK) is not None
    return (
        column.bottom_m is not None
        and not past
        and not (deeper and horizon != "bedrock")
    )


def draw_top(
    counts: HorizonCounts,
    ground: Opened,
    cell_pay_m: Cells,
    *,
    surface: Cells | None,
    rng: np.random.Generator,
) -> Cells:
    """Return draws of the depth of the pay's top.

    Parameters
    ----------
    counts : HorizonCounts
        Of one horizon.
    ground : tuple
        Digs and lines, cells, and what each dig met.
    cell_pay_m : ndarray of float32, shape (n_draws, n_rows, n_grid)
        Pay thickness [m].
    surface : ndarray of float32, shape (n_draws, n_rows, n_grid), or None
        Depth of the contact that the pay rests on [m]; None for `gravel`, and where
        no dig met the contact.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of float32, shape (n_draws, n_rows, n_grid)
        Below the surface [m].
    """
    sites, grid, _ = ground
    at = (grid.s_m, grid.n_m)
    if counts.horizon == GRAVEL:
        middle = smooth_log(counts.pay_top_m + 0.05, counts, sites, at=at) - 0.05
        sd = np.float32(np.clip(counts.pay_top_m.std(), 0.05, 0.5))
        off = sd * rng.standard_normal((len(cell_pay_m), 1, 1), dtype=np.float32)
        return np.maximum(middle.astype(np.float32)[None] + off, np.float32(0.0))
    if surface is None:
        return np.full_like(cell_pay_m, np.nan)
    met = ground[2]
    depth = np.array(
        [
            next(
                one.depth_m
                for one in met[sites.digs[site]].contacts
                if one.horizon == counts.horizon
            )
            for site in counts.site
        ]
    )
    above = np.maximum(depth - counts.pay_top_m, 0.01)
    share = smooth_log(above / counts.pay_m, counts, sites, at=at)
    top = cell_pay_m * -share.astype(np.float32)
    top += surface
    return np.asarray(np.maximum(top, np.float32(0.0)))
