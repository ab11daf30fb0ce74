"""Tables as people save them: encodings, separators, quotes, ragged rows."""

from collections.abc import Callable
from typing import Any

import pytest

from pennyweight.errors import RefusedError
from pennyweight.exchange.tables import MOST_COLUMNS, decode_text, read_sheet

HEADINGS = {"dig", "line", "note"}


def sheet_of(content: bytes | str, file: str = "digs.csv") -> Any:
    raw = content.encode() if isinstance(content, str) else content
    return read_sheet(raw, file, lambda heading: heading in HEADINGS)


def refusal_of(read: Callable[[], Any]) -> Any:
    with pytest.raises(RefusedError) as refused:
        read()
    return refused.value.refusals[0]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_encodings_give_the_same_cells(encoding: str) -> None:
    sheet = sheet_of("dig,note\nT1,Kies über Fels\n".encode(encoding))
    assert sheet.headings == ("dig", "note")
    assert sheet.rows == [["T1", "Kies über Fels"]]


@pytest.mark.parametrize("mark", [b"\xff\xfe", b"\xfe\xff"])
def test_utf_16_of_both_byte_orders_is_read(mark: bytes) -> None:
    order = "utf-16-le" if mark == b"\xff\xfe" else "utf-16-be"
    assert decode_text(mark + "dig\n".encode(order), "x.csv") == "dig\n"


def test_latin_1_is_refused_naming_the_byte_and_how_to_save() -> None:
    content = "dig,note\nT1,ok\nT2,über\n".encode("latin-1")
    refusal = refusal_of(lambda: sheet_of(content))
    assert (refusal.file, refusal.row) == ("digs.csv", 3)
    assert refusal.found == "byte 0xFC at place 19 of the file"
    assert "Unicode (UTF-8)" in refusal.expected


def test_utf_16_without_its_mark_is_refused() -> None:
    refusal = refusal_of(lambda: sheet_of("dig\nT1\n".encode("utf-16-le")))
    assert refusal.found == "byte 0x00 at place 2 of the file"


def test_half_a_utf_16_letter_is_refused() -> None:
    refusal = refusal_of(lambda: decode_text(b"\xff\xfed", "x.csv"))
    assert "0x64" in refusal.found


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_comma_semicolon_and_tab_are_told_apart(separator: str) -> None:
    sheet = sheet_of(f"dig{separator}note\nT1{separator}wet\n")
    assert sheet.separator == separator
    assert sheet.rows == [["T1", "wet"]]


def test_the_separator_is_the_one_that_gives_known_headings() -> None:
    sheet = sheet_of('dig;"what, where, when, who";note\nT1;a,b;c\n')
    assert sheet.separator == ";"
    assert sheet.rows == [["T1", "a,b", "c"]]


@pytest.mark.parametrize(("told", "parted"), [("sep=;", ";"), ('"sep=,"', ",")])
def test_a_row_that_tells_the_separator_is_counted_but_not_read(
    told: str, parted: str
) -> None:
    sheet = sheet_of(f"{told}\ndig{parted}note\nT1{parted}x\n")
    assert (sheet.separator, sheet.header_row, sheet.numbers) == (parted, 2, [3])


def test_a_told_tab_is_understood() -> None:
    assert sheet_of("sep=\t\r\ndig\tnote\r\nT1\tx\r\n").rows == [["T1", "x"]]


def test_rows_are_numbered_as_a_spreadsheet_does() -> None:
    """Blank rows count; a cell of two lines is one row."""
    sheet = sheet_of('\ndig,note\n\nT1,"two\nlines"\n,\nT2,\n')
    assert sheet.header_row == 2
    assert sheet.numbers == [4, 6]
    assert sheet.rows == [["T1", "two\nlines"], ["T2", ""]]


def test_quotes_commas_and_line_ends_inside_cells_are_kept() -> None:
    sheet = sheet_of('dig,note\r\nT1,"say ""hm"", go"\r\n')
    assert sheet.rows == [["T1", 'say "hm", go']]


def test_a_short_row_is_filled_and_blanks_are_taken_off() -> None:
    sheet = sheet_of("dig,line,note\n  T1 , A\n")
    assert sheet.rows == [["T1", "A", ""]]


def test_more_cells_than_headings_are_refused_with_a_hint_at_commas() -> None:
    sheet = sheet_of("dig,note\nT1,1,5\n")
    (refusal,) = sheet.refusals
    assert (refusal.row, refusal.found) == (2, "comma 5")
    assert "write decimals with a point" in refusal.expected


def test_more_cells_in_a_semicolon_file_need_no_hint_at_commas() -> None:
    (refusal,) = sheet_of("dig;note\nT1;1;5\n").refusals
    assert refusal.expected == "as many cells as there are headings"


@pytest.mark.parametrize("text", ['dig,note\nT1,"open\nT2,x\n', 'dig\n"a"b\n'])
def test_a_quotation_mark_left_open_is_refused(text: str) -> None:
    refusal = refusal_of(lambda: sheet_of(text))
    assert refusal.row == 2
    assert "every quotation mark closed" in refusal.expected


def test_a_file_without_a_header_is_refused() -> None:
    assert refusal_of(lambda: sheet_of("\n\n")).found == "no header row"


def test_an_absurdly_wide_table_is_refused() -> None:
    wide = ",".join(f"c{at}" for at in range(MOST_COLUMNS + 1))
    assert refusal_of(lambda: sheet_of(wide)).found == f"{MOST_COLUMNS + 1} columns"
