"""The diary and the program, set out and kept on the page."""

import pytest

from pennyweight.units import FEET_AND_YARDS, METRIC
from pennyweight.web.programform import ASKED, read_asked, stands
from tests.web.conftest import Visitor, words_of

BOOK = "/book/small/next"


def test_a_program_is_kept_and_its_rules_are_told(small: Visitor) -> None:
    sent = small.send(
        f"{BOOK}/program",
        people="2",
        digs="40",
        closed="09-15..05-31",
        leave_after_lines="3",
        leave_below_mg_m3="1000",
    )
    assert sent.status_code == 303
    assert small.app.state.shelf.desk("small").log.ground.program == {
        "people": 2,
        "digs": 40,
        "closed": "09-15 to 05-31",
        "leave_after_lines": 3,
        "leave_below_mg_m3": 1000.0,
    }
    page = words_of(small.wait_for(f"{BOOK}/diary").text)
    assert "Your rule: leave if 3 lines show nothing above" in page
    assert "Closed each year: 09-15 to 05-31" in page
    assert "9 of 40" in page


def test_the_program_is_shown_as_it_stands(small: Visitor) -> None:
    small.send(f"{BOOK}/program", go_below_chance_of_loss="20")
    page = small.read(f"{BOOK}/program").text
    assert 'name="go_below_chance_of_loss" value="20"' in page


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("people", "2.5", "no whole number"),
        ("people", "0", "above 0"),
        ("go_below_chance_of_loss", "120", "up to 100"),
        ("closed", "summer", "no season"),
        ("leave_below_mg_m3", "rich", "no number"),
    ],
)
def test_what_cannot_be_stays_beside_its_field(
    small: Visitor, field: str, typed: str, told: str
) -> None:
    answer = small.send(f"{BOOK}/program", **{field: typed})
    assert answer.status_code == 422
    assert told in answer.text
    assert f'value="{typed}"' in answer.text
    assert not small.app.state.shelf.desk("small").log.ground.program


def test_a_grade_is_typed_in_the_readers_units_and_not_rounded() -> None:
    """A cubic yard is 0.764554857984 m3."""
    form = {"leave_below_mg_m3": "100"}
    table, errors = read_asked(form, {}, FEET_AND_YARDS)
    assert not errors
    assert table["leave_below_mg_m3"] == pytest.approx(100.0 / 0.764554857984)
    same = {one.name: stands(one, table, METRIC) for one in ASKED}
    assert read_asked(same, table, METRIC) == (table, {})


def test_keys_that_the_page_does_not_ask_for_are_left_alone() -> None:
    table, _ = read_asked({"people": ""}, {"mood": "good", "people": 2}, METRIC)
    assert table == {"mood": "good"}


def test_the_way_to_the_diary_stands_on_the_plan(settled: Visitor) -> None:
    page = settled.wait_for(BOOK).text
    assert f'href="{BOOK}/diary"' in page
