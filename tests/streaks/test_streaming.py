"""Draws of a valley block by block, against the dense process and held-out digs."""

import gstools
import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.progress import Cancelled
from pennyweight.streaks.between import (
    ValleyGrid,
    draw_between,
    lay_grid,
    stream_between,
)
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.field import JITTER
from pennyweight.streaks.profiles import MEAN_LOG_SD, matern
from pennyweight.streaks.sites import Place, Sites, arrange_sites
from pennyweight.streaks.steering import NO_LINKS
from pennyweight.streaks.streaming import lay_prior, stream_draws

ALONG_M, ACROSS_M, SIGMA = 30.0, 2.5, 1.1
#: So many colors, and a size so large, that a count is as good as the field itself.
SURE, POISSON = 1e8, 1e12


def valley_of(n_lines: int, n_digs: int) -> tuple[Sites, ValleyGrid]:
    sites = arrange_sites(
        [
            Place(dig=f"{line}-{at}", line=f"{line}", s_m=12.0 * line, n_m=2.0 * at)
            for line in range(n_lines)
            for at in range(n_digs)
        ]
    )
    return sites, lay_grid(sites, row_m=3.0, column_m=1.0)


def told(sites: Sites, log_mg_m2: np.ndarray, exposed: float) -> FieldCounts:
    return FieldCounts(
        line=sites.line_index,
        n_m=sites.n_m,
        colors=exposed * np.exp(log_mg_m2),
        exposed=np.full(len(sites.n_m), exposed),
    )


def correlation(here: np.ndarray, there: np.ndarray) -> np.ndarray:
    along = np.abs(here[:, None, 0] - there[None, :, 0])
    across = here[:, None, 1] - there[None, :, 1]
    return np.exp(-along / ALONG_M) * matern(across, ACROSS_M, 1.5)


def gather(
    valley: tuple[Sites, ValleyGrid],
    counts: FieldCounts,
    *,
    n_draws: int,
    seed: int,
) -> np.ndarray:
    sites, grid = valley
    prior = lay_prior(
        grid, sites.line_s_m, (SIGMA, ACROSS_M, POISSON, 1.5), length_s_m=ALONG_M
    )
    out = np.full((n_draws, len(grid.s_m), len(grid.n_m)), np.nan)
    for gap in stream_draws(
        counts,
        prior,
        grid,
        length_s_m=ALONG_M,
        n_draws=n_draws,
        rng=np.random.default_rng(seed),
    ):
        block = out[:, gap.rows]
        assert np.isnan(block[:, gap.here]).all()
        block[:, gap.here] = gap.log_mg_m2[:, gap.here]
    return out


def test_streamed_cells_have_mean_and_spread_of_the_dense_process() -> None:
    """Kriging with a mean N(ln 6, 1.5^2), all cells, by the textbook's formula."""
    sites, grid = valley_of(3, 4)
    rng = np.random.default_rng(1)
    values = 2.0 + SIGMA * rng.standard_normal(12)
    counts = told(sites, values, SURE)
    drawn = gather((sites, grid), counts, n_draws=4000, seed=2)
    digs = np.column_stack([sites.s_m, sites.n_m])
    cells = np.stack(np.meshgrid(grid.s_m, grid.n_m, indexing="ij"), -1).reshape(-1, 2)
    level = MEAN_LOG_SD**2
    inner = SIGMA**2 * (correlation(digs, digs) + JITTER * np.eye(12)) + level
    outer = SIGMA**2 * correlation(cells, digs) + level
    weight = np.linalg.solve(inner, outer.T)
    mean = np.log(6.0) + weight.T @ (values - np.log(6.0))
    variance = SIGMA**2 + level - np.einsum("ac,ca->a", outer, weight)
    found = drawn.reshape(4000, -1)
    # Four standard errors of 4,000 draws; variances as small as 0.1 of the prior's.
    error = 4.0 * np.sqrt(variance / 4000.0)
    assert (np.abs(found.mean(axis=0) - mean) < error + 2e-3).mean() > 0.99
    npt.assert_allclose(found.var(axis=0), variance, rtol=0.12)


def test_streaming_gives_what_drawing_all_at_once_gives() -> None:
    sites, grid = valley_of(3, 4)
    rng = np.random.default_rng(3)
    lines = 1.0 + rng.standard_normal((50, 3, len(grid.n_m)))
    prior = lay_prior(
        grid, sites.line_s_m, (SIGMA, ACROSS_M, 5.0, 1.5), length_s_m=ALONG_M
    )
    told_once, streamed = (
        make(
            (np.ones(50), lines),
            grid,
            prior.across,
            sigma=SIGMA,
            length_s_m=ALONG_M,
            steering=[NO_LINKS, NO_LINKS],
            rng=np.random.default_rng(4),
        )
        for make in (draw_between, stream_between)
    )
    for gap in streamed:
        block = told_once[:, gap.rows]
        npt.assert_array_equal(block[:, gap.here], gap.log_mg_m2[:, gap.here])


def test_a_stopped_stream_ends() -> None:
    sites, grid = valley_of(2, 3)

    def stop(share: float, doing: str) -> None:
        if share > 0.7:
            raise Cancelled

    prior = lay_prior(
        grid, sites.line_s_m, (SIGMA, ACROSS_M, 5.0, 1.5), length_s_m=ALONG_M
    )
    stream = stream_draws(
        told(sites, np.ones(6), 2.0),
        prior,
        grid,
        length_s_m=ALONG_M,
        n_draws=4,
        rng=np.random.default_rng(1),
        progress=stop,
    )
    with pytest.raises(Cancelled):
        list(stream)


def test_held_out_digs_lie_in_the_intervals_as_often_as_those_of_a_library() -> None:
    """Every third dig is held out; 80 % intervals of the field there, 12 fields.

    The library simulates the log of (N + 1/2) / E, as who has no count model would.
    """
    sites, grid = valley_of(5, 10)
    digs = np.column_stack([sites.s_m, sites.n_m])
    root = np.linalg.cholesky(correlation(digs, digs) + 1e-9 * np.eye(50))
    held = np.arange(50) % 3 == 1
    column = np.rint((sites.n_m - grid.n_m[0]) / grid.dn_m).astype(int)
    row = np.abs(grid.s_m[:, None] - sites.s_m[None, :]).argmin(axis=0)
    inside: list[np.ndarray] = []
    beside: list[np.ndarray] = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        truth = 1.0 + SIGMA * root @ rng.standard_normal(50)
        colors = rng.poisson(0.5 * np.exp(truth)).astype(float)
        counts = FieldCounts(
            line=sites.line_index[~held],
            n_m=sites.n_m[~held],
            colors=colors[~held],
            exposed=np.full((~held).sum(), 0.5),
        )
        drawn = gather((sites, grid), counts, n_draws=200, seed=seed)
        ours = drawn[:, row, column][:, held]
        model = gstools.Exponential(
            dim=2, var=SIGMA**2, len_scale=ALONG_M, anis=ACROSS_M / ALONG_M
        )
        kriging = gstools.krige.Ordinary(
            model, digs[~held].T, np.log((colors[~held] + 0.5) / 0.5)
        )
        library = gstools.CondSRF(kriging)
        theirs = np.array([library(digs[held].T, seed=at) for at in range(60)])
        for told_there, into in ((ours, inside), (theirs, beside)):
            low, high = np.quantile(told_there, [0.1, 0.9], axis=0)
            into.append((truth[held] >= low) & (truth[held] <= high))
    # 192 digs: a standard error of 0.03 around 0.80.
    assert np.mean(inside) == pytest.approx(0.80, abs=0.09)
    assert abs(np.mean(inside) - 0.80) <= abs(np.mean(beside) - 0.80) + 0.02
