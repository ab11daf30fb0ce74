"""Importance weights of the draws, and the draws against a long-run Markov chain."""

import emcee
import numpy as np
import numpy.testing as npt
import pytest
from scipy.stats import genpareto

from pennyweight.streaks.counting import FieldCounts, log_chance
from pennyweight.streaks.field import (
    Prior,
    center_field,
    draw_lines,
    factor_across,
    fit_field,
    read_field,
)
from pennyweight.streaks.profiles import MEAN_LOG, MEAN_LOG_SD
from pennyweight.streaks.weights import (
    check_draws,
    fit_pareto,
    smooth_tail,
    weigh_draws,
)

GRID_M = np.arange(0.0, 5.0, 1.0)


def prior_of(n_lines: int, size: float) -> Prior:
    return Prior(
        across=factor_across(GRID_M, 2.0, 2.5),
        sigma=1.2,
        size=size,
        rho=np.full(n_lines - 1, 0.6),
        offset_m=np.zeros((n_lines - 1, len(GRID_M))),
    )


def one_dig(colors: float, exposed: float) -> FieldCounts:
    return FieldCounts(
        line=np.zeros(1, dtype=np.int64),
        n_m=np.array([2.0]),
        colors=np.array([colors]),
        exposed=np.array([exposed]),
    )


@pytest.mark.parametrize(("colors", "exposed"), [(1.0, 0.3), (2.0, 0.1), (40.0, 0.5)])
def test_weighed_draws_of_one_dig_have_the_mean_of_quadrature(
    colors: float, exposed: float
) -> None:
    counts, prior = one_dig(colors, exposed), prior_of(1, 3.0)
    field = fit_field(counts, prior, rest=1e-8)
    draws = draw_lines(field, 60_000, np.random.default_rng(3))
    log = weigh_draws(field, counts, prior, draws=draws)
    weight = np.exp(log - log.max())
    told = draws.log_mg_m2[:, 0, 2]
    sd = np.sqrt(1.2**2 * (1.0 + 1e-5) + MEAN_LOG_SD**2)
    f = np.linspace(MEAN_LOG - 9.0 * sd, MEAN_LOG + 9.0 * sd, 20_001)
    exact = log_chance(np.full_like(f, colors), np.full_like(f, exposed), f, size=3.0)
    exact = np.exp(exact - 0.5 * ((f - MEAN_LOG) / sd) ** 2)
    # Few colors lie on the flank of the bell: few of the draws carry the weight.
    assert np.average(told, weights=weight) == pytest.approx(
        float(np.average(f, weights=exact)), abs=0.08
    )


def test_the_weights_do_not_ask_which_point_the_draws_are_centered_on() -> None:
    """Moved to the mean of the skewed posterior, they still lead to one answer."""
    counts, prior = one_dig(0.0, 0.3), prior_of(1, 3.0)
    field = fit_field(counts, prior, rest=1e-8)
    means = []
    for one in (field, center_field(field, counts, prior)):
        draws = draw_lines(one, 60_000, np.random.default_rng(4))
        log = weigh_draws(one, counts, prior, draws=draws)
        means.append(
            np.average(draws.log_mg_m2[:, 0, 2], weights=np.exp(log - log.max()))
        )
    assert means[0] == pytest.approx(means[1], abs=0.04)


def test_equal_weights_change_nothing() -> None:
    gold = np.array([1.0, 2.0, 4.0] * 20)
    check = check_draws(np.full(60, -3.0), np.repeat([0, 1], 30), gold)
    assert check.worth_share == pytest.approx(1.0)
    assert check.gold_ratio == pytest.approx(1.0)
    assert check.tail_shape == -np.inf


def test_constants_of_the_groups_drop_out() -> None:
    rng = np.random.default_rng(1)
    log, gold = rng.normal(0.0, 0.5, 80), rng.lognormal(size=80)
    group = np.repeat([0, 1], 40)
    plain = check_draws(log, group, gold)
    moved = check_draws(log + 700.0 * group, group, gold)
    assert moved.gold_ratio == pytest.approx(plain.gold_ratio)
    assert moved.worth_share == pytest.approx(plain.worth_share)


@pytest.mark.parametrize("shape", [0.2, 0.8])
def test_a_pareto_tail_is_recognized(shape: float) -> None:
    """Values of the general library's own distribution, scale 2."""
    rng = np.random.default_rng(5)
    values = np.sort(genpareto.rvs(shape, scale=2.0, size=4000, random_state=rng))
    found, scale = fit_pareto(values)
    assert found == pytest.approx(shape, abs=0.08)
    assert scale == pytest.approx(2.0, rel=0.10)


def test_smoothing_keeps_all_but_the_largest_weights() -> None:
    weight = np.random.default_rng(6).pareto(1.2, 400) + 1.0
    smooth, shape = smooth_tail(weight)
    low = np.argsort(weight)[:340]
    npt.assert_array_equal(smooth[low], weight[low])
    assert smooth.max() <= weight.max()
    assert shape > 0.6


def test_few_draws_leave_the_tail_unknown() -> None:
    weight = np.ones(8)
    smooth, shape = smooth_tail(weight)
    assert smooth.tolist() == weight.tolist()
    assert shape == np.inf


def test_draws_agree_with_a_long_markov_chain() -> None:
    """Two lines of four digs with few colors, against an ensemble sampler.

    Eleven unknowns: the field on two lines of five columns, and its mean.
    """
    counts = FieldCounts(
        line=np.repeat([0, 1], 4),
        n_m=np.tile([0.0, 1.5, 3.0, 4.0], 2),
        colors=np.array([1.0, 14.0, 3.0, 0.0, 2.0, 9.0, 30.0, 1.0]),
        exposed=np.full(8, 0.2),
    )
    prior = prior_of(2, 4.0)
    field = fit_field(counts, prior, rest=1e-8)
    centered = center_field(field, counts, prior)
    draws = draw_lines(centered, 20_000, np.random.default_rng(7))

    def log_posterior(place: np.ndarray) -> np.ndarray:
        mean, g = place[:, 0], place[:, 1:].reshape(-1, 2, 5).transpose(1, 2, 0)
        at_digs = mean + read_field(g, counts, GRID_M)
        fit = log_chance(
            counts.colors[:, None], counts.exposed[:, None], at_digs, size=4.0
        ).sum(axis=0)
        fit -= 0.5 * (g * field.precision.times(g)).sum(axis=(0, 1))
        return np.asarray(fit - 0.5 * ((mean - MEAN_LOG) / MEAN_LOG_SD) ** 2)

    start = np.column_stack(
        [
            draws.mean_log,
            (draws.log_mg_m2 - draws.mean_log[:, None, None]).reshape(-1, 10),
        ]
    )[:64]
    sampler = emcee.EnsembleSampler(64, 11, log_posterior, vectorize=True)
    sampler.random_state = np.random.RandomState(8).get_state()
    sampler.run_mcmc(start, 3000)
    chain = sampler.get_chain(discard=500, thin=5, flat=True)
    exact = chain[:, :1] + chain[:, 1:]
    ours = draws.log_mg_m2.reshape(-1, 10)
    # The chain's own error is 0.03 or so; a posterior's sd here is 0.5 to 1.
    npt.assert_allclose(ours.mean(axis=0), exact.mean(axis=0), atol=0.12)
    npt.assert_allclose(ours.std(axis=0), exact.std(axis=0), rtol=0.12)
    gold = [np.log(np.exp(one).sum(axis=1)) for one in (ours, exact)]
    for share in (0.1, 0.5, 0.9):
        assert np.quantile(gold[0], share) == pytest.approx(
            np.quantile(gold[1], share), abs=0.10
        )
