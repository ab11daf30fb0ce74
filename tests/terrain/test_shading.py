"""Shaded relief against planes worked by hand and a second implementation."""

from typing import Any

import numpy as np
import numpy.testing as npt
import pytest
from matplotlib import cbook
from matplotlib.colors import LightSource

from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.shading import hillshade, surface_slopes


def plane(to_east: float, to_north: float) -> ElevationModel:
    east = (np.arange(7) + 0.5) * 3.0
    north = -(np.arange(5) + 0.5) * 3.0
    height = to_east * east + to_north * north[:, None]
    return ElevationModel(height, 0.0, 0.0, 3.0)


def load_ridges() -> ElevationModel:
    """Return the ridges of Tennessee that come with the plotting library (SRTM)."""
    stored: Any = cbook.get_sample_data("jacksboro_fault_dem.npz")
    height = np.asarray(stored["elevation"], dtype=np.float64)
    return ElevationModel(height, 0.0, 0.0, 90.0)


def test_slopes_of_a_plane_are_exact_up_to_the_edge() -> None:
    to_east, to_north = surface_slopes(plane(0.2, -0.4))
    npt.assert_allclose(to_east, 0.2, atol=1e-12)
    npt.assert_allclose(to_north, -0.4, atol=1e-12)


def test_horn_differences_agree_with_hand_arithmetic() -> None:
    """A 3x3 of 1..9 at 1 m: east ((3+12+9)-(1+8+7))/8 = 1; north -24/8 = -3."""
    model = ElevationModel(np.arange(1.0, 10.0).reshape(3, 3), 0.0, 3.0, 1.0)
    to_east, to_north = surface_slopes(model)
    npt.assert_allclose([to_east[1, 1], to_north[1, 1]], [1.0, -3.0])


def test_level_ground_is_as_bright_as_the_light_is_high() -> None:
    """1 + 254 sin(45 deg) = 180.6."""
    assert np.all(hillshade(plane(0.0, 0.0)) == 181)


def test_a_slope_square_to_the_light_is_brightest() -> None:
    """45 degrees down toward the north-west: rises 1/sqrt(2) east, falls north."""
    rise = np.sqrt(0.5)
    assert np.all(hillshade(plane(rise, -rise)) == 255)


def test_a_slope_turned_away_is_dark_but_known() -> None:
    assert np.all(hillshade(plane(-2.0, 2.0)) == 1)


def test_unknown_cells_are_zero_and_spoil_no_neighbor() -> None:
    model = plane(0.0, 0.0)
    model.elevation_m[2, 3] = np.nan
    gray = hillshade(model)
    assert gray[2, 3] == 0
    assert np.count_nonzero(gray == 181) == gray.size - 1


def test_exaggeration_is_the_same_as_steeper_ground() -> None:
    npt.assert_array_equal(
        hillshade(plane(0.1, 0.0), exaggeration=3.0), hillshade(plane(0.3, 0.0))
    )


def test_exaggeration_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"exaggeration is 0.0"):
        hillshade(plane(0.1, 0.0), exaggeration=0.0)


def test_real_ridges_agree_with_a_second_implementation() -> None:
    """The plotting library takes two-cell differences, ours eight-cell ones."""
    model = load_ridges()
    light = LightSource(azdeg=315, altdeg=45)
    other = light.hillshade(model.elevation_m, dx=90.0, dy=90.0)
    to_east, to_north = surface_slopes(model)
    gray = hillshade(model)
    assert np.corrcoef(gray.ravel(), other.ravel())[0, 1] > 0.97
    south, east = np.gradient(model.elevation_m, 90.0)
    npt.assert_allclose(to_east.mean(), east.mean(), atol=1e-3)
    npt.assert_allclose(to_north.mean(), -south.mean(), atol=1e-3)


def test_one_row_of_cells_has_no_fall_across() -> None:
    model = ElevationModel(np.array([[1.0, 2.0, 3.0]]), 0.0, 1.0, 1.0)
    to_east, to_north = surface_slopes(model)
    npt.assert_allclose(to_east, 1.0)
    npt.assert_allclose(to_north, 0.0)
