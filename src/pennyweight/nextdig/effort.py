"""How many hours a dig takes: walking, digging, washing, filling in.

Every rate is common practice, no source, for one person with hand tools in open
gravel; each is shown with the answer until the user's own days tell better.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pennyweight.records import Day

#: Bank volume that one person digs in an hour at the surface [m3/h].
DIG_M3_PER_HOUR = {
    "loose": 1.0,
    "firm": 0.7,
    "hard": 0.4,
    "cemented": 0.2,
    "frozen": 0.15,
}

#: Packing where nobody wrote one.
DEFAULT_PACKING = "firm"

#: Depth at which a shovelful takes twice as long as at the surface, for the throw [m].
TWICE_AS_LONG_M = 1.5

#: Floor of a pit that a person can work in [m2].
PIT_M2 = 0.5

#: Pans washed in an hour, counted and bottled [1/h].
PANS_PER_HOUR = 10.0

#: Bank volume filled back in an hour [m3/h].
FILL_M3_PER_HOUR = 2.0

#: Walking, tools, measuring and writing for each dig [h].
SETTING_UP_HOURS = 0.25

#: Hours of work in a day on the ground: 8 on the clock over 1.6 [h].
WORKED_HOURS_PER_DAY = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """Hours that a dig takes [h]."""

    digging: float
    washing: float
    other: float

    @property
    def hours(self) -> float:
        """All of them [h]."""
        return self.digging + self.washing + self.other


def dig_effort(
    depth_m: float, pans: float, *, packing: str | None = None, from_m: float = 0.0
) -> Effort:
    """Return the hours of one dig.

    Parameters
    ----------
    depth_m : float
        Depth to reach, at or below `from_m` [m].
    pans : float
        Pans to wash, 0 or more [-].
    packing : str, optional
        loose, firm, hard, cemented or frozen; firm where it is not known.
    from_m : float
        Depth of an old dig that is deepened and must be cleared first [m].

    Returns
    -------
    Effort
        Digging, washing, and everything else [h].

    Raises
    ------
    ValueError
        A depth or a number of pans that cannot be.

    Notes
    -----
    Digging slows in proportion to depth, to half the pace at 1.5 m: the time from the
    surface to depth d is area / rate x (d + d^2 / 3 m). Clearing an old dig goes at
    the rate of loose ground.

    Examples
    --------
    >>> round(dig_effort(0.9, 8.0).hours, 2)
    2.11
    """
    if not (depth_m >= from_m >= 0.0 and pans >= 0.0):
        msg = (
            f"a dig from {from_m} m to {depth_m} m with {pans} pans; it goes down, and "
            "pans are 0 or more."
        )
        raise ValueError(msg)
    rate = DIG_M3_PER_HOUR.get(packing or DEFAULT_PACKING, DIG_M3_PER_HOUR["firm"])
    old = PIT_M2 / DIG_M3_PER_HOUR["loose"] * _slowed_m(from_m)
    new = PIT_M2 / rate * (_slowed_m(depth_m) - _slowed_m(from_m))
    return Effort(
        digging=old + new,
        washing=pans / PANS_PER_HOUR,
        other=SETTING_UP_HOURS + PIT_M2 * depth_m / FILL_M3_PER_HOUR,
    )


def _slowed_m(depth_m: float) -> float:
    """Return the depth at the surface that takes as long to dig [m]."""
    return depth_m + depth_m**2 / (2.0 * TWICE_AS_LONG_M)


def worked_hours_per_day(days: Iterable[Day]) -> float | None:
    """Return the hours that the user works in a day, by the user's own days.

    Parameters
    ----------
    days : iterable of Day
        The diary.

    Returns
    -------
    float or None
        Mean of the hours of digging and washing [h]; None where none was written.
    """
    hours = [day.dug_hours for day in days if day.dug_hours]
    return sum(hours) / len(hours) if hours else None
