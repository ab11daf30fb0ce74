"""Size classes of colors as people write them, and their one written form.

A class is a range of grain size in mm (lower end included), a range of sieve meshes,
a weight class of the trade, or `all` where nothing was sized.
"""

from __future__ import annotations

import re

from pennyweight.units import MESH_MM

#: What a class may look like, for the texts that refuse one.
ALLOWED = (
    "a class like 0.25-0.5, 0.25 to 0.5, 0.25..0.5, <0.25 or >2 (mm), 20/40 mesh, "
    "No.1, No.2, No.3 or all"
)
DATE_HINT = (
    "a size class; a spreadsheet has turned it into a date. Format the column as "
    'text and type the class again, as "1 to 2" rather than "1-2"'
)

_NUMBER = r"(\d+(?:\.\d+)?|\.\d+)"
_RANGE = re.compile(rf"{_NUMBER}\s*(?:-|\u2013|\u2014|\.\.|to)\s*{_NUMBER}")
_OPEN = re.compile(rf"([<>])\s*{_NUMBER}")
_MESH = re.compile(r"-?\s*(\d+)\s*(?:/|\+|\s\+)\s*(\d+)\s*mesh")
_WEIGHT = re.compile(r"n[or]\.?\s*([123])")

#: Dates as spreadsheets show them: 2026-01-02, 1/2/2026, 2.1.26, 2-Jan, Jan-02,
#: 02 janv., 2-Jan-26, and the day's serial number of the years 1990 to 2064.
_DATES = (
    re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}(?:[ T]\d{1,2}:\d{2}.*)?"),
    re.compile(r"\d{1,2}[-/.]\s?\d{1,2}[-/.]\s?\d{2,4}(?: \d{1,2}:\d{2}.*)?"),
    re.compile(r"\d{1,2}\.?[-/. ]\s?[^\W\d_]{3,}\.?(?:[-/. ]\s?\d{2,4})?"),
    re.compile(r"[^\W\d_]{3,}\.?[-/. ]\s?\d{1,4}"),
    re.compile(r"[345]\d{4}"),
)
_LARGEST_MM = 1000.0


def parse_size_class(text: str) -> str:
    """Return the one written form of a size class.

    Parameters
    ----------
    text : str
        As typed; a decimal comma is understood.

    Returns
    -------
    str
        `0.25-0.5`, `<0.25`, `>2` (mm), `20/40 mesh`, `No.1` or `all`.

    Raises
    ------
    ValueError
        The text is no class; the message says what was expected.

    Examples
    --------
    >>> parse_size_class("0.250 to 0.5")
    '0.25-0.5'
    >>> parse_size_class("no 3")
    'No.3'
    """
    plain = re.sub(r"(?<=\d),(?=\d)", ".", text.strip().lower())
    plain = re.sub(r"\s*mm\.?$", "", plain).strip()
    if plain == "all":
        return "all"
    if weight := _WEIGHT.fullmatch(plain):
        return f"No.{weight[1]}"
    if mesh := _MESH.fullmatch(plain):
        return _mesh_class(int(mesh[1]), int(mesh[2]))
    if half := _OPEN.fullmatch(plain):
        return f"{half[1]}{_millimeters(half[2])}"
    if both := _RANGE.fullmatch(plain):
        lower, upper = _millimeters(both[1]), _millimeters(both[2])
        if float(lower) >= float(upper):
            msg = f"a class whose lower end is below its upper end ({upper}-{lower}?)"
            raise ValueError(msg)
        return f"{lower}-{upper}"
    if any(date.fullmatch(plain) for date in _DATES):
        raise ValueError(DATE_HINT)
    raise ValueError(ALLOWED)


def spreadsheet_form(size_class: str) -> str:
    """Return the class written so that no spreadsheet takes it for a date.

    Examples
    --------
    >>> spreadsheet_form("1-2"), spreadsheet_form("0.25-0.5")
    ('1 to 2', '0.25-0.5')
    """
    if re.fullmatch(r"\d+-\d+", size_class):
        return size_class.replace("-", " to ")
    return size_class


def _millimeters(text: str) -> str:
    """Return a size in its shortest form, if a sieve can have it."""
    size_mm = float(text)
    if not 0.0 < size_mm <= _LARGEST_MM:
        msg = f"a class between 0 and {_LARGEST_MM:.0f} mm; a mesh needs the word mesh"
        raise ValueError(msg)
    return repr(size_mm).removesuffix(".0")


def _mesh_class(passed: int, held: int) -> str:
    """Return the class of grains that pass one sieve and are held by another."""
    coarse, fine = sorted((passed, held))
    if coarse in {0, fine}:
        msg = f"two different meshes, like 20/40 mesh (found {passed}/{held})"
        raise ValueError(msg)
    for mesh in (coarse, fine):
        if mesh not in MESH_MM:
            known = ", ".join(map(str, MESH_MM))
            msg = f"meshes of the standard sieves ({known}), or the openings in mm"
            raise ValueError(msg)
    return f"{coarse}/{fine} mesh"
