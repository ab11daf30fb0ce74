"""The flood beside another model: landlab's overland flow in the same channel."""

import importlib

import numpy as np
import pytest
from flumes import flume

from pennyweight.highwater.flood import Pace, flood_at

SLOPE, ROUGH, UNIT_M2_S, CELLS = 0.01, 0.03, 1.0, 40


def landlab_depths_m() -> np.ndarray:
    """Return depths along the middle of the channel, run to rest by landlab."""
    landlab = importlib.import_module("landlab")
    components = importlib.import_module("landlab.components")

    grid = landlab.RasterModelGrid((5, CELLS + 2), xy_spacing=1.0)
    grid.add_zeros("topographic__elevation", at="node")
    grid.add_zeros("surface_water__depth", at="node")
    grid.at_node["topographic__elevation"][:] = -SLOPE * grid.node_x
    grid.at_node["surface_water__depth"][:] = 0.5
    grid.set_closed_boundaries_at_grid_edges(
        right_is_closed=False,
        top_is_closed=True,
        left_is_closed=True,
        bottom_is_closed=True,
    )
    model = components.OverlandFlow(grid, mannings_n=ROUGH, alpha=0.4)
    depth = grid.at_node["surface_water__depth"].reshape(5, -1)
    for _ in range(1000):
        step_s = model.calc_time_step()
        depth[1:4, 1] += UNIT_M2_S * step_s
        model.overland_flow(step_s)
    return np.array(depth[2, 1:-1])


@pytest.mark.filterwarnings("ignore")
def test_depths_agree_with_landlab_in_even_flow() -> None:
    """Both reach (q n / sqrt S)^0.6 = 0.486 m away from the ends, to 3 %."""
    theirs = landlab_depths_m()
    reach = flume(-SLOPE * np.arange(float(CELLS)), 1.0, manning_n=ROUGH)
    ours = flood_at(reach, 3.0 * UNIT_M2_S, pace=Pace(tolerance=1e-3))
    middle = slice(10, 25)
    assert ours.depth_m[1, middle].tolist() == pytest.approx(
        theirs[middle].tolist(), rel=0.03
    )
    expected_m = (UNIT_M2_S * ROUGH / SLOPE**0.5) ** 0.6
    assert ours.depth_m[1, 15] == pytest.approx(expected_m, rel=0.02)
