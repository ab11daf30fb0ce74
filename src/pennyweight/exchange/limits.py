"""What no hand can have dug, washed or weighed: values that are refused as slips.

Each limit says why. They are far beyond anything odd (that is told as a doubt when the
record is looked over), so that no true value is ever turned away.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """The least and the most that a value can be.

    Attributes
    ----------
    low, high : float
        In the inside unit of the column; both are still allowed.
    why : str
        The reason, as it is told.
    """

    low: float
    high: float
    why: str

    def holds(self, value: float) -> bool:
        """Tell whether a value is possible."""
        return self.low <= value <= self.high

    def told(self, unit: str = "", per_unit: float = 1.0) -> str:
        """Return what is allowed and why, in a unit of so many inside units.

        Examples
        --------
        >>> PAN.told("l", 0.001)
        'a number between 0.01 and 1,000 l: a pan holds a spoonful or more, and never \
a cubic meter'
        """
        low, high = (_figure(end / per_unit) for end in (self.low, self.high))
        return f"a number between {low} and {high}{unit and ' '}{unit}: {self.why}"


def _figure(value: float) -> str:
    """Return a number with three figures and no powers of ten."""
    return f"{float(f'{value:.3g}'):,.12f}".rstrip("0").rstrip(".")


#: A sample pan is no smaller than a spoon, and no pan is larger than a hopper [m3].
PAN = Limit(1e-5, 1.0, "a pan holds a spoonful or more, and never a cubic meter")
#: From a thimble to the season of a small mine [m3].
WASHED = Limit(1e-6, 1e5, "from a thimble to a mine's whole season")
#: Stones left out may be nothing [m3].
LEFT_OUT = Limit(0.0, 1e5, "no more than a mine's whole season")
#: From a pinch to a season of pans [-].
PANS = Limit(1e-3, 1e6, "from a pinch to a lifetime of pans")
#: More raw gold than a ton was never in one sample [mg].
GOLD = Limit(0.0, 1e9, "no sample ever held a ton of gold")
#: The largest nuggets that were ever weighed have about 70 kg; from memory [mg].
NUGGET = Limit(0.0, 1e8, "no piece of gold ever weighed 100 kg")
#: Black sand of a season [mg].
SAND = Limit(0.0, 1e11, "no more than a hundred tons")
#: From the finest balance of a laboratory to a kitchen scale [mg].
BALANCE = Limit(1e-4, 1e6, "the finest balances read to a ten-thousandth of a mg")
#: Deeper than any gravel dug or drilled by hand [m].
DEPTH = Limit(0.0, 1000.0, "no gravel is dug a kilometer deep by hand")
#: A tape goes from one end of a valley to the other [m].
TAPE = Limit(-1e5, 1e5, "no tape is a hundred kilometers long")
#: Stones and screens, in the unit of their own columns [mm], [m].
SCREEN_MM = Limit(1e-3, 1000.0, "no screen has holes a meter wide")
GRAIN_MM = Limit(1e-3, 1000.0, "no grain of gold is a meter long")
STONE = Limit(1e-6, 100.0, "no boulder is a hundred meters long")
#: Money and hours of one row.
MONEY = Limit(-1e12, 1e12, "no day costs that much")
HOURS = Limit(0.0, 1e5, "no more than eleven years")
#: Bank volume between two cleanups [m3].
CLEANUP = Limit(1e-6, 1e8, "more than a valley holds")
#: How far off a receiver may be [m].
RECEIVER = Limit(1e-3, 1e4, "no receiver is off by ten kilometers")
