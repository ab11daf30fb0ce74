"""Gold of one area diluted by the sediment of a whole catchment."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def diluted_value(
    source: npt.ArrayLike,
    everywhere: npt.ArrayLike,
    source_km2: npt.ArrayLike,
    *,
    catchment_km2: npt.ArrayLike,
) -> FloatArray:
    """Return what the sediment of a catchment holds below a source.

    Parameters
    ----------
    source, everywhere : array_like
        Content of what the source's area gives, and of all other ground, in any one
        unit [-].
    source_km2, catchment_km2 : array_like
        Area of the source, and whole catchment above the place [km2].

    Returns
    -------
    ndarray
        Content, in the same unit.

    Notes
    -----
    Mass balance of equal yield: A_t Y_t = A_a Y_a + (A_t - A_a) Y_b.

    References
    ----------
    Hawkes (1976), Journal of Geochemical Exploration 6: 345-358, from memory;
    docs/sources.md "dilution".

    Examples
    --------
    >>> round(float(diluted_value(500.0, 5.0, 0.2, catchment_km2=10.0)), 6)
    14.9
    """
    own = np.asarray(source_km2, np.float64)
    whole = np.asarray(catchment_km2, np.float64)
    held = own * np.asarray(source, np.float64)
    held = held + (whole - own) * np.asarray(everywhere, np.float64)
    return np.asarray(held / whole)


def source_value(
    diluted: npt.ArrayLike,
    everywhere: npt.ArrayLike,
    source_km2: npt.ArrayLike,
    *,
    catchment_km2: npt.ArrayLike,
) -> FloatArray:
    """Return what a source must hold to give what was found below it.

    Parameters
    ----------
    diluted, everywhere : array_like
        Content found, and of all other ground, in any one unit [-].
    source_km2, catchment_km2 : array_like
        Area of the source, and whole catchment above the place [km2].

    Returns
    -------
    ndarray
        Content of the source, in the same unit.

    References
    ----------
    Hawkes (1976); Bonham-Carter and Goodfellow (1986), Journal of Geochemical
    Exploration 25: 33-52; docs/sources.md "dilution".

    Examples
    --------
    >>> round(float(source_value(14.9, 5.0, 0.2, catchment_km2=10.0)), 6)
    500.0
    """
    base = np.asarray(everywhere, np.float64)
    excess = np.asarray(diluted, np.float64) - base
    area_ratio = np.asarray(catchment_km2, np.float64) / np.asarray(
        source_km2, np.float64
    )
    return np.asarray(area_ratio * excess + base)


def mixed_value(area_km2: npt.ArrayLike, content: npt.ArrayLike) -> float:
    """Return the content of the sediment of several areas that come together.

    Parameters
    ----------
    area_km2 : array_like, shape (n_areas,)
        Areas [km2].
    content : array_like, shape (n_areas,)
        Of each, in any one unit [-].

    Returns
    -------
    float
        Mean by area, in the same unit.

    References
    ----------
    Carranza (2009), Handbook of Exploration and Environmental Geochemistry 11, eq. 5.7,
    p. 119; docs/sources.md "dilution".

    Examples
    --------
    >>> mixed_value([4.0, 6.0], [30.0, 5.0])
    15.0
    """
    area = np.asarray(area_km2, np.float64)
    return float(area @ np.asarray(content, np.float64) / area.sum())
