"""What the floods did, as a section of the report."""

from pathlib import Path

from pennyweight.answers.ground import show_ground
from pennyweight.paper.highwaterpages import highwater_section
from pennyweight.paper.report import paper_look, write_sections
from pennyweight.pictures.svg import Look
from tests.answers.made_creek import made_answer, made_log, read

LOOK = paper_look(Look())


def test_the_section_holds_verdict_cautions_pictures_and_drops() -> None:
    section = highwater_section(show_ground(read(made_log())), made_answer(), LOOK)
    kinds = [block["kind"] for block in section.blocks]
    assert section.heading == "What did the floods do?"
    assert kinds[0] == "verdict"
    assert kinds.count("caution") == len(made_answer().cautions)
    assert kinds.count("picture") == 2
    assert kinds.count("table") == 2
    assert any(
        "Drops on the map, water at" in str(block.get("words"))
        for block in section.blocks
    )


def test_it_is_set_on_paper(tmp_path: Path) -> None:
    ground = show_ground(read(made_log()))
    section = highwater_section(ground, made_answer(), LOOK)
    path = tmp_path / "floods.pdf"
    write_sections(path, ground, [section], look=LOOK)
    assert path.read_bytes().startswith(b"%PDF")
