"""What a page of the report is made of: words, pictures, tables, cautions.

Plain values that the template lays out; no text is read as markup there.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

Block = dict[str, Any]

#: Between the margins of the page, and what fits under a heading [mm].
TEXT_WIDTH_MM, MOST_HIGH_MM = 174.0, 205.0

#: Size of ordinary text [pt], a point [mm], mean letter and line over type size [-].
TEXT_PT, POINT_MM, LETTER_EM, LINE_EM = 9.5, 25.4 / 72.0, 0.5, 1.45

_SIZE = re.compile(r'width="([\d.]+)" height="([\d.]+)"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands under it.

    Attributes
    ----------
    heading : str
        A question of the prospector's; empty on the first page.
    blocks : tuple
        From the top down.
    new_page : bool
        Whether it begins a page.
    """

    heading: str
    blocks: tuple[Block, ...]
    new_page: bool = False

    def as_json(self) -> dict[str, Any]:
        """Return the section as the template reads it."""
        return {
            "heading": self.heading,
            "blocks": list(self.blocks),
            "new_page": self.new_page,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class TableColumn:
    """One column of a table.

    Attributes
    ----------
    head : str
        Its heading, with the unit.
    right : bool
        Whether it is set to the right, as numbers are.
    width : str
        "auto", or a share of what is left: "1fr".
    """

    head: str
    right: bool = False
    width: str = "auto"


def heading(words: str) -> Block:
    """Return a small heading."""
    return {"kind": "heading", "words": words}


def verdict(words: str, size_pt: float = 12.0) -> Block:
    """Return a verdict, set in the serif."""
    return {"kind": "verdict", "words": words, "size": size_pt}


def paragraph(words: str) -> Block:
    """Return a paragraph."""
    return {"kind": "text", "words": words}


def caution(words: str) -> Block:
    """Return a caution, marked in red."""
    return {"kind": "caution", "words": words}


def picture(
    svg: str, alt: str, *, share: float = 1.0, most_mm: float = MOST_HIGH_MM
) -> Block:
    """Return a picture across a share of the page's width, less if it is too tall.

    Parameters
    ----------
    svg : str
        As the pictures draw it, with its width and height.
    alt : str
        What it is, for someone who does not see it.
    share : float
        Of the width between the margins [-].
    most_mm : float
        Greatest height on the page [mm].

    Returns
    -------
    dict
        A block.

    Raises
    ------
    ValueError
        The text is no picture with a size.
    """
    size = _SIZE.search(svg)
    if size is None:
        msg = f"{svg[:40]!r} has no width and height; it is no picture."
        raise ValueError(msg)
    tall = float(size[2]) / float(size[1])
    share = min(share, most_mm / (TEXT_WIDTH_MM * tall))
    return {"kind": "picture", "svg": svg, "alt": alt, "share": share}


def room_below(blocks: Sequence[Block], page_mm: float) -> float:
    """Return how much height words leave on a page [mm], never less than a third.

    Reckoned from the mean width of letters, a little on the safe side: a picture
    that fits stays on the page of its words.
    """
    used_mm = 0.0
    for block in blocks:
        size_mm = block.get("size", TEXT_PT) * POINT_MM
        lines = math.ceil(len(block["words"]) * size_mm * LETTER_EM / TEXT_WIDTH_MM)
        used_mm += (lines * LINE_EM + 1.0) * size_mm
    return max(page_mm - used_mm, page_mm / 3.0)


def table(
    columns: Sequence[TableColumn],
    rows: Sequence[Sequence[str]],
    *,
    size_pt: float = 8.5,
) -> Block:
    """Return a table whose head is repeated on every page.

    Raises
    ------
    ValueError
        A row has another number of cells than there are columns.
    """
    wrong = [row for row in rows if len(row) != len(columns)]
    if wrong:
        msg = f"a row has {len(wrong[0])} cells; the table has {len(columns)} columns."
        raise ValueError(msg)
    return {
        "kind": "table",
        "head": [one.head for one in columns],
        "align": ["right" if one.right else "left" for one in columns],
        "widths": [one.width for one in columns],
        "rows": [list(row) for row in rows],
        "size": size_pt,
    }
