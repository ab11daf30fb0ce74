"""Where it comes from, as a section of the report."""

from pennyweight.answers.upstreamask import ask_upstream
from pennyweight.paper.reportupstream import stream_table, where_it_comes_from
from pennyweight.pictures.svg import Look
from tests.answers.made_drainage import log_of, reading_of, second_feeder

LOOK = Look(width_px=760, paper=True)


def test_the_section_holds_verdict_tree_map_streams_and_next_samples() -> None:
    answer = ask_upstream(reading_of(second_feeder()))
    section = where_it_comes_from(answer, LOOK)
    kinds = [block["kind"] for block in section.blocks]
    assert section.heading == "Where does it come from?"
    assert kinds[:4] == ["verdict", "picture", "picture", "table"]
    words = " ".join(block.get("words", "") for block in section.blocks)
    assert "The gold most likely enters" in words
    assert "1. second" in words
    assert "never a certainty" in words


def test_the_likeliest_stream_stands_first() -> None:
    answer = ask_upstream(reading_of(second_feeder()))
    assert stream_table(answer)["rows"][0][0] == "second"


def test_without_streams_the_section_says_what_to_draw() -> None:
    nothing = ask_upstream(reading_of(log_of([], features=())))
    section = where_it_comes_from(nothing, LOOK)
    assert len(section.blocks) == 1
    assert "tributary" in section.blocks[0]["words"]
