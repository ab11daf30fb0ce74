"""Every way of saying where a dig lies, and of saying it wrong."""

import math
from collections.abc import Callable
from typing import Any

import numpy.testing as npt
import pytest
from pyproj import CRS

from pennyweight.records import Dig, Ground, Log

Files = dict[str, str | bytes]
CENTIMETER = 0.01
UTM33 = 'crs = "EPSG:32633"\n'

#: A system on a datum that nobody knows, written out.
OLD_DATUM = CRS("+proj=utm +zone=33 +ellps=clrk66").to_wkt()


def place(log: Any, name: str) -> tuple[float, float]:
    dig = next(one for one in log.digs if one.dig == name)
    return dig.easting_m, dig.northing_m


def test_degrees_are_put_on_the_named_grid(read_log: Callable[..., Any]) -> None:
    read = read_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,longitude,latitude\nT1,14.5,46.05\n",
        }
    )
    npt.assert_allclose(
        place(read.log, "T1"), (461318.7484, 5099724.3725), atol=CENTIMETER
    )
    assert read.log.digs[0].typed == {"longitude": "14.5", "latitude": "46.05"}
    assert read.doubts == ()


def test_without_a_crs_the_utm_zone_is_picked_and_told(
    read_log: Callable[..., Any],
) -> None:
    read = read_log({"digs.csv": "dig,longitude,latitude\nT1,-121.5,39.2\n"})
    assert read.log.ground.crs == "EPSG:32610"
    assert read.assumptions == {"crs": "EPSG:32610"}
    assert "was picked by longitude" in read.doubts[0].problem


def test_a_ground_across_180_degrees_lies_in_a_zone_beside_it(
    read_log: Callable[..., Any],
) -> None:
    digs = "dig,longitude,latitude\nT1,179.99999,65.1\nT2,-179.99999,65.1\n"
    read = read_log({"digs.csv": digs})
    assert read.log.ground.crs in {"EPSG:32660", "EPSG:32601"}
    east = [dig.easting_m for dig in read.log.digs]
    npt.assert_allclose(east[1] - east[0], 0.94, atol=CENTIMETER)


def test_the_globe_named_as_crs_picks_a_zone_too(read_log: Callable[..., Any]) -> None:
    files = {
        "ground.toml": 'crs = "EPSG:4326"\n',
        "digs.csv": "dig,longitude,latitude\nT1,14.5,46.05\n",
    }
    assert read_log(files).log.ground.crs == "EPSG:32633"


def test_feet_are_the_systems_own(read_log: Callable[..., Any]) -> None:
    """6,500,000 US survey feet are 1,981,203.962 m; international ones 1,981,200."""
    read = read_log(
        {
            "ground.toml": 'crs = "EPSG:2230"\n',
            "digs.csv": "dig,easting_ft,northing_ft\nT1,6500000,1900000\n",
        }
    )
    east, north = place(read.log, "T1")
    assert east == pytest.approx(6_500_000 * 1200 / 3937, abs=1e-6)
    assert north == pytest.approx(1_900_000 * 1200 / 3937, abs=1e-6)
    assert read.log.digs[0].typed["easting_ft"] == "6500000"


def test_feet_are_refused_where_the_system_has_none(
    refuse_log: Callable[..., Any],
) -> None:
    (refusal,) = refuse_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,easting_ft,northing_ft\nT1,1500000,16000000\n",
        }
    )
    assert refusal.column == "easting_ft"
    assert "(EPSG:32633) has no foot of its own" in refusal.expected


def test_feet_without_any_system_are_refused(refuse_log: Callable[..., Any]) -> None:
    (refusal,) = refuse_log(
        {"digs.csv": "dig,easting_ft,northing_ft\nT1,1500000,16000000\n"}
    )
    assert "(no crs)" in refusal.expected


def test_eastings_without_a_crs_are_a_grid_of_ones_own(
    read_log: Callable[..., Any],
) -> None:
    read = read_log({"digs.csv": "dig,easting_m,northing_m\nT1,100,200\n"})
    assert read.log.ground.crs is None
    assert place(read.log, "T1") == (100.0, 200.0)
    assert "a grid of your own" in read.doubts[0].problem


def test_degrees_beside_eastings_without_a_crs_are_refused(
    refuse_log: Callable[..., Any],
) -> None:
    (refusal,) = refuse_log(
        {
            "digs.csv": "dig,easting_m,northing_m,longitude,latitude\n"
            "T1,500000,5100000,,\nT2,,,14.5,46.05\n"
        }
    )
    assert (refusal.row, refusal.column) == (3, "longitude")
    assert "a crs in ground.toml" in refusal.expected


def test_along_and_across_run_from_the_peg_toward_the_mark(
    read_log: Callable[..., Any],
) -> None:
    """Peg T1, mark 100 m east of it: 30 along and 4 to the right lies 4 m south."""
    read = read_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,easting_m,northing_m,peg,toward,along_m,across_m\n"
            "T1,500000,5100000,,,,\nT2,500100,5100000,,,,\n"
            "T3,,,T1,T2,30,4\nT4,,,T1,T2,40,\nT5,,,T1,T2,50,-2\n",
        }
    )
    npt.assert_allclose(place(read.log, "T3"), (500030.0, 5099996.0), atol=1e-6)
    npt.assert_allclose(place(read.log, "T4"), (500040.0, 5100000.0), atol=1e-6)
    npt.assert_allclose(place(read.log, "T5"), (500050.0, 5100002.0), atol=1e-6)
    assert read.log.digs[2].across_m == 4.0


def test_a_true_bearing_stands_in_for_the_mark(read_log: Callable[..., Any]) -> None:
    """On the central meridian of the zone, true and grid north are one."""
    read = read_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,longitude,latitude,peg,bearing_deg,along_ft,across_m\n"
            "T1,15.0,46.05,,,,\nT2,,,T1,90,100,0\n",
        }
    )
    peg, found = place(read.log, "T1"), place(read.log, "T2")
    npt.assert_allclose(found, (peg[0] + 30.48, peg[1]), atol=1e-6)


def test_a_bearing_on_a_grid_of_ones_own_is_that_grids(
    read_log: Callable[..., Any],
) -> None:
    read = read_log(
        {
            "digs.csv": "dig,easting_m,northing_m,peg,bearing_deg,along_m\n"
            "T1,1000,1000,,,\nT2,,,T1,0,10\n"
        }
    )
    npt.assert_allclose(place(read.log, "T2"), (1000.0, 1010.0), atol=1e-9)


def test_pegs_may_hang_on_pegs(read_log: Callable[..., Any]) -> None:
    read = read_log(
        {
            "digs.csv": "dig,easting_m,northing_m,peg,bearing_deg,along_m\n"
            "C,,,B,90,5\nB,,,A,90,5\nA,1000,1000,,,\n"
        }
    )
    npt.assert_allclose(place(read.log, "C"), (1010.0, 1000.0), atol=1e-9)


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ("T2,,,T1,,,90,", "along_m", "the distance from the peg"),
        ("T2,,,,T1,5,,", "peg", "the dig that along is measured from"),
        ("T2,,,T1,,5,,", "toward", "toward (a dig) or bearing_deg"),
        ("T2,,,T9,,5,90,", "peg", "a peg that is a dig with coordinates"),
        ("T2,,,T1,T9,5,,", "toward", "a toward that is a dig with coordinates"),
        ("T2,,,T1,T1,5,,", "peg", "neither this dig nor the one looked toward"),
        ("T2,,,T1,T3,5,,", "toward", "a dig at another place than T1"),
        ("T2,,,T1,,5,361,", "bearing_deg", "a number between 0 and 360"),
        ("T2,,,,,,,3", "along_m", "the distance from the peg"),
    ],
)
def test_a_tape_that_hangs_nowhere_is_refused(
    refuse_log: Callable[..., Any], row: str, column: str, expected: str
) -> None:
    head = "dig,easting_m,northing_m,peg,toward,along_m,bearing_deg,across_m\n"
    (refusal,) = refuse_log(
        {"digs.csv": f"{head}T1,1000,1000,,,,,\nT3,1000,1000,,,,,\n{row}\n"}
    )
    assert (refusal.row, refusal.column) == (4, column)
    assert expected in refusal.expected


def test_pegs_in_a_circle_are_refused(refuse_log: Callable[..., Any]) -> None:
    found = refuse_log(
        {"digs.csv": "dig,peg,bearing_deg,along_m\nT1,T2,0,5\nT2,T1,0,5\n"}
    )
    assert [one.column for one in found] == ["peg", "peg"]


def test_a_dig_with_nothing_is_refused_with_what_to_give(
    refuse_log: Callable[..., Any],
) -> None:
    (refusal,) = refuse_log({"digs.csv": "dig,line\nT1,A\n"})
    assert (refusal.row, refusal.column) == (2, "easting_m")
    assert "or a waypoint of that name in a .gpx file" in refusal.expected


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ("T1,500000,,,", "northing_m", "easting and northing, both"),
        ("T1,,,14.5,", "latitude", "longitude and latitude, both"),
        ("T1,,,,46", "longitude", "longitude and latitude, both"),
        ("T1,14.5,46.05,,", "easting_m", "go into the columns longitude and latitude"),
        ("T1,,,200,46", "longitude", "a number between -180 and 180"),
        ("T1,9e99,9e99,,", "easting_m", "a place that EPSG:32633 reaches"),
    ],
)
def test_half_a_position_or_a_wrong_one_is_refused(
    refuse_log: Callable[..., Any], row: str, column: str, expected: str
) -> None:
    head = "dig,easting_m,northing_m,longitude,latitude\n"
    found = refuse_log({"ground.toml": UTM33, "digs.csv": f"{head}{row}\n"})
    assert found[0].column == column
    assert expected in found[0].expected


def test_easting_in_meters_and_feet_at_once_is_refused(
    refuse_log: Callable[..., Any],
) -> None:
    (refusal,) = refuse_log(
        {
            "ground.toml": 'crs = "EPSG:2230"\n',
            "digs.csv": "dig,easting_m,easting_ft,northing_m\nT1,1,2,3\n",
        }
    )
    assert refusal.expected == "easting in meters or in feet, not both"


def test_a_position_outside_the_area_of_the_system_is_a_doubt(
    read_log: Callable[..., Any],
) -> None:
    """Meters of zone 10 read as zone 33: the tool shows where that falls."""
    read = read_log(
        {
            "ground.toml": 'crs = "EPSG:32633"\n',
            "digs.csv": "dig,longitude,latitude\nT1,-121,39\nT2,-121,39\n",
        }
    )
    (doubt,) = read.doubts
    assert doubt.where == "digs.csv, T1 and 1 more"
    assert "longitude -121.000, latitude 39.000 lies outside" in doubt.problem


def test_two_positions_that_disagree_are_a_doubt_and_the_grid_wins(
    read_log: Callable[..., Any],
) -> None:
    read = read_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,easting_m,northing_m,longitude,latitude\n"
            "T1,461418.75,5099724.37,14.5,46.05\n",
        }
    )
    assert place(read.log, "T1") == (461418.75, 5099724.37)
    assert "are 100 m apart" in read.doubts[0].problem


def test_a_tape_is_checked_by_a_position(read_log: Callable[..., Any]) -> None:
    read = read_log(
        {
            "ground.toml": UTM33 + "receiver_error_m = 1\n",
            "digs.csv": "dig,easting_m,northing_m,peg,toward,along_m\n"
            "T1,500000,5100000,,,\nT2,500100,5100000,,,\nT3,500060,5100000,T1,T2,50\n",
        }
    )
    assert place(read.log, "T3") == (500060.0, 5100000.0)
    assert "its tape from the peg are 10 m apart" in read.doubts[0].problem


def test_an_old_datum_says_how_far_off_it_may_be(read_log: Callable[..., Any]) -> None:
    read = read_log(
        {
            "ground.toml": 'crs = "EPSG:26710"\n',
            "digs.csv": "dig,easting_m,northing_m\nT1,673283,4318486\n",
        }
    )
    assert "positions may be off by" in read.doubts[0].problem


def test_a_log_in_another_system_is_converted_to_the_books(
    read_log: Callable[..., Any],
) -> None:
    """The same place in UTM zones 32 and 33."""
    files = {
        "ground.toml": 'crs = "EPSG:32632"\n',
        "digs.csv": "dig,easting_m,northing_m\nT1,925750.0,5113800.0\n",
    }
    read = read_log(files, frame=Ground(crs="EPSG:32633"))
    assert read.log.ground.crs == "EPSG:32633"
    assert place(read.log, "T1")[0] == pytest.approx(461600.0, abs=3000.0)
    assert "were converted to EPSG:32633" in read.doubts[0].problem


def test_the_books_system_holds_where_the_log_names_none(
    read_log: Callable[..., Any],
) -> None:
    files = {"digs.csv": "dig,longitude,latitude\nT1,17.9,46.05\n"}
    read = read_log(files, frame=Ground(crs="EPSG:32634"))
    assert read.log.ground.crs == "EPSG:32634"


def test_a_peg_may_be_a_dig_of_the_book(read_log: Callable[..., Any]) -> None:
    book = Log(digs=(Dig(dig="T1", easting_m=1000.0, northing_m=1000.0),))
    files = {"digs.csv": "dig,peg,bearing_deg,along_m\nT2,T1,0,10\nT1,,,\n"}
    log = read_log(files, known=book).log
    npt.assert_allclose(place(log, "T2"), (1000.0, 1010.0), atol=1e-9)
    assert place(log, "T1") == (1000.0, 1000.0)


def test_a_dig_of_the_book_without_a_place_stays_without(
    read_log: Callable[..., Any],
) -> None:
    book = Log(digs=(Dig(dig="T1"),))
    (dig,) = read_log({"digs.csv": "dig,line\nT1,A\n"}, known=book).log.digs
    assert (dig.easting_m, dig.northing_m) == (None, None)


def test_rocks_lie_at_a_dig_or_at_coordinates(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["rocks.csv"] = (
        "dig,longitude,latitude,kind,long_m\nT1,,,boulder,1.2\n,14.5,46.05,float,\n"
    )
    first, second = read_log(base).log.rocks
    assert (first.dig, first.easting_m, first.long_m) == ("T1", None, 1.2)
    assert second.easting_m == pytest.approx(461318.7484, abs=CENTIMETER)
    assert (first.number, second.number) == (1, 2)


def test_a_rock_nowhere_is_refused(refuse_log: Callable[..., Any], base: Files) -> None:
    base["rocks.csv"] = "dig,kind\n,boulder\n"
    (refusal,) = refuse_log(base)
    assert refusal.expected.startswith("a dig, or easting and northing")


def test_drawings_far_from_the_digs_are_a_doubt(
    read_log: Callable[..., Any], base: Files
) -> None:
    base["ground.geojson"] = (
        '{"type": "Feature", "properties": {"role": "water"}, "geometry": '
        '{"type": "Point", "coordinates": [-121.0, 39.0]}}'
    )
    (doubt,) = read_log(base).doubts
    assert doubt.where == "ground.geojson"
    assert "km from the digs" in doubt.problem


def test_drawings_alone_have_nothing_to_be_far_from(
    read_log: Callable[..., Any],
) -> None:
    drawing = (
        '{"type": "Feature", "properties": {"role": "water"}, "geometry": '
        '{"type": "Point", "coordinates": [14.5, 46.05]}}'
    )
    read = read_log({"ground.toml": UTM33, "ground.geojson": drawing})
    assert read.doubts == ()


def test_a_log_in_another_system_loses_places_that_do_not_reach(
    refuse_log: Callable[..., Any],
) -> None:
    files = {
        "ground.toml": 'crs = "EPSG:32632"\n',
        "digs.csv": "dig,easting_m,northing_m\nT1,9e99,9e99\n",
    }
    (refusal,) = refuse_log(files, frame=Ground(crs="EPSG:32633"))
    assert refusal.expected == "a place that EPSG:32633 reaches"


def test_an_old_unknown_datum_says_that_it_is_unknown(
    read_log: Callable[..., Any],
) -> None:
    files = {
        "ground.toml": f"crs = '''{OLD_DATUM}'''",
        "digs.csv": "dig,easting_m,northing_m\nT1,500000,5100000\n",
    }
    assert "off by an unknown distance" in read_log(files).doubts[0].problem


def test_a_place_beyond_utm_needs_a_system_of_its_own(
    refuse_log: Callable[..., Any],
) -> None:
    (refusal,) = refuse_log({"digs.csv": "dig,longitude,latitude\nT1,20,88\n"})
    assert (refusal.file, refusal.column) == ("ground.toml", "crs")
    assert "latitude is 88.0000" in refusal.expected


def test_distances_are_those_of_the_tape(read_log: Callable[..., Any]) -> None:
    """A tape of 100 m is 100 m on the grid, to the millimeter."""
    read = read_log(
        {
            "ground.toml": UTM33,
            "digs.csv": "dig,longitude,latitude,peg,bearing_deg,along_m\n"
            "T1,14.5,46.05,,,\nT2,,,T1,217.5,100\n",
        }
    )
    away_m = math.dist(place(read.log, "T1"), place(read.log, "T2"))
    assert away_m == pytest.approx(100.0, abs=0.001)
