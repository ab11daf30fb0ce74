"""Size classes in every spelling that the field log allows."""

import pytest

from pennyweight.exchange.sizeclasses import parse_size_class, spreadsheet_form


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("0.25-0.5", "0.25-0.5"),
        ("0.25 to 0.5", "0.25-0.5"),
        ("0.25..0.5", "0.25-0.5"),
        (" 0.250 - 0.50 mm ", "0.25-0.5"),
        ("0,25-0,5", "0.25-0.5"),
        ("0.25\u20130.5", "0.25-0.5"),
        ("1-2", "1-2"),
        (".5-1", "0.5-1"),
        ("<0.25", "<0.25"),
        ("> 2 mm", ">2"),
        ("20/40 mesh", "20/40 mesh"),
        ("40/20 Mesh", "20/40 mesh"),
        ("-20+40 mesh", "20/40 mesh"),
        ("No.1", "No.1"),
        ("no. 2", "No.2"),
        ("NO 3", "No.3"),
        ("all", "all"),
        ("ALL", "all"),
    ],
)
def test_every_spelling_has_one_written_form(text: str, written: str) -> None:
    assert parse_size_class(text) == written


@pytest.mark.parametrize(
    "text",
    [
        "2-Jan",
        "Jan-02",
        "02-Feb-2026",
        "1. Feb",
        "02/janv.",
        "2026-01-02",
        "2026-01-02 00:00:00",
        "1/2/2026",
        "2.1.26",
        "46024",
    ],
)
def test_a_class_turned_into_a_date_is_refused_with_the_hint(text: str) -> None:
    with pytest.raises(ValueError, match="a spreadsheet has turned it into a date"):
        parse_size_class(text)


@pytest.mark.parametrize("text", ["", "fine", "No.4", "20/40", "0.5", "-0.5", "<"])
def test_what_is_no_class_is_refused_with_the_spellings(text: str) -> None:
    with pytest.raises(ValueError, match=r"0.25 to 0.5, 0.25..0.5"):
        parse_size_class(text)


def test_a_range_upside_down_shows_both_ends() -> None:
    with pytest.raises(ValueError, match=r"below its upper end \(0.25-0.5\?\)"):
        parse_size_class("0.5-0.25")


def test_a_size_of_meters_is_no_gold() -> None:
    with pytest.raises(ValueError, match="between 0 and 1000 mm"):
        parse_size_class("0.5-2000")


def test_one_mesh_twice_is_no_class() -> None:
    with pytest.raises(ValueError, match="found 20/20"):
        parse_size_class("20/20 mesh")


def test_classes_that_look_like_dates_are_written_with_to() -> None:
    assert [spreadsheet_form(one) for one in ("1-2", "0.5-1", "No.1")] == [
        "1 to 2",
        "0.5-1",
        "No.1",
    ]
