"""Pictures of grounds that are empty, sparse, or full of odd names."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from pennyweight.answers.grade import GradeAnswer
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.trace import TraceAnswer
from pennyweight.pictures.charts import draw_gold_chart
from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.fence import draw_fence
from pennyweight.pictures.gradecharts import draw_cumulative_chart, draw_grades_chart
from pennyweight.pictures.labels import Box
from pennyweight.pictures.longsection import draw_long_section
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.svg import Look
from pennyweight.pictures.valleystrip import draw_valley_strip
from pennyweight.pictures.wall import draw_wall
from tests.pictures import made_answers as made
from tests.pictures.svgtexts import parse, text_lines

LOOKS = [Look(width_px=1000), Look(width_px=390)]
Answers = tuple[GroundAnswer, GradeAnswer, TraceAnswer]

#: A name longer than any picture has room for, with markup in it.
LONG = "<b>the old \u201chole\u201d by the big leaning cedar & the second boulder</b> "


def draw_all(answers: Answers, look: Look) -> list[str]:
    """Return every picture that the answers allow."""
    ground, grade, trace = answers
    pictures = [
        draw_plan(ground, look, grade=grade, trace=trace),
        draw_fence(ground, grade, look=look, trace=trace),
        draw_valley_strip(ground, trace, look=look, grade=grade),
        draw_long_section(ground, look=look, trace=trace),
        draw_gold_chart(trace, look),
        draw_grades_chart(grade, look),
        draw_cumulative_chart(grade, look),
    ]
    on_lines = [line for line in ground.lines if line.digs]
    pictures += [
        draw_wall(ground, grade, line.line, look=look, trace=trace)
        for line in on_lines[2:4]
    ]
    pictures += [
        draw_dig_wall(ground, grade, d.dig, look=look) for d in ground.digs[:2]
    ]
    return pictures


def keep_digs(count: int) -> Answers:
    """Return the answers of a ground with only its first digs."""
    ground = made.ground(terrain=False)
    digs = ground.digs[:count]
    names = {dig.dig for dig in digs}
    lines = tuple(
        replace(line, digs=tuple(dig for dig in line.digs if dig in names))
        for line in ground.lines
    )
    grade = made.grade()
    return (
        replace(ground, digs=digs, lines=tuple(one for one in lines if one.digs)),
        replace(
            grade,
            digs=tuple(one for one in grade.digs if one.dig in names),
            samples=tuple(one for one in grade.samples if one.dig in names),
        ),
        replace(made.trace(), streaks=(), merges=(), fields=(), hand_joins=()),
    )


def rename(name: Callable[[str], str]) -> Answers:
    """Return the answers of the invented creek under other names."""
    ground, grade, trace = made.ground(), made.grade(), made.trace()
    renamed = replace(
        ground,
        name=name("Made Creek"),
        digs=tuple(
            replace(one, dig=name(one.dig), line=name(one.line or ""))
            for one in ground.digs
        ),
        lines=tuple(
            replace(one, line=name(one.line), digs=tuple(name(dig) for dig in one.digs))
            for one in ground.lines
        ),
        layers=tuple(
            replace(one, dig=name(one.dig), material=name(one.material or ""))
            for one in ground.layers
        ),
        features=tuple(
            replace(one, name=name(one.name or "")) for one in ground.features
        ),
    )
    graded = replace(
        grade,
        digs=tuple(
            replace(one, dig=name(one.dig), line=name(one.line or ""))
            for one in grade.digs
        ),
        samples=tuple(
            replace(one, dig=name(one.dig), sample=name(one.sample))
            for one in grade.samples
        ),
    )
    return renamed, graded, trace


@pytest.mark.parametrize("look", LOOKS, ids=["wide", "phone"])
@pytest.mark.parametrize("count", [0, 1, 2, 6, 7])
def test_any_number_of_digs_can_be_drawn(count: int, look: Look) -> None:
    for picture in draw_all(keep_digs(count), look):
        assert float(parse(picture).attrib["height"]) > 0.0


@pytest.mark.parametrize("look", LOOKS, ids=["wide", "phone"])
def test_long_and_hostile_names_stay_inside_and_apart(look: Look) -> None:
    for picture in draw_all(rename(lambda name: LONG + name), look):
        root = parse(picture)
        frame = Box(0.0, 0.0, float(root.attrib["width"]), float(root.attrib["height"]))
        lines = text_lines(picture)
        assert [one.words for one in lines if not frame.holds(one.box)] == []
        for number, one in enumerate(lines):
            covered = [
                other.words
                for other in lines[:number]
                if one.box.grown(-0.8).meets(other.box.grown(-0.8))
            ]
            assert (root.attrib["data-picture"], one.words, covered) == (
                root.attrib["data-picture"],
                one.words,
                [],
            )


def test_digs_without_a_place_are_left_out_of_maps() -> None:
    ground = made.ground(terrain=False)
    digs = tuple(
        replace(one, s_m=None, n_m=None, easting_m=None, northing_m=None)
        if one.line == "3"
        else one
        for one in ground.digs
    )
    lost = replace(ground, digs=digs)
    for picture in (
        draw_plan(lost, LOOKS[0], grade=made.grade(), trace=made.trace()),
        draw_fence(lost, made.grade(), look=LOOKS[0], trace=made.trace()),
        draw_valley_strip(lost, made.trace(), look=LOOKS[0], grade=made.grade()),
    ):
        assert 'data-dig="3C"' not in picture
        assert 'data-dig="4C"' in picture


def test_a_ground_without_centerline_has_a_map_without_streaks() -> None:
    ground = replace(made.ground(), centerline=None)
    picture = draw_plan(ground, LOOKS[0], grade=made.grade(), trace=made.trace())
    assert 'data-dig="4C"' in picture
    assert "data-streak" not in picture


def test_streaks_without_a_depth_are_drawn_on_the_map_alone() -> None:
    trace = made.trace()
    shallow = replace(
        trace,
        streaks=tuple(
            replace(
                one,
                path=tuple(
                    replace(point, top_m=None, thickness_m=None) for point in one.path
                ),
            )
            for one in trace.streaks
        ),
    )
    section = draw_long_section(made.ground(), look=LOOKS[0], trace=shallow)
    assert "data-streak" not in section
    assert 'data-streak="A"' in draw_plan(made.ground(), LOOKS[0], trace=shallow)


def test_a_streak_seen_at_one_line_is_a_short_piece() -> None:
    trace = made.trace()
    first = trace.streaks[0]
    point = next(one for one in first.path if one.line)
    alone = replace(
        trace, streaks=(replace(first, path=(point,), links=()),), merges=()
    )
    picture = draw_plan(made.ground(), LOOKS[0], trace=alone)
    assert picture.count('data-streak="A"') >= 1
