"""What is said of clean-ups beside the estimate: cut by cut, and of them all."""

from __future__ import annotations

from pennyweight.answers.wording import (
    EN_DASH,
    NO_BREAK,
    count_words,
    number_words,
    percent_words,
)
from pennyweight.spread import Spread
from pennyweight.worth.reconcile import ODD_CHANCE, CutBesideEstimate

#: Part of the difference -> what it is called, and what would tell it.
PART_WORDS = {
    "common": (
        "All samples alike: pan, swell, weight of a color",
        "Measure your pan by a bucket, the swell by a neat hole, and weigh colors.",
    ),
    "recovery": (
        "What the plant keeps",
        "Pan the tailings: gold in them is what the plant lost.",
    ),
    "model": (
        "The estimate between the digs",
        "Dig between the lines, and beside the cut.",
    ),
}

#: A factor whose interval holds 1 says that nothing need be changed.
NOTHING_OFF = 1.0


def say_cut(
    found: CutBesideEstimate | None,
    *,
    why: str,
    weighed: bool,
    sampled: bool,
    part_taken: float | None,
    teaches: bool,
    supposed_place: bool = False,
) -> str:
    """Return a fair sentence on one cut.

    Parameters
    ----------
    found : CutBesideEstimate or None
        None where nothing can be laid beside it.
    why : str
        Why the cut has no estimate.
    weighed, sampled : bool
        Whether its gold is weighed, and whether it lies in sampled ground.
    part_taken : float or None
        Share of the pay that the volume can have been, where it is a part only [-].
    teaches : bool
        Whether it enters the evidence.
    supposed_place : bool
        Whether only its stretch is known.

    Returns
    -------
    str
        One sentence, or two.
    """
    if why:
        return why
    if found is None:
        return "Its gold is not weighed yet." if not weighed else "It cannot be told."
    if found.inside:
        said = "As expected: the outcome lies in the 80\u00a0% interval."
    else:
        side = "Less" if found.chance_below < 0.5 else "More"
        tail = min(found.chance_below, 1.0 - found.chance_below)
        said = (
            f"{side} than expected: an outcome this far off had a chance of "
            f"{percent_words(2.0 * tail)}."
        )
    if supposed_place:
        said += " It is supposed to lie on the gold: draw the cut to have it compared."
    if not sampled:
        said += " Most of the cut lies outside the sampled ground: it teaches nothing."
    elif part_taken is not None:
        said += (
            f" The volume surveyed is {percent_words(part_taken)} of the pay expected "
            "there; that part of its gold is compared."
        )
        if not teaches:
            said += " Nobody knows which part it was: it teaches nothing."
    return said


def say_evidence(
    cuts: int,
    told: int,
    *,
    outside: int,
    chance: float | None,
    call: Spread | None,
) -> str:
    """Return what all clean-ups say together.

    Parameters
    ----------
    cuts, told : int
        Clean-ups recorded, and those that can be compared [-].
    outside : int
        Of these, outside their 80 % intervals [-].
    chance : float or None
        Of as many outside or more, were the estimates fair [-].
    call : Spread or None
        Gold won over gold expected [-].

    Returns
    -------
    str
        Two or three sentences.
    """
    if cuts == 0:
        return (
            "No clean-up is recorded yet. Weigh the gold of each cut by itself, survey "
            "its volume, and write both down: nothing else tells whether the estimate "
            "is right."
        )
    if told == 0 or call is None:
        return f"None of {count_words(cuts, 'clean-up')} can be compared yet."
    inside = told - outside
    if told == 1:
        said = (
            "The one cut lies in the interval that was expected of it."
            if inside
            else "The one cut lies outside the interval that was expected of it; one "
            "in five does by chance alone."
        )
    else:
        said = (
            f"{inside} of {count_words(told, 'cut')} "
            f"{'lies' if inside == 1 else 'lie'} in the interval expected; four in "
            "five should."
        )
        if chance is not None and chance < ODD_CHANCE:
            said += (
                " So many outside are hardly chance: the intervals were too narrow, or "
                "something is off."
            )
    return f"{said} {_say_call(call)}"


def _say_call(call: Spread) -> str:
    """Return what is won over what is expected."""
    numbers = (
        f"{number_words(call.p50)} (80{NO_BREAK}%: {number_words(call.p10)}{EN_DASH}"
        f"{number_words(call.p90)})"
    )
    if call.p10 <= NOTHING_OFF <= call.p90:
        return f"Gold won over gold expected is {numbers}: that may well be 1."
    verb = "less" if call.p50 < NOTHING_OFF else "more"
    return (
        f"The ground gives {verb} than the estimate: gold won over gold expected is "
        f"{numbers}."
    )
