"""The tables `[costs]` and `[plant]` of a ground's record: their keys and numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pennyweight.errors import TooLittleError
from pennyweight.units import CUBIC_YARD_M3, FOOT_M, TROY_OUNCE_MG, US_GALLON_M3

#: Grams of a troy ounce and liters of a US gallon [-].
_OUNCE_G = TROY_OUNCE_MG / 1000.0
_GALLON_L = US_GALLON_M3 * 1000.0

#: Keys of [costs] -> other spellings with another unit, and their factor.
COST_KEYS: dict[str, dict[str, float]] = {
    "wash_per_m3": {"wash_per_yd3": 1.0 / CUBIC_YARD_M3},
    "strip_per_m3": {"strip_per_yd3": 1.0 / CUBIC_YARD_M3},
    "fixed": {},
    "per_hour": {},
    "per_day": {},
    "wage_per_hour": {},
    "fuel_per_l": {"fuel_per_gal": 1.0 / _GALLON_L},
    "mobilization": {},
    "royalty_percent": {},
    "refining_percent": {},
    "refining_per_g": {"refining_per_ozt": 1.0 / _OUNCE_G},
    "lot_fee": {},
    "lots": {},
    "reclaim_per_m2": {"reclaim_per_ft2": 1.0 / FOOT_M**2},
    "bond": {},
    "interest_percent": {},
    "sampling_day": {},
}

#: The same for [plant].
PLANT_KEYS: dict[str, dict[str, float]] = {
    "m3_per_hour": {"yd3_per_hour": CUBIC_YARD_M3},
    "digs_m3_per_hour": {"digs_yd3_per_hour": CUBIC_YARD_M3},
    "hours_per_day": {},
    "days": {},
    "recovery": {},
    "min_width_m": {"min_width_ft": FOOT_M},
    "people": {},
    "fuel_l_per_hour": {"fuel_gal_per_hour": _GALLON_L},
    "water_m3_per_hour": {"water_gal_per_minute": 60.0 * US_GALLON_M3},
    "largest_stone_m": {"largest_stone_ft": FOOT_M},
    "moves_stone_m": {"moves_stone_ft": FOOT_M},
    "availability": {},
    "days_per_week": {},
    "reclaim_m2_per_hour": {"reclaim_ft2_per_hour": FOOT_M**2},
    "keeps_flour": {},
    "keeps_fine": {},
    "keeps_medium": {},
    "keeps_coarse": {},
}

#: Limits of the cut, which stand in [plant] too; each has a default of its own.
LIMIT_KEYS: dict[str, dict[str, float]] = {
    "wall_slope_deg": {},
    "bench_m": {"bench_ft": FOOT_M},
    "boundary_setback_m": {"boundary_setback_ft": FOOT_M},
    "water_setback_m": {"water_setback_ft": FOOT_M},
    "works_water": {},
    "worked_grade_mg_m3": {},
}


def read_table(
    table: Mapping[str, Any], title: str, keys: Mapping[str, Mapping[str, float]]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return the known numbers of a table by their inside key, and the odd keys.

    Parameters
    ----------
    table : mapping
        As typed.
    title : str
        costs or plant, for the text of an error.
    keys : mapping
        Known keys, with their other spellings and factors [-].

    Returns
    -------
    tuple
        Numbers by their inside key, and the keys that play no part.

    Raises
    ------
    TooLittleError
        A value is no number that is allowed.
    """
    factors = {key: (key, 1.0) for key in keys}
    for key, spellings in keys.items():
        factors |= {name: (key, factor) for name, factor in spellings.items()}
    found: dict[str, float] = {}
    odd = []
    for name, value in table.items():
        if name in factors:
            key, factor = factors[name]
            found[key] = _number(value, f"[{title}] {name}") * factor
        elif name != "name" or title != "plant":
            odd.append(f"[{title}] {name}")
    return found, tuple(odd)


def _number(value: Any, name: str) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = -1.0
    if isinstance(value, bool) or not 0.0 <= number < float("inf"):
        msg = f"{name} is {value!r}; give a number that is 0 or more."
        raise TooLittleError(msg)
    return number
