"""Where does it run? The answer `trace`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_cutoff, read_graded, refuse_unwashed
from pennyweight.answers.handcompared import compare_hand, draw_hand_joins
from pennyweight.answers.influence import draw_nuggets, warn_of_few
from pennyweight.answers.reading import Reading
from pennyweight.answers.streakbeyond import (
    find_confluences,
    look_beyond,
    warn_of_leaving,
)
from pennyweight.answers.streakfit import read_fit, said_of_fit
from pennyweight.answers.streakhinges import find_hinges
from pennyweight.answers.streaknames import keep_names, name_streaks
from pennyweight.answers.streaktold import map_of, tell_merge, tell_split, tell_streak
from pennyweight.answers.traceparts import (
    Area,
    Beyond,
    Confluence,
    HandCompared,
    HandDoubt,
    HandJoin,
    Hinge,
    Link,
    Merge,
    OneBy,
    PathPoint,
    Split,
    Streak,
    Total,
    ValleyField,
)
from pennyweight.spread import spread_of
from pennyweight.streaks.between import outline_edges
from pennyweight.streaks.fit import HorizonFit, StreakFit
from pennyweight.streaks.outline import has_outline, probability_of_any, sum_outline
from pennyweight.streaks.paths import FoundStreaks, find_streaks
from pennyweight.streaks.tracing import Traced, trace_horizon

__all__ = [
    "Area",
    "Beyond",
    "Confluence",
    "HandCompared",
    "HandDoubt",
    "HandJoin",
    "Hinge",
    "Link",
    "Merge",
    "OneBy",
    "PathPoint",
    "Split",
    "Streak",
    "Total",
    "TraceAnswer",
    "ValleyField",
    "leave_untraced",
    "name_streaks",
    "trace_streaks",
    "valley_field",
]

FloatArray = npt.NDArray[np.float64]


NO_JOINS = HandCompared(joins=0, agree=0, doubts=())


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
    confluences: tuple[Confluence, ...] = ()
    """Where streaks come together, over all draws: the merge map."""
    by_hand: HandCompared = NO_JOINS
    """The straight joins of the best digs beside the streaks."""
    hinges: tuple[Hinge, ...] = ()
    """What would change the answer most."""
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
    streaks = _name(reading, traced, found, base)
    names = [one.id for one in streaks]
    total, draws, nuggets = _total(reading, base, cutoff, min_pay_m=min_pay_m)
    joins = draw_hand_joins(fit, cutoff, min_pay_m)
    merges = tuple(tell_merge(one, names, frame) for one in found.merges)
    return TraceAnswer(
        **reading.heading(),
        cautions=(
            *_cautions(fit, total),
            *warn_of_leaving(streaks, merges, fit),
            *warn_of_few(reading, draws, nuggets),
        ),
        assumptions=assumptions,
        cutoff_mg_m3=cutoff,
        probability_of_any=probability_of_any(traced, fit),
        streaks=streaks,
        merges=merges,
        splits=tuple(tell_split(one, names, frame) for one in found.splits),
        total=total,
        area=_area(fit),
        confluences=find_confluences(traced, found, names, base=base),
        by_hand=compare_hand(joins, streaks),
        hinges=find_hinges(streaks, draws, fit.common_log, frame=frame),
        fields=tuple(
            valley_field(one, fit, cutoff_mg_m3=cutoff, min_pay_m=min_pay_m)
            for one in fit.horizons
        ),
        hand_joins=joins,
        gold_draws_g=draws,
        rests_on=_rests_on(reading, fit),
    )


def _name(
    reading: Reading,
    traced: list[Traced],
    found: FoundStreaks,
    base: tuple[Frame, StreakFit],
) -> tuple[Streak, ...]:
    """Return the streaks under their names, with where they may go on."""
    rng = np.random.default_rng([reading.seed, 3])
    letters = name_streaks(len(found.streaks))
    streaks = [
        replace(
            tell_streak(one, letter, base),
            beyond=look_beyond(one, traced, base, rng=rng),
        )
        for one, letter in zip(found.streaks, letters, strict=True)
    ]
    names = keep_names(streaks, reading.former_streaks())
    return tuple(
        replace(one, id=name) for one, name in zip(streaks, names, strict=True)
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
    places = map_of(frame, ring[:, 0].tolist(), ring[:, 1].tolist())
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
