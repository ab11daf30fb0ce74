"""How sure a number is: the 10, 50 and 90 % points of what it may be, and its mean.

An interval in this program is always the middle 80 %: from p10 to p90.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: The fixed scale of words for a probability: (above this, word).
PROBABILITY_WORDS = (
    (0.95, "almost certain"),
    (0.85, "very likely"),
    (0.65, "likely"),
    (0.35, "about even"),
    (0.15, "unlikely"),
    (0.05, "very unlikely"),
    (-1.0, "almost ruled out"),
)


@dataclass(frozen=True, slots=True)
class Spread:
    """What an uncertain quantity may be, in the unit that its name carries.

    Attributes
    ----------
    p10, p50, p90 : float
        Points below which the quantity lies with 10, 50 and 90 % probability.
    mean : float
        Expected value.
    """

    p10: float
    p50: float
    p90: float
    mean: float

    def scaled(self, factor: float) -> Spread:
        """Return the spread of the quantity times a factor that is exactly known.

        Parameters
        ----------
        factor : float
            Multiplier, 0 or more [-].

        Returns
        -------
        Spread
            In the new unit.
        """
        if factor < 0.0:
            msg = f"factor is {factor}; a spread is scaled by 0 or more."
            raise ValueError(msg)
        return Spread(
            self.p10 * factor, self.p50 * factor, self.p90 * factor, self.mean * factor
        )

    def half_width_share(self) -> float:
        """Return half the 80 % interval over the median [-]; inf at median zero.

        Returns
        -------
        float
            The relative half-width [-].
        """
        if self.p50 == 0.0:
            return float("inf")
        return (self.p90 - self.p10) / 2.0 / self.p50

    def as_json(self) -> dict[str, float]:
        """Return the object that answers print.

        Returns
        -------
        dict
            Keys p10, p50, p90, mean.
        """
        return {"p10": self.p10, "p50": self.p50, "p90": self.p90, "mean": self.mean}


def spread_of(draws: npt.ArrayLike) -> Spread | None:
    """Return the spread of equally likely draws.

    Parameters
    ----------
    draws : array_like, shape (n_draws,)
        Values in any one unit [-]; nan where the quantity does not exist in a draw.

    Returns
    -------
    Spread or None
        In the unit of the draws; None when no draw holds a number.

    Examples
    --------
    >>> spread_of([1.0, 2.0, 3.0]).p50
    2.0
    >>> spread_of([]) is None
    True
    """
    values = np.asarray(draws, dtype=np.float64)
    values = values[np.isfinite(values)]
    if values.size == 0:
        return None
    p10, p50, p90 = np.quantile(values, (0.1, 0.5, 0.9))
    return Spread(float(p10), float(p50), float(p90), float(values.mean()))


def probability_word(probability: float) -> str:
    """Return the fixed word for a probability.

    Parameters
    ----------
    probability : float
        Between 0 and 1 [-].

    Returns
    -------
    str
        One of the words of `PROBABILITY_WORDS`.

    Raises
    ------
    ValueError
        The probability is not between 0 and 1.

    Examples
    --------
    >>> probability_word(0.9)
    'very likely'
    """
    if not 0.0 <= probability <= 1.0:
        msg = f"probability is {probability}; it must lie between 0 and 1."
        raise ValueError(msg)
    return next(word for above, word in PROBABILITY_WORDS if probability > above)
