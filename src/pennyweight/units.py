"""Exact units, and the choice of units at the edges.

Inside the program there is one unit for each quantity: m, m3, mg, mg/m3 of bank
volume, m3/s. Only what the user types and reads is in other units.

References
----------
International yard and pound agreement of 1959: foot 0.3048 m and grain
64.79891 mg, both exact; troy ounce 480 grains, pennyweight 24 grains; US gallon
231 cubic inches. docs/sources.md, entry "units".
"""

from __future__ import annotations

import re
from dataclasses import dataclass

FOOT_M = 0.3048
INCH_M = FOOT_M / 12.0
GRAIN_MG = 64.79891
PENNYWEIGHT_MG = 24.0 * GRAIN_MG
TROY_OUNCE_MG = 480.0 * GRAIN_MG
CUBIC_FOOT_M3 = FOOT_M**3
CUBIC_YARD_M3 = 27.0 * CUBIC_FOOT_M3
US_GALLON_M3 = 231.0 * INCH_M**3

#: Sieve openings by mesh number [mm]; ASTM E11, docs/sources.md "mesh".
MESH_MM = {
    4: 4.75,
    5: 4.0,
    6: 3.35,
    8: 2.36,
    10: 2.0,
    12: 1.7,
    14: 1.4,
    16: 1.18,
    18: 1.0,
    20: 0.85,
    25: 0.71,
    30: 0.6,
    35: 0.5,
    40: 0.425,
    45: 0.355,
    50: 0.3,
    60: 0.25,
    70: 0.212,
    80: 0.18,
    100: 0.15,
    120: 0.125,
    140: 0.106,
    170: 0.09,
    200: 0.075,
    230: 0.063,
    270: 0.053,
    325: 0.045,
    400: 0.038,
}

#: Factors to the inside unit, by the suffix that a column carries.
LENGTH_M = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": FOOT_M, "in": INCH_M}
VOLUME_M3 = {
    "l": 0.001,
    "m3": 1.0,
    "ft3": CUBIC_FOOT_M3,
    "yd3": CUBIC_YARD_M3,
    "gal": US_GALLON_M3,
}
MASS_MG = {
    "mg": 1.0,
    "g": 1000.0,
    "grain": GRAIN_MG,
    "gr": GRAIN_MG,
    "dwt": PENNYWEIGHT_MG,
    "ozt": TROY_OUNCE_MG,
}
GRADE_MG_M3 = {
    f"{mass}/{volume}": MASS_MG[mass] / VOLUME_M3[volume]
    for mass in ("mg", "g", "grain", "gr", "dwt", "ozt")
    for volume in ("m3", "yd3", "ft3")
}
QUANTITIES = {
    "length": LENGTH_M,
    "volume": VOLUME_M3,
    "mass": MASS_MG,
    "grade": GRADE_MG_M3,
}

_QUANTITY_TEXT = re.compile(
    r"\s*([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*([A-Za-z][A-Za-z0-9/]*)?\s*"
)


def to_inside(value: float, unit: str, quantity: str) -> float:
    """Return a value in the inside unit of its quantity.

    Parameters
    ----------
    value : float
        In `unit` [-].
    unit : str
        A suffix of the field log (`ft`, `l`, `ozt`) or a grade unit (`mg/m3`).
    quantity : {"length", "volume", "mass", "grade"}
        What is measured.

    Returns
    -------
    float
        In m, m3, mg or mg/m3 [-].

    Raises
    ------
    ValueError
        The unit does not belong to the quantity.

    Examples
    --------
    >>> to_inside(2.0, "ft", "length")
    0.6096
    """
    factors = QUANTITIES[quantity]
    if unit not in factors:
        msg = f"unit is {unit!r}; a {quantity} is given in one of {', '.join(factors)}."
        raise ValueError(msg)
    return value * factors[unit]


def from_inside(value: float, unit: str, quantity: str) -> float:
    """Return a value of the inside unit in another unit of its quantity.

    Parameters
    ----------
    value : float
        In m, m3, mg or mg/m3 [-].
    unit : str
        The unit wanted.
    quantity : {"length", "volume", "mass", "grade"}
        What is measured.

    Returns
    -------
    float
        In `unit` [-].

    Raises
    ------
    ValueError
        The unit does not belong to the quantity.

    Examples
    --------
    >>> round(from_inside(1000.0, "ozt/yd3", "grade"), 6)
    0.024581
    """
    return value / to_inside(1.0, unit, quantity)


def parse_quantity(text: str, quantity: str) -> float:
    """Return what a text like "100 mg/m3" means, in the inside unit.

    Parameters
    ----------
    text : str
        A number and a unit; the decimal mark is a point or a comma.
    quantity : {"length", "volume", "mass", "grade"}
        What is measured.

    Returns
    -------
    float
        In m, m3, mg or mg/m3 [-].

    Raises
    ------
    ValueError
        The text is no number with a unit of that quantity.

    Examples
    --------
    >>> round(parse_quantity("2 gr/yd3", "grade"), 3)
    169.508
    """
    match = _QUANTITY_TEXT.fullmatch(text)
    if match is None:
        allowed = ", ".join(QUANTITIES[quantity])
        msg = f"{text!r} is no {quantity}; give a number and one of {allowed}."
        raise ValueError(msg)
    number, unit = match.groups()
    if unit is None:
        msg = (
            f"{text!r} has no unit; give one of {', '.join(QUANTITIES[quantity])} with "
            "the number."
        )
        raise ValueError(msg)
    try:
        value = float(number.replace(",", "."))
    except ValueError:
        msg = f"{number!r} in {text!r} is no number; write it like 12.5."
        raise ValueError(msg) from None
    return to_inside(value, unit, quantity)


@dataclass(frozen=True, slots=True)
class Measures:
    """The units that one user reads, one for each quantity.

    Attributes
    ----------
    name : str
        How the choice is stored and typed.
    length, volume, mass, grade : str
        Suffixes as in the field log.
    """

    name: str
    length: str
    volume: str
    mass: str
    grade: str

    def show(self, value: float, quantity: str) -> tuple[float, str]:
        """Return an inside value in the user's unit, with the unit's name.

        Parameters
        ----------
        value : float
            In m, m3, mg or mg/m3 [-].
        quantity : {"length", "volume", "mass", "grade"}
            What is measured.

        Returns
        -------
        tuple of (float, str)
            The value and its unit.
        """
        unit = str(getattr(self, quantity))
        return from_inside(value, unit, quantity), unit


METRIC = Measures("metric", "m", "m3", "g", "mg/m3")
FEET_AND_YARDS = Measures("feet", "ft", "yd3", "ozt", "mg/yd3")
MEASURES = {measures.name: measures for measures in (METRIC, FEET_AND_YARDS)}
