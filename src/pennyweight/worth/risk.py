"""How likely the cut loses, what would turn it, and what knowing more is worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

#: How far each term is swung, down and up [-]; our assumption.
SWINGS: dict[str, tuple[float, float]] = {
    "price_per_g": (0.8, 1.2),
    "recovery": (0.85, 1.05),
    "wash_per_m3": (1.3, 0.8),
    "strip_per_m3": (1.3, 0.8),
    "m3_per_hour": (0.7, 1.15),
    "digs_m3_per_hour": (0.7, 1.15),
    "fixed": (1.3, 0.9),
    "per_hour": (1.2, 0.9),
    "wage_per_hour": (1.2, 0.9),
    "fuel_per_l": (1.3, 0.8),
    "fineness": (0.97, 1.03),
    "availability": (0.8, 1.1),
}

#: Terms that cannot grow past this [-].
MOST = {"recovery": 1.0, "availability": 1.0, "fineness": 1000.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """What one term does to the expected margin.

    Attributes
    ----------
    name : str
        Field of `Terms`, or "gold" for the gold itself.
    low, high : float
        Expected margin at the bad and at the good end [currency].
    """

    name: str
    low: float
    high: float


def chance_of_loss(margin: FloatArray) -> float:
    """Return the share of draws that lose money.

    Parameters
    ----------
    margin : ndarray, shape (n_draws,)
        Revenue less cost [currency].

    Returns
    -------
    float
        Between 0 and 1 [-].

    Raises
    ------
    ValueError
        There is no draw.

    Examples
    --------
    >>> chance_of_loss(np.array([-1.0, 2.0, 3.0, 4.0]))
    0.25
    """
    if len(margin) == 0:
        msg = f"{len(margin)} draws tell no chance; one at least is needed."
        raise ValueError(msg)
    return float(np.mean(margin < 0.0))


def worth_of_knowing(margin: FloatArray) -> float:
    """Return the most that knowing the ground exactly could add to the plan.

    Parameters
    ----------
    margin : ndarray, shape (n_draws,)
        Revenue less cost if the cut is mined [currency].

    Returns
    -------
    float
        Expected gain of choosing to mine or to leave after knowing, over choosing
        now [currency]; 0 or more. No sampling is worth more than this.

    Notes
    -----
    E[max(margin, 0)] - max(E[margin], 0), the expected value of perfect information.

    References
    ----------
    Howard 1966, IEEE Transactions on Systems Science and Cybernetics 2: 22-26;
    docs/sources.md, entry "worth of knowing".

    Examples
    --------
    >>> worth_of_knowing(np.array([-100.0, 300.0]))
    50.0
    """
    better = float(np.maximum(margin, 0.0).mean())
    return better - max(float(margin.mean()), 0.0)


def break_even_price(
    revenue: FloatArray, cost: FloatArray, price_per_g: float
) -> float:
    """Return the price of gold at which the expected margin is nothing.

    Parameters
    ----------
    revenue, cost : ndarray, shape (n_draws,)
        At the price given [currency].
    price_per_g : float
        Of fine gold [currency/g].

    Returns
    -------
    float
        Price [currency/g]; inf where there is no gold.

    Examples
    --------
    >>> break_even_price(np.array([200.0]), np.array([100.0]), 60.0)
    30.0
    """
    brought = float(revenue.mean())
    return (
        float("inf") if brought <= 0.0 else price_per_g * float(cost.mean()) / brought
    )


def swing_terms(
    terms: Terms, margin_of: Callable[[Terms], FloatArray], gold: FloatArray
) -> list[Swing]:
    """Return what each term alone does to the expected margin, the strongest first.

    Parameters
    ----------
    terms : Terms
        Price, costs and plant.
    margin_of : callable
        Terms to the margin of every draw, shape (n_draws,) [currency].
    gold : ndarray, shape (n_draws,)
        Gold of every draw in any unit; its middle 80 % gives the swing of the gold
        itself [-].

    Returns
    -------
    list of Swing
        Terms that do nothing are left out.
    """
    swings = []
    for name, (bad, good) in SWINGS.items():
        now = float(getattr(terms, name))
        ends = []
        for factor in (bad, good):
            changed: dict[str, Any] = {name: _limited(name, now * factor)}
            ends.append(float(margin_of(replace(terms, **changed)).mean()))
        swings.append(Swing(name=name, low=ends[0], high=ends[1]))
    low, high = np.quantile(gold, (0.1, 0.9))
    margin = margin_of(terms)
    order = np.argsort(gold)
    edge = max(len(gold) // 5, 1)
    if high > low:
        swings.append(
            Swing(
                name="gold",
                low=float(margin[order[:edge]].mean()),
                high=float(margin[order[-edge:]].mean()),
            )
        )
    swings = [one for one in swings if one.high != one.low]
    return sorted(swings, key=lambda one: -abs(one.high - one.low))


def _limited(name: str, value: float) -> float:
    """Keep a share a share."""
    return min(value, MOST.get(name, value))
