"""What gold brings and what digging costs: the money side of the record.

Read from `[costs]`, `[plant]` and the price in the ground's record. Whatever the
record leaves out is supplied here, and named in `assumptions`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pennyweight.errors import TooLittleError
from pennyweight.records import Ground
from pennyweight.units import CUBIC_YARD_M3, FOOT_M
from pennyweight.worth.breakeven import break_even_grade_mg_m3, value_per_mg
from pennyweight.worth.plants import DEFAULT_SIZE_SHARES, Plant, choose_plant

#: Average of California placers, Wells 1969, Part VIII [parts in 1000].
DEFAULT_FINENESS = 885.0

#: Cost of moving overburden over that of washing the same volume, where the user says
#: none [-]; common practice, no source.
STRIP_SHARE_OF_WASH = 0.25

#: Least thickness that is mined as pay where the user says none [m].
DEFAULT_MIN_PAY_M = 0.30

#: Keys of [costs] -> other spellings with another unit, and their factor.
COST_KEYS: dict[str, dict[str, float]] = {
    "wash_per_m3": {"wash_per_yd3": 1.0 / CUBIC_YARD_M3},
    "strip_per_m3": {"strip_per_yd3": 1.0 / CUBIC_YARD_M3},
    "fixed": {},
    "per_hour": {},
    "per_day": {},
    "royalty_percent": {},
    "refining_percent": {},
    "reclaim_per_m2": {"reclaim_per_ft2": 1.0 / FOOT_M**2},
}

#: The same for [plant].
PLANT_KEYS: dict[str, dict[str, float]] = {
    "m3_per_hour": {"yd3_per_hour": CUBIC_YARD_M3},
    "digs_m3_per_hour": {"digs_yd3_per_hour": CUBIC_YARD_M3},
    "hours_per_day": {},
    "days": {},
    "recovery": {},
    "min_width_m": {"min_width_ft": FOOT_M},
}

#: Costs of which one at least must be given for any answer about worth.
WASHING_COSTS = ("wash_per_m3", "per_hour", "per_day")

SizeShares = tuple[float, float, float, float]


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
        For each working hour and day, once a season, for each m2 opened [currency].
    m3_per_hour, digs_m3_per_hour : float
        Bank pay washed and bank overburden moved in an hour [m3/h].
    hours_per_day, days : float
        Of a season [h], [d].
    min_width_m, min_pay_m : float
        Narrowest cut and thinnest pay that is mined [m].
    plant : str
        Name of the plant.
    assumptions : mapping
        What was supplied because the record did not.
    not_understood : tuple of str
        Keys of the record that play no part.
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

    @property
    def value_per_mg(self) -> float:
        """What one mg of raw gold in place brings in [currency/mg]."""
        return value_per_mg(
            self.price_per_g,
            fineness=self.fineness,
            recovery=self.recovery,
            payable=self.payable,
        )

    @property
    def hourly(self) -> float:
        """Cost of a working hour, the day's share included [currency/h]."""
        return self.per_hour + self.per_day / self.hours_per_day

    @property
    def washing(self) -> float:
        """Cost of a bank m3 of pay with the hours it takes [currency/m3]."""
        return self.wash_per_m3 + self.hourly / self.m3_per_hour

    @property
    def stripping(self) -> float:
        """Cost of a bank m3 of overburden with its hours [currency/m3]."""
        return self.strip_per_m3 + self.hourly / self.digs_m3_per_hour

    @property
    def season_hours(self) -> float:
        """Working hours of a season [h]."""
        return self.hours_per_day * self.days

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
        hours_per_m3 = 1.0 / self.m3_per_hour + strip_ratio / self.digs_m3_per_hour
        season_m3 = self.season_hours / hours_per_m3
        cost = self.washing + self.stripping * strip_ratio + self.fixed / season_m3
        return break_even_grade_mg_m3(
            cost,
            self.price_per_g,
            fineness=self.fineness,
            recovery=self.recovery,
            payable=self.payable,
        )


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
            ("the cost of washing", "[costs] wash_per_m3, or per_hour, or per_day")
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
    costs, odd_costs = _read_table(ground.costs, "costs", COST_KEYS)
    given, odd_plant = _read_table(ground.plant, "plant", PLANT_KEYS)
    name = str(ground.plant["name"]) if "name" in ground.plant else None
    plant = choose_plant(name)
    assumptions: dict[str, Any] = {}
    if name is None and len(given) < len(PLANT_KEYS):
        assumptions["plant"] = plant.name
    machine = _complete_plant(plant, given, assumptions, size_shares=size_shares)
    price_per_g = _check_above(ground.gold_price_per_g, "gold_price_per_g")
    return Terms(
        currency=ground.currency or "money",
        price_per_g=price_per_g,
        fineness=_supply(
            ground.fineness, DEFAULT_FINENESS, "fineness_per_mille", assumptions
        ),
        payable=_payable_share(costs),
        wash_per_m3=costs.get("wash_per_m3", 0.0),
        strip_per_m3=_strip_cost(costs, assumptions),
        per_hour=costs.get("per_hour", 0.0),
        per_day=costs.get("per_day", 0.0),
        fixed=_supply(costs.get("fixed"), 0.0, "fixed_cost", assumptions),
        reclaim_per_m2=_supply(
            costs.get("reclaim_per_m2"), 0.0, "reclaim_cost_per_m2", assumptions
        ),
        min_pay_m=_supply(
            ground.min_pay_m, DEFAULT_MIN_PAY_M, "min_pay_m", assumptions
        ),
        plant=name or plant.name,
        assumptions=assumptions,
        not_understood=(*odd_costs, *odd_plant),
        **machine,
    )


def _complete_plant(
    plant: Plant,
    given: Mapping[str, float],
    assumptions: dict[str, Any],
    *,
    size_shares: SizeShares | None,
) -> dict[str, float]:
    """Return every number of the plant, the template's where none was given."""
    found = {
        key: _supply(given.get(key), getattr(plant, key), f"plant_{key}", assumptions)
        for key in PLANT_KEYS
        if key not in ("recovery", "digs_m3_per_hour")
    }
    # A faster washing plant is fed by a larger digger: the template's proportion.
    pace = plant.digs_m3_per_hour / plant.m3_per_hour
    found["digs_m3_per_hour"] = _supply(
        given.get("digs_m3_per_hour"),
        found["m3_per_hour"] * pace,
        "plant_digs_m3_per_hour",
        assumptions,
    )
    expected = plant.recovery(size_shares or DEFAULT_SIZE_SHARES)
    found["recovery"] = _supply(
        given.get("recovery"), round(expected, 3), "plant_recovery_share", assumptions
    )
    for key, value in found.items():
        _check_above(value, f"[plant] {key}")
    if found["recovery"] > 1.0:
        msg = f"[plant] recovery is {found['recovery']}; give a share from 0 to 1."
        raise TooLittleError(msg)
    return found


def _strip_cost(costs: Mapping[str, float], assumptions: dict[str, Any]) -> float:
    """Return the cost of stripping; where none was given it is not taken for free."""
    if "strip_per_m3" in costs:
        return costs["strip_per_m3"]
    # With hours or days paid, moving overburden already costs its hours.
    paid_by_time = "per_hour" in costs or "per_day" in costs
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


def _read_table(
    table: Mapping[str, Any], title: str, keys: Mapping[str, Mapping[str, float]]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return the known numbers of a table by their inside key, and the odd keys."""
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
