"""The whole report of one reading: every answer that the record allows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pennyweight.answers.bulktest import BulkAnswer, plan_bulk
from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.handwork import HoursAnswer, weigh_handwork
from pennyweight.answers.highwater import read_floods
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import ReconcileAnswer, reconcile
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.upstreamask import ask_upstream
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.paper.blocks import Section
from pennyweight.paper.highwaterpages import highwater_section
from pennyweight.paper.report import compose_sections, paper_look, write_sections
from pennyweight.paper.reportupstream import where_it_comes_from
from pennyweight.paper.surersection import surer_section
from pennyweight.pictures.svg import Look
from pennyweight.progress import within

#: Heading of the section that the bulk test stands behind.
WORTH = "Is it worth it?"
#: And of the one before the search for the source.
RUN = "Where does it run?"


def write_whole_report(reading: Reading, path: Path, look: Look) -> None:
    """Write the report with what can be told; what cannot is left out and said so.

    Parameters
    ----------
    reading : Reading
        One look at a book.
    path : Path
        Of the PDF.
    look : Look
        Units of the reader.
    """
    whole = reading.progress
    found: dict[str, Any] = {}
    questions = (
        ("grade", grade_ground, 0.1),
        ("trace", trace_streaks, 0.7),
        ("nextdigs", plan_digs, 0.8),
        ("floods", read_floods, 0.88),
        ("worth", weigh_worth, 0.95),
    )
    first = 0.0
    try:
        for name, ask, last in questions:
            reading.progress = within(whole, first, last)
            try:
                found[name] = ask(reading)
            except TooLittleError as missing:
                whole(last, f"leaving out: {missing}")
            first = last
    finally:
        reading.progress = whole
    whole(0.97, "setting the pages")
    ground, paper = show_ground(reading), paper_look(look)
    sections = compose_sections(
        ground,
        found.get("grade"),
        found.get("trace"),
        worth=found.get("worth"),
        nextdigs=found.get("nextdigs"),
        look=paper,
    )
    surer = surer_section(*_be_surer(reading, found), look=paper)
    if surer is not None:
        sections.insert(_behind(sections, WORTH), surer)
    floods = found.get("floods")
    if floods is not None and (floods.drops or floods.clasts):
        section = highwater_section(ground, floods, paper)
        sections.insert(_before_worth(sections), section)
    source = _find_source(reading, look=paper)
    if source is not None:
        sections.insert(_behind(sections, RUN), source)
    write_sections(path, ground, sections, look=paper)


def _find_source(reading: Reading, look: Look) -> Section | None:
    """Return where the gold comes from; None where nothing was washed on water."""
    try:
        return where_it_comes_from(ask_upstream(reading), look)
    except TooLittleError:
        return None


def _be_surer(
    reading: Reading, found: Mapping[str, Any]
) -> tuple[BulkAnswer | None, ReconcileAnswer | None, HoursAnswer | None]:
    """Return the bulk test where a cut is proposed, and what clean-ups teach."""
    bulk = cleanups = None
    worth = found.get("worth")
    if "trace" in found and worth is not None and worth.cut is not None:
        try:
            bulk = plan_bulk(reading)
        except TooLittleError:
            bulk = None
    if "trace" in found and reading.log.cleanups:
        cleanups = reconcile(reading)
    return bulk, cleanups, weigh_handwork(reading)


def _before_worth(sections: Sequence[Section]) -> int:
    """Return where the floods stand: before worth, else behind the first page."""
    names = [one.heading for one in sections]
    return names.index(WORTH) if WORTH in names else 1


def _behind(sections: Sequence[Section], heading: str) -> int:
    """Return the place behind a section, else behind the first page."""
    names = [one.heading for one in sections]
    return names.index(heading) + 1 if heading in names else 1
