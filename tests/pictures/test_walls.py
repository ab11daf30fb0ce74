"""Walls are to scale, in words, and say where a dig stopped and by what."""

import re
from dataclasses import replace

import pytest

from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.fence import draw_fence
from pennyweight.pictures.longsection import draw_long_section
from pennyweight.pictures.svg import Look
from pennyweight.pictures.textures import TEXTURE_WORDS, define_textures, texture_of
from pennyweight.pictures.valleystrip import draw_valley_strip
from pennyweight.pictures.wall import draw_wall, lay_out_wall
from pennyweight.pictures.wallparts import layer_words
from pennyweight.records import Layer
from pennyweight.units import FEET_AND_YARDS
from tests.pictures import made_answers as made
from tests.pictures.svgtexts import text_lines

LOOK = Look(width_px=1000)


def words_of(picture: str) -> list[str]:
    return [one.words for one in text_lines(picture)]


def test_depths_are_drawn_with_the_exaggeration_that_is_written() -> None:
    """Vertical over horizontal pixels a meter is the number on the picture."""
    ground, grade = made.ground(), made.grade()
    digs = [one for one in ground.digs if one.line == "4"]
    frame, _ = lay_out_wall(ground, grade, digs, look=LOOK)
    across = abs(frame.to_x_px(0.0) - frame.to_x_px(1.0))
    assert frame.px_per_m / across == pytest.approx(frame.exaggeration)
    picture = draw_wall(ground, grade, "4", look=LOOK)
    assert f"heights drawn {frame.exaggeration:g} times as large as widths" in picture


def test_the_left_bank_stands_left() -> None:
    ground, grade = made.ground(), made.grade()
    digs = [one for one in ground.digs if one.line == "4"]
    _, columns = lay_out_wall(ground, grade, digs, look=LOOK)
    offsets = [one.dig.n_m or 0.0 for one in columns]
    assert offsets == sorted(offsets, reverse=True)
    assert columns[0].left_px < columns[-1].left_px


def test_a_dig_that_stopped_short_says_by_what() -> None:
    words = words_of(draw_wall(made.ground(), made.grade(), "4", look=LOOK))
    assert {"boulder", "water", "bedrock"} <= set(words)


def test_a_layer_is_said_when_pointed_at() -> None:
    picture = draw_wall(made.ground(), made.grade(), "4", look=LOOK)
    assert "silty sand: 0.22\u00a0m to 0.55\u00a0m" in picture


def test_a_streak_is_drawn_on_the_walls_that_it_crosses() -> None:
    ground, grade, trace = made.ground(), made.grade(), made.trace()
    third = draw_wall(ground, grade, "3", look=LOOK, trace=trace)
    first = draw_wall(ground, grade, "1", look=LOOK, trace=trace)
    assert 'data-streak="B"' in third
    assert "data-streak" not in first


def test_unknown_heights_are_drawn_level_and_said_so() -> None:
    ground = made.ground()
    digs = tuple(replace(one, surface_m=None) for one in ground.digs)
    picture = draw_wall(replace(ground, digs=digs), made.grade(), "4", look=LOOK)
    assert "surface drawn level, no heights known" in picture
    assert "depth, m" in picture


def test_a_line_without_placed_digs_is_refused() -> None:
    with pytest.raises(ValueError, match="line '99' has 0 digs with a place"):
        draw_wall(made.ground(), made.grade(), "99", look=LOOK)


def test_a_dig_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="there is no dig '99'; the ground has 48"):
        draw_dig_wall(made.ground(), made.grade(), "99", look=LOOK)


def test_a_single_dig_has_its_layers_and_grades_in_words() -> None:
    words = words_of(draw_dig_wall(made.ground(), made.grade(), "4E", look=LOOK))
    assert "firm clay" in words
    assert "4E-4: 520\u00a0mg/m³ (80\u00a0%: 400\u2013690)" in words
    assert "stopped by bedrock" in words


def test_a_dig_without_layers_is_still_drawn() -> None:
    bare = replace(made.ground(), layers=())
    picture = draw_dig_wall(bare, made.grade(), "4E", look=LOOK)
    assert "stopped by bedrock" in words_of(picture)


def test_a_layer_nobody_described_is_called_so() -> None:
    assert layer_words(Layer(dig="4A", top_m=0.0, bottom_m=1.0)) == "not described"


@pytest.mark.parametrize("word", [word for word, _ in TEXTURE_WORDS])
def test_every_material_has_a_texture_that_can_be_drawn(word: str) -> None:
    texture = texture_of(word)
    assert texture is not None
    assert "<pattern" in define_textures([texture], "wall", LOOK)


def test_the_fence_goes_downstream_from_the_top() -> None:
    lines = text_lines(draw_fence(made.ground(), made.grade(), look=LOOK))
    heights = [one.box.top for one in lines if re.fullmatch(r"line \d", one.words)]
    assert len(heights) == 7
    assert heights == sorted(heights)


def test_the_long_section_is_level_where_the_valley_is_steep() -> None:
    ground = made.ground()
    digs = tuple(
        replace(one, surface_m=800.0 - (one.s_m or 0.0)) for one in ground.digs
    )
    picture = draw_long_section(replace(ground, digs=digs), look=LOOK)
    assert "The surface is drawn level." in picture


def test_hand_joins_are_drawn_for_comparison() -> None:
    picture = draw_valley_strip(made.ground(), made.trace(), look=LOOK)
    assert "joined by hand: 5C to 6C" in picture


def test_every_horizon_that_may_pay_has_its_strip() -> None:
    words = words_of(draw_valley_strip(made.ground(), made.trace(), look=LOOK))
    assert {"On the first false bedrock", "On bedrock"} <= set(words)


@pytest.mark.parametrize("narrow", [False, True])
def test_nothing_placed_is_a_sentence(*, narrow: bool) -> None:
    look = Look(width_px=390 if narrow else 1000)
    ground = replace(made.ground(terrain=False), digs=(), lines=())
    trace = replace(made.trace(), fields=(), area=None)
    assert "there is no fence" in draw_fence(ground, made.grade(), look=look)
    assert "there is no section" in draw_long_section(ground, look=look)
    assert "No field could be" in draw_valley_strip(ground, trace, look=look)


def test_a_wall_in_feet_reads_in_feet() -> None:
    look = Look(width_px=1000, measures=FEET_AND_YARDS)
    assert "height, ft" in words_of(
        draw_wall(made.ground(), made.grade(), "4", look=look)
    )
