"""Measures as people write them: 4 ft 2 in, 3'8", 50 in, 1/2, 2 gal.

Feet, inches and fractions are worked out exactly; what was written is kept beside the
value, so that it can be shown again as it was.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

#: Words for a unit -> the suffix of the field log.
WORDS = {
    "'": "ft",
    "foot": "ft",
    "feet": "ft",
    '"': "in",
    "''": "in",
    "inch": "in",
    "inches": "in",
    "meter": "m",
    "meters": "m",
    "liter": "l",
    "liters": "l",
    "gallon": "gal",
    "gallons": "gal",
    "grains": "grain",
    "gr": "grain",
}

#: Curly and prime marks -> the marks on a keyboard; a cubic sign -> its digit.
_MARKS = str.maketrans(
    {
        "\u2019": "'",
        "\u2032": "'",
        "\u201d": '"',
        "\u2033": '"',
        "\u00b3": "3",
        "\u2212": "-",
        "\u00bd": " 1/2",
        "\u00bc": " 1/4",
        "\u00be": " 3/4",
        "\u2044": "/",
        "\u00a0": " ",
        ",": ".",
    }
)
_PART = r"\d+\s*/\s*0*[1-9]\d*"
_NUMBER = rf"(?:{_PART}|\d+[\s-]+{_PART}|\d+\.?\d*|\.\d+)"
_ONE = re.compile(rf"([-+]?)({_NUMBER})\s*(\D[A-Za-z0-9'\"]*)?", re.ASCII)
_FEET = re.compile(
    rf"([-+]?)({_NUMBER})\s*(?:ft|feet|foot|')\.?\s*[-,]?\s*"
    rf"({_NUMBER})\s*(?:in|inch|inches|\"|'')?\.?",
    re.ASCII,
)
_INCHES = 12


@dataclass(frozen=True, slots=True)
class Measured:
    """One measure, read.

    Attributes
    ----------
    number : str
        Its value in `unit`, as plain decimals.
    unit : str
        Suffix of the field log; the one offered where none was written.
    said : str
        What to keep beside the value, under `said_in`.
    said_in : str
        The unit under which it is kept.
    """

    number: str
    unit: str
    said: str
    said_in: str


def read_measured(text: str, unit: str, units: tuple[str, ...]) -> Measured | None:
    """Return a measure with or without its unit; None where it is none.

    Parameters
    ----------
    text : str
        As typed: "4 ft 2 in", "50 in", "1/2", "0,35".
    unit : str
        The unit that holds where none is written.
    units : tuple of str
        The units that the column knows.

    Examples
    --------
    >>> read_measured("4 ft 2 in", "m", ("m", "ft", "in"))
    Measured(number='50', unit='in', said='4 ft 2 in', said_in='ft')
    >>> read_measured("50 in", "m", ("m", "ft", "in")).unit
    'in'
    >>> read_measured("1/2", "ft", ("m", "ft", "in")).number
    '0.5'
    """
    plain = text.strip().translate(_MARKS).strip()
    found = _FEET.fullmatch(plain)
    if found and {"ft", "in"} <= set(units):
        sign, feet, inches = found.groups()
        total = _INCHES * _fraction(feet) + _fraction(inches)
        return Measured(sign + _decimal(total), "in", text.strip(), "ft")
    found = _ONE.fullmatch(plain)
    if found is None:
        return None
    sign, number, word = found.groups()
    word = (word or "").strip().rstrip(".").lower()
    named = WORDS.get(word, word) or unit
    if word and named not in units:
        return None
    decimal = sign + _decimal(_fraction(number))
    said = text.strip() if "/" in number else sign + number
    return Measured(decimal, named, said, named)


def _fraction(number: str) -> Fraction:
    """Return a whole number, decimals, or a fraction with or without a whole."""
    whole, _, part = number.strip().replace("-", " ").rpartition(" ")
    if "/" not in number:
        return Fraction(number.strip())
    if "/" in whole:
        whole, part = "", number
    top, _, bottom = part.replace(" ", "").partition("/")
    return Fraction(whole or 0) + Fraction(int(top), int(bottom))


def _decimal(value: Fraction) -> str:
    """Return a fraction as decimals, as many as a float tells apart."""
    if value.denominator == 1:
        return str(value.numerator)
    return f"{float(value):.12f}".rstrip("0").rstrip(".")
