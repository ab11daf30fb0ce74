"""Paper for the field: sizes of sheets, inks, one way of setting and writing them."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from pennyweight.pictures.palette import PRINT


@dataclass(frozen=True, slots=True)
class Paper:
    """One size of paper.

    Attributes
    ----------
    name : str
        How it is asked for.
    width_mm, height_mm : float
        Upright.
    margin_mm : float
        On all sides.
    """

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float

    @property
    def small(self) -> bool:
        """Whether it fits a pocket."""
        return self.width_mm < 150.0


LETTER = Paper("letter", 215.9, 279.4, 14.0)
A4 = Paper("a4", 210.0, 297.0, 14.0)
NOTEBOOK = Paper("notebook", 117.5, 177.8, 7.0)
PAPERS = {paper.name: paper for paper in (LETTER, A4, NOTEBOOK)}


def find_paper(name: str) -> Paper:
    """Return a size of paper by its name.

    Raises
    ------
    ValueError
        There is no such size.
    """
    if name not in PAPERS:
        msg = f"paper {name!r} is not known; use one of {', '.join(PAPERS)}."
        raise ValueError(msg)
    return PAPERS[name]


def typeset(
    template: str, data: dict[str, Any], *, paper: Paper, made_at: str
) -> bytes:
    """Return the PDF of a template; the same data give the same bytes.

    Parameters
    ----------
    template : str
        Name of a file in templates.
    data : dict
        What it sets; texts are never read as markup.
    paper : Paper
        Size of the sheet.
    made_at : str
        Moment that the file carries, ISO 8601.
    """
    import typst  # noqa: PLC0415 - brings a large library

    room = files("pennyweight.paper")
    whole = data | {
        "sheet": {
            "width": paper.width_mm,
            "height": paper.height_mm,
            "margin": paper.margin_mm,
            "small": paper.small,
        },
        "inks": {
            "ink": PRINT.ink,
            "soft_ink": PRINT.soft_ink,
            "faint_ink": PRINT.faint_ink,
            "danger": PRINT.danger,
        },
    }
    with as_file(room / "fonts") as fonts:
        # One type variable of its stubs stands for both the template and the paths.
        compiled: Any = typst.compile
        content = compiled(
            (room / "templates" / template).read_bytes(),
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(whole)},
            timestamp=_moment(made_at),
        )
    if not isinstance(content, bytes):
        msg = f"the typesetter gave {type(content).__name__}; one PDF was expected."
        raise TypeError(msg)
    return content


def _moment(made_at: str) -> datetime:
    moment = datetime.fromisoformat(re.sub(r"Z$", "+00:00", made_at))
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.astimezone(UTC).replace(microsecond=0)


def write_whole(content: bytes, path: str | os.PathLike[str]) -> Path:
    """Write a file that appears whole or not at all.

    Parameters
    ----------
    content : bytes
        Of the file.
    path : path-like
        Where to write.
    """
    target = Path(path)
    partial = target.with_name(f".{target.name}.part")
    try:
        partial.write_bytes(content)
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)
    return target
