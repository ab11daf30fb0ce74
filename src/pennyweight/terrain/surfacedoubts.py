"""What cannot be right about an elevation model: told, never silently mended."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.terrain.elevation import ElevationModel, read_heights
from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]

#: A surface with less relief than this shows no creek [m]: our assumption.
LEAST_RELIEF_M = 0.5

#: Where half of the ground is steeper than this, its heights are asked about [deg]:
#: loose rock lies at 30 to 40 degrees, so that half of a valley cannot stand steeper.
STEEPEST_DEG = 45.0

#: How near the ratio of heights to surveyed ones must come to feet over meters [-].
RATIO_TOLERANCE = 0.1

#: Surveyed relief below which no ratio is taken [m].
LEAST_SURVEYED_M = 2.0

#: Share of unknown cells from which they are told [-].
MANY_HOLES = 0.02


def find_surface_doubts(
    model: ElevationModel,
    easting_m: npt.ArrayLike = (),
    northing_m: npt.ArrayLike = (),
    *,
    surveyed_m: npt.ArrayLike = (),
) -> list[Finding]:
    """Return what is odd about an elevation model, as the user should be asked.

    Parameters
    ----------
    model : ElevationModel
        The surface, in the ground's coordinates.
    easting_m, northing_m : array_like, shape (n_places,), optional
        Places of the ground's digs [m].
    surveyed_m : array_like, shape (n_places,), optional
        Their heights as the user typed them [m]; nan where not typed.

    Returns
    -------
    list of Finding
        It misses the ground, knows no heights, is flat, has holes, or its heights
        look like feet taken for meters or the other way around.
    """
    known = np.isfinite(model.elevation_m)
    if not known.any():
        return [_finding("it holds no height at all", "Take another one.", wrong=True)]
    east = np.asarray(easting_m, dtype=np.float64)
    north = np.asarray(northing_m, dtype=np.float64)
    surveyed = np.asarray(surveyed_m, dtype=np.float64)
    found = [
        *_misses(model, east, north),
        *_holes(known),
        *_flat(model),
    ]
    feet = _feet_by_survey(model, east, north, surveyed_m=surveyed)
    return [*found, *(feet or _feet_by_steepness(model))]


def _misses(
    model: ElevationModel, east: FloatArray, north: FloatArray
) -> list[Finding]:
    placed = np.isfinite(east) & np.isfinite(north)
    if not placed.any():
        return []
    heights = read_heights(model, east[placed], north[placed])
    outside = int(np.count_nonzero(~np.isfinite(heights)))
    if not outside:
        return []
    west_m, east_m, south_m, north_m = model.region
    problem = (
        f"it knows no height at {outside} of {len(heights)} digs; it covers easting "
        f"{west_m:.0f} to {east_m:.0f} and northing {south_m:.0f} to {north_m:.0f}"
    )
    remedy = "Check its coordinate system, or add the tile that covers the ground."
    return [_finding(problem, remedy, wrong=outside == len(heights))]


def _holes(known: npt.NDArray[np.bool_]) -> list[Finding]:
    from scipy.ndimage import binary_fill_holes  # noqa: PLC0415 - costs 0.1 s

    inside = binary_fill_holes(known)
    unknown, cells = (int(np.count_nonzero(m)) for m in (inside & ~known, inside))
    share = unknown / max(cells, 1)
    if share < MANY_HOLES:
        return []
    problem = f"{share * 100.0:.0f} % of the cells inside of it hold no height"
    remedy = "Water is let out at a hole; fill it from another model, or add a tile."
    return [_finding(problem, remedy)]


def _flat(model: ElevationModel) -> list[Finding]:
    relief_m = float(np.nanmax(model.elevation_m) - np.nanmin(model.elevation_m))
    if relief_m >= LEAST_RELIEF_M:
        return []
    problem = f"all of its heights lie within {relief_m:.2f} m"
    remedy = "A creek falls more; check that these are heights, and in which unit."
    return [_finding(problem, remedy)]


def _feet_by_survey(
    model: ElevationModel,
    east: FloatArray,
    north: FloatArray,
    *,
    surveyed_m: FloatArray,
) -> list[Finding]:
    """Compare the relief of the model with that of the surveyed heights."""
    if not len(surveyed_m) or len(surveyed_m) != len(east):
        return []
    heights = read_heights(model, east, north)
    both = np.isfinite(heights) & np.isfinite(surveyed_m)
    if np.count_nonzero(both) < 3 or np.ptp(surveyed_m[both]) < LEAST_SURVEYED_M:
        return []
    slope = float(np.polyfit(surveyed_m[both], heights[both], 1)[0])
    for factor, said, meant in (
        (1.0 / FOOT_M, "meters", "feet"),
        (FOOT_M, "feet", "m"),
    ):
        if abs(slope / factor - 1.0) < RATIO_TOLERANCE:
            problem = (
                f"its heights rise by {slope:.2f} m for each surveyed meter at "
                f"{np.count_nonzero(both)} digs: {_both_ways(said, meant)}"
            )
            return [_finding(problem, _ask(meant))]
    return []


def _feet_by_steepness(model: ElevationModel) -> list[Finding]:
    """Ask where half of the ground would stand steeper than loose rock can."""
    if min(model.elevation_m.shape) < 2:
        return []
    down, across = np.gradient(model.elevation_m, model.cell_m)
    steepness = np.degrees(np.arctan(np.hypot(down, across)))
    if not np.isfinite(steepness).any() or np.nanmedian(steepness) <= STEEPEST_DEG:
        return []
    problem = (
        f"half of its ground is steeper than {np.nanmedian(steepness):.0f} degrees; "
        f"{_both_ways('meters', 'feet')}"
    )
    return [_finding(problem, _ask("feet"))]


def _both_ways(said: str, meant: str) -> str:
    long = {"m": "meters", "feet": "feet"}[meant]
    return f"were {long} read as {said}?"


def _ask(meant: str) -> str:
    unit = "ft" if meant == "feet" else "m"
    return (
        f'If so, write elevation_unit = "{unit}" in ground.toml; if not, check its '
        "coordinate system."
    )


def _finding(problem: str, remedy: str, *, wrong: bool = False) -> Finding:
    return Finding(
        where="elevation model",
        problem=problem,
        remedy=remedy,
        weight="wrong" if wrong else "doubt",
    )
