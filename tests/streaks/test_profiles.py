"""The latent curve along a line: kernels, Laplace against quadrature, draws."""

import gstools
import numpy as np
import numpy.testing as npt
import pytest
from scipy.integrate import quad

from pennyweight.streaks.counting import (
    FieldCounts,
    first_guess,
    log_chance,
    slope_and_weight,
)
from pennyweight.streaks.profiles import (
    MEAN_LOG,
    MEAN_LOG_SD,
    LineCounts,
    draw_hyper,
    draw_profiles,
    fit_profiles,
    log_evidence,
    matern,
    pad_lines,
)

SIGMA, LENGTH_M, SIZE = 1.4, 2.0, 4.0


def one_dig(colors: float, exposed: float) -> LineCounts:
    return LineCounts(
        n_m=np.zeros((1, 1)),
        colors=np.array([[colors]]),
        exposed=np.array([[exposed]]),
    )


@pytest.mark.parametrize("smooth", [1.5, 2.5])
def test_kernels_agree_with_an_independent_library(smooth: float) -> None:
    """Its length scale is l / sqrt(2 nu) of the usual form times its own rescale."""
    model = gstools.Matern(dim=1, var=1.0, len_scale=LENGTH_M, nu=smooth, rescale=1.0)
    apart = np.array([0.0, 0.4, 1.0, 3.0, 9.0])
    # That form has (sqrt(nu) h / l), the usual one sqrt(2 nu) h / l.
    ours = matern(apart, LENGTH_M * np.sqrt(2.0), smooth)
    npt.assert_allclose(ours, model.correlation(apart), atol=1e-9)


def test_negative_binomial_has_its_variance() -> None:
    """Mean 3 and size 0.5: variance 3 + 9 / 0.5 = 21, P(0) = 0.3780."""
    counts = np.arange(400.0)
    one = np.ones_like(counts)
    chance = np.exp(log_chance(counts, one, np.log(3.0) * one, size=0.5))
    assert chance[0] == pytest.approx(0.3780, abs=5e-5)
    mean = float(chance @ counts)
    assert mean == pytest.approx(3.0, rel=1e-3)
    assert float(chance @ counts**2) - mean**2 == pytest.approx(21.0, rel=5e-3)


def test_slope_and_weight_are_derivatives() -> None:
    colors, exposed = np.array([0.0, 4.0, 50.0]), np.array([0.2, 0.2, 0.2])
    f, step = np.array([1.0, 3.0, 5.0]), 1e-4
    up, middle, down = (
        log_chance(colors, exposed, f + move, size=2.0) for move in (step, 0.0, -step)
    )
    slope, weight = slope_and_weight(colors, exposed, f, size=2.0)
    npt.assert_allclose(slope, (up - down) / (2.0 * step), rtol=1e-5, atol=1e-6)
    npt.assert_allclose(weight, -(up - 2.0 * middle + down) / step**2, rtol=1e-3)


def test_an_unwashed_place_says_nothing() -> None:
    zero = np.zeros(1)
    assert log_chance(zero, zero, zero, size=2.0)[0] == 0.0
    assert (
        first_guess(np.array([9.5, 0.0]), np.array([1.0, 0.0])).tolist()
        == [pytest.approx(np.log(10.0))] * 2
    )


@pytest.mark.parametrize(("colors", "exposed"), [(0.0, 0.1), (3.0, 0.1), (80.0, 0.5)])
def test_evidence_of_one_dig_agrees_with_quadrature(
    colors: float, exposed: float
) -> None:
    sd = np.hypot(SIGMA, MEAN_LOG_SD)

    def joint(f: float) -> float:
        value = log_chance(
            np.array([colors]), np.array([exposed]), np.array([f]), size=SIZE
        )[0]
        prior = np.exp(-0.5 * ((f - MEAN_LOG) / sd) ** 2) / sd / np.sqrt(2.0 * np.pi)
        return float(np.exp(value) * prior)

    exact = quad(joint, MEAN_LOG - 9.0 * sd, MEAN_LOG + 9.0 * sd, limit=200)[0]
    ours = log_evidence(one_dig(colors, exposed), SIGMA, LENGTH_M, size=SIZE)
    # Laplace's approximation is off by a few percent where the posterior is skewed.
    assert ours == pytest.approx(np.log(exact), abs=0.06)


def test_draws_of_one_dig_agree_with_quadrature() -> None:
    lines = one_dig(30.0, 0.5)
    grid = np.arange(-4.0, 4.5, 0.5)
    hyper = np.array([[SIGMA, LENGTH_M, SIZE, 1.5]])
    rng = np.random.default_rng(7)
    drawn = draw_profiles(lines, grid, hyper, n_each=6000, rng=rng)[:, 0, 8]
    f = np.linspace(-3.0, 10.0, 4000)
    sd = np.hypot(SIGMA, MEAN_LOG_SD)
    log = log_chance(np.full(4000, 30.0), np.full(4000, 0.5), f, size=SIZE)
    weight = np.exp(log - 0.5 * ((f - MEAN_LOG) / sd) ** 2)
    mean = float(np.average(f, weights=weight))
    spread = float(np.sqrt(np.average((f - mean) ** 2, weights=weight)))
    # The peak lies below the mean of a posterior that is skewed to the right.
    assert drawn.mean() == pytest.approx(mean, abs=0.12)
    assert drawn.std() == pytest.approx(spread, rel=0.06)


def test_padding_keeps_every_count_on_its_line() -> None:
    counts = FieldCounts(
        line=np.array([1, 0, 1]),
        n_m=np.array([5.0, 1.0, 3.0]),
        colors=np.array([50.0, 10.0, 30.0]),
        exposed=np.ones(3),
    )
    lines = pad_lines(counts, 2)
    assert lines.colors.tolist() == [[10.0, 0.0], [30.0, 50.0]]
    assert lines.exposed.tolist() == [[1.0, 0.0], [1.0, 1.0]]


def test_hyperparameters_lie_near_those_that_made_the_counts() -> None:
    rng = np.random.default_rng(3)
    n_m = np.tile(np.arange(24) * 1.5, (14, 1))
    cover = SIGMA**2 * matern(n_m[0][:, None] - n_m[0][None, :], 3.0, 2.5)
    root = np.linalg.cholesky(cover + 1e-8 * np.eye(24))
    f = 3.0 + rng.standard_normal((14, 24)) @ root.T
    colors = rng.poisson(np.exp(f) * rng.gamma(5.0, 0.2, f.shape)).astype(float)
    profiles = fit_profiles(LineCounts(n_m=n_m, colors=colors, exposed=np.ones_like(f)))
    best = np.exp(profiles.log_hyper[int(profiles.weight.argmax())])
    npt.assert_allclose(best, [SIGMA, 3.0, 5.0], rtol=0.4)
    drawn = draw_hyper(profiles, 50, rng)
    npt.assert_allclose(drawn[0, :3], best)
    assert set(drawn[:, 3]) <= {1.5, 2.5}
