"""The plan for receivers and phones: the same digs under the same names."""

import json
import re
from dataclasses import replace
from pathlib import Path

import gpxpy
import pyogrio
import pytest

from pennyweight.errors import CallError, TooLittleError
from pennyweight.exchange.countedclasses import CLASSES
from pennyweight.exchange.shortids import parse_bag_id
from pennyweight.handing import pocketform
from pennyweight.handing.planpoints import write_planpoints
from pennyweight.handing.pocketform import fill_form, make_plan, write_pocketform
from pennyweight.records import Dig, Ground, Log, Tally
from pennyweight.units import FEET_AND_YARDS
from tests.pictures import made_answers

LOG = Log(
    ground=Ground(name="Made Creek", log_id="book-1", crs="EPSG:32610"),
    digs=(Dig(dig="1A", line="1", bottom_m=1.3716, typed={"bottom_ft": "4.5"}),),
    tallies=(
        Tally(sample="a", size_class=">1", colors=1),
        Tally(sample="a", size_class="<0.5", colors=1),
        Tally(sample="a", size_class="0.5-1", colors=1),
        Tally(sample="b", size_class="all", colors=0),
    ),
)


@pytest.fixture
def gpx(tmp_path: Path) -> Path:
    path = tmp_path / "plan.gpx"
    crs = made_answers.ground().crs
    return write_planpoints(path, made_answers.nextdigs(), crs=crs)


def test_two_other_libraries_read_the_waypoints_where_they_lie(gpx: Path) -> None:
    """1 m north is 0.000009 deg of latitude."""
    wanted = made_answers.nextdigs().digs
    points = gpxpy.parse(gpx.read_text()).waypoints
    _, _, shapes, _ = pyogrio.raw.read(gpx, layer="waypoints")
    assert len(shapes) == len(points) == len(wanted)
    away_deg = points[0].latitude - points[1].latitude
    north_m = wanted[0].northing_m - wanted[1].northing_m
    assert away_deg / 9.0e-6 == pytest.approx(north_m, abs=1.0)


def test_names_carry_check_characters_and_reasons_stand_beside_them(gpx: Path) -> None:
    points = gpxpy.parse(gpx.read_text()).waypoints
    digs = made_answers.nextdigs().digs
    for point, dig in zip(points, digs, strict=True):
        assert parse_bag_id(str(point.name)) == point.name
        assert dig.why in str(point.description)


def test_a_ground_that_is_nowhere_on_earth_gives_no_waypoints(tmp_path: Path) -> None:
    with pytest.raises(
        TooLittleError, match=r"no coordinate system.*on the page, or as crs"
    ):
        write_planpoints(tmp_path / "plan.gpx", made_answers.nextdigs(), crs=None)


def test_the_form_carries_the_same_names_as_the_waypoints(gpx: Path) -> None:
    plan = make_plan(made_answers.ground(), LOG, nextdigs=made_answers.nextdigs())
    points = gpxpy.parse(gpx.read_text()).waypoints
    assert [one["dig"] for one in plan["proposed"]] == [one.name for one in points]
    assert plan["proposed"][0]["latitude"] == points[0].latitude


def test_the_form_carries_what_the_book_knows_as_it_was_typed() -> None:
    plan = make_plan(made_answers.ground(), LOG, measures=FEET_AND_YARDS)
    (dig,) = [one for one in plan["digs"] if one["dig"] == "1A"]
    assert dig["cells"] == {"dig": "1A", "line": "1", "bottom_ft": "4.5"}
    assert (plan["measures"], plan["book"]["id"]) == ("feet", "book-1")
    assert plan["proposed"] == []


def test_the_form_counts_by_the_book_s_own_classes() -> None:
    ground = made_answers.ground()
    assert make_plan(ground, LOG)["classes"] == ["<0.5", "0.5-1", ">1"]
    assert make_plan(ground, replace(LOG, tallies=()))["classes"] == list(CLASSES)


def test_a_ground_without_a_grid_carries_no_degrees() -> None:
    plan = make_plan(replace(made_answers.ground(), crs=None), LOG)
    assert plan["digs"][0]["longitude"] is None


def test_hostile_names_stay_inside_the_plan(tmp_path: Path) -> None:
    hostile = "</script><script>alert(1)</script>\ud800"
    ground = replace(made_answers.ground(), name=hostile)
    path = write_pocketform(tmp_path / "form.html", ground, LOG)
    page = path.read_text(encoding="utf-8")
    assert page.count("</script>") == 2
    carried = re.search(r'id="plan">(.*?)</script>', page, re.DOTALL)
    assert carried is not None
    assert json.loads(carried[1])["book"]["name"] == hostile


def test_a_form_that_was_not_built_says_how_to_build_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(pocketform, "files", lambda _: tmp_path)
    with pytest.raises(CallError, match=r"pocket\.html is not built.*make setup"):
        fill_form({})
