"""Heights read off a surface, against planes and bilinear arithmetic."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.elevation import ElevationModel, read_heights


def tilted_plane(
    rows: int = 6, columns: int = 8, cell_m: float = 2.0
) -> ElevationModel:
    """Return 100 m at the north-west corner, rising 0.1 east and 0.05 north."""
    east = (np.arange(columns) + 0.5) * cell_m
    north = -(np.arange(rows) + 0.5) * cell_m
    return ElevationModel(100.0 + 0.1 * east + 0.05 * north[:, None], 0.0, 0.0, cell_m)


def test_region_is_west_east_south_north() -> None:
    assert tilted_plane().region == (0.0, 16.0, -12.0, 0.0)


def test_heights_of_a_plane_are_the_plane() -> None:
    east, north = np.array([1.0, 7.3, 15.0]), np.array([-1.0, -5.5, -11.0])
    npt.assert_allclose(
        read_heights(tilted_plane(), east, north), 100.0 + 0.1 * east + 0.05 * north
    )


def test_between_four_cells_the_height_is_their_mean() -> None:
    """(1 + 2 + 3 + 6) / 4 = 3."""
    model = ElevationModel(np.array([[1.0, 2.0], [3.0, 6.0]]), 0.0, 2.0, 1.0)
    npt.assert_allclose(read_heights(model, [1.0], [1.0]), [3.0])


def test_an_unknown_cell_leaves_its_weight_to_the_others() -> None:
    """(1 + 2 + 3) / 3 = 2."""
    model = ElevationModel(np.array([[1.0, 2.0], [3.0, np.nan]]), 0.0, 2.0, 1.0)
    npt.assert_allclose(read_heights(model, [1.0], [1.0]), [2.0])
    assert np.isnan(read_heights(model, [1.5], [0.5])[0])


def test_within_half_a_cell_of_the_edge_the_edge_cell_speaks() -> None:
    model = ElevationModel(np.array([[1.0, 2.0], [3.0, 6.0]]), 0.0, 2.0, 1.0)
    npt.assert_allclose(read_heights(model, [0.0, 2.0], [2.0, 0.0]), [1.0, 6.0])


@pytest.mark.parametrize(
    "place", [(-0.1, -1.0), (16.1, -1.0), (1.0, 0.1), (1.0, -12.1), (np.nan, -1.0)]
)
def test_outside_nothing_is_known(place: tuple[float, float]) -> None:
    assert np.isnan(read_heights(tilted_plane(), [place[0]], [place[1]])[0])


def test_one_cell_is_its_own_height_everywhere() -> None:
    model = ElevationModel(np.array([[7.0]]), 0.0, 1.0, 1.0)
    npt.assert_allclose(read_heights(model, [0.1, 0.9], [0.1, 0.9]), 7.0)
