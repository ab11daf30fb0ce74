"""Worked ground beside virgin ground: which samples tell of which, and their grade."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_graded
from pennyweight.answers.reading import Reading
from pennyweight.records import Layer
from pennyweight.sampling.graded import GradedSample
from pennyweight.spread import Spread, spread_of
from pennyweight.worth.rates import MeanRate
from pennyweight.worth.workedground import fit_grade_of_kind

FloatArray = npt.NDArray[np.float64]

#: Words of a layer that was turned over before.
TURNED_OVER = ("worked", "tailings")
#: Draws behind a spread.
N_DRAWS = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class KindGrade:
    """The mean grade of worked or of virgin ground.

    Attributes
    ----------
    samples, digs : int
        That lie in it and count.
    bank_m3 : float
        Washed from it.
    grade_mg_m3 : Spread or None
        Mean over such ground; None where none of it was sampled.
    """

    samples: int
    digs: int
    bank_m3: float
    grade_mg_m3: Spread | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KindGrades:
    """Both kinds; `marked` says whether any ground is marked as worked before."""

    marked: bool
    worked: KindGrade
    virgin: KindGrade


def grade_kinds(reading: Reading) -> KindGrades:
    """Return the grades of worked and of virgin ground, each from its own samples."""
    return reading.once("kinds of ground", lambda: _grade_kinds(reading))


def draw_worked_mg_m3(reading: Reading, n_draws: int) -> FloatArray | None:
    """Return draws of the mean grade of worked ground.

    Parameters
    ----------
    reading : Reading
        The book.
    n_draws : int
        How many [-].

    Returns
    -------
    ndarray, shape (n_draws,), or None
        Raw gold in place [mg/m3 bank], the same at every call; None where no sample
        lies in ground that is marked as worked.
    """
    worked, _ = _split(reading)
    return _draw(reading, worked, n_draws)


def _grade_kinds(reading: Reading) -> KindGrades:
    worked, virgin = _split(reading)
    areas = any(one.role == "worked" for one in frame_ground(reading).features)
    layers = any(one.worked in TURNED_OVER for one in reading.log.layers)
    return KindGrades(
        marked=areas or layers,
        worked=_kind(reading, worked),
        virgin=_kind(reading, virgin),
    )


def _split(reading: Reading) -> tuple[list[GradedSample], list[GradedSample]]:
    """Return the samples of worked and of virgin ground that count for a grade."""
    frame = frame_ground(reading)
    inside = _digs_in_worked(frame)
    layers: dict[str, list[Layer]] = {}
    for layer in reading.log.layers:
        layers.setdefault(layer.dig, []).append(layer)
    worked: list[GradedSample] = []
    virgin: list[GradedSample] = []
    for one in read_graded(reading).samples:
        if not one.counts_for_grade or not one.bank_m3 or one.colors is None:
            continue
        said = _said_of(one, layers.get(one.dig, ()))
        turned = one.dig in inside if said is None else said
        (worked if turned else virgin).append(one)
    return worked, virgin


def _digs_in_worked(frame: Frame) -> set[str]:
    """Return the digs that lie in an area drawn as worked before."""
    rings = [
        shapely.make_valid(shapely.Polygon(part))
        for feature in frame.features
        if feature.role == "worked" and feature.closed
        for part in feature.parts
        if len(part) >= 4
    ]
    area = shapely.union_all(rings)
    return {
        name
        for name, place in frame.places.items()
        if shapely.contains_xy(area, place.easting_m, place.northing_m)
    }


def _said_of(sample: GradedSample, layers: Iterable[Layer]) -> bool | None:
    """Return what the layers say of most of a sample; None where they are silent.

    A layer goes before an area: virgin ground may lie under what was worked.
    """
    if sample.top_m is None or sample.bottom_m is None:
        return None
    met = {True: 0.0, False: 0.0}
    for layer in layers:
        if layer.worked is None or layer.worked == "unknown":
            continue
        lower, upper = (
            min(layer.bottom_m, sample.bottom_m),
            max(layer.top_m, sample.top_m),
        )
        met[layer.worked in TURNED_OVER] += max(lower - upper, 0.0)
    return None if sum(met.values()) <= 0.0 else met[True] > met[False]


def _fit(samples: Sequence[GradedSample]) -> MeanRate | None:
    names = {one.dig: at for at, one in enumerate(samples)}
    return fit_grade_of_kind(
        [one.bank_m3 or 0.0 for one in samples],
        [one.colors or 0.0 for one in samples],
        [one.color_mg for one in samples],
        recovery=[one.recovery for one in samples],
        place=[names[one.dig] for one in samples],
    )


def _draw(
    reading: Reading, samples: Sequence[GradedSample], n_draws: int
) -> FloatArray | None:
    """Return draws of a mean grade, the errors that all samples share included."""
    found = _fit(samples)
    if found is None:
        return None
    graded = read_graded(reading)
    rng = np.random.default_rng([reading.seed, 7])
    drawn, _ = found.draw(n_draws, rng)
    shared = math.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd)
    return drawn * np.exp(
        math.sqrt(math.log1p(shared**2)) * rng.standard_normal(n_draws)
    )


def _kind(reading: Reading, samples: Sequence[GradedSample]) -> KindGrade:
    drawn = _draw(reading, samples, N_DRAWS)
    return KindGrade(
        samples=len(samples),
        digs=len({one.dig for one in samples}),
        bank_m3=float(sum(one.bank_m3 or 0.0 for one in samples)),
        grade_mg_m3=None if drawn is None else spread_of(drawn),
    )
