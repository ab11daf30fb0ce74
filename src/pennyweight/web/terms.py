"""Price, costs and plant as the page asks for them, in the reader's units.

The keys are those of the field log's `[costs]` and `[plant]`. What is left empty stays
the tool's assumption.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pennyweight.answers.wording import unit_name
from pennyweight.records import Ground
from pennyweight.units import (
    CUBIC_YARD_M3,
    FOOT_M,
    TROY_OUNCE_MG,
    US_GALLON_M3,
    Measures,
    to_inside,
)
from pennyweight.web.forms import FieldError, parse_number
from pennyweight.web.shown import plain
from pennyweight.worth.plants import PLANTS, choose_plant
from pennyweight.worth.tables import COST_KEYS, LIMIT_KEYS, PLANT_KEYS
from pennyweight.worth.terms import KEEPS

#: Key of the field log -> its other spellings, with their factors.
SPELLINGS = COST_KEYS | PLANT_KEYS | LIMIT_KEYS

PLANT_NAMES = tuple(plant.name for plant in PLANTS)

#: Milligrams of a gram [-].
GRAM_MG = 1000.0

#: Liters of a cubic meter [-].
LITERS = 1000.0


#: What terms of one heading share.
PLANT: dict[str, Any] = {"place": "plant", "group": "Plant"}
KEPT: dict[str, Any] = PLANT | {"per": "percent", "most": 100.0}
LIMIT: dict[str, Any] = {"place": "plant", "group": "The cut"}


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
    group : str
        Heading that it stands under.
    """

    name: str
    label: str
    place: str = "costs"
    per: str = ""
    most: float = 1e9
    hint: str = ""
    group: str = "Costs"


TERMS = (
    Term(
        name="gold_price_per_g",
        label="Price of fine gold",
        place="ground",
        per="g",
        group="Gold",
    ),
    Term(
        name="fineness",
        label="Fineness, of 1000",
        place="ground",
        most=1000.0,
        hint="Parts of pure gold in your raw gold.",
        group="Gold",
    ),
    Term(name="royalty_percent", label="Royalty, %", most=100.0, group="Gold"),
    Term(
        name="refining_percent",
        label="Refiner keeps, %",
        most=100.0,
        group="Gold",
    ),
    Term(name="refining_per_g", label="Refiner asks", per="g", group="Gold"),
    Term(name="lot_fee", label="For each lot refined", group="Gold"),
    Term(name="lots", label="Lots in a season", group="Gold"),
    Term(name="wash_per_m3", label="Washing pay costs", per="m3"),
    Term(name="strip_per_m3", label="Moving overburden costs", per="m3"),
    Term(
        name="per_hour",
        label="An hour costs",
        hint="Beside wages and fuel, where you give those.",
    ),
    Term(name="per_day", label="A day costs"),
    Term(name="wage_per_hour", label="Wage of a person, an hour"),
    Term(name="fuel_per_l", label="Fuel", per="l"),
    Term(
        name="mobilization",
        label="Moving in and out",
        hint="Once a season.",
    ),
    Term(
        name="fixed",
        label="The season costs at once",
        hint="Permits, insurance, repairs.",
    ),
    Term(name="reclaim_per_m2", label="Putting back costs", per="m2"),
    Term(
        name="bond",
        label="Bond laid down",
        hint="Comes back once the ground is put back.",
    ),
    Term(name="interest_percent", label="Interest a year, %", most=100.0),
    Term(name="sampling_day", label="A day of sampling costs"),
    Term(name="m3_per_hour", label="Pay washed in an hour", per="of m3", **PLANT),
    Term(
        name="digs_m3_per_hour",
        label="Overburden moved in an hour",
        per="of m3",
        **PLANT,
    ),
    Term(name="hours_per_day", label="Hours in a day", most=24.0, **PLANT),
    Term(name="days_per_week", label="Days in a week", most=7.0, **PLANT),
    Term(name="days", label="Days in a season", most=366.0, **PLANT),
    Term(
        name="availability",
        label="All runs, % of the hours",
        per="percent",
        most=100.0,
        hint="The rest stands still: breakdowns, weather, moving.",
        **PLANT,
    ),
    Term(name="people", label="People paid", most=1000.0, **PLANT),
    Term(name="fuel_l_per_hour", label="Fuel in an hour", per="of l", **PLANT),
    Term(name="water_m3_per_hour", label="Water in an hour", per="of water", **PLANT),
    Term(
        name="reclaim_m2_per_hour",
        label="Ground put back in an hour",
        per="of m2",
        **PLANT,
    ),
    Term(name="largest_stone_m", label="Longest stone it passes", per="of m", **PLANT),
    Term(
        name="moves_stone_m",
        label="Longest stone you can move",
        per="of m",
        **PLANT,
    ),
    Term(
        name="recovery",
        label="Gold that the plant keeps, %",
        per="percent",
        most=100.0,
        hint="Of all gold; leave it empty to go by size.",
        **PLANT,
    ),
    Term(name="keeps_flour", label="Under 0.15 mm it keeps, %", **KEPT),
    Term(name="keeps_fine", label="0.15 to 0.3 mm, %", **KEPT),
    Term(name="keeps_medium", label="0.3 to 1 mm, %", **KEPT),
    Term(name="keeps_coarse", label="Over 1 mm, %", **KEPT),
    Term(name="min_width_m", label="Narrowest cut", per="of m", **LIMIT),
    Term(name="bench_m", label="Height of a bench", per="of m", **LIMIT),
    Term(
        name="min_pay_m",
        label="Thinnest pay mined",
        per="of m",
        place="ground",
        group="The cut",
    ),
    Term(
        name="swell",
        label="Dug ground grows by, %",
        per="percent",
        most=99.0,
        place="ground",
        group="The cut",
    ),
    Term(
        name="wall_slope_deg",
        label="Walls slope, degrees",
        most=89.0,
        hint="For volumes only; no slope is promised to stand.",
        **LIMIT,
    ),
    Term(
        name="boundary_setback_m", label="Kept from the boundary", per="of m", **LIMIT
    ),
    Term(name="water_setback_m", label="Kept from water", per="of m", **LIMIT),
    Term(
        name="works_water",
        label="Work under water? 1 yes, 0 no",
        most=1.0,
        **LIMIT,
    ),
    Term(
        name="worked_grade_mg_m3",
        label="Grade of ground mined before",
        per="of grade",
        hint="Empty: by its own samples; without any it is left out.",
        **LIMIT,
    ),
)

#: Headings of the form, in order, with the terms under each.
GROUPS = tuple(
    (title, tuple(term for term in TERMS if term.group == title))
    for title in dict.fromkeys(term.group for term in TERMS)
)


def factor(term: Term, measures: Measures) -> float:
    """Return what a typed number is multiplied by to be the field log's [-]."""
    feet = measures.length == "ft"
    yard, foot = CUBIC_YARD_M3 if feet else 1.0, FOOT_M if feet else 1.0
    ounce = TROY_OUNCE_MG / GRAM_MG if feet else 1.0
    gallon = US_GALLON_M3 * LITERS if feet else 1.0
    return {
        "m3": 1.0 / yard,
        "m2": 1.0 / foot**2,
        "g": 1.0 / ounce,
        "of m3": yard,
        "of m": foot,
        "of m2": foot**2,
        "l": 1.0 / gallon,
        "of l": gallon,
        "of water": 60.0 * US_GALLON_M3 if feet else 1.0,
        "of grade": to_inside(1.0, measures.grade, "grade"),
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
        "of m2": "square feet" if feet else "m²",
        "l": "per US gallon" if feet else "per liter",
        "of l": "US gallons" if feet else "liters",
        "of water": "US gallons a minute" if feet else "m³ an hour",
        "of grade": unit_name(measures.grade),
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


def usual_values(ground: Ground, measures: Measures) -> dict[str, str]:
    """Return what stands in for terms of the plant that are left empty, as typed."""
    name = ground.plant.get("name")
    plant = choose_plant(name if isinstance(name, str) else None)
    kept = dict(zip(KEEPS, plant.recovery_by_size, strict=True))
    found = {}
    for term in TERMS:
        value = kept.get(term.name, getattr(plant, term.name, None))
        if isinstance(value, float):
            found[term.name] = plain(value / factor(term, measures), 3)
    return found


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
        tables["plant"] = _of_another_plant(ground, tables["plant"]) | {"name": plant}
    currency = form.get("currency", "").strip().upper()
    if currency and not (len(currency) == 3 and currency.isalpha()):
        errors["currency"] = f"{currency} is no currency; write three letters: USD."
    elif currency:
        own["currency"] = currency
    return own | tables, errors


#: Numbers under "The cut" that belong to the machine.
OF_THE_MACHINE = ("min_width_m",)


def _of_another_plant(ground: Ground, table: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of a plant without the numbers kept of the one before it.

    What was typed together with the change stays, and so do the limits of the cut.
    """
    kept = dict(table)
    for term in TERMS:
        if term.group != "Plant" and term.name not in OF_THE_MACHINE:
            continue
        for name in (term.name, *SPELLINGS.get(term.name, ())):
            if name in kept and kept[name] == ground.plant.get(name):
                del kept[name]
    return kept


def _read(term: Term, text: str, measures: Measures) -> float | None:
    if not text.strip():
        return None
    typed = parse_number(text)
    if typed < 0.0 or typed > term.most:
        msg = f"{text.strip()} is not taken; give 0 to {term.most:g}."
        raise FieldError(msg)
    return typed * factor(term, measures)
