"""The pictures of high water: every flood in one picture, drops by number."""

import itertools
import re

import pytest

from pennyweight.answers.ground import GroundAnswer, show_ground
from pennyweight.answers.highwater import HighwaterAnswer, read_floods
from pennyweight.pictures.creekprofile import draw_creek_profile
from pennyweight.pictures.floodplan import draw_flood_plan, shown_flood
from pennyweight.pictures.svg import Look
from pennyweight.records import Log
from tests.answers.made_creek import made_answer, made_log, read
from tests.pictures.svgtexts import parse, text_lines

WIDE, NARROW = Look(width_px=720), Look(width_px=366)


@pytest.fixture(scope="module")
def told() -> tuple[GroundAnswer, HighwaterAnswer]:
    return show_ground(read(made_log())), made_answer()


def groups_of(picture: str) -> list[str]:
    """Return the opening tags of the groups that hold a flood."""
    return re.findall(r"<g [^>]*data-flood[^>]*>", picture)


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_every_flood_is_in_the_map_and_one_is_shown(
    told: tuple[GroundAnswer, HighwaterAnswer], look: Look
) -> None:
    ground, answer = told
    picture = draw_flood_plan(ground, answer, look)
    parse(picture)
    groups = groups_of(picture)
    assert len(groups) == len(answer.floods)
    shown = [number for number, tag in enumerate(groups) if "display" not in tag]
    assert shown == [shown_flood(answer)]


def test_the_flood_shown_first_is_nearest_to_that_of_the_stones(
    told: tuple[GroundAnswer, HighwaterAnswer],
) -> None:
    _, answer = told
    assert shown_flood(answer) == len(answer.floods) - 1


def test_every_drop_has_its_number_on_the_map(
    told: tuple[GroundAnswer, HighwaterAnswer],
) -> None:
    ground, answer = told
    picture = draw_flood_plan(ground, answer, WIDE)
    numbers = set(re.findall(r'data-drop="(\d+)"', picture))
    assert numbers == {str(k) for k in range(1, len(answer.drops) + 1)}


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_the_long_profile_shows_bed_and_water(
    told: tuple[GroundAnswer, HighwaterAnswer], look: Look
) -> None:
    picture = draw_creek_profile(told[1], look)
    parse(picture)
    assert len(groups_of(picture)) == len(told[1].floods)
    assert "times too high" in picture


def test_without_heights_the_profile_is_a_sentence() -> None:
    answer = read_floods(read(Log()))
    assert "The creek has no heights" in draw_creek_profile(answer, WIDE)


def test_with_nothing_placed_the_map_is_a_sentence() -> None:
    reading = read(Log())
    picture = draw_flood_plan(show_ground(reading), read_floods(reading), WIDE)
    assert "Nothing has a place yet" in picture
    assert shown_flood(read_floods(reading)) == 0


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_no_words_cover_others(
    told: tuple[GroundAnswer, HighwaterAnswer], look: Look
) -> None:
    ground, answer = told
    for picture in (
        draw_flood_plan(ground, answer, look),
        draw_creek_profile(answer, look),
    ):
        lines = text_lines(picture)
        covered = [
            (one.words, other.words)
            for one, other in itertools.combinations(lines, 2)
            if one.box.grown(-0.8).meets(other.box.grown(-0.8))
            # Numbers of drops that lie beside one another may touch.
            and not (one.words.isdigit() and other.words.isdigit())
        ]
        assert covered == []


def test_gold_ink_is_not_used_for_water(
    told: tuple[GroundAnswer, HighwaterAnswer],
) -> None:
    ground, answer = told
    assert WIDE.palette.gold not in draw_flood_plan(ground, answer, WIDE)
    assert WIDE.palette.gold not in draw_creek_profile(answer, WIDE)
