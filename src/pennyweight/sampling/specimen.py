"""Gold in the hand: specimens weighed in air and water, fineness, value.

Raw gold is gold as it is found, alloyed with silver; fine gold is pure.
"""

from __future__ import annotations

from pennyweight.units import CUBIC_YARD_M3, TROY_OUNCE_MG

#: Densities [g/cm3]; docs/sources.md "gold density", "quartz density".
GOLD_G_CM3, QUARTZ_G_CM3, WATER_G_CM3 = 19.3, 2.65, 1.0
KARATS = 24.0


def gold_in_quartz_g(
    in_air_g: float,
    in_water_g: float,
    *,
    gold_g_cm3: float = GOLD_G_CM3,
    rock_g_cm3: float = QUARTZ_G_CM3,
    water_g_cm3: float = WATER_G_CM3,
) -> float:
    """Return the gold (alloy) of a quartz specimen from two weighings.

    Very sensitive: 0.1 g at the balance is 0.3 g of gold. Holes in the rock hide
    gold, heavy sulfides and ironstone feign it.

    Parameters
    ----------
    in_air_g, in_water_g : float
        Weight dry, and hung in water [g].
    gold_g_cm3 : float
        Density of the gold, 19.3 when pure [g/cm3].
    rock_g_cm3 : float
        Density of the rock [g/cm3].
    water_g_cm3 : float
        Density of the water [g/cm3].

    Returns
    -------
    float
        Gold of that density [g]; below 0 where the rock is lighter than supposed.

    Raises
    ------
    ValueError
        The weight in water is not between 0 and that in air, or the rock is not
        lighter than the gold.

    Notes
    -----
    Volume V = (air - water) / water density; gold = gold density x (air - rock
    density x V) / (gold density - rock density).

    References
    ----------
    Archimedes; docs/sources.md "gold in quartz".

    Examples
    --------
    >>> round(gold_in_quartz_g(100.0, 80.0), 4)
    54.4805
    """
    if not 0.0 < in_water_g < in_air_g:
        msg = (
            f"it weighs {in_air_g} g in air and {in_water_g} g in water; the second is "
            "above 0 and below the first."
        )
        raise ValueError(msg)
    if not rock_g_cm3 < gold_g_cm3:
        msg = f"rock is {rock_g_cm3} g/cm3; it must be lighter than the gold."
        raise ValueError(msg)
    volume_cm3 = (in_air_g - in_water_g) / water_g_cm3
    excess = in_air_g - rock_g_cm3 * volume_cm3
    return gold_g_cm3 * excess / (gold_g_cm3 - rock_g_cm3)


def specific_gravity(
    in_air_g: float, in_water_g: float, water_g_cm3: float = WATER_G_CM3
) -> float:
    """Return the density of a piece from its weight in air and in water.

    Parameters
    ----------
    in_air_g, in_water_g : float
        Weights, the second below the first [g].
    water_g_cm3 : float
        Density of the water [g/cm3].

    Returns
    -------
    float
        Density [g/cm3].

    Raises
    ------
    ValueError
        It does not lose weight in water.

    Examples
    --------
    >>> specific_gravity(26.5, 16.5)
    2.65
    """
    if not in_water_g < in_air_g:
        msg = f"it weighs {in_water_g} g in water, in air {in_air_g} g; it must lose."
        raise ValueError(msg)
    return in_air_g / (in_air_g - in_water_g) * water_g_cm3


def gold_share_of_density(
    density_g_cm3: float,
    *,
    gold_g_cm3: float = GOLD_G_CM3,
    rock_g_cm3: float = QUARTZ_G_CM3,
) -> float:
    """Return the share of gold, by weight, in a mixture of that density.

    Parameters
    ----------
    density_g_cm3 : float
        Of the whole piece [g/cm3].
    gold_g_cm3, rock_g_cm3 : float
        Of its two parts [g/cm3].

    Returns
    -------
    float
        Gold over the whole, by weight [-].

    Raises
    ------
    ValueError
        The density does not lie between those of the parts.

    Examples
    --------
    >>> round(gold_share_of_density(12.3, rock_g_cm3=2.66), 4)
    0.909
    """
    if not rock_g_cm3 <= density_g_cm3 <= gold_g_cm3:
        msg = (
            f"density is {density_g_cm3} g/cm3; between {rock_g_cm3} and {gold_g_cm3} "
            "it can be a mixture of the two."
        )
        raise ValueError(msg)
    share = gold_g_cm3 / (gold_g_cm3 - rock_g_cm3)
    return share * (1.0 - rock_g_cm3 / density_g_cm3)


def fine_mg(raw_mg: float, fineness: float) -> float:
    """Return the fine gold in raw gold.

    Parameters
    ----------
    raw_mg : float
        Raw gold [mg].
    fineness : float
        Parts of gold in 1000 [-].

    Returns
    -------
    float
        Fine gold [mg].

    Raises
    ------
    ValueError
        The fineness is not from 0 to 1000.

    Examples
    --------
    >>> fine_mg(10.0, 885.0)
    8.85
    """
    if not 0.0 <= fineness <= 1000.0:
        msg = f"fineness is {fineness}; it lies from 0 to 1000 parts in 1000."
        raise ValueError(msg)
    return raw_mg * fineness / 1000.0


def fineness_of_karats(karats: float) -> float:
    """Return the fineness of a karat number.

    Parameters
    ----------
    karats : float
        From 0 to 24 [-].

    Returns
    -------
    float
        Parts of gold in 1000 [-].

    Raises
    ------
    ValueError
        There are no such karats.

    Examples
    --------
    >>> round(fineness_of_karats(22.0), 2)
    916.67
    """
    if not 0.0 <= karats <= KARATS:
        msg = f"karats are {karats}; pure gold has 24."
        raise ValueError(msg)
    return karats / KARATS * 1000.0


def value_per_yard(grade_mg_m3: float, fineness: float, price_per_ozt: float) -> float:
    """Return the value of the gold in a cubic yard of ground.

    An old value by the yard means nothing without its gold price.

    Parameters
    ----------
    grade_mg_m3 : float
        Raw gold in place [mg/m3 bank].
    fineness : float
        Parts of gold in 1000 [-].
    price_per_ozt : float
        Of fine gold [currency/ozt].

    Returns
    -------
    float
        Value of a bank cubic yard [currency/yd3].

    References
    ----------
    Exact units of 1959; docs/sources.md "units".

    Examples
    --------
    >>> round(value_per_yard(100.0, 885.0, 35.0) * 100.0, 4)
    7.614
    """
    fine = fine_mg(grade_mg_m3 * CUBIC_YARD_M3, fineness)
    return fine * price_per_ozt / TROY_OUNCE_MG


def grade_of_volume_share(share: float, gold_g_cm3: float = GOLD_G_CM3) -> float:
    """Return the grade of ground that is gold to that share of its volume.

    Parameters
    ----------
    share : float
        Volume of gold over that of the ground [-].
    gold_g_cm3 : float
        Density of the gold [g/cm3].

    Returns
    -------
    float
        Grade [mg/m3 bank].

    Examples
    --------
    One part in a hundred million:

    >>> round(grade_of_volume_share(1e-8), 6)
    193.0
    """
    return share * gold_g_cm3 * 1e9
