"""The report holds every answer, says where the ground is, and repeats itself."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from pennyweight.paper.blocks import (
    TableColumn,
    picture,
    room_below,
    table,
    verdict,
)
from pennyweight.paper.report import write_report
from pennyweight.pictures.svg import Look
from pennyweight.units import FEET_AND_YARDS
from tests.pictures import made_answers

#: Markup of the typesetter, of SVG and of the shell, as a name.
HOSTILE = '#panic("x") $x$ *b* <svg onload="1"> </text> `rm` & \u0007 \\ "q"'


@cache
def pages(path: Path) -> list[str]:
    return [page.extract_text() for page in PdfReader(path).pages]


def _objects(reader: PdfReader) -> int:
    """Return how many objects a file has."""
    return int(str(reader.trailer["/Size"])) - 1


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("paper") / "report.pdf"
    write_report(
        path,
        ground=made_answers.ground(),
        grade=made_answers.grade(),
        trace=made_answers.trace(),
        worth=made_answers.worth(),
        nextdigs=made_answers.nextdigs(),
        look=Look(),
    )
    return path


def test_the_first_page_opens_with_the_verdict(full: Path) -> None:
    first = " ".join(pages(full)[0].split())
    assert "Made Creek (invented)" in first
    assert "Streak A, the richest, lies on bedrock" in first
    assert "This is no resource or reserve statement under any code." in first


def test_every_page_says_that_the_coordinates_are_true(full: Path) -> None:
    assert all("true coordinates: keep to yourself" in page for page in pages(full))


@pytest.mark.parametrize(
    "words",
    [
        "Where does it run?",
        "What does each pan say?",
        "Is it worth it?",
        "What next?",
        "growth of the ground when dug",
        "6B-3, 7C-3, 7E-2",
        "A trench wall can fall at any depth",
        "Mercury lies on bedrock",
        "leave nearly everywhere",
    ],
)
def test_the_report_holds_what_a_reader_asks_for(full: Path, words: str) -> None:
    whole = " ".join(" ".join(pages(full)).split())
    assert words in whole


def test_every_dig_and_sample_is_listed(full: Path) -> None:
    whole = " ".join(pages(full))
    grade = made_answers.grade()
    missing = [one.sample for one in grade.samples if one.sample not in whole]
    assert missing == []


def test_both_families_are_embedded(full: Path) -> None:
    reader = PdfReader(full)
    names = {
        str(font["/BaseFont"])
        for font in (
            reader.get_object(number + 1) for number in range(_objects(reader))
        )
        if isinstance(font, DictionaryObject) and "/BaseFont" in font
    }
    assert any("SourceSerif4" in name for name in names)
    assert any("SourceSans3" in name for name in names)


def test_the_same_answers_give_the_same_bytes(full: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.pdf"
    write_report(
        again,
        ground=made_answers.ground(),
        grade=made_answers.grade(),
        trace=made_answers.trace(),
        worth=made_answers.worth(),
        nextdigs=made_answers.nextdigs(),
        look=Look(night=True, width_px=390),
    )
    assert again.read_bytes() == full.read_bytes()


def test_the_ground_alone_makes_a_report(tmp_path: Path) -> None:
    path = tmp_path / "short.pdf"
    write_report(path, ground=made_answers.ground(terrain=False), look=Look())
    whole = " ".join(" ".join(pages(path)).split())
    assert len(pages(path)) == 2
    assert "What each pan says waits for a washed sample with a volume." in whole
    assert [one.name for one in tmp_path.iterdir()] == ["short.pdf"]


def test_feet_are_printed_on_letter_paper(tmp_path: Path) -> None:
    path = tmp_path / "feet.pdf"
    write_report(
        path,
        ground=made_answers.ground(terrain=False),
        grade=made_answers.grade(),
        look=Look(measures=FEET_AND_YARDS),
    )
    box = PdfReader(path).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612.0, 792.0)
    assert "mg/yd" in " ".join(pages(path))


def test_markup_in_a_name_is_inert(tmp_path: Path) -> None:
    ground = made_answers.ground(terrain=False)
    digs = tuple(
        replace(one, dig=HOSTILE) if one.dig == "4A" else one for one in ground.digs
    )
    lines = tuple(
        replace(one, digs=tuple(HOSTILE if dig == "4A" else dig for dig in one.digs))
        for one in ground.lines
    )
    path = tmp_path / "hostile.pdf"
    write_report(
        path,
        ground=replace(ground, name=HOSTILE, digs=digs, lines=lines),
        grade=made_answers.grade(),
        look=Look(),
    )
    first = " ".join(pages(path)[0].split())
    assert '#panic("x") $x$ *b* <svg onload="1"> </text> `rm` &' in first


def test_the_map_stays_on_the_first_page(full: Path) -> None:
    second = pages(full)[1]
    assert "EPSG:32610" in pages(full)[0]
    assert "Where does it run?" in second


def test_a_long_verdict_leaves_less_room_for_the_map() -> None:
    """Ten lines of 12 pt text at 1.45 and one size between: 15.5 x 4.23 mm."""
    words = "x" * int(10 * 174.0 / (12.0 * 25.4 / 72.0 * 0.5))
    assert room_below([verdict(words, 12.0)], 212.0) == pytest.approx(
        212.0 - 15.5 * 12.0 * 25.4 / 72.0
    )


def test_a_tall_picture_is_made_narrower() -> None:
    """500 by 1000 px at most 87 mm high is 43.5 mm wide: a quarter of 174 mm."""
    svg = '<svg width="500" height="1000"/>'
    assert picture(svg, "tall", most_mm=87.0)["share"] == pytest.approx(0.25)


def test_a_picture_without_a_size_is_refused() -> None:
    with pytest.raises(ValueError, match="has no width and height"):
        picture("<svg/>", "nothing")


def test_a_ragged_table_is_refused() -> None:
    with pytest.raises(ValueError, match="a row has 1 cells; the table has 2 columns"):
        table([TableColumn(head="a"), TableColumn(head="b")], [["x"]])


def test_sections_flow_on_below_each_other(full: Path) -> None:
    """A page that begins with a question for each section was mostly empty."""
    openings = [page.strip().splitlines()[1] for page in pages(full)[2:]]
    questions = ("What does each pan say?", "Is it worth it?", "What next?")
    assert sum(one in questions for one in openings) < len(questions)
