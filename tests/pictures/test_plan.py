"""The plan map says what is known, what is zero and what is not known."""

import re
from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.ground import PlacedFeature
from pennyweight.answers.trace import Split
from pennyweight.pictures.digmarks import dig_marks, marks_scale
from pennyweight.pictures.features import draw_flow, polygon_rings, sampled_edges
from pennyweight.pictures.gradescale import grade_scale
from pennyweight.pictures.mapframe import (
    fit_frame,
    frame_marks,
    length_ticks,
    neat_ticks,
    scale_bar,
)
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.relief import crop, png_of_shade
from pennyweight.pictures.streakbands import draw_joins, join_words, link_dashes
from pennyweight.pictures.svg import Look
from pennyweight.units import FEET_AND_YARDS, METRIC
from pennyweight.valley.coordinates import Centerline
from tests.pictures import made_answers as made
from tests.pictures.svgtexts import SVG, parse, text_lines

WIDE = Look(width_px=1280)


def marks_of(picture: str, dig: str) -> list[dict[str, str]]:
    """Return the attributes of the circles that stand for a dig."""
    groups = [
        node
        for node in parse(picture).iter(f"{SVG}g")
        if node.attrib.get("data-dig") == dig
    ]
    return [one.attrib for node in groups for one in node.iter(f"{SVG}circle")]


@pytest.fixture(scope="module")
def plan() -> str:
    return draw_plan(
        made.ground(),
        WIDE,
        grade=made.grade(),
        trace=made.trace(),
        nextdigs=made.nextdigs(),
    )


def test_a_dig_without_colors_is_an_open_ring(plan: str) -> None:
    (ring,) = marks_of(plan, "1C")
    assert ring["fill"] == WIDE.palette.paper
    assert "stroke-dasharray" not in ring


def test_a_dig_not_washed_yet_is_a_dotted_ring(plan: str) -> None:
    (ring,) = marks_of(plan, "6B")
    assert ring["stroke-linecap"] == "round"
    assert ring["stroke-dasharray"].startswith("0.1")


def test_the_richest_dig_has_the_darkest_and_largest_mark(plan: str) -> None:
    (mark,) = marks_of(plan, "6C")
    assert mark["fill"] == WIDE.palette.grade_5
    assert mark["r"] == "11"


def test_a_dig_whose_grade_cannot_be_told_shows_its_place_only() -> None:
    ground = made.ground(terrain=False)
    digs = tuple(replace(one, unwashed=0) for one in ground.digs)
    bare = draw_plan(replace(ground, digs=digs), WIDE)
    (point,) = marks_of(bare, "4A")
    assert point["r"] == "1.6"


def test_every_dig_streak_merge_and_proposal_can_be_pointed_at(plan: str) -> None:
    found = set(re.findall(r'data-(?:dig|streak|merge|proposed)="([^"]*)"', plan))
    wanted = {one.dig for one in made.ground().digs}
    wanted |= set("ABCDE") | {"B C A", "A D E", "1", "2", "3", "4"}
    assert wanted <= found


def test_pointing_at_a_dig_says_its_grade_with_80_percent(plan: str) -> None:
    assert "<title>dig 6C: 810\u00a0mg/m³ (80\u00a0%: 630\u20131,000)</title>" in plan


def test_a_merge_carries_its_probability_in_its_ring(plan: str) -> None:
    assert ">67%<" in plan
    assert "streaks B and C come together into A: likely (67\u00a0%)" in plan


def test_the_phone_keeps_the_richest_names_and_drops_others() -> None:
    picture = draw_plan(made.ground(), Look(width_px=390), grade=made.grade())
    words = {one.words for one in text_lines(picture)}
    assert "6C" in words
    assert "1A" not in words


def test_scale_north_date_and_system_stand_on_the_map(plan: str) -> None:
    words = [one.words for one in text_lines(plan)]
    assert "N" in words
    assert "2026-07-14 · EPSG:32610" in words
    assert any(re.fullmatch(r"\d+ m", one) for one in words)


def test_no_placed_dig_is_a_sentence_and_not_a_map() -> None:
    ground = made.ground(terrain=False)
    digs = tuple(replace(one, easting_m=None) for one in ground.digs)
    picture = draw_plan(replace(ground, digs=digs), WIDE)
    assert "No dig has a place yet." in picture


def test_a_single_dig_still_makes_a_map() -> None:
    ground = made.ground()
    picture = draw_plan(replace(ground, digs=ground.digs[:1], lines=()), WIDE)
    assert marks_of(picture, ground.digs[0].dig)


def test_a_hostile_name_stays_text() -> None:
    ground = made.ground(terrain=False)
    name = '"><script>alert(1)</script>'
    digs = (replace(ground.digs[0], dig=name), *ground.digs[1:])
    picture = draw_plan(replace(ground, name=name, digs=digs), WIDE)
    assert "<script" not in picture
    assert any(one.words == name for one in text_lines(picture))


def test_feet_readers_get_feet_and_yards() -> None:
    look = Look(width_px=900, measures=FEET_AND_YARDS)
    words = [
        one.words
        for one in text_lines(draw_plan(made.ground(), look, grade=made.grade()))
    ]
    assert any(one.endswith(" ft") for one in words)
    assert any(one.endswith("mg/yd³") for one in words)


def test_the_cut_is_drawn_where_its_polygon_lies() -> None:
    """The polygon travels in degrees; it comes back within a centimeter."""
    worth = made.worth()
    assert worth.cut is not None
    (ring,) = polygon_rings(worth.cut.polygon, made.ground())
    s_m, n_m = made.centerline().to_valley(ring[:, 0], ring[:, 1])
    assert s_m.min() == pytest.approx(90.0, abs=0.01)
    assert n_m.max() == pytest.approx(6.0, abs=0.01)


def test_a_polygon_without_a_system_is_in_meters_already() -> None:
    ground = replace(made.ground(terrain=False), crs=None)
    polygon = {"type": "Polygon", "coordinates": [[[1, 2], [3, 4], [5, 0], [1, 2]]]}
    (ring,) = polygon_rings(polygon, ground)
    assert ring.tolist()[1] == [3.0, 4.0]


def test_a_noted_point_has_a_mark_and_its_name() -> None:
    point = PlacedFeature(
        role="note",
        name="camp",
        closed=False,
        parts=(np.array([[612_100.0, 5_401_150.0]]),),
    )
    picture = draw_plan(replace(made.ground(terrain=False), features=(point,)), WIDE)
    assert "camp" in [one.words for one in text_lines(picture)]
    assert 'data-role="note"' in picture


def test_two_looks_on_one_page_share_no_ids() -> None:
    ids = [
        set(re.findall(r'id="([^"]+)"', draw_plan(made.ground(), look)))
        for look in (WIDE, Look(width_px=390), Look(width_px=1280, night=True))
    ]
    assert not ids[0] & ids[1] | ids[0] & ids[2]


def test_the_sampled_stretch_is_read_off_the_field() -> None:
    edges = sampled_edges(made.fields()[1])
    assert edges is not None
    s_m, left, right = edges
    assert (s_m[0], s_m[-1]) == (28.0, 170.0)
    assert (left[0], right[0]) == (15.5, -15.5)


def test_nothing_sampled_has_no_edges() -> None:
    field = made.fields()[0]
    assert sampled_edges(replace(field, sampled=np.zeros_like(field.sampled))) is None


def test_dashes_open_as_a_link_becomes_less_probable() -> None:
    gaps = [float(str(link_dashes(chance)).split()[1]) for chance in (0.9, 0.5, 0.1)]
    assert gaps == sorted(gaps)
    assert link_dashes(0.96) is None


def test_a_split_is_said_in_words() -> None:
    split = Split(
        from_="C",
        into=("D", "E"),
        s_m=1.0,
        easting_m=0.0,
        northing_m=0.0,
        probability=0.4,
    )
    assert join_words(split).startswith("streak C parts into D and E: about even")
    rings, boxes = draw_joins(
        made.trace(), lambda s, n: [(50.0, 50.0)], WIDE, only=[split]
    )
    assert ">40%<" in rings
    assert len(boxes) == 1


def test_grade_steps_are_round_in_the_readers_unit() -> None:
    scale = grade_scale([806.0], METRIC)
    assert scale.bounds_mg_m3 == (10.0, 30.0, 100.0, 300.0)
    assert [scale.step(one) for one in (5.0, 10.0, 299.0, 806.0)] == [0, 1, 3, 4]
    assert scale.words(METRIC)[0] == "under 10"
    assert scale.words(METRIC)[-1] == "over 300 mg/m³"


def test_marks_of_a_ground_without_grades_still_have_steps() -> None:
    marks = dig_marks(made.ground(terrain=False), None, METRIC)
    assert marks_scale(marks, METRIC).bounds_mg_m3[-1] == 300.0


def test_a_map_keeps_its_places_inside_with_a_margin() -> None:
    frame = fit_frame(np.array([0.0, 100.0]), np.array([0.0, 20.0]), WIDE)
    ((x_px, y_px),) = frame.to_px(100.0, 0.0)
    assert x_px == pytest.approx(1280.0 - 46.0)
    assert 0.0 < y_px < frame.height_px == 640.0


def test_ticks_are_neat_in_feet() -> None:
    ticks = length_ticks(0.0, 3.1, wanted=5.0, measures=FEET_AND_YARDS)
    assert [words for _, words in ticks] == ["0", "5", "10"]
    assert ticks[1][0] == pytest.approx(1.524)


def test_a_range_without_width_has_one_tick() -> None:
    assert neat_ticks(2.0, 2.0, 4.0) == [2.0]


def test_a_scale_bar_is_as_long_as_it_says() -> None:
    """20 px to a meter: two halves of 2 m or 5 m."""
    bar, _ = scale_bar(20.0, WIDE, (0.0, 0.0))
    half_px = float(re.findall(r'width="([\d.]+)" height="5"', bar)[0])
    figures = [float(one) for one in re.findall(r">([\d.]+)<", bar)]
    assert half_px == pytest.approx(figures[1] * 20.0)


def test_the_shade_is_a_small_png_with_one_ink() -> None:
    image = png_of_shade(np.array([[0.0, 0.5], [1.0, 0.25]]), "#3a3026")
    assert image.startswith(b"\x89PNG\r\n\x1a\n")
    assert image.count(bytes.fromhex("3a3026")) > 100


def test_a_surface_is_cut_to_the_frame() -> None:
    frame = fit_frame(
        np.array([612_040.0, 612_060.0]), np.array([5_401_150.0, 5_401_160.0]), WIDE
    )
    west, east, south, north = crop(made.elevation(), frame).region
    wanted = frame.region
    assert west <= wanted[0] + 2.0
    assert east >= wanted[1] - 2.0
    assert south <= wanted[2] + 2.0
    assert north >= wanted[3] - 2.0


def test_a_surface_beside_the_frame_is_left_out() -> None:
    far = replace(made.elevation(), west_m=0.0)
    picture = draw_plan(replace(made.ground(), elevation=far), WIDE)
    assert "<image" not in picture


def test_arrowheads_point_downstream() -> None:
    """The tip of a head lies 7 px ahead of its middle; its wings lie behind."""
    line = Centerline(np.array([0.0, 100.0]), np.array([50.0, 50.0]))
    frame = fit_frame(np.array([0.0, 100.0]), np.array([0.0, 100.0]), WIDE)
    heads = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ", draw_flow(line, frame, WIDE))
    assert len(heads) > 3
    assert all(float(tip) > float(wing) for tip, _, wing in heads)
    turned = Centerline(line.easting_m[::-1], line.northing_m[::-1])
    heads = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ", draw_flow(turned, frame, WIDE))
    assert all(float(tip) < float(wing) for tip, _, wing in heads)


def test_the_corners_of_a_map_are_told_in_degrees() -> None:
    """On the central meridian of zone 10, 123 W, easting is 500000 m."""
    frame = fit_frame(np.array([500_000.0]), np.array([5_400_000.0]), WIDE)
    marks = frame_marks(frame, "EPSG:32610")
    corners = [one.split(",") for one in marks["data_corners"].split()]
    west, east = float(corners[0][0]), float(corners[1][0])
    assert (west + east) / 2.0 == pytest.approx(-123.0, abs=1e-7)
    assert float(corners[0][1]) > float(corners[3][1])
    assert "data_corners" not in frame_marks(frame, None)


def test_before_the_first_dig_a_drawing_frames_the_map() -> None:
    bare = replace(made.ground(), digs=(), lines=(), centerline=None)
    assert "No dig has a place yet" in draw_plan(bare, WIDE)
    assert "data-px-per-m" in draw_plan(bare, WIDE, around_m=25.0)
