"""The grade at which ground just pays, and the ratios beside it.

Costs are in the ground's currency. Volumes are bank volumes.
"""

from __future__ import annotations

MG_IN_G = 1000.0


def break_even_grade_mg_m3(
    cost_per_m3: float,
    price_per_g: float,
    *,
    fineness: float,
    recovery: float,
    payable: float = 1.0,
) -> float:
    """Return the raw gold in place that just pays for washing the gravel.

    Parameters
    ----------
    cost_per_m3 : float
        All costs for each bank m3 of pay, stripping included, 0 or more
        [currency/m3].
    price_per_g : float
        Of fine gold, above 0 [currency/g].
    fineness : float
        Parts of gold in 1000 of raw gold, above 0 [-].
    recovery : float
        Share of the raw gold that the plant keeps, above 0 [-].
    payable : float
        Share of its value that is paid after refining and royalty, above 0 [-].

    Returns
    -------
    float
        Grade of the pay [mg/m3 bank].

    Raises
    ------
    ValueError
        A value lies outside what is allowed.

    Notes
    -----
    cost / (price x fineness x recovery x payable); an identity.

    References
    ----------
    docs/sources.md, entry "break-even grade".

    Examples
    --------
    >>> grade = break_even_grade_mg_m3(8.0, 60.0, fineness=850.0, recovery=0.75)
    >>> round(grade, 2)
    209.15
    """
    if not cost_per_m3 >= 0.0:
        msg = f"cost_per_m3 is {cost_per_m3}; a cost is 0 or more."
        raise ValueError(msg)
    value = value_per_mg(
        price_per_g, fineness=fineness, recovery=recovery, payable=payable
    )
    return cost_per_m3 / value


def value_per_mg(
    price_per_g: float, *, fineness: float, recovery: float, payable: float = 1.0
) -> float:
    """Return what one milligram of raw gold in place brings in.

    Parameters
    ----------
    price_per_g : float
        Of fine gold, above 0 [currency/g].
    fineness : float
        Parts of gold in 1000 of raw gold, above 0 [-].
    recovery : float
        Share of the raw gold that the plant keeps, above 0 [-].
    payable : float
        Share of its value that is paid, above 0 [-].

    Returns
    -------
    float
        Money for each milligram [currency/mg].

    Raises
    ------
    ValueError
        A value lies outside what is allowed.

    Examples
    --------
    >>> value_per_mg(60.0, fineness=850.0, recovery=0.75)
    0.03825
    """
    if not price_per_g > 0.0:
        msg = f"price_per_g is {price_per_g}; a price is above 0."
        raise ValueError(msg)
    if not 0.0 < fineness <= 1000.0:
        msg = f"fineness is {fineness}; it lies above 0 and up to 1000."
        raise ValueError(msg)
    for name, share in (("recovery", recovery), ("payable", payable)):
        if not 0.0 < share <= 1.0:
            msg = f"{name} is {share}; a share lies above 0 and up to 1."
            raise ValueError(msg)
    return price_per_g * fineness / 1000.0 * recovery * payable / MG_IN_G


def strip_ratio(overburden_m: float, pay_m: float) -> float:
    """Return how much cover lies over each unit of pay.

    Parameters
    ----------
    overburden_m : float
        Thickness of the cover, 0 or more [m].
    pay_m : float
        Thickness of the pay, above 0 [m].

    Returns
    -------
    float
        Overburden over pay [-].

    Raises
    ------
    ValueError
        A thickness lies outside what is allowed.

    Examples
    --------
    >>> strip_ratio(3.0, 1.2)
    2.5
    """
    if not (overburden_m >= 0.0 and pay_m > 0.0):
        msg = (
            f"overburden is {overburden_m} m over {pay_m} m of pay; the cover is 0 m "
            "or more and the pay above 0 m."
        )
        raise ValueError(msg)
    return overburden_m / pay_m


def break_even_strip_ratio(
    value_per_m3: float, wash_per_m3: float, strip_per_m3: float
) -> float:
    """Return the strip ratio at which pay of that value just pays.

    Parameters
    ----------
    value_per_m3 : float
        What a bank m3 of pay brings in [currency/m3].
    wash_per_m3 : float
        What washing it costs [currency/m3].
    strip_per_m3 : float
        What moving a bank m3 of cover costs, above 0 [currency/m3].

    Returns
    -------
    float
        Overburden over pay [-]; below 0 where washing alone does not pay.

    Raises
    ------
    ValueError
        Stripping costs nothing.

    References
    ----------
    docs/sources.md, entry "break-even strip ratio".

    Examples
    --------
    >>> break_even_strip_ratio(14.0, 8.0, 2.0)
    3.0
    """
    if not strip_per_m3 > 0.0:
        msg = f"strip_per_m3 is {strip_per_m3}; it must be above 0 for a ratio."
        raise ValueError(msg)
    return (value_per_m3 - wash_per_m3) / strip_per_m3


def diluted_grade_mg_m3(grade_mg_m3: float, pay_m: float, barren_m: float) -> float:
    """Return the grade once barren ground is taken along with the pay.

    Parameters
    ----------
    grade_mg_m3 : float
        Of the pay [mg/m3 bank].
    pay_m : float
        Its thickness, above 0 [m].
    barren_m : float
        Thickness of the barren ground taken along, 0 or more [m].

    Returns
    -------
    float
        Grade of both together [mg/m3 bank].

    Raises
    ------
    ValueError
        A thickness lies outside what is allowed.

    Examples
    --------
    >>> round(diluted_grade_mg_m3(300.0, 1.2, 3.0), 2)
    85.71
    """
    if not (pay_m > 0.0 and barren_m >= 0.0):
        msg = (
            f"{barren_m} m of barren ground on {pay_m} m of pay; the pay is above 0 m "
            "and the barren ground 0 m or more."
        )
        raise ValueError(msg)
    return grade_mg_m3 * pay_m / (pay_m + barren_m)
