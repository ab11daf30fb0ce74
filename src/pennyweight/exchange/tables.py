"""Text tables as people save them: encoding, separator, rows.

UTF-8 (a byte order mark is tolerated) or UTF-16 with one; comma, semicolon or tab.
Rows carry the number that a spreadsheet shows beside them.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Callable
from dataclasses import dataclass

from pennyweight.errors import Refusal, RefusedError

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
SAVE_AS_UTF8 = (
    "text in UTF-8. In the spreadsheet choose Save as, file type CSV, "
    "character set Unicode (UTF-8)"
)
#: The widest table that is read, and the longest cell.
MOST_COLUMNS, MOST_LETTERS = 500, 100_000


@dataclass(frozen=True, slots=True)
class Sheet:
    """The cells of one file, stripped of blanks at both ends.

    Attributes
    ----------
    file : str
        Its name inside the log.
    headings : tuple of str
        As typed.
    header_row : int
        Number of the header row, 1 unless blank rows or a `sep=` row come before it.
    rows : list of list of str
        As many cells in each as there are headings.
    numbers : list of int
        Row numbers as a spreadsheet shows them.
    separator : str
        Comma, semicolon or tab character.
    refusals : tuple of Refusal
        Rows that hold more cells than there are headings.
    """

    file: str
    headings: tuple[str, ...]
    header_row: int
    rows: list[list[str]]
    numbers: list[int]
    separator: str
    refusals: tuple[Refusal, ...] = ()


def decode_text(content: bytes, file: str) -> str:
    """Return the text of a file.

    Raises
    ------
    RefusedError
        It is neither UTF-8 nor UTF-16 with a byte order mark; the refusal names the
        byte, its place, and how to save the file.
    """
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    else:
        encoding = "utf-8-sig"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as wrong:
        before = content[: wrong.start]
        byte = content[wrong.start : wrong.start + 1].hex().upper()
        raise RefusedError(
            [
                Refusal(
                    file,
                    before.count(b"\n") + 1,
                    None,
                    f"byte 0x{byte} at place {wrong.start + 1} of the file",
                    SAVE_AS_UTF8,
                )
            ]
        ) from wrong
    if "\x00" in text:
        row = text[: text.index("\x00")].count("\n") + 1
        found = f"byte 0x00 at place {content.index(0) + 1} of the file"
        raise RefusedError([Refusal(file, row, None, found, SAVE_AS_UTF8)])
    return text


def read_sheet(content: bytes, file: str, is_heading: Callable[[str], bool]) -> Sheet:
    """Return the cells of a table.

    Parameters
    ----------
    content : bytes
        The file.
    file : str
        Its name, for refusals.
    is_heading : callable
        Tells whether a heading is one that the file may have; the separator is the
        one that gives most of them.

    Raises
    ------
    RefusedError
        The text cannot be decoded or parted into cells, or there is no header row.
    """
    text = decode_text(content, file)
    lines, skipped, separator = _told_separator(text)
    if separator is None:
        separator = _find_separator(lines, is_heading)
    numbered = _part(lines, separator, file, skipped)
    headings: tuple[str, ...] = ()
    header_row = 0
    rows: list[list[str]] = []
    numbers: list[int] = []
    refusals: list[Refusal] = []
    for number, cells in numbered:
        if not any(cells):
            continue
        if not header_row:
            headings, header_row = tuple(cells), number
            continue
        spare = cells[len(headings) :]
        if any(spare):
            refusals.append(_too_many_cells(file, number, spare, separator))
        rows.append(cells[: len(headings)] + [""] * (len(headings) - len(cells)))
        numbers.append(number)
    if not header_row or len(headings) > MOST_COLUMNS:
        found = f"{len(headings)} columns" if header_row else "no header row"
        expected = f"a header row of 1 to {MOST_COLUMNS} columns"
        raise RefusedError([Refusal(file, 1, None, found, expected)])
    return Sheet(file, headings, header_row, rows, numbers, separator, tuple(refusals))


def _too_many_cells(
    file: str, number: int, spare: list[str], separator: str
) -> Refusal:
    hint = "as many cells as there are headings"
    if separator == ",":
        hint += "; write decimals with a point, and put text with commas in quotes"
    return Refusal(file, number, None, f"{SEPARATORS[separator]} {spare[0]}", hint)


def _told_separator(text: str) -> tuple[str, int, str | None]:
    """Take off the `sep=;` row with which some spreadsheets begin a file."""
    first, _, rest = text.partition("\n")
    told = first.strip().strip('"').lower()
    if told.startswith("sep=") and told[4:] in {",", ";"}:
        return rest, 1, told[4:]
    if first.rstrip("\r").lower() == "sep=\t":
        return rest, 1, "\t"
    return text, 0, None


def _find_separator(text: str, is_heading: Callable[[str], bool]) -> str:
    """Return the separator that parts the first row into most known headings."""
    head = text.lstrip("\r\n,;\t ")[:MOST_LETTERS].splitlines()[:1]

    def parted(separator: str) -> tuple[int, int]:
        cells = next(csv.reader(head, delimiter=separator), [])
        return sum(is_heading(cell.strip()) for cell in cells), len(cells)

    return max(SEPARATORS, key=parted)


def _part(
    text: str, separator: str, file: str, skipped: int
) -> list[tuple[int, list[str]]]:
    """Return all rows, with their numbers; a row may run over several lines."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    number = skipped
    try:
        for cells in reader:
            number += 1
            rows.append((number, [cell.strip() for cell in cells]))
    except csv.Error as wrong:
        found = f"{wrong}"
        expected = (
            f"cells of at most {MOST_LETTERS} letters, parted by "
            f"{SEPARATORS[separator]}s, with every quotation mark closed"
        )
        raise RefusedError(
            [Refusal(file, number + 1, None, found, expected)]
        ) from wrong
    return rows
