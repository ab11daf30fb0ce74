"""Break-even grade and strip ratios against published and hand arithmetic."""

import numpy.testing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.units import CUBIC_YARD_M3, TROY_OUNCE_MG
from pennyweight.worth.breakeven import (
    break_even_grade_mg_m3,
    break_even_strip_ratio,
    diluted_grade_mg_m3,
    strip_ratio,
    value_per_mg,
)

CENT = 0.005


def test_break_even_grade_agrees_with_hand_arithmetic() -> None:
    """8 / (60 x 0.85 x 0.75) g/m3 = 209.15 mg/m3."""
    grade = break_even_grade_mg_m3(8.0, 60.0, fineness=850.0, recovery=0.75)
    npt.assert_allclose(grade, 209.15, atol=CENT)


def test_a_season_in_yards_and_ounces_gives_the_worked_numbers() -> None:
    """500 mg/yd3 brings 23.46; 12 + 4 x 1.5 + 60,000/5,000 = 30; even at 639.4.

    Recovery 0.85, fineness 885, payable 0.97, 2,000 a troy ounce.
    """
    price_per_g = 2000.0 / (TROY_OUNCE_MG / 1000.0)
    value = value_per_mg(price_per_g, fineness=885.0, recovery=0.85, payable=0.97)
    npt.assert_allclose(500.0 * value, 23.46, atol=CENT)
    grade = break_even_grade_mg_m3(
        (12.0 + 4.0 * 1.5 + 60_000.0 / 5_000.0) / CUBIC_YARD_M3,
        price_per_g,
        fineness=885.0,
        recovery=0.85,
        payable=0.97,
    )
    npt.assert_allclose(grade * CUBIC_YARD_M3, 639.4, atol=0.05)


def test_strip_ratio_of_three_meters_over_pay_of_twelve_tenths() -> None:
    assert strip_ratio(3.0, 1.2) == pytest.approx(2.5)


def test_break_even_strip_ratio_is_what_is_left_over_what_stripping_costs() -> None:
    """(14 - 8) / 2 = 3."""
    assert break_even_strip_ratio(14.0, 8.0, 2.0) == pytest.approx(3.0)


def test_dilution_weighs_by_thickness() -> None:
    """300 x 1.2 / 4.2 = 85.71; 300 over 4 ft with 1 ft barren = 240."""
    npt.assert_allclose(diluted_grade_mg_m3(300.0, 1.2, 3.0), 85.71, atol=CENT)
    npt.assert_allclose(diluted_grade_mg_m3(300.0, 4.0, 1.0), 240.0)


@pytest.mark.law
@given(cost=st.floats(0.1, 500.0), more=st.floats(1.01, 10.0))
def test_dearer_gold_breaks_even_at_a_lower_grade(cost: float, more: float) -> None:
    """Price times grade is one and the same."""
    low = break_even_grade_mg_m3(cost, 60.0, fineness=850.0, recovery=0.75)
    high = break_even_grade_mg_m3(cost, 60.0 * more, fineness=850.0, recovery=0.75)
    npt.assert_allclose(high * more, low, rtol=1e-12)


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"cost_per_m3": -1.0}, "cost_per_m3 is -1.0"),
        ({"price_per_g": 0.0}, "price_per_g is 0.0"),
        ({"fineness": 1200.0}, "fineness is 1200.0"),
        ({"recovery": 0.0}, "recovery is 0.0"),
        ({"payable": 1.5}, "payable is 1.5"),
    ],
)
def test_impossible_terms_are_refused_by_name(
    changed: dict[str, float], text: str
) -> None:
    terms = {"cost_per_m3": 8.0, "price_per_g": 60.0, "fineness": 850.0}
    with pytest.raises(ValueError, match=text):
        break_even_grade_mg_m3(**({**terms, "recovery": 0.75} | changed))


def test_ratios_refuse_pay_without_thickness() -> None:
    with pytest.raises(ValueError, match=r"1.0 m over 0.0 m of pay"):
        strip_ratio(1.0, 0.0)
    with pytest.raises(ValueError, match=r"-1.0 m of barren ground"):
        diluted_grade_mg_m3(300.0, 1.0, -1.0)
    with pytest.raises(ValueError, match=r"strip_per_m3 is 0.0"):
        break_even_strip_ratio(14.0, 8.0, 0.0)
