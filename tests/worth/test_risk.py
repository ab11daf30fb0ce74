"""Chances, turning points and the worth of knowing, redone by hand."""

from dataclasses import replace

import numpy as np
import numpy.testing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pennyweight.records import Ground
from pennyweight.worth.risk import (
    break_even_price,
    chance_of_loss,
    swing_terms,
    worth_of_knowing,
)
from pennyweight.worth.terms import Terms, read_terms

GOLD_MG = np.array([1.0e5, 2.0e5, 3.0e5, 4.0e5])


def terms() -> Terms:
    return read_terms(
        Ground(
            gold_price_per_g=60.0,
            fineness=850.0,
            costs={"wash_per_m3": 10.0, "strip_per_m3": 3.0, "fixed": 1000.0},
            plant={"recovery": 0.8, "m3_per_hour": 5.0},
        )
    )


def margin_of(one: Terms) -> np.ndarray:
    return GOLD_MG * one.value_per_mg - 500.0 * one.washing - one.fixed


def test_chance_of_loss_counts_draws_below_nothing() -> None:
    assert chance_of_loss(np.array([-5.0, 0.0, 1.0, 2.0])) == 0.25
    with pytest.raises(ValueError, match="0 draws"):
        chance_of_loss(np.array([]))


def test_knowing_is_worth_what_it_saves_or_finds() -> None:
    """Mine now: mean 100. Knowing, the loss of 100 is left: mean 150."""
    assert worth_of_knowing(np.array([-100.0, 300.0])) == pytest.approx(50.0)
    assert worth_of_knowing(np.array([-300.0, 100.0])) == pytest.approx(50.0)
    assert worth_of_knowing(np.array([100.0, 300.0])) == 0.0


@given(arrays(np.float64, 7, elements=st.floats(-1e5, 1e5)))
def test_knowing_is_never_worth_less_than_nothing(margin: np.ndarray) -> None:
    assert worth_of_knowing(margin) >= -1e-9


def test_at_the_break_even_price_the_margin_is_nothing() -> None:
    now = terms()
    revenue = GOLD_MG * now.value_per_mg
    cost = revenue - margin_of(now)
    even = replace(now, price_per_g=break_even_price(revenue, cost, now.price_per_g))
    npt.assert_allclose(margin_of(even).mean(), 0.0, atol=1e-6)
    assert break_even_price(np.zeros(2), np.ones(2), 60.0) == float("inf")


def test_swings_agree_with_hand_arithmetic() -> None:
    """Revenue 10,200 at 60 a gram: a fifth off the price is 2,040 off the margin."""
    swings = {one.name: one for one in swing_terms(terms(), margin_of, GOLD_MG)}
    middle = margin_of(terms()).mean()
    npt.assert_allclose(middle - swings["price_per_g"].low, 2040.0)
    npt.assert_allclose(middle - swings["fixed"].low, 300.0)
    assert "strip_per_m3" not in swings
    npt.assert_allclose(
        [swings["gold"].low, swings["gold"].high], margin_of(terms())[[0, -1]]
    )


def test_swings_stand_in_the_order_of_their_strength() -> None:
    widths = [one.high - one.low for one in swing_terms(terms(), margin_of, GOLD_MG)]
    assert [abs(one) for one in widths] == sorted(
        (abs(w) for w in widths), reverse=True
    )


def test_recovery_never_swings_above_all_the_gold() -> None:
    sure = replace(terms(), recovery=1.0)
    swing = next(
        s for s in swing_terms(sure, margin_of, GOLD_MG) if s.name == "recovery"
    )
    npt.assert_allclose(swing.high, margin_of(sure).mean())


def test_gold_that_is_exactly_known_does_not_swing() -> None:
    gold = np.full(4, 2.0e5)
    names = {one.name for one in swing_terms(terms(), margin_of, gold)}
    assert "gold" not in names
    assert "price_per_g" in names
