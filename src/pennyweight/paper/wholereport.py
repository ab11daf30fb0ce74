"""The whole report of one reading: every answer that the record allows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pennyweight.answers.grade import grade_ground
from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import TooLittleError
from pennyweight.paper.report import write_report
from pennyweight.pictures.svg import Look
from pennyweight.progress import within


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
        ("nextdigs", plan_digs, 0.85),
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
    write_report(path, ground=show_ground(reading), look=look, **found)
