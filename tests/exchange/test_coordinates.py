"""Places on the ground's map grid, against published and outside numbers."""

import numpy as np
import numpy.testing as npt
import pytest
from pyproj import CRS, Geod
from pyproj.network import is_network_enabled  # type: ignore[attr-defined]

from pennyweight.exchange.coordinates import (
    is_plain_globe,
    open_grid,
    pick_utm,
    tape_from_peg,
)

MILLIMETER = 0.001


def written_out(text: str) -> str:
    """Return the well-known text of a system that has no number."""
    return CRS(text).to_wkt()


def test_degrees_become_utm_meters() -> None:
    """By PROJ and by GeographicLib, 46.05 N 14.5 E in zone 33, to the millimeter."""
    east, north = open_grid("EPSG:32633").to_grid(14.5, 46.05)
    npt.assert_allclose([east, north], [461318.7484, 5099724.3725], atol=MILLIMETER)


def test_meters_become_degrees_again() -> None:
    grid = open_grid("EPSG:32633")
    longitude, latitude = grid.to_globe(*grid.to_grid([14.5, 15.0], [46.05, 46.1]))
    npt.assert_allclose(longitude, [14.5, 15.0], atol=1e-11)
    npt.assert_allclose(latitude, [46.05, 46.1], atol=1e-11)


def test_a_system_of_feet_is_given_in_meters() -> None:
    """NAD83 / California zone 6 counts US survey feet of 1200/3937 m."""
    grid = open_grid("EPSG:2230")
    assert grid.foot_m == pytest.approx(1200 / 3937, rel=1e-12)
    meters = open_grid("EPSG:26946")  # the same zone in meters
    npt.assert_allclose(
        grid.to_grid(-116.5, 33.0), meters.to_grid(-116.5, 33.0), atol=MILLIMETER
    )


def test_a_system_of_meters_has_no_foot() -> None:
    assert open_grid("EPSG:32633").foot_m is None


def test_heights_of_a_compound_system_are_left_out() -> None:
    assert open_grid("EPSG:32610+5703").epsg == 32610


def test_an_old_datum_tells_its_accuracy() -> None:
    accuracy_m = open_grid("EPSG:26710").accuracy_m
    assert accuracy_m is None or accuracy_m > 2.0
    assert open_grid("EPSG:32610").accuracy_m == 0.0


def test_a_system_on_an_unknown_datum_tells_no_accuracy() -> None:
    assert open_grid(written_out("+proj=utm +zone=10 +ellps=clrk66")).accuracy_m is None


@pytest.mark.parametrize("crs", ["EPSG:99999", "here", "EPSG:4326", "EPSG:4267"])
def test_what_is_no_grid_is_refused_with_its_name(crs: str) -> None:
    with pytest.raises(ValueError, match=f"crs is '{crs}'"):
        open_grid(crs)


@pytest.mark.parametrize(
    ("longitude", "latitude", "crs"),
    [
        (14.5, 46.05, "EPSG:32633"),
        (-121.5, 39.2, "EPSG:32610"),
        (147.3, -42.9, "EPSG:32755"),
        (-180.0, 10.0, "EPSG:32601"),
        (180.0, 10.0, "EPSG:32601"),
        (179.9, 10.0, "EPSG:32660"),
        (6.0, 0.0, "EPSG:32632"),
    ],
)
def test_the_utm_zone_is_picked_by_longitude(
    longitude: float, latitude: float, crs: str
) -> None:
    assert pick_utm(longitude, latitude) == crs


def test_no_utm_zone_beyond_its_latitudes() -> None:
    with pytest.raises(ValueError, match=r"latitude is 85.0000"):
        pick_utm(0.0, 85.0)


def test_the_globe_itself_is_no_grid() -> None:
    assert is_plain_globe("epsg:4326")
    assert not is_plain_globe("EPSG:32610")


def test_a_grid_knows_the_area_that_it_is_meant_for() -> None:
    grid = open_grid("EPSG:32633")
    assert grid.reaches(14.5, 46.05)
    assert not grid.reaches(-121.0, 39.0)


def test_a_grid_of_the_users_own_reaches_everywhere() -> None:
    grid = open_grid(
        written_out("+proj=tmerc +lat_0=46 +lon_0=14.5 +datum=WGS84 +units=m")
    )
    assert grid.reaches(0.0, 0.0)
    assert not grid.reaches(float("inf"), 0.0)
    assert grid.epsg is None


def test_a_true_bearing_is_turned_by_the_convergence() -> None:
    """Walking 100 m true north by geodesic must follow the grid bearing found."""
    grid = open_grid("EPSG:32633")
    east, north = (float(one) for one in grid.to_grid(14.5, 46.05))
    bearing_deg = grid.bearing_on_grid(0.0, easting_m=east, northing_m=north)
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(14.5, 46.05, 0.0, 100.0)
    x, y = grid.to_grid(longitude, latitude)
    walked_deg = np.degrees(np.arctan2(x - east, y - north))
    assert bearing_deg == pytest.approx(float(walked_deg), abs=1e-4)


def test_across_is_positive_to_the_right() -> None:
    """Looking along 90 degrees (east), right is south."""
    east, north = tape_from_peg(
        (500.0, 100.0), 90.0, along_m=[10.0, 10.0], across_m=[3.0, -3.0]
    )
    npt.assert_allclose(east, [510.0, 510.0], atol=1e-9)
    npt.assert_allclose(north, [97.0, 103.0], atol=1e-9)


def test_no_correction_grid_is_ever_fetched() -> None:
    assert not is_network_enabled()


@pytest.mark.parametrize(
    "crs",
    [
        "+proj=utm +zone=33",
        "+proj=pipeline +step +proj=utm +zone=33",
        "WGS 84 / UTM zone 33N",
        '{"type": "ProjectedCRS"}',
        'COORDINATEOPERATION["x"]',
    ],
)
def test_a_system_is_named_by_its_number_or_its_well_known_text(crs: str) -> None:
    with pytest.raises(ValueError, match="neither the number of a system nor"):
        open_grid(crs)


@pytest.mark.parametrize(
    "crs", ["EPSG:32633", "32633", "EPSG:32633+5773", "urn:ogc:def:crs:EPSG::32633"]
)
def test_a_number_may_be_written_in_several_ways(crs: str) -> None:
    east, north = open_grid(crs).to_grid(15.0, 46.0)
    npt.assert_allclose((east, north), open_grid("EPSG:32633").to_grid(15.0, 46.0))
