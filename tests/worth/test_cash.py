"""Season and purse: hand arithmetic, laws, every order, and a library of finance."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import numpy.testing as npt
import numpy_financial as npf  # type: ignore[import-untyped]
import pytest

from pennyweight.worth.cash import (
    WEEKS_PER_YEAR,
    CashCurve,
    follow_cash,
    present_value,
)
from pennyweight.worth.season import (
    Stretch,
    money_at_risk,
    order_stretches,
    plan_stretches,
)
from pennyweight.worth.terms import Terms
from tests.worth.test_cut import TERMS

#: 10 an hour, 40 hours a week, all of them running.
PAID = replace(
    TERMS, per_hour=10.0, hours_per_day=8.0, days_per_week=5.0, days=50.0, fixed=300.0
)


def stretches_of(
    terms: Terms, *, gold_mg: list[float], cover_m3: float = 100.0
) -> list[Stretch]:
    """Return stretches of 12 m with 50 m3 of pay each, upstream; one draw."""
    many = len(gold_mg)
    return plan_stretches(
        12.0 * np.arange(many + 1),
        terms,
        gold_mg=np.array([gold_mg]),
        pay_m3=np.full((1, many), 50.0),
        cover_m3=np.full((1, many), cover_m3),
        opened_m2=np.full(many, 100.0),
    )


def follow(stretches: list[Stretch], terms: Terms, seed: int = 1) -> CashCurve:
    return follow_cash(stretches, terms, np.random.default_rng(seed))


def test_the_purse_agrees_with_hand_arithmetic_week_by_week() -> None:
    """One stretch: 100 m3 at 20 an hour are 5 h, 50 m3 at 5 an hour 10 h: 15 h.

    First the season's 300. In the one week: 15 h at 10, 300 of stripping at 3, 500 of
    washing at 10, and 50,000 mg at 0.0408 bring 2,040.
    """
    curve = follow(stretches_of(PAID, gold_mg=[50_000.0]), PAID)
    npt.assert_allclose(curve.cash, [[-300.0, -300.0 - 150.0 - 300.0 - 500.0 + 2040.0]])
    npt.assert_allclose(curve.lowest, [300.0])
    npt.assert_allclose(curve.weeks_taken, [1.0])
    assert not curve.cut_off


def test_ground_is_stripped_before_it_is_washed() -> None:
    """1,600 m3 of cover take 80 h: two weeks go out before the first gold."""
    curve = follow(stretches_of(PAID, gold_mg=[900_000.0], cover_m3=1600.0), PAID)
    steps = np.diff(curve.cash[0])
    npt.assert_allclose(steps[:2], -(800.0 * 3.0 + 400.0))
    assert steps[2] > 0.0


@pytest.mark.parametrize("by_hours", [False, True])
def test_the_purse_ends_with_the_margin_where_nothing_breaks(by_hours: bool) -> None:
    terms = replace(
        PAID,
        reclaim_m2_per_hour=20.0,
        reclaim_per_m2=2.0,
        reclaim_by_hours=by_hours,
        boulder_share=0.1,
        bond=5000.0,
    )
    stretches = stretches_of(terms, gold_mg=[60_000.0, 20_000.0, 90_000.0])
    curve = follow(stretches, terms)
    margin = sum(float(one.margin[0]) for one in stretches) - 300.0
    npt.assert_allclose(curve.cash[0, -1], margin)
    assert curve.cash[0, 0] == pytest.approx(-5300.0)


def test_each_season_begun_costs_its_fixed_sum() -> None:
    """One week of 5 days a season: 15 h fit, 60 h begin a second one."""
    short = replace(PAID, days=5.0)
    curve = follow(stretches_of(short, gold_mg=[50_000.0] * 4), short)
    margin = 4.0 * (2040.0 - 150.0 - 300.0 - 500.0)
    npt.assert_allclose(curve.cash[0, -1], margin - 600.0)


def test_breakdowns_draw_the_season_out_and_cost_their_hours() -> None:
    broken = replace(PAID, availability=0.7)
    many = [
        replace(
            one,
            margin=np.repeat(one.margin, 400),
            revenue=np.repeat(one.revenue, 400),
            material=np.repeat(one.material, 400, axis=1),
            phases_h=np.repeat(one.phases_h, 400, axis=1),
            dip=np.repeat(one.dip, 400),
        )
        for one in stretches_of(broken, gold_mg=[50_000.0] * 12)
    ]
    curve = follow(many, broken)
    steady = follow(stretches_of(PAID, gold_mg=[50_000.0] * 12), PAID)
    assert curve.weeks_taken.mean() > steady.weeks_taken.mean()
    assert curve.cash[:, -1].std() > 0.0
    paid = steady.cash[0, -1] - curve.cash[:, -1].mean()
    npt.assert_allclose(paid, 12 * 15.0 * 10.0 * (1.0 / 0.7 - 1.0), rtol=0.05)


def test_a_plan_of_many_years_is_cut_off_and_says_so() -> None:
    slow = replace(PAID, m3_per_hour=0.01)
    curve = follow(stretches_of(slow, gold_mg=[50_000.0] * 4), slow)
    assert curve.cut_off
    assert np.isnan(curve.weeks_taken).all()


def test_no_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match=r"0 stretches"):
        follow([], PAID)


@pytest.mark.parametrize("percent", [0.0, 8.0, 35.0])
def test_present_value_agrees_with_a_library_of_finance(percent: float) -> None:
    cash = np.cumsum([-5000.0, 400.0, 900.0, -300.0, 2500.0, 3100.0])
    weekly = (1.0 + percent / 100.0) ** (1.0 / WEEKS_PER_YEAR) - 1.0
    expected = npf.npv(weekly, np.diff(cash, prepend=0.0))
    npt.assert_allclose(present_value(cash[None], percent), [expected])


def test_at_the_library_s_rate_of_return_the_purse_is_worth_nothing() -> None:
    dear = replace(PAID, fixed=8000.0)
    curve = follow(stretches_of(dear, gold_mg=[50_000.0] * 9), dear).cash[0]
    weekly = npf.irr(np.diff(curve, prepend=0.0))
    yearly = ((1.0 + weekly) ** WEEKS_PER_YEAR - 1.0) * 100.0
    assert yearly > 0.0
    npt.assert_allclose(present_value(curve[None], yearly), [0.0], atol=0.01)


def job(margin: float, dip: float) -> Stretch:
    one = np.array([1.0])
    return Stretch(
        s0_m=0.0,
        s1_m=12.0,
        cover_m3=10.0,
        pay_m3=10.0,
        hours=1.0,
        margin=margin * one,
        revenue=(margin + dip) * one,
        material=np.zeros((3, 1)),
        phases_h=np.ones((3, 1)),
        dip=dip * one,
    )


def test_money_at_risk_is_the_lowest_the_purse_goes() -> None:
    """-50, then +30 on +20; then -80 on +20: 60 down at the lowest."""
    assert money_at_risk([job(20.0, 50.0), job(10.0, 80.0)]) == pytest.approx(60.0)
    assert money_at_risk([]) == 0.0


def test_the_order_puts_as_little_at_risk_as_the_best_of_all_orders() -> None:
    """60 plans of five or eight stretches; eight are not tried in every order."""
    rng = np.random.default_rng(4)
    for count in (5, 5, 8):
        for _ in range(20 if count == 5 else 3):
            jobs = [
                job(*one)
                for one in np.column_stack(
                    [rng.normal(20.0, 60.0, count), rng.uniform(5.0, 90.0, count)]
                )
            ]
            best = min(
                money_at_risk(one)
                for one in (permutations(jobs) if count == 5 else _samples(jobs, rng))
            )
            found = order_stretches(jobs)
            assert money_at_risk(found) <= max(best * 1.0 / 0.95, best + 1e-9)
            assert sorted(map(id, found)) == sorted(map(id, jobs))


def _samples(
    jobs: list[Stretch], rng: np.random.Generator
) -> list[tuple[Stretch, ...]]:
    return [tuple(jobs[at] for at in rng.permutation(len(jobs))) for _ in range(500)]


def test_upstream_stands_where_another_order_hardly_helps() -> None:
    jobs = [job(50.0, 21.0), job(50.0, 20.0)]
    assert order_stretches(jobs) == jobs
    assert order_stretches([job(50.0, 90.0), jobs[1]])[0] is jobs[1]
    apart = [job(50.0, 90.0), job(50.0, 20.0)]
    assert order_stretches(apart, laid_out=5000.0) == apart
