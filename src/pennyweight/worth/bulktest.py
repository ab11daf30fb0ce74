"""How much ground a bulk test must wash, in how many places, and what it would show.

The result of a bulk test is off by the luck of grains and of nuggets, by ground that
differs from place to place, by the survey of the hole, and by what the plant loses.
Washing more helps against the first alone; more places help against the second; only
measuring helps against the others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

FloatArray = npt.NDArray[np.float64]

#: How far a surveyed hole may be off in volume, and what a plant keeps may be off once
#: its tailings were panned [-]; ours.
VOLUME_REL_SD, RECOVERY_REL_SD = 0.05, 0.05
#: Places at most [-], and the least that is dug at one [m3]; ours.
MOST_PLACES, LEAST_PLACE_M3 = 60, 0.1
#: Hours to move to a place, set up there and measure its hole [h]; ours.
SETTING_UP_HOURS = 1.5
#: Variation of the mass of one nugget [-]; ours, as for nuggets elsewhere.
NUGGET_CV = 1.0
#: A draw of the grade is not taken for less than this share of the mean [-].
LEAST_SHARE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundToTest:
    """What is known of the ground that a test is planned for.

    Attributes
    ----------
    grade_mg_m3 : float
        That the test is planned at, above 0 [mg/m3 bank].
    color_mg, color_cv : float
        Mean mass of a color, above 0 [mg], and its variation [-].
    place_cv : float
        Variation of the grade from place to place [-].
    nuggets_per_m3, nugget_mg : float
        Nuggets that are kept apart from the colors: their number [1/m3] and mean
        mass [mg]; 0 where none was found.
    volume_rel_sd, recovery_rel_sd : float
        Of the survey and of what the plant keeps; they do not shrink [-].
    """

    grade_mg_m3: float
    color_mg: float
    color_cv: float
    place_cv: float
    nuggets_per_m3: float = 0.0
    nugget_mg: float = 0.0
    volume_rel_sd: float = VOLUME_REL_SD
    recovery_rel_sd: float = RECOVERY_REL_SD

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not (self.grade_mg_m3 > 0.0 and self.color_mg > 0.0):
            msg = (
                f"the grade is {self.grade_mg_m3} mg/m3 and a color weighs "
                f"{self.color_mg} mg; both must be above 0."
            )
            raise ValueError(msg)
        others = (
            self.color_cv,
            self.place_cv,
            self.nuggets_per_m3,
            self.nugget_mg,
            self.volume_rel_sd,
            self.recovery_rel_sd,
        )
        if min(others) < 0.0:
            msg = f"a variation or a number of nuggets is {min(others)}; 0 or more."
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """How fast the user works.

    Attributes
    ----------
    washes_m3_per_hour, digs_m3_per_hour : float
        Pay washed and ground dug, above 0 [m3 bank/h].
    strip_ratio : float
        Overburden to move for each m3 of pay, 0 or more [-].
    water_m3_per_hour : float
        Through the plant while it washes [m3/h].
    """

    washes_m3_per_hour: float
    digs_m3_per_hour: float
    strip_ratio: float
    water_m3_per_hour: float

    def hours(self, bank_m3: float, places: int) -> float:
        """Return the hours of a test.

        Parameters
        ----------
        bank_m3 : float
            Pay washed [m3 bank].
        places : int
            Where it comes from [-].

        Returns
        -------
        float
            Stripping, digging, washing, moving about and measuring [h].
        """
        dug = (1.0 + self.strip_ratio) / self.digs_m3_per_hour
        return places * SETTING_UP_HOURS + bank_m3 * (
            1.0 / self.washes_m3_per_hour + dug
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkPlan:
    """A test that keeps a grade within the error asked for.

    Attributes
    ----------
    places : int
        Holes [-].
    bank_m3 : float
        Pay washed from all of them [m3 bank].
    hours, water_m3 : float
        That it takes [h], [m3].
    rel_sd : float
        Of its result [-].
    from_grains, from_places, from_measuring : float
        Their parts: relative standard deviations whose squares add up [-].
    """

    places: int
    bank_m3: float
    hours: float
    water_m3: float
    rel_sd: float
    from_grains: float
    from_places: float
    from_measuring: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What results would mean, and how likely each is before the test.

    Attributes
    ----------
    confirms_above_mg_m3, refutes_below_mg_m3 : float or None
        Results that settle it; None where no result can [mg/m3 bank].
    chance_confirmed, chance_refuted, chance_open : float
        Before the test; they add to 1 [-].
    chance_wrong : float
        Of being told wrong, by either result [-].
    """

    confirms_above_mg_m3: float | None
    refutes_below_mg_m3: float | None
    chance_confirmed: float
    chance_refuted: float
    chance_open: float
    chance_wrong: float


def grain_rel_variance(ground: GroundToTest, bank_m3: float) -> float:
    """Return what the luck of grains and nuggets does to a result.

    Parameters
    ----------
    ground : GroundToTest
        What is known.
    bank_m3 : float
        Washed in all, above 0 [m3 bank].

    Returns
    -------
    float
        Relative variance [-].

    Raises
    ------
    ValueError
        The volume is not above 0.

    Notes
    -----
    Compound Poisson: the sum over kinds of grains of number x mass^2 (1 + cv^2), over
    the gold squared. The colors carry the whole grade, nuggets come on top.

    Examples
    --------
    200 mg/m3 in colors of 0.5 mg, all alike, in 1 m3: 400 of them, 1/400.

    >>> ground = GroundToTest(grade_mg_m3=200, color_mg=0.5, color_cv=0, place_cv=1)
    >>> grain_rel_variance(ground, 1.0)
    0.0025
    """
    if not bank_m3 > 0.0:
        msg = f"bank_m3 is {bank_m3} m3; it must be above 0."
        raise ValueError(msg)
    grade = ground.grade_mg_m3
    colors = ground.color_mg * (1.0 + ground.color_cv**2) / grade
    nuggets = ground.nuggets_per_m3 * ground.nugget_mg**2 * (1.0 + NUGGET_CV**2)
    return (colors + nuggets / grade**2) / bank_m3


def volume_for_error_m3(
    ground: GroundToTest, rel_error: float, *, sure: float, places: int
) -> float | None:
    """Return the volume that keeps a result within a relative error.

    Parameters
    ----------
    ground : GroundToTest
        What is known.
    rel_error : float
        Half-width over the grade, above 0 [-].
    sure : float
        With which the result lies within it, between 0 and 1 [-].
    places : int
        Over which the volume is shared out, 1 or more [-].

    Returns
    -------
    float or None
        In all [m3 bank]; None where no volume from so few places can do it.

    Raises
    ------
    ValueError
        A number lies outside what is allowed.

    Examples
    --------
    Even ground, nothing else off: (1.2816 / 0.25)^2 = 26.3 colors of 0.5 mg at 200
    mg/m3 are 0.066 m3.

    >>> ground = GroundToTest(
    ...     grade_mg_m3=200, color_mg=0.5, color_cv=0, place_cv=0,
    ...     volume_rel_sd=0, recovery_rel_sd=0,
    ... )
    >>> round(volume_for_error_m3(ground, 0.25, sure=0.80, places=1), 4)
    0.0657
    """
    allowed = _wanted_variance(rel_error, sure)
    if places < 1:
        msg = f"there are {places} places; one at least is needed."
        raise ValueError(msg)
    rest = allowed - _fixed_variance(ground) - ground.place_cv**2 / places
    if rest <= 0.0:
        return None
    return grain_rel_variance(ground, 1.0) / rest


def plan_bulk_test(
    ground: GroundToTest, work: Work, rel_error: float, *, sure: float
) -> BulkPlan | None:
    """Return the test that takes fewest hours for the error asked for.

    Parameters
    ----------
    ground : GroundToTest
        What is known.
    work : Work
        How fast the user works.
    rel_error : float
        Half-width over the grade, above 0 [-].
    sure : float
        With which the result lies within it, between 0 and 1 [-].

    Returns
    -------
    BulkPlan or None
        None where no number of places up to 60 can do it.

    Raises
    ------
    ValueError
        A number lies outside what is allowed.

    Notes
    -----
    Every number of places is tried: few ask for much volume, many for much moving.
    """
    best: BulkPlan | None = None
    for places in range(1, MOST_PLACES + 1):
        bank_m3 = volume_for_error_m3(ground, rel_error, sure=sure, places=places)
        if bank_m3 is None:
            continue
        plan = describe_test(
            ground, work, places=places, bank_m3=max(bank_m3, places * LEAST_PLACE_M3)
        )
        if best is None or plan.hours < best.hours:
            best = plan
    return best


def describe_test(
    ground: GroundToTest, work: Work, *, places: int, bank_m3: float
) -> BulkPlan:
    """Return what a test of a given size tells and takes.

    Parameters
    ----------
    ground : GroundToTest
        What is known.
    work : Work
        How fast the user works.
    places : int
        Holes, 1 or more [-].
    bank_m3 : float
        Washed from all of them, above 0 [m3 bank].

    Returns
    -------
    BulkPlan
        With the parts of its error.
    """
    grains = grain_rel_variance(ground, bank_m3)
    between, fixed = ground.place_cv**2 / places, _fixed_variance(ground)
    return BulkPlan(
        places=places,
        bank_m3=bank_m3,
        hours=work.hours(bank_m3, places),
        water_m3=work.water_m3_per_hour * bank_m3 / work.washes_m3_per_hour,
        rel_sd=math.sqrt(grains + between + fixed),
        from_grains=math.sqrt(grains),
        from_places=math.sqrt(between),
        from_measuring=math.sqrt(fixed),
    )


def foresee_results(
    grade_mg_m3: FloatArray,
    rel_sd: float,
    *,
    threshold_mg_m3: float,
    sure: float,
) -> Outlook:
    """Return which results would settle it, and the chance of each.

    Parameters
    ----------
    grade_mg_m3 : ndarray, shape (n_draws,)
        What the ground may hold, before the test [mg/m3 bank].
    rel_sd : float
        Of the result, above 0 [-].
    threshold_mg_m3 : float
        That the ground should exceed, above 0 [mg/m3 bank].
    sure : float
        Chance from which it counts as confirmed or refuted, above 0.5 [-].

    Returns
    -------
    Outlook
        Under what is believed now.

    Raises
    ------
    ValueError
        A number lies outside what is allowed.

    Notes
    -----
    The result is lognormal about the grade, without bias. By Bayes' rule over the
    draws the chance of exceeding the threshold rises with the result, so each verdict
    has one limit, found by halving; it lies beyond all results that can be expected
    where the ground is settled already.

    References
    ----------
    Raiffa and Schlaifer (1961), Applied Statistical Decision Theory (preposterior
    analysis), from memory; docs/sources.md "bulk test".
    """
    if not (rel_sd > 0.0 and threshold_mg_m3 > 0.0 and 0.5 < sure < 1.0):
        msg = (
            f"rel_sd is {rel_sd}, the threshold {threshold_mg_m3} mg/m3 and sure "
            f"{sure}; the first two are above 0, sure lies between 0.5 and 1."
        )
        raise ValueError(msg)
    drawn = np.maximum(grade_mg_m3, LEAST_SHARE * max(float(grade_mg_m3.mean()), 1e-9))
    log_sd = math.sqrt(math.log1p(rel_sd**2))
    middles = np.log(drawn) - log_sd**2 / 2.0
    over = drawn > threshold_mg_m3
    ends = (float(middles.min()) - 6.0 * log_sd, float(middles.max()) + 6.0 * log_sd)

    def chance_over(log_result: float) -> float:
        fit = -0.5 * ((log_result - middles) / log_sd) ** 2
        weight = np.exp(fit - fit.max())
        return float(weight[over].sum() / weight.sum())

    # Where all draws lie on one side, whatever result can be expected says so.
    confirms = _find_limit(chance_over, ends, sure)
    if chance_over(ends[0]) >= sure:
        confirms = ends[0]
    refutes = _find_limit(chance_over, ends, 1.0 - sure)
    if chance_over(ends[1]) < 1.0 - sure:
        refutes = ends[1]
    above = np.zeros(len(drawn))
    below = np.zeros(len(drawn))
    if confirms is not None:
        above = 1.0 - ndtr((confirms - middles) / log_sd)
    if refutes is not None:
        below = ndtr((refutes - middles) / log_sd)
    confirmed, refuted = float(above.mean()), float(below.mean())
    return Outlook(
        confirms_above_mg_m3=None if confirms is None else math.exp(confirms),
        refutes_below_mg_m3=None if refutes is None else math.exp(refutes),
        chance_confirmed=confirmed,
        chance_refuted=refuted,
        chance_open=max(1.0 - confirmed - refuted, 0.0),
        chance_wrong=float(np.where(over, below, above).mean()),
    )


def _find_limit(
    chance_over: Callable[[float], float], ends: tuple[float, float], wanted: float
) -> float | None:
    """Return where a chance that rises reaches a value; None where it never does."""
    low, high = ends
    if not chance_over(low) < wanted <= chance_over(high):
        return None
    for _ in range(60):
        middle = (low + high) / 2.0
        if chance_over(middle) < wanted:
            low = middle
        else:
            high = middle
    return high


def spread_places(weights: Sequence[float] | FloatArray, places: int) -> list[int]:
    """Return which cells a test should take, evenly by what each stands for.

    Parameters
    ----------
    weights : array_like, shape (n_cells,)
        Pay of the cells, in the order of a walk through them, 0 or more [-].
    places : int
        Wanted, 1 or more [-].

    Returns
    -------
    list of int
        Numbers of cells, each at most once; fewer where fewer hold pay.

    Raises
    ------
    ValueError
        No cell holds anything, or fewer than one place is wanted.

    Notes
    -----
    Systematic sampling: the middles of equal shares of all pay. Not the richest
    cells: a test of the best spot alone says nothing of the rest.

    Examples
    --------
    >>> spread_places([1.0, 1.0, 1.0, 1.0], 2)
    [0, 2]
    """
    pay = np.asarray(weights, dtype=np.float64)
    total = float(pay.sum())
    if places < 1 or not total > 0.0:
        msg = f"{places} places in cells that hold {total}; both must be above 0."
        raise ValueError(msg)
    wanted = (np.arange(places) + 0.5) / places * total
    found = np.searchsorted(np.cumsum(pay), wanted - 1e-9 * total)
    return [int(one) for one in np.unique(np.minimum(found, len(pay) - 1))]


def _wanted_variance(rel_error: float, sure: float) -> float:
    """Return the relative variance that an error and a sureness leave."""
    if not (rel_error > 0.0 and 0.0 < sure < 1.0):
        msg = (
            f"the error is {rel_error} and sure {sure}; the first is above 0, the "
            "second between 0 and 1."
        )
        raise ValueError(msg)
    return (rel_error / float(ndtri((1.0 + sure) / 2.0))) ** 2


def _fixed_variance(ground: GroundToTest) -> float:
    """Return what neither more volume nor more places take away."""
    return ground.volume_rel_sd**2 + ground.recovery_rel_sd**2
