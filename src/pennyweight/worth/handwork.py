"""Gold for an hour of hand work beside gold for a volume of ground.

Hours are known well and volumes badly, so the first is the sounder number; the second
is what an estimate is made in. Both are means over outings that differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.spread import Spread, spread_of
from pennyweight.worth.rates import MeanRate, fit_mean_rate

FloatArray = npt.NDArray[np.float64]

#: Hours on the ground for each hour of digging and washing, in one published study of
#: small suction dredges (docs/sources.md, "hours on the ground") [-].
CLOCK_PER_WORKED_HOUR = 1.6
#: How far a volume dug by hand may be off, where it was told at all [-]; ours.
HAND_VOLUME_REL_SD = 0.20
#: Draws behind a spread.
N_DRAWS = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class GoldForWork:
    """What outings say of gold won.

    Attributes
    ----------
    outings : int
        That count [-].
    hours : float
        On the ground, in all [h].
    gold_mg : float
        Raw gold won in them [mg].
    per_hour : Spread
        Mean raw gold won in an hour [mg/h].
    next_per_hour : Spread
        The same in one more outing, lucky or not [mg/h].
    """

    outings: int
    hours: float
    gold_mg: float
    per_hour: Spread
    next_per_hour: Spread


def weigh_hours(
    gold_mg: npt.ArrayLike,
    hours: npt.ArrayLike,
    *,
    color_mg: float,
    rng: np.random.Generator,
) -> GoldForWork | None:
    """Return the gold that an hour of work wins.

    Parameters
    ----------
    gold_mg : array_like, shape (n_outings,)
        Raw gold won in each, 0 or more [mg].
    hours : array_like, shape (n_outings,)
        That each took, above 0 [h].
    color_mg : float
        Mean mass of a color, above 0: gold in few large ones tells less [mg].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    GoldForWork or None
        None without any outing.

    Raises
    ------
    ValueError
        A number lies outside what is allowed.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> found = weigh_hours([300.0, 420.0], [6.0, 8.0], color_mg=0.5, rng=rng)
    >>> found.per_hour.p10 < 720.0 / 14.0 < found.per_hour.p90
    True
    """
    won, spent = np.asarray(gold_mg, np.float64), np.asarray(hours, np.float64)
    found = _fit(won, spent, color_mg, "hours")
    if found is None:
        return None
    mean, _ = found.draw(N_DRAWS, rng)
    return GoldForWork(
        outings=len(won),
        hours=float(spent.sum()),
        gold_mg=float(won.sum()),
        per_hour=_sure(spread_of(mean)),
        next_per_hour=_sure(spread_of(found.draw_place(N_DRAWS, rng))),
    )


def weigh_volumes(
    gold_mg: npt.ArrayLike,
    bank_m3: npt.ArrayLike,
    *,
    color_mg: float,
    rng: np.random.Generator,
) -> Spread | None:
    """Return the gold won from a cubic meter, by the same outings.

    Parameters
    ----------
    gold_mg : array_like, shape (n_outings,)
        Raw gold won in each, 0 or more [mg].
    bank_m3 : array_like, shape (n_outings,)
        Dug in each, above 0 [m3 bank].
    color_mg : float
        Mean mass of a color, above 0 [mg].
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Spread or None
        Mean raw gold won [mg/m3 bank], with one doubt over all volumes; None without
        any outing.

    Raises
    ------
    ValueError
        A number lies outside what is allowed.
    """
    won, dug = np.asarray(gold_mg, np.float64), np.asarray(bank_m3, np.float64)
    found = _fit(won, dug, color_mg, "volumes")
    if found is None:
        return None
    mean, _ = found.draw(N_DRAWS, rng)
    log_sd = np.sqrt(np.log1p(HAND_VOLUME_REL_SD**2))
    return spread_of(mean * np.exp(log_sd * rng.standard_normal(N_DRAWS)))


def _fit(
    won: FloatArray, spent: FloatArray, color_mg: float, what: str
) -> MeanRate | None:
    """Return the mean rate of gold over hours or volumes."""
    if won.size == 0:
        return None
    if not (np.all(won >= 0.0) and np.all(spent > 0.0) and color_mg > 0.0):
        msg = (
            f"gold down to {won.min()} mg, {what} down to {spent.min()} and "
            f"a color of {color_mg} mg; gold is 0 or more, the others above 0."
        )
        raise ValueError(msg)
    return fit_mean_rate(won / color_mg, spent / color_mg)


def money_per_hour(
    gold_mg_per_hour: Spread,
    price_per_g: float,
    *,
    fineness: float,
    payable: float = 1.0,
    cost_per_hour: float = 0.0,
) -> Spread:
    """Return what an hour brings in money, its costs taken off.

    Parameters
    ----------
    gold_mg_per_hour : Spread
        Raw gold won [mg/h].
    price_per_g : float
        Of fine gold, above 0 [currency/g].
    fineness : float
        Of the raw gold, 0 to 1000 [parts in 1000].
    payable : float
        Share left after refining and royalty [-].
    cost_per_hour : float
        What an hour on the ground costs, 0 or more [currency/h].

    Returns
    -------
    Spread
        Money; below 0 where it costs more than it brings [currency/h].

    Raises
    ------
    ValueError
        A number lies outside what is allowed.

    Examples
    --------
    100 mg an hour of 885 fine at 60 a gram:

    >>> hourly = Spread(50.0, 100.0, 200.0, 110.0)
    >>> round(money_per_hour(hourly, 60.0, fineness=885.0).p50, 2)
    5.31
    """
    if not (price_per_g > 0.0 and 0.0 < fineness <= 1000.0 and 0.0 < payable <= 1.0):
        msg = (
            f"price {price_per_g}, fineness {fineness}, payable {payable}; a price is "
            "above 0, fineness up to 1000, a share up to 1."
        )
        raise ValueError(msg)
    each = price_per_g / 1000.0 * fineness / 1000.0 * payable
    one = gold_mg_per_hour
    p10, p50, p90, mean = (
        value * each - cost_per_hour for value in (one.p10, one.p50, one.p90, one.mean)
    )
    return Spread(p10, p50, p90, mean)


def _sure(spread: Spread | None) -> Spread:
    """Return a spread that is there: draws of a rate always hold numbers."""
    return spread if spread is not None else Spread(0.0, 0.0, 0.0, 0.0)
