"""The plant of a ground, for questions in which price and costs play no part."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pennyweight.answers.reading import Reading
from pennyweight.worth.plants import size_shares
from pennyweight.worth.terms import Terms, read_terms


def read_plant(reading: Reading) -> Terms:
    """Return the terms of a reading; where price or costs are missing, of the plant.

    Only what concerns the plant may be used where `is_priced` says no.
    """
    return reading.once("plant", lambda: _read(reading))


def is_priced(reading: Reading) -> bool:
    """Tell whether the record has a price of gold."""
    return reading.log.ground.gold_price_per_g is not None


def _read(reading: Reading) -> Terms:
    ground = reading.log.ground
    stand_in = replace(
        ground,
        gold_price_per_g=ground.gold_price_per_g or 1.0,
        costs={"wash_per_m3": 1.0, **ground.costs},
    )
    return read_terms(stand_in, size_shares(reading.log.tallies))


def plant_assumptions(terms: Terms, *parts: str) -> dict[str, Any]:
    """Return what was supplied for the plant, of the keys that hold one of the parts.

    The plant's name goes along with anything of it.
    """
    return {
        key: value
        for key, value in terms.assumptions.items()
        if key == "plant"
        or (key.startswith("plant_") and any(part in key for part in parts))
    }
