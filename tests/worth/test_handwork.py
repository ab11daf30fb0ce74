"""Gold for an hour of hand work: by hand, and over made seasons."""

import numpy as np
import pytest

from pennyweight.spread import Spread
from pennyweight.worth.handwork import money_per_hour, weigh_hours, weigh_volumes

ONE_PERCENT = 0.01


def test_gold_over_hours_lies_in_its_interval() -> None:
    """Ten outings of 8 h and 400 mg each: 50 mg an hour."""
    found = weigh_hours(
        [400.0] * 10, [8.0] * 10, color_mg=0.5, rng=np.random.default_rng(1)
    )
    assert found is not None
    assert (found.hours, found.gold_mg) == (80.0, 4000.0)
    assert found.per_hour.p50 == pytest.approx(50.0, rel=0.05)
    assert found.next_per_hour.p10 < found.per_hour.p10
    assert found.next_per_hour.p90 > found.per_hour.p90


def test_the_interval_holds_the_mean_rate_of_made_seasons() -> None:
    """300 seasons of a seed never looked at; days differ by a gamma law."""
    rng = np.random.default_rng(550_911)
    held = []
    for _ in range(300):
        shape = np.exp(0.8 * rng.standard_normal())
        days = int(rng.integers(3, 15))
        hours = rng.uniform(2.0, 9.0, days)
        rates = 40.0 * rng.gamma(shape, 1.0 / shape, days)
        colors = rng.poisson(rates * hours / 0.5)
        found = weigh_hours(colors * 0.5, hours, color_mg=0.5, rng=rng)
        assert found is not None
        held.append(found.per_hour.p10 <= 40.0 <= found.per_hour.p90)
    assert abs(np.mean(held) - 0.8) < 0.05


def test_days_without_gold_count_as_nothing_won_not_as_unknown() -> None:
    rng = np.random.default_rng(2)
    all_won = weigh_hours([400.0] * 4, [8.0] * 4, color_mg=0.5, rng=rng)
    half = weigh_hours([400.0, 400.0, 0.0, 0.0], [8.0] * 4, color_mg=0.5, rng=rng)
    assert all_won is not None
    assert half is not None
    assert half.per_hour.p50 < 0.7 * all_won.per_hour.p50


def test_volumes_are_less_sure_than_hours() -> None:
    """The same ten outings, a volume of 2 m3 each: 200 mg/m3."""
    rng = np.random.default_rng(3)
    hours = weigh_hours([400.0] * 10, [8.0] * 10, color_mg=0.5, rng=rng)
    volume = weigh_volumes([400.0] * 10, [2.0] * 10, color_mg=0.5, rng=rng)
    assert hours is not None
    assert volume is not None
    assert volume.p50 == pytest.approx(200.0, rel=0.07)
    assert volume.half_width_share() > hours.per_hour.half_width_share()


def test_money_by_hand() -> None:
    """100 mg x 0.885 x 60 a g x 0.97 less 2 = 3.15 an hour."""
    found = money_per_hour(
        Spread(10.0, 100.0, 300.0, 120.0),
        60.0,
        fineness=885.0,
        payable=0.97,
        cost_per_hour=2.0,
    )
    assert found.p50 == pytest.approx(3.1507, abs=1e-4)
    assert found.p10 < 0.0


def test_no_outing_tells_nothing() -> None:
    rng = np.random.default_rng(4)
    assert weigh_hours([], [], color_mg=0.5, rng=rng) is None
    assert weigh_volumes([], [], color_mg=0.5, rng=rng) is None


def test_what_cannot_be_is_named() -> None:
    rng = np.random.default_rng(5)
    with pytest.raises(ValueError, match=r"hours down to 0\.0"):
        weigh_hours([1.0], [0.0], color_mg=0.5, rng=rng)
    with pytest.raises(ValueError, match=r"gold down to -1\.0"):
        weigh_volumes([-1.0], [1.0], color_mg=0.5, rng=rng)
    with pytest.raises(ValueError, match=r"price 0\.0"):
        money_per_hour(Spread(1, 1, 1, 1), 0.0, fineness=885.0)
