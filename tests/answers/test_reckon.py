"""The calculator for a single pan."""

import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.reckon import PanMore, reckon_pan, say_pan
from pennyweight.errors import CallError
from pennyweight.units import FEET_AND_YARDS


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


@pytest.mark.parametrize("pans", [float("inf"), float("nan"), 1e6])
def test_endless_pans_are_told_what_is_allowed(pans: float) -> None:
    with pytest.raises(CallError, match=f"pans is {pans}.*below a million"):
        reckon_pan(pans, 3)


def test_sized_colors_are_no_guess_at_weight() -> None:
    """Colors of 0.5-1 mm weigh several times what unsized ones are supposed to."""
    sized = reckon_pan(3, 5, more=PanMore(size_class="0.5-1"))
    unsized = reckon_pan(3, 5)
    assert sized.grade_mg_m3 is not None
    assert unsized.grade_mg_m3 is not None
    assert sized.grade_mg_m3.p50 > 2.0 * unsized.grade_mg_m3.p50
    assert sized.cautions == ()
    assert "color_mg_0.5-1" in sized.assumptions


def test_everything_supposed_of_a_pan_can_be_told() -> None:
    """But for what grounds are like, which only washing tells."""
    more = PanMore(
        size_class="0.5-1",
        weighed_mg=12.0,
        balance_mg=0.1,
        put_in=50,
        found=45,
        fineness=900.0,
    )
    found = reckon_pan(3, 20, 0.006, swell=0.2, more=more)
    assert found.assumptions.keys() == {"grade_prior_mg_m3"}


def test_gold_that_was_only_weighed_is_reckoned() -> None:
    found = reckon_pan(3, None, more=PanMore(weighed_mg=1.2, balance_mg=0.1))
    assert found.plain.startswith("1.2 mg of gold in 3 pans")
    assert found.exact_mg_m3 is None


def test_less_than_the_balance_reads_is_not_zero() -> None:
    found = reckon_pan(3, None, more=PanMore(weighed_mg=0.0, balance_mg=0.1))
    assert "That is not zero" in found.plain
    assert "at most" in found.plain


def test_a_pan_is_said_in_the_readers_units() -> None:
    found = reckon_pan(3, 3)
    assert "mg/yd\u00b3" in say_pan(found, FEET_AND_YARDS)
    assert "mg/m\u00b3" in found.plain


@pytest.mark.parametrize(
    ("more", "text"),
    [
        (PanMore(weighed_mg=-1.0), "weigh -1 mg"),
        (PanMore(weighed_mg=1e15), r"weigh 1e\+15 mg"),
        (PanMore(balance_mg=0.0), "reads to 0 mg"),
        (PanMore(put_in=20), "two numbers"),
        (PanMore(put_in=20, found=21), "21 of 20 grains"),
        (PanMore(fineness=90.0), "fineness is 90"),
    ],
)
def test_what_no_balance_or_test_can_give_is_refused(more: PanMore, text: str) -> None:
    with pytest.raises(CallError, match=text):
        reckon_pan(1, 1, more=more)


def test_neither_colors_nor_weight_is_nothing_to_reckon() -> None:
    with pytest.raises(CallError, match="colors and weight are missing"):
        reckon_pan(1, None)
