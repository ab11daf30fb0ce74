"""Room for what is thrown: overburden and tailings heaped beside the cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.worth.season import Stretch

#: Height of a heap [m], and how far its sides reach out for each meter of height [-];
#: common practice, no source.
HEAP_M, HEAP_RUN = 2.0, 1.5

#: Growth of dug ground where the user says none, Wells 1969, 20-25 % [-].
DEFAULT_SWELL = 0.22

#: What stays of the swell once it lies in the hole again [-]: 20 % settled to 15 % in
#: one published permit; here half of it, our assumption.
SETTLED_PART = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoilRoom:
    """What is heaped, and the ground that the heaps cover.

    Attributes
    ----------
    overburden_loose_m3, tailings_loose_m3 : float
        All of it, with its swell [m3 loose].
    heaped_m3 : float
        The most that lies in heaps at once, stretch filled after stretch [m3 loose].
    heap_m2, whole_heap_m2 : float
        Ground that heaps of that much cover, and of all of it [m2].
    left_over_m3 : float
        What does not go back into the hole, for its swell [m3 loose].
    """

    overburden_loose_m3: float
    tailings_loose_m3: float
    heaped_m3: float
    heap_m2: float
    whole_heap_m2: float
    left_over_m3: float


def heap_area_m2(
    loose_m3: float, *, height_m: float = HEAP_M, run: float = HEAP_RUN
) -> float:
    """Return the ground that a square heap with sloping sides covers.

    Parameters
    ----------
    loose_m3 : float
        In the heap, 0 or more [m3 loose].
    height_m : float
        At most, above 0 [m].
    run : float
        How far the sides reach out for each meter of height [-].

    Returns
    -------
    float
        Ground covered [m2].

    Raises
    ------
    ValueError
        A volume below 0 or a height that is not above 0.

    Notes
    -----
    A frustum of base b: V = h (b^2 - 2 b r h + 4 r^2 h^2 / 3), with r the run. Where
    that makes no flat top, a pyramid of the same sides: V = b^3 / (6 r).

    Examples
    --------
    500 m3, 2 m high, 1.5 out for 1 up: b = 18.72 m.

    >>> round(heap_area_m2(500.0), 1)
    350.3
    """
    if not (loose_m3 >= 0.0 and height_m > 0.0):
        msg = (
            f"a heap of {loose_m3} m3, {height_m} m high; the volume is 0 or more and "
            "the height above 0."
        )
        raise ValueError(msg)
    reach = run * height_m
    if loose_m3 <= height_m * 4.0 * reach**2 / 3.0:
        return float((6.0 * run * loose_m3) ** (2.0 / 3.0))
    return float((reach + np.sqrt(loose_m3 / height_m - reach**2 / 3.0)) ** 2)


def plan_spoil(stretches: Sequence[Stretch], swell: float) -> SpoilRoom:
    """Return the room that spoil needs when each hole takes that of the next.

    Parameters
    ----------
    stretches : sequence of Stretch
        In the order of mining.
    swell : float
        Growth of dug ground, 0 or more [-].

    Returns
    -------
    SpoilRoom
        Of the expected volumes.

    Raises
    ------
    ValueError
        The swell is below 0.

    Notes
    -----
    Overburden of the first stretch is heaped. From then on each stretch's overburden
    and its tailings go into the hole behind, as far as that holds them.
    """
    if not swell >= 0.0:
        msg = f"swell is {swell}; dug ground grows by 0 or more."
        raise ValueError(msg)
    cover = np.array([one.cover_m3 for one in stretches])
    pay = np.array([one.pay_m3 for one in stretches])
    loose, packed = 1.0 + swell, 1.0 + SETTLED_PART * swell
    heaped = most = room = 0.0
    for over, washed in zip(cover, pay, strict=True):
        # The hole behind takes what is stripped here, then what is washed.
        for bank in (over, washed):
            back = min(bank, room / packed)
            room -= back * packed
            heaped += (bank - back) * loose
            most = max(most, heaped)
        room += over + washed
    whole = float(cover.sum() + pay.sum())
    return SpoilRoom(
        overburden_loose_m3=float(cover.sum()) * loose,
        tailings_loose_m3=float(pay.sum()) * loose,
        heaped_m3=float(most),
        heap_m2=heap_area_m2(float(most)),
        whole_heap_m2=heap_area_m2(whole * loose),
        left_over_m3=whole * (packed - 1.0),
    )
