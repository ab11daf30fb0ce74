"""The tables of worth: the same words everywhere, in the reader's units."""

from typing import Any

import pytest

from pennyweight.answers.worth import WorthAnswer
from pennyweight.answers.worthtables import (
    area_words,
    flow_words,
    price_words,
    worth_tables,
)
from pennyweight.units import FEET_AND_YARDS, METRIC, Measures
from tests.answers.test_worth_answer import (
    COSTS,
    PLANT,
    Ask,
    drawn,
    invented_field,
)
from tests.answers.test_worth_answer import ask as ask_worth

ask = ask_worth


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def told(answer: WorthAnswer, measures: Measures = METRIC) -> dict[str, Any]:
    return {one.key: one for one in worth_tables(answer, measures)}


def test_prices_areas_and_flows_are_told_in_the_reader_s_units() -> None:
    """100 a gram are 3,110 an ounce; 10 m2 are 107.6 ft2; 10 m3/h 44.03 gal/min."""
    assert plain(price_words(100.0, "USD", METRIC)) == "USD 100/g"
    assert plain(price_words(100.0, "USD", FEET_AND_YARDS)) == "USD 3,110/ozt"
    assert plain(area_words(10.0, FEET_AND_YARDS)) == "110 ft²"
    assert plain(flow_words(10.0, METRIC)) == "10 m³/h"
    assert plain(flow_words(10.0, FEET_AND_YARDS)) == "44 US gal/min"


def test_a_ground_with_a_cut_has_every_table(ask: Ask) -> None:
    ring = [(10.0, -3.0), (20.0, -3.0), (20.0, 3.0), (10.0, 3.0), (10.0, -3.0)]
    tables = told(ask(invented_field(2000.0), features=(drawn("water", ring),)))
    assert list(tables) == [
        "even",
        "swings",
        "prices",
        "cash",
        "sizes",
        "depths",
        "left",
        "room",
        "water",
    ]
    for one in tables.values():
        assert all(len(row) == len(one.headings) for row in one.rows)
    assert [row[0] for row in tables["left"].rows] == ["under water"]
    assert "(today)" in " ".join(row[0] for row in tables["prices"].rows)
    assert tables["cash"].rows[0][0] == "before"
    assert "common practice, no source" in tables["room"].note
    assert "No dig met water" in tables["water"].note


def test_a_ground_without_a_cut_has_only_what_can_be_told(ask: Ask) -> None:
    assert list(told(ask(invented_field(160.0)))) == ["prices"]
    assert told(ask(invented_field(0.0))) == {}


def test_interest_is_told_where_the_user_gives_one(ask: Ask) -> None:
    costs = {**COSTS, "interest_percent": 12.0}
    with_it = told(ask(invented_field(2000.0), costs=costs))["cash"].note
    assert "With interest, what is left is worth" in with_it
    assert "interest" not in told(ask(invented_field(2000.0)))["cash"].note


@pytest.mark.parametrize(("side_m", "room"), [(6.0, False), (60.0, True)])
def test_too_little_room_for_the_heaps_is_said(
    ask: Ask, side_m: float, room: bool
) -> None:
    ring = [(0.0, -side_m), (60.0, -side_m), (60.0, side_m), (0.0, side_m)]
    answer = ask(
        invented_field(9000.0, top_m=2.5),
        features=(drawn("boundary", [*ring, ring[0]]),),
        plant={**PLANT, "min_width_m": 3.0},
    )
    note = told(answer)["room"].note
    assert ("not room enough" not in note) is room
