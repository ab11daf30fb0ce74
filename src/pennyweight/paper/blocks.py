"""What a page of the report is made of: words, pictures, tables, cautions.

Plain values that the template lays out; no text is read as markup there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

Block = dict[str, Any]


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
    new_page: bool = True

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


def picture(svg: str, alt: str, *, words: str = "", share: float = 1.0) -> Block:
    """Return a picture across a share of the page's width."""
    return {"kind": "picture", "svg": svg, "alt": alt, "words": words, "share": share}


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
