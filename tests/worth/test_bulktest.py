"""The bulk test: volumes by hand, verdicts against simulated tests."""

import numpy as np
import pytest
from scipy.stats import norm

from pennyweight.worth.bulktest import (
    GroundToTest,
    Work,
    describe_test,
    foresee_results,
    grain_rel_variance,
    plan_bulk_test,
    spread_places,
    volume_for_error_m3,
)

ONE_PERCENT = 0.01
EVEN = GroundToTest(
    grade_mg_m3=200.0,
    color_mg=0.5,
    color_cv=1.0,
    place_cv=0.0,
    volume_rel_sd=0.0,
    recovery_rel_sd=0.0,
)
USUAL = GroundToTest(grade_mg_m3=300.0, color_mg=0.4, color_cv=1.5, place_cv=0.8)
WORK = Work(
    washes_m3_per_hour=0.5,
    digs_m3_per_hour=0.7,
    strip_ratio=1.0,
    water_m3_per_hour=20.0,
)


def test_the_volume_of_even_ground_by_hand() -> None:
    """(1.2816 / 0.25)^2 x (1 + 1) x 0.5 mg / 200 mg/m3 = 0.1314 m3."""
    found = volume_for_error_m3(EVEN, 0.25, sure=0.80, places=1)
    assert found == pytest.approx(0.1314, rel=ONE_PERCENT)


def test_nuggets_add_their_own_luck() -> None:
    """0.5 nuggets of 100 mg a m3: 0.5 x 100^2 x 2 / 300^2 = 0.111 in one m3."""
    ground = GroundToTest(
        grade_mg_m3=300.0,
        color_mg=0.4,
        color_cv=0.0,
        place_cv=0.0,
        nuggets_per_m3=0.5,
        nugget_mg=100.0,
    )
    assert grain_rel_variance(ground, 1.0) == pytest.approx(
        0.4 / 300.0 + 10_000 / 90_000
    )


def test_no_volume_from_one_place_tells_uneven_ground() -> None:
    assert volume_for_error_m3(USUAL, 0.25, sure=0.80, places=1) is None


def test_the_plan_keeps_the_error_that_was_asked_for() -> None:
    plan = plan_bulk_test(USUAL, WORK, 0.40, sure=0.80)
    assert plan is not None
    assert plan.rel_sd * norm.ppf(0.9) <= 0.40 * (1.0 + ONE_PERCENT)
    parts = plan.from_grains**2 + plan.from_places**2 + plan.from_measuring**2
    assert parts == pytest.approx(plan.rel_sd**2)


def test_no_other_number_of_places_takes_fewer_hours() -> None:
    """Tried one by one, the volume of each solved by halving the error's formula."""
    plan = plan_bulk_test(USUAL, WORK, 0.40, sure=0.80)
    assert plan is not None
    hours = []
    for places in range(1, 61):
        volume = np.linspace(places * 0.1, 30.0, 30_000)
        rel_sd = np.sqrt(
            0.4 * (1.0 + 1.5**2) / 300.0 / volume + 0.64 / places + 2 * 0.05**2
        )
        enough = volume[rel_sd * 1.2815516 <= 0.40]
        if len(enough):
            hours.append(WORK.hours(float(enough[0]), places))
    assert plan.hours == pytest.approx(min(hours), rel=ONE_PERCENT)


def test_hours_and_water_by_hand() -> None:
    """4 m3 from 3 places: 3 x 1.5 + 4 / 0.5 + 4 x 2 / 0.7 = 23.93 h; 160 m3."""
    plan = describe_test(USUAL, WORK, places=3, bank_m3=4.0)
    assert plan.hours == pytest.approx(23.93, abs=0.01)
    assert plan.water_m3 == pytest.approx(160.0)


def test_simulated_tests_lie_within_the_error_as_often_as_planned() -> None:
    """4000 tests of made ground: gamma places, Poisson grains of gamma mass."""
    rng = np.random.default_rng(61_203)
    plan = plan_bulk_test(USUAL, WORK, 0.40, sure=0.80)
    assert plan is not None
    tests, shape = 4000, 1.0 / 0.8**2
    places = 300.0 * rng.gamma(shape, 1.0 / shape, (tests, plan.places))
    expected = places * plan.bank_m3 / plan.places / 0.4
    grains = rng.poisson(expected).sum(axis=1)
    mass_shape = 1.0 / 1.5**2
    gold = rng.gamma(np.maximum(grains * mass_shape, 1e-9), 0.4 / mass_shape)
    error = 1.0 + np.hypot(0.05, 0.05) * rng.standard_normal(tests)
    result = gold / plan.bank_m3 * error
    within = np.abs(result / 300.0 - 1.0) <= 0.40
    # Few uneven places make a skewed result: the normal law errs to the safe side.
    assert 0.79 < np.mean(within) < 0.85
    assert result.std() / 300.0 == pytest.approx(plan.rel_sd, rel=0.05)


def test_verdicts_come_as_often_as_foreseen() -> None:
    """20,000 grounds from the prior, each tested: the same shares, and few wrong."""
    rng = np.random.default_rng(99_731)
    prior = 250.0 * np.exp(0.6 * rng.standard_normal(400))
    look = foresee_results(prior, 0.25, threshold_mg_m3=250.0, sure=0.9)
    assert look.confirms_above_mg_m3 is not None
    assert look.refutes_below_mg_m3 is not None
    truth = rng.choice(prior, 20_000)
    sd = np.sqrt(np.log1p(0.25**2))
    result = truth * np.exp(sd * rng.standard_normal(20_000) - sd**2 / 2.0)
    confirmed = result > look.confirms_above_mg_m3
    refuted = result < look.refutes_below_mg_m3
    assert confirmed.mean() == pytest.approx(look.chance_confirmed, abs=ONE_PERCENT)
    assert refuted.mean() == pytest.approx(look.chance_refuted, abs=ONE_PERCENT)
    wrong = (confirmed & (truth <= 250.0)) | (refuted & (truth > 250.0))
    assert wrong.mean() == pytest.approx(look.chance_wrong, abs=ONE_PERCENT)
    at_limit = np.abs(result / look.confirms_above_mg_m3 - 1.0) < 0.03
    assert np.mean(truth[at_limit] > 250.0) == pytest.approx(0.9, abs=0.05)


def test_what_is_believed_already_is_confirmed_by_any_result() -> None:
    look = foresee_results(np.full(100, 500.0), 0.3, threshold_mg_m3=100.0, sure=0.9)
    assert look.refutes_below_mg_m3 is None
    assert look.chance_refuted == 0.0
    assert look.confirms_above_mg_m3 is not None
    assert look.confirms_above_mg_m3 < 500.0 * np.exp(-6.0 * 0.29)
    assert look.chance_confirmed == pytest.approx(1.0)


def test_what_cannot_pay_is_refuted_by_any_result() -> None:
    look = foresee_results(np.full(100, 50.0), 0.3, threshold_mg_m3=400.0, sure=0.9)
    assert look.confirms_above_mg_m3 is None
    assert look.chance_refuted == pytest.approx(1.0)


def test_places_are_the_middles_of_equal_shares_of_pay() -> None:
    """Pay 1, 1, 6 in a walk: two halves of 4 each, middles at 2 and 6."""
    assert spread_places([1.0, 1.0, 6.0], 2) == [1, 2]
    assert spread_places([0.0, 5.0, 0.0], 3) == [1]


def test_what_cannot_be_is_named() -> None:
    with pytest.raises(ValueError, match=r"grade is 0\.0"):
        GroundToTest(grade_mg_m3=0.0, color_mg=1.0, color_cv=1.0, place_cv=1.0)
    with pytest.raises(ValueError, match=r"-1\.0"):
        GroundToTest(grade_mg_m3=1.0, color_mg=1.0, color_cv=1.0, place_cv=-1.0)
    with pytest.raises(ValueError, match=r"bank_m3 is 0\.0"):
        grain_rel_variance(EVEN, 0.0)
    with pytest.raises(ValueError, match="0 places"):
        volume_for_error_m3(EVEN, 0.2, sure=0.8, places=0)
    with pytest.raises(ValueError, match=r"sure 1\.0"):
        plan_bulk_test(EVEN, WORK, 0.2, sure=1.0)
    with pytest.raises(ValueError, match=r"threshold 0\.0"):
        foresee_results(np.ones(3), 0.2, threshold_mg_m3=0.0, sure=0.9)
    with pytest.raises(ValueError, match=r"hold 0\.0"):
        spread_places([0.0], 1)
