"""Peaks, crossings, ribbons, tracks and hand joins on curves drawn by hand."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.crossings import Crossings, find_crossings, find_peaks
from pennyweight.streaks.handmethod import join_by_hand
from pennyweight.streaks.ribbons import cut_ribbon
from pennyweight.streaks.sites import Place, arrange_sites
from pennyweight.streaks.tracks import draw_tracks

GRID_M = np.arange(0.0, 20.25, 0.25)


def hill(center_m: float, crest: float, half_m: float = 1.5) -> np.ndarray:
    return crest * np.exp(-0.5 * ((GRID_M - center_m) / half_m) ** 2)


def cut(accumulation: np.ndarray, threshold: float, low_m: float, high_m: float):
    rows = np.atleast_2d(accumulation) + 1e-9
    ends = np.full(len(rows), low_m), np.full(len(rows), high_m)
    return cut_ribbon(
        rows,
        np.full(rows.shape, threshold),
        GRID_M,
        search_n_m=ends,
        limit_n_m=ends,
    )


def test_a_ribbon_has_the_width_of_the_hill_at_the_cutoff() -> None:
    """A hill of 100 with half-width 1.5 m is above 40 for 2 x 1.5 sqrt(2 ln 2.5) m."""
    ribbon = cut(hill(10.0, 100.0), 40.0, 0.0, 20.0)
    width_m = 2.0 * 1.5 * np.sqrt(2.0 * np.log(2.5))
    assert ribbon.width_m[0] == pytest.approx(width_m, abs=0.01)
    assert ribbon.center_n_m[0] == pytest.approx(10.0, abs=1e-6)


def test_gold_of_a_ribbon_is_the_sum_under_it() -> None:
    """A box of 50 mg/m2 and 4 m: 17 columns of 0.25 m, 212.5 mg for each meter."""
    box = np.where(np.abs(GRID_M - 10.0) <= 2.0, 50.0, 1.0)
    ribbon = cut(box, 10.0, 0.0, 20.0)
    assert ribbon.gold_mg_m[0] == pytest.approx(212.5)


def test_nothing_above_the_cutoff_is_no_ribbon() -> None:
    ribbon = cut(hill(10.0, 30.0), 40.0, 0.0, 20.0)
    assert not ribbon.present[0]
    assert ribbon.width_m[0] == 0.0
    assert np.isnan(ribbon.center_n_m[0])


def test_a_sliver_narrower_than_a_trench_is_no_streak() -> None:
    ribbon = cut(hill(10.0, 42.0, 1.0), 40.0, 0.0, 20.0)
    assert not ribbon.present[0]


def test_a_ribbon_stays_within_its_window() -> None:
    both = hill(6.0, 100.0) + hill(14.0, 300.0)
    ribbon = cut(both, 20.0, 2.0, 9.0)
    assert ribbon.center_n_m[0] == pytest.approx(6.0, abs=0.2)


def test_a_higher_cutoff_never_widens_a_ribbon() -> None:
    widths = [
        float(cut(hill(9.0, 100.0), level, 0.0, 20.0).width_m[0])
        for level in (5.0, 20.0, 50.0, 90.0, 120.0)
    ]
    assert widths == sorted(widths, reverse=True)


def test_a_shallow_valley_parts_no_peaks() -> None:
    clear = np.array([1.0, 10.0, 5.0, 10.0, 1.0])
    shallow = np.array([1.0, 10.0, 6.0, 10.0, 1.0])
    assert len(find_peaks(clear, 1.0)) == 2
    assert len(find_peaks(shallow, 1.0)) == 1


def test_two_peaks_in_one_meter_are_one() -> None:
    assert len(find_peaks(np.array([1.0, 10.0, 1.0, 10.0, 1.0]), 0.5)) == 1


def test_crossings_tell_place_presence_and_gold() -> None:
    rng = np.random.default_rng(1)
    shape = np.log(hill(6.0, 200.0) + hill(15.0, 20.0) + 1.0)
    draws = shape + 0.3 * rng.standard_normal((400, 1, 1))
    found = find_crossings(
        draws,
        GRID_M,
        level_mg_m2=np.array([40.0]),
        reach_m=np.array([[0.0, 20.0]]),
    )
    assert found.n_m[0] == pytest.approx(6.0, abs=0.1)
    assert found.presence[0] == 1.0
    gold_mg_m = 200.0 * 1.5 * np.sqrt(2.0 * np.pi)
    assert np.exp(found.log_gold[0]) == pytest.approx(gold_mg_m, rel=0.12)


def test_a_line_that_says_nothing_has_no_crossing() -> None:
    found = find_crossings(
        np.full((10, 1, len(GRID_M)), 5.0),
        GRID_M,
        level_mg_m2=np.array([40.0]),
        reach_m=np.full((1, 2), np.nan),
    )
    assert len(found.line) == 0


def straight_crossings(n_m: list[float]) -> Crossings:
    n = len(n_m)
    return Crossings(
        line=np.arange(n),
        low=np.zeros(n, dtype=np.int64),
        high=np.zeros(n, dtype=np.int64),
        presence=np.ones(n),
        n_m=np.array(n_m),
        n_sd_m=np.full(n, 0.3),
        log_gold=np.full(n, 5.0),
        log_gold_sd=np.full(n, 0.3),
    )


def test_a_track_without_position_error_stays_by_its_crossings() -> None:
    found = straight_crossings([0.0, 0.1, -0.1, 0.0])
    links = np.array([0, 1, 2]), np.array([1, 2, 3])
    tracks = draw_tracks(
        found,
        links,
        15.0 * np.arange(4),
        shift_sd_m=0.0,
        sideways_m=1.4,
        noise=np.zeros(8),
    )
    npt.assert_allclose(tracks.n_m, 0.0, atol=0.15)
    npt.assert_allclose(tracks.shift_m, 0.0)


def test_a_line_off_all_its_neighbors_is_taken_for_shifted() -> None:
    """Two streaks both 4 m to the left on one line only: the receiver's error."""
    n_m = np.array([[0.0, 10.0], [0.0, 10.0], [4.0, 14.0], [0.0, 10.0], [0.0, 10.0]])
    found = straight_crossings(n_m.ravel().tolist())
    line = np.repeat(np.arange(5), 2)
    found = Crossings(
        **{
            name: getattr(found, name)
            for name in ("low", "high", "presence", "n_m", "n_sd_m", "log_gold")
        },
        line=line,
        log_gold_sd=found.log_gold_sd,
    )
    parent = np.arange(8)
    tracks = draw_tracks(
        found,
        (parent, parent + 2),
        15.0 * np.arange(5),
        shift_sd_m=2.5,
        sideways_m=0.9,
        noise=np.zeros(15),
    )
    assert tracks.shift_m[2] > 2.5
    assert np.abs(tracks.shift_m[[0, 1, 3, 4]]).max() < 1.2


def test_by_hand_the_best_digs_are_joined_to_the_nearest() -> None:
    values = np.array([[1.0, 90.0, 60.0, 1.0, 70.0], [1.0, 1.0, 80.0, 1.0, 1.0]])
    sites = arrange_sites(
        [
            Place(dig=f"{line}{at}", line=str(line), s_m=15.0 * line, n_m=2.0 * at)
            for line in range(2)
            for at in range(5)
        ]
    )
    hand = join_by_hand(
        sites, np.arange(10), values.ravel(), threshold_mg_m2=np.full(10, 40.0)
    )
    assert [sites.digs[at] for at in hand.best] == ["01", "04", "12"]
    assert [
        (sites.digs[a], sites.digs[b])
        for a, b in zip(hand.upper, hand.lower, strict=True)
    ] == [
        ("01", "12"),
        ("04", "12"),
    ]
    npt.assert_allclose(hand.width_m, [4.0, 1.0, 2.0])
