"""The bulk test and clean-ups in the report, and what they leave out."""

from pathlib import Path

import pytest
from pypdf import PdfReader

from pennyweight.answers.bulktest import plan_bulk
from pennyweight.answers.handwork import weigh_handwork
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import reconcile
from pennyweight.paper.report import paper_look
from pennyweight.paper.surersection import surer_section
from pennyweight.paper.wholereport import write_whole_report
from pennyweight.pictures.svg import Look
from pennyweight.records import Cleanup
from pennyweight.units import FEET_AND_YARDS
from tests.answers.made_season import season

CLEANUPS = (
    Cleanup(
        cleanup="C1",
        area="Lower cut",
        bank_volume_m3=52.0,
        weighed_mg=21_000.0,
        hours=90.0,
    ),
)


@pytest.fixture(scope="module")
def reading() -> Reading:
    return season(cleanups=CLEANUPS)


def test_the_section_holds_test_clean_ups_and_hours(reading: Reading) -> None:
    section = surer_section(
        plan_bulk(reading, within=0.4),
        reconcile(reading),
        weigh_handwork(reading),
        look=paper_look(Look(measures=FEET_AND_YARDS)),
    )
    assert section is not None
    words = " ".join(str(one.get("words", "")) for one in section.blocks)
    assert "yd³" in words
    assert "By clean-ups, an hour wins" in words
    assert "Supposed for this:" in words
    kinds = [one["kind"] for one in section.blocks]
    assert kinds.count("picture") == 1
    assert kinds.count("table") == 2


def test_nothing_to_say_is_no_section(reading: Reading) -> None:
    assert surer_section(None, None, None, look=Look()) is None
    bare = season()
    assert surer_section(None, reconcile(bare), None, look=Look()) is None


def test_the_whole_report_tells_of_clean_ups(reading: Reading, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    write_whole_report(reading, path, Look())
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    assert "To be surer" in text
    assert "carried into the estimate of this report" in " ".join(text.split())
