"""What was in a pan is told by size, and what was not looked for stays unknown."""

import pytest

from pennyweight.records import Tally
from pennyweight.web.colors import read_colors
from tests.web.conftest import Visitor, words_of

BOOK = "/book/small"


def told(**form: str) -> tuple[dict[str, int], dict[str, str]]:
    names = {name.replace("__", "."): text for name, text in form.items()}
    counted = read_colors(names, "a")
    return {one.size_class: one.colors for one in counted.tallies}, counted.errors


def test_sizes_with_none_beside_them_make_a_total() -> None:
    form = {"colors.0.25-0.5": "3", "colors.0.5-1": "2", "others": "none"}
    assert told(**form) == ({"0.25-0.5": 3, "0.5-1": 2, "all": 5}, {})


def test_sizes_not_looked_for_stay_unknown() -> None:
    form = {"colors.0.5-1": "2", "others": "unlooked"}
    assert told(**form) == ({"0.5-1": 2}, {})


def test_nothing_found_is_a_zero() -> None:
    assert told(nothing="yes") == ({"all": 0}, {})


def test_colors_that_nobody_sorted_are_all() -> None:
    assert told(**{"colors.all": "7"}) == ({"all": 7}, {})


def test_a_nugget_is_written_with_its_weight() -> None:
    """1.5 g = 1500 mg."""
    form = {"colors.>2": "1", "mg.>2": "1.5", "mg.unit": "g", "others": "unlooked"}
    assert read_colors(form, "a").tallies == [
        Tally(sample="a", size_class=">2", colors=1, mg=1500.0)
    ]


@pytest.mark.parametrize(
    ("form", "field", "said"),
    [
        ({}, "colors.all", "Count at least one size"),
        ({"colors.0.5-1": "2"}, "others", "other sizes"),
        ({"colors.0.5-1": "two"}, "colors.0.5-1", "two"),
        ({"colors.0.5-1": "9", "colors.all": "5"}, "colors.all", "add up to 9"),
        ({"colors.all": "5", "nothing": "yes"}, "nothing", "counted 5"),
        ({"colors.>2": "1", "others": "none"}, "mg.>2", "what it weighs"),
        ({"mg.>2": "1", "others": "none"}, "colors.>2", "how many"),
        ({"colors.>2": "1", "mg.>2": "0", "others": "none"}, "mg.>2", "above 0"),
        ({"colors.>2": "1", "mg.>2": "x", "others": "none"}, "mg.>2", "no number"),
    ],
)
def test_what_is_missing_is_told_at_its_field(
    form: dict[str, str], field: str, said: str
) -> None:
    assert said in told(**form)[1][field]


def test_what_waits_is_written_right_at_its_row(small: Visitor) -> None:
    assert f'href="{BOOK}/seen/wash"' in small.read(f"{BOOK}/seen/samples").text
    page = small.read(f"{BOOK}/seen/wash")
    assert "Write what was in it" in words_of(page.text)
    opened = small.read(f"{BOOK}/seen/wash?sample=late").text
    assert 'name="colors.0.25-0.5"' in opened
    form = {"sample": "late", "colors.0.5-1": "4", "others": "none"}
    answer = small.send(f"{BOOK}/seen/wash", **form)
    assert answer.headers["location"] == f"{BOOK}/pans/dig/T3-3"
    assert "Everything is washed" in small.read(f"{BOOK}/seen/wash").text
    history = words_of(small.read(f"{BOOK}/seen/history").text)
    assert "Wrote what was in sample late: 4 colors" in history


def test_a_wrong_count_stays_at_its_row(small: Visitor) -> None:
    form = {"sample": "late", "colors.0.5-1": "some"}
    answer = small.send(f"{BOOK}/seen/wash", **form)
    assert answer.status_code == 422
    assert 'value="some"' in answer.text
    assert "autofocus" in answer.text


def test_colors_are_written_once(small: Visitor) -> None:
    answer = small.send(f"{BOOK}/seen/wash", sample="T1-1-a", nothing="yes")
    assert answer.status_code == 422
    assert "in the book already" in words_of(answer.text)


def test_a_dig_leads_to_what_still_waits(small: Visitor) -> None:
    page = small.wait_for(f"{BOOK}/pans/dig/T3-3").text
    assert f"{BOOK}/seen/wash?sample=late&amp;back=dig#open" in page
