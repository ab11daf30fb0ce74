"""Where does it run? The answer `trace`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_cutoff, read_graded, refuse_unwashed
from pennyweight.answers.influence import draw_nuggets, warn_of_few
from pennyweight.answers.reading import Reading
from pennyweight.answers.streakfit import read_fit, said_of_fit
from pennyweight.spread import Spread, spread_of
from pennyweight.streaks.between import outline_edges
from pennyweight.streaks.fit import HorizonFit, StreakFit
from pennyweight.streaks.handmethod import counted_mg_m2, join_by_hand
from pennyweight.streaks.outline import has_outline, probability_of_any, sum_outline
from pennyweight.streaks.paths import FoundMeeting, FoundStreak, Point, find_streaks
from pennyweight.streaks.tracing import trace_horizon

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPoint:
    """A place on a streak, conditional on the streak being there."""

    s_m: float
    n_m: float
    center_n_m: Spread
    easting_m: float
    northing_m: float
    probability: float
    top_m: Spread | None
    thickness_m: Spread | None
    width_m: Spread
    grade_mg_m3: Spread
    line: str | None = for_pictures(default=None)
    """The line crossed here; None between lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A streak's join between two lines."""

    from_line: str
    to_line: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Streak:
    """A pay streak across the draws."""

    id: str
    probability: float
    horizon: str
    path: tuple[PathPoint, ...]
    links: tuple[Link, ...]
    gold_g: Spread
    gravel_m3: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge:
    """Streaks that come together."""

    from_: tuple[str, ...]
    into: str
    s_m: float
    easting_m: float
    northing_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """A streak that parts."""

    from_: str
    into: tuple[str, ...]
    s_m: float
    easting_m: float
    northing_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Gold and gravel of the sampled stretch; None where it cannot be told."""

    gold_g: Spread | None
    gravel_m3: Spread | None
    gold_g_above_cutoff: Spread | None
    outline: Mapping[str, Any] | None

    nugget_gold_g: Spread | None = None
    """Of `gold_g`, what nuggets hold; streaks and cutoff leave it out."""

    def as_json(self) -> dict[str, Any] | None:
        """Return the object that the answer prints; None where nothing can be told."""
        if self.gold_g is None and self.outline is None:
            return None
        return {one.name: getattr(self, one.name) for one in fields(self)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """The stretch of valley that the field was worked out on."""

    s0_m: float
    s1_m: float
    n0_m: float
    n1_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ValleyField:
    """A horizon's field on the valley grid, for pictures and for worth.

    Attributes
    ----------
    horizon : str
        Name.
    s_m, n_m : ndarray, shapes (n_s,), (n_n,)
        Cell centers [m].
    accumulation_mg_m2 : ndarray, shape (n_draws, n_s, n_n)
        Joint draws, raw gold in place [mg/m2].
    thickness_m, top_m : ndarray, shape (n_draws, n_s, n_n)
        Thickness of the pay and depth of its top below the surface [m]; nan where
        the depth cannot be told.
    probability_above : ndarray, shape (n_s, n_n)
        Share of draws above the cutoff [-].
    sampled : ndarray of bool, shape (n_s, n_n)
        Whether the cell lies inside the outline of the sampled stretch.
    """

    horizon: str
    s_m: FloatArray
    n_m: FloatArray
    accumulation_mg_m2: npt.NDArray[np.float32]
    thickness_m: npt.NDArray[np.float32]
    top_m: npt.NDArray[np.float32]
    probability_above: FloatArray
    sampled: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandJoin:
    """One straight join of the hand method, for comparison."""

    from_dig: str
    to_dig: str
    s_m: tuple[float, float]
    n_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceAnswer(Answer):
    """Pay streaks, their links and merges, and the gold of the sampled stretch."""

    cutoff_mg_m3: float
    probability_of_any: float
    streaks: tuple[Streak, ...]
    merges: tuple[Merge, ...]
    splits: tuple[Split, ...]
    total: Total
    area: Area | None
    fields: tuple[ValleyField, ...] = for_pictures(default=())
    hand_joins: tuple[HandJoin, ...] = for_pictures(default=())
    gold_draws_g: FloatArray | None = for_pictures(default=None)
    """Gold of the sampled stretch, one value a draw [g]."""
    rests_on: Mapping[str, int] = for_pictures(default_factory=dict)
    """Digs that the streaks rest on, by the reliability of their best sample."""


ONE_LINE_CAUTION = (
    "Only one line has digs: streaks are told where they cross it, with no link, and "
    "gold is reckoned for 5 m of valley."
)


def trace_streaks(reading: Reading, cutoff_mg_m3: float | None = None) -> TraceAnswer:
    """Return the pay streaks of a ground at a cutoff.

    Parameters
    ----------
    reading : Reading
        The book.
    cutoff_mg_m3 : float, optional
        Bank grade of raw gold over the pay thickness [mg/m3]; the book's break-even
        grade, or 100 mg/m3, where none is given.

    Returns
    -------
    TraceAnswer
        Without streaks where there is nothing to trace; cautions say why.

    Raises
    ------
    ValueError
        The cutoff is not above 0.
    TooLittleError
        No washed sample has a fair volume.
    """
    if cutoff_mg_m3 is not None and not cutoff_mg_m3 > 0.0:
        msg = f"the cutoff is {cutoff_mg_m3} mg/m3; it must be above 0."
        raise ValueError(msg)
    refuse_unwashed(reading)
    key = ("trace", cutoff_mg_m3)
    return reading.once(key, lambda: _trace(reading, cutoff_mg_m3))


def leave_untraced(reading: Reading) -> TraceAnswer:
    """Return the answer without streaks, for plans that begin where none is known.

    Parameters
    ----------
    reading : Reading
        The book; nothing in it was washed.

    Returns
    -------
    TraceAnswer
        What is supplied for the ground, and nothing else.
    """
    own = read_cutoff(reading.log.ground)
    supplied = (frame_ground(reading), read_graded(reading), own)
    assumptions: dict[str, Any] = {}
    for one in supplied:
        assumptions |= one.assumptions
    why = "No sample is washed and has a fair volume: nothing to trace."
    return _nothing(reading, own.wash_mg_m3, assumptions, why)


def _trace(reading: Reading, wanted_mg_m3: float | None) -> TraceAnswer:
    own = read_cutoff(reading.log.ground)
    assumptions = dict(own.assumptions)
    cutoff = own.wash_mg_m3
    if wanted_mg_m3 is not None:
        cutoff = wanted_mg_m3
        assumptions.pop("cutoff_mg_m3", None)
    frame = frame_ground(reading)
    graded = read_graded(reading)
    assumptions = {**frame.assumptions, **graded.assumptions, **assumptions}
    if not frame.places or frame.centerline is None:
        return _nothing(
            reading, cutoff, assumptions, "No dig has a position: nothing to trace."
        )
    fit = read_fit(reading)
    if not fit.horizons:
        return _nothing(
            reading,
            cutoff,
            assumptions,
            "No washed sample with a volume lies at a dig with a position.",
        )
    assumptions |= said_of_fit(reading, fit)
    return _answer(reading, (frame, fit), cutoff, own.min_pay_m, assumptions)


def _nothing(
    reading: Reading, cutoff: float, assumptions: Mapping[str, Any], why: str
) -> TraceAnswer:
    return TraceAnswer(
        **reading.heading(),
        cautions=(why,),
        assumptions=assumptions,
        cutoff_mg_m3=cutoff,
        probability_of_any=0.0,
        streaks=(),
        merges=(),
        splits=(),
        total=Total(
            gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None
        ),
        area=None,
    )


def _answer(
    reading: Reading,
    base: tuple[Frame, StreakFit],
    cutoff: float,
    min_pay_m: float,
    assumptions: Mapping[str, Any],
) -> TraceAnswer:
    frame, fit = base
    rng = np.random.default_rng([reading.seed, 2])
    traced = [
        trace_horizon(horizon, fit, cutoff_mg_m3=cutoff, min_pay_m=min_pay_m, rng=rng)
        for horizon in fit.horizons
    ]
    found = find_streaks(traced, fit)
    names = name_streaks(len(found.streaks))
    total, draws, nuggets = _total(reading, base, cutoff, min_pay_m=min_pay_m)
    return TraceAnswer(
        **reading.heading(),
        cautions=(*_cautions(fit, total), *warn_of_few(reading, draws, nuggets)),
        assumptions=assumptions,
        cutoff_mg_m3=cutoff,
        probability_of_any=probability_of_any(traced, fit),
        streaks=tuple(
            _streak(streak, name, frame, fit)
            for streak, name in zip(found.streaks, names, strict=True)
        ),
        merges=tuple(_merge(one, names, frame) for one in found.merges),
        splits=tuple(_split(one, names, frame) for one in found.splits),
        total=total,
        area=_area(fit),
        fields=tuple(
            valley_field(one, fit, cutoff_mg_m3=cutoff, min_pay_m=min_pay_m)
            for one in fit.horizons
        ),
        hand_joins=_hand_joins(fit, cutoff, min_pay_m),
        gold_draws_g=draws,
        rests_on=_rests_on(reading, fit),
    )


def _rests_on(reading: Reading, fit: StreakFit) -> dict[str, int]:
    """Return how many digs carry the streaks, by the reliability of their best."""
    best: dict[str, str] = {}
    for word in ("poor", "fair", "good"):  # the better ones come later and stay
        best |= {
            one.dig: word
            for one in read_graded(reading).samples
            if one.reliability == word
            and one.counts_for_grade
            and one.dig in fit.sites.digs
        }
    return dict(Counter(best.values()))


def name_streaks(count: int) -> list[str]:
    """Return letters in order: A to Z, then AA, AB, and so on."""
    names = []
    for number in range(count):
        name, rest = "", number
        while True:
            name = chr(ord("A") + rest % 26) + name
            rest = rest // 26 - 1
            if rest < 0:
                break
        names.append(name)
    return names


def _map_of(frame: Frame, s_m: Sequence[float], n_m: Sequence[float]) -> FloatArray:
    """Return easting and northing of places in the valley, one row a place."""
    if frame.centerline is None or not len(s_m):
        return np.zeros((len(s_m), 2))
    return np.column_stack(frame.centerline.to_map(s_m, n_m))


def _streak(streak: FoundStreak, name: str, frame: Frame, fit: StreakFit) -> Streak:
    lines = fit.sites.lines
    centers = [spread_of(point.center_n_m) for point in streak.points]
    n_m = [center.p50 if center else 0.0 for center in centers]
    places = _map_of(frame, [point.s_m for point in streak.points], n_m)
    return Streak(
        id=name,
        probability=streak.probability,
        horizon=streak.horizon,
        path=tuple(
            _path_point(point, center, place, lines)
            for point, center, place in zip(streak.points, centers, places, strict=True)
            if center is not None
        ),
        links=tuple(
            Link(from_line=lines[above], to_line=lines[below], probability=share)
            for above, below, share in streak.links
        ),
        gold_g=_sure(spread_of(streak.gold_g)),
        gravel_m3=_sure(spread_of(streak.gravel_m3)),
    )


def _sure(spread: Spread | None) -> Spread:
    """Return a spread that is there: draws of a streak always hold numbers."""
    return spread if spread is not None else Spread(0.0, 0.0, 0.0, 0.0)


def _path_point(
    point: Point, center: Spread, place: FloatArray, lines: tuple[str, ...]
) -> PathPoint:
    return PathPoint(
        s_m=point.s_m,
        n_m=center.p50,
        center_n_m=center,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=point.probability,
        top_m=spread_of(point.top_m),
        thickness_m=spread_of(point.thickness_m),
        width_m=_sure(spread_of(point.width_m)),
        grade_mg_m3=_sure(spread_of(point.grade_mg_m3)),
        line=None if point.line is None else lines[point.line],
    )


def _merge(one: FoundMeeting, names: list[str], frame: Frame) -> Merge:
    place = _map_of(frame, [one.s_m], [one.n_m])[0]
    return Merge(
        from_=tuple(names[at] for at in one.several),
        into=names[one.one],
        s_m=one.s_m,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=one.probability,
    )


def _split(one: FoundMeeting, names: list[str], frame: Frame) -> Split:
    place = _map_of(frame, [one.s_m], [one.n_m])[0]
    return Split(
        from_=names[one.one],
        into=tuple(names[at] for at in one.several),
        s_m=one.s_m,
        easting_m=float(place[0]),
        northing_m=float(place[1]),
        probability=one.probability,
    )


def _total(
    reading: Reading, base: tuple[Frame, StreakFit], cutoff: float, *, min_pay_m: float
) -> tuple[Total, FloatArray | None, FloatArray | None]:
    """Return gold and gravel inside the outline, and draws of all gold and nuggets."""
    frame, fit = base
    if not has_outline(fit.sites):
        nothing = Total(
            gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None
        )
        return nothing, None, None
    sums = sum_outline(fit, cutoff_mg_m3=cutoff, min_pay_m=min_pay_m)
    right, left = outline_edges(fit.sites)
    ring = np.vstack([right, left[::-1]])
    places = _map_of(frame, ring[:, 0].tolist(), ring[:, 1].tolist())
    gold_g = sums.gold_g
    nuggets_mg_m3 = draw_nuggets(reading, len(gold_g))
    nugget_g = None
    if nuggets_mg_m3 is not None:
        ground_m3 = sums.pay_m3 if sums.gravel_m3 is None else sums.gravel_m3
        nugget_g = nuggets_mg_m3 * ground_m3 / 1000.0
        gold_g = gold_g + nugget_g
    total = Total(
        gold_g=spread_of(gold_g),
        gravel_m3=None if sums.gravel_m3 is None else spread_of(sums.gravel_m3),
        gold_g_above_cutoff=spread_of(sums.gold_above_g),
        outline=frame.map.polygon(places[:, 0], places[:, 1]),
        nugget_gold_g=None if nugget_g is None else spread_of(nugget_g),
    )
    return total, gold_g, nugget_g


def _cautions(fit: StreakFit, total: Total) -> tuple[str, ...]:
    cautions = []
    if len(fit.sites.lines) == 1:
        cautions.append(ONE_LINE_CAUTION)
    if total.outline is None:
        cautions.append(
            "Fewer than two lines have two digs each: gold of the stretch as a whole "
            "cannot be told."
        )
    if not fit.bedrock_met:
        cautions.append(
            "No dig met bedrock: gold is told for the gravel that was washed, and how "
            "deep bedrock lies is not known."
        )
    if not any(one.counts.colors.sum() > 0 for one in fit.horizons):
        cautions.append("No gold was seen in any washed sample.")
    return tuple(cautions)


def _area(fit: StreakFit) -> Area:
    grid = fit.grid
    half_s, half_n = grid.ds_m / 2.0, grid.dn_m / 2.0
    return Area(
        s0_m=float(grid.s_m[0] - half_s),
        s1_m=float(grid.s_m[-1] + half_s),
        n0_m=float(grid.n_m[0] - half_n),
        n1_m=float(grid.n_m[-1] + half_n),
    )


def valley_field(
    horizon: HorizonFit, fit: StreakFit, *, cutoff_mg_m3: float, min_pay_m: float
) -> ValleyField:
    """Return a horizon's draws on the valley grid, with the chance of being pay.

    Parameters
    ----------
    horizon : HorizonFit
        Joint draws.
    fit : StreakFit
        What it belongs to.
    cutoff_mg_m3, min_pay_m : float
        Bank grade [mg/m3] and least thickness [m].

    Returns
    -------
    ValleyField
        For pictures and for worth.
    """
    needed = cutoff_mg_m3 * np.maximum(horizon.cell_pay_m, np.float32(min_pay_m))
    return ValleyField(
        horizon=horizon.horizon,
        s_m=fit.grid.s_m,
        n_m=fit.grid.n_m,
        accumulation_mg_m2=horizon.cell_mg_m2,
        thickness_m=horizon.cell_pay_m,
        top_m=horizon.top_m,
        probability_above=(horizon.cell_mg_m2 > needed).mean(axis=0),
        sampled=fit.grid.inside >= 0.5,
    )


def _hand_joins(
    fit: StreakFit, cutoff: float, min_pay_m: float
) -> tuple[HandJoin, ...]:
    """Return the straight joins of the hand method, horizon by horizon."""
    sites = fit.sites
    joins = []
    for horizon in fit.horizons:
        counts = horizon.counts
        hand = join_by_hand(
            sites,
            counts.site,
            counted_mg_m2(counts),
            threshold_mg_m2=cutoff * np.maximum(counts.pay_m, min_pay_m),
        )
        joins += [
            HandJoin(
                from_dig=sites.digs[a],
                to_dig=sites.digs[b],
                s_m=(float(sites.s_m[a]), float(sites.s_m[b])),
                n_m=(float(sites.n_m[a]), float(sites.n_m[b])),
            )
            for a, b in zip(hand.upper, hand.lower, strict=True)
        ]
    return tuple(joins)
