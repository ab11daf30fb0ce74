"""What clean-ups do to ground and plant before worth is reckoned: always said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pennyweight.answers.cuts import mined_area, share_inside
from pennyweight.answers.frame import frame_ground
from pennyweight.answers.minable import Minable
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import Carried, carry_evidence
from pennyweight.answers.wording import (
    EN_DASH,
    NO_BREAK,
    count_words,
    number_words,
    percent_words,
)
from pennyweight.worth.terms import Terms

#: A column is mined out where this much of it was cleaned up [-]; ours.
MINED_SHARE = 0.5


def carry_terms(reading: Reading, terms: Terms) -> Terms:
    """Return terms with the recovery that clean-ups speak for, and named as theirs.

    Parameters
    ----------
    reading : Reading
        The book.
    terms : Terms
        By the record alone.

    Returns
    -------
    Terms
        The same where no clean-up tells anything, or they are switched off.
    """
    carried = carry_evidence(reading)
    if carried is None:
        return terms
    told = {
        key: value
        for key, value in terms.assumptions.items()
        if key != "plant_recovery_share"
    }
    told["carried_cleanups"] = round(carried.factor.p50, 2)
    return replace(terms, recovery=carried.recovery.mean, assumptions=told)


def carry_minable(reading: Reading, minable: Minable | None) -> Minable | None:
    """Return ground with the gold that clean-ups speak for, mined cuts barred.

    Parameters
    ----------
    reading : Reading
        The book.
    minable : Minable or None
        By the samples alone.

    Returns
    -------
    Minable or None
        The same where no clean-up is recorded.
    """
    if minable is None or not reading.log.cleanups:
        return minable
    carried, area = carry_evidence(reading), mined_area(reading)
    blocks = minable.blocks
    if carried is not None:
        factor = carried.ground_factor[:, None, None, None]
        blocks = replace(blocks, gold_mg=blocks.gold_mg * factor)
    if area is not None:
        middles = (_middles(blocks.s_edges_m), _middles(blocks.n_edges_m))
        mined = share_inside(area, frame_ground(reading), middles) > MINED_SHARE
        blocks = replace(blocks, allowed=blocks.allowed & ~mined)
    return replace(minable, blocks=blocks)


def _middles(edges_m: np.typing.NDArray[np.float64]) -> np.typing.NDArray[np.float64]:
    return np.asarray((edges_m[1:] + edges_m[:-1]) / 2.0)


def say_carried(reading: Reading) -> tuple[str, ...]:
    """Return the caution that an estimate rests on clean-ups too.

    Parameters
    ----------
    reading : Reading
        The book.

    Returns
    -------
    tuple of str
        One sentence or none.
    """
    carried = carry_evidence(reading)
    return () if carried is None else (_say(carried),)


def _say(carried: Carried) -> str:
    factor = carried.factor
    return (
        f"{count_words(carried.cuts, 'clean-up')} carried: the gold in the ground is "
        f"told {number_words(factor.p50)} times (80{NO_BREAK}%: "
        f"{number_words(factor.p10)}{EN_DASH}{number_words(factor.p90)}) what the "
        f"samples say, and the plant keeps {percent_words(carried.recovery.mean)}. "
        "Switch it off beside the clean-ups."
    )
