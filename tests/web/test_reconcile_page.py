"""Clean-ups written down on the page, laid beside the estimate, and switched off."""

import re

import pytest

from pennyweight.answers.reconcile import is_carried
from tests.web.conftest import Visitor, words_of

BOOK = "/book/small"


def write_cleanup(visitor: Visitor, **typed: str) -> None:
    fields = {
        "cleanup": "C1",
        "area": "25-40",
        "bank_volume_m3": "10",
        "bank_volume_m3.unit": "m3",
        "weighed_mg": "4",
        "weighed_mg.unit": "g",
        "hours": "30",
    }
    sent = visitor.send(f"{BOOK}/seen/cleanups/row", **(fields | typed))
    assert sent.status_code in (200, 303)


def test_before_any_clean_up_the_page_says_what_to_write(small: Visitor) -> None:
    page = words_of(small.wait_for(f"{BOOK}/worth/cleanups").text)
    assert "No clean-up is recorded yet" in page
    assert "Write down a clean-up" in page


def test_a_clean_up_is_written_compared_and_switched_off(small: Visitor) -> None:
    write_cleanup(small)
    (kept,) = small.app.state.shelf.desk("small").log.cleanups
    assert (kept.bank_volume_m3, kept.weighed_mg, kept.hours) == (10.0, 4000.0, 30.0)
    page = words_of(small.wait_for(f"{BOOK}/worth/cleanups").text)
    assert re.search(r"C1 ?, 25-40", page)
    assert "Switched on" in page
    sent = small.send(f"{BOOK}/worth/cleanups", carry="no")
    assert sent.status_code == 303
    assert not is_carried(small.app.state.shelf.desk("small").log.ground)
    page = words_of(small.wait_for(f"{BOOK}/worth/cleanups").text)
    assert "Switched off" in page
    small.send(f"{BOOK}/worth/cleanups", carry="yes")
    assert is_carried(small.app.state.shelf.desk("small").log.ground)


def test_a_clean_up_is_changed_like_any_other_row(small: Visitor) -> None:
    write_cleanup(small)
    page = small.read(f"{BOOK}/seen/cleanups").text
    assert "Clean-ups" in page
    assert "C1" in page


def test_gold_by_the_hour_is_told_once_hours_are_written(small: Visitor) -> None:
    page = words_of(small.wait_for(f"{BOOK}/worth/hours").text)
    assert "No stretch of work has both" in page
    write_cleanup(small)
    page = words_of(small.wait_for(f"{BOOK}/worth/hours").text)
    assert "By clean-ups, an hour wins" in page


@pytest.mark.parametrize("view", ["cleanups", "bulk", "hours"])
def test_each_page_has_one_heading_and_no_id_twice(settled: Visitor, view: str) -> None:
    page = settled.wait_for(f"{BOOK}/worth/{view}").text
    assert len(re.findall(r"<h1", page)) == 1
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert sorted(ids) == sorted(set(ids))
    (current,) = re.findall(r'href="([^"]+)" aria-current="page"', page)
    assert current == f"{BOOK}/worth"


@pytest.mark.parametrize("view", ["cleanups", "bulk", "hours"])
def test_a_program_gets_each_of_them_as_json(settled: Visitor, view: str) -> None:
    settled.wait_for(f"{BOOK}/worth/{view}")
    told = settled.wait_for(f"{BOOK}/worth/{view}.json").json()
    assert told["book"]["name"].startswith("Small Creek")
    assert "verdict" in told


def test_a_bulk_test_is_planned_for_what_is_asked(settled: Visitor) -> None:
    page = settled.wait_for(f"{BOOK}/worth/bulk?within=50&sure=80").text
    assert 'name="within" value="50"' in page
    assert 'name="sure" value="80"' in page
    assert 'role="img"' in page
    assert "place of the bulk test" in page


def test_an_odd_wish_is_named_beside_its_field(settled: Visitor) -> None:
    page = words_of(settled.wait_for(f"{BOOK}/worth/bulk?within=300&grade=x").text)
    assert "300 is not taken; give 5 to 100." in page
    assert "x is no number" in page
