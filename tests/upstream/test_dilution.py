"""Dilution of a source by its catchment: published mass balance."""

import pytest

from pennyweight.upstream.dilution import diluted_value, mixed_value, source_value

PRINTED = 1e-9


def test_a_small_rich_area_is_diluted_by_the_catchment():
    """Hawkes (1976): 0.2 of 10 km2 at 500 ppb over 5 ppb gives 14.9 ppb."""
    found = diluted_value(500.0, 5.0, 0.2, catchment_km2=10.0)
    assert found == pytest.approx(14.9, abs=PRINTED)


def test_dilution_undone_gives_the_source_back():
    found = source_value(14.9, 5.0, 0.2, catchment_km2=10.0)
    assert found == pytest.approx(500.0, abs=1e-6)


def test_twice_the_background_is_reached_at_one_catchment():
    """Solved for the catchment: 0.2 (500 - 5) / 5 = 19.8 km2."""
    found = diluted_value(500.0, 5.0, 0.2, catchment_km2=19.8)
    assert found == pytest.approx(10.0, abs=PRINTED)


def test_a_confluence_mixes_by_area():
    assert mixed_value([4.0, 6.0], [30.0, 5.0]) == pytest.approx(15.0)


def test_background_of_three_units_is_their_mean_by_area():
    """Carranza (2009), eq. 5.7: shares 0.5, 0.3, 0.2 of 4, 10, 2 give 5.4."""
    assert mixed_value([0.5, 0.3, 0.2], [4.0, 10.0, 2.0]) == pytest.approx(5.4)
