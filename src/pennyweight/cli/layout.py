"""Text for a terminal: paragraphs, tables, lists, in one width."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Sequence

#: Lines longer than this are hard to read, however wide the terminal.
WIDEST = 88
NARROWEST = 40
GAP = "  "


def line_width() -> int:
    """Return how wide lines may be here [characters]."""
    columns = shutil.get_terminal_size((WIDEST, 24)).columns
    return max(NARROWEST, min(WIDEST, columns))


def paragraph(text: str, indent: str = "", first: str | None = None) -> list[str]:
    """Return a text broken into lines.

    Parameters
    ----------
    text : str
        Of any length.
    indent : str
        Before every line.
    first : str, optional
        Before the first line instead.
    """
    return textwrap.wrap(
        text,
        line_width(),
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def bullets(heading: str, texts: Sequence[str]) -> list[str]:
    """Return a list under its heading; nothing when there is nothing to list."""
    if not texts:
        return []
    lines = ["", heading]
    for text in texts:
        lines += paragraph(text, "    ", first="  - ")
    return lines


def pairs(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Return what is what, one line each.

    Parameters
    ----------
    rows : sequence of (str, str)
        Words and value; an empty value says that it cannot be told.
    """
    if not rows:
        return []
    width = max(len(what) for what, _ in rows)
    return ["", *(f"{what.ljust(width)}{GAP}{value or '-'}" for what, value in rows)]


def table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as columns of equal width; empty without rows.

    A column whose cells all begin with a digit, a sign or a dash stands to the right.

    Parameters
    ----------
    headings : sequence of str
        One a column.
    rows : sequence of sequence of str
        Their cells; an empty cell says that it cannot be told.
    """
    if not rows:
        return []
    cells = [list(headings), *([cell or "-" for cell in row] for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    to_right = [
        all(cell[0].isdigit() or cell[0] in "-+<" for cell in column[1:])
        for column in zip(*cells, strict=True)
    ]
    lines = [
        GAP.join(
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(row, widths, to_right, strict=True)
        ).rstrip()
        for row in cells
    ]
    return ["", lines[0], "-" * min(sum(widths) + 2 * len(widths) - 2, 120), *lines[1:]]
