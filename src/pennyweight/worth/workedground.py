"""Ground that was mined before: its own grade, apart from ground never touched.

What earlier people left is as a rule poorer and less even than what they took; a grade
carried over from virgin ground beside it would sell their work a second time.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.worth.rates import MeanRate, fit_mean_rate

FloatArray = npt.NDArray[np.float64]


def fit_grade_of_kind(
    bank_m3: npt.ArrayLike,
    colors: npt.ArrayLike,
    color_mg: npt.ArrayLike,
    *,
    recovery: npt.ArrayLike,
    place: npt.ArrayLike,
) -> MeanRate | None:
    """Return the mean grade of one kind of ground from the samples that lie in it.

    Parameters
    ----------
    bank_m3 : array_like, shape (n_samples,)
        Volume washed, above 0 [m3 bank].
    colors : array_like, shape (n_samples,)
        Colors seen, 0 or more [-].
    color_mg : array_like, shape (n_samples,)
        Mean mass of one, above 0 [mg].
    recovery : array_like, shape (n_samples,)
        Share of the colors that washing finds, above 0 [-].
    place : array_like of int, shape (n_samples,)
        Dig that each was taken from; samples of one dig are one place [-].

    Returns
    -------
    MeanRate or None
        Rates are grades [mg/m3 bank]; None without any sample.

    Raises
    ------
    ValueError
        A volume, mass or recovery is not above 0, or a count is below 0.

    Examples
    --------
    40 colors of 0.5 mg in 0.1 m3, all found, from one dig: about 200 mg/m3.

    >>> found = fit_grade_of_kind([0.1], [40.0], [0.5], recovery=[1.0], place=[0])
    >>> float(found.rates[0]) < 200.0 < float(found.rates[-1])
    True
    """
    bank, seen, mass, found = (
        np.asarray(one, dtype=np.float64)
        for one in (bank_m3, colors, color_mg, recovery)
    )
    if bank.size == 0:
        return None
    if not (np.all(bank > 0.0) and np.all(mass > 0.0) and np.all(found > 0.0)):
        msg = (
            f"volumes down to {bank.min()} m3, colors down to {mass.min()} mg, "
            f"recovery down to {found.min()}; all must be above 0."
        )
        raise ValueError(msg)
    _, at = np.unique(np.asarray(place), return_inverse=True)
    counts = np.bincount(at, weights=seen)
    exposure = np.bincount(at, weights=bank * found / mass)
    return fit_mean_rate(counts, exposure)


def regrade_worked(
    gold_mg: FloatArray,
    pay_m3: FloatArray,
    in_worked: npt.NDArray[np.bool_],
    *,
    grade_mg_m3: FloatArray,
) -> FloatArray:
    """Return gold of blocks with worked ground given its own grade.

    Parameters
    ----------
    gold_mg, pay_m3 : ndarray, shape (n_draws, n_horizons, n_rows, n_columns)
        As traced from ground around it [mg], and its pay [m3 bank].
    in_worked : ndarray of bool, shape (n_rows, n_columns)
        Which columns were mined before [-].
    grade_mg_m3 : ndarray, shape (n_draws,)
        Draws of the grade of worked ground [mg/m3 bank].

    Returns
    -------
    ndarray, shape (n_draws, n_horizons, n_rows, n_columns)
        Raw gold in place [mg]; columns that were not worked keep theirs.

    Raises
    ------
    ValueError
        There is not one grade a draw.

    Notes
    -----
    The gold of all horizons of a worked column is its pay volume times the grade: what
    was turned over lies in no horizon any more.

    Examples
    --------
    >>> gold, pay = np.full((1, 1, 1, 2), 900.0), np.full((1, 1, 1, 2), 2.0)
    >>> worked = np.array([[True, False]])
    >>> regrade_worked(gold, pay, worked, grade_mg_m3=np.array([50.0])).ravel().tolist()
    [100.0, 900.0]
    """
    if grade_mg_m3.shape != gold_mg.shape[:1]:
        msg = f"{grade_mg_m3.size} grades for {len(gold_mg)} draws; give one a draw."
        raise ValueError(msg)
    own = grade_mg_m3[:, None, None, None] * pay_m3
    return np.where(in_worked, own, gold_mg)
