"""Streaks: the whole trace, and its fit on a large ground."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks
from pennyweight.records import Log

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "studies"))


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
