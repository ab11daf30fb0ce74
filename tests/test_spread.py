"""How sure a number is, and the words for it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.spread import Spread, probability_word, spread_of


def test_points_of_a_hundred_and_one_draws() -> None:
    """0 to 100: the 10, 50 and 90 % points are 10, 50 and 90."""
    found = spread_of(np.arange(101.0))
    assert found == Spread(10.0, 50.0, 90.0, 50.0)


def test_draws_without_the_quantity_are_left_out() -> None:
    assert spread_of([np.nan, 4.0, np.nan]) == Spread(4.0, 4.0, 4.0, 4.0)
    assert spread_of([np.nan]) is None


@given(st.lists(st.floats(1e-4, 1e4), min_size=1, max_size=50))
def test_points_stand_in_order(draws: list[float]) -> None:
    found = spread_of(draws)
    assert found is not None
    assert found.p10 <= found.p50 <= found.p90


def test_a_factor_scales_every_point() -> None:
    assert Spread(1.0, 2.0, 4.0, 2.5).scaled(2.0) == Spread(2.0, 4.0, 8.0, 5.0)


def test_a_negative_factor_is_refused() -> None:
    with pytest.raises(ValueError, match=r"factor is -1\.0"):
        Spread(1.0, 2.0, 3.0, 2.0).scaled(-1.0)


def test_half_width_is_a_share_of_the_median() -> None:
    """(120 - 80) / 2 / 100 = 0.2."""
    assert Spread(80.0, 100.0, 120.0, 100.0).half_width_share() == pytest.approx(0.2)
    assert Spread(0.0, 0.0, 1.0, 0.2).half_width_share() == float("inf")


def test_json_has_the_four_keys() -> None:
    found = Spread(1.0, 2.0, 3.0, 2.1).as_json()
    assert found == {"p10": 1.0, "p50": 2.0, "p90": 3.0, "mean": 2.1}


@pytest.mark.parametrize(
    ("probability", "word"),
    [
        (0.99, "almost certain"),
        (0.70, "likely"),
        (0.50, "about even"),
        (0.10, "very unlikely"),
        (0.0, "almost ruled out"),
    ],
)
def test_a_probability_has_its_fixed_word(probability: float, word: str) -> None:
    assert probability_word(probability) == word


def test_no_word_for_what_is_no_probability() -> None:
    with pytest.raises(ValueError, match=r"probability is 1\.2"):
        probability_word(1.2)
