"""The stream tree and the map of streams: words apart, inside, and what they say."""

import itertools
from dataclasses import replace
from functools import cache

import pytest

from pennyweight.answers.upstream import UpstreamAnswer
from pennyweight.answers.upstreamask import ask_upstream
from pennyweight.pictures.labels import Box
from pennyweight.pictures.streamtree import draw_stream_tree, lay_out_tree
from pennyweight.pictures.watermap import draw_water_map
from pennyweight.records import Rock
from tests.answers.made_drainage import (
    log_of,
    reading_of,
    second_feeder,
    washed,
)
from tests.pictures.made_pictures import LOOKS
from tests.pictures.svgtexts import SVG, parse, text_lines

DRAW = {"tree": draw_stream_tree, "map": draw_water_map}
EACH = pytest.mark.parametrize("name", DRAW)
IN_EACH_LOOK = pytest.mark.parametrize("look", LOOKS)


@cache
def answer() -> UpstreamAnswer:
    rocks = (
        Rock(number=1, dig="second-up", kind="bedrock", name="granite", stain="rusty"),
        Rock(number=2, dig="mid", kind="bedrock", name="slate"),
    )
    return ask_upstream(reading_of(replace(second_feeder(), rocks=rocks)))


@EACH
@IN_EACH_LOOK
def test_no_words_cover_others_and_all_stand_inside(name: str, look: str) -> None:
    picture = DRAW[name](answer(), LOOKS[look])
    root, lines = parse(picture), text_lines(picture)
    frame = Box(0.0, 0.0, float(root.attrib["width"]), float(root.attrib["height"]))
    covered = [
        (one.words, other.words)
        for one, other in itertools.combinations(lines, 2)
        if one.box.grown(-0.8).meets(other.box.grown(-0.8))
    ]
    assert covered == []
    assert [one.words for one in lines if not frame.holds(one.box)] == []


@EACH
def test_every_mark_says_what_it_is(name: str) -> None:
    root = parse(DRAW[name](answer(), LOOKS["wide"]))
    silent = [
        node.attrib
        for node in root.iter()
        if node.tag in {f"{SVG}circle", f"{SVG}path"}
        and ("data-dig" in node.attrib or "data-stream" in node.attrib)
        and node.find(f"{SVG}title") is None
    ]
    assert silent == []
    assert root.find(f"{SVG}desc") is not None


@IN_EACH_LOOK
def test_the_verdict_stands_at_the_head_of_every_stream(look: str) -> None:
    words = [one.words for one in text_lines(draw_stream_tree(answer(), LOOKS[look]))]
    assert "second" in words
    assert any(one.startswith("cleared, ") for one in words)


def test_upstream_is_at_the_top_and_banks_are_kept() -> None:
    layout = lay_out_tree(answer(), LOOKS["wide"])
    assert layout.y_px(2000.0) < layout.y_px(0.0)
    place = {answer().rows[n].name: x for n, x in layout.column_px.items()}
    # Looking up the creek, its left bank (looking down) is on the right.
    assert place["first"] > place["the creek"] > place["second"]


def test_a_picture_without_streams_says_what_to_draw() -> None:
    nothing = ask_upstream(reading_of(log_of([], features=())))
    for draw in DRAW.values():
        lines = text_lines(draw(nothing, LOOKS["phone"]))
        assert "Nothing tells where water runs" in " ".join(one.words for one in lines)


def test_soil_holes_are_drawn_where_the_gold_stops() -> None:
    places = [
        washed("low", (0.0, 100.0), 20),
        washed("last", (0.0, 1600.0), 18),
        washed("none", (0.0, 1700.0), 0, 20.0),
    ]
    found = ask_upstream(reading_of(log_of(places)))
    words = [one.words for one in text_lines(draw_water_map(found, LOOKS["wide"]))]
    assert "soil holes" in words
