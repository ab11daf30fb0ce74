"""Lines of equal height on planes, cones and broken ground."""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.terrain.contours import contour_lines, neat_interval
from pennyweight.terrain.elevation import ElevationModel, read_heights


def cone() -> ElevationModel:
    """Return a cone of 1 m per m, 20 m high, around (20, -20)."""
    place = np.arange(40) + 0.5
    height = 20.0 - np.hypot(place - 20.0, (place - 20.0)[:, None])
    return ElevationModel(height, 0.0, 0.0, 1.0)


def test_contour_of_a_cone_is_a_circle_of_known_radius() -> None:
    level, line = next(one for one in contour_lines(cone(), 5.0) if one[0] == 10.0)
    npt.assert_allclose(np.hypot(*(line - [20.0, -20.0]).T), 20.0 - level, atol=0.02)
    npt.assert_array_equal(line[0], line[-1])


def test_levels_are_multiples_of_the_interval_from_below_up() -> None:
    levels = [level for level, _ in contour_lines(cone(), 5.0)]
    assert levels == sorted(levels)
    assert set(levels) == {-5.0, 0.0, 5.0, 10.0, 15.0}


def test_heights_read_back_on_a_contour_are_its_level() -> None:
    model = cone()
    for level, line in contour_lines(model, 4.0):
        npt.assert_allclose(read_heights(model, *line.T), level, atol=0.3)


def test_lines_stop_at_unknown_cells() -> None:
    model = cone()
    model.elevation_m[:, 20:] = np.nan
    lines = contour_lines(model, 5.0)
    assert lines
    assert max(line[:, 0].max() for _, line in lines) <= 19.5


def test_nothing_known_draws_nothing() -> None:
    empty = ElevationModel(np.full((4, 4), np.nan), 0.0, 0.0, 1.0)
    assert contour_lines(empty, 1.0) == []
    assert contour_lines(ElevationModel(np.ones((1, 4)), 0.0, 0.0, 1.0), 1.0) == []


@pytest.mark.parametrize(
    ("span_m", "interval_m"), [(10.0, 1.0), (13.0, 2.0), (47.0, 5.0), (0.9, 0.1)]
)
def test_interval_is_neat(span_m: float, interval_m: float) -> None:
    """Smallest of 1, 2, 5 x power of ten not below span / 12."""
    assert neat_interval(span_m) == pytest.approx(interval_m)


def test_impossible_intervals_are_refused() -> None:
    with pytest.raises(ValueError, match=r"interval_m is -1.0 m"):
        contour_lines(cone(), -1.0)
    with pytest.raises(ValueError, match=r"span is 0.0 m for 12 levels"):
        neat_interval(0.0)
