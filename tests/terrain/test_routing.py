"""Where water runs, on surfaces whose answer is known by hand."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.routing import (
    height_above_drainage,
    outline_catchment,
    route_water,
)


def surface(*rows: list[float], cell_m: float = 10.0) -> ElevationModel:
    """Return a model with its upper left corner at (0, 0)."""
    return ElevationModel(np.array(rows, dtype=np.float64), 0.0, 0.0, cell_m)


def gutter(rows: int = 6, columns: int = 5) -> ElevationModel:
    """Return a V-shaped gutter along the middle column that falls to the south."""
    across = np.abs(np.arange(columns) - columns // 2)
    down = np.arange(rows)[:, None]
    return ElevationModel(100.0 + 2.0 * across - 0.5 * down, 0.0, 0.0, 10.0)


def rough(seed: int, rows: int = 40, columns: int = 30) -> ElevationModel:
    """Return a rough slope with sinks and a hole of unknown cells."""
    rng = np.random.default_rng(seed)
    height = rng.normal(size=(rows, columns)) + 0.3 * np.arange(columns)
    height[18:21, 10:14] = np.nan
    return ElevationModel(height, 500.0, 900.0, 5.0)


def test_a_gutter_gathers_all_water_in_its_middle() -> None:
    """Six rows of five cells of 100 m2: 3000 m2 leave at the foot of the middle."""
    routing = route_water(gutter())
    assert routing.catchment_m2[5, 2] == 3000.0
    assert routing.below.reshape(6, 5)[5, 2] == -1
    npt.assert_array_equal(routing.catchment_m2[0], [100, 200, 500, 200, 100])


def test_water_takes_the_steepest_of_the_eight_falls_not_the_lowest_neighbor() -> None:
    """A fall of 1.2 straight is steeper than 1.6 aslant (1.6 / 1.414 = 1.13)."""
    model = surface(
        [9.0, 9.0, 9.0, 9.0],
        [9.0, 5.0, 3.8, 3.0],
        [9.0, 9.0, 3.4, 2.0],
    )
    below = route_water(model).below.reshape(3, 4)
    assert below[1, 1] == 1 * 4 + 2


def test_a_sink_is_filled_to_its_lowest_way_out() -> None:
    model = surface(
        [9.0, 9.0, 9.0, 9.0, 9.0],
        [9.0, 4.0, 1.0, 6.0, 5.0],
        [9.0, 9.0, 9.0, 9.0, 9.0],
    )
    routing = route_water(model)
    npt.assert_allclose(routing.filled_m[1], [9.0, 6.0, 6.0, 6.0, 5.0], atol=1e-6)
    assert routing.catchment_m2[1, 4] >= 400.0


def test_a_sink_is_cut_open_along_the_flow() -> None:
    """The way out over 6 and 5 is cut down to the bottom of the sink, 1."""
    model = surface(
        [9.0, 9.0, 9.0, 9.0, 9.0],
        [9.0, 4.0, 1.0, 6.0, 5.0],
        [9.0, 9.0, 9.0, 9.0, 9.0],
    )
    npt.assert_allclose(route_water(model).carved_m[1, 2:], [1.0, 1.0, 1.0])


@pytest.mark.parametrize("seed", range(30))
def test_what_leaves_is_all_that_fell(seed: int) -> None:
    routing = route_water(rough(seed))
    leaves = routing.below.reshape(routing.shape) < 0
    known = np.isfinite(routing.model.elevation_m)
    assert routing.catchment_m2[leaves & known].sum() == known.sum() * 25.0


@pytest.mark.parametrize("seed", range(30))
def test_no_water_runs_in_a_loop_or_uphill(seed: int) -> None:
    """In the order from the outlets up, the cell below always comes first."""
    routing = route_water(rough(seed))
    rank = np.full(routing.below.size, -1)
    rank[routing.order] = np.arange(routing.order.size)
    drains = routing.order[routing.below[routing.order] >= 0]
    assert np.all(rank[routing.below[drains]] < rank[drains])
    filled = routing.filled_m.ravel()
    assert np.all(filled[routing.below[drains]] <= filled[drains] + 1e-5)
    carved = routing.carved_m.ravel()
    assert np.all(carved[routing.below[drains]] <= carved[drains])


def test_unknown_cells_hold_no_water_and_let_it_out() -> None:
    routing = route_water(rough(3))
    assert np.isnan(routing.catchment_m2[18:21, 10:14]).all()
    assert np.isnan(routing.filled_m[19, 12])


def test_a_flat_model_drains_to_its_edge() -> None:
    routing = route_water(ElevationModel(np.full((9, 9), 7.0), 0.0, 0.0, 1.0))
    leaves = routing.below.reshape(9, 9) < 0
    assert not leaves[1:-1, 1:-1].any()
    assert routing.catchment_m2[leaves].sum() == 81.0


def test_a_model_without_a_height_is_refused() -> None:
    with pytest.raises(ValueError, match="none of the 4 cells"):
        route_water(ElevationModel(np.full((2, 2), np.nan), 0.0, 0.0, 1.0))


def test_height_above_drainage_is_counted_from_the_stream_it_drains_to() -> None:
    """Two cells aside of the gutter: two steps of 2 m."""
    routing = route_water(gutter())
    drainage = np.zeros((6, 5), dtype=np.bool_)
    drainage[:, 2] = True
    above = height_above_drainage(routing, drainage)
    npt.assert_allclose(above[:, 2], 0.0)
    assert above[5, 0] == pytest.approx(4.0)
    assert above[0, 0] == pytest.approx(4.0)


def test_a_catchment_is_the_cells_whose_water_passes() -> None:
    routing = route_water(gutter())
    cell = 3 * 5 + 2
    outlined = outline_catchment(routing, cell)
    assert outlined.sum() * 100.0 == routing.catchment_m2[3, 2]
    assert not outlined[4:].any()
    with pytest.raises(ValueError, match="not one of the model's 30"):
        outline_catchment(routing, 99)


def test_a_catchment_that_touches_the_edge_is_said_to_be_cut_off() -> None:
    """A bowl inside a high rim is whole; a gutter from the edge is not."""
    assert route_water(gutter()).cut_off[5, 2]
    away = np.hypot(*np.mgrid[-7:8, -7:8].astype(np.float64))
    height = 20.0 - np.abs(away - 5.0)
    height[7, 7:] = 14.0 - 0.1 * np.arange(8)
    routing = route_water(ElevationModel(height, 0.0, 0.0, 1.0))
    assert not routing.cut_off[7, 11]
    assert routing.catchment_m2[7, 11] > 50.0


def test_places_and_cells_agree() -> None:
    routing = route_water(rough(1))
    cells = np.array([0, 31, 500])
    east, north = routing.places(cells)
    npt.assert_array_equal(routing.cells(east, north), cells)
    npt.assert_array_equal(routing.cells([0.0], [0.0]), [-1])


def test_the_way_down_is_straight_and_aslant_steps() -> None:
    """A steep gutter is met aslant: two steps of 14.1 m, then three of 10 m."""
    steep = gutter()
    fall = 1.5 * np.arange(6)[:, None]
    model = ElevationModel(steep.elevation_m - fall, 0.0, 0.0, 10.0)
    way_m = route_water(model).way_m
    assert way_m[0, 0] == pytest.approx(10.0 * (2 * np.sqrt(2.0) + 3.0))
