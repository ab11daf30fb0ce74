"""All paper of a field day from one reading: plan, sheets, labels, card."""

from __future__ import annotations

from pathlib import Path

from pennyweight.answers.ground import show_ground
from pennyweight.answers.nextdigs import NextAnswer, plan_digs
from pennyweight.answers.reading import Reading
from pennyweight.errors import TooLittleError
from pennyweight.exchange.countedclasses import find_classes
from pennyweight.exchange.shortids import (
    MOST_BAGS,
    find_batch,
    next_number,
    number_digs,
)
from pennyweight.paper.dayplan import write_dayplan
from pennyweight.paper.fieldsheets import write_fieldsheets
from pennyweight.paper.labels import write_labels
from pennyweight.paper.safetycard import write_safetycard
from pennyweight.pictures.svg import Look


def write_fieldkit(
    reading: Reading, folder: Path, look: Look, *, paper: str = ""
) -> tuple[Path, ...]:
    """Write the paper of a field day into a folder, and return the files.

    The day plan is left out where the record is too thin to plan from; labels go on
    after the highest number that the record holds, and are left out when the
    book's numbers are used up.

    Parameters
    ----------
    reading : Reading
        One look at a book.
    folder : Path
        Where to write; it is there.
    look : Look
        Units of the reader.
    paper : {"", "letter", "a4", "notebook"}, optional
        Size of the sheets; by default that of the reader's units. Only the field
        sheets come in the size of a notebook; the rest goes by the units then.
    """
    feet = look.measures.length == "ft"
    size = paper if paper in ("letter", "a4") else ("letter" if feet else "a4")
    ground = show_ground(reading)
    name = ground.name or reading.book.name
    nextdigs = _plan(reading)
    written = [
        write_fieldsheets(
            folder / "field-sheets.pdf",
            ground_name=name,
            made_at=reading.made_at,
            paper=paper or size,
            measures=look.measures,
            classes=find_classes(reading.log),
            digs=_names(nextdigs) or ("",),
        ),
        write_safetycard(
            folder / "before-you-dig.pdf",
            ground_name=name,
            made_at=reading.made_at,
            paper=size,
        ),
    ]
    if nextdigs is not None:
        plan = folder / "day-plan.pdf"
        written.append(write_dayplan(plan, ground, nextdigs, look=look, paper=size))
    return (*written, *_labels(reading, folder, size))


def _plan(reading: Reading) -> NextAnswer | None:
    try:
        return plan_digs(reading)
    except TooLittleError:
        return None


def _names(nextdigs: NextAnswer | None) -> tuple[str, ...]:
    if nextdigs is None:
        return ()
    places = [(dig.easting_m, dig.northing_m) for dig in nextdigs.digs]
    return number_digs(nextdigs.book.id, places)


def _labels(reading: Reading, folder: Path, size: str) -> tuple[Path, ...]:
    """Write a sheet of labels, as long as the book has numbers left."""
    names = [sample.sample for sample in reading.log.samples]
    first = next_number(find_batch(reading.book.id), names)
    grid = "a4-24" if size == "a4" else "letter-30"
    path = folder / "bag-labels.pdf"
    # A few numbers of every hundred are left out for their check characters.
    if first > MOST_BAGS - 60:
        return ()
    write_labels(path, reading.book.id, made_at=reading.made_at, grid=grid, first=first)
    return (path,)
