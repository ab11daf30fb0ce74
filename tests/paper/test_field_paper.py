"""Paper for the field: one page where one is meant, codes that another reader reads."""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from pennyweight.exchange.shortids import find_batch, number_bags, parse_bag_id
from pennyweight.paper.cautions import MERCURY, WALLS, WATER
from pennyweight.paper.dayplan import MOST_DIGS, tell_way, write_dayplan
from pennyweight.paper.fieldpaper import PAPERS
from pennyweight.paper.fieldsheets import write_fieldsheets
from pennyweight.paper.labels import GRIDS, write_labels
from pennyweight.paper.safetycard import write_safetycard
from pennyweight.pictures.svg import Look
from pennyweight.units import FEET_AND_YARDS, METRIC
from tests.pictures import made_answers

MADE_AT = "2026-07-14T18:30:00Z"
NAME = "Made Creek (invented)"
#: Markup of the typesetter and of SVG, as a name.
HOSTILE = '#panic("x") $x$ *b* <svg> `rm` & \\ "q"'


@cache
def pages(path: Path) -> list[str]:
    """Return the words of each page, spaces made even."""
    found = PdfReader(path).pages
    return [re.sub(r"\s+", " ", page.extract_text()) for page in found]


def drawn(path: Path, dots_per_inch: int) -> Image.Image:
    """Return the first page as a gray picture, drawn by another library."""
    with pdfium.PdfDocument(path) as document:
        page = document[0].render(scale=dots_per_inch / 72.0, grayscale=True)
        return page.to_pil().convert("L")


# ---- labels ----------------------------------------------------------------------


@pytest.mark.parametrize("grid", GRIDS)
def test_every_code_is_read_back_by_another_library(tmp_path: Path, grid: str) -> None:
    path = tmp_path / "labels.pdf"
    ids = write_labels(path, "b1", made_at=MADE_AT, grid=grid)
    read = zxingcpp.read_barcodes(drawn(path, 150))
    assert {one.text for one in read} == set(ids)
    assert len(ids) == GRIDS[grid].count
    assert all(parse_bag_id(one) == one for one in ids)


def test_a_muddy_code_is_still_read(tmp_path: Path) -> None:
    """Three modules in a corner of the data are blotted out: about 3 %."""
    path = tmp_path / "labels.pdf"
    ids = write_labels(path, "b1", made_at=MADE_AT, grid="letter-10")
    page = drawn(path, 150)
    code = zxingcpp.read_barcodes(page)[0].position
    width = code.top_right.x - code.top_left.x
    left, top = code.top_left.x + width // 2, code.top_left.y + width // 2
    page.paste(60, (left, top, left + width // 7, top + width // 7))
    assert {one.text for one in zxingcpp.read_barcodes(page)} == set(ids)


def test_the_id_stands_in_letters_beside_the_code(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    ids = write_labels(path, "b1", made_at=MADE_AT)
    assert all(one in pages(path)[0] for one in ids)


def test_sheets_go_on_numbering_and_nothing_tells_the_ground(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    ids = write_labels(path, "b1", made_at=MADE_AT, first=40, sheets=2)
    wanted = list(number_bags(find_batch("b1"), 40))[:60]
    assert list(ids) == wanted
    assert len(pages(path)) == 2


def test_labels_repeat_byte_for_byte(tmp_path: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        write_labels(tmp_path / name, "b1", made_at=MADE_AT)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"grid": "letter-99"}, "'letter-99' is not known"),
        ({"sheets": 0}, "0 sheets"),
        ({"sheets": 99}, "99 sheets of 30 labels"),
        ({"first": 0}, "first bag is 0"),
    ],
)
def test_labels_that_cannot_be_are_refused_by_value(
    tmp_path: Path, options: dict[str, int], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        write_labels(tmp_path / "x.pdf", "b1", made_at=MADE_AT, **options)  # type: ignore[arg-type]


# ---- field sheets ----------------------------------------------------------------

LEAVES = {"letter": 2, "a4": 2, "notebook": 4}


@pytest.mark.parametrize("measures", [METRIC, FEET_AND_YARDS])
@pytest.mark.parametrize("paper", PAPERS)
def test_a_dig_fills_just_its_leaves(
    tmp_path: Path, paper: str, measures: object
) -> None:
    path = tmp_path / "sheets.pdf"
    assert measures in {METRIC, FEET_AND_YARDS}
    write_fieldsheets(
        path,
        ground_name=NAME,
        made_at=MADE_AT,
        paper=paper,
        measures=METRIC if measures is METRIC else FEET_AND_YARDS,
        digs=("T1", "T2"),
    )
    found = PdfReader(path).pages
    assert len(found) == 2 * LEAVES[paper]
    width_mm = float(found[0].mediabox.width) / 72.0 * 25.4
    assert width_mm == pytest.approx(PAPERS[paper].width_mm, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_sheet_has_the_columns_that_the_book_asks_for(
    tmp_path: Path, paper: str
) -> None:
    path = tmp_path / "sheets.pdf"
    write_fieldsheets(
        path,
        ground_name=NAME,
        made_at=MADE_AT,
        paper=paper,
        measures=FEET_AND_YARDS,
        classes=("<0.5", ">0.5"),
    )
    words = " ".join(pages(path))
    for column in ("Line", "Date", "Peg", "along ft", "Stopped by", "true bedrock"):
        assert column in words
    for column in ("top ft", "bottom ft", "material", "packing", "bag id", "taken"):
        assert column in words
    assert "<0.5 mm" in words
    assert ">0.5 mm" in words
    assert "write 0 under all" in words
    assert "never dig alone" in words


def test_a_hostile_name_is_printed_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "sheets.pdf"
    write_fieldsheets(path, ground_name=HOSTILE, made_at=MADE_AT, digs=(HOSTILE,))
    assert HOSTILE in pages(path)[0]


def test_sheets_that_cannot_be_are_refused_by_value(tmp_path: Path) -> None:
    path = tmp_path / "x.pdf"
    with pytest.raises(ValueError, match="'a0' is not known"):
        write_fieldsheets(path, ground_name="", made_at=MADE_AT, paper="a0")
    with pytest.raises(ValueError, match=r"digs is \[\]"):
        write_fieldsheets(path, ground_name="", made_at=MADE_AT, digs=())
    assert not list(tmp_path.iterdir())


# ---- the day plan ----------------------------------------------------------------


@pytest.mark.parametrize("measures", [METRIC, FEET_AND_YARDS])
def test_the_day_plan_is_one_page_with_map_digs_and_cautions(
    tmp_path: Path, measures: object
) -> None:
    path = tmp_path / "day.pdf"
    nextdigs = made_answers.nextdigs()
    look = Look(measures=METRIC if measures is METRIC else FEET_AND_YARDS)
    write_dayplan(path, made_answers.ground(), nextdigs, look=look)
    (words,) = pages(path)
    for dig in nextdigs.digs:
        assert f"{dig.easting_m:.1f}" in words
        assert dig.why in words
    assert "keep to yourself" in words
    assert WALLS in words
    assert "proposed dig" in words


def test_a_long_plan_still_is_one_page_and_says_what_is_left_out(
    tmp_path: Path,
) -> None:
    path = tmp_path / "day.pdf"
    nextdigs = made_answers.nextdigs()
    first = nextdigs.digs[0]
    many = tuple(
        replace(first, rank=rank, easting_m=first.easting_m + rank, why="why " * 30)
        for rank in range(1, MOST_DIGS + 4)
    )
    write_dayplan(
        path, made_answers.ground(), replace(nextdigs, digs=many), look=Look()
    )
    (words,) = pages(path)
    assert "3 more are in the book" in words


def test_a_plan_without_digs_or_places_is_still_a_page(tmp_path: Path) -> None:
    path = tmp_path / "day.pdf"
    ground = replace(made_answers.ground(), digs=(), lines=())
    nextdigs = replace(made_answers.nextdigs(), digs=())
    write_dayplan(path, ground, nextdigs, look=Look(), paper="letter")
    (words,) = pages(path)
    assert "No dig has a place yet" in words


def test_the_way_to_a_dig_by_hand() -> None:
    """3 m east and 4 m north of the nearest dig: 5 m at atan(3/4) = 37 degrees."""
    ground = made_answers.ground()
    peg = ground.digs[0]
    assert peg.easting_m is not None
    assert peg.northing_m is not None
    wanted = replace(
        made_answers.nextdigs().digs[0],
        easting_m=peg.easting_m + 3.0,
        northing_m=peg.northing_m + 4.0,
    )
    told = tell_way((peg,), wanted, METRIC)
    assert told == f"5\u00a0m from {peg.dig}, grid bearing 037°"
    assert tell_way((), wanted, METRIC) == "by position alone"


def test_a_map_does_not_fit_a_notebook(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="'notebook' is too small"):
        write_dayplan(
            tmp_path / "x.pdf",
            made_answers.ground(),
            made_answers.nextdigs(),
            look=Look(),
            paper="notebook",
        )


# ---- the safety card -------------------------------------------------------------


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_card_is_one_page_with_numbers_and_their_source(
    tmp_path: Path, paper: str
) -> None:
    """Slopes by hand: atan(1/0.75) = 53, atan(1/1) = 45, atan(1/1.5) = 34 degrees.

    6 ft deep in type C with a floor of 3 ft: 3 + 2 * 1.5 * 6 = 21 ft at the top.
    """
    path = tmp_path / "card.pdf"
    write_safetycard(path, ground_name=NAME, made_at=MADE_AT, paper=paper)
    (words,) = pages(path)
    for number in ("5 ft", "4 ft", "25 ft", "2 ft", "20 ft", "53°", "45°", "34°"):
        assert number in words
    assert "21 ft (6.4 m) wide" in words
    assert "29 CFR 1926 Subpart P" in words
    assert WALLS in words
    assert WATER in words
    assert MERCURY in words


def test_the_card_never_calls_anything_safe_and_defers_to_local_codes(
    tmp_path: Path,
) -> None:
    path = tmp_path / "card.pdf"
    write_safetycard(path, ground_name=NAME, made_at=MADE_AT)
    (words,) = pages(path)
    assert not re.search(r"\bsafe(ly|ty)?\b", words, re.IGNORECASE)
    assert "may be stricter" in words


def test_a_card_does_not_fit_a_notebook(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="'notebook' is too small"):
        write_safetycard(
            tmp_path / "x.pdf", ground_name="", made_at=MADE_AT, paper="notebook"
        )
