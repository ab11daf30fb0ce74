"""The ground as a mine sees it: terms, blocks, walls, stones and water of a reading."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.carried import carry_minable, carry_terms
from pennyweight.answers.frame import frame_ground
from pennyweight.answers.minable import Limits, Minable, make_minable
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.workedground import draw_worked_mg_m3
from pennyweight.records import Dig, Layer
from pennyweight.worth.blocks import slice_height_m
from pennyweight.worth.cut import count_slices
from pennyweight.worth.plants import size_shares
from pennyweight.worth.sizes import draw_size_shares, kept_shares
from pennyweight.worth.stones import Stones, weigh_stones
from pennyweight.worth.terms import Terms, read_terms
from pennyweight.worth.walls import GRAVEL_WALL_DEG, MATERIAL_WALL_DEG
from pennyweight.worth.waterneed import MUD_SHARE, USUAL_MUD_SHARE

FloatArray = npt.NDArray[np.float64]

#: Share of a slice that a material must fill to count for its walls [-]; ours.
WALL_SHARE = 0.10

#: Spread of a grade of worked ground that the user types [ln]; our assumption.
TYPED_GRADE_LOG_SD = 0.4

#: Columns across the least width of the machine.
COLUMNS_PER_WIDTH = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """Where digs met water.

    Attributes
    ----------
    depth_m : float or None
        Median of the digs that met it [m].
    digs, of : int
        That met it, of how many.
    """

    depth_m: float | None
    digs: int
    of: int


def terms_of(reading: Reading) -> Terms:
    """Return price, costs and plant of a reading, supplied where not recorded.

    The stones of the ground are those that its layers tell of.

    Raises
    ------
    TooLittleError
        Price or costs are missing.
    """
    log = reading.log
    terms = read_terms(log.ground, size_shares(log.tallies))
    share = weigh_stones(log.layers, terms).too_big_share
    return carry_terms(reading, replace(terms, boulder_share=share))


def stones_of(reading: Reading, terms: Terms) -> Stones:
    """Return how the stones of the ground suit the plant."""
    return weigh_stones(reading.log.layers, terms)


def limits_of(reading: Reading, terms: Terms | None) -> Limits:
    """Return where the cut may not go, as the record says."""
    given = {} if terms is None else terms.limits
    fields = trace_streaks(reading).fields
    n_draws = len(fields[0].accumulation_mg_m2) if fields else 0
    typed = given.get("worked_grade_mg_m3")
    if typed is None:
        worked = draw_worked_mg_m3(reading, n_draws) if n_draws else None
    else:
        rng = np.random.default_rng([reading.seed, 18])
        scatter = TYPED_GRADE_LOG_SD * rng.standard_normal(n_draws)
        worked = typed * np.exp(scatter - TYPED_GRADE_LOG_SD**2 / 2.0)
    return Limits(
        boundary_setback_m=given.get("boundary_setback_m", 0.0),
        water_setback_m=given.get("water_setback_m", 0.0),
        works_water=given.get("works_water", 0.0) > 0.0,
        worked_mg_m3=worked,
    )


def minable_of(
    reading: Reading, *, edge_m: float, min_pay_m: float, terms: Terms | None = None
) -> Minable | None:
    """Return the blocks of a reading, made once for each size."""
    trace = trace_streaks(reading)
    limits = () if terms is None else tuple(sorted(terms.limits.items()))
    return reading.once(
        ("minable", edge_m, min_pay_m, limits),
        lambda: carry_minable(
            reading,
            make_minable(
                trace.fields,
                frame_ground(reading),
                edge_m=edge_m,
                min_pay_m=min_pay_m,
                limits=limits_of(reading, terms),
            ),
        ),
    )


def find_water(digs: Iterable[Dig], layers: Iterable[Layer]) -> Water:
    """Return how deep digs met water: in a layer, or where it stopped them."""
    met: dict[str, float] = {}
    every = {dig.dig: dig for dig in digs}
    for layer in layers:
        if layer.wet in ("seep", "under_water"):
            met[layer.dig] = min(met.get(layer.dig, np.inf), layer.top_m)
    for name, dig in every.items():
        if dig.stopped_by == "water" and dig.bottom_m is not None:
            met[name] = min(met.get(name, np.inf), dig.bottom_m)
    depth = float(np.median(list(met.values()))) if met else None
    return Water(depth_m=depth, digs=len(met), of=len(every))


def mud_share(layers: Sequence[Layer]) -> float:
    """Return the share of the gravel that goes off as mud, by its matrix."""
    told = [
        (MUD_SHARE[one.matrix], one.bottom_m - one.top_m)
        for one in layers
        if one.matrix in MUD_SHARE and one.material != "silt"
    ]
    thick = sum(thick_m for _, thick_m in told)
    if thick <= 0.0:
        return USUAL_MUD_SHARE
    return sum(share * thick_m for share, thick_m in told) / thick


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPlan:
    """Slices of the ground and the walls that they may stand in.

    Attributes
    ----------
    slice_m : float
        Height of a slice [m].
    slopes_deg : ndarray, shape (n_slices,)
        Steepest wall in each [deg].
    assumptions : mapping
        Slopes that were supplied.
    """

    slice_m: float
    slopes_deg: FloatArray
    assumptions: dict[str, Any]


def plan_walls(reading: Reading, minable: Minable, terms: Terms) -> WallPlan:
    """Return slices and walls: the user's slope, else by what stands in the wall.

    A layer over a weaker one stands no steeper than the weaker one (29 CFR 1926
    Subpart P, appendix A, layered ground); below water all is gravel that seeps.
    """
    blocks, given = minable.blocks, terms.limits.get("wall_slope_deg")
    least = GRAVEL_WALL_DEG if given is None else given
    bench = terms.limits.get("bench_m")
    slice_m = slice_height_m(blocks, least, bench_m=bench)
    count = count_slices(blocks, slice_m)
    if given is not None:
        return WallPlan(
            slice_m=slice_m, slopes_deg=np.full(count, given), assumptions={}
        )
    log = reading.log
    water = find_water(log.digs, log.layers).depth_m
    slopes = np.full(count, GRAVEL_WALL_DEG)
    for at in range(count):
        middle = (at + 0.5) * slice_m
        if water is None or middle < water:
            slopes[at] = _slope_at(log.layers, at * slice_m, slice_m)
    slopes = np.minimum.accumulate(slopes[::-1])[::-1]
    assumptions: dict[str, Any] = {"wall_slope_deg": GRAVEL_WALL_DEG}
    return WallPlan(slice_m=slice_m, slopes_deg=slopes, assumptions=assumptions)


def _slope_at(layers: Iterable[Layer], top_m: float, slice_m: float) -> float:
    """Return the flattest slope of what fills a slice [deg]."""
    thick: dict[str, float] = {}
    for one in layers:
        met = min(one.bottom_m, top_m + slice_m) - max(one.top_m, top_m)
        if met > 0.0 and one.material:
            name = "cemented gravel" if one.packing == "cemented" else one.material
            thick[name] = thick.get(name, 0.0) + met
    whole = sum(thick.values())
    counted = [name for name, met in thick.items() if met >= WALL_SHARE * whole]
    slopes = [MATERIAL_WALL_DEG.get(name, GRAVEL_WALL_DEG) for name in counted]
    return min(slopes, default=GRAVEL_WALL_DEG)


def draw_kept(reading: Reading, terms: Terms, n_draws: int) -> FloatArray:
    """Return the shares of the gold by size in every draw, shape (n_draws, 4)."""
    rng = np.random.default_rng([reading.seed, 19])
    return draw_size_shares(reading.log.tallies, n_draws, rng)


def kept_factor(terms: Terms, shares: FloatArray) -> FloatArray | float:
    """Return what the plant keeps in each draw over what it keeps on average.

    One where the user says what the plant keeps: then that is believed.
    """
    if not terms.keeps_by_size:
        return 1.0
    kept = kept_shares(shares, terms.keeps)
    mean = float(kept.mean())
    return kept / mean if mean > 0.0 else 1.0
