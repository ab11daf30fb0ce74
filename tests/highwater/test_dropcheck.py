"""How finds agree with drops: ranks by hand, and a posterior against quadrature."""

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.special import expit
from scipy.stats import norm, spearmanr

from pennyweight.highwater.dropcheck import compare_with_digs


def rng() -> np.random.Generator:
    return np.random.default_rng(3)


def test_the_rank_correlation_is_spearmans() -> None:
    score = np.array([0.1, 0.5, 0.3, 0.3, 0.9, 0.0, 0.7, 0.2, 0.6])
    grade = np.array([5.0, 80.0, 12.0, 60.0, 75.0, 9.0, 200.0, 9.0, 30.0])
    found = compare_with_digs(score, grade, rng())
    assert found is not None
    assert found.rank == pytest.approx(spearmanr(score, grade).statistic)
    assert found.low < found.rank <= found.high
    assert found.n_digs == 9


def test_scores_that_are_right_make_high_ones_worth_more() -> None:
    score = np.linspace(0.0, 0.9, 12)
    right = compare_with_digs(score, np.arange(12.0), rng())
    wrong = compare_with_digs(score, -np.arange(12.0), rng())
    assert right is not None
    assert wrong is not None
    assert right.chance_richer(0.9) > 0.85
    assert wrong.chance_richer(0.9) < 0.35


def test_the_chance_is_the_integral_over_the_posterior() -> None:
    """Eight digs; the double integral of likelihood x priors by quadrature."""
    score = np.array([0.0, 0.2, 0.4, 0.4, 0.5, 0.6, 0.8, 0.9])
    grade = np.array([1.0, 5.0, 2.0, 9.0, 3.0, 8.0, 7.0, 6.0])
    found = compare_with_digs(score, grade, rng())
    assert found is not None
    richer = grade > np.median(grade)

    def density(slope: float, intercept: float) -> float:
        chance = expit(intercept + slope * score)
        likelihood = np.prod(np.where(richer, chance, 1.0 - chance))
        return float(
            likelihood * norm.pdf(intercept, 0.0, 2.0) * norm.pdf(slope, 2.0, 2.0)
        )

    over = (-6.0, 6.0, -8.0, 12.0)
    total = dblquad(density, *over, epsabs=1e-9)[0]
    told = dblquad(
        lambda slope, intercept: (
            density(slope, intercept) * float(expit(intercept + 0.7 * slope))
        ),
        *over,
        epsabs=1e-9,
    )[0]
    assert found.chance_richer(0.7) == pytest.approx(told / total, abs=0.002)


def test_few_digs_or_all_alike_say_nothing() -> None:
    assert compare_with_digs([0.1] * 5, [1.0] * 5, rng()) is None
    assert compare_with_digs([0.3] * 9, np.arange(9.0), rng()) is None
    unknown = np.full(9, np.nan)
    assert compare_with_digs(np.linspace(0, 1, 9), unknown, rng()) is None
