"""Exact limits and the posterior's quantiles, against scipy and brute force."""

import numpy as np
import numpy.testing as npt
import pytest
from scipy import stats

from pennyweight.sampling import posterior

TENTH_OF_A_PERCENT = 1e-3


def test_exact_limits_agree_with_a_search_over_the_poisson_law() -> None:
    """The limits are the means at which 10 % lie beyond the count seen."""
    lower, upper = posterior.exact_limits([3, 12], 0.80)
    npt.assert_allclose(stats.poisson.sf([2, 11], lower), 0.10, rtol=1e-9)
    npt.assert_allclose(stats.poisson.cdf([3, 12], upper), 0.10, rtol=1e-9)


def test_no_color_still_has_an_upper_limit() -> None:
    """exp(-2.3026) = 0.1: one pan in ten shows none where 2.3 are expected."""
    assert posterior.upper_limit(0.0) == pytest.approx(np.log(10.0))
    assert posterior.exact_limits([0])[0][0] == 0.0


def test_counts_have_the_probability_that_scipy_gives() -> None:
    """Scipy's negative binomial with n = k and p = k / (k + mu)."""
    found = posterior.counts_log_probability([0, 3, 20], 5.0, 0.7)
    npt.assert_allclose(found, stats.nbinom.logpmf([0, 3, 20], 0.7, 0.7 / 5.7))


def test_one_gamma_without_factor_is_inverted_exactly() -> None:
    found = posterior.mixture_quantiles(
        np.ones(1),
        np.array([[3.5]]),
        np.array([[0.02]]),
        log_sd=np.zeros(1),
        probabilities=(0.1, 0.5, 0.9),
    )
    npt.assert_allclose(found[0], stats.gamma.ppf([0.1, 0.5, 0.9], 3.5, scale=50.0))


@pytest.mark.parametrize("colors", [0.0, 2.0, 40.0, 3000.0])
@pytest.mark.parametrize("log_sd", [0.0, 0.05, 0.6])
def test_quantiles_of_a_mixture_agree_with_many_draws(
    colors: float, log_sd: float
) -> None:
    """Draws of the same law; right to about 0.1 % of probability themselves."""
    rng = np.random.default_rng(7)
    weights, shapes = np.array([0.3, 0.7]), np.array([0.5, 1.0])
    rates = np.array([0.01, 0.004]) + 0.05
    part = rng.choice(2, size=300_000, p=weights)
    draws = rng.gamma(shapes[part] + colors, 1.0 / rates[part])
    draws *= np.exp(rng.normal(0.0, log_sd, size=draws.size))
    found = posterior.mixture_quantiles(
        weights,
        shapes[None, :] + colors,
        rates[None, :],
        log_sd=np.array([log_sd]),
        probabilities=(0.1, 0.5, 0.9),
    )[0]
    shares = [(draws < one).mean() for one in found]
    npt.assert_allclose(shares, [0.1, 0.5, 0.9], atol=3e-3)


def test_equal_grains_spread_by_one_over_root_n() -> None:
    assert posterior.total_rel_sd(25.0, 0.0) == pytest.approx(0.2)


def test_impossible_numbers_are_named() -> None:
    with pytest.raises(ValueError, match="colors are -1"):
        posterior.exact_limits([-1])
    with pytest.raises(ValueError, match=r"probability is 1\.0"):
        posterior.exact_limits([1], 1.0)
    with pytest.raises(ValueError, match=r"expected_colors is 0\.0"):
        posterior.total_rel_sd(0.0, 1.0)
