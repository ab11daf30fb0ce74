"""Exact units at the edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.units import (
    FEET_AND_YARDS,
    MEASURES,
    METRIC,
    QUANTITIES,
    from_inside,
    parse_quantity,
    to_inside,
)

EVERY_UNIT = [
    (unit, quantity) for quantity, known in QUANTITIES.items() for unit in known
]


@given(value=st.floats(1e-6, 1e6), which=st.sampled_from(EVERY_UNIT))
def test_there_and_back_is_the_same(value: float, which: tuple[str, str]) -> None:
    unit, quantity = which
    back = from_inside(to_inside(value, unit, quantity), unit, quantity)
    assert back == pytest.approx(value, rel=1e-12)


def test_the_exact_factors_hold() -> None:
    """Yard and pound agreement of 1959; the US gallon is 231 cubic inches."""
    assert to_inside(1.0, "ft", "length") == 0.3048
    assert to_inside(1.0, "in", "length") == pytest.approx(0.0254)
    assert to_inside(1.0, "gal", "volume") == pytest.approx(0.003785411784)
    assert to_inside(1.0, "ozt", "mass") == pytest.approx(31_103.4768)
    assert to_inside(1.0, "dwt", "mass") == pytest.approx(1_555.17384)


def test_a_grade_per_yard_is_larger_per_meter() -> None:
    """1 mg/yd3 = 1 / 0.764554857984 = 1.307951 mg/m3."""
    assert to_inside(1.0, "mg/yd3", "grade") == pytest.approx(1.307951, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "mg_m3"),
    [("100 mg/m3", 100.0), ("0,5 g/m3", 500.0), ("  2gr/yd3 ", 169.507549)],
)
def test_a_typed_grade_is_understood(text: str, mg_m3: float) -> None:
    assert parse_quantity(text, "grade") == pytest.approx(mg_m3)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("rich", "'rich' is no grade"),
        ("100", "'100' has no unit; give one of mg/m3"),
        ("1.5e3", "'1.5e3' has no unit"),
        ("100 3", "'100 3' is no grade"),
        ("1.2.3 mg/m3", "'1.2.3' in"),
        ("5 mg/l", "unit is 'mg/l'"),
        ("5 ft", "unit is 'ft'"),
    ],
)
def test_what_is_no_grade_says_what_is(text: str, problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        parse_quantity(text, "grade")


def test_an_unknown_unit_lists_the_known_ones() -> None:
    with pytest.raises(ValueError, match="one of m, cm, mm, ft, in"):
        to_inside(1.0, "ell", "length")


def test_measures_show_in_the_users_units() -> None:
    feet, unit = FEET_AND_YARDS.show(0.3048, "length")
    assert feet == pytest.approx(1.0)
    assert unit == "ft"
    assert METRIC.show(1500.0, "mass") == (1.5, "g")
    assert set(MEASURES) == {"metric", "feet"}
