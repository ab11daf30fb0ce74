"""Why a dig is proposed, in plain words."""

from __future__ import annotations

from pennyweight.answers.trace import Link, Merge, Streak, TraceAnswer
from pennyweight.answers.wording import NO_BREAK, chance_words, number_words
from pennyweight.nextdig.candidates import Candidate

#: A streak is named where its middle lies this near [m]; our assumption.
NEAR_STREAK_M = 4.0

#: A merge is named where it lies this near [m]; our assumption.
NEAR_MERGE_M = 12.0

#: Depths nearer than this are one to a shovel [m].
ROUNDING_M = 0.05

#: Merges that are neither sure nor ruled out between these [-].
OPEN_MERGE = (0.1, 0.9)


def say_why(
    candidate: Candidate, trace: TraceAnswer, *, depth_m: float, limit_m: float
) -> str:
    """Return the reason for a dig, and a warning where it goes too deep by hand.

    Parameters
    ----------
    candidate : Candidate
        The dig.
    trace : TraceAnswer
        What is known of the streaks.
    depth_m, limit_m : float
        How deep it goes, and how deep the user digs by hand [m].
    """
    said = [_reason(candidate, trace)]
    merge = _open_merge(candidate, trace)
    if merge is not None:
        said.append(
            f"Streaks {' and '.join(merge.from_)} may come together near here "
            f"({chance_words(merge.probability)})."
        )
    if depth_m > limit_m + ROUNDING_M:
        said.append(
            f"The contact lies about {_meters(depth_m)} down, below the "
            f"{_meters(limit_m)} that are dug by hand: it needs shoring or a machine."
        )
    return " ".join(said)


def _meters(depth_m: float) -> str:
    return f"{number_words(depth_m, 3)}{NO_BREAK}m"


def _reason(candidate: Candidate, trace: TraceAnswer) -> str:
    chance = chance_words(_pay_chance(candidate, trace))
    if candidate.kind == "first dig":
        return "Nothing is known here yet: a first line across the valley."
    if candidate.kind == "deepening":
        return (
            f"Dig {candidate.beside[0]} stopped at {_meters(candidate.from_m)}: what "
            f"lies below has not been seen. The chance of pay is {chance}."
        )
    if candidate.kind == "end dig":
        return (
            f"Pay runs on to the last line, {candidate.beside[0]}: nobody has looked "
            "beyond it."
        )
    if candidate.kind == "step-out":
        return (
            f"Beside {candidate.beside[0]}, the outermost dig of line "
            f"{candidate.line}: pay may go on to that side ({chance})."
        )
    if candidate.kind == "infill dig":
        first, second = candidate.beside
        return f"Between digs {first} and {second}: the chance of pay is {chance}."
    first, second = candidate.beside
    found = _nearest_link(candidate, trace)
    if found is None:
        between = f"Half-way between lines {first} and {second}"
        return f"{between}: the chance of pay is {chance}."
    streak, link = found
    return (
        f"Half-way between lines {first} and {second}: it tells whether streak "
        f"{streak.id} runs through ({chance_words(link.probability)}); the chance of "
        f"pay is {chance}."
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
