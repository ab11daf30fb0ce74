"""A dig is placed by degrees, by meters, or by a tape from another dig."""

import pytest

from pennyweight.records import Dig, Ground, Log
from pennyweight.web.columns import DIGS
from pennyweight.web.forms import Filled, fill
from pennyweight.web.places import place_dig

PEGS = Log(
    digs=(
        Dig(dig="P", easting_m=100.0, northing_m=200.0),
        Dig(dig="Q", easting_m=100.0, northing_m=260.0),
        Dig(dig="lost"),
    )
)


def place(log: Log, **form: str) -> tuple[Filled, str | None]:
    filled = fill(DIGS, {"dig": "N", **form})
    return filled, place_dig(log, filled, form)


def test_degrees_pick_the_zone_of_a_ground_without_one() -> None:
    """The middle of zone 33 lies at 15 degrees east, easting 500 000 m."""
    filled, crs = place(Log(), longitude="15", latitude="46.05")
    assert crs == "EPSG:32633"
    assert filled.values["easting_m"] == pytest.approx(500_000.0, abs=0.01)
    assert filled.typed["longitude"] == "15"


def test_degrees_keep_the_zone_that_the_ground_has() -> None:
    log = Log(ground=Ground(crs="EPSG:32633"))
    filled, crs = place(log, longitude="15,0", latitude="46.05 N")
    assert crs is None
    assert not filled.errors


def test_letters_say_south_and_west() -> None:
    filled, crs = place(Log(), longitude="121.5 W", latitude="33.2° S")
    assert crs == "EPSG:32710"
    assert not filled.errors


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"longitude": "15"}, "latitude"),
        ({"longitude": "200", "latitude": "10"}, "longitude"),
        ({"longitude": "10", "latitude": "89"}, "latitude"),
        ({"longitude": "ten", "latitude": "10"}, "longitude"),
    ],
)
def test_degrees_that_cannot_be_are_told(form: dict[str, str], field: str) -> None:
    filled, crs = place(Log(), **form)
    assert crs is None
    assert field in filled.errors


def test_a_tape_toward_another_dig_gives_the_place() -> None:
    """From P toward Q is north: 12 m along, 3 m to the right is 103 E 212 N."""
    form = {"peg": "P", "toward": "Q", "along_m": "12", "across_m": "3"}
    filled, _ = place(PEGS, **form)
    assert filled.values["easting_m"] == pytest.approx(103.0)
    assert filled.values["northing_m"] == pytest.approx(212.0)


def test_a_tape_along_a_bearing_gives_the_place() -> None:
    filled, _ = place(PEGS, peg="P", bearing_deg="90", along_m="10")
    assert filled.values["easting_m"] == pytest.approx(110.0)
    assert filled.values["northing_m"] == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"peg": "lost", "along_m": "5"}, "peg"),
        ({"along_m": "5"}, "peg"),
        ({"peg": "P", "along_m": "5"}, "toward"),
        ({"peg": "P", "toward": "lost", "along_m": "5"}, "toward"),
    ],
)
def test_a_tape_without_a_direction_is_told(form: dict[str, str], field: str) -> None:
    filled, _ = place(PEGS, **form)
    assert field in filled.errors


def test_meters_are_left_as_they_were_typed() -> None:
    filled, crs = place(PEGS, easting_m="5", northing_m="6")
    assert crs is None
    assert (filled.values["easting_m"], filled.values["northing_m"]) == (5.0, 6.0)
