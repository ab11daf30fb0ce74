"""Charges and cutting, against the Poisson law and hand arithmetic."""

import math
from typing import Any

import numpy as np
import pytest

from pennyweight.sampling import cutting, fundamental
from pennyweight.sampling.gold import sphere_mass_mg


def test_free_gold_gives_the_poisson_law_back() -> None:
    """1 / sqrt(N) for N equal spheres in the charge."""
    charge_g, share = 50_000.0, 2e-7
    grains = charge_g * share * 1000.0 / sphere_mass_mg(0.5, 17.5)
    factor = math.pi / 6.0 * 17.5 / share
    found = fundamental.fundamental_rel_sd(charge_g, 0.05, factor)
    assert found == pytest.approx(1.0 / math.sqrt(grains))


def test_the_whole_lot_has_no_error() -> None:
    assert fundamental.fundamental_rel_sd(10.0, 0.1, 50.0, lot_g=10.0) == 0.0


def test_charge_and_error_turn_into_one_another() -> None:
    charge = fundamental.charge_for_error_g(0.07, 0.2, 30.0)
    assert fundamental.fundamental_rel_sd(charge, 0.2, 30.0) == pytest.approx(0.07)


def test_rock_ground_to_the_liberation_size_is_free() -> None:
    assert fundamental.liberation_factor(0.01, 0.015) == 1.0


def test_sichel_is_unbiased_for_lognormal_values() -> None:
    """Mean of 40,000 estimates from five values each, true mean exp(0.5)."""
    rng = np.random.default_rng(11)
    logs = rng.normal(0.0, 1.0, size=(40_000, 5))
    factors = [
        cutting.sichel_factor(5, v) * math.exp(m)
        for v, m in zip(logs.var(axis=1), logs.mean(axis=1), strict=True)
    ]
    assert np.mean(factors) == pytest.approx(math.exp(0.5), rel=0.02)


def test_values_without_gold_have_no_share() -> None:
    assert cutting.cut_highest([0.0, 0.0]).highest_share == 0.0


def test_a_recut_that_is_higher_changes_nothing() -> None:
    assert cutting.recut_mean([10.0, 20.0], {0: 50.0}) == pytest.approx(15.0)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: fundamental.mineral_factor_g_cm3(1.0, 7.5, 2.65), "share is 1.0"),
        (lambda: fundamental.fundamental_rel_sd(0.0, 0.1, 1.0), "charge is 0.0 g"),
        (lambda: fundamental.charge_for_error_g(0.0, 0.1, 1.0), "rel_sd is 0.0"),
        (lambda: cutting.lognormal_mean([1.0]), "values are"),
        (lambda: cutting.cut_highest([1.0]), "values are"),
    ],
)
def test_what_is_not_allowed_is_named(call: Any, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        call()
