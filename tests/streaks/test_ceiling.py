"""The bound of a field: what no dig supports is bent down, the rest is left alone."""

import numpy as np
import pytest

from pennyweight.streaks.ceiling import RICHEST_RATIO, ceiling_log, hold_below
from pennyweight.streaks.counting import FieldCounts
from pennyweight.streaks.profiles import (
    MOST_SIGMA,
    LineCounts,
    draw_hyper,
    fit_profiles,
)

ONE_PERCENT = 0.01


def counts(colors: list[float], exposed: list[float]) -> FieldCounts:
    """Return digs of one line."""
    n = len(colors)
    return FieldCounts(
        line=np.zeros(n, np.int64),
        n_m=np.arange(n, dtype=np.float64),
        colors=np.array(colors),
        exposed=np.array(exposed),
    )


def test_the_bound_by_hand() -> None:
    """No color in a dig of exposure 2 allows 2.303 / 2 mg/m2 with 90 %."""
    found = np.exp(ceiling_log(counts([0.0], [2.0])))
    assert found == pytest.approx(RICHEST_RATIO * np.log(10.0) / 2.0)


def test_an_unwashed_dig_allows_nothing_of_its_own() -> None:
    alone = ceiling_log(counts([3.0], [1.0]))
    assert ceiling_log(counts([3.0, 50.0], [1.0, 0.0])) == alone


def test_what_the_digs_saw_is_left_as_it_was() -> None:
    field = np.log(np.array([1.0, 30.0, 100.0]))
    hold_below((field,), float(np.log(1000.0)))
    assert np.exp(field) == pytest.approx([1.0, 30.0, 100.0], rel=ONE_PERCENT)


def test_order_is_kept_and_nothing_exceeds_the_bound() -> None:
    field = np.linspace(0.0, 12.0, 60).astype(np.float32)
    hold_below((field,), 6.0)
    assert np.all(np.diff(field) >= 0.0)
    assert field.max() <= 6.0


def test_no_drawn_spread_is_beyond_what_ground_has() -> None:
    """Two digs, one rich and one empty, would else allow any spread."""
    lines = LineCounts(
        n_m=np.array([[0.0, 12.0]]),
        colors=np.array([[90.0, 0.0]]),
        exposed=np.array([[0.05, 0.05]]),
    )
    drawn = draw_hyper(fit_profiles(lines), 200, np.random.default_rng(3))
    assert drawn[:, 0].max() <= MOST_SIGMA * 1.000001
