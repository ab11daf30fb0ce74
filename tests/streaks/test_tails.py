"""Where a streak sinks below the cutoff between its last line and the next one."""

from typing import Any

import numpy as np
import pytest

from pennyweight.answers.streakfit import read_fit
from pennyweight.streaks.fit import StreakFit
from pennyweight.streaks.paths import find_streaks
from pennyweight.streaks.tails import TAIL_SHARE, follow_tail, likely_rows
from pennyweight.streaks.tracing import Traced, trace_horizon
from tests.answers.test_trace_streaks import line_of_digs, log_of, read

CUTOFF_MG_M3 = 100.0


@pytest.fixture(scope="module")
def ended() -> tuple[Traced, StreakFit]:
    """Trace a streak of six lines, and one beside it that is seen on three only."""
    both: dict[float, float] = {-5.0: 60.0, 5.0: 60.0}
    lines: list[Any] = [line_of_digs(f"L{at}", 15.0 * at, both) for at in range(3)]
    lines += [line_of_digs(f"L{at}", 15.0 * at, {-5.0: 60.0}) for at in (3, 4, 5)]
    fit = read_fit(read(log_of(*lines)))
    horizon = next(one for one in fit.horizons if one.counts.colors.sum() > 0)
    traced = trace_horizon(
        horizon,
        fit,
        cutoff_mg_m3=CUTOFF_MG_M3,
        min_pay_m=0.3,
        rng=np.random.default_rng(1),
    )
    return traced, fit


def last_of(traced: Traced) -> int:
    """Return the candidate at which the second streak ends."""
    crossings = traced.fit.crossings
    near = (crossings.line == 2) & (np.abs(crossings.n_m - 5.0) < 2.0)
    return int(np.flatnonzero(near)[0])


def test_a_tail_is_followed_half_way_and_only_gets_rarer(
    ended: tuple[Traced, StreakFit],
) -> None:
    traced, fit = ended
    tail = follow_tail(
        traced, last_of(traced), ([], {}), grid=fit.grid, downstream=True
    )
    assert tail is not None
    s_m = fit.grid.s_m[tail.rows]
    line_s_m = fit.sites.line_s_m
    assert s_m.min() > line_s_m[2] - 0.5
    assert s_m.max() <= line_s_m[2] + TAIL_SHARE * 15.0 + 0.5
    share = [float(one.present.mean()) for one in tail.ribbons]
    assert share == sorted(share, reverse=True)
    assert share[0] > 0.5
    assert all(row in tail.rows for row, _ in likely_rows(tail, 0.2))


def test_beyond_the_outermost_line_there_is_no_tail(
    ended: tuple[Traced, StreakFit],
) -> None:
    traced, fit = ended
    first = int(np.flatnonzero(traced.fit.crossings.line == 0)[0])
    up = follow_tail(traced, first, ([], {}), grid=fit.grid, downstream=False)
    assert up is None


def test_the_path_of_a_streak_runs_on_into_its_tail(
    ended: tuple[Traced, StreakFit],
) -> None:
    traced, fit = ended
    found = find_streaks([traced], fit)
    short = next(
        one
        for one in found.streaks
        if max(point.s_m for point in one.points) < fit.sites.line_s_m[3]
    )
    lines = [point.s_m for point in short.points if point.line is not None]
    assert max(point.s_m for point in short.points) > max(lines)
