"""What flow it took to move a stone: printed values and the mix of relations."""

import numpy as np
import pytest

from pennyweight.highwater import competence
from pennyweight.highwater.competence import (
    RELATIONS,
    Estimate,
    clarke_speed,
    estimates_of,
    mixed_draws,
)

PRINTED = 1e-4


@pytest.mark.parametrize(
    ("number", "size_mm", "expected"),
    [
        (0, 100.0, 1.6954),
        (0, 500.0, 3.71254),
        (0, 1000.0, 5.20322),
        (1, 500.0, 3.24304),
        (1, 1000.0, 4.27921),
        (1, 2000.0, 5.64645),
        (2, 1000.0, 2.05548),
        (3, 1000.0, 709.884),
        (5, 1000.0, 170.0),
        (6, 1000.0, 3428.64),
        (8, 1000.0, 627.5),
    ],
)
def test_printed_relations(number: int, size_mm: float, expected: float) -> None:
    """Costa (1983) and Williams (1983)."""
    found = float(RELATIONS[number].at(size_mm))
    assert found == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize(
    ("size_m", "expected"), [(0.5, 3.06736), (1.0, 4.3379), (2.0, 6.13472)]
)
def test_clarkes_balance_of_forces(size_m: float, expected: float) -> None:
    """Bed angle 0.02 rad, rock 2700 kg/m3; grows with the root of the size."""
    found = clarke_speed(size_m, np.tan(0.02), rock_kg_m3=2700.0)
    assert float(found) == pytest.approx(expected, rel=PRINTED)


def test_costas_lines_belong_together() -> None:
    """Shear times speed is power: 1.08 at 1 m for the averages."""
    speed, shear, power = (float(RELATIONS[i].at(1000.0)) for i in (0, 3, 6))
    assert speed * shear / power == pytest.approx(1.08, abs=0.01)


def test_no_scatter_is_below_a_factor_of_two_in_speed() -> None:
    for one in estimates_of(0.8, slope=0.02, median_m=0.2):
        least = {"speed": 2.0, "shear": 1.5, "power": 8.0}[one.quantity]
        assert one.scatter >= least


def test_relations_that_need_a_slope_or_a_bed_wait_for_it() -> None:
    without = {one.source for one in estimates_of(0.8)}
    with_both = {one.source for one in estimates_of(0.8, slope=0.02, median_m=0.3)}
    assert with_both - without == {
        "Clarke (1996)",
        "Lamb et al. (2008)",
        "Andrews (1983)",
    }


def test_lower_limits_enter_no_average() -> None:
    """The draws' median lies between the mean relations, above every limit."""
    found = estimates_of(1.0)
    draws = mixed_draws(found, "speed", n_draws=4000, rng=np.random.default_rng(1))
    means = [e.value for e in found if e.role == "mean" and e.quantity == "speed"]
    assert min(means) < np.median(draws) < max(means)


def test_one_relation_gives_its_own_scatter() -> None:
    """Factor 2 holds the middle 80 %: p90 / p50 = p50 / p10 = 2."""
    one = (Estimate("", "", "speed", "mean", 3.0, 2.0, True),)
    draws = mixed_draws(one, "speed", n_draws=40_000, rng=np.random.default_rng(2))
    p10, p50, p90 = np.quantile(draws, (0.1, 0.5, 0.9))
    assert [p10, p50, p90] == pytest.approx([1.5, 3.0, 6.0], rel=0.03)


def test_relations_drawn_from_other_stones_wait_behind_the_rest() -> None:
    """At 0.2 m the line for stones over 0.5 m is left out: median near 2.38 m/s."""
    draws = mixed_draws(
        estimates_of(0.2), "speed", n_draws=40_000, rng=np.random.default_rng(3)
    )
    assert np.median(draws) == pytest.approx(0.18 * 200.0**0.487, rel=0.03)


def test_a_quantity_without_a_mean_is_named() -> None:
    lower = (Estimate("", "", "speed", "lower", 3.0, 2.0, True),)
    with pytest.raises(ValueError, match="none of 1 relations gives a mean speed"):
        mixed_draws(lower, "speed", n_draws=5, rng=np.random.default_rng(4))


def test_stones_that_cannot_be_are_named() -> None:
    with pytest.raises(ValueError, match=r"measures 0\.0 m"):
        estimates_of(0.0)
    with pytest.raises(ValueError, match=r"900\.0 kg/m3"):
        clarke_speed(1.0, 0.02, rock_kg_m3=900.0)
    with pytest.raises(ValueError, match=r"slope of 0\.5"):
        clarke_speed(1.0, 0.5)


def test_a_relation_says_which_stones_it_covers() -> None:
    assert competence.RELATIONS[1].covers(600.0)
    assert not competence.RELATIONS[1].covers(400.0)
