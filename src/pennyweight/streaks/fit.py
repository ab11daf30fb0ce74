"""Everything that does not depend on a cutoff: the fit of all horizons of a ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.progress import Progress, quiet, within
from pennyweight.sampling.graded import GradedSample
from pennyweight.streaks.between import ValleyGrid, lay_grid
from pennyweight.streaks.contacts import BEDROCK, GRAVEL, Column
from pennyweight.streaks.crossings import Crossings, find_crossings
from pennyweight.streaks.draws import FieldMaker, draw_field, draw_mass_noise
from pennyweight.streaks.expected import expect_bedrock
from pennyweight.streaks.field import FieldCounts
from pennyweight.streaks.horizons import HorizonCounts, count_horizons
from pennyweight.streaks.links import Floor, Topologies, chain_links
from pennyweight.streaks.masses import exposure, fit_color_mass, is_pay
from pennyweight.streaks.profiles import (
    draw_hyper,
    draw_profiles,
    fit_profiles,
    pad_lines,
)
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.surfaces import DepthTold, draw_extent, draw_surface

FloatArray = npt.NDArray[np.float64]
Cells = npt.NDArray[np.float32]

#: Joint draws, and groups of them that share a topology.
N_DRAWS, N_GROUPS = 240, 12
#: Hyperparameter draws behind the profiles, and profile draws for each.
N_HYPER, N_PROFILES = 8, 30
#: Candidates are looked for above this share of the cutoff [-]. Our choice.
REFERENCE_SHARE = 1.0
#: Distances over which pay thickness is alike along and across [m]. Our choice.
THICK_ALONG_M, THICK_ACROSS_M = 20.0, 4.0
#: Spread of pay thickness from dig to dig is taken between these [-]. Our choice.
THICK_LEAST, THICK_MOST = 0.05, 0.30
#: Log accumulation where a horizon is not there at all [ln mg/m2].
NOTHING_LOG = -14.0
#: Share of the usual width of a line that a line must have to carry links [-].
CHAIN_WIDTH = 1.0 / 3.0
#: Draws of a surface that all draws share among them.
SHARED_SURFACES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the fit has to be told besides the record.

    Attributes
    ----------
    cutoff_mg_m3, min_pay_m : float
        Grade [mg/m3] and least thickness [m] that candidates are looked for with.
    shift_sd_m : float
        Position error of a whole line [m].
    common_rel_sd : float
        One factor over all gold: volume and mass calibration [-].
    """

    cutoff_mg_m3: float
    min_pay_m: float
    shift_sd_m: float
    common_rel_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HorizonFit:
    """Joint draws of one horizon.

    Attributes
    ----------
    horizon : str
        Its name.
    counts : HorizonCounts
        What the digs say.
    crossings, topologies : Crossings, Topologies
        Candidate crossings and joint draws of their links.
    line_mg_m2 : ndarray, shape (n_draws, n_lines, n_grid)
        Accumulation on the lines [mg/m2].
    cell_mg_m2 : ndarray of float32, shape (n_draws, n_rows, n_grid)
        Accumulation in the cells [mg/m2].
    shift_m : ndarray, shape (n_draws, n_lines)
        By how much each line was written down too far left [m].
    floor : Floor
        The lines that the chain of links runs over.
    line_pay_m, cell_pay_m : ndarray
        Pay thickness, shapes as above [m].
    top_m : ndarray of float32, shape (n_draws, n_rows, n_grid)
        Depth of the top of the pay [m].
    """

    horizon: str
    counts: HorizonCounts
    crossings: Crossings
    topologies: Topologies
    line_mg_m2: FloatArray
    cell_mg_m2: Cells
    shift_m: FloatArray
    floor: Floor
    line_pay_m: FloatArray
    cell_pay_m: Cells
    top_m: Cells


@dataclass(frozen=True, slots=True, kw_only=True)
class StreakFit:
    """All horizons of a ground.

    Attributes
    ----------
    sites : Sites
        Digs and lines.
    grid : ValleyGrid
        Cells.
    settings : Settings
        What the fit was told.
    horizons : tuple of HorizonFit
        From the top down.
    bottom_m : ndarray of float32, shape (n_draws, n_rows, n_grid), or None
        Depth of bedrock, or of the digs where none met it [m].
    bedrock_met : bool
        Whether any dig met bedrock.
    """

    sites: Sites
    grid: ValleyGrid
    settings: Settings
    horizons: tuple[HorizonFit, ...]
    bottom_m: Cells | None
    bedrock_met: bool


def fit_streaks(
    sites: Sites,
    columns: Mapping[str, Column],
    samples: Mapping[str, tuple[GradedSample, ...]],
    *,
    settings: Settings,
    rng: np.random.Generator,
    progress: Progress = quiet,
) -> StreakFit:
    """Return joint draws of every horizon of a ground.

    Parameters
    ----------
    sites : Sites
        Digs with a place; at least one.
    columns : mapping
        Dig name to what it met.
    samples : mapping
        Dig name to its graded samples.
    settings : Settings
        Cutoff that candidates are looked for with, errors.
    rng : numpy.random.Generator
        Source of randomness.
    progress : Progress, optional
        Told how far the fit is; may raise `Cancelled`.

    Returns
    -------
    StreakFit
        Without horizons where nothing washed has a volume.
    """
    progress(0.0, "sorting the gold by horizon")
    columns = expect_bedrock(columns, sites)
    counted = count_horizons(sites, columns, samples)
    grid = lay_grid(sites)
    common_sd = np.sqrt(np.log1p(settings.common_rel_sd**2))
    common = common_sd * rng.standard_normal(N_DRAWS) - 0.5 * common_sd**2
    fitted = []
    for at, counts in enumerate(counted):
        share = (0.05 + 0.85 * at / len(counted), 0.05 + 0.85 * (at + 1) / len(counted))
        fitted.append(
            _fit_horizon(
                counts,
                (sites, grid, columns),
                settings,
                common=common,
                rng=rng,
                progress=within(progress, *share),
            )
        )
    progress(0.92, "laying the bedrock surface")
    met = any(column.depth_of("bedrock") is not None for column in columns.values())
    bottom = _draw_contact("bedrock" if met else "", (sites, grid, columns), rng)
    progress(1.0, "fitted")
    return StreakFit(
        sites=sites,
        grid=grid,
        settings=settings,
        horizons=tuple(fitted),
        bottom_m=bottom,
        bedrock_met=met,
    )


def _fit_horizon(
    counts: HorizonCounts,
    ground: tuple[Sites, ValleyGrid, Mapping[str, Column]],
    settings: Settings,
    *,
    common: FloatArray,
    rng: np.random.Generator,
    progress: Progress,
) -> HorizonFit:
    """Return the joint draws of one horizon."""
    sites, grid, columns = ground
    name = counts.horizon
    progress(0.0, f"profiles of {name}")
    line = sites.line_index[counts.site]
    n_m = sites.n_m[counts.site]
    mass = fit_color_mass(counts, sites)
    exposed = exposure(counts, mass)
    n_lines = len(sites.lines)
    padded = pad_lines(line, n_lines, n_m, colors=counts.colors, exposed=exposed)
    profiles = fit_profiles(padded)
    progress(0.25, f"crossings of {name}")
    hyper = draw_hyper(profiles, N_HYPER, rng)
    drawn = draw_profiles(padded, grid.n_m, hyper, n_each=N_PROFILES, rng=rng)
    line_pay, cell_pay = draw_thickness(counts, sites, grid, rng)
    level = settings.cutoff_mg_m3 * np.maximum(
        np.median(line_pay, axis=(0, 2)), settings.min_pay_m
    )
    reach = np.full((n_lines, 2), np.nan)
    for at in np.unique(line):
        reach[at] = n_m[line == at].min(), n_m[line == at].max()
    crossings = find_crossings(
        drawn, grid.n_m, level_mg_m2=REFERENCE_SHARE * level, reach_m=reach
    )
    progress(0.35, f"links of {name}")
    floor = lay_floor(sites, reach, settings.shift_sd_m)
    crossings = crossings.only_on(floor.lines)
    topologies = chain_links(crossings, floor, n_draws=N_DRAWS, rng=rng)
    maker = FieldMaker(
        counts=FieldCounts(line=line, n_m=n_m, colors=counts.colors, exposed=exposed),
        grid=grid,
        line_s_m=sites.line_s_m,
        crossings=crossings,
        topologies=topologies,
        shift_sd_m=settings.shift_sd_m,
    )
    drawn_field = draw_field(
        maker, profiles, N_GROUPS, rng=rng, progress=within(progress, 0.4, 0.9)
    )
    lines, cells = drawn_field.lines, drawn_field.cells
    rel_sd = _line_noise(counts, line, mass.rel_sd, n_lines)
    noise = draw_mass_noise(sites.line_s_m, rel_sd, N_DRAWS, rng=rng)
    lines += (noise + common[:, None])[:, :, None]
    by_row = np.array([np.interp(grid.s_m, sites.line_s_m, one) for one in noise])
    cells += (by_row + common[:, None]).astype(np.float32)[:, :, None]
    there = _draw_there(name, ground, rng)
    if there is not None:
        lines[~_on_curves(there, grid)] = NOTHING_LOG
        cells[~there] = NOTHING_LOG
    progress(0.95, f"depth of {name}")
    return HorizonFit(
        horizon=name,
        counts=counts,
        crossings=crossings,
        topologies=topologies,
        line_mg_m2=np.exp(lines),
        cell_mg_m2=np.exp(cells),
        shift_m=drawn_field.shift_m,
        floor=floor,
        line_pay_m=line_pay,
        cell_pay_m=cell_pay,
        top_m=_draw_top(counts, ground, cell_pay, rng),
    )


def lay_floor(sites: Sites, reach_m: FloatArray, shift_sd_m: float) -> Floor:
    """Return the lines that cross enough of the floor for links to run over them.

    Parameters
    ----------
    sites : Sites
        Digs and lines.
    reach_m : ndarray, shape (n_lines, 2)
        Outermost digs that say something, by line; nan where none does [m].
    shift_sd_m : float
        Position error of a whole line [m].

    Returns
    -------
    Floor
        Lines at least a third as wide as the usual wide one; a pit beside a streak
        does not end it.
    """
    width = reach_m[:, 1] - reach_m[:, 0]
    told = np.flatnonzero(np.isfinite(width))
    wide = width[told][width[told] > 0.0]
    if len(wide):
        told = told[width[told] >= CHAIN_WIDTH * np.median(wide)]
    return Floor(
        lines=told,
        line_s_m=sites.line_s_m[told],
        width_m=float(np.nanmax(reach_m) - np.nanmin(reach_m)) + 2.0,
        shift_sd_m=shift_sd_m,
    )


def _line_noise(
    counts: HorizonCounts, line: npt.NDArray[np.int64], rel_sd: FloatArray, n_lines: int
) -> FloatArray:
    """Return the relative sd of the mean mass at each line, weighted by gold."""
    weight = counts.colors * counts.color_mg * np.where(is_pay(counts), 1.0, 0.3) + 1e-6
    whole = float(np.average(rel_sd, weights=weight))
    total = np.bincount(line, weight, n_lines)
    mean = np.bincount(line, weight * rel_sd, n_lines) / np.maximum(total, 1e-12)
    return np.where(total > 0.0, mean, whole)


def draw_thickness(
    counts: HorizonCounts, sites: Sites, grid: ValleyGrid, rng: np.random.Generator
) -> tuple[FloatArray, Cells]:
    """Return draws of the pay thickness on the lines and in the cells.

    Parameters
    ----------
    counts : HorizonCounts
        With the pay thickness of each dig [m].
    sites : Sites
        Where the digs lie.
    grid : ValleyGrid
        Cells.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    tuple of ndarray
        Shapes (n_draws, n_lines, n_grid) and (n_draws, n_rows, n_grid) [m].
    """
    mean_line, mean_cell = (
        smooth_log(counts.pay_m, counts, sites, at=at)
        for at in (
            (sites.line_s_m, grid.n_m),
            (grid.s_m, grid.n_m),
        )
    )
    scatter = float(np.log(counts.pay_m).std()) if len(counts.pay_m) > 2 else THICK_MOST
    sd = float(np.clip(scatter, THICK_LEAST, THICK_MOST))
    own = sd * rng.standard_normal((N_DRAWS, len(sites.lines)))
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


def _draw_contact(
    horizon: str,
    ground: tuple[Sites, ValleyGrid, Mapping[str, Column]],
    rng: np.random.Generator,
) -> Cells | None:
    """Return draws of a contact's depth; of the digs' bottoms for no name."""
    sites, grid, columns = ground
    depth, met, index = [], [], []
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
    drawn = draw_surface(told, grid, N_DRAWS // SHARED_SURFACES, rng=rng)
    return np.tile(drawn, (SHARED_SURFACES, 1, 1))


def _draw_there(
    horizon: str,
    ground: tuple[Sites, ValleyGrid, Mapping[str, Column]],
    rng: np.random.Generator,
) -> npt.NDArray[np.bool_] | None:
    """Return draws of where a false bedrock is; None where it is everywhere."""
    sites, grid, columns = ground
    if not horizon.startswith("false"):
        return None
    index, met = [], []
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
    drawn = draw_extent(told, grid, N_DRAWS // SHARED_SURFACES, rng=rng)
    return np.tile(drawn, (SHARED_SURFACES, 1, 1))


def _on_curves(cells: npt.NDArray[np.bool_], grid: ValleyGrid) -> npt.NDArray[np.bool_]:
    """Return what holds in the cells nearest to the lines."""
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


def _draw_top(
    counts: HorizonCounts,
    ground: tuple[Sites, ValleyGrid, Mapping[str, Column]],
    cell_pay_m: Cells,
    rng: np.random.Generator,
) -> Cells:
    """Return draws of the depth of the pay's top."""
    sites, grid, _ = ground
    at = (grid.s_m, grid.n_m)
    if counts.horizon == GRAVEL:
        top = smooth_log(counts.pay_top_m + 0.05, counts, sites, at=at) - 0.05
        sd = float(np.clip(counts.pay_top_m.std(), 0.05, 0.5))
        off = sd * rng.standard_normal((len(cell_pay_m), 1, 1))
        return np.maximum(top[None] + off, 0.0).astype(np.float32)
    surface = _draw_contact(counts.horizon, ground, rng)
    assert surface is not None
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
    return np.maximum(surface - cell_pay_m * share.astype(np.float32), 0.0).astype(
        np.float32
    )
