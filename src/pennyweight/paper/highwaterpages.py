"""What the floods did, on paper: map, long profile, drops with what to look for."""

from __future__ import annotations

from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.highwater import HighwaterAnswer
from pennyweight.answers.highwatersaid import (
    KIND_NAMES,
    discharge_words,
    highwater_verdict,
    say_look,
    say_why,
)
from pennyweight.answers.spoken import verdict_text
from pennyweight.answers.wording import number_words, unit_name
from pennyweight.paper.blocks import (
    Block,
    Section,
    TableColumn,
    caution,
    heading,
    picture,
    table,
    verdict,
)
from pennyweight.paper.reporttables import shown_interval
from pennyweight.pictures.creekprofile import draw_creek_profile
from pennyweight.pictures.floodplan import draw_flood_plan, shown_flood
from pennyweight.pictures.svg import Look
from pennyweight.units import Measures

#: Drops on paper.
MOST_DROPS = 12


def highwater_section(
    ground: GroundAnswer, answer: HighwaterAnswer, look: Look
) -> Section:
    """Return the section of the report that tells of the floods."""
    measures = look.measures
    blocks: list[Block] = [
        verdict(verdict_text(highwater_verdict(answer, measures)), 12.5)
    ]
    blocks += [caution(words) for words in answer.cautions]
    shown = ""
    if answer.floods:
        flood = answer.floods[shown_flood(answer)]
        shown = f", water at {discharge_words(flood.discharge_m3_s, measures)}"
    plan = draw_flood_plan(ground, answer, look)
    profile = draw_creek_profile(answer, look)
    blocks += [
        heading(f"Drops on the map{shown}"),
        picture(plan, f"Floods over {ground.name}", most_mm=120.0),
        heading("Along the creek"),
        picture(profile, "Long profile of the creek"),
    ]
    if answer.drops:
        blocks += [heading("Where gravel would stop"), _drops(answer, measures)]
    if answer.clasts:
        blocks += [heading("The stones that water moved"), _stones(answer, measures)]
    return Section(
        heading="What did the floods do?", blocks=tuple(blocks), new_page=True
    )


def _drops(answer: HighwaterAnswer, measures: Measures) -> Block:
    columns = [
        TableColumn(head="", right=True),
        TableColumn(head="easting, m", right=True),
        TableColumn(head="northing, m", right=True),
        TableColumn(head="kind"),
        TableColumn(head="score", right=True),
        TableColumn(head="why, and what to look for", width="1fr"),
    ]
    rows = [
        [
            str(number),
            f"{one.easting_m:.1f}",
            f"{one.northing_m:.1f}",
            KIND_NAMES[one.kind],
            number_words(one.score),
            f"{say_why(one.drop, measures)} {say_look(one.drop)}",
        ]
        for number, one in enumerate(answer.drops[:MOST_DROPS], 1)
    ]
    return table(columns, rows)


def _stones(answer: HighwaterAnswer, measures: Measures) -> Block:
    length = unit_name(measures.length)
    columns = [
        TableColumn(head="where", width="1fr"),
        TableColumn(head="stones", right=True),
        TableColumn(head="middle axis, mm", right=True),
        TableColumn(head=f"depth, {length} (80 %)", right=True),
        TableColumn(head=f"speed, {length}/s (80 %)", right=True),
    ]
    rows = [
        [
            one.place,
            str(one.n_stones),
            number_words(one.size_mm),
            shown_interval(one.depth_m, "length", measures),
            shown_interval(one.velocity_m_s, "length", measures),
        ]
        for one in answer.clasts
    ]
    return table(columns, rows)
