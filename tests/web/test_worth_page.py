"""What worth depends on is changed in place, in the reader's units."""

import pytest

from pennyweight.records import Ground
from pennyweight.units import FEET_AND_YARDS, METRIC
from pennyweight.web.terms import (
    PLANT_NAMES,
    TERMS,
    plant_name,
    read_terms,
    stands,
    unit_words,
    usual_values,
)
from tests.web.conftest import Visitor, words_of

BY_NAME = {term.name: term for term in TERMS}


def test_a_price_per_ounce_is_kept_per_gram() -> None:
    """3110.34768 an ounce is 100 a gram: an ounce is 31.1034768 g."""
    values, errors = read_terms(
        {"gold_price_per_g": "3110.34768"}, Ground(), FEET_AND_YARDS
    )
    assert not errors
    assert values["gold_price_per_g"] == pytest.approx(100.0)


def test_a_cost_per_yard_is_kept_per_cubic_meter() -> None:
    """A cubic yard is 0.764554857984 m3: 7.64554857984 a yard is 10 a m3."""
    values, _ = read_terms({"wash_per_m3": "7.64554857984"}, Ground(), FEET_AND_YARDS)
    assert values["costs"]["wash_per_m3"] == pytest.approx(10.0)


def test_a_plant_that_keeps_85_percent_keeps_a_share() -> None:
    values, _ = read_terms({"recovery": "85"}, Ground(), METRIC)
    assert values["plant"]["recovery"] == pytest.approx(0.85)


def test_a_cost_that_the_log_gives_per_yard_is_shown_and_replaced() -> None:
    ground = Ground(costs={"wash_per_yd3": 7.64554857984, "fixed": 5})
    assert stands(BY_NAME["wash_per_m3"], ground, METRIC) == "10"
    values, _ = read_terms({"wash_per_m3": "12"}, ground, METRIC)
    assert values["costs"] == {"fixed": 5, "wash_per_m3": 12.0}


def test_what_is_only_looked_at_stays_as_it_is() -> None:
    ground = Ground(gold_price_per_g=77.123456789, costs={"fixed": 5})
    form = {term.name: stands(term, ground, METRIC) for term in TERMS}
    values, errors = read_terms(form, ground, METRIC)
    assert not errors
    assert "gold_price_per_g" not in values
    assert values["costs"] == {"fixed": 5}


def test_an_emptied_field_is_the_tools_own_again() -> None:
    ground = Ground(costs={"fixed": 5.0})
    values, _ = read_terms({"fixed": ""}, ground, METRIC)
    assert values["costs"] == {}


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"fineness": "1200"}, "1200"),
        ({"wash_per_m3": "-4"}, "-4"),
        ({"days": "many"}, "many"),
        ({"currency": "dollars"}, "DOLLARS"),
    ],
)
def test_terms_that_cannot_be_are_told(form: dict[str, str], told: str) -> None:
    _, errors = read_terms(form, Ground(), METRIC)
    (text,) = errors.values()
    assert told in text


def test_the_plant_is_chosen_by_name() -> None:
    values, _ = read_terms({"plant": "rocker"}, Ground(), METRIC)
    assert values["plant"] == {"name": "rocker"}
    assert plant_name(Ground(plant={"name": "my old rocker"})) == "rocker"
    assert plant_name(Ground()) in PLANT_NAMES


def test_units_are_said_beside_every_field() -> None:
    assert unit_words(BY_NAME["wash_per_m3"], METRIC) == "per m³ in the bank"
    assert unit_words(BY_NAME["gold_price_per_g"], FEET_AND_YARDS) == "per troy ounce"
    assert unit_words(BY_NAME["days"], METRIC) == ""


def test_a_changed_price_shows_what_it_changed(small: Visitor) -> None:
    page = "/book/small/worth"
    before = small.wait_for(f"{page}.json").json()
    small.wait_for(page)
    assert small.send(page, gold_price_per_g="200").status_code == 303
    words = words_of(small.wait_for(page).text)
    assert "With what you changed" in words
    after = small.wait_for(f"{page}.json").json()
    assert after["margin"]["p50"] > before["margin"]["p50"]


def test_a_wrong_price_is_told_beside_its_field(small: Visitor) -> None:
    small.wait_for("/book/small/worth")
    answer = small.send("/book/small/worth", gold_price_per_g="high")
    assert answer.status_code == 422
    assert 'aria-describedby="gold_price_per_g-error"' in answer.text


def test_without_a_price_the_page_asks_for_it(visitor: Visitor) -> None:
    visitor.send("/new", name="Poor")
    visitor.ask("/book/poor/seen/digs/add", dig="A")
    answer = visitor.wait_for("/book/poor/worth")
    assert answer.status_code == 200
    assert "cannot be told yet" in answer.text
    assert 'id="gold_price_per_g"' in answer.text
    assert visitor.wait_for("/book/poor/worth.json").status_code == 422


def test_another_plant_brings_its_own_numbers() -> None:
    """Those of the old plant go; the new pace and the limits of the cut stay."""
    ground = Ground(
        plant={
            "name": "hand sluice",
            "yd3_per_hour": 1.0,
            "days": 40,
            "min_width_m": 0.6,
            "boundary_setback_m": 5.0,
        }
    )
    form = {"plant": "powered sluice", "days": "55"}
    values, errors = read_terms(form, ground, METRIC)
    assert not errors
    assert values["plant"] == {
        "name": "powered sluice",
        "days": 55.0,
        "boundary_setback_m": 5.0,
    }


def test_an_empty_field_shows_what_stands_in_for_it() -> None:
    ground = Ground(plant={"name": "hand sluice"})
    usual = usual_values(ground, FEET_AND_YARDS)
    assert usual["m3_per_hour"] == "0.654"
    assert usual["keeps_fine"] == "60"
    assert "fixed" not in usual


def test_water_and_fuel_are_typed_in_the_reader_s_units() -> None:
    """10 US gallons a minute are 2.271 m3 an hour; 4 a gallon is 1.0567 a liter."""
    values, errors = read_terms(
        {"water_m3_per_hour": "10", "fuel_per_l": "4"}, Ground(), FEET_AND_YARDS
    )
    assert not errors
    assert values["plant"]["water_m3_per_hour"] == pytest.approx(2.2712, abs=1e-4)
    assert values["costs"]["fuel_per_l"] == pytest.approx(1.0567, abs=1e-4)
