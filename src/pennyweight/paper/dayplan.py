"""The day plan: one page with the digs proposed, where they lie, and a map."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from pennyweight.answers.digreasons import KIND_WORDS
from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer, PlacedDig
from pennyweight.answers.nextdigs import NextAnswer, ProposedDig
from pennyweight.answers.sentences import next_verdict, verdict_text
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.wording import number_words, quantity_words
from pennyweight.exchange.shortids import number_digs
from pennyweight.paper.cautions import TRUE_COORDINATES, WALLS, WATER
from pennyweight.paper.fieldpaper import find_paper, typeset, write_whole
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.units import Measures

#: Digs that fit on the page beside the map; nobody digs more in a day by hand.
MOST_DIGS = 8
#: Width at which the map is drawn for the page [px].
MAP_PX = 760


def write_dayplan(
    path: str | os.PathLike[str],
    ground: GroundAnswer,
    nextdigs: NextAnswer,
    *,
    look: Look,
    grade: GradeAnswer | None = None,
    trace: TraceAnswer | None = None,
    paper: str = "",
) -> Path:
    """Write the plan of a day as a PDF of one page.

    Parameters
    ----------
    path : path-like
        Where to write.
    ground : GroundAnswer
        The record laid out on the map.
    nextdigs : NextAnswer
        The digs proposed.
    look : Look
        Units of the reader; width and night are those of paper.
    grade, trace : answers, optional
        Drawn on the map.
    paper : {"", "letter", "a4"}, optional
        Size of the sheet; by default that of the reader's units.

    Raises
    ------
    ValueError
        There is no such paper, or it is too small for a map.
    """
    sheet = find_paper(paper or ("letter" if look.measures.length == "ft" else "a4"))
    if sheet.small:
        msg = f"paper {sheet.name!r} is too small for a map; use letter or a4."
        raise ValueError(msg)
    drawn = replace(look, width_px=MAP_PX, night=False, paper=True)
    shown = replace(nextdigs, digs=nextdigs.digs[:MOST_DIGS])
    svg = draw_plan(ground, drawn, grade=grade, trace=trace, nextdigs=shown)
    name = ground.name or ground.book.name
    data = {
        "title": f"Day plan, {name}",
        "ground": name,
        "made": f"worked out {ground.made_at[:10]}",
        "flag": TRUE_COORDINATES,
        "imprint": f"pennyweight {ground.version} · {ground.crs or 'no coordinates'}",
        "verdict": verdict_text(next_verdict(nextdigs, look.measures)),
        "heads": _HEADS,
        "digs": _rows(ground, nextdigs, look.measures)[:MOST_DIGS],
        "left_out": max(len(nextdigs.digs) - MOST_DIGS, 0),
        "map": svg,
        "cautions": [WALLS, WATER, *nextdigs.cautions],
    }
    return write_whole(
        typeset("dayplan.typ", data, paper=sheet, made_at=ground.made_at), path
    )


_HEADS = ["", "name", "where", "easting, northing", "to", "pans", "hours", "why"]


def _rows(
    ground: GroundAnswer, nextdigs: NextAnswer, measures: Measures
) -> list[list[str]]:
    places = [(dig.easting_m, dig.northing_m) for dig in nextdigs.digs]
    names = number_digs(nextdigs.book.id, places)
    return [
        [
            str(dig.rank),
            f"{name}\n{_where(dig)}",
            tell_way(ground.digs, dig, measures),
            f"{dig.easting_m:.1f}\n{dig.northing_m:.1f}",
            quantity_words(dig.depth_m, "length", measures),
            number_words(dig.pans),
            number_words(dig.hours),
            dig.say(measures),
        ]
        for name, dig in zip(names, nextdigs.digs, strict=True)
    ]


def _where(dig: ProposedDig) -> str:
    """Return where a dig lies in plain words, with its line."""
    words = KIND_WORDS.get(dig.kind, dig.kind)
    return f"{words}, line {dig.line}" if dig.line else words


def tell_way(digs: Sequence[PlacedDig], wanted: ProposedDig, measures: Measures) -> str:
    """Return how to find a place from the nearest dig, by tape and compass.

    Parameters
    ----------
    digs : sequence of PlacedDig
        Those on the ground already.
    wanted : ProposedDig
        The place.
    measures : Measures
        Units of the reader.
    """
    steps = [
        (wanted.easting_m - dig.easting_m, wanted.northing_m - dig.northing_m, dig.dig)
        for dig in digs
        if dig.easting_m is not None and dig.northing_m is not None
    ]
    if not steps:
        return "by position alone"
    east_m, north_m, peg = min(steps, key=lambda step: math.hypot(*step[:2]))
    bearing_deg = math.degrees(math.atan2(east_m, north_m)) % 360.0
    length = quantity_words(math.hypot(east_m, north_m), "length", measures)
    return f"{length} from {peg}, grid bearing {round(bearing_deg) % 360:03d}°"
