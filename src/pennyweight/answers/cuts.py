"""Cuts that were cleaned up: where they lie, and what the draws say was in them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from pennyweight.answers.frame import Frame, PlacedFeature, frame_ground
from pennyweight.answers.grade import read_cutoff
from pennyweight.answers.influence import draw_nuggets
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import ValleyField, trace_streaks
from pennyweight.answers.workedground import draw_worked_mg_m3
from pennyweight.records import Cleanup
from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]

#: "s 12-25", "12 to 25 m": distances downstream along the centerline.
STRETCH = re.compile(
    r"^\s*(?:s\s*)?(-?\d+(?:[.,]\d+)?)\s*(?:-|\u2013|to|\.\.)\s*(-?\d+(?:[.,]\d+)?)"
    r"\s*(m|ft)?\s*$",
    re.IGNORECASE,
)
#: Points along each side of a cell that say how much of it lies in a cut.
FINE = 5
#: A cut told by its stretch alone may lie wherever this share of the best ground's gold
#: is expected [-]; ours.
ASTRAY = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class CutGround:
    """What one cut held by the draws of the streaks.

    Attributes
    ----------
    cleanup : Cleanup
        Its record.
    share_m2 : ndarray, shape (n_s, n_n), or None
        Surface of each cell that lies in it [m2]; None where it cannot be placed.
    sampled_share : float
        How much of its surface lies in the sampled stretch [-].
    gold_mg, pay_m3 : ndarray, shape (n_draws,), or None
        Raw gold in place in what was taken, and pay in its whole surface.
    taken_share : float
        Part of the pay that the volume surveyed can have been, expected [-].
    why : str
        Why it cannot be told, or what is odd; else empty.
    place_words : str
        How the reader finds it.
    supposed_place : bool
        Whether only its stretch is known, not how far across the valley it lay.
    """

    cleanup: Cleanup
    share_m2: FloatArray | None = None
    sampled_share: float = 0.0
    gold_mg: FloatArray | None = None
    pay_m3: FloatArray | None = None
    taken_share: float = 1.0
    why: str = ""
    place_words: str = ""
    supposed_place: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundDraws:
    """The draws of a ground on its valley grid, all horizons together.

    Attributes
    ----------
    s_m, n_m : ndarray, shapes (n_s,), (n_n,)
        Cell centers [m].
    area_m2 : ndarray, shape (n_s, n_n)
        Surface of each cell [m2].
    sampled : ndarray of bool, shape (n_s, n_n)
        Inside the outline of the sampled stretch.
    gold_mg_m2, pay_m : ndarray, shape (n_draws, n_s, n_n)
        Raw gold, nuggets with it, and thickness of what is washed there: horizons
        expected to pay for their washing, else the best one.
    all_gold_mg_m2 : ndarray, shape (n_draws, n_s, n_n)
        Of all horizons.
    worth_washing : ndarray of bool, shape (n_s, n_n)
        Where a horizon is expected to pay for its washing.
    """

    s_m: FloatArray
    n_m: FloatArray
    area_m2: FloatArray
    sampled: npt.NDArray[np.bool_]
    gold_mg_m2: FloatArray
    pay_m: FloatArray
    all_gold_mg_m2: FloatArray
    worth_washing: npt.NDArray[np.bool_]


def draw_ground(reading: Reading) -> GroundDraws | None:
    """Return the draws of the whole ground; None where nothing was traced.

    Ground drawn as worked, unless by a clean-up of this record, has its own grade.
    """
    return reading.once("draws of the ground", lambda: _draw_ground(reading))


def lay_cuts(reading: Reading) -> tuple[CutGround, ...]:
    """Return every cut that was cleaned up, with what the draws say was in it."""
    return reading.once("cuts cleaned up", lambda: _lay_cuts(reading))


def _draw_ground(reading: Reading) -> GroundDraws | None:
    trace, frame = trace_streaks(reading), frame_ground(reading)
    if not trace.fields or frame.centerline is None:
        return None
    first = trace.fields[0]
    min_pay_m = read_cutoff(reading.log.ground).min_pay_m
    pays = [
        np.maximum(np.nan_to_num(one.thickness_m), min_pay_m) for one in trace.fields
    ]
    expected = np.stack(
        [
            one.accumulation_mg_m2.mean(axis=0) / pay.mean(axis=0)
            for one, pay in zip(trace.fields, pays, strict=True)
        ]
    )
    washed = (expected >= trace.cutoff_mg_m3) | (expected == expected.max(axis=0))
    gold = np.zeros(first.accumulation_mg_m2.shape)
    pay_m, whole = np.zeros_like(gold), np.zeros_like(gold)
    for one, pay, taken in zip(trace.fields, pays, washed, strict=True):
        whole += one.accumulation_mg_m2
        gold += one.accumulation_mg_m2 * taken
        pay_m += pay * taken
    nuggets = draw_nuggets(reading, len(gold))
    if nuggets is not None:
        more = nuggets[:, None, None] * pay_m
        gold, whole = gold + more, whole + more
    for held in (gold, whole):
        _regrade(reading, frame, first, gold_mg_m2=held, pay_m=pay_m)
    along, across = np.meshgrid(first.s_m, first.n_m, indexing="ij")
    stretch = frame.centerline.stretch(along.ravel(), across.ravel())
    return GroundDraws(
        s_m=first.s_m,
        n_m=first.n_m,
        area_m2=stretch.reshape(along.shape) * _step(first.s_m) * _step(first.n_m),
        sampled=first.sampled,
        gold_mg_m2=gold,
        pay_m=pay_m,
        all_gold_mg_m2=whole,
        worth_washing=np.asarray(np.any(expected >= trace.cutoff_mg_m3, axis=0)),
    )


def _step(centers_m: FloatArray) -> float:
    return float(abs(centers_m[1] - centers_m[0])) if len(centers_m) > 1 else 1.0


def _regrade(
    reading: Reading,
    frame: Frame,
    field: ValleyField,
    *,
    gold_mg_m2: FloatArray,
    pay_m: FloatArray,
) -> None:
    """Give worked cells the grade of worked ground, in place."""
    own = {_plain(one.area) for one in reading.log.cleanups if one.area}
    old = [
        one
        for one in frame.features
        if one.role == "worked" and _plain(one.name) not in own
    ]
    area, grade = _area_of(old), draw_worked_mg_m3(reading, len(gold_mg_m2))
    if area is None or grade is None:
        return
    inside = share_inside(area, frame, (field.s_m, field.n_m)) >= 0.5
    gold_mg_m2[:, inside] = grade[:, None] * pay_m[:, inside]


def _lay_cuts(reading: Reading) -> tuple[CutGround, ...]:
    ground, frame = draw_ground(reading), frame_ground(reading)
    return tuple(_lay(one, ground, frame) for one in reading.log.cleanups)


def _lay(cleanup: Cleanup, ground: GroundDraws | None, frame: Frame) -> CutGround:
    """Return one cut."""
    if ground is None:
        return CutGround(cleanup=cleanup, why="No streak is traced yet.")
    stretch = read_stretch(cleanup.area)
    if stretch is not None:
        return _lay_stretch(cleanup, ground, stretch)
    if not cleanup.area:
        return CutGround(
            cleanup=cleanup,
            why="Where it lies is not written down: name an area that you drew, or "
            "distances along the valley, as 12-25.",
        )
    area = _area_of(_named(frame.features, cleanup.area))
    if area is None:
        return CutGround(
            cleanup=cleanup,
            why=f"No area named {cleanup.area} is drawn.",
            place_words=cleanup.area,
        )
    inside = share_inside(area, frame, (ground.s_m, ground.n_m)) * ground.area_m2
    whole = max(float(area.area), float(inside.sum()), 1e-9)
    counted = np.where(ground.sampled, inside, 0.0)
    return _weigh(
        cleanup,
        ground,
        counted,
        sampled_share=float(counted.sum()) / whole,
        place_words=cleanup.area,
    )


def read_stretch(text: str | None) -> tuple[float, float] | None:
    """Return distances along the valley written as text [m]; None where it is none.

    >>> read_stretch("s 12-25"), read_stretch("Upper cut") is None
    ((12.0, 25.0), True)
    """
    found = STRETCH.match(text or "")
    if found is None:
        return None
    unit = FOOT_M if (found[3] or "").lower() == "ft" else 1.0
    ends = sorted(float(found[at].replace(",", ".")) * unit for at in (1, 2))
    return (ends[0], ends[1]) if ends[1] > ends[0] else None


def _lay_stretch(
    cleanup: Cleanup, ground: GroundDraws, stretch: tuple[float, float]
) -> CutGround:
    """Return a cut told by its stretch alone: as wide as its volume, on the gold."""
    half = _step(ground.s_m) / 2.0
    met = np.minimum(ground.s_m + half, stretch[1]) - np.maximum(
        ground.s_m - half, stretch[0]
    )
    share = np.clip(met / (2.0 * half), 0.0, 1.0)[:, None] * ground.area_m2
    share = np.where(ground.sampled, share, 0.0)
    words = cleanup.area or ""
    if not share.any():
        return CutGround(
            cleanup=cleanup,
            why="It lies outside the sampled stretch.",
            place_words=words,
        )
    if cleanup.bank_volume_m3 is None:
        return CutGround(
            cleanup=cleanup,
            why="Its volume is not surveyed, so its width is not known.",
            place_words=words,
        )
    reached = (float(ground.s_m[0]) - half, float(ground.s_m[-1]) + half)
    inside = min(stretch[1], reached[1]) - max(stretch[0], reached[0])
    windows = _windows(ground, share, cleanup.bank_volume_m3)
    cuts = [
        _weigh(
            cleanup,
            ground,
            np.where(columns, share, 0.0),
            sampled_share=inside / (stretch[1] - stretch[0]),
            place_words=words,
        )
        for columns in windows
    ]
    return replace(cuts[0], gold_mg=_mix(cuts), supposed_place=True)


def _mix(cuts: Sequence[CutGround]) -> FloatArray:
    """Return draws of the gold of one of several cuts, nobody knows which."""
    drawn = np.stack([one.gold_mg for one in cuts if one.gold_mg is not None])
    return np.asarray(
        drawn[np.arange(drawn.shape[1]) % len(drawn), np.arange(drawn.shape[1])]
    )


def _windows(
    ground: GroundDraws, share_m2: FloatArray, bank_m3: float
) -> list[npt.NDArray[np.bool_]]:
    """Return the columns side by side that hold the volume, those of most gold first.

    A miner follows the gold, but not to the foot: windows that are expected to hold at
    least half of what the best one holds may all be the cut.
    """
    pay = (ground.pay_m.mean(axis=0) * share_m2).sum(axis=0)
    gold = (ground.gold_mg_m2.mean(axis=0) * share_m2).sum(axis=0)
    pays, golds = (np.concatenate([[0.0], np.cumsum(one)]) for one in (pay, gold))
    found: list[tuple[float, npt.NDArray[np.bool_]]] = []
    for first in range(len(pay)):
        last = int(np.searchsorted(pays, pays[first] + bank_m3 - 1e-9))
        if last > len(pay) and found:
            break
        last = min(last, len(pay))
        columns = np.zeros(len(pay), dtype=np.bool_)
        columns[first:last] = True
        found.append((float(golds[last] - golds[first]), columns))
    best = max(held for held, _ in found)
    kept = [one for one in found if one[0] >= ASTRAY * best]
    return [columns for _, columns in sorted(kept, key=lambda one: -one[0])]


def _weigh(
    cleanup: Cleanup,
    ground: GroundDraws,
    share_m2: FloatArray,
    *,
    sampled_share: float,
    place_words: str,
) -> CutGround:
    """Return what the cells of a cut hold; less where less was taken than is pay."""
    if not share_m2.any():
        return CutGround(
            cleanup=cleanup,
            why="It lies outside the sampled stretch.",
            place_words=place_words,
        )
    gold = np.tensordot(ground.gold_mg_m2, share_m2, axes=((1, 2), (0, 1)))
    pay = np.tensordot(ground.pay_m, share_m2, axes=((1, 2), (0, 1)))
    taken = np.ones(len(gold))
    if cleanup.bank_volume_m3 is not None:
        taken = np.minimum(cleanup.bank_volume_m3 * sampled_share / pay, 1.0)
    return CutGround(
        cleanup=cleanup,
        share_m2=share_m2,
        sampled_share=min(sampled_share, 1.0),
        gold_mg=np.asarray(gold * taken / min(sampled_share, 1.0)),
        pay_m3=np.asarray(pay),
        taken_share=float(taken.mean()),
        place_words=place_words,
    )


def _plain(text: str | None) -> str:
    return (text or "").strip().casefold()


def _named(features: Sequence[PlacedFeature], name: str) -> tuple[PlacedFeature, ...]:
    return tuple(one for one in features if _plain(one.name) == _plain(name))


def _area_of(features: Sequence[PlacedFeature]) -> shapely.Geometry | None:
    """Return the areas among features as one; None where there is none."""
    rings = [
        shapely.make_valid(shapely.Polygon(part))
        for feature in features
        if feature.closed
        for part in feature.parts
        if len(part) >= 4
    ]
    return shapely.union_all(rings) if rings else None


def mined_area(reading: Reading) -> shapely.Geometry | None:
    """Return the drawn areas that were cleaned up, in the ground's coordinates."""
    features = frame_ground(reading).features
    named = [
        feature
        for cleanup in reading.log.cleanups
        if cleanup.area and read_stretch(cleanup.area) is None
        for feature in _named(features, cleanup.area)
    ]
    return _area_of(named)


def share_inside(
    area: shapely.Geometry, frame: Frame, cells: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Return how much of each cell, given by its centers, lies inside an area [-]."""
    s_m, n_m = cells
    assert frame.centerline is not None  # noqa: S101 - there are cells only with one
    within = (np.arange(FINE) + 0.5) / FINE - 0.5
    along = (s_m[:, None] + within * _step(s_m)).ravel()
    across = (n_m[:, None] + within * _step(n_m)).ravel()
    grid_s, grid_n = np.meshgrid(along, across, indexing="ij")
    east, north = frame.centerline.to_map(grid_s.ravel(), grid_n.ravel())
    inside = shapely.contains_xy(area, east, north)
    parts = inside.reshape(len(s_m), FINE, len(n_m), FINE)
    return np.asarray(parts.mean(axis=(1, 3)))
