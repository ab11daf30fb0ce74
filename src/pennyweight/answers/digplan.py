"""What is reckoned for a dig that there could be: colors, depth, pans, hours."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_graded
from pennyweight.answers.minable import lie_inside
from pennyweight.answers.program import read_program
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import (
    TraceAnswer,
    ValleyField,
    leave_untraced,
    trace_streaks,
)
from pennyweight.errors import TooLittleError
from pennyweight.nextdig.candidates import FIRST_DIGS_M, Candidate, OpenedDig
from pennyweight.nextdig.effort import (
    DIG_M3_PER_HOUR,
    WORKED_HOURS_PER_DAY,
    dig_effort,
    worked_hours_per_day,
)
from pennyweight.nextdig.gain import expected_colors
from pennyweight.records import Log
from pennyweight.units import FOOT_M

FloatArray = npt.NDArray[np.float64]

#: How deep a hand dig goes where the user says nothing, 3 ft; common practice, no
#: source, and no promise that any depth is safe [m].
HAND_DEPTH_M = 3.0 * FOOT_M

#: Pans washed at each contact of a new dig; our assumption [-].
PANS_PER_ZONE = 8.0

#: What a pan holds, and the swell, where neither the user nor the grades tell.
PAN_M3, SWELL = 0.0055, 0.22

#: Least that a dig is deepened [m], and pay where its thickness is not known [m]; our
#: assumptions.
DEEPER_M, USUAL_PAY_M = 0.2, 0.3

#: Mass of a color [mg] and share found, where no color was seen; our assumptions.
USUAL_COLOR = (0.5, 0.9)

#: Farthest and nearest reach of a dig along the valley [m].
REACH_M = (8.0, 40.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What all steps of one plan share.

    Attributes
    ----------
    hours : float
        To spend, of all people together [h].
    people : int
        Who dig [-].
    limit_m : float
        How deep is dug by hand [m].
    bank_m3 : float
        Washed at each contact [m3].
    color : tuple of float
        Mean mass of a color [mg] and the share that is found [-].
    packing : str or None
        The usual one of this ground.
    """

    reading: Reading
    frame: Frame
    trace: TraceAnswer
    digs: tuple[OpenedDig, ...]
    hours: float
    people: int
    limit_m: float
    bank_m3: float
    color: tuple[float, float]
    packing: str | None
    assumptions: Mapping[str, Any]


def set_out(reading: Reading, days: float) -> Setting:
    """Return what all steps of a plan share, what is supplied named."""
    log, frame, trace = reading.log, frame_ground(reading), _trace(reading)
    people = read_program(log.ground.program).people
    assumptions: dict[str, Any] = {"pans_per_zone": PANS_PER_ZONE}
    if people is None:
        people = 1
        assumptions["people"] = people
    worked = worked_hours_per_day(log.days)
    if worked is None:
        worked = WORKED_HOURS_PER_DAY
        assumptions["worked_hours_per_day"] = worked
    limit_m = log.ground.hand_depth_limit_m
    if limit_m is None:
        limit_m = HAND_DEPTH_M
        assumptions["hand_depth_limit_m"] = limit_m
    return Setting(
        reading=reading,
        frame=frame,
        trace=trace,
        digs=_opened(log, frame),
        hours=days * worked * people,
        people=people,
        limit_m=limit_m,
        bank_m3=PANS_PER_ZONE * _bank_of_pan(log, trace.assumptions),
        color=_usual_color(reading),
        packing=_usual_packing(log),
        assumptions={**trace.assumptions, **assumptions},
    )


def _trace(reading: Reading) -> TraceAnswer:
    """Return the streaks; where nothing is washed, an answer without any."""
    try:
        return trace_streaks(reading)
    except TooLittleError:
        return leave_untraced(reading)


def _opened(log: Log, frame: Frame) -> tuple[OpenedDig, ...]:
    return tuple(
        OpenedDig(
            name=dig.dig,
            line=frame.places[dig.dig].line,
            s_m=frame.places[dig.dig].s_m,
            n_m=frame.places[dig.dig].n_m,
            bottom_m=dig.bottom_m,
            stopped_by=dig.stopped_by,
        )
        for dig in log.digs
        if dig.dig in frame.places
    )


def _bank_of_pan(log: Log, assumptions: Mapping[str, Any]) -> float:
    """Return the bank volume of a pan [m3]."""
    pan_m3 = log.ground.pan_volume_m3
    if pan_m3 is None:
        pan_m3 = float(assumptions.get("pan_volume_l", PAN_M3 * 1000.0)) / 1000.0
    swell = log.ground.swell
    if swell is None:
        swell = float(assumptions.get("swell", SWELL))
    return pan_m3 / (1.0 + swell)


def _usual_color(reading: Reading) -> tuple[float, float]:
    """Return mean mass of a color [mg] and recovery, over all colors seen."""
    seen = [one for one in read_graded(reading).samples if one.colors]
    if not seen:
        return USUAL_COLOR
    colors = [float(one.colors or 0.0) for one in seen]
    return (
        float(np.average([one.color_mg for one in seen], weights=colors)),
        float(np.average([one.recovery for one in seen], weights=colors)),
    )


def _usual_packing(log: Log) -> str | None:
    """Return the packing that most layers have, bedrock left out."""
    words = Counter(
        layer.packing
        for layer in log.layers
        if layer.packing in DIG_M3_PER_HOUR and layer.material != "bedrock"
    )
    return words.most_common(1)[0][0] if words else None


def usual_step_m(setting: Setting) -> float:
    """Return the usual distance of digs on a line [m]."""
    steps = [
        abs(setting.frame.places[a].n_m - setting.frame.places[b].n_m)
        for line in setting.frame.lines
        for a, b in pairwise(line.digs)
    ]
    return float(np.clip(np.median(steps), 1.0, 6.0)) if steps else FIRST_DIGS_M


def reach_m(setting: Setting) -> float:
    """Return how far along the valley a dig tells: to the next line [m]."""
    places = np.array([line.s_m for line in setting.frame.lines if len(line.digs) > 1])
    gap = float(np.median(np.diff(places))) if len(places) > 1 else REACH_M[0]
    return float(np.clip(gap, *REACH_M))


def find_cell(field: ValleyField, candidate: Candidate) -> tuple[int, int] | None:
    """Return the cell that a candidate lies in; None outside of the field."""
    at = []
    for centers, place in ((field.s_m, candidate.s_m), (field.n_m, candidate.n_m)):
        nearest = int(np.argmin(np.abs(centers - place)))
        step = abs(centers[1] - centers[0]) if len(centers) > 1 else 1.0
        if abs(centers[nearest] - place) > step:
            return None
        at.append(nearest)
    return at[0], at[1]


def keep_reachable(
    setting: Setting, candidates: Sequence[Candidate]
) -> list[Candidate]:
    """Keep candidates inside the boundary and inside the field."""
    if not candidates:
        return []
    inside = lie_inside(
        setting.frame,
        np.array([one.s_m for one in candidates]),
        np.array([one.n_m for one in candidates]),
    )
    field = setting.trace.fields[0]
    return [
        one
        for one, fine in zip(candidates, inside, strict=True)
        if fine and find_cell(field, one) is not None
    ]


def floor_m(field: ValleyField, candidate: Candidate) -> float | None:
    """Return how deep the pay of a horizon is expected to reach there [m].

    None outside of the field, or where most draws have no such contact.
    """
    cell = find_cell(field, candidate)
    if cell is None:
        return None
    low = field.top_m[:, cell[0], cell[1]] + field.thickness_m[:, cell[0], cell[1]]
    told = low[np.isfinite(low)]
    return float(told.mean()) if len(told) > len(low) / 2 else None


def contacts_below(setting: Setting, candidate: Candidate) -> list[ValleyField]:
    """Return the horizons expected there, below what is dug already."""
    found = []
    for field in setting.trace.fields:
        floor = floor_m(field, candidate)
        if floor is not None and floor > candidate.from_m:
            found.append(field)
    return found


def expect_colors(setting: Setting, candidate: Candidate) -> FloatArray:
    """Return the colors expected in every draw, a row for each horizon met."""
    color_mg, recovery = setting.color
    rows = []
    for field in contacts_below(setting, candidate) or setting.trace.fields:
        cell = find_cell(field, candidate)
        if cell is None:
            continue
        thick = np.asarray(field.thickness_m[:, cell[0], cell[1]], dtype=np.float64)
        gold = field.accumulation_mg_m2[:, cell[0], cell[1]]
        rows.append(
            expected_colors(
                np.asarray(gold, dtype=np.float64),
                np.where(np.isfinite(thick), thick, USUAL_PAY_M),
                bank_m3=setting.bank_m3,
                color_mg=color_mg,
                recovery=recovery,
            )
        )
    n_draws = len(setting.trace.fields[0].accumulation_mg_m2)
    return np.array(rows) if rows else np.zeros((1, n_draws))


def contact_depth_m(setting: Setting, candidate: Candidate) -> float:
    """Return how deep a dig goes: to the bottom of its deepest pay [m].

    Where nothing tells, as deep as digs here usually go.
    """
    floors = [floor_m(field, candidate) for field in setting.trace.fields]
    known = [floor for floor in floors if floor is not None]
    if known:
        return max(*known, candidate.from_m + DEEPER_M)
    bottoms = [dig.bottom_m for dig in setting.digs if dig.bottom_m]
    usual = float(np.median(bottoms)) if bottoms else setting.limit_m
    return max(usual, candidate.from_m + DEEPER_M)


def dig_pans(setting: Setting, candidate: Candidate) -> float:
    """Return the pans to wash: some at each contact, never none."""
    contacts = [
        field
        for field in contacts_below(setting, candidate)
        if field.horizon != "gravel"
    ]
    return PANS_PER_ZONE * max(len(contacts), 1)


def dig_hours(setting: Setting, candidate: Candidate) -> float:
    """Return the hours of a dig [h]."""
    return dig_effort(
        contact_depth_m(setting, candidate),
        dig_pans(setting, candidate),
        packing=setting.packing,
        from_m=candidate.from_m,
    ).hours


def pay_chance(setting: Setting, candidate: Candidate) -> float:
    """Return the chance of pay at the end of the stretch nearest to a candidate."""
    chance = 0.0
    for field in setting.trace.fields:
        row = int(np.argmin(np.abs(field.s_m - candidate.s_m)))
        column = int(np.argmin(np.abs(field.n_m - candidate.n_m)))
        chance = max(chance, float(field.probability_above[row, column]))
    return chance
