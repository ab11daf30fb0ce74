"""Text for a terminal."""

import pytest

from pennyweight.cli.layout import bullets, line_width, pairs, paragraph, table


@pytest.mark.parametrize(("columns", "width"), [(20, 40), (60, 60), (300, 88)])
def test_lines_are_as_wide_as_the_terminal_within_reason(
    monkeypatch: pytest.MonkeyPatch, columns: int, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    assert line_width() == width


def test_a_paragraph_is_broken_between_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    lines = paragraph("gold " * 20)
    assert len(lines) == 3
    assert all(len(line) <= 40 for line in lines)


def test_numbers_stand_to_the_right_and_words_to_the_left() -> None:
    assert table(("dig", "colors"), [("T1", "3"), ("T10", "14")]) == [
        "",
        "dig  colors",
        "-----------",
        "T1        3",
        "T10      14",
    ]


def test_what_cannot_be_told_is_a_dash() -> None:
    assert table(("dig", "m"), [("T1", "")])[-1] == "T1   -"
    assert pairs([("gold", ""), ("pans", "3")]) == ["", "gold  -", "pans  3"]


def test_a_table_without_rows_is_nothing() -> None:
    assert table(("dig",), []) == pairs([]) == []


def test_a_list_has_its_heading_only_with_something_under_it() -> None:
    assert bullets("Odd:", []) == []
    assert bullets("Odd:", ["the swell"]) == ["", "Odd:", "  - the swell"]
