"""Field sheets to write on: the words of the field log, so that typing in is copying.

A dig on one leaf of letter or A4, or on four leaves of a pocket notebook. A number
that was not taken stays blank; a zero is written as 0.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from pennyweight.exchange.countedclasses import CLASSES
from pennyweight.paper.blocks import Block
from pennyweight.paper.cautions import WALLS, WATER
from pennyweight.paper.fieldpaper import Paper, find_paper, typeset, write_whole
from pennyweight.units import FEET_AND_YARDS, METRIC, Measures

_WALLS_SHORT = (
    "A wall can fall at any depth, without warning. Slope or shore it, keep the spoil "
    "back, have a way out, never dig alone. Local codes decide."
)


def write_fieldsheets(
    path: str | os.PathLike[str],
    *,
    ground_name: str,
    made_at: str,
    paper: str = "letter",
    measures: Measures = METRIC,
    classes: Sequence[str] = CLASSES,
    digs: Sequence[str] = ("",),
) -> Path:
    """Write field sheets as a PDF, one set a dig.

    Parameters
    ----------
    path : path-like
        Where to write.
    ground_name : str
        Printed at the top.
    made_at : str
        Moment that the file carries, ISO 8601.
    paper : {"letter", "a4", "notebook"}, optional
        Size of the sheet.
    measures : Measures, optional
        Units that stand in the headings.
    classes : sequence of str, optional
        Size classes to count by.
    digs : sequence of str, optional
        Names to print; an empty one is left to be written in.

    Raises
    ------
    ValueError
        There is no such paper, or no dig.
    """
    sheet = find_paper(paper)
    if not digs:
        msg = f"digs is {list(digs)!r}; give names, or one empty name for a blank set."
        raise ValueError(msg)
    data = {
        "title": f"Field sheets, {ground_name}",
        "ground": ground_name,
        "sets": [
            {"dig": dig, "pages": _pages(sheet, measures, tuple(classes))}
            for dig in digs
        ],
    }
    return write_whole(
        typeset("fieldsheets.typ", data, paper=sheet, made_at=made_at), path
    )


def _pages(
    paper: Paper, measures: Measures, classes: tuple[str, ...]
) -> list[list[Block]]:
    """Return the leaves of one dig."""
    unit = "ft" if measures == FEET_AND_YARDS else "m"
    stone = "in" if measures == FEET_AND_YARDS else "cm"
    liquid = "gal" if measures == FEET_AND_YARDS else "l"
    header, reached = _header(unit, small=paper.small), _reached()
    layers = _layers(unit, stone, small=paper.small)
    samples = _samples(unit, liquid, small=paper.small)
    gold, day = _gold(classes, small=paper.small), _day()
    if paper.small:
        return [
            [*header, *reached, _said(_WALLS_SHORT), _lines("Note", 3)],
            [*layers, *_bedrock(unit)],
            samples,
            [*gold, *day],
        ]
    return [
        [*header, *reached, _said(WALLS), *layers, *_bedrock(unit), _sketch()],
        [*samples, *gold, *day, _lines("Note", 5), _said(WATER)],
    ]


# ---- what a leaf is made of ------------------------------------------------------


def _fields(*fields: tuple[str, float]) -> Block:
    """Return words with a line behind each, in one row, by shares of its width."""
    return {"kind": "fields", "fields": [list(one) for one in fields]}


def _ticks(words: str, *choices: str) -> Block:
    """Return a word and boxes to tick."""
    return {"kind": "ticks", "words": words, "choices": list(choices)}


def _rows(words: str, heads: Sequence[tuple[str, float]], count: int) -> Block:
    """Return a table with empty rows; the numbers are shares of its width."""
    return {
        "kind": "rows",
        "words": words,
        "heads": [head for head, _ in heads],
        "shares": [share for _, share in heads],
        "count": count,
    }


def _said(words: str) -> Block:
    return {"kind": "caution", "words": words}


def _lines(words: str, count: int) -> Block:
    return {"kind": "lines", "words": words, "count": count}


def _sketch() -> Block:
    words = "Wall, looking"
    hint = "layers, samples, photographs; squares are what you make them"
    return {"kind": "sketch", "words": words, "hint": hint}


def _header(unit: str, *, small: bool) -> list[Block]:
    """Return the header of a dig: digs.csv, and what a notebook adds."""
    kind = _ticks(
        "Kind",
        *("trench", "pit", "crevice", "moss", "root", "bar", "bank", "bench", "hole"),
    )
    rows: list[list[tuple[str, float]]] = [
        [("Line", 1), ("Date", 1.2), ("Water level", 1.4)],
        [("Easting / longitude", 1), ("Northing / latitude", 1)],
        [("Peg", 1), ("toward or bearing", 1.4)],
        [(f"along {unit}", 1), (f"across {unit}, + right", 1.4)],
        [("Landmark, tape or pace", 1)],
        [(f"Surface above creek {unit}", 1), ("Weather", 1)],
        [(f"Opening, length by width {unit}", 1.6), ("at the bottom", 1)],
        [("Dug by", 1), ("Panned by", 1)],
        [("Why here; what would change the plan", 1)],
        [("Photographs", 1)],
    ]
    if not small:
        rows = [
            [*rows[0], ("Weather", 1.4)],
            [*rows[1], *rows[2][:1]],
            [*rows[2][1:], *rows[3], (f"Surface above creek {unit}", 1.5)],
            [*rows[4], *rows[9]],
            [*rows[6], *rows[7]],
            rows[8],
        ]
    limit = _ticks("Side, looking downstream", "left limit", "right limit", "bed")
    return [kind, *(_fields(*row) for row in rows), limit]


def _reached() -> list[Block]:
    return [
        _ticks(
            "Stopped by",
            *("true bedrock", "false bedrock or clay", "water", "boulder", "limit"),
            "gave up",
        ),
        _ticks("Walls", "sloped", "shored", "spoil back", "way out"),
    ]


def _layers(unit: str, stone: str, *, small: bool) -> list[Block]:
    """Return the layers from the top down, a row a change (layers.csv)."""
    heads: list[tuple[str, float]] = [
        (f"top {unit}", 0.8),
        (f"bottom {unit}", 0.9),
        ("material", 1.5),
        ("packing", 1.1),
        ("matrix", 1.1),
        (f"largest {stone}", 0.9),
        ("stain", 0.9),
        ("water", 0.9),
        ("worked?", 0.9),
        ("note: contact, stones, shape", 2.2),
    ]
    if small:
        heads = [*heads[:6], ("stain, water, worked", 1.6)]
    words = (
        "Layers, from the top down. packing: loose firm hard cemented frozen · "
        "matrix: clean sandy silty clayey · water: dry damp seep under water"
    )
    return [_rows(words, heads, 12 if small else 7)]


def _bedrock(unit: str) -> list[Block]:
    return [
        _fields(("Bedrock", 1), (f"taken up to {unit}", 1)),
        _ticks("Grain to the flow", "across", "along", "massive"),
        _ticks("Surface", "rough", "fractured", "smooth"),
    ]


def _samples(unit: str, liquid: str, *, small: bool) -> list[Block]:
    """Return the samples (samples.csv)."""
    heads: list[tuple[str, float]] = [
        ("bag id", 1.6),
        (f"top {unit}", 0.8),
        (f"bottom {unit}", 0.8),
        ("taken", 1.0),
        (f"cut: sides, {unit}", 1.5),
        ("pans", 0.7),
        (f"or {liquid}", 0.8),
        ("loose/bank", 0.9),
        ("screened off", 1.0),
        ("boulders out", 1.0),
        ("washed with, by", 1.3),
    ]
    if small:
        heads = [*heads[:4], ("pans or volume", 1.2), ("left out", 1.0)]
    words = (
        "Samples. taken: channel bulk recut grab crevice moss root loam · struck pans, "
        "never heaped · bank is the hole, loose is the bucket"
    )
    return [_rows(words, heads, 16 if small else 8)]


def _gold(classes: tuple[str, ...], *, small: bool) -> list[Block]:
    """Return colors and gold: tallies.csv, and the weights of samples.csv."""
    heads: list[tuple[str, float]] = [
        ("bag id", 1.6),
        *((f"{one} mm", 0.8) for one in classes),
        ("all", 0.6),
        ("mg", 0.7),
    ]
    if not small:
        heads += [("largest", 0.8), ("black sand", 0.9), ("shape, coat, quartz", 1.6)]
    words = (
        "Colors counted by size. Washed and none: write 0 under all. A class not "
        "looked at stays blank. mg: all gold weighed, dry and clean"
    )
    return [_rows(words, heads, 13 if small else 8)]


def _day() -> list[Block]:
    """Return the day (days.csv)."""
    return [
        _fields(("Hours here", 1), ("of these digging", 1.2), ("Spent", 0.9)),
        _ticks("Duplicate or blank washed today?", "duplicate", "blank", "neither"),
    ]
