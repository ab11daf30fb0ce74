"""Specimens, fineness and value, against hand arithmetic."""

from typing import Any

import pytest

from pennyweight.sampling import specimen


def test_pure_quartz_holds_no_gold() -> None:
    """26.5 g lose 10 g in water: 2.65."""
    assert specimen.gold_in_quartz_g(26.5, 16.5) == pytest.approx(0.0, abs=1e-12)
    assert specimen.specific_gravity(26.5, 16.5) == pytest.approx(2.65)


def test_what_is_put_together_is_taken_apart() -> None:
    """5 g of gold on 10 g of quartz."""
    volume = 5.0 / 19.3 + 10.0 / 2.65
    assert specimen.gold_in_quartz_g(15.0, 15.0 - volume) == pytest.approx(5.0)
    share = specimen.gold_share_of_density(15.0 / volume)
    assert share == pytest.approx(1.0 / 3.0)


def test_twenty_four_karats_are_fine() -> None:
    assert specimen.fineness_of_karats(24.0) == pytest.approx(1000.0)


def test_fine_gold_is_raw_gold_times_fineness() -> None:
    assert specimen.fine_mg(200.0, 900.0) == pytest.approx(180.0)


def test_value_goes_with_grade_fineness_and_price() -> None:
    """40 681.8 mg/m3 are one ounce a yard: at 900 fine and 2000, worth 1800."""
    assert specimen.value_per_yard(40681.8117, 900.0, 2000.0) == pytest.approx(1800.0)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: specimen.gold_in_quartz_g(10.0, 11.0), "11.0 g in water"),
        (lambda: specimen.gold_in_quartz_g(10.0, 5.0, rock_g_cm3=20.0), "rock is 20"),
        (lambda: specimen.specific_gravity(1.0, 2.0), "weighs 2.0 g in water"),
        (lambda: specimen.gold_share_of_density(2.0), "density is 2.0"),
        (lambda: specimen.fine_mg(1.0, 1200.0), "fineness is 1200"),
        (lambda: specimen.fineness_of_karats(25.0), "karats are 25"),
    ],
)
def test_what_cannot_be_is_named(call: Any, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        call()
