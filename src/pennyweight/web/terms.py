"""Price, costs and plant as the page asks for them, in the reader's units.

The keys are those of the field log's `[costs]` and `[plant]`. What is left empty stays
the tool's assumption.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.records import Ground
from pennyweight.units import (
    CUBIC_YARD_M3,
    FOOT_M,
    TROY_OUNCE_MG,
    Measures,
)
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.shown import plain
from pennyweight.worth.plants import PLANTS, choose_plant
from pennyweight.worth.tables import COST_KEYS, LIMIT_KEYS, PLANT_KEYS

#: Key of the field log -> its other spellings, with their factors.
SPELLINGS = COST_KEYS | PLANT_KEYS | LIMIT_KEYS

PLANT_NAMES = tuple(plant.name for plant in PLANTS)

#: Milligrams of a gram [-].
GRAM_MG = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One number that worth depends on.

    Attributes
    ----------
    name, label : str
        Field of the form, and its words.
    place : str
        ground, costs or plant.
    per : str
        What an inside unit of it is counted by: m3, m2, m, g, percent, or nothing.
    most : float
        The most that is taken, as typed [-].
    hint : str
        One plain sentence under it.
    """

    name: str
    label: str
    place: str
    per: str = ""
    most: float = 1e9
    hint: str = ""


TERMS = (
    Term(name="gold_price_per_g", label="Price of fine gold", place="ground", per="g"),
    Term(
        name="fineness",
        label="Fineness, of 1000",
        place="ground",
        most=1000.0,
        hint="Parts of pure gold in your raw gold.",
    ),
    Term(name="wash_per_m3", label="Washing pay costs", place="costs", per="m3"),
    Term(name="strip_per_m3", label="Moving overburden costs", place="costs", per="m3"),
    Term(name="per_hour", label="An hour costs", place="costs"),
    Term(name="per_day", label="A day costs", place="costs"),
    Term(
        name="fixed",
        label="The season costs at once",
        place="costs",
        hint="Moving in and out, permits, bond.",
    ),
    Term(name="reclaim_per_m2", label="Putting back costs", place="costs", per="m2"),
    Term(name="royalty_percent", label="Royalty, %", place="costs", most=100.0),
    Term(name="refining_percent", label="Refining, %", place="costs", most=100.0),
    Term(name="m3_per_hour", label="Pay washed in an hour", place="plant", per="of m3"),
    Term(
        name="digs_m3_per_hour",
        label="Overburden moved in an hour",
        place="plant",
        per="of m3",
    ),
    Term(name="hours_per_day", label="Hours in a day", place="plant", most=24.0),
    Term(name="days", label="Days in a season", place="plant", most=366.0),
    Term(
        name="recovery",
        label="Gold that the plant keeps, %",
        place="plant",
        per="percent",
        most=100.0,
    ),
    Term(name="min_width_m", label="Narrowest cut", place="plant", per="of m"),
)


def factor(term: Term, measures: Measures) -> float:
    """Return what a typed number is multiplied by to be the field log's [-]."""
    feet = measures.length == "ft"
    yard, foot = CUBIC_YARD_M3 if feet else 1.0, FOOT_M if feet else 1.0
    ounce = TROY_OUNCE_MG / GRAM_MG if feet else 1.0
    return {
        "m3": 1.0 / yard,
        "m2": 1.0 / foot**2,
        "g": 1.0 / ounce,
        "of m3": yard,
        "of m": foot,
        "percent": 0.01,
    }.get(term.per, 1.0)


def unit_words(term: Term, measures: Measures) -> str:
    """Return what stands after a term: "per yd³ in the bank"."""
    feet = measures.length == "ft"
    return {
        "m3": "per yd³ in the bank" if feet else "per m³ in the bank",
        "m2": "per square foot" if feet else "per m²",
        "g": "per troy ounce" if feet else "per gram",
        "of m3": "yd³ in the bank" if feet else "m³ in the bank",
        "of m": "ft" if feet else "m",
    }.get(term.per, "")


def stands(term: Term, ground: Ground, measures: Measures) -> str:
    """Return what the record says about a term, as it is typed; empty for nothing."""
    value = _kept_value(term, ground)
    return "" if value is None else plain(value / factor(term, measures), 4)


def _kept_value(term: Term, ground: Ground) -> float | None:
    """Return a term in its metric unit, however the record spells it."""
    if term.place == "ground":
        own = getattr(ground, term.name)
        return None if own is None else float(own)
    table = ground.costs if term.place == "costs" else ground.plant
    for name, times in {term.name: 1.0, **SPELLINGS[term.name]}.items():
        value = table.get(name)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value) * times
    return None


def plant_name(ground: Ground) -> str:
    """Return which of the plants the record means."""
    name = ground.plant.get("name")
    return choose_plant(name if isinstance(name, str) else None).name


def read_terms(
    form: Mapping[str, str], ground: Ground, measures: Measures
) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the fields of the ground that a form of terms sets, and complaints.

    Terms that the form does not have, or that stand as they stood, are left alone, so
    that nothing is rounded by being looked at.
    """
    own: dict[str, Any] = {}
    tables = {"costs": dict(ground.costs), "plant": dict(ground.plant)}
    errors: dict[str, str] = {}
    for term in TERMS:
        text = form.get(term.name)
        if text is None or text.strip() == stands(term, ground, measures):
            continue
        try:
            value = _read(term, text, measures)
        except FieldError as error:
            errors[term.name] = str(error)
            continue
        if term.place == "ground":
            own[term.name] = value
            continue
        for name in (term.name, *SPELLINGS[term.name]):
            tables[term.place].pop(name, None)
        if value is not None:
            tables[term.place][term.name] = value
    plant = form.get("plant", "")
    if plant in PLANT_NAMES and plant != plant_name(ground):
        tables["plant"]["name"] = plant
    currency = form.get("currency", "").strip().upper()
    if currency and not (len(currency) == 3 and currency.isalpha()):
        errors["currency"] = f"{currency} is no currency; write three letters: USD."
    elif currency:
        own["currency"] = currency
    return own | tables, errors


def _read(term: Term, text: str, measures: Measures) -> float | None:
    if not text.strip():
        return None
    typed = parse_number(text)
    if typed < 0.0 or typed > term.most:
        msg = f"{text.strip()} is not taken; give 0 to {term.most:g}."
        raise FieldError(msg)
    return typed * factor(term, measures)
