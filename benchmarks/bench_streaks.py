"""Streaks: the whole trace, its fit on a large ground, and draws of long valleys.

The draws are timed beside conditional simulation by a general library (GSTools) on
the same cells and digs; `bench_draws_of_25_lines` to `..._200_lines` show how time
grows with the length of the valley.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import gstools
import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import BookName
from pennyweight.answers.frame import frame_ground
from pennyweight.answers.grade import read_graded
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.records import Log
from pennyweight.streaks.between import ValleyGrid, lay_grid
from pennyweight.streaks.contacts import read_columns
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.field import Prior
from pennyweight.streaks.fit import Settings, fit_streaks
from pennyweight.streaks.sites import Place, Sites, arrange_sites
from pennyweight.streaks.streaming import lay_prior, stream_draws

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "studies"))

FloatArray = npt.NDArray[np.float64]

LINE_GAP_M, DIG_GAP_M, ROW_M = 15.0, 2.0, 1.2
LENGTH_S_M, HYPER = 40.0, (1.4, 2.5, 6.0, 1.5)
#: For the table: 500 draws by the tool, and as many simulations by the library.
BESIDE = (
    (
        "500 draws of 300 x 60 cells given 500 digs, fit included",
        "bench_500_draws",
        "bench_one_draw_by_library",
        500,
    ),
)


def reading_of(log: Log) -> Reading:
    """Return a fresh look at an invented record."""
    return Reading(
        book=BookName(name="invented", id="bench"), revision="1", log=log, made_at=""
    )


def made_log(*, n_lines: int, n_digs: int, clay: bool) -> Log:
    """Return an invented record of lines 15 m apart and digs 2 m apart."""
    from simulated_ground import (  # noqa: PLC0415 - the studies' folder
        STANDARD,
        dig_ground,
        make_truth,
    )

    kind = replace(STANDARD, n_lines=n_lines, floor_m=2.0 * n_digs, clay=clay)
    rng = np.random.default_rng(1)
    return dig_ground(make_truth(kind, rng), rng)


def bench_trace_of_a_season() -> Callable[[], object]:
    """Trace 12 lines, 204 digs, 612 samples, grades included."""
    log = made_log(n_lines=12, n_digs=17, clay=False)
    return lambda: trace_streaks(reading_of(log))


def bench_trace_of_a_large_ground() -> Callable[[], object]:
    """Trace 25 lines of 20 digs with a false bedrock, grades included."""
    log = made_log(n_lines=25, n_digs=20, clay=True)
    return lambda: trace_streaks(reading_of(log))


def bench_another_cutoff() -> Callable[[], object]:
    """Trace 12 lines again at another cutoff, without a new fit."""
    reading = reading_of(made_log(n_lines=12, n_digs=17, clay=False))
    trace_streaks(reading)
    cutoffs = iter(np.linspace(80.0, 200.0, 1000).tolist())
    return lambda: trace_streaks(reading, cutoff_mg_m3=next(cutoffs))


def sites_of(log: Log) -> Sites:
    """Return the digs of an invented record."""
    places = frame_ground(reading_of(log)).places
    return arrange_sites(
        [
            Place(dig=name, line=one.line, s_m=one.s_m, n_m=one.n_m)
            for name, one in places.items()
        ]
    )


def bench_fit_500_digs() -> Callable[[], object]:
    """Fit 25 lines of 20 digs: 2 horizons, 500 draws, 300 x 60 cells."""
    log = made_log(n_lines=25, n_digs=20, clay=False)
    sites, columns = sites_of(log), read_columns(log)
    samples = read_graded(reading_of(log)).by_dig()
    settings = Settings(
        cutoff_mg_m3=100.0,
        min_pay_m=0.3,
        shift_sd_m=0.8,
        common_rel_sd=0.08,
        n_draws=500,
        row_m=ROW_M,
        column_m=0.75,
    )
    return lambda: fit_streaks(
        sites, columns, samples, settings=settings, rng=np.random.default_rng(1)
    )


@dataclass(frozen=True)
class Valley:
    """An invented valley with counts, at fixed hyperparameters."""

    sites: Sites
    grid: ValleyGrid
    counts: FieldCounts
    prior: Prior

    def draw(self, n_draws: int) -> int:
        """Draw every cell and let it go; return how many there were."""
        rng = np.random.default_rng(2)
        return sum(
            int(gap.here.sum()) * len(gap.log_mg_m2)
            for gap in stream_draws(
                self.counts,
                self.prior,
                self.grid,
                length_s_m=LENGTH_S_M,
                n_draws=n_draws,
                rng=rng,
            )
        )


def made_valley(n_lines: int, n_digs: int, column_m: float) -> Valley:
    """Return an invented valley of straight lines with a color count in every dig."""
    rng = np.random.default_rng(1)
    sites = arrange_sites(
        [
            Place(dig=f"{line}-{at}", line=f"{line}", s_m=LINE_GAP_M * line, n_m=n_m)
            for line in range(n_lines)
            for at, n_m in enumerate(DIG_GAP_M * np.arange(n_digs))
        ]
    )
    grid = lay_grid(sites, row_m=ROW_M, column_m=column_m)
    counts = FieldCounts(
        line=sites.line_index,
        n_m=sites.n_m,
        colors=rng.poisson(8.0 * rng.lognormal(0.0, 1.0, len(sites.n_m))).astype(float),
        exposed=np.full(len(sites.n_m), 0.5),
    )
    prior = lay_prior(grid, sites.line_s_m, HYPER, length_s_m=LENGTH_S_M)
    return Valley(sites, grid, counts, prior)


def bench_500_draws() -> Callable[[], object]:
    """Fit and draw 300 x 60 cells from 500 digs 500 times, one topology."""
    valley = made_valley(25, 20, 0.75)
    return lambda: valley.draw(500)


def bench_one_draw_by_library() -> Callable[[], object]:
    """Simulate the same cells once, given the same digs, by a general library."""
    valley = made_valley(25, 20, 0.75)
    counts, grid = valley.counts, valley.grid
    model = gstools.Exponential(
        dim=2, var=HYPER[0] ** 2, len_scale=LENGTH_S_M, anis=HYPER[1] / LENGTH_S_M
    )
    logs = np.log((counts.colors + 0.5) / counts.exposed)
    kriging = gstools.krige.Ordinary(
        model, (valley.sites.s_m, valley.sites.n_m), logs, cond_err=0.2, exact=False
    )
    field = gstools.CondSRF(kriging)
    seeds = iter(range(10_000))
    return lambda: field.structured((grid.s_m, grid.n_m), seed=next(seeds))


def _bench_lines(n_lines: int) -> Callable[[], object]:
    valley = made_valley(n_lines, 20, 0.75)
    return lambda: valley.draw(100)


def bench_draws_of_25_lines() -> Callable[[], object]:
    """Draw a valley of 360 m with 500 digs 100 times."""
    return _bench_lines(25)


def bench_draws_of_50_lines() -> Callable[[], object]:
    """Draw a valley of 735 m with 1,000 digs 100 times."""
    return _bench_lines(50)


def bench_draws_of_100_lines() -> Callable[[], object]:
    """Draw a valley of 1,485 m with 2,000 digs 100 times."""
    return _bench_lines(100)


def bench_draws_of_200_lines() -> Callable[[], object]:
    """Draw a valley of 2,985 m with 4,000 digs 100 times."""
    return _bench_lines(200)


def bench_stream_2000_rows() -> Callable[[], object]:
    """Draw 2,000 x 200 cells from 160 lines of 50 digs 100 times, streamed."""
    valley = made_valley(161, 50, 0.51)
    return lambda: valley.draw(100)
