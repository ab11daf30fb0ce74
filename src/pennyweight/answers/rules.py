"""The two rules of the program, held against the ground as it is known today.

A line shows nothing when each of its digs was washed where gold would lie and is, nine
chances in ten, poorer than the rule asks. Anything less sure is not yet told: a line
that was hardly washed is no reason to leave.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pennyweight.answers.grade import DigGrade, grade_ground
from pennyweight.answers.program import Program, read_program
from pennyweight.answers.reading import Reading
from pennyweight.answers.wording import (
    count_words,
    list_words,
    percent_words,
    quantity_words,
)
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.units import Measures

State = Literal["met", "not met", "not told"]

#: What ends a dig where gold would rest.
CONTACTS = frozenset({"bedrock", "clay"})

#: Lines named one by one in a sentence; more are counted.
MOST_LINES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShows:
    """What one line says to the rule by which to leave.

    Attributes
    ----------
    line : str
        Its name.
    shows : str
        nothing, gold, or open: not sure yet.
    why : str
        What keeps it open; empty otherwise.
    """

    line: str
    shows: Literal["nothing", "gold", "open"]
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveRule:
    """Leave when so many lines show nothing above a grade."""

    after_lines: int
    below_mg_m3: float
    lines: tuple[LineShows, ...]
    state: State

    def named(self, shows: str) -> list[str]:
        """Return the lines that show so much."""
        return [one.line for one in self.lines if one.shows == shows]


@dataclass(frozen=True, slots=True, kw_only=True)
class GoRule:
    """Go on to mining when the chance of loss is under a limit.

    `chance_of_loss` is None where it cannot be told yet; `why` says what is missing.
    """

    below_chance_of_loss: float
    chance_of_loss: float | None
    state: State
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Both rules; None where none was written down."""

    leave: LeaveRule | None
    go: GoRule | None

    @property
    def any(self) -> bool:
        """Whether there is a rule at all."""
        return self.leave is not None or self.go is not None


def judge_rules(reading: Reading) -> Rules:
    """Return how the rules of the program stand."""
    return reading.once("rules", lambda: _judge(reading))


def _judge(reading: Reading) -> Rules:
    program = read_program(reading.log.ground.program)
    return Rules(leave=_judge_leave(reading, program), go=_judge_go(reading, program))


def _judge_leave(reading: Reading, program: Program) -> LeaveRule | None:
    after, below = program.leave_after_lines, program.leave_below_mg_m3
    if after is None or below is None:
        return None
    try:
        digs = grade_ground(reading).digs
    except TooLittleError:
        digs = ()
    names = dict.fromkeys(dig.line for dig in digs if dig.line is not None)
    lines = tuple(
        judge_line(name, [dig for dig in digs if dig.line == name], below)
        for name in names
    )
    empty = sum(one.shows == "nothing" for one in lines)
    rich = any(one.shows == "gold" for one in lines)
    state: State = "met" if empty >= after and not rich else "not met"
    return LeaveRule(
        after_lines=after,
        below_mg_m3=below,
        lines=lines,
        state=state if lines else "not told",
    )


def judge_line(name: str, digs: list[DigGrade], below_mg_m3: float) -> LineShows:
    """Return what a line says: gold, nothing, or not sure yet.

    Parameters
    ----------
    name : str
        Of the line.
    digs : list of DigGrade
        Its digs, with the grade of their best interval.
    below_mg_m3 : float
        What the rule asks of a line [mg/m3 bank].
    """
    grades = [dig.grade_mg_m3 for dig in digs]
    if any(grade is not None and grade.p50 > below_mg_m3 for grade in grades):
        return LineShows(line=name, shows="gold")
    waiting = sum(bool(dig.unwashed) for dig in digs)
    if waiting:
        why = f"{count_words(waiting, 'dig')} with gravel still to wash"
        return LineShows(line=name, shows="open", why=why)
    if not any(dig.stopped_by in CONTACTS for dig in digs):
        return LineShows(line=name, shows="open", why="no dig reached a contact")
    unsure = sum(grade is None or grade.p90 > below_mg_m3 for grade in grades)
    if unsure:
        why = f"{count_words(unsure, 'dig')} washed too little to tell"
        return LineShows(line=name, shows="open", why=why)
    return LineShows(line=name, shows="nothing")


def _judge_go(reading: Reading, program: Program) -> GoRule | None:
    below = program.go_below_chance_of_loss
    if below is None:
        return None
    try:
        worth = weigh_worth(reading)
    except TooLittleError as missing:
        return GoRule(
            below_chance_of_loss=below,
            chance_of_loss=None,
            state="not told",
            why=str(missing),
        )
    if worth.cut is None or worth.chance_of_loss is None:
        why = "No ground so far is worth a cut."
        return GoRule(
            below_chance_of_loss=below, chance_of_loss=None, state="not met", why=why
        )
    met = worth.chance_of_loss < below
    return GoRule(
        below_chance_of_loss=below,
        chance_of_loss=worth.chance_of_loss,
        state="met" if met else "not met",
    )


def say_leave(rule: LeaveRule, measures: Measures) -> str:
    """Return how the rule by which to leave stands, in one or two sentences."""
    grade = quantity_words(rule.below_mg_m3, "grade", measures)
    asked = (
        f"Your rule: leave if {count_words(rule.after_lines, 'line')} "
        f"{'shows' if rule.after_lines == 1 else 'show'} nothing above {grade}."
    )
    if rule.state == "not told":
        return f"{asked} No line is washed yet."
    empty, rich, unsure = (rule.named(one) for one in ("nothing", "gold", "open"))
    said = f"{len(empty)} of {rule.after_lines} so far"
    if empty:
        said += f" ({_lines(empty)})"
    said += "."
    if rule.state == "met":
        return f"{asked} {said} It is met: leave this ground."
    if rich:
        said += f" Above it {_agree(rich, 'lies')} {_lines(rich)}: stay."
    if unsure:
        said += f" Not told yet: {_lines(unsure)}."
    return f"{asked} {said}"


def say_go(rule: GoRule) -> str:
    """Return how the rule by which to go on stands."""
    limit = percent_words(rule.below_chance_of_loss)
    asked = f"Your rule: go if the chance of loss is under {limit}."
    if rule.chance_of_loss is None:
        begin = "It cannot be told yet: " if rule.state == "not told" else ""
        return f"{asked} {begin}{rule.why}"
    chance = percent_words(rule.chance_of_loss)
    said = "It is met." if rule.state == "met" else "It is not met."
    return f"{asked} Today it is {chance}. {said}"


def _lines(names: list[str]) -> str:
    """Return lines by name, or counted where they are many."""
    if len(names) > MOST_LINES:
        return count_words(len(names), "line")
    return f"line{'' if len(names) == 1 else 's'} {list_words(names)}"


def _agree(names: list[str], verb: str) -> str:
    """Return a verb for one or several."""
    return verb if len(names) == 1 else verb.removesuffix("s")


def say_rules(rules: Rules, measures: Measures) -> tuple[str, ...]:
    """Return how the rules stand, a sentence or two each; empty without a rule."""
    said = []
    if rules.leave is not None:
        said.append(say_leave(rules.leave, measures))
    if rules.go is not None:
        said.append(say_go(rules.go))
    return tuple(said)
