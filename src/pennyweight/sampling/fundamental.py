"""How small a charge may be: sampling errors of gold-bearing concentrates.

For material that is weighed and split, not counted: concentrates, crushed rock.
"""

from __future__ import annotations

import math

from pennyweight.sampling.adequacy import ENOUGH_COLORS
from pennyweight.sampling.gold import FLAKE_THICKNESS_SHARE, flake_mass_mg


def mineral_factor_g_cm3(
    mineral_share: float, mineral_g_cm3: float, gangue_g_cm3: float
) -> float:
    """Return Gy's mineralogical factor.

    Parameters
    ----------
    mineral_share : float
        Mass of the valuable mineral over that of the whole, between 0 and 1 [-].
    mineral_g_cm3, gangue_g_cm3 : float
        Densities [g/cm3].

    Returns
    -------
    float
        Factor m [g/cm3].

    Raises
    ------
    ValueError
        The share is not between 0 and 1.

    Notes
    -----
    m = (1 - a) / a x ((1 - a) mineral + a gangue).

    References
    ----------
    Gy (1979), as worked by Wills (1982); docs/sources.md "fundamental error".

    Examples
    --------
    >>> round(mineral_factor_g_cm3(0.05 / 0.866, 7.5, 2.65), 2)
    117.83
    """
    if not 0.0 < mineral_share < 1.0:
        msg = f"mineral_share is {mineral_share}; it lies between 0 and 1."
        raise ValueError(msg)
    rest = 1.0 - mineral_share
    return rest / mineral_share * (rest * mineral_g_cm3 + mineral_share * gangue_g_cm3)


def liberation_factor(top_size_cm: float, liberation_cm: float) -> float:
    """Return how far the mineral is freed from its rock at that size.

    Parameters
    ----------
    top_size_cm : float
        Opening that passes nearly all of it, above 0 [cm].
    liberation_cm : float
        Size at which the mineral is free, above 0 [cm].

    Returns
    -------
    float
        sqrt(liberation / top size), 1 where it is finer [-].

    References
    ----------
    Gy (1979); docs/sources.md "fundamental error".

    Examples
    --------
    >>> liberation_factor(0.6, 0.15)
    0.5
    """
    return min(1.0, math.sqrt(liberation_cm / top_size_cm))


def fundamental_rel_sd(
    charge_g: float, top_size_cm: float, factor_g_cm3: float, *, lot_g: float = math.inf
) -> float:
    """Return Gy's fundamental error of one charge.

    Parameters
    ----------
    charge_g : float
        Mass of the charge, above 0 [g].
    top_size_cm : float
        Opening that passes nearly all of it [cm].
    factor_g_cm3 : float
        Product of shape, grading, liberation and mineral factors: C = f g l m [g/cm3].
    lot_g : float
        Mass of what it is taken from [g].

    Returns
    -------
    float
        Relative standard deviation [-].

    Raises
    ------
    ValueError
        The charge is not above 0, or larger than its lot.

    Notes
    -----
    variance = C d^3 (1 / charge - 1 / lot). For free gold with f = pi / 6 and the
    rest 1 this is 1 / (number of grains): the Poisson law again.

    References
    ----------
    Gy (1979), Sampling of Particulate Materials; docs/sources.md "fundamental error".

    Examples
    --------
    >>> round(fundamental_rel_sd(100.0, 0.1, 100.0), 4)
    0.0316
    """
    if not 0.0 < charge_g <= lot_g:
        msg = f"charge is {charge_g} g of a lot of {lot_g} g; above 0 and no larger."
        raise ValueError(msg)
    return math.sqrt(factor_g_cm3 * top_size_cm**3 * (1.0 / charge_g - 1.0 / lot_g))


def charge_for_error_g(
    rel_sd: float, top_size_cm: float, factor_g_cm3: float, *, safety: float = 1.0
) -> float:
    """Return the charge that keeps Gy's fundamental error to a wanted size.

    Parameters
    ----------
    rel_sd : float
        Wanted relative standard deviation, above 0 [-].
    top_size_cm : float
        Opening that passes nearly all of it [cm].
    factor_g_cm3 : float
        C = f g l m [g/cm3].
    safety : float
        Multiplier of the mass [-].

    Returns
    -------
    float
        Mass, from a lot that is far larger [g].

    Raises
    ------
    ValueError
        The wanted error is not above 0.

    References
    ----------
    Gy (1979), worked by Wills (1982); docs/sources.md "fundamental error".

    Examples
    --------
    >>> round(charge_for_error_g(0.1, 0.1, 100.0), 6)
    10.0
    """
    if not rel_sd > 0.0:
        msg = f"rel_sd is {rel_sd}; an error of 0 needs the whole lot."
        raise ValueError(msg)
    return safety * factor_g_cm3 * top_size_cm**3 / rel_sd**2


def least_grade_ppm(
    charge_g: float,
    diameter_mm: float,
    density_g_cm3: float,
    *,
    thickness_share: float = FLAKE_THICKNESS_SHARE,
) -> float:
    """Return the grade from which a charge holds enough flakes to be trusted.

    Parameters
    ----------
    charge_g : float
        Mass of the charge, above 0 [g].
    diameter_mm : float
        Of the flakes, above 0 [mm].
    density_g_cm3 : float
        Of the gold [g/cm3].
    thickness_share : float
        Thickness over diameter [-].

    Returns
    -------
    float
        Grams of gold in a ton [g/t].

    References
    ----------
    Clifton et al. (1969), USGS Professional Paper 625-C: 20 particles;
    docs/sources.md "flake".

    Examples
    --------
    >>> round(least_grade_ppm(50.0, 0.177, 17.0), 2)
    2.96
    """
    flake = flake_mass_mg(diameter_mm, density_g_cm3, thickness_share)
    return ENOUGH_COLORS * flake / charge_g * 1000.0


def mass_for_sampling_constant_g(
    rel_error: float, known_rel_error: float, known_g: float
) -> float:
    """Return the mass for a wanted error, from one error that was measured.

    Parameters
    ----------
    rel_error : float
        Wanted, above 0 [-].
    known_rel_error : float
        Measured [-].
    known_g : float
        At this mass [g].

    Returns
    -------
    float
        Mass [g].

    Notes
    -----
    K = R^2 w is constant for one material.

    References
    ----------
    Ingamells and Switzer (1973), Talanta 20: 547-568, from memory; docs/sources.md
    "sampling constant".

    Examples
    --------
    >>> mass_for_sampling_constant_g(0.05, 0.10, 50.0)
    200.0
    """
    return known_rel_error**2 * known_g / rel_error**2
