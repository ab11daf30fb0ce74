"""Why a dig is proposed, in plain words."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.trace import Link, Merge, Streak, TraceAnswer
from pennyweight.answers.wording import chance_words, list_words, quantity_words
from pennyweight.nextdig.candidates import Candidate
from pennyweight.units import METRIC, Measures

#: A streak is named where its middle lies this near [m]; our assumption.
NEAR_STREAK_M = 4.0

#: A merge is named where it lies this near [m]; our assumption.
NEAR_MERGE_M = 12.0

#: Depths nearer than this are one to a shovel [m].
ROUNDING_M = 0.05

#: Merges that are neither sure nor ruled out between these [-].
OPEN_MERGE = (0.1, 0.9)


#: Kind of a dig -> where that is, in plain words.
KIND_WORDS = {
    "gap dig": "between two lines",
    "infill dig": "between two digs",
    "step-out": "beside a line",
    "end dig": "beyond the last line",
    "deepening": "deeper in a dig",
    "first dig": "on a first line",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DigReason:
    """Why a dig is proposed, as numbers; `say_reason` puts it into words.

    Attributes
    ----------
    kind, line, beside, from_m
        As the candidate says [m].
    chance : float
        That there is pay [-].
    streak : str or None
        The streak of which it tells whether it runs through.
    link_chance : float
        That this streak does [-].
    merging : tuple of str
        Streaks that may come together near by.
    merge_chance : float
        That they do [-].
    depth_m, limit_m : float
        How deep it goes, and how deep is dug by hand [m].
    dug_m : float or None
        Depth dug here before, where the limit is only supposed and lies above it [m].
    """

    kind: str
    chance: float
    depth_m: float
    limit_m: float
    line: str | None = None
    beside: tuple[str, ...] = ()
    from_m: float = 0.0
    streak: str | None = None
    link_chance: float = 0.0
    merging: tuple[str, ...] = ()
    merge_chance: float = 0.0
    dug_m: float | None = None

    @property
    def is_too_deep(self) -> bool:
        """Whether it goes deeper than is dug by hand."""
        return self.depth_m > self.limit_m + ROUNDING_M


def find_reason(
    candidate: Candidate,
    trace: TraceAnswer,
    *,
    depth_m: float,
    limit_m: float,
    dug_m: float | None = None,
) -> DigReason:
    """Return the reason for a dig.

    Parameters
    ----------
    candidate : Candidate
        The dig.
    trace : TraceAnswer
        What is known of the streaks.
    depth_m, limit_m : float
        How deep it goes, and how deep the user digs by hand [m].
    dug_m : float, optional
        The deepest dig here, where the limit is only supposed [m].

    Returns
    -------
    DigReason
        In numbers and names.
    """
    link = _nearest_link(candidate, trace) if len(candidate.beside) > 1 else None
    merge = _open_merge(candidate, trace)
    return DigReason(
        kind=candidate.kind,
        chance=_pay_chance(candidate, trace),
        depth_m=depth_m,
        limit_m=limit_m,
        line=candidate.line,
        beside=candidate.beside,
        from_m=candidate.from_m,
        streak=None if link is None else link[0].id,
        link_chance=0.0 if link is None else link[1].probability,
        merging=() if merge is None else merge.from_,
        merge_chance=0.0 if merge is None else merge.probability,
        dug_m=dug_m if dug_m is not None and dug_m > limit_m + ROUNDING_M else None,
    )


def say_reason(reason: DigReason, measures: Measures = METRIC) -> str:
    """Return a reason in sentences, with a warning where it goes too deep by hand.

    Parameters
    ----------
    reason : DigReason
        In numbers.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        Plain words.
    """
    said = [_reason(reason, measures)]
    if reason.merging:
        said.append(
            f"Streaks {list_words(reason.merging)} may come together near here "
            f"({chance_words(reason.merge_chance)})."
        )
    if reason.is_too_deep:
        deep, limit = (
            quantity_words(one, "length", measures)
            for one in (reason.depth_m, reason.limit_m)
        )
        said.append(
            f"The rock or clay that the gold may lie on is about {deep} down, below "
            f"the {limit} that are dug by hand: it needs shoring or a machine."
        )
    return " ".join(said)


def say_own_limit(reason: DigReason, measures: Measures = METRIC) -> str:
    """Return how the warning of a dig that goes too deep by hand can be answered.

    Parameters
    ----------
    reason : DigReason
        In numbers.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        Empty where the limit is the user's own, or no dig here went below it.
    """
    if reason.dug_m is None or not reason.is_too_deep:
        return ""
    limit, dug = (
        quantity_words(one, "length", measures)
        for one in (reason.limit_m, reason.dug_m)
    )
    return (
        f"The {limit} dug by hand are only supposed, and you dug {dug} here before: if "
        "that was by hand, enter your own hand-dug limit. No depth is called safe."
    )


def _reason(reason: DigReason, measures: Measures) -> str:
    chance = chance_words(reason.chance)
    if reason.kind == "first dig":
        return "Nothing is known here yet: a first line across the valley."
    if reason.kind == "deepening":
        stopped = quantity_words(reason.from_m, "length", measures)
        return (
            f"Dig {reason.beside[0]} stopped at {stopped}: what lies below has not "
            f"been seen. The chance of pay is {chance}."
        )
    if reason.kind == "end dig":
        return (
            f"Pay runs on to the last line, line {reason.beside[0]}: nobody has looked "
            "beyond it."
        )
    if reason.kind == "step-out":
        return (
            f"Beside dig {reason.beside[0]}, the outermost of line {reason.line}: pay "
            f"may go on to that side ({chance})."
        )
    first, second = reason.beside
    if reason.kind == "infill dig":
        return f"Between digs {first} and {second}: the chance of pay is {chance}."
    between = f"Half-way between lines {first} and {second}"
    if reason.streak is None:
        return f"{between}: the chance of pay is {chance}."
    return (
        f"{between}: it tells whether streak {reason.streak} runs through "
        f"({chance_words(reason.link_chance)}); the chance of pay is {chance}."
    )


def _pay_chance(candidate: Candidate, trace: TraceAnswer) -> float:
    """Return the chance that some horizon is above the cutoff there."""
    best = 0.0
    for field in trace.fields:
        row = int(abs(field.s_m - candidate.s_m).argmin())
        column = int(abs(field.n_m - candidate.n_m).argmin())
        best = max(best, float(field.probability_above[row, column]))
    return best


def _nearest_link(
    candidate: Candidate, trace: TraceAnswer
) -> tuple[Streak, Link] | None:
    """Return the streak through that gap whose middle lies nearest, with its link."""
    found: list[tuple[float, Streak, Link]] = []
    for streak in trace.streaks:
        for link in streak.links:
            if (link.from_line, link.to_line) == candidate.beside and streak.path:
                point = min(streak.path, key=lambda one: abs(one.s_m - candidate.s_m))
                found.append((abs(point.n_m - candidate.n_m), streak, link))
    near = [one for one in found if one[0] <= NEAR_STREAK_M]
    if not near:
        return None
    _, streak, link = min(near, key=lambda one: one[0])
    return streak, link


def _open_merge(candidate: Candidate, trace: TraceAnswer) -> Merge | None:
    """Return a merge near by of which nobody is sure yet."""
    low, high = OPEN_MERGE
    near = [
        merge
        for merge in trace.merges
        if abs(merge.s_m - candidate.s_m) <= NEAR_MERGE_M
        and low < merge.probability < high
    ]
    return max(near, key=lambda one: one.probability, default=None)
