"""Rows that were refused, set aside in a file of their own with the reasons."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path

from pennyweight.errors import Refusal

HEADINGS = ("file", "row", "column", "found", "expected", "the row as typed")

#: File and row number -> headings and cells.
RefusedRows = Mapping[tuple[str, int], Mapping[str, str]]


def refused_path(path: Path) -> Path:
    """Return where the refused rows of a field log go: beside it.

    Parameters
    ----------
    path : Path
        Of the log, a folder or a file.
    """
    return path.resolve().parent / f"{path.resolve().stem}-refused.csv"


def write_refused_rows(
    path: Path, refusals: Sequence[Refusal], rows: RefusedRows
) -> None:
    """Write what was refused, one line a reason.

    Parameters
    ----------
    path : Path
        Of the file; one that is there is replaced.
    refusals : sequence of Refusal
        The reasons.
    rows : mapping
        The refused rows as typed.
    """
    with path.open("w", encoding="utf-8", newline="") as file:
        written = csv.writer(file)
        written.writerow(HEADINGS)
        for one in refusals:
            cells = rows.get((one.file, one.row or 0), {})
            typed = "; ".join(f"{head}={cell}" for head, cell in cells.items() if cell)
            row = "" if one.row is None else one.row
            written.writerow(
                [one.file, row, one.column or "", one.found, one.expected, typed]
            )
