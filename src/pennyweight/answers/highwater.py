"""What did the floods do? The answer `highwater`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.bedrock import TrapRead, read_traps
from pennyweight.answers.clasts import ClastFlow, ClastsRead, read_clasts
from pennyweight.answers.floodground import (
    Floods,
    choose_discharges,
    read_bed,
    run_floods,
)
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import grade_ground
from pennyweight.answers.highwatersaid import CAUTIONS, say_why
from pennyweight.answers.reading import Reading
from pennyweight.answers.streamtree import StreamTree, stream_tree
from pennyweight.errors import Finding, TooLittleError
from pennyweight.highwater.dropcheck import Agreement, compare_with_digs
from pennyweight.highwater.dropflow import (
    Bed,
    FloodField,
    drop_field,
    find_flow_drops,
    find_high_bars,
)
from pennyweight.highwater.drops import Drop, join_drops, promise_at
from pennyweight.highwater.dropshapes import (
    find_benches,
    find_lees,
    find_shape_drops,
)
from pennyweight.highwater.equivalents import table_of_equivalents, where_to_look
from pennyweight.progress import Progress, within
from pennyweight.records import Log
from pennyweight.spread import Spread
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.valleyshape import Creek

FloatArray = npt.NDArray[np.float64]

#: Drops told, and the score from which they are.
MOST_DROPS, LEAST_SCORE = 24, 0.10

#: Ground beyond the digs in which drops are looked for [m].
AROUND_M = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedDrop:
    """A place where gravel may stop; fields as the JSON prints them.

    `chance_richer` is the chance that such a place is richer than the ground's median
    dig, learnt from the ground's own digs; None while they are too few.
    """

    easting_m: float
    northing_m: float
    kind: str
    score: float
    why: str
    chance_richer: float | None
    drop: Drop = for_pictures()


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldFlood:
    """One flood in numbers."""

    discharge_m3_s: float
    deepest_m: float
    fastest_m_s: float
    wet_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldAgreement:
    """How the digs rank beside the drops: Spearman's rank correlation, 80 %."""

    n_digs: int
    rank: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GoldTravels:
    """The gravel that gold of one size and shape travels with, and where to look.

    `sinks_like_mm` is the gravel that sinks as fast, `starts_like_mm` the one that an
    open bed lets go at the same shear.
    """

    size_mm: float
    shape: str
    sinks_like_mm: float
    starts_like_mm: float
    kind: str
    look: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HighwaterAnswer(Answer):
    """Boulders, floods, drops and traps; fields as the JSON prints them."""

    clasts: tuple[ClastFlow, ...]
    discharge_m3_s: Spread | None
    drops: tuple[PlacedDrop, ...]
    floods: tuple[ToldFlood, ...]
    agreement: ToldAgreement | None
    traps: tuple[TrapRead, ...]
    gold: tuple[GoldTravels, ...] = ()
    rasters: Mapping[str, str] | None = None
    findings: tuple[Finding, ...] = ()
    creek: Creek | None = for_pictures(default=None)
    tree: StreamTree | None = for_pictures(default=None)
    water: Floods | None = for_pictures(default=None)
    drop_field: FloatArray | None = for_pictures(default=None)
    crs: str | None = for_pictures(default=None)
    ground: str = for_pictures(default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """The drops and what they were found from."""

    drops: tuple[Drop, ...]
    field: FloatArray | None


def read_floods(reading: Reading) -> HighwaterAnswer:
    """Return what the floods did to a ground.

    With an elevation model: floods over it, and drops from shape and flow. Without
    one: drops from the drawn line alone.
    """
    return reading.once("highwater", lambda: _read(reading, reading.progress))


def _read(reading: Reading, progress: Progress) -> HighwaterAnswer:
    frame, log = frame_ground(reading), reading.log
    progress(0.02, "following the water")
    tree = stream_tree(reading)
    bed = read_bed(log)
    clasts = read_clasts(reading, tree, bed.bed)
    assumptions: dict[str, Any] = {
        **frame.assumptions,
        **tree.assumptions,
        **bed.assumptions,
        **clasts.assumptions,
    }
    water, supposed, refused = _run(
        reading, tree, clasts, bed=bed.bed, progress=within(progress, 0.1, 0.85)
    )
    assumptions |= supposed
    progress(0.86, "looking for drops")
    found = _find_drops(log, frame, tree, water=water, bed=bed.bed)
    progress(0.92, "comparing with the digs")
    agreement = _compare(reading, frame, found.drops)
    progress(1.0, "done")
    return HighwaterAnswer(
        **reading.heading(),
        cautions=(*CAUTIONS, *refused, *clasts.cautions, *_unsteady(water)),
        assumptions=assumptions,
        clasts=clasts.clasts,
        discharge_m3_s=clasts.discharge_m3_s,
        drops=_place(found.drops, agreement),
        floods=_tell_all(water),
        agreement=_say_agreement(agreement),
        traps=read_traps(reading, tree),
        gold=_gold(bed.bed),
        findings=(*frame.findings, *tree.findings),
        creek=tree.creek,
        tree=tree,
        water=water,
        drop_field=found.field,
        crs=log.ground.crs,
        ground=log.ground.name,
    )


def _run(
    reading: Reading,
    tree: StreamTree,
    clasts: ClastsRead,
    *,
    bed: Bed,
    progress: Progress,
) -> tuple[Floods | None, dict[str, Any], tuple[str, ...]]:
    """Run the floods; where the ground carries none, say why."""
    if tree.creek is None or tree.routing is None:
        why = (
            "There is no elevation model, so no flood could be run: the drops come "
            "from the drawn creek alone. Attach one to see water."
        )
        return None, {}, (why,)
    discharges, supposed = choose_discharges(tree.creek, clasts.discharge_m3_s)
    try:
        water = run_floods(
            reading,
            tree,
            discharges,
            stones_m=float(bed.size_m[-1]),
            progress=progress,
        )
    except ValueError as refused:
        return None, {}, (f"No flood could be run: {refused}",)
    return water, supposed, ()


def _find_drops(
    log: Log, frame: Frame, tree: StreamTree, *, water: Floods | None, bed: Bed
) -> _Found:
    creek = tree.creek
    if creek is None:
        return _Found(drops=(), field=None)
    drops = [*find_shape_drops(creek), *_lees(log, creek)]
    field = None
    if water is not None:
        over_m = _way_m(creek, water.model)
        field, _ = drop_field(
            water.fields, bed, cell_m=water.model.cell_m, over_m=over_m
        )
        drops += find_flow_drops(
            water.model, water.fields, bed, over_m=over_m, believed=water.believed
        )
        drops += find_high_bars(
            water.model, water.fields, water.above_m, believed=water.believed
        )
    elif tree.routing is not None and tree.above_m is not None:
        drops += find_benches(tree.routing.model, tree.above_m, creek)
    near = [one for one in drops if _near(one, frame)]
    joined = join_drops(near, most=MOST_DROPS)
    kept = tuple(one for one in joined if one.score >= LEAST_SCORE)
    return _Found(drops=kept, field=field)


def _lees(log: Log, creek: Creek) -> list[Drop]:
    stones = [
        (rock.easting_m, rock.northing_m, rock.middle_m or rock.long_m)
        for rock in log.rocks
        if rock.kind == "boulder" and rock.easting_m is not None
    ]
    sized = np.array([one for one in stones if one[2]], dtype=np.float64).reshape(-1, 3)
    return find_lees(sized[:, 0], sized[:, 1], sized[:, 2], creek=creek)


def _way_m(creek: Creek, model: ElevationModel) -> float:
    """Return the way over which the load of a flood is compared: a floor's width."""
    width_m = creek.width_m
    usual = float(np.nanmedian(width_m)) if np.isfinite(width_m).any() else 15.0
    return float(np.clip(usual, max(8.0, 3.0 * model.cell_m), 40.0))


def _near(drop: Drop, frame: Frame) -> bool:
    """Return whether a drop lies near what the user digs."""
    if not frame.places:
        return True
    away = min(
        np.hypot(place.easting_m - drop.easting_m, place.northing_m - drop.northing_m)
        for place in frame.places.values()
    )
    return bool(away <= AROUND_M)


def _compare(
    reading: Reading, frame: Frame, drops: tuple[Drop, ...]
) -> Agreement | None:
    """Compare what the drops promise with what the digs held."""
    try:
        grades = grade_ground(reading).digs
    except TooLittleError:
        return None
    held = {one.dig: one.grade_mg_m3 for one in grades}
    digs = [
        (place, grade)
        for dig, place in frame.places.items()
        if (grade := held.get(dig)) is not None
    ]
    if not digs or not drops:
        return None
    promise = promise_at(
        drops,
        [place.easting_m for place, _ in digs],
        [place.northing_m for place, _ in digs],
    )
    rng = np.random.default_rng(reading.seed)
    return compare_with_digs(promise, [grade.p50 for _, grade in digs], rng)


def _place(
    drops: tuple[Drop, ...], agreement: Agreement | None
) -> tuple[PlacedDrop, ...]:
    return tuple(
        PlacedDrop(
            easting_m=one.easting_m,
            northing_m=one.northing_m,
            kind=one.kind,
            score=one.score,
            why=say_why(one),
            chance_richer=(
                None if agreement is None else agreement.chance_richer(one.score)
            ),
            drop=one,
        )
        for one in drops
    )


def _tell_all(water: Floods | None) -> tuple[ToldFlood, ...]:
    if water is None:
        return ()
    return tuple(_tell(one, water.model.cell_m) for one in water.fields)


def _tell(flood: FloodField, cell_m: float) -> ToldFlood:
    return ToldFlood(
        discharge_m3_s=flood.discharge_m3_s,
        deepest_m=float(np.nanmax(flood.depth_m)),
        fastest_m_s=float(np.nanmax(np.where(flood.wet, flood.speed_m_s, 0.0))),
        wet_m2=float(np.count_nonzero(flood.wet)) * cell_m**2,
    )


def _gold(bed: Bed) -> tuple[GoldTravels, ...]:
    """Return what the gold of the user's sizes travels with over this bed."""
    same = table_of_equivalents(bed.gold_m.tolist(), mean_m=bed.mean_m)
    return tuple(
        GoldTravels(
            size_mm=one.equivalent.sieve_m * 1000.0,
            shape=one.equivalent.shape,
            sinks_like_mm=one.equivalent.sinks_like_m * 1000.0,
            starts_like_mm=one.equivalent.starts_like_m * 1000.0,
            kind=one.kind,
            look=one.look,
        )
        for one in where_to_look(same, mean_m=bed.mean_m)
    )


def _say_agreement(agreement: Agreement | None) -> ToldAgreement | None:
    if agreement is None:
        return None
    return ToldAgreement(
        n_digs=agreement.n_digs,
        rank=agreement.rank,
        low=agreement.low,
        high=agreement.high,
    )


def _unsteady(water: Floods | None) -> tuple[str, ...]:
    if water is None or water.steady:
        return ()
    return ("Not every flood came to rest in time; take their edges for less sure.",)
