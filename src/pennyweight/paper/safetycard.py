"""The safety card: one page to read before the first shovel, and to leave behind.

The numbers on trenches are those of one federal rule for employers in construction.
They are quoted, not promised: local codes decide, and no depth is without danger.
"""

from __future__ import annotations

import os
from pathlib import Path

from pennyweight.paper.cautions import MERCURY, PERMITS, SLOPES, WALLS, WATER
from pennyweight.paper.fieldpaper import find_paper, typeset, write_whole

#: 29 CFR 1926 Subpart P; docs/sources.md, "trench-rules".
SOURCE = (
    "Numbers: United States, 29 CFR 1926 Subpart P (651(c)(2), (g), (j)(2), (k); "
    "652(a)(1); Appendix A and B). Written for employers in construction; rules for "
    "mines, and those of your state, province or country, may be stricter: they hold."
)
#: Quoted from the rule; feet first, as it is written.
NUMBERS = (
    (
        "5 ft (1.5 m)",
        (
            "deep, or less where anything hints at a cave-in: walls are sloped, "
            "benched, shored or shielded, unless the cut is wholly in stable rock"
        ),
    ),
    (
        "4 ft (1.2 m)",
        (
            "deep: a ladder, ramp or steps within 25 ft (7.6 m) of every person; bad "
            "air is looked for"
        ),
    ),
    ("2 ft (0.6 m)", "at least between the edge and spoil, tools and machines"),
    ("20 ft (6.1 m)", "and deeper: designed by a registered engineer"),
    (
        "every day",
        (
            "and after rain, thaw or a knock: looked over by somebody who can tell, "
            "before anyone goes in"
        ),
    ),
)
#: Soil type, what it is, steepest slope (horizontal to vertical) and its angle [deg].
SLOPES_BY_SOIL = (
    ("A", "stiff clay, never dug, not cracked, not seeping", "¾ : 1", "53°"),
    ("B", "silt, loam, angular gravel, soil dug before", "1 : 1", "45°"),
    ("C", "gravel, sand, anything that seeps or lies under water", "1½ : 1", "34°"),
)
CREEK = (
    "Creek gravel is type C almost always. A pit 6 ft (1.8 m) deep with a floor of "
    "3 ft (0.9 m) is then 21 ft (6.4 m) wide at the top."
)
#: To be filled in and left with somebody.
BLANKS = (
    ("We are at (words a stranger can follow)", 2),
    ("Who", 1),
    ("Back by, and who starts looking", 1),
    ("Nearest road, phone or radio that works", 1),
    ("Nearest hospital; number to call", 1),
    ("Whose ground; who gave leave", 1),
)


def write_safetycard(
    path: str | os.PathLike[str],
    *,
    ground_name: str,
    made_at: str,
    paper: str = "letter",
) -> Path:
    """Write the safety card as a PDF of one page.

    Parameters
    ----------
    path : path-like
        Where to write.
    ground_name : str
        Printed at the top.
    made_at : str
        Moment that the file carries, ISO 8601.
    paper : {"letter", "a4"}, optional
        Size of the sheet.

    Raises
    ------
    ValueError
        There is no such paper, or the card does not fit it.
    """
    sheet = find_paper(paper)
    if sheet.small:
        msg = f"paper {sheet.name!r} is too small for the card; use letter or a4."
        raise ValueError(msg)
    data = {
        "title": "Before you dig",
        "ground": ground_name,
        "walls": WALLS,
        "numbers": [list(one) for one in NUMBERS],
        "slopes": [list(one) for one in SLOPES_BY_SOIL],
        "creek": CREEK,
        "source": SOURCE,
        "cautions": [
            ["Water", WATER],
            ["Above you", SLOPES],
            ["Mercury", MERCURY],
            ["Leave", PERMITS],
        ],
        "blanks": [list(one) for one in BLANKS],
    }
    return write_whole(
        typeset("safetycard.typ", data, paper=sheet, made_at=made_at), path
    )
