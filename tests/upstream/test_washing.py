"""Counts on the water and the levels of gold that explain them."""

import numpy as np
import pytest
from scipy import stats

from pennyweight.upstream.fluxes import FluxScale
from pennyweight.upstream.washing import (
    count_log_likelihood,
    find_log_likelihood,
    make_washings,
    washing_log_likelihood,
)


def test_three_expected_colors_that_lie_unevenly_leave_a_pan_empty_in_38_of_100():
    """(1 + 3 / 0.5)^-0.5; a Poisson count leaves it empty in 5 of 100."""
    assert np.exp(count_log_likelihood(0.0, 3.0, 0.5)) == pytest.approx(0.377964473)
    assert np.exp(count_log_likelihood(0.0, 3.0, 1e9)) == pytest.approx(
        0.0497871, rel=1e-5
    )


def test_counts_that_lie_evenly_are_poisson():
    counts = np.arange(12.0)
    assert count_log_likelihood(counts, 4.2, 1e8) == pytest.approx(
        stats.poisson.logpmf(counts, 4.2), abs=1e-5
    )


def test_twice_the_sediment_halves_the_colors():
    washed = make_washings([0, 1], [5.0, 5.0], [0.5, 1.0])
    levels = np.array([0.0, 20.0])
    logs = washing_log_likelihood(
        washed, np.array([1.0, 2.0]), levels, everywhere_m3=0.0, evenness=2.0
    )
    # 20 x 0.5 / 1 and 20 x 1 / 2 colors are expected: the same.
    assert logs[0, 1] == pytest.approx(logs[1, 1])


def test_a_find_without_a_volume_says_only_that_gold_is_there():
    logs = find_log_likelihood(np.array([0.0, 1.0, 100.0]), 0.0)
    assert logs.tolist() == pytest.approx([np.log(0.02), 0.0, 0.0])
    assert find_log_likelihood(np.array([0.0]), 2.0).tolist() == [0.0]


def test_a_negative_count_is_named():
    with pytest.raises(ValueError, match=r"-2.0 colors were counted"):
        make_washings([0], [-2.0], [0.1])


def test_a_sample_without_a_volume_is_named():
    with pytest.raises(ValueError, match=r"an exposure is 0\.0 m3"):
        make_washings([0], [2.0], [0.0])


def test_all_places_together_have_a_mean():
    washed = make_washings([0, 1], [3.0, 1.0], [0.02, 0.06])
    assert washed.mean_colors_m3 == pytest.approx(50.0)
    assert make_washings([], [], []).mean_colors_m3 == 0.0


def test_levels_lie_one_ratio_apart_and_a_source_has_one():
    scale = FluxScale()
    assert scale.value[0] == 0.0
    assert scale.value[4] / scale.value[1] == pytest.approx(10.0)
    assert scale.strength().sum() == pytest.approx(1.0)
    # Half of the sources give less than the median of 100.
    below = scale.strength()[scale.value <= 100.0].sum()
    assert below == pytest.approx(0.5, abs=0.07)


def test_losing_nine_tenths_lowers_by_a_decade_of_levels():
    assert FluxScale().steps_lost(np.log(10.0)) == 3


def test_levels_closer_than_a_factor_two_are_refused():
    with pytest.raises(ValueError, match=r"a factor 1\.5 apart"):
        FluxScale(ratio=1.5)
