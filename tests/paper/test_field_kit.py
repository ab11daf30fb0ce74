"""All paper of a field day from one reading of a book."""

import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.errors import TooLittleError
from pennyweight.exchange.countedclasses import CLASSES, find_classes
from pennyweight.exchange.shortids import find_batch, number_bags
from pennyweight.paper import fieldkit
from pennyweight.paper.fieldkit import write_fieldkit
from pennyweight.pictures.svg import Look
from pennyweight.records import Dig, Ground, Log, Sample, Tally
from pennyweight.units import FEET_AND_YARDS
from tests.pictures import made_answers

BOOK = BookName(name="Creek", id="book-1")
BAGS = list(number_bags(find_batch("book-1")))


def reading(*samples: str) -> Reading:
    """Return one look at a small invented record."""
    log = Log(
        ground=Ground(name="Invented Creek", crs="EPSG:32610"),
        digs=(Dig(dig="T1", easting_m=510_280.0, northing_m=5_400_380.0),),
        samples=tuple(Sample(sample=name, dig="T1", taken="grab") for name in samples),
    )
    return Reading(book=BOOK, revision="1", log=log, made_at="2026-07-14T18:30:00Z")


def words(path: Path) -> str:
    """Return all words of a file, spaces made even."""
    pages = [page.extract_text() for page in PdfReader(path).pages]
    return re.sub(r"\s+", " ", " ".join(pages))


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put a plan that is known in place of the costly one."""
    monkeypatch.setattr(fieldkit, "plan_digs", lambda _: made_answers.nextdigs())


@pytest.mark.usefixtures("planned")
def test_the_kit_holds_plan_sheets_labels_and_card(tmp_path: Path) -> None:
    look = Look(measures=FEET_AND_YARDS)
    files = write_fieldkit(reading(), tmp_path, look)
    assert sorted(file.name for file in files) == [
        "bag-labels.pdf",
        "before-you-dig.pdf",
        "day-plan.pdf",
        "field-sheets.pdf",
    ]
    sheets, plan = (
        words(tmp_path / "field-sheets.pdf"),
        words(tmp_path / "day-plan.pdf"),
    )
    (name,) = set(re.findall(r"D\w\w-001-\w", plan))
    assert name in sheets
    assert BAGS[0] in words(tmp_path / "bag-labels.pdf")


def test_labels_go_on_after_the_highest_bag_of_the_record(tmp_path: Path) -> None:
    write_fieldkit(reading(BAGS[4], "A7"), tmp_path, Look())
    labels = words(tmp_path / "bag-labels.pdf")
    assert BAGS[5] in labels
    assert BAGS[4] not in labels


def test_a_record_too_thin_to_plan_from_still_gives_sheets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: Reading) -> None:
        msg = f"{0} digs have a place."
        raise TooLittleError(msg)

    monkeypatch.setattr(fieldkit, "plan_digs", refuse)
    files = write_fieldkit(reading(BAGS[-1]), tmp_path, Look())
    assert {file.name for file in files} == {"before-you-dig.pdf", "field-sheets.pdf"}


def test_classes_are_the_record_s_own_finest_first() -> None:
    named = [">1", "<0.5", "0.5-1", "all", "No.1", "20/40 mesh"]
    tallies = tuple(Tally(sample="a", size_class=one, colors=1) for one in named)
    assert find_classes(Log(tallies=tallies)) == ("<0.5", "0.5-1", ">1")
    assert find_classes(Log()) == CLASSES
