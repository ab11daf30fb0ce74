"""What must be known before acting on the answer `worth`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.answers.influence import MUCH_OF_MEAN, heavy_tail
from pennyweight.answers.minable import Minable
from pennyweight.answers.wording import list_words, percent_words
from pennyweight.worth.pit import Pit
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

NO_RESOURCE = "This is no resource or reserve statement under any code."
WALL_CAUTION = (
    "Volumes are reckoned with walls that slope 1.5 across for 1 down, as United "
    "States rules ask of gravel (29 CFR 1926 Subpart P, up to 20 ft deep). No wall is "
    "promised to stand: follow the rules of your place, and keep out of ground that "
    "runs or seeps."
)
PERMIT_CAUTION = (
    "Digging by machine needs permits almost everywhere: ask before moving anything. "
    "Ask too for what you must lay down as a bond until the ground is put back, and "
    "for the seasons in which water may be muddied."
)
WATER_CAUTION = (
    "Ponds and pumps are reckoned to an order of magnitude. What may leave a pond is "
    "for the authority of your place to say; a flood can take pond, heaps and pit."
)

#: Costs that are all nothing make any ground pay.
FREE_CAUTION = "All costs are 0: nothing is paid for by these numbers but gold."


@dataclass(frozen=True, slots=True, kw_only=True)
class Risks:
    """What cautions are told from; parts are None where there is no cut."""

    terms: Terms
    minable: Minable | None = None
    pit: Pit | None = None
    stones: Stones | None = None


def say_cautions(earlier: Sequence[str], risks: Risks) -> tuple[str, ...]:
    """Return the cautions of the streaks, and those of mining."""
    terms, minable, pit = risks.terms, risks.minable, risks.pit
    said = [*earlier, NO_RESOURCE]
    if pit is not None and not pit.is_empty:
        said += [WALL_CAUTION, PERMIT_CAUTION, WATER_CAUTION]
    if max(terms.washing, terms.stripping, terms.each_season) <= 0.0:
        said.append(FREE_CAUTION)
    if minable is not None:
        said += _of_ground(minable, pit, terms)
    if risks.stones is not None:
        said += _of_stones(risks.stones)
    if terms.not_understood:
        names = list_words(terms.not_understood)
        said.append(f"Not understood, and left out of the costs: {names}.")
    return tuple(said)


def _of_ground(minable: Minable, pit: Pit | None, terms: Terms) -> list[str]:
    said = []
    if not minable.has_boundary:
        said.append("No boundary is drawn: the cut may leave your claim.")
    if not minable.depth_known:
        said.append(
            "How deep the pay lies cannot be told: overburden is reckoned as nothing, "
            "and costs are too low."
        )
    if pit is None or pit.is_empty:
        return said
    opened = pit.opened_m2 > 0.0
    if (opened & minable.in_worked).any():
        said.append(
            "The cut takes in ground that was mined before, at a grade of its own: "
            "gold may be gone."
        )
    if (opened & minable.in_water).any():
        said.append("The cut takes in ground under water, as you allowed.")
    if not terms.limits.get("boundary_setback_m") and minable.has_boundary:
        said.append("No distance is kept from the boundary: many places ask for one.")
    seasons = float(pit.hours(terms).mean()) / terms.season_hours
    if seasons > 1.0:
        said.append(f"The cut takes {seasons:.1f} seasons of {terms.days:.0f} days.")
    return said


def _of_stones(stones: Stones) -> list[str]:
    if stones.told == 0:
        return ["No layer tells of its stones: boulders are reckoned as none."]
    if stones.unmoved_share > 0.0 and not stones.bar_the_plant:
        share = percent_words(stones.unmoved_share)
        said = (
            f"In {share} of the layers that tell of it lies a stone too big for this "
        )
        return [said + "plant to move."]
    return []


def say_heavy(gold_g: FloatArray) -> tuple[str, ...]:
    """Return the caution where the mean rests on a few draws."""
    share = heavy_tail(gold_g)
    if share <= MUCH_OF_MEAN:
        return ()
    said = (
        f"One draw in a hundred holds {percent_words(share)} of the expected gold of "
        "the cut: lean on the middle value, not on the mean."
    )
    return (said,)
