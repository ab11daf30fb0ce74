"""Mean rates told by counts, and the grade of ground that was mined before."""

import numpy as np
import pytest
from scipy.stats import gamma, nbinom

from pennyweight.spread import spread_of
from pennyweight.worth.rates import fit_mean_rate
from pennyweight.worth.workedground import fit_grade_of_kind, regrade_worked

ONE_PERCENT = 0.01
#: A share of 400 grounds is known to two standard errors of 0.02 each.
TWO_ERRORS = 0.045


def test_the_posterior_is_that_of_a_rule_done_by_hand() -> None:
    """Summed over the same priors by a plain double loop, for 12 colors in 3."""
    found = fit_mean_rate([12.0], [3.0])
    rates, total, first = np.geomspace(1e-3, 1e3, 3001), 0.0, 0.0
    for score in np.linspace(-1.75, 3.0, 25):
        shape = np.exp(0.8 * score)
        chance = nbinom.pmf(12, shape, shape / (shape + 3.0 * rates))
        weight = chance * np.sqrt(3.0 * rates / (shape + 3.0 * rates))
        weight *= np.exp(-(score**2) / 2.0) / (1.0 + (rates / (10.0 * 15.0 / 3.0)) ** 2)
        total += weight.sum()
        first += weight[rates < 4.0].sum()
    share = np.cumsum(found.weights.sum(axis=1))
    below = np.interp(np.log(4.0), np.log(found.rates), share)
    assert below == pytest.approx(first / total, abs=2 * ONE_PERCENT)


def test_nothing_seen_leaves_the_upper_limit_of_jeffreys() -> None:
    """Gamma(1/2): the median of the rate is 0.227 over the exposure; uneven: more."""
    found = fit_mean_rate([0.0], [4.0])
    drawn, _ = found.draw(40_000, np.random.default_rng(1))
    assert np.median(drawn) > gamma.ppf(0.5, 0.5) / 4.0 * (1.0 - 5 * ONE_PERCENT)
    assert found.rates[0] > 0.0


def test_a_place_without_gold_does_not_leave_the_mean_without_bound() -> None:
    """Nothing in 8: the mean stays under three colors' worth, 3 / 8."""
    found = fit_mean_rate([0.0], [8.0])
    drawn, _ = found.draw(40_000, np.random.default_rng(2))
    assert found.mean() < 3.0 / 8.0
    assert drawn.mean() == pytest.approx(found.mean(), rel=0.05)


def test_more_places_tell_the_mean_better() -> None:
    few = fit_mean_rate([10.0, 14.0], [1.0, 1.0])
    many = fit_mean_rate([10.0, 14.0] * 8, [1.0] * 16)
    widths = []
    for one in (few, many):
        drawn, _ = one.draw(20_000, np.random.default_rng(2))
        widths.append(np.log(drawn).std())
    assert widths[1] < widths[0] / 2.0
    assert many.place_cv() < few.place_cv()


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """200 made grounds from the prior: 80 % intervals hold the mean in 80 %."""
    rng = np.random.default_rng(20261)
    held = []
    for _ in range(400):
        shape = np.exp(0.8 * rng.standard_normal())
        places = int(rng.integers(3, 12))
        exposure = rng.uniform(0.5, 3.0, places)
        rates = 8.0 * rng.gamma(shape, 1.0 / shape, places)
        found = fit_mean_rate(rng.poisson(rates * exposure), exposure)
        share = np.cumsum(found.weights.sum(axis=1))
        low, high = np.interp((0.1, 0.9), share, found.rates)
        held.append(low <= 8.0 <= high)
    assert abs(np.mean(held) - 0.8) < TWO_ERRORS


def test_one_more_place_is_less_sure_than_the_mean() -> None:
    found = fit_mean_rate([3.0, 40.0, 12.0], [1.0, 1.0, 1.0])
    rng = np.random.default_rng(3)
    mean = spread_of(found.draw(20_000, rng)[0])
    place = spread_of(found.draw_place(20_000, rng))
    assert mean is not None
    assert place is not None
    assert place.p10 < mean.p10 < mean.p90 < place.p90


@pytest.mark.parametrize(
    ("counts", "exposure"), [([], []), ([-1.0], [1.0]), ([1.0], [0.0])]
)
def test_counts_that_cannot_be_are_named(
    counts: list[float], exposure: list[float]
) -> None:
    with pytest.raises(ValueError, match=r"counts"):
        fit_mean_rate(counts, exposure)


def test_the_grade_of_worked_ground_is_gold_over_volume() -> None:
    """60 colors of 0.5 mg in 0.2 m3, half of them found: 300 mg/m3 in place."""
    found = fit_grade_of_kind(
        [0.1, 0.1] * 6,
        [15.0, 15.0] * 6,
        [0.5] * 12,
        recovery=[0.5] * 12,
        place=range(12),
    )
    assert found is not None
    drawn, _ = found.draw(20_000, np.random.default_rng(4))
    assert np.median(drawn) == pytest.approx(150.0, rel=0.05)


def test_samples_of_one_dig_are_one_place() -> None:
    """They repeat one another: three digs tell more than three pans of one dig."""
    one, three = (
        fit_grade_of_kind(
            [0.1] * 3, [10.0] * 3, [0.5] * 3, recovery=[1.0] * 3, place=place
        )
        for place in ([0, 0, 0], [0, 1, 2])
    )
    assert one is not None
    assert three is not None
    rng = np.random.default_rng(5)
    assert np.log(three.draw(9000, rng)[0]).std() < np.log(one.draw(9000, rng)[0]).std()


def test_ground_without_a_sample_has_no_grade_of_its_own() -> None:
    assert fit_grade_of_kind([], [], [], recovery=[], place=[]) is None


def test_a_volume_of_nothing_is_named() -> None:
    with pytest.raises(ValueError, match=r"0\.0 m3"):
        fit_grade_of_kind([0.0], [1.0], [0.5], recovery=[1.0], place=[0])


def test_worked_columns_get_their_own_gold_and_others_keep_theirs() -> None:
    """2 m3 at 50 mg/m3 are 100 mg, whatever was traced there before."""
    gold, pay = np.full((2, 2, 1, 2), 900.0), np.full((2, 2, 1, 2), 2.0)
    found = regrade_worked(
        gold, pay, np.array([[True, False]]), grade_mg_m3=np.array([50.0, 10.0])
    )
    assert found[..., 0].tolist() == [[[100.0], [100.0]], [[20.0], [20.0]]]
    assert (found[..., 1] == 900.0).all()


def test_every_draw_needs_its_grade() -> None:
    with pytest.raises(ValueError, match=r"3 grades for 2 draws"):
        regrade_worked(
            np.zeros((2, 1, 1, 1)),
            np.zeros((2, 1, 1, 1)),
            np.array([[True]]),
            grade_mg_m3=np.zeros(3),
        )
