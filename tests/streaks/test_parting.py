"""One peak or two, draw by draw; and tracks that a swinging streak does not pull."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.crossings import Crossings, find_crossings, part_line
from pennyweight.streaks.links import Floor, _emissions
from pennyweight.streaks.tracks import draw_tracks

GRID_M = np.arange(0.0, 20.25, 0.25)
STEP_M = 0.25


def two_hills(valley: float) -> np.ndarray:
    """Hills of 100 at 5 and 10 m with a dip between them down to `valley`."""
    n_m = [0.0, 5.0, 7.5, 10.0, 20.0]
    return np.log(np.interp(GRID_M, n_m, [1.0, 100.0, valley, 90.0, 1.0]))


def basins() -> tuple[np.ndarray, np.ndarray]:
    middle = int(np.flatnonzero(GRID_M == 7.5)[0])
    return np.array([[0, middle]]), np.array([[middle, len(GRID_M) - 1]])


def test_a_clear_valley_parts_and_a_shallow_one_does_not() -> None:
    draws = np.stack([two_hills(30.0), two_hills(70.0)])
    parted = part_line(draws, basins(), STEP_M)
    npt.assert_array_equal(parted.own, [[True, True], [True, False]])
    # The higher peak takes over the ground of the lower one.
    assert parted.high[1, 0] == len(GRID_M) - 1
    npt.assert_allclose(np.exp(parted.top_log[0]), [100.0, 90.0])


def test_two_that_are_known_apart_stay_two() -> None:
    draws = two_hills(70.0)[None]
    parted = part_line(draws, basins(), STEP_M, apart=np.array([[True, True]]))
    npt.assert_array_equal(parted.own, [[True, True]])


def test_a_faint_valley_leaves_it_to_the_links() -> None:
    """Parted in three draws of ten: two candidates, both there in as many."""
    draws = np.stack([two_hills(30.0)] * 3 + [two_hills(80.0)] * 7)[:, None, :]
    found = find_crossings(
        draws,
        GRID_M,
        level_mg_m2=np.array([40.0]),
        reach_m=np.array([[0.0, 20.0]]),
    )
    npt.assert_allclose(found.presence, [1.0, 0.3])
    assert found.seen is not None
    floor = Floor(
        lines=np.array([0]), line_s_m=np.zeros(1), width_m=20.0, shift_sd_m=0.0
    )
    (weight,) = _emissions(found, floor)
    # Subsets in the order none, first, second, both; a tenth is left to chance alone.
    npt.assert_allclose(weight[1], 0.9 * 0.7 + 0.1 * 0.7, atol=1e-3)
    npt.assert_allclose(weight[3], 0.9 * 0.3 + 0.1 * 0.3, atol=1e-3)
    assert weight.sum() == pytest.approx(1.0)


def test_a_valley_that_parts_in_too_few_draws_is_none() -> None:
    draws = np.stack([two_hills(30.0)] + [two_hills(80.0)] * 19)[:, None, :]
    found = find_crossings(
        draws,
        GRID_M,
        level_mg_m2=np.array([40.0]),
        reach_m=np.array([[0.0, 20.0]]),
    )
    assert len(found.line) == 1


def test_only_some_lines_keep_what_their_draws_saw() -> None:
    draws = np.stack([two_hills(30.0)] * 10)[:, None, :].repeat(2, axis=1)
    found = find_crossings(
        draws,
        GRID_M,
        level_mg_m2=np.array([40.0, 40.0]),
        reach_m=np.array([[0.0, 20.0], [0.0, 20.0]]),
    )
    kept = found.only_on(np.array([1]))
    assert kept.seen is not None
    assert kept.seen.shape == (2, 10)


def test_a_streak_that_swings_over_does_not_pull_its_line() -> None:
    """One of two streaks steps 9 m into the other at the last line."""
    found = Crossings(
        line=np.array([0, 0, 1, 1, 2, 2, 3]),
        low=np.zeros(7, dtype=np.int64),
        high=np.zeros(7, dtype=np.int64),
        presence=np.ones(7),
        n_m=np.array([0.0, 10.0, 0.0, 10.0, 0.0, 9.0, 0.0]),
        n_sd_m=np.full(7, 0.3),
        log_gold=np.full(7, 5.0),
        log_gold_sd=np.full(7, 0.3),
    )
    links = np.array([0, 1, 2, 3, 4, 5]), np.array([2, 3, 4, 5, 6, 6])
    tracks = draw_tracks(
        found,
        links,
        15.0 * np.arange(4),
        shift_sd_m=0.8,
        sideways_m=1.4,
        noise=np.zeros(11),
    )
    assert np.abs(tracks.shift_m).max() < 0.35
    assert abs(tracks.n_m[5] - 9.0) < 0.5
