"""How much to wash, against hand arithmetic and the laws behind it."""

from typing import Any

import numpy as np
import pytest

from pennyweight.sampling import adequacy
from pennyweight.sampling.posterior import counts_log_probability


def test_expected_colors_agree_with_hand_arithmetic() -> None:
    """170 mg/m3 x 0.1 m3 x 0.9 / 0.17 mg = 90."""
    found = adequacy.expected_colors(170.0, 0.1, 0.17, recovery=0.9)
    assert found == pytest.approx(90.0)


def test_paying_gravel_gives_a_blank_pan_more_often_where_it_is_patchy() -> None:
    even, patchy = adequacy.chance_of_blank(2.0), adequacy.chance_of_blank(2.0, 0.3)
    assert even == pytest.approx(np.exp(-2.0))
    assert patchy == pytest.approx(float(np.exp(counts_log_probability(0, 2.0, 0.3))))
    assert patchy > even


def test_twenty_colors_lie_in_the_volume_that_holds_them() -> None:
    volume = adequacy.volume_for_colors_m3(200.0, 0.17)
    assert adequacy.expected_colors(200.0, volume, 0.17) == pytest.approx(20.0)


def test_uneven_colors_need_more_of_them() -> None:
    """1 + 2^2: five times as many."""
    even = adequacy.colors_for_error(0.25)
    assert adequacy.colors_for_error(0.25, color_cv=2.0) == pytest.approx(5.0 * even)


def test_colors_for_an_error_keep_it_in_a_simulation() -> None:
    """Poisson counts about the number that is asked for lie within 25 % in 80 %."""
    rng = np.random.default_rng(2)
    wanted = adequacy.colors_for_error(0.25, probability=0.80)
    counts = rng.poisson(wanted, size=200_000)
    inside = (np.abs(counts / wanted - 1.0) <= 0.25).mean()
    assert inside == pytest.approx(0.80, abs=0.03)


def test_blank_pans_clear_ground_by_the_rule_of_three() -> None:
    """Ln 20 = 3.0 colors; at half a color a pan, six pans."""
    assert adequacy.blank_pans_to_clear(0.5) == pytest.approx(2.0 * np.log(20.0))


def test_pan_and_dig_agree_with_the_variance_formula() -> None:
    """(1 + 4 / 2) / 3 = 1 now; (1 + 4 / 3) / 3 and (1 + 4 / 2) / 4 after."""
    step = adequacy.weigh_pan_against_dig(
        1.0, 2.0, digs=3, pans=2.0, hours_per_dig=4.0, hours_per_pan=0.25
    )
    assert step.rel_sd == pytest.approx(1.0)
    assert step.rel_sd_more_pans**2 == pytest.approx(7.0 / 9.0)
    assert step.rel_sd_more_digs**2 == pytest.approx(0.75)
    assert step.pan_gain_per_hour == pytest.approx((1.0 - 7.0 / 9.0) / 0.75)
    assert step.dig_gain_per_hour == pytest.approx(0.25 / 4.5)


def test_the_best_number_of_pans_is_best() -> None:
    """Least variance for a fixed number of hours, by trying."""
    best = adequacy.weigh_pan_against_dig(
        0.8, 1.6, digs=3, pans=2.0, hours_per_dig=3.0, hours_per_pan=0.5
    ).best_pans
    pans = np.linspace(0.5, 20.0, 2000)
    variance = (0.8**2 + 1.6**2 / pans) * (3.0 + 0.5 * pans)
    assert pans[np.argmin(variance)] == pytest.approx(best, abs=0.02)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: adequacy.expected_colors(-1.0, 1.0, 1.0), "grade is -1.0"),
        (lambda: adequacy.expected_colors(1.0, 1.0, 0.0), "color_mg is 0.0"),
        (lambda: adequacy.expected_colors(1.0, 1.0, 1.0, recovery=2.0), "is 2.0"),
        (lambda: adequacy.chance_of_blank(-1.0), "colors are -1.0"),
        (lambda: adequacy.colors_for_error(0.1, probability=1.0), "probability is 1"),
        (lambda: adequacy.blank_pans_to_clear(1.0, 0.0), "probability is 0"),
        (lambda: adequacy.pans_for_error(0.1, 0.0), "colors_per_pan is 0.0"),
    ],
)
def test_what_is_not_allowed_is_named(call: Any, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        call()
