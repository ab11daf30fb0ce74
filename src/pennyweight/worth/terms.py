"""What gold brings and what digging costs: the money side of the record.

Read from `[costs]`, `[plant]` and the price in the ground's record. Whatever the
record leaves out is supplied here, and named in `assumptions`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pennyweight.errors import TooLittleError
from pennyweight.records import Ground
from pennyweight.worth.breakeven import value_per_mg
from pennyweight.worth.plants import (
    DEFAULT_SIZE_SHARES,
    Plant,
    SizeShares,
    choose_plant,
)
from pennyweight.worth.tables import COST_KEYS, LIMIT_KEYS, PLANT_KEYS, read_table

#: Average of California placers, Wells 1969, Part VIII [parts in 1000].
DEFAULT_FINENESS = 885.0

#: Cost of moving overburden over that of washing the same volume, where the user says
#: none [-]; common practice, no source.
STRIP_SHARE_OF_WASH = 0.25

#: Milligrams of a gram [-].
MG_IN_G = 1000.0

#: Least thickness that is mined as pay where the user says none [m].
DEFAULT_MIN_PAY_M = 0.30

#: Costs of which one at least must be given for any answer about worth.
WASHING_COSTS = ("wash_per_m3", "per_hour", "per_day", "wage_per_hour")

#: Fields of a plant that a user may give by size of the gold, finest first.
KEEPS = ("keeps_flour", "keeps_fine", "keeps_medium", "keeps_coarse")

#: Costs that are nothing unless the user names them; nobody supplies them.
PLAIN_COSTS = (
    "per_hour",
    "per_day",
    "wash_per_m3",
    "wage_per_hour",
    "fuel_per_l",
    "mobilization",
    "refining_per_g",
    "lot_fee",
    "bond",
    "interest_percent",
    "sampling_day",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Price, costs and plant of one ground; money in `currency`.

    Attributes
    ----------
    currency : str
        ISO 4217, or "money" where the user named none.
    price_per_g : float
        Of fine gold [currency/g].
    fineness : float
        Parts of gold in 1000 of raw gold [-].
    recovery : float
        Share of raw gold that the plant keeps [-].
    payable : float
        Share of the value left after refining and royalty [-].
    wash_per_m3, strip_per_m3 : float
        For each bank m3 of pay and of overburden, hours and days not counted
        [currency/m3].
    per_hour, per_day, fixed, reclaim_per_m2 : float
        For each paid hour and day, once a season, for each m2 opened [currency].
    m3_per_hour, digs_m3_per_hour : float
        Bank pay washed and bank overburden moved in a running hour [m3/h].
    hours_per_day, days : float
        Paid hours of a day, and days of a season [h], [d].
    min_width_m, min_pay_m : float
        Narrowest cut and thinnest pay that is mined [m].
    plant : str
        Name of the plant.
    assumptions : mapping
        What was supplied because the record did not.
    not_understood : tuple of str
        Keys of the record that play no part.
    wage_per_hour, fuel_per_l, mobilization, lot_fee, bond, sampling_day : float
        For one person and hour, a liter, moving in and out once a season, each lot
        that is refined, what is laid down until the ground is put back, and a day of
        sampling [currency].
    refining_per_g : float
        The refiner's charge for each gram of raw gold [currency/g].
    lots : float
        Lots refined in a season [-].
    interest_percent : float
        Of money for a year [%].
    people : float
        Who are paid [-].
    fuel_l_per_hour, water_m3_per_hour : float
        In a running hour [l/h], [m3/h].
    largest_stone_m, moves_stone_m : float
        The largest stone that the plant passes, and that can be moved aside [m].
    availability : float
        Share of the paid hours in which all runs [-].
    days_per_week : float
        Working days [d].
    reclaim_m2_per_hour : float
        Ground put back in an hour [m2/h].
    reclaim_by_hours : bool
        Whether putting back costs its hours, for want of a price for each m2.
    boulder_share : float
        Share of the pay that is stones too big for the plant [-].
    keeps : tuple of float
        Share kept of the gold below, between and above `SIZE_LIMITS_MM` [-].
    keeps_by_size : bool
        Whether the recovery follows from the sizes of the gold.
    limits : mapping
        Numbers of the cut's limits that the record gives.
    """

    currency: str
    price_per_g: float
    fineness: float
    recovery: float
    payable: float
    wash_per_m3: float
    strip_per_m3: float
    per_hour: float
    per_day: float
    fixed: float
    reclaim_per_m2: float
    m3_per_hour: float
    digs_m3_per_hour: float
    hours_per_day: float
    days: float
    min_width_m: float
    min_pay_m: float
    plant: str
    assumptions: Mapping[str, Any] = field(default_factory=dict)
    not_understood: tuple[str, ...] = ()
    wage_per_hour: float = 0.0
    fuel_per_l: float = 0.0
    mobilization: float = 0.0
    refining_per_g: float = 0.0
    lot_fee: float = 0.0
    lots: float = 0.0
    bond: float = 0.0
    interest_percent: float = 0.0
    sampling_day: float = 0.0
    people: float = 1.0
    fuel_l_per_hour: float = 0.0
    water_m3_per_hour: float = 0.0
    largest_stone_m: float = math.inf
    moves_stone_m: float = math.inf
    availability: float = 1.0
    days_per_week: float = 7.0
    reclaim_m2_per_hour: float = math.inf
    reclaim_by_hours: bool = False
    boulder_share: float = 0.0
    keeps: SizeShares = (1.0, 1.0, 1.0, 1.0)
    keeps_by_size: bool = False
    limits: Mapping[str, float] = field(default_factory=dict)

    @property
    def value_per_mg(self) -> float:
        """What one mg of raw gold in place brings in [currency/mg]."""
        paid = value_per_mg(
            self.price_per_g,
            fineness=self.fineness,
            recovery=self.recovery,
            payable=self.payable,
        )
        return paid - self.recovery * self.refining_per_g / MG_IN_G

    @property
    def hourly(self) -> float:
        """Cost of a paid hour: crew, fuel, and the day's share [currency/h]."""
        crew = self.wage_per_hour * self.people
        fuel = self.fuel_per_l * self.fuel_l_per_hour * self.availability
        return self.per_hour + self.per_day / self.hours_per_day + crew + fuel

    @property
    def running(self) -> float:
        """Cost of an hour in which all runs, standing still paid too [currency/h]."""
        return self.hourly / self.availability

    @property
    def wash_hours_per_m3(self) -> float:
        """Running hours for a bank m3 of pay, its boulders put aside [h/m3]."""
        return 1.0 / self.m3_per_hour + self.boulder_share / self.digs_m3_per_hour

    @property
    def washing(self) -> float:
        """Cost of a bank m3 of pay with the hours it takes [currency/m3]."""
        aside = self.boulder_share * self.strip_per_m3
        return self.wash_per_m3 + aside + self.running * self.wash_hours_per_m3

    @property
    def stripping(self) -> float:
        """Cost of a bank m3 of overburden with its hours [currency/m3]."""
        return self.strip_per_m3 + self.running / self.digs_m3_per_hour

    @property
    def reclaim_hours_per_m2(self) -> float:
        """Running hours to put back a m2 that was opened [h/m2]."""
        return 1.0 / self.reclaim_m2_per_hour

    @property
    def reclaiming(self) -> float:
        """Cost of putting back a m2 that was opened [currency/m2]."""
        if self.reclaim_by_hours:
            return self.running * self.reclaim_hours_per_m2
        return self.reclaim_per_m2

    @property
    def each_season(self) -> float:
        """What a season costs, whatever is moved [currency]."""
        return self.fixed + self.mobilization + self.lot_fee * self.lots

    @property
    def season_hours(self) -> float:
        """Running hours of a season [h]."""
        return self.hours_per_day * self.days * self.availability

    def break_even_grade_mg_m3(self, strip_ratio: float = 0.0) -> float:
        """Return the grade of pay that just covers every cost, fixed ones included.

        Parameters
        ----------
        strip_ratio : float
            Bank overburden moved for each bank m3 of pay, 0 or more [-].

        Returns
        -------
        float
            Raw gold in place [mg/m3 bank].

        Raises
        ------
        ValueError
            The ratio is below 0.
        """
        if not strip_ratio >= 0.0:
            msg = f"strip_ratio is {strip_ratio}; it is 0 or more."
            raise ValueError(msg)
        hours_per_m3 = self.wash_hours_per_m3 + strip_ratio / self.digs_m3_per_hour
        season_m3 = self.season_hours / hours_per_m3
        each_m3 = self.each_season / season_m3
        cost = self.washing + self.stripping * strip_ratio + each_m3
        return cost / self.value_per_mg


def find_missing_terms(ground: Ground) -> list[str]:
    """Return the keys of the record that an answer about worth cannot do without.

    Parameters
    ----------
    ground : Ground
        The record of the ground.

    Returns
    -------
    list of str
        Keys as the user would type them; empty when nothing is missing.
    """
    return [key for _, key in _missing(ground)]


def _missing(ground: Ground) -> list[tuple[str, str]]:
    """Return what is not given, in plain words and as its key in ground.toml."""
    missing = []
    if ground.gold_price_per_g is None:
        missing.append(("the price of gold", "gold_price_per_g or gold_price_per_ozt"))
    spellings = [name for key in WASHING_COSTS for name in (key, *COST_KEYS[key])]
    if not any(name in ground.costs for name in spellings):
        missing.append(
            (
                "the cost of washing",
                "[costs] wash_per_m3, or per_hour, or per_day, or wage_per_hour",
            )
        )
    return missing


def read_terms(ground: Ground, size_shares: SizeShares | None = None) -> Terms:
    """Return the terms of a ground, what is left out supplied and named.

    Parameters
    ----------
    ground : Ground
        The record of the ground.
    size_shares : tuple of float, optional
        Mass of the gold by size, for the recovery of a plant template [-].

    Returns
    -------
    Terms
        Complete.

    Raises
    ------
    TooLittleError
        Price or costs are missing, or one of them is no number that is allowed.
    """
    missing = _missing(ground)
    if missing:
        what = " and ".join(words for words, _ in missing)
        verb = "are" if len(missing) > 1 else "is"
        keys = "; ".join(key for _, key in missing)
        msg = (
            f"{what[:1].upper()}{what[1:]} {verb} not given: worth cannot be reckoned "
            f"without. Enter {'both' if len(missing) > 1 else 'it'} for the ground (in "
            f"ground.toml: {keys})."
        )
        raise TooLittleError(msg)
    costs, odd_costs = read_table(ground.costs, "costs", COST_KEYS)
    given, odd_plant = read_table(ground.plant, "plant", PLANT_KEYS | LIMIT_KEYS)
    name = str(ground.plant["name"]) if "name" in ground.plant else None
    plant = choose_plant(name)
    assumptions: dict[str, Any] = {}
    if name is None:
        assumptions["plant"] = plant.name
    machine = _complete_plant(plant, given, assumptions, costs=costs)
    machine |= _complete_recovery(plant, given, assumptions, size_shares=size_shares)
    plain: dict[str, Any] = {key: costs.get(key, 0.0) for key in PLAIN_COSTS}
    terms = Terms(
        currency=ground.currency or "money",
        price_per_g=_check_above(ground.gold_price_per_g, "gold_price_per_g"),
        fineness=_supply(
            ground.fineness, DEFAULT_FINENESS, "fineness_per_mille", assumptions
        ),
        payable=_payable_share(costs),
        strip_per_m3=_strip_cost(costs, assumptions),
        fixed=_supply(costs.get("fixed"), 0.0, "fixed_cost", assumptions),
        reclaim_per_m2=costs.get("reclaim_per_m2", 0.0),
        reclaim_by_hours="reclaim_per_m2" not in costs,
        lots=costs.get("lots", 1.0),
        min_pay_m=_supply(
            ground.min_pay_m, DEFAULT_MIN_PAY_M, "min_pay_m", assumptions
        ),
        plant=name or plant.name,
        assumptions=assumptions,
        not_understood=(*odd_costs, *odd_plant),
        limits=_read_limits(given),
        **plain,
        **machine,
    )
    if terms.reclaim_by_hours:
        assumptions["reclaim_cost_per_m2"] = round(terms.reclaiming, 2)
    if not terms.value_per_mg > 0.0:
        msg = (
            f"refining_per_g is {terms.refining_per_g}, which is all that a gram "
            "brings; give what the refiner keeps of it."
        )
        raise TooLittleError(msg)
    return terms


#: Fields of a plant that are supplied from the template where the record has none.
SUPPLIED = (
    "m3_per_hour",
    "hours_per_day",
    "days",
    "min_width_m",
    "water_m3_per_hour",
    "largest_stone_m",
    "moves_stone_m",
    "availability",
    "days_per_week",
    "reclaim_m2_per_hour",
)


def _complete_plant(
    plant: Plant,
    given: Mapping[str, float],
    assumptions: dict[str, Any],
    *,
    costs: Mapping[str, float],
) -> dict[str, Any]:
    """Return every number of the plant, the template's where none was given."""
    found = {
        key: _supply(given.get(key), getattr(plant, key), f"plant_{key}", assumptions)
        for key in SUPPLIED
    }
    # A faster washing plant is fed by a larger digger: the template's proportion.
    pace = plant.digs_m3_per_hour / plant.m3_per_hour
    found["digs_m3_per_hour"] = _supply(
        given.get("digs_m3_per_hour"),
        found["m3_per_hour"] * pace,
        "plant_digs_m3_per_hour",
        assumptions,
    )
    # Crew and fuel play a part only where they cost something.
    for key, cost in (("people", "wage_per_hour"), ("fuel_l_per_hour", "fuel_per_l")):
        noted = assumptions if costs.get(cost) else {}
        own = getattr(plant, key)
        found[key] = _supply(given.get(key), own, f"plant_{key}", noted)
    for key, value in found.items():
        if key not in ("fuel_l_per_hour", "water_m3_per_hour"):
            _check_above(value, f"[plant] {key}")
    for key, most in MOST.items():
        if found[key] > most:
            msg = f"[plant] {key} is {found[key]:g}; give a number up to {most:g}."
            raise TooLittleError(msg)
    return found


def _read_limits(given: Mapping[str, float]) -> dict[str, float]:
    """Return the limits of the cut that the record gives, each one possible."""
    limits = {key: given[key] for key in LIMIT_KEYS if key in given}
    if "bench_m" in limits:
        _check_above(limits["bench_m"], "[plant] bench_m")
    slope = limits.get("wall_slope_deg", 45.0)
    if not 0.0 < slope < 90.0:
        msg = f"[plant] wall_slope_deg is {slope:g}; it lies between 0 and 90."
        raise TooLittleError(msg)
    return limits


#: The most that can be true of a plant.
MOST = {
    "availability": 1.0,
    "hours_per_day": 24.0,
    "days": 366.0,
    "days_per_week": 7.0,
}


def _complete_recovery(
    plant: Plant,
    given: Mapping[str, float],
    assumptions: dict[str, Any],
    *,
    size_shares: SizeShares | None,
) -> dict[str, Any]:
    """Return what the plant keeps: as the user says, or by the sizes of the gold."""
    own = plant.recovery_by_size
    sizes = zip(KEEPS, own, strict=True)
    flour, fine, medium, coarse = (given.get(key, usual) for key, usual in sizes)
    keeps = (flour, fine, medium, coarse)
    shares = size_shares or DEFAULT_SIZE_SHARES
    expected = sum(kept * share for kept, share in zip(keeps, shares, strict=True))
    said = "plant_recovery_share"
    recovery = _supply(given.get("recovery"), round(expected, 3), said, assumptions)
    _check_above(recovery, "[plant] recovery")
    for key, share in zip(("recovery", *KEEPS), (recovery, *keeps), strict=True):
        if share > 1.0:
            msg = f"[plant] {key} is {share}; give a share from 0 to 1."
            raise TooLittleError(msg)
    return {
        "recovery": recovery,
        "keeps": keeps,
        "keeps_by_size": "recovery" not in given,
    }


def _strip_cost(costs: Mapping[str, float], assumptions: dict[str, Any]) -> float:
    """Return the cost of stripping; where none was given it is not taken for free."""
    if "strip_per_m3" in costs:
        return costs["strip_per_m3"]
    # With hours or days paid, moving overburden already costs its hours.
    paid_by_time = bool({"per_hour", "per_day", "wage_per_hour"} & set(costs))
    share = 0.0 if paid_by_time else STRIP_SHARE_OF_WASH
    supplied = share * costs.get("wash_per_m3", 0.0)
    assumptions["strip_cost_per_m3"] = supplied
    return supplied


def _payable_share(costs: Mapping[str, float]) -> float:
    shares = {
        key: costs.get(key, 0.0) for key in ("royalty_percent", "refining_percent")
    }
    for key, percent in shares.items():
        if not percent < 100.0:
            msg = f"[costs] {key} is {percent}; give a percentage from 0 to below 100."
            raise TooLittleError(msg)
    return (1.0 - shares["royalty_percent"] / 100.0) * (
        1.0 - shares["refining_percent"] / 100.0
    )


def _check_above(value: float | None, name: str) -> float:
    if value is None or not value > 0.0:
        msg = f"{name} is {value}; give a number above 0."
        raise TooLittleError(msg)
    return value


def _supply(
    given: float | None, supplied: float, name: str, assumptions: dict[str, Any]
) -> float:
    """Return what was given, else what is supplied, noting that it was."""
    if given is not None:
        return given
    assumptions[name] = supplied
    return supplied
