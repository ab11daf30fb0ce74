"""The page of high water: verdict first, a slider over the map, drops with reasons."""

import json
from pathlib import Path

from pennyweight.book.book import open_book
from tests.web.conftest import Visitor, words_of

PAGE = "/book/small/floods"


def test_the_page_opens_with_its_verdict_and_cautions(settled: Visitor) -> None:
    answer = settled.wait_for(PAGE)
    assert answer.status_code == 200
    words = words_of(answer.text)
    assert "What did the floods do?" in words
    assert "Leave the creek bed when it rises" in words


def test_without_an_elevation_model_it_says_so_and_has_no_slider(
    settled: Visitor,
) -> None:
    page = settled.wait_for(PAGE).text
    assert "There is no elevation model" in page
    assert "data-flood-slider" not in page


def test_the_question_stands_in_the_row_of_questions(settled: Visitor) -> None:
    page = settled.wait_for(PAGE).text
    assert 'href="/book/small/floods" aria-current="page"' in page


def test_a_program_gets_the_numbers(settled: Visitor) -> None:
    told = json.loads(settled.wait_for(f"{PAGE}.json").text)
    assert {"clasts", "discharge_m3_s", "drops", "rasters"} <= set(told)


def test_what_the_heights_are_is_kept_when_it_is_said(
    small: Visitor, shelf: Path
) -> None:
    answer = small.send(f"{PAGE}/unit", unit="ft")
    assert answer.status_code == 303
    with open_book(shelf / "small.book", read_only=True) as book:
        assert book.log().ground.extra["elevation_unit"].strip('"') == "ft"


def test_heights_in_another_unit_are_refused(settled: Visitor) -> None:
    assert settled.send(f"{PAGE}/unit", unit="fathom").status_code == 422
