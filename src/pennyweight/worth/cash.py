"""The purse week by week: money laid out and coming in, breakdowns drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.worth.season import Stretch
from pennyweight.worth.terms import Terms

FloatArray = npt.NDArray[np.float64]

#: How closely the running share of a week keeps to its mean: the sum of the two
#: parameters of a beta distribution [-]; our assumption.
STEADINESS = 20.0

#: Longest plan that is followed week by week [weeks].
MOST_WEEKS = 260

#: Weeks of a year, for interest [-].
WEEKS_PER_YEAR = 365.25 / 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CashCurve:
    """The purse at the end of every working week.

    Attributes
    ----------
    cash : ndarray, shape (n_draws, n_weeks + 1)
        Money since the start; the first is what is laid down before [currency].
    lowest : ndarray, shape (n_draws,)
        The deepest that the purse goes, 0 or more [currency].
    weeks_taken : ndarray, shape (n_draws,)
        Working weeks until all is put back [-]; nan where the plan is too long.
    cut_off : bool
        Whether the plan is longer than what is followed.
    """

    cash: FloatArray
    lowest: FloatArray
    weeks_taken: FloatArray
    cut_off: bool


def follow_cash(
    stretches: Sequence[Stretch], terms: Terms, rng: np.random.Generator
) -> CashCurve:
    """Return the purse of every draw, week by week.

    Parameters
    ----------
    stretches : sequence of Stretch
        In the order of mining, one at least.
    terms : Terms
        Price, costs and plant.
    rng : numpy.random.Generator
        Of the breakdowns.

    Returns
    -------
    CashCurve
        Working weeks only; what lies between two seasons is left out.

    Raises
    ------
    ValueError
        There is no stretch.

    Notes
    -----
    Every stretch is stripped, then washed, then put back. Paid hours of a week are
    fixed; how many of them all runs is drawn from a beta distribution about the
    plant's availability. Gold is sold in the week in which it is washed. Each season
    begins with its fixed costs; the bond is laid down first and comes back at the end.
    """
    if not stretches:
        msg = f"{len(stretches)} stretches; a purse needs one at least."
        raise ValueError(msg)
    hours, revenue, material = _timeline(stretches)
    paid_week = terms.hours_per_day * terms.days_per_week
    fewest = float(hours[:, -1].max()) / (0.5 * paid_week * terms.availability)
    weeks = int(np.clip(np.ceil(fewest), 1, MOST_WEEKS))
    shares = _running_shares(terms.availability, (len(hours), weeks), rng)
    run = np.cumsum(shares * paid_week, axis=1)
    run = np.concatenate([np.zeros((len(run), 1)), run], axis=1)
    done = np.asarray(run >= hours[:, -1:])
    last = np.where(done.any(axis=1), done.argmax(axis=1), weeks)
    used = int(last.max())
    run, shares = run[:, : used + 1], shares[:, :used]
    cash = np.empty(run.shape)
    for at, worked in enumerate(run):
        sold = np.interp(worked, hours[at], revenue[at])
        cash[at] = sold - np.interp(worked, hours[at], material[at])
    cash -= terms.hourly * _paid_hours(run, shares, hours[:, -1:], paid_week)
    cash -= _season_costs(run.shape[1], last, terms)
    finished = np.arange(run.shape[1]) >= last[:, None]
    ended = np.asarray(done.any(axis=1))
    cash -= np.where(finished & ended.reshape(-1, 1), 0.0, terms.bond)
    return CashCurve(
        cash=cash,
        lowest=np.maximum(-cash.min(axis=1), 0.0),
        weeks_taken=np.where(ended, last, np.nan),
        cut_off=not bool(ended.all()),
    )


def _timeline(
    stretches: Sequence[Stretch],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return running hours, revenue and material at the end of every phase.

    Shape (n_draws, 3 n_stretches + 1), from nothing on.
    """
    hours = np.concatenate([one.phases_h for one in stretches])
    nothing = np.zeros(hours.shape[1])
    sold = [part for one in stretches for part in (nothing, one.revenue, nothing)]
    spent = np.concatenate([one.material for one in stretches])
    added, earned, paid = (
        np.concatenate([nothing[None], np.cumsum(one, axis=0)]).T
        for one in (hours, np.array(sold), spent)
    )
    return added, earned, paid


def _running_shares(
    availability: float, shape: tuple[int, int], rng: np.random.Generator
) -> FloatArray:
    if availability >= 1.0:
        return np.ones(shape)
    up, down = availability * STEADINESS, (1.0 - availability) * STEADINESS
    return np.asarray(rng.beta(up, down, shape))


def _paid_hours(
    run: FloatArray, shares: FloatArray, needed: FloatArray, paid_week: float
) -> FloatArray:
    """Return paid hours at the end of every week: none once all is done."""
    left = np.clip(needed - run[:, :-1], 0.0, None)
    part = np.minimum(left / np.maximum(shares * paid_week, 1e-9), 1.0)
    paid = np.cumsum(part * paid_week, axis=1)
    return np.concatenate([np.zeros((len(run), 1)), paid], axis=1)


def _season_costs(
    n_weeks: int, last: npt.NDArray[np.int64], terms: Terms
) -> FloatArray:
    """Return what seasons have cost by the end of every week, shape (n_draws, ..)."""
    per_season = max(terms.days / terms.days_per_week, 1.0)
    begun = np.floor(np.arange(n_weeks) / per_season + 1e-9) + 1.0
    most = np.maximum(np.ceil(last / per_season - 1e-9), 1.0)
    return np.asarray(np.minimum(begun, most[:, None]) * terms.each_season)


def present_value(cash: FloatArray, interest_percent: float) -> FloatArray:
    """Return what a purse is worth today, money costing interest.

    Parameters
    ----------
    cash : ndarray, shape (n_draws, n_weeks + 1)
        At the end of every week, the first at the start [currency].
    interest_percent : float
        For a year, 0 or more [%].

    Returns
    -------
    ndarray, shape (n_draws,)
        Money today [currency]; the last cash where interest is nothing.

    Notes
    -----
    Each week's change over (1 + interest)^(weeks / 52.18).

    Examples
    --------
    >>> present_value(np.array([[-100.0, 50.0]]), 0.0)
    array([50.])
    """
    flows = np.diff(cash, axis=1, prepend=0.0)
    years = np.arange(cash.shape[1]) / WEEKS_PER_YEAR
    return np.asarray(flows @ (1.0 + interest_percent / 100.0) ** -years)
