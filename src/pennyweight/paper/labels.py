"""Labels for sample bags: a big id with a check character, and its QR code.

The code holds the id and nothing else: a bag that is lost gives away no ground.
"""

from __future__ import annotations

import io
import os
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from pennyweight.exchange.shortids import MOST_BAGS, find_batch, number_bags
from pennyweight.paper.fieldpaper import A4, LETTER, Paper, typeset, write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelGrid:
    """How labels lie on a sheet; all in mm.

    Attributes
    ----------
    paper : Paper
        The sheet.
    columns, rows : int
        Labels across and down.
    width, height : float
        Of one label.
    left, top : float
        Of the first label, from the edges of the sheet.
    across, down : float
        From one label's edge to the same edge of the next.
    """

    paper: Paper
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    across: float
    down: float

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows


#: Divisions of a sheet that label paper of many makers has; plain paper is cut along
#: the hairlines.
GRIDS = {
    "letter-30": LabelGrid(
        paper=LETTER,
        columns=3,
        rows=10,
        width=66.675,
        height=25.4,
        left=4.7625,
        top=12.7,
        across=69.85,
        down=25.4,
    ),
    "letter-10": LabelGrid(
        paper=LETTER,
        columns=2,
        rows=5,
        width=101.6,
        height=50.8,
        left=3.97,
        top=12.7,
        across=106.36,
        down=50.8,
    ),
    "a4-24": LabelGrid(
        paper=A4,
        columns=3,
        rows=8,
        width=70.0,
        height=37.0,
        left=0.0,
        top=0.5,
        across=70.0,
        down=37.0,
    ),
}


def write_labels(
    path: str | os.PathLike[str],
    book_id: str,
    *,
    made_at: str,
    grid: str = "letter-30",
    first: int = 1,
    sheets: int = 1,
) -> tuple[str, ...]:
    """Write sheets of labels as a PDF, and return their ids in order.

    Parameters
    ----------
    path : path-like
        Where to write.
    book_id : str
        Identity of the book; its labels are one batch.
    made_at : str
        Moment that the file carries, ISO 8601.
    grid : str, optional
        One of `GRIDS`.
    first : int, optional
        Number to begin with.
    sheets : int, optional
        How many sheets.

    Raises
    ------
    ValueError
        There is no such grid, or the batch has not that many numbers left.
    """
    layout = find_grid(grid)
    wanted = layout.count * sheets
    ids = tuple(islice(number_bags(find_batch(book_id), first), max(wanted, 0)))
    if sheets < 1 or len(ids) < wanted:
        msg = (
            f"{sheets} sheets of {layout.count} labels from number {first} on cannot "
            f"be had; a book has numbers up to {MOST_BAGS}, and at least one sheet "
            "is printed."
        )
        raise ValueError(msg)
    write_whole(_typeset_labels(ids, layout, made_at), Path(path))
    return ids


def find_grid(name: str) -> LabelGrid:
    """Return a grid by its name.

    Raises
    ------
    ValueError
        There is no such grid.
    """
    if name not in GRIDS:
        msg = f"label grid {name!r} is not known; use one of {', '.join(GRIDS)}."
        raise ValueError(msg)
    return GRIDS[name]


def draw_code(bag: str) -> str:
    """Return the QR code of an id as SVG, with the greatest error correction.

    Parameters
    ----------
    bag : str
        As of `exchange.shortids`.
    """
    import segno  # noqa: PLC0415 - only labels need it

    drawn = io.BytesIO()
    code = segno.make(bag, error="h", micro=False, boost_error=False)
    code.save(drawn, kind="svg", border=2, xmldecl=False, svgns=True, unit="")
    return drawn.getvalue().decode()


def _typeset_labels(ids: tuple[str, ...], layout: LabelGrid, made_at: str) -> bytes:
    count = layout.count
    pages = [ids[at : at + count] for at in range(0, len(ids), count)]
    data = {
        "title": f"Labels {ids[0]} to {ids[-1]}",
        "grid": {
            "columns": layout.columns,
            "width": layout.width,
            "height": layout.height,
            "left": layout.left,
            "top": layout.top,
            "across": layout.across,
            "down": layout.down,
        },
        "pages": [
            [{"id": one, "code": draw_code(one)} for one in page] for page in pages
        ],
    }
    return typeset("labels.typ", data, paper=layout.paper, made_at=made_at)
