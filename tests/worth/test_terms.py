"""Price, costs and plant as the record gives them, and what is supplied."""

from typing import Any

import numpy.testing as npt
import pytest

from pennyweight.errors import TooLittleError
from pennyweight.records import Ground
from pennyweight.units import CUBIC_YARD_M3
from pennyweight.worth.terms import find_missing_terms, read_terms

COSTS = {"wash_per_m3": 12.0, "strip_per_m3": 4.0, "fixed": 6000.0}
PLANT = {
    "name": "small digger",
    "m3_per_hour": 5.0,
    "digs_m3_per_hour": 20.0,
    "hours_per_day": 8.0,
    "days": 50.0,
    "recovery": 0.85,
    "min_width_m": 2.0,
    "water_m3_per_hour": 40.0,
    "largest_stone_m": 0.25,
    "moves_stone_m": 0.7,
    "availability": 1.0,
    "days_per_week": 6.0,
    "reclaim_m2_per_hour": 20.0,
}


def ground(**changed: Any) -> Ground:
    full: dict[str, Any] = {
        "gold_price_per_g": 60.0,
        "currency": "USD",
        "fineness": 850.0,
        "min_pay_m": 0.3,
        "costs": {**COSTS, "reclaim_per_m2": 0.5},
        "plant": PLANT,
    }
    return Ground(**(full | changed))


def test_a_complete_record_needs_no_assumption() -> None:
    terms = read_terms(ground())
    assert terms.assumptions == {}
    assert terms.not_understood == ()
    assert (terms.washing, terms.stripping) == (12.0, 4.0)


def test_break_even_agrees_with_hand_arithmetic() -> None:
    """Strip ratio 2: 1/5 + 2/20 = 0.3 h/m3, 400 h wash 1,333 m3 in the season.

    12 + 2 x 4 + 6,000/1,333.3 = 24.5; over 60 x 0.85 x 0.85 / 1000 = 565.17 mg/m3.
    """
    npt.assert_allclose(
        read_terms(ground()).break_even_grade_mg_m3(2.0), 565.17, atol=0.01
    )


def test_hours_and_days_enter_the_cost_of_each_cubic_meter() -> None:
    """50 an hour and 160 a day of 8 h are 70 an hour: 14 to wash, 3.5 to strip."""
    terms = read_terms(ground(costs={"per_hour": 50.0, "per_day": 160.0}))
    npt.assert_allclose([terms.washing, terms.stripping], [14.0, 3.5])
    assert terms.assumptions["strip_cost_per_m3"] == 0.0


def test_yards_are_turned_into_meters() -> None:
    """9 a cubic yard is 11.77 a cubic meter; 10 yd3 are 7.646 m3."""
    terms = read_terms(
        ground(
            costs={"wash_per_yd3": 9.0, "strip_per_yd3": 3.0},
            plant={"yd3_per_hour": 10.0, "min_width_ft": 10.0},
        )
    )
    npt.assert_allclose(terms.wash_per_m3, 9.0 / CUBIC_YARD_M3)
    npt.assert_allclose(terms.m3_per_hour, 7.6455, atol=1e-4)
    npt.assert_allclose(terms.min_width_m, 3.048)


def test_royalty_and_refining_come_off_one_after_the_other() -> None:
    """0.95 x 0.98 = 0.931."""
    terms = read_terms(
        ground(costs={**COSTS, "royalty_percent": 5.0, "refining_percent": 2.0})
    )
    npt.assert_allclose(terms.payable, 0.931)


def test_everything_supplied_is_named() -> None:
    terms = read_terms(
        Ground(gold_price_per_g=60.0, costs={"wash_per_m3": 12.0}, plant={})
    )
    assert terms.assumptions["plant"] == "small digger and sluice"
    assert terms.assumptions["fineness_per_mille"] == 885.0
    assert terms.assumptions["plant_m3_per_hour"] == 2.0
    assert 0.7 < terms.assumptions["plant_recovery_share"] < 0.95
    assert terms.assumptions["strip_cost_per_m3"] == 3.0
    assert terms.currency == "money"


def test_finer_gold_lowers_the_recovery_supplied() -> None:
    bare = Ground(gold_price_per_g=60.0, costs={"wash_per_m3": 12.0})
    fine = read_terms(bare, (0.8, 0.2, 0.0, 0.0))
    coarse = read_terms(bare, (0.0, 0.0, 0.2, 0.8))
    assert fine.recovery < coarse.recovery


def test_keys_that_are_not_understood_are_named() -> None:
    terms = read_terms(ground(costs={**COSTS, "diesel": 3.0}))
    assert terms.not_understood == ("[costs] diesel",)


def test_missing_keys_are_named_as_the_user_types_them() -> None:
    assert find_missing_terms(ground()) == []
    with pytest.raises(TooLittleError, match=r"gold_price_per_g.*wash_per_m3"):
        read_terms(Ground(costs={"fixed": 100.0}))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "The price of gold and the cost of washing are not given"),
        ({"gold_price_per_g": 60.0}, "The cost of washing is not given"),
        ({"costs": {"per_day": 80.0}}, "The price of gold is not given"),
    ],
)
def test_what_is_missing_is_said_in_plain_words_first(
    given: dict[str, Any], said: str
) -> None:
    with pytest.raises(TooLittleError) as raised:
        read_terms(Ground(**given))
    assert str(raised.value).startswith(said)
    assert "ground.toml names" not in str(raised.value)


def test_one_missing_price_is_the_only_thing_asked_for() -> None:
    assert find_missing_terms(ground(gold_price_per_g=None)) == [
        "gold_price_per_g or gold_price_per_ozt"
    ]


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"costs": {"wash_per_m3": "dear"}}, "wash_per_m3 is 'dear'"),
        ({"costs": {"wash_per_m3": -2.0}}, "wash_per_m3 is -2.0"),
        ({"costs": {"wash_per_m3": True}}, "wash_per_m3 is True"),
        ({"costs": {**COSTS, "royalty_percent": 100.0}}, "royalty_percent is 100.0"),
        ({"plant": {"m3_per_hour": 0.0}}, "m3_per_hour is 0.0"),
        ({"plant": {"recovery": 85.0}}, "recovery is 85.0"),
        ({"gold_price_per_g": 0.0}, "gold_price_per_g is 0.0"),
    ],
)
def test_a_value_that_cannot_be_is_named(changed: dict[str, Any], text: str) -> None:
    with pytest.raises(TooLittleError, match=text):
        read_terms(ground(**changed))


def test_a_negative_strip_ratio_is_refused() -> None:
    with pytest.raises(ValueError, match=r"strip_ratio is -1.0"):
        read_terms(ground()).break_even_grade_mg_m3(-1.0)
