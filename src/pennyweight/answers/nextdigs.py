"""What next? The answer `next`."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.digchoice import choose_digs
from pennyweight.answers.digplan import (
    Setting,
    contact_depth_m,
    dig_hours,
    dig_pans,
    pay_chance,
    set_out,
    usual_step_m,
)
from pennyweight.answers.digreasons import DigReason, find_reason, say_reason
from pennyweight.answers.grade import read_graded, refuse_unwashed
from pennyweight.answers.ground import find_unwashed
from pennyweight.answers.minable import lie_inside
from pennyweight.answers.program import read_program
from pennyweight.answers.reading import Reading
from pennyweight.answers.rules import Rules, judge_rules
from pennyweight.nextdig.batch import Choice
from pennyweight.nextdig.candidates import (
    FIRST_DIGS_M,
    Candidate,
    propose_candidates,
    propose_first_lines,
)
from pennyweight.sampling.quality import WONDER_SAMPLES, WONDER_SHARE, review_quality
from pennyweight.units import Measures

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What a dig is expected to bring; None where it cannot be told."""

    money: float | None
    chance_of_wrong_decision: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedDig:
    """One dig to open next.

    `why` is the reason in metric units; `say` tells it in those of the reader.
    Longitude and latitude (WGS 84) are None where the ground has no coordinate system.
    """

    rank: int
    easting_m: float
    northing_m: float
    line: str | None
    kind: str
    depth_m: float
    pans: float
    hours: float
    gain: Gain
    why: str
    longitude: float | None = None
    latitude: float | None = None
    s_m: float = for_pictures(default=0.0)
    n_m: float = for_pictures(default=0.0)
    reason: DigReason | None = for_pictures(default=None)

    def say(self, measures: Measures) -> str:
        """Return the reason in the reader's units."""
        return self.why if self.reason is None else say_reason(self.reason, measures)


@dataclass(frozen=True, slots=True, kw_only=True)
class NextAnswer(Answer):
    """Digs in the order of their gain for the effort, and their hours together.

    What costs no digging comes before them: samples `to_wash`, and those `to_cut_again`
    because one of them holds much of all gold and stands alone. `hours` are those of
    all `people` together. `rules` say how the rules of the program stand today.
    """

    digs: tuple[ProposedDig, ...]
    hours: float
    to_wash: tuple[str, ...] = ()
    to_cut_again: tuple[str, ...] = ()
    people: int = 1
    rules: Rules | None = None
    verdict: str = for_pictures(default="")
    changes_little: bool = for_pictures(default=False)
    """Whether all digs together hardly change what is decided."""


#: Candidates that are weighed in full: those that promise most.
MOST_WEIGHED = 400

#: Letters of a date at the head of a time.
DATE_LETTERS = 10

#: Decimals of a longitude or latitude: 1 cm on the ground.
DEGREE_DECIMALS = 7

#: Digs that lower the chance of a wrong decision by less [-], and raise what the
#: present plan brings by less than this share [-], hardly change it; our assumption.
LITTLE = 0.01

DEEP_CAUTION = (
    "Some digs go deeper than you dig by hand: they need shoring or a machine."
)
OWN_LIMIT_CAUTION = (
    "That limit is only supposed. If you dug deeper here by hand, enter your own "
    "hand-dug limit; no depth is called safe."
)
TRENCH_CAUTION = (
    "A wall can fall without a sign: keep spoil 0.6 m (2 ft) back, have a way out, "
    "stay out of ground that runs or stands under water, work with someone, and follow "
    "the rules of your place. No depth here is said to be safe."
)


def plan_digs(reading: Reading, days: float = 1.0) -> NextAnswer:
    """Return the digs to open next, chosen together for the days given.

    The gain of each is what it adds to those ranked before it.

    Raises
    ------
    ValueError
        The days are not above 0.
    """
    if not days > 0.0:
        msg = f"days is {days}; plan for more than 0 days."
        raise ValueError(msg)
    return reading.once(("next", days), lambda: _plan(reading, days))


def _plan(reading: Reading, days: float) -> NextAnswer:
    chosen = choose_digs(reading, days)
    if chosen is None:
        return _first_program(set_out(reading, days))
    setting, has_money = chosen.setting, chosen.has_money
    digs = [
        _propose(
            setting,
            chosen.candidates[one.index],
            rank,
            choice=one,
            has_money=has_money,
        )
        for rank, one in enumerate(chosen.choices, 1)
    ]
    plan_value = float(np.maximum(chosen.value.mean(axis=0), 0.0).sum())
    little = changes_little(digs, plan_value)
    digs += _end_digs(setting, digs)
    return _answer(setting, digs, has_money=has_money, changes_little=little)


def changes_little(digs: Sequence[ProposedDig], plan_value: float) -> bool:
    """Tell whether the digs together hardly change what is decided.

    Neither the chance of a wrong decision, nor what the present plan brings.

    Parameters
    ----------
    digs : sequence of ProposedDig
        Together.
    plan_value : float
        What is expected of the present plan, in the unit of the gains [-].
    """
    wrong = sum(dig.gain.chance_of_wrong_decision or 0.0 for dig in digs)
    money = sum(dig.gain.money or 0.0 for dig in digs)
    return bool(digs) and wrong < LITTLE and money <= LITTLE * plan_value


def _propose(
    setting: Setting,
    candidate: Candidate,
    rank: int,
    *,
    choice: Choice | None,
    has_money: bool,
) -> ProposedDig:
    line = setting.frame.centerline
    if line is None:
        msg = f"dig {rank} cannot be placed: the valley has no centerline."
        raise ValueError(msg)
    east, north = line.to_map([candidate.s_m], [candidate.n_m])
    depth_m = contact_depth_m(setting, candidate)
    longitude, latitude = _degrees(setting, float(east[0]), float(north[0]))
    reason = find_reason(
        candidate,
        setting.trace,
        depth_m=depth_m,
        limit_m=setting.limit_m,
        dug_m=_dug_before_m(setting),
    )
    gain = Gain(money=None, chance_of_wrong_decision=None)
    if choice is not None:
        gain = Gain(
            money=choice.gain.sure_value if has_money else None,
            chance_of_wrong_decision=max(choice.gain.wrong, 0.0),
        )
    return ProposedDig(
        rank=rank,
        easting_m=float(east[0]),
        northing_m=float(north[0]),
        line=candidate.line,
        kind=candidate.kind,
        depth_m=depth_m,
        pans=dig_pans(setting, candidate),
        hours=dig_hours(setting, candidate),
        gain=gain,
        why=say_reason(reason),
        longitude=longitude,
        latitude=latitude,
        s_m=candidate.s_m,
        n_m=candidate.n_m,
        reason=reason,
    )


def _degrees(
    setting: Setting, easting_m: float, northing_m: float
) -> tuple[float | None, float | None]:
    """Return longitude and latitude; None where nothing tells where on Earth it is."""
    if setting.frame.map.crs is None:
        return None, None
    longitude, latitude = setting.frame.map.to_degrees([easting_m], [northing_m])
    return (
        round(float(longitude[0]), DEGREE_DECIMALS),
        round(float(latitude[0]), DEGREE_DECIMALS),
    )


def _dug_before_m(setting: Setting) -> float | None:
    """Return how deep was dug here, where the limit by hand is only supposed [m]."""
    if "hand_depth_limit_m" not in setting.assumptions:
        return None
    return max((dig.bottom_m or 0.0 for dig in setting.digs), default=None)


def _end_digs(setting: Setting, digs: Sequence[ProposedDig]) -> list[ProposedDig]:
    """Return a dig beyond an end where pay runs out of the sampled stretch.

    The draws end with the stretch, so that its gain cannot be told; it is proposed
    only with hours that are left.
    """
    found: list[ProposedDig] = []
    ends = [
        one
        for one in propose_candidates(setting.digs, step_m=usual_step_m(setting))
        if one.kind == "end dig"
    ]
    spent = sum(dig.hours for dig in digs)
    for s_m in sorted({one.s_m for one in ends}, reverse=True):
        best = max(
            (one for one in ends if one.s_m == s_m),
            key=lambda one: pay_chance(setting, one),
        )
        hours = dig_hours(setting, best)
        inside = lie_inside(setting.frame, np.array([best.s_m]), np.array([best.n_m]))
        runs_out = pay_chance(setting, best) > 0.35
        if inside[0] and runs_out and spent + hours <= setting.hours:
            rank = len(digs) + len(found) + 1
            found.append(_propose(setting, best, rank, choice=None, has_money=False))
            spent += hours
    return found


def _first_program(setting: Setting) -> NextAnswer:
    """Return lines across the valley, where next to nothing is known yet."""
    line = setting.frame.centerline
    if line is None:
        refuse_unwashed(setting.reading)
        return _answer(
            setting,
            [],
            has_money=False,
            verdict=(
                "Nothing tells where the valley runs: draw a centerline, or enter a "
                "first dig with its place."
            ),
        )
    reach = max((abs(dig.n_m) for dig in setting.digs), default=0.0)
    half = reach if reach >= FIRST_DIGS_M else None
    program = propose_first_lines(
        setting.digs, length_m=line.length_m, half_width_m=half
    )
    inside = lie_inside(
        setting.frame,
        np.array([one.s_m for one in program]),
        np.array([one.n_m for one in program]),
    )
    digs: list[ProposedDig] = []
    spent = 0.0
    for one, fine in zip(program, inside, strict=True):
        hours = dig_hours(setting, one)
        if spent + hours > setting.hours:
            break
        if fine:
            spent += hours
            digs.append(
                _propose(setting, one, len(digs) + 1, choice=None, has_money=False)
            )
    return _answer(setting, digs, has_money=False)


def _answer(
    setting: Setting,
    digs: Sequence[ProposedDig],
    *,
    has_money: bool,
    verdict: str = "",
    changes_little: bool = False,
) -> NextAnswer:
    cautions = [TRENCH_CAUTION] if digs else []
    deep = [dig.reason for dig in digs if dig.reason and dig.reason.is_too_deep]
    if deep:
        supposed = any(reason.dug_m is not None for reason in deep)
        cautions.append(
            f"{DEEP_CAUTION} {OWN_LIMIT_CAUTION}" if supposed else DEEP_CAUTION
        )
    closed = _closed_today(setting.reading)
    if closed is not None:
        cautions.append(closed)
    if not has_money and setting.trace.fields:
        cautions.append(
            "Price or costs are missing: digs are ranked by wrong decisions avoided, "
            "not by money."
        )
    if not digs and not verdict:
        verdict = (
            f"No dig that fits into {setting.hours:.1f} hours would change what you "
            "decide."
        )
    return NextAnswer(
        **setting.reading.heading(),
        cautions=tuple(cautions),
        assumptions=setting.assumptions,
        digs=tuple(digs),
        hours=sum(dig.hours for dig in digs),
        to_wash=find_unwashed(setting.reading.log),
        to_cut_again=_to_cut_again(setting.reading),
        people=setting.people,
        rules=judge_rules(setting.reading),
        verdict=verdict,
        changes_little=changes_little,
    )


def _closed_today(reading: Reading) -> str | None:
    """Return a caution where the program keeps people out of the creek today."""
    program = read_program(reading.log.ground.program)
    if not program.closed:
        return None
    today = datetime.date.fromisoformat(reading.made_at[:DATE_LETTERS])
    closed = program.closed_on(today)
    if closed is None:
        return None
    return (
        f"Today, {today.isoformat()}, lies in a closed season of your program "
        f"({closed.words}): stay out of the creek; this plan is for after it."
    )


def _to_cut_again(reading: Reading) -> tuple[str, ...]:
    """Return the sample on which most rests, where nothing repeats it."""
    log = reading.log
    found = review_quality(log, read_graded(reading).samples).influence
    if len(found) < WONDER_SAMPLES or found[0].gold_share <= WONDER_SHARE:
        return ()
    repeated = {one.duplicate_of for one in log.samples}
    return () if found[0].sample in repeated else (found[0].sample,)
