"""Shape of a gold grain: flatness, roundness, size class; axes a >= b >= c in mm."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: Named roundness -> 0 to 1, middles of the classes of Powers (1953), from memory;
#: docs/sources.md "roundness classes". Trade words beside them are ours.
ROUNDNESS_OF = {
    "very angular": 0.15,
    "angular": 0.21,
    "subangular": 0.30,
    "subrounded": 0.42,
    "rounded": 0.59,
    "well rounded": 0.85,
    "spiky": 0.15,
    "wire": 0.15,
    "rough": 0.21,
    "smooth": 0.59,
    "worn": 0.59,
    "round": 0.70,
}


def cailleux_flatness(
    long_mm: npt.ArrayLike, middle_mm: npt.ArrayLike, short_mm: npt.ArrayLike
) -> FloatArray:
    """Return Cailleux's flatness, 1 for a ball.

    Parameters
    ----------
    long_mm, middle_mm, short_mm : array_like
        Axes [mm]; nan where not measured.

    Returns
    -------
    ndarray
        (a + b) / 2c [-].

    References
    ----------
    Cailleux (1945), from memory; docs/sources.md "flatness of grains".

    Examples
    --------
    >>> round(float(cailleux_flatness(1.2, 0.8, 0.3)), 3)
    3.333
    """
    total = np.asarray(long_mm, np.float64) + np.asarray(middle_mm, np.float64)
    return np.asarray(total / (2.0 * np.asarray(short_mm, np.float64)))


def corey_shape(
    long_mm: npt.ArrayLike, middle_mm: npt.ArrayLike, short_mm: npt.ArrayLike
) -> FloatArray:
    """Return Corey's shape factor: 1 for a ball, near 0 for a leaf.

    Parameters
    ----------
    long_mm, middle_mm, short_mm : array_like
        Axes [mm]; nan where not measured.

    Returns
    -------
    ndarray
        c / sqrt(a b) [-].

    References
    ----------
    Macdonald (2007), Handbook of Gold Exploration and Evaluation, eq. 4.3, p. 203;
    docs/sources.md "flatness of grains".

    Examples
    --------
    >>> round(float(corey_shape(1.2, 0.8, 0.3)), 4)
    0.3062
    """
    product = np.asarray(long_mm, np.float64) * np.asarray(middle_mm, np.float64)
    return np.asarray(np.asarray(short_mm, np.float64) / np.sqrt(product))


def roundness_of(text: str | None) -> float:
    """Return a roundness as written, from 0 to 1.

    Parameters
    ----------
    text : str or None
        A number from 0 to 1, or a named class.

    Returns
    -------
    float
        Roundness [-]; nan where nothing is written that is understood.

    Examples
    --------
    >>> roundness_of("0.4"), roundness_of("well-rounded")
    (0.4, 0.85)
    """
    if text is None:
        return float("nan")
    word = text.strip().lower().replace("-", " ").replace("_", " ")
    if word in ROUNDNESS_OF:
        return ROUNDNESS_OF[word]
    try:
        value = float(word.replace(",", "."))
    except ValueError:
        return ROUNDNESS_OF.get(word.replace(" ", ""), float("nan"))
    return value if 0.0 <= value <= 1.0 else float("nan")


def rim_class(text: str | None) -> int:
    """Return how far a rim has come: 0 none or porous, 1 between, 2 compact.

    Parameters
    ----------
    text : str or None
        The user's word.

    Returns
    -------
    int
        Class [-]; -1 where nothing is written that is understood.
    """
    word = (text or "").strip().lower()
    if any(one in word for one in ("compact", "thick", "full")):
        return 2
    if any(one in word for one in ("thin", "partly", "patch")):
        return 1
    return 0 if any(one in word for one in ("none", "no", "porous")) else -1


def attached_class(text: str | None) -> int:
    """Return whether host rock is left on a grain: 0 it is, 1 it is not.

    Parameters
    ----------
    text : str or None
        The user's word: quartz, iron, none.

    Returns
    -------
    int
        Class [-]; -1 where nothing is written.
    """
    word = (text or "").strip().lower()
    if not word:
        return -1
    return 1 if word in {"none", "no", "clean"} else 0
