"""The ground of a reading with its best cut, on which all of `worth` rests."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from pennyweight.answers.frame import Frame, frame_ground
from pennyweight.answers.grade import read_graded
from pennyweight.answers.influence import Without, draw_nuggets, nugget_words
from pennyweight.answers.minable import Minable
from pennyweight.answers.mineground import (
    WallPlan,
    Water,
    draw_kept,
    find_water,
    kept_factor,
    plan_walls,
    stones_of,
)
from pennyweight.answers.oneday import OneMoreDay, weigh_one_day
from pennyweight.answers.reading import Reading
from pennyweight.worth.cut import Cuts, find_cuts
from pennyweight.worth.pit import Pit
from pennyweight.worth.risk import chance_of_loss
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Mine:
    """What all parts of one answer rest on."""

    reading: Reading
    terms: Terms
    minable: Minable
    frame: Frame
    walls: WallPlan
    cuts: Cuts
    stones: Stones
    water: Water
    size_draws: FloatArray

    @property
    def kept(self) -> FloatArray | float:
        """What the plant keeps in each draw over what it keeps on average [-]."""
        return kept_factor(self.terms, self.size_draws)


def open_mine(reading: Reading, terms: Terms, minable: Minable) -> Mine:
    """Return the ground with its best cut."""
    log, blocks = reading.log, minable.blocks
    walls = plan_walls(reading, minable, terms)
    cuts = find_cuts(blocks, terms, slice_m=walls.slice_m, slopes_deg=walls.slopes_deg)
    return Mine(
        reading=reading,
        terms=terms,
        minable=minable,
        frame=frame_ground(reading),
        walls=walls,
        cuts=cuts,
        stones=stones_of(reading, terms),
        water=find_water(log.digs, log.layers),
        size_draws=draw_kept(reading, terms, len(blocks.gold_mg)),
    )


def weigh_day(mine: Mine) -> OneMoreDay | None:
    """Return what one more day of digs is worth; None where no cut was ever tried."""
    best = mine.cuts.best.mined.sum(axis=0)
    tried = [*mine.cuts.tried, *([best] if best.any() else [])]
    if not tried:
        return None
    return weigh_one_day(
        mine.reading,
        mine.terms,
        blocks=mine.minable.blocks,
        walls=mine.walls,
        tried=tried,
        kept_factor=mine.kept,
    )


def add_nuggets(reading: Reading, pit: Pit) -> Pit:
    """Return the pit with what nuggets add to its pay; they never choose the pit."""
    nuggets_mg_m3 = draw_nuggets(reading, len(pit.gold_mg))
    if nuggets_mg_m3 is None:
        return pit
    more = nuggets_mg_m3[:, None, None] * pit.pay_m3
    return replace(pit, gold_mg=pit.gold_mg + more)


def leave_out_nuggets(
    reading: Reading, terms: Terms, pits: tuple[Pit, Pit]
) -> tuple[Without, ...]:
    """Return what the cut brings without the nuggets' gold."""
    gold = read_graded(reading).nuggets
    if gold is None:
        return ()
    ordinary, whole = pits
    margin = ordinary.revenue(terms) - ordinary.cost(terms)
    share = 1.0 - float(ordinary.gold_mg.sum() / whole.gold_mg.sum())
    return (
        Without(
            sample=gold.nuggets[0].sample,
            what=nugget_words(gold),
            gold_share=share,
            gold_of="the gold in the cut",
            margin_mean=float(margin.mean()),
            chance_of_loss=chance_of_loss(margin),
            currency=terms.currency,
            many=gold.number > 1,
        ),
    )
