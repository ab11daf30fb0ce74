"""What cannot be right about an elevation model is told."""

import numpy as np
import numpy.typing as npt

from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.surfacedoubts import find_surface_doubts

FloatArray = npt.NDArray[np.float64]

FOOT_M = 0.3048


def valley(scale: float = 1.0) -> ElevationModel:
    """Return a V-shaped valley with slopes of 27 degrees, 200 m high."""
    across = np.abs(np.arange(41) - 20.0) * 20.0 * 0.5
    down = np.arange(60)[:, None] * 20.0 * 0.02
    return ElevationModel(scale * (500.0 + across - down), 0.0, 1200.0, 20.0)


DIGS = np.array([100.0, 410.0, 700.0]), np.array([100.0, 600.0, 1100.0])
SURVEYED = np.array([600.0, 498.0, 650.0])


def problems(model: ElevationModel, surveyed_m: FloatArray | None = None) -> str:
    if surveyed_m is None:
        found = find_surface_doubts(model)
    else:
        found = find_surface_doubts(model, *DIGS, surveyed_m=surveyed_m)
    return " ".join(one.line() for one in found)


def test_a_plain_valley_raises_no_doubt() -> None:
    assert find_surface_doubts(valley(), *DIGS) == []


def test_a_model_that_misses_the_ground_says_what_it_covers() -> None:
    found = find_surface_doubts(valley(), [90000.0], [5.0])
    assert found[0].weight == "wrong"
    assert "at 1 of 1 digs; it covers easting 0 to 820" in found[0].problem


def test_a_model_that_covers_only_some_digs_is_a_doubt() -> None:
    found = find_surface_doubts(valley(), [90000.0, 100.0], [5.0, 100.0])
    assert found[0].weight == "doubt"
    assert "at 1 of 2 digs" in found[0].problem


def test_meters_labeled_feet_are_seen_against_surveyed_heights() -> None:
    model = valley()
    from_model = model.elevation_m[[54, 30, 4], [5, 20, 35]]
    shrunk = ElevationModel(model.elevation_m * FOOT_M, 0.0, 1200.0, 20.0)
    said = problems(shrunk, from_model)
    assert "rise by 0.30 m for each surveyed meter" in said
    assert 'elevation_unit = "m"' in said


def test_feet_labeled_meters_are_seen_against_surveyed_heights() -> None:
    model = valley()
    from_model = model.elevation_m[[54, 30, 4], [5, 20, 35]]
    stretched = ElevationModel(model.elevation_m / FOOT_M, 0.0, 1200.0, 20.0)
    said = problems(stretched, from_model)
    assert 'elevation_unit = "ft"' in said


def test_feet_labeled_meters_are_seen_by_slopes_that_cannot_stand() -> None:
    """Slopes of 27 degrees become 59 when they are stretched by 3.28."""
    stretched = ElevationModel(valley().elevation_m / FOOT_M, 0.0, 1200.0, 20.0)
    said = problems(stretched)
    assert "steeper than 59 degrees" in said
    assert "were feet read as meters?" in said


def test_a_flat_model_is_told() -> None:
    flat = ElevationModel(np.full((5, 5), 12.0), 0.0, 0.0, 1.0)
    assert "within 0.00 m" in problems(flat)


def test_holes_are_told_from_a_few_percent_on() -> None:
    model = valley()
    model.elevation_m[10:20, 10:20] = np.nan
    assert "4 % of the cells inside of it hold no height" in problems(model)


def test_a_model_without_heights_is_wrong() -> None:
    empty = ElevationModel(np.full((3, 3), np.nan), 0.0, 0.0, 1.0)
    assert [one.weight for one in find_surface_doubts(empty)] == ["wrong"]
