"""Whatever a name holds, it stays text."""

import xml.etree.ElementTree as ET

import pytest

from pennyweight.pictures.svg import (
    Look,
    Markup,
    drawing,
    element,
    escape_text,
    group,
    number_text,
    path_text,
)

HOSTILE = '</text><script>alert(1)</script>"&\u0000'


def test_text_is_escaped_and_stays_one_text() -> None:
    made = ET.fromstring(element("text", HOSTILE))  # noqa: S314 - our own text
    assert len(made) == 0
    assert made.text == '</text><script>alert(1)</script>"&\ufffd'


def test_an_attribute_is_escaped() -> None:
    made = ET.fromstring(element("g", "x", data_dig=HOSTILE))  # noqa: S314
    assert made.attrib["data-dig"].startswith("</text><script>")


def test_markup_goes_in_as_it_is() -> None:
    assert element("g", Markup("<path/>")) == "<g><path/></g>"


def test_what_is_none_is_left_out() -> None:
    assert element("path", None, d="M0 0", fill=None) == '<path d="M0 0"/>'


def test_an_empty_group_is_nothing() -> None:
    assert group(None, Markup("")) == ""


@pytest.mark.parametrize(
    ("value", "words"), [(1.0, "1"), (-0.001, "0"), (12.345, "12.35"), (100.0, "100")]
)
def test_coordinates_are_short(value: float, words: str) -> None:
    assert number_text(value) == words


def test_a_closed_path_closes() -> None:
    assert path_text([(0.0, 0.0), (1.0, 0.5)], closed=True) == "M0 0L1 0.5Z"


def test_letters_that_xml_forbids_are_replaced() -> None:
    assert escape_text("a\u0008b") == "a\ufffdb"


def test_a_picture_says_what_it_is() -> None:
    made = drawing(Look(), 10.0, label="A wall", desc="Two digs.", kind="wall")
    assert 'role="img"' in made
    assert 'aria-label="A wall"' in made
    assert "<desc>Two digs.</desc>" in made


def test_print_has_no_ground() -> None:
    made = drawing(Look(paper=True), 10.0, label="", desc="", kind="wall")
    assert "<rect" not in made
