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
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.crossings import Crossings, find_crossings
from pennyweight.streaks.draws import (
    FieldDraws,
    FieldMaker,
    draw_field,
    draw_mass_noise,
)
from pennyweight.streaks.expected import expect_bedrock
from pennyweight.streaks.horizons import HorizonCounts, count_horizons
from pennyweight.streaks.links import Floor, Topologies, chain_links
from pennyweight.streaks.masses import ColorMass, exposure, fit_color_mass, line_noise
from pennyweight.streaks.paydepth import (
    Opened,
    draw_contact,
    draw_there,
    draw_thickness,
    draw_top,
    on_curves,
)
from pennyweight.streaks.profiles import (
    LineCounts,
    Profiles,
    draw_hyper,
    draw_profiles,
    fit_profiles,
    pad_lines,
)
from pennyweight.streaks.sites import Sites
from pennyweight.streaks.weights import DrawCheck, check_draws

FloatArray = npt.NDArray[np.float64]
Cells = npt.NDArray[np.float32]

#: Groups of joint draws that share a topology.
N_GROUPS = 12
#: Groups where no crossing is likelier than this to be above the cutoff.
N_WEAK, WEAK = 4, 0.3
#: Hyperparameter draws behind the profiles, and profile draws for each.
N_HYPER, N_PROFILES = 8, 30
#: Log accumulation where a horizon is not there at all [ln mg/m2].
NOTHING_LOG = -14.0
#: Share of the usual width of a line that a line must have to carry links [-].
CHAIN_WIDTH = 1.0 / 3.0


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
    n_draws : int
        Joint draws, a multiple of 4 [-].
    row_m, column_m : float or None
        Spacing of the cells [m]; as usual for such digs where None.
    """

    cutoff_mg_m3: float
    min_pay_m: float
    shift_sd_m: float
    common_rel_sd: float
    n_draws: int = 240
    row_m: float | None = None
    column_m: float | None = None


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
    check : DrawCheck
        What weighing the draws by the exact posterior would change.
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
    check: DrawCheck


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
    taken, expected : int
        Digs whose bottom was taken for bedrock, and digs that stopped short of where
        it is to be expected [-].
    common_log : ndarray, shape (n_draws,), or None
        Log of the one factor over all gold that each draw holds [-].
    """

    sites: Sites
    grid: ValleyGrid
    settings: Settings
    horizons: tuple[HorizonFit, ...]
    bottom_m: Cells | None
    bedrock_met: bool
    taken: int = 0
    expected: int = 0
    common_log: FloatArray | None = None


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
    columns = expect_bedrock(columns, sites, rng=rng)
    counted = count_horizons(sites, columns, samples)
    grid = lay_grid(sites, row_m=settings.row_m, column_m=settings.column_m)
    common_sd = np.sqrt(np.log1p(settings.common_rel_sd**2))
    common = common_sd * rng.standard_normal(settings.n_draws) - 0.5 * common_sd**2
    progress(0.02, "laying the bedrock surface")
    met = any(column.depth_of(BEDROCK) is not None for column in columns.values())
    bottom = draw_contact(
        BEDROCK if met else "", (sites, grid, columns), settings.n_draws, rng=rng
    )
    # One horizon after the other: threads wait for Python's lock more than they save.
    ends = np.linspace(0.05, 1.0, len(counted) + 1)
    fitted = [
        _fit_horizon(
            counts,
            (sites, grid, columns),
            settings,
            common=common,
            bedrock=bottom if met else None,
            rng=own,
            progress=within(progress, float(ends[at]), float(ends[at + 1])),
        )
        for at, (counts, own) in enumerate(
            zip(counted, rng.spawn(len(counted)), strict=True)
        )
    ]
    progress(1.0, "fitted")
    return StreakFit(
        sites=sites,
        grid=grid,
        settings=settings,
        horizons=tuple(fitted),
        bottom_m=bottom,
        bedrock_met=met,
        taken=sum(one.assumed_bedrock for one in columns.values()),
        expected=sum(
            any(contact.sd_m > 0.0 for contact in one.contacts)
            for one in columns.values()
        ),
    )


def _fit_horizon(
    counts: HorizonCounts,
    ground: Opened,
    settings: Settings,
    *,
    common: FloatArray,
    bedrock: Cells | None,
    rng: np.random.Generator,
    progress: Progress,
) -> HorizonFit:
    """Return the joint draws of one horizon."""
    sites, grid, _ = ground
    name, n_draws = counts.horizon, settings.n_draws
    progress(0.0, f"profiles of {name}")
    mass = fit_color_mass(counts, sites)
    told = _tell(counts, mass, sites)
    padded = pad_lines(told, len(sites.lines))
    profiles = fit_profiles(padded)
    progress(0.25, f"crossings of {name}")
    pay = draw_thickness(counts, ground, n_draws, rng=rng)
    level = settings.cutoff_mg_m3 * np.maximum(
        np.median(pay[0], axis=(0, 2)), settings.min_pay_m
    )
    crossings, floor = _cross(
        (padded, profiles, told), (sites, grid), level, settings.shift_sd_m, rng=rng
    )
    progress(0.35, f"links of {name}")
    maker = FieldMaker(
        counts=told,
        grid=grid,
        line_s_m=sites.line_s_m,
        crossings=crossings,
        topologies=chain_links(crossings, floor, n_draws=n_draws, rng=rng),
        shift_sd_m=settings.shift_sd_m,
    )
    n_groups = N_GROUPS if crossings.presence.max(initial=0.0) > WEAK else N_WEAK
    drawn = draw_field(
        maker, profiles, n_groups, rng=rng, progress=within(progress, 0.4, 0.9)
    )
    check = check_draws(drawn.log_weight, drawn.group, _gold_of(drawn, grid))
    rel_sd = line_noise(counts, mass, line=told.line, n_lines=len(sites.lines))
    noise = draw_mass_noise(rel_sd, n_draws, rng=rng) + common[:, None]
    _add_noise(drawn, noise, (sites, grid))
    _clear_outside(drawn, draw_there(name, ground, n_draws, rng=rng), grid)
    progress(0.95, f"depth of {name}")
    if name not in (BEDROCK, GRAVEL):
        bedrock = draw_contact(name, ground, n_draws, rng=rng)
    return HorizonFit(
        horizon=name,
        counts=counts,
        crossings=crossings,
        topologies=maker.topologies,
        line_mg_m2=np.exp(drawn.lines),
        cell_mg_m2=np.exp(drawn.cells, out=drawn.cells),
        shift_m=drawn.shift_m,
        floor=floor,
        line_pay_m=pay[0],
        cell_pay_m=pay[1],
        top_m=draw_top(counts, ground, pay[1], surface=bedrock, rng=rng),
        check=check,
    )


def _gold_of(drawn: FieldDraws, grid: ValleyGrid) -> FloatArray:
    """Return the gold of a meter of valley on every line, summed; by draw [g/m]."""
    return np.asarray(np.exp(drawn.lines).sum(axis=(1, 2)) * grid.dn_m / 1000.0)


def _tell(counts: HorizonCounts, mass: ColorMass, sites: Sites) -> FieldCounts:
    """Return the counts with their places and exposure."""
    return FieldCounts(
        line=sites.line_index[counts.site],
        n_m=sites.n_m[counts.site],
        colors=counts.colors,
        exposed=exposure(counts, mass),
        unsure=counts.volume_rel_var,
    )


def _cross(
    told: tuple[LineCounts, Profiles, FieldCounts],
    where: tuple[Sites, ValleyGrid],
    level_mg_m2: FloatArray,
    shift_sd_m: float,
    *,
    rng: np.random.Generator,
) -> tuple[Crossings, Floor]:
    """Return the candidate crossings, and the lines that links run over."""
    padded, profiles, counts = told
    sites, grid = where
    hyper = draw_hyper(profiles, N_HYPER, rng)
    drawn = draw_profiles(padded, grid.n_m, hyper, n_each=N_PROFILES, rng=rng)
    reach = np.full((len(sites.lines), 2), np.nan)
    for at in np.unique(counts.line):
        n_m = counts.n_m[counts.line == at]
        reach[at] = n_m.min(), n_m.max()
    found = find_crossings(drawn, grid.n_m, level_mg_m2=level_mg_m2, reach_m=reach)
    floor = lay_floor(sites, reach, shift_sd_m)
    return found.only_on(floor.lines), floor


def _add_noise(
    drawn: FieldDraws, noise: FloatArray, where: tuple[Sites, ValleyGrid]
) -> None:
    """Add the doubt about mass and volume, line by line and row by row, to the logs."""
    sites, grid = where
    rows = np.array([np.interp(grid.s_m, sites.line_s_m, one) for one in noise])
    np.add(drawn.lines, noise[:, :, None], out=drawn.lines)
    np.add(drawn.cells, rows.astype(np.float32)[:, :, None], out=drawn.cells)


def _clear_outside(
    drawn: FieldDraws, there: npt.NDArray[np.bool_] | None, grid: ValleyGrid
) -> None:
    """Take the gold away where a horizon is not there at all."""
    if there is not None:
        drawn.lines[~on_curves(there, grid)] = NOTHING_LOG
        drawn.cells[~there] = NOTHING_LOG


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
