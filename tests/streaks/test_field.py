"""The field on the lines against a dense Gaussian process, and its conditions."""

from dataclasses import replace

import gstools
import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.counting import FieldCounts, log_chance, slope_and_weight
from pennyweight.streaks.field import (
    JITTER,
    Prior,
    center_field,
    draw_lines,
    factor_across,
    fit_field,
)
from pennyweight.streaks.profiles import MEAN_LOG, MEAN_LOG_SD, matern

GRID_M = np.arange(0.0, 10.0, 0.5)
LINE_S_M = np.array([0.0, 10.0, 25.0, 45.0])
ALONG_M, ACROSS_M, SIGMA = 25.0, 2.0, 1.4
#: A size without bound: Poisson.
POISSON = 1e9


def prior_of(smooth: float = 1.5, size: float = POISSON) -> Prior:
    return Prior(
        across=factor_across(GRID_M, ACROSS_M, smooth),
        sigma=SIGMA,
        size=size,
        rho=np.exp(-np.diff(LINE_S_M) / ALONG_M),
        offset_m=np.zeros((3, len(GRID_M))),
    )


def counts_of(seed: int = 0) -> FieldCounts:
    rng = np.random.default_rng(seed)
    line = np.repeat(np.arange(4), 6)
    f = rng.normal(2.0, SIGMA, 24)
    return FieldCounts(
        line=line,
        n_m=np.tile(GRID_M[[1, 4, 8, 11, 14, 18]], 4),
        colors=rng.poisson(3.0 * np.exp(f)).astype(np.float64),
        exposed=np.full(24, 3.0),
    )


def dense_covariance(smooth: float) -> np.ndarray:
    across = matern(GRID_M[:, None] - GRID_M[None, :], ACROSS_M, smooth)
    across += JITTER * np.eye(len(GRID_M))
    along = np.exp(-np.abs(LINE_S_M[:, None] - LINE_S_M[None, :]) / ALONG_M)
    return SIGMA**2 * np.kron(along, across) + MEAN_LOG_SD**2


def dense_laplace(
    counts: FieldCounts, smooth: float, size: float
) -> tuple[np.ndarray, float, np.ndarray]:
    """Peak, evidence and variance by the textbook's dense formulas."""
    whole = dense_covariance(smooth)
    at = counts.line * len(GRID_M) + np.searchsorted(GRID_M, counts.n_m)
    inner = whole[np.ix_(at, at)]
    f = np.full(len(at), MEAN_LOG)
    for _ in range(200):
        slope, weight = slope_and_weight(counts.colors, counts.exposed, f, size=size)
        half = np.sqrt(weight)
        b_matrix = np.eye(len(at)) + half[:, None] * inner * half
        target = weight * (f - MEAN_LOG) + slope
        dual = target - half * np.linalg.solve(b_matrix, half * (inner @ target))
        step = MEAN_LOG + inner @ dual - f
        f = f + step * min(1.0, 2.0 / np.abs(step).max())
    evidence = float(log_chance(counts.colors, counts.exposed, f, size=size).sum())
    evidence -= 0.5 * float(dual @ (f - MEAN_LOG))
    evidence -= 0.5 * float(np.linalg.slogdet(b_matrix)[1])
    solved = np.linalg.solve(b_matrix, half[:, None] * whole[at])
    variance = np.diag(whole) - np.einsum("ag,ag->g", half[:, None] * whole[at], solved)
    return MEAN_LOG + whole[:, at] @ dual, evidence, variance


@pytest.mark.parametrize(("smooth", "size"), [(1.5, POISSON), (2.5, 4.0)])
def test_field_equals_the_dense_process(smooth: float, size: float) -> None:
    counts = counts_of()
    field = fit_field(counts, prior_of(smooth, size))
    peak, evidence, _ = dense_laplace(counts, smooth, size)
    npt.assert_allclose(field.log_mg_m2.ravel(), peak, atol=1e-6)
    assert field.evidence == pytest.approx(evidence, abs=1e-4)


def test_draws_have_the_variance_of_the_dense_process() -> None:
    counts = counts_of(1)
    field = fit_field(counts, prior_of())
    drawn = draw_lines(field, 12_000, np.random.default_rng(5)).log_mg_m2
    _, _, variance = dense_laplace(counts, 1.5, POISSON)
    # Four standard errors of a variance from 12,000 draws.
    npt.assert_allclose(drawn.reshape(12_000, -1).var(axis=0), variance, rtol=0.052)


def test_very_many_colors_make_it_the_kriging_of_an_independent_library() -> None:
    """With 1e13 colors a count is as good as the log accumulation itself.

    Simple kriging of one line with the same Matern model, what keeps the factor
    positive taken for a nugget, must give the same curve.
    """
    at = np.array([2, 7, 12, 17])
    truth = np.array([1.0, 3.0, 2.0, 4.0])
    counts = FieldCounts(
        line=np.zeros(4, dtype=np.int64),
        n_m=GRID_M[at],
        colors=1e13 * np.exp(truth),
        exposed=np.full(4, 1e13),
    )
    across = factor_across(GRID_M, ACROSS_M)
    prior = replace(
        prior_of(size=1e15),
        across=across,
        rho=np.zeros(0),
        offset_m=np.zeros((0, len(GRID_M))),
    )
    field = fit_field(counts, prior, rest=1e-9)
    # The library's Matern takes sqrt(nu) h / l, ours sqrt(2 nu) h / l.
    model = gstools.Matern(
        dim=1,
        var=SIGMA**2,
        len_scale=ACROSS_M / np.sqrt(2.0),
        nu=1.5,
        rescale=1.0,
        nugget=SIGMA**2 * JITTER,
    )
    simple = gstools.krige.Simple(
        model, GRID_M[at], truth, mean=field.mean_log, exact=True
    )
    simple(GRID_M, return_var=False)
    npt.assert_allclose(field.log_mg_m2[0], simple.field, atol=1e-6)


@pytest.mark.parametrize(
    ("colors", "exposed", "size"),
    [(2.0, 0.1, POISSON), (0.0, 0.3, 3.0), (30.0, 0.5, 2.0)],
)
def test_the_centered_field_has_the_mean_of_the_skewed_posterior(
    colors: float, exposed: float, size: float
) -> None:
    """One dig, against quadrature: the mean of f, where the peak lies off it."""
    counts = FieldCounts(
        line=np.zeros(1, dtype=np.int64),
        n_m=GRID_M[[8]],
        colors=np.array([colors]),
        exposed=np.array([exposed]),
    )
    prior = replace(
        prior_of(size=size), rho=np.zeros(0), offset_m=np.zeros((0, len(GRID_M)))
    )
    field = fit_field(counts, prior)
    centered = center_field(field, counts, prior)
    sd = np.sqrt(SIGMA**2 * (1.0 + JITTER) + MEAN_LOG_SD**2)
    f = np.linspace(MEAN_LOG - 8.0 * sd, MEAN_LOG + 8.0 * sd, 20_001)
    log = log_chance(np.full_like(f, colors), np.full_like(f, exposed), f, size=size)
    weight = np.exp(log - 0.5 * ((f - MEAN_LOG) / sd) ** 2)
    exact = float(np.average(f, weights=weight))
    before = abs(field.log_mg_m2[0, 8] - exact)
    assert abs(centered.log_mg_m2[0, 8] - exact) < 0.5 * before


def test_a_link_carries_gold_sideways() -> None:
    """Gold at 3 m on the first line is expected at 6 m on the second along a link."""
    counts = FieldCounts(
        line=np.zeros(3, dtype=np.int64),
        n_m=np.array([1.0, 3.0, 5.0]),
        colors=np.array([5.0, 500.0, 5.0]),
        exposed=np.full(3, 1.0),
    )
    offset = np.full((3, len(GRID_M)), -3.0)
    straight = fit_field(counts, prior_of(size=5.0))
    along = fit_field(counts, replace(prior_of(size=5.0), offset_m=offset))
    assert GRID_M[straight.log_mg_m2[1].argmax()] == pytest.approx(3.0)
    assert GRID_M[along.log_mg_m2[1].argmax()] == pytest.approx(6.0)


def test_no_counts_give_the_prior_back() -> None:
    nothing = np.zeros(0)
    counts = FieldCounts(
        line=np.zeros(0, dtype=np.int64), n_m=nothing, colors=nothing, exposed=nothing
    )
    field = fit_field(counts, prior_of())
    npt.assert_allclose(field.log_mg_m2, MEAN_LOG, atol=1e-9)
    assert field.evidence == pytest.approx(0.0, abs=1e-6)


def test_an_unsure_exposure_scatters_counts_more_and_moves_the_field_less() -> None:
    """1 / (1 / 4 + 0.75) = 1: a size of 4 and a variance of 0.75 are one of 1."""
    sure = replace(counts_of(), unsure=np.zeros(24))
    unsure = replace(counts_of(), unsure=np.full(24, 0.75))
    assert unsure.sizes(4.0) == pytest.approx(1.0)
    told, hardly = (fit_field(one, prior_of(size=4.0)) for one in (sure, unsure))
    plain = fit_field(counts_of(), prior_of(size=1.0))
    npt.assert_allclose(hardly.log_mg_m2, plain.log_mg_m2)
    assert told.log_mg_m2.std() > hardly.log_mg_m2.std()
