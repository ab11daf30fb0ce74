"""The plan map with the places of a bulk test, numbered like digs to open."""

from __future__ import annotations

from pennyweight.answers.bulktest import BulkAnswer
from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.nextdigs import Gain, NextAnswer, ProposedDig
from pennyweight.answers.wording import quantity_words
from pennyweight.answers.worth import WorthAnswer
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look


def draw_bulk_plan(
    ground: GroundAnswer,
    bulk: BulkAnswer,
    look: Look,
    *,
    grade: GradeAnswer | None = None,
    worth: WorthAnswer | None = None,
) -> str:
    """Return the plan map with the places to take a bulk test from.

    Parameters
    ----------
    ground : GroundAnswer
        Digs, lines, features, terrain.
    bulk : BulkAnswer
        The places.
    look : Look
        Units, inks, width.
    grade, worth : answers, optional
        What else to draw: grades, the cut.

    Returns
    -------
    str
        SVG text.
    """
    digs = tuple(
        ProposedDig(
            rank=one.number,
            easting_m=one.easting_m,
            northing_m=one.northing_m,
            line=None,
            kind="bulk",
            depth_m=one.bottom_m or 0.0,
            pans=0.0,
            hours=0.0,
            gain=Gain(money=None, chance_of_wrong_decision=None),
            why=f"{quantity_words(one.bank_m3, 'volume', look.measures)} of pay",
            s_m=one.s_m,
            n_m=one.n_m,
        )
        for one in bulk.places
    )
    shown = NextAnswer(
        book=bulk.book,
        made_at=bulk.made_at,
        version=bulk.version,
        seed=bulk.seed,
        digs=digs,
        hours=0.0,
    )
    return draw_plan(ground, look, grade=grade, worth=worth, nextdigs=shown)
