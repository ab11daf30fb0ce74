"""How much to wash: how many colors, pans and digs an answer needs.

The grade that is asked about is a wish ("would I see 200 mg/m3?"), not a result.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtri

#: Colors that a sample should hold: with 20, the relative standard deviation of the
#: count is 22 %. Clifton et al. (1969), USGS Professional Paper 625-C.
ENOUGH_COLORS = 20.0


def expected_colors(
    grade_mg_m3: float, bank_m3: float, color_mg: float, *, recovery: float = 1.0
) -> float:
    """Return how many colors a sample of ground of that grade shows on average.

    Parameters
    ----------
    grade_mg_m3 : float
        Raw gold in place, 0 or more [mg/m3 bank].
    bank_m3 : float
        Volume washed, 0 or more [m3 bank].
    color_mg : float
        Mean mass of a color, above 0 [mg].
    recovery : float
        Share of the colors that washing finds [-].

    Returns
    -------
    float
        Expected number [-].

    Raises
    ------
    ValueError
        A value lies outside what is allowed.

    Examples
    --------
    200 mg/m3 in 5 liters, 0.17 mg a color:

    >>> round(expected_colors(200.0, 0.005, 0.17), 2)
    5.88
    """
    if not (grade_mg_m3 >= 0.0 and bank_m3 >= 0.0):
        msg = f"grade is {grade_mg_m3} mg/m3 in {bank_m3} m3; both are 0 or more."
        raise ValueError(msg)
    return grade_mg_m3 * bank_m3 * _share(recovery) / _above("color_mg", color_mg)


def chance_of_blank(colors: float, shape: float | None = None) -> float:
    """Return the chance that a sample shows no color at all.

    Parameters
    ----------
    colors : float
        Expected number, 0 or more [-].
    shape : float, optional
        Of the gamma distribution of grades from place to place [-]; else the ground
        is alike everywhere.

    Returns
    -------
    float
        Chance, 0 to 1 [-].

    Raises
    ------
    ValueError
        The number is below 0 or the shape not above 0.

    Notes
    -----
    exp(-n); with a shape k, the negative binomial's (1 + n / k)^-k.

    Examples
    --------
    >>> round(chance_of_blank(3.0), 4)
    0.0498
    """
    if not colors >= 0.0:
        msg = f"expected colors are {colors}; the number is 0 or more."
        raise ValueError(msg)
    if shape is None:
        return math.exp(-colors)
    return float((1.0 + colors / _above("shape", shape)) ** -shape)


def volume_for_colors_m3(
    grade_mg_m3: float, color_mg: float, *, colors: float = ENOUGH_COLORS
) -> float:
    """Return the bank volume that holds a number of colors.

    Parameters
    ----------
    grade_mg_m3 : float
        Raw gold in place, above 0 [mg/m3 bank].
    color_mg : float
        Mean mass of a color, above 0 [mg].
    colors : float
        Wanted, above 0 [-].

    Returns
    -------
    float
        Volume [m3 bank].

    References
    ----------
    Clifton et al. (1969), USGS Professional Paper 625-C: 20 particles.

    Examples
    --------
    Spheres of 0.5 mm, 1.145 mg each, at 200 mg/m3:

    >>> round(volume_for_colors_m3(200.0, 1.1454), 4)
    0.1145
    """
    grade = _above("grade_mg_m3", grade_mg_m3)
    return _above("colors", colors) * _above("color_mg", color_mg) / grade


def colors_for_error(
    rel_error: float, *, probability: float = 0.80, color_cv: float = 0.0
) -> float:
    """Return how many colors keep a grade within a relative error.

    Parameters
    ----------
    rel_error : float
        Wanted half-width over the grade, above 0 [-].
    probability : float
        With which the grade lies within it, between 0 and 1 [-].
    color_cv : float
        Coefficient of variation of the mass of one color, 0 or more [-].

    Returns
    -------
    float
        Number of colors [-].

    Notes
    -----
    n = (z / e)^2 (1 + cv^2), from the variance of a compound Poisson total; normal
    approximation, good from about 20 colors up.

    Examples
    --------
    Within 22.4 % two times in three, of equal colors: 20 of them.

    >>> round(colors_for_error(0.2236, probability=0.6827), 1)
    20.0
    """
    if not 0.0 < probability < 1.0:
        msg = f"probability is {probability}; it lies between 0 and 1."
        raise ValueError(msg)
    score = float(ndtri((1.0 + probability) / 2.0))
    return (score / _above("rel_error", rel_error)) ** 2 * (1.0 + color_cv**2)


def pans_for_error(
    rel_error: float,
    colors_per_pan: float,
    *,
    probability: float = 0.80,
    color_cv: float = 0.0,
) -> float:
    """Return how many pans keep a grade within a relative error.

    Parameters
    ----------
    rel_error : float
        Wanted half-width over the grade, above 0 [-].
    colors_per_pan : float
        Expected in one pan at the grade that is asked about, above 0 [-].
    probability : float
        With which the grade lies within it [-].
    color_cv : float
        Coefficient of variation of the mass of one color [-].

    Returns
    -------
    float
        Number of pans [-].

    Examples
    --------
    >>> round(pans_for_error(0.2236, 2.0, probability=0.6827), 1)
    10.0
    """
    needed = colors_for_error(rel_error, probability=probability, color_cv=color_cv)
    return needed / _above("colors_per_pan", colors_per_pan)


def blank_pans_to_clear(colors_per_pan: float, probability: float = 0.95) -> float:
    """Return how many pans without a color rule out ground of a grade.

    Parameters
    ----------
    colors_per_pan : float
        Expected in one pan at that grade, above 0 [-].
    probability : float
        With which it is ruled out, between 0 and 1 [-].

    Returns
    -------
    float
        Number of pans [-].

    Examples
    --------
    Where one color in a pan is expected, three blank pans do:

    >>> round(blank_pans_to_clear(1.0), 1)
    3.0
    """
    if not 0.0 < probability < 1.0:
        msg = f"probability is {probability}; it lies between 0 and 1."
        raise ValueError(msg)
    return -math.log1p(-probability) / _above("colors_per_pan", colors_per_pan)


@dataclass(frozen=True, slots=True)
class NextStep:
    """What one more pan in every dig, or one more dig, would bring.

    Attributes
    ----------
    rel_sd : float
        Of the ground's mean grade now [-].
    rel_sd_more_pans, rel_sd_more_digs : float
        With one more pan in each dig; with one more dig [-].
    pan_gain_per_hour, dig_gain_per_hour : float
        Relative variance taken off for each hour of work [1/h].
    best_pans : float
        Pans a dig that bring most for the hours [-].
    """

    rel_sd: float
    rel_sd_more_pans: float
    rel_sd_more_digs: float
    pan_gain_per_hour: float
    dig_gain_per_hour: float
    best_pans: float


def weigh_pan_against_dig(
    between_rel_sd: float,
    pan_rel_sd: float,
    *,
    digs: int,
    pans: float,
    hours_per_dig: float,
    hours_per_pan: float,
) -> NextStep:
    """Return whether one more pan or one more dig tells more for its hours.

    Parameters
    ----------
    between_rel_sd : float
        Relative standard deviation of grade from dig to dig, above 0 [-].
    pan_rel_sd : float
        Of one pan about its dig's grade, above 0 [-].
    digs : int
        Digs so far, 1 or more [-].
    pans : float
        Pans in each, above 0 [-].
    hours_per_dig : float
        To open one, without panning, above 0 [h].
    hours_per_pan : float
        To wash one, above 0 [h].

    Returns
    -------
    NextStep
        Both, and the best number of pans.

    Raises
    ------
    ValueError
        A value is not above 0.

    Notes
    -----
    Two-stage sampling: variance = (between^2 + pan^2 / pans) / digs; the best number
    of pans is pan / between x sqrt(hours of a dig / hours of a pan).

    References
    ----------
    Cochran (1977), Sampling Techniques, 3rd ed., section 10.6, from memory;
    docs/sources.md "two-stage sampling".

    Examples
    --------
    >>> step = weigh_pan_against_dig(
    ...     1.0, 1.0, digs=4, pans=1.0, hours_per_dig=4.0, hours_per_pan=0.25
    ... )
    >>> step.best_pans
    4.0
    """
    between = _above("between_rel_sd", between_rel_sd)
    within = _above("pan_rel_sd", pan_rel_sd)
    n_digs, n_pans = _above("digs", float(digs)), _above("pans", pans)
    dig_h = _above("hours_per_dig", hours_per_dig)
    pan_h = _above("hours_per_pan", hours_per_pan)

    def variance(some_digs: float, some_pans: float) -> float:
        return (between**2 + within**2 / some_pans) / some_digs

    now = variance(n_digs, n_pans)
    more_pans, more_digs = (
        variance(n_digs, n_pans + 1.0),
        variance(n_digs + 1.0, n_pans),
    )
    return NextStep(
        rel_sd=math.sqrt(now),
        rel_sd_more_pans=math.sqrt(more_pans),
        rel_sd_more_digs=math.sqrt(more_digs),
        pan_gain_per_hour=(now - more_pans) / (n_digs * pan_h),
        dig_gain_per_hour=(now - more_digs) / (dig_h + n_pans * pan_h),
        best_pans=within / between * math.sqrt(dig_h / pan_h),
    )


def _above(name: str, value: float) -> float:
    """Return a value that must be above 0."""
    if not value > 0.0:
        msg = f"{name} is {value}; it must be above 0."
        raise ValueError(msg)
    return value


def _share(recovery: float) -> float:
    """Return a recovery that must be a share."""
    if not 0.0 < recovery <= 1.0:
        msg = f"recovery is {recovery}; it lies above 0 and up to 1."
        raise ValueError(msg)
    return recovery
