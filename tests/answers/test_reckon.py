"""The calculator for a single pan."""

import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.reckon import reckon_pan
from pennyweight.errors import CallError


def test_ten_pans_are_fifty_liters_of_ground() -> None:
    """10 x 6 l / 1.2."""
    found = reckon_pan(10, 30, 0.006, swell=0.2)
    assert found.bank_m3 == pytest.approx(0.05)
    assert found.assumptions.keys() == {
        "color_mg",
        "recovery_share",
        "fineness",
        "grade_prior_mg_m3",
    }


def test_it_prints_one_sample_of_grade() -> None:
    found = to_json(reckon_pan(2, 3))
    assert {"bank_m3", "colors", "grade_mg_m3", "reliability"} <= set(found)
    assert found["grade_mg_m3"]["p10"] < found["grade_mg_m3"]["p50"]
    assert found["assumptions"]["swell"] == 0.2


def test_three_colors_say_how_little_they_mean() -> None:
    plain = reckon_pan(2, 3, 0.006, swell=0.2).plain
    assert "3 colors in 2 pans, 10 liters" in plain
    assert "20 colors" in plain


def test_no_color_is_no_zero() -> None:
    """One pan in ten shows none where ln 10 = 2.3 are expected."""
    found = reckon_pan(1, 0, 0.006, swell=0.2)
    assert "up to 2.3 colors a pan" in found.plain
    assert found.grade_mg_m3 is not None
    assert found.grade_mg_m3.p90 > 0.0
    assert found.pans_for_20_colors is None


def test_one_color_and_one_pan_are_singular() -> None:
    assert reckon_pan(1, 1, 0.006, swell=0.2).plain.startswith("1 color in 1 pan,")


def test_many_colors_need_no_advice() -> None:
    assert "20 colors" not in reckon_pan(4, 50).plain


@pytest.mark.parametrize(
    ("pans", "colors", "liters", "swell", "text"),
    [
        (0.0, 1, None, None, "pans is 0.0"),
        (1.0, -1, None, None, "colors is -1"),
        (1.0, 1, 0.0, None, "holds 0 l"),
        (1.0, 1, None, 1.0, "swell is 1.0"),
    ],
)
def test_what_no_pan_can_give_is_refused(
    pans: float, colors: int, liters: float | None, swell: float | None, text: str
) -> None:
    with pytest.raises(CallError, match=text):
        reckon_pan(pans, colors, liters, swell=swell)
