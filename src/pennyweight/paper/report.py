"""The report: all answers of one reading on paper, true coordinates included."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from pennyweight.answers.answer import Answer
from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.nextdigs import NextAnswer
from pennyweight.answers.qualitywords import quality_verdict
from pennyweight.answers.sentences import (
    NO_RESOURCE,
    grade_verdict,
    ground_verdict,
    next_verdict,
    total_sentences,
    trace_verdict,
    verdict_text,
    worth_verdict,
)
from pennyweight.answers.trace import TraceAnswer
from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthtables import worth_tables
from pennyweight.paper.blocks import (
    Block,
    Section,
    caution,
    heading,
    paragraph,
    picture,
    room_below,
    verdict,
)
from pennyweight.paper.cautions import CAUTIONS, TRUE_COORDINATES, WALLS
from pennyweight.paper.reporttables import (
    assumption_table,
    dig_table,
    money_table,
    next_table,
    sample_table,
    season_table,
    streak_table,
    worth_table,
)
from pennyweight.paper.trust import trust_blocks
from pennyweight.pictures.cashcurve import draw_cash_curve
from pennyweight.pictures.charts import draw_gold_chart, draw_margin_chart
from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.fence import draw_fence
from pennyweight.pictures.gradecharts import draw_cumulative_chart, draw_grades_chart
from pennyweight.pictures.longsection import draw_long_section
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.pricemap import draw_price_map
from pennyweight.pictures.svg import Look
from pennyweight.pictures.swings import draw_swings
from pennyweight.pictures.valleystrip import draw_valley_strip
from pennyweight.pictures.wall import digs_on_line, draw_wall

#: Height of the first page under its title, by paper [mm].
FIRST_PAGE_MM = {"a4": 233.0, "us-letter": 214.0}

#: Height of pictures of which several share a page, with their headings [mm].
SMALL_MM = 86.0

#: Width of the small charts [px].
CHART_PX = 600

#: Width at which pictures are drawn for a page 174 mm wide [px].
PAPER_PX = 760


def write_report(
    path: str | os.PathLike[str],
    *,
    ground: GroundAnswer,
    grade: GradeAnswer | None = None,
    trace: TraceAnswer | None = None,
    worth: WorthAnswer | None = None,
    nextdigs: NextAnswer | None = None,
    look: Look,
) -> None:
    """Write the report as a PDF.

    The same answers give the same bytes: the time in the file is that of the
    reading. The file appears whole or not at all.

    Parameters
    ----------
    path : path-like
        Where to write.
    ground : GroundAnswer
        The record laid out.
    grade, trace, worth, nextdigs : answers, optional
        What could be answered; None leaves a section out.
    look : Look
        Units of the reader; width and night are those of paper.
    """
    paper = paper_look(look)
    sections = compose_sections(
        ground, grade, trace, worth=worth, nextdigs=nextdigs, look=paper
    )
    write_sections(path, ground, sections, look=paper)


def paper_look(look: Look) -> Look:
    """Return how a reader's pictures look on paper."""
    return replace(look, width_px=PAPER_PX, night=False, paper=True)


def write_sections(
    path: str | os.PathLike[str],
    ground: GroundAnswer,
    sections: Sequence[Section],
    *,
    look: Look,
) -> None:
    """Write sections as a PDF, whole or not at all.

    Parameters
    ----------
    path : path-like
        Where to write.
    ground : GroundAnswer
        The record laid out, for the first page.
    sections : sequence of Section
        In their order.
    look : Look
        Of paper.
    """
    content = _typeset(_front_matter(ground, look), list(sections), ground.made_at)
    target = Path(path)
    partial = target.with_name(f".{target.name}.part")
    try:
        partial.write_bytes(content)
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)


def compose_sections(
    ground: GroundAnswer,
    grade: GradeAnswer | None,
    trace: TraceAnswer | None,
    *,
    worth: WorthAnswer | None,
    nextdigs: NextAnswer | None,
    look: Look,
) -> list[Section]:
    """Return the sections in the order in which a prospector asks."""
    opening = _opening(ground, trace, worth, nextdigs, look)
    drawn = draw_plan(ground, look, grade=grade, trace=trace)
    room_mm = room_below(opening, FIRST_PAGE_MM[_paper(look)])
    plan = picture(drawn, f"Plan map of {ground.name}", most_mm=room_mm)
    sections = [Section(heading="", blocks=(*opening, plan))]
    if trace is not None:
        sections.append(_where_it_runs(ground, grade, trace, look))
    if grade is not None:
        sections.append(_what_pans_say(ground, grade, trace, look))
    if worth is not None:
        sections.append(_is_it_worth_it(ground, grade, worth, look))
    if nextdigs is not None:
        sections.append(_what_next(ground, grade, nextdigs, look))
    answers = (ground, grade, trace, worth, nextdigs)
    sections.append(_what_it_rests_on(answers, _left_out(grade, trace, worth)))
    if grade is not None:
        sections.append(_tables(ground, grade, look))
    return sections


def _opening(
    ground: GroundAnswer,
    trace: TraceAnswer | None,
    worth: WorthAnswer | None,
    nextdigs: NextAnswer | None,
    look: Look,
) -> list[Block]:
    """Return what the first page says before its map: where, whether, what next."""
    measures = look.measures
    if trace is None:
        return [verdict(verdict_text(ground_verdict(ground, measures)), 12.5)]
    blocks = [verdict(verdict_text(trace_verdict(trace, measures)), 12.5)]
    decision = [worth.verdict] if worth is not None else []
    if nextdigs is not None:
        decision += [one.text for one in next_verdict(nextdigs, measures)[:1]]
    if decision:
        blocks.append(verdict(" ".join(decision), 10.5))
    blocks.append(paragraph(verdict_text(total_sentences(trace, measures))))
    return blocks


def _where_it_runs(
    ground: GroundAnswer, grade: GradeAnswer | None, trace: TraceAnswer, look: Look
) -> Section:
    blocks: list[Block] = []
    if trace.streaks:
        blocks.append(streak_table(trace, look.measures))
    blocks += [caution(words) for words in trace.cautions]
    strip = draw_valley_strip(ground, trace, look=look, grade=grade)
    section = draw_long_section(ground, look=look, trace=trace)
    blocks += [
        heading("The straightened valley"),
        picture(strip, "The straightened valley with the probability of pay"),
        heading("Along the valley"),
        picture(section, "Surface, bedrock and pay along the valley"),
    ]
    blocks += [
        heading("Gold of the sampled stretch"),
        picture(
            draw_gold_chart(trace, replace(look, width_px=CHART_PX)),
            "How much gold there may be",
            share=CHART_PX / PAPER_PX,
        ),
        paragraph(verdict_text(total_sentences(trace, look.measures))),
    ]
    if grade is not None:
        fence = draw_fence(ground, grade, look=look, trace=trace)
        blocks += [
            heading("Wall behind wall"),
            picture(fence, "All walls, downstream", most_mm=120.0),
        ]
    # The first page stays a summary of its own; the rest flows.
    return Section(heading="Where does it run?", blocks=tuple(blocks), new_page=True)


def _what_pans_say(
    ground: GroundAnswer, grade: GradeAnswer, trace: TraceAnswer | None, look: Look
) -> Section:
    blocks = [
        verdict(verdict_text(grade_verdict(grade, look.measures))),
        paragraph(verdict_text(ground_verdict(ground, look.measures))),
        paragraph(quality_verdict(grade)),
    ]
    blocks += [caution(words) for words in grade.cautions]
    for line in ground.lines:
        if len(digs_on_line(ground, line.line)) > 1:
            drawn = draw_wall(ground, grade, line.line, look=look, trace=trace)
            blocks.append(heading(f"Line {line.line}"))
            blocks.append(picture(drawn, f"Wall of line {line.line}", most_mm=SMALL_MM))
    blocks += _single_digs(ground, grade, look)
    cutoff = trace.cutoff_mg_m3 if trace is not None else None
    small = replace(look, width_px=CHART_PX)
    chart = draw_grades_chart(grade, small, cutoff_mg_m3=cutoff)
    share = CHART_PX / PAPER_PX
    blocks += [
        heading("Where the gold adds up"),
        picture(
            draw_cumulative_chart(grade, small), "How the gold adds up", share=share
        ),
        heading("Every dig, the richest first"),
        picture(chart, "Grade of each dig with its 80 %", share=share),
    ]
    return Section(heading="What does each pan say?", blocks=tuple(blocks))


def _single_digs(ground: GroundAnswer, grade: GradeAnswer, look: Look) -> list[Block]:
    """Return the walls of digs beside the lines, where layers were written down."""
    on_lines = {
        dig
        for line in ground.lines
        if len(digs_on_line(ground, line.line)) > 1
        for dig in line.digs
    }
    described = {layer.dig for layer in ground.layers}
    small = replace(look, width_px=CHART_PX)
    alone = [one.dig for one in ground.digs if one.dig not in on_lines]
    blocks: list[Block] = []
    for dig in alone:
        if dig in described:
            drawn = draw_dig_wall(ground, grade, dig, look=small)
            blocks.append(heading(f"Dig {dig}"))
            share = CHART_PX / PAPER_PX
            blocks.append(picture(drawn, f"Wall of dig {dig}", share=share))
    return blocks


def _is_it_worth_it(
    ground: GroundAnswer, grade: GradeAnswer | None, worth: WorthAnswer, look: Look
) -> Section:
    """Return the decision with its reasons on one page, and what it rests on after."""
    blocks = [verdict(verdict_text(worth_verdict(worth, look.measures)), 12.5)]
    blocks.append(paragraph(" ".join([*worth.reasons, NO_RESOURCE])))
    blocks.append(
        picture(draw_margin_chart(worth, look), "What may be left after costs")
    )
    blocks.append(money_table(worth, look.measures))
    blocks += [caution(words) for words in worth.cautions if words != NO_RESOURCE]
    if worth.cut is not None:
        drawn = draw_plan(ground, look, grade=grade, worth=worth)
        blocks += [
            heading("The cut"),
            picture(drawn, "Plan of the cut", share=0.62, most_mm=SMALL_MM),
        ]
    season = season_table(worth, look.measures)
    if season is not None:
        blocks += [heading("The season, block by block"), season]
    blocks += _worth_in_full(worth, look)
    return Section(heading="Is it worth it?", blocks=tuple(blocks))


def _worth_in_full(worth: WorthAnswer, look: Look) -> list[Block]:
    """Return the tables beside the sums, with the pictures that go with them."""
    drawers = {
        "swings": draw_swings,
        "prices": draw_price_map,
        "cash": draw_cash_curve,
    }
    blocks: list[Block] = []
    for one in worth_tables(worth, look.measures):
        blocks.append(heading(one.title))
        if one.key in drawers:
            drawn = drawers[one.key](worth, look)
            blocks.append(picture(drawn, one.title, most_mm=SMALL_MM))
        blocks.append(worth_table(one))
        if one.note:
            blocks.append(paragraph(one.note))
    return blocks


def _what_next(
    ground: GroundAnswer, grade: GradeAnswer | None, nextdigs: NextAnswer, look: Look
) -> Section:
    blocks = [verdict(verdict_text(next_verdict(nextdigs, look.measures)))]
    if nextdigs.digs:
        blocks.append(next_table(nextdigs, look.measures))
        drawn = draw_plan(ground, look, grade=grade, nextdigs=nextdigs)
        blocks.append(picture(drawn, "Plan of the digs proposed", most_mm=120.0))
    blocks.append(caution(WALLS))
    blocks += [caution(words) for words in nextdigs.cautions]
    return Section(heading="What next?", blocks=tuple(blocks))


def _left_out(
    grade: GradeAnswer | None, trace: TraceAnswer | None, worth: WorthAnswer | None
) -> list[str]:
    """Return which questions could not be answered, and what they wait for."""
    said = []
    if grade is None:
        said.append("What each pan says waits for a washed sample with a volume.")
    if trace is None:
        said.append("Where it runs waits for graded digs with a place.")
    if worth is None:
        said.append("Whether it is worth it waits for grades, a price and costs.")
    return said


def _what_it_rests_on(
    answers: Iterable[Answer | None], left_out: Sequence[str]
) -> Section:
    known = list(answers)
    blocks: list[Block] = []
    if left_out:
        blocks.append(heading("What cannot be told yet"))
        blocks += [paragraph(words) for words in left_out]
    assumed = assumption_table(known)
    if assumed is not None:
        blocks += [heading("Assumed, because the record does not say"), assumed]
    ground = next(one for one in known if isinstance(one, GroundAnswer))
    if ground.unwashed:
        blocks.append(heading("Not washed yet: unknown, not zero"))
        blocks.append(paragraph(", ".join(ground.unwashed)))
    if ground.findings:
        blocks.append(heading("What looks odd in the record"))
        blocks += [paragraph(one.line()) for one in ground.findings]
    blocks.append(heading("Cautions"))
    blocks += [caution(words) for words in CAUTIONS]
    return Section(heading="What it rests on", blocks=tuple(blocks))


def _tables(ground: GroundAnswer, grade: GradeAnswer, look: Look) -> Section:
    return Section(
        heading="The digs and samples",
        blocks=(
            dig_table(ground, grade, look.measures),
            heading("Samples"),
            sample_table(grade, look.measures),
            *trust_blocks(grade, look.measures),
        ),
    )


def _front_matter(ground: GroundAnswer, look: Look) -> dict[str, Any]:
    """Return title, running lines and inks for the template."""
    inks = look.palette
    name = ground.name or ground.book.name
    day = ground.made_at[:10]
    return {
        "title": name,
        "subtitle": f"Report of {day} from the book {ground.book.name}",
        "running": f"{name} · {day}",
        "imprint": f"pennyweight {ground.version} · seed {ground.seed} · "
        f"{ground.crs or 'no coordinate system'}",
        "flag": TRUE_COORDINATES,
        "paper": _paper(look),
        "inks": {
            "ink": inks.ink,
            "soft_ink": inks.soft_ink,
            "faint_ink": inks.faint_ink,
            "danger": inks.danger,
            "raised": inks.raised,
        },
    }


def _paper(look: Look) -> str:
    """Return the paper that is at hand where those units are read."""
    return "us-letter" if look.measures.length == "ft" else "a4"


def _typeset(front: dict[str, Any], sections: list[Section], made_at: str) -> bytes:
    """Return the PDF of the sections."""
    import typst  # noqa: PLC0415 - brings a large library

    room = files("pennyweight.paper")
    data = front | {"sections": [section.as_json() for section in sections]}
    template = (room / "templates" / "report.typ").read_bytes()
    with as_file(room / "fonts") as fonts:
        # One type variable of its stubs stands for both the template and the paths.
        typeset: Any = typst.compile
        content = typeset(
            template,
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            timestamp=_timestamp(made_at),
        )
    return _as_pdf(content)


def _as_pdf(content: Any) -> bytes:
    if not isinstance(content, bytes):
        msg = f"the typesetter gave {type(content).__name__}; one PDF was expected."
        raise TypeError(msg)
    return content


def _timestamp(made_at: str) -> datetime:
    """Return the moment of the reading, in whole seconds of UTC."""
    moment = datetime.fromisoformat(re.sub(r"Z$", "+00:00", made_at))
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.astimezone(UTC).replace(microsecond=0)
