"""What each sample says about the gold of its place: counts, exposure, mean mass.

The count carries how many colors a cubic meter holds, the mean mass how much gold a
color is. Both are shrunk toward the ground's as far as the sample has few colors.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from pennyweight.sampling.classes import UNSIZED, parse_class
from pennyweight.sampling.gold import (
    PLACE_LOG_SD,
    PLACE_LOG_SD_UNSIZED,
    WEIGHING_REL_SD,
    Masses,
    mixture_mass,
)
from pennyweight.sampling.places import HiddenColors, Places, number_hidden
from pennyweight.sampling.recovery import Recovery
from pennyweight.sampling.sizes import share_supposed
from pennyweight.sampling.washed import Washed

FloatArray = npt.NDArray[np.float64]

#: Least share of the colors that a partly counted sample is supposed to show [-].
LEAST_SHARE_LOOKED_AT = 0.02
#: Least variation of one color's mass [-]; no class is that narrow.
LEAST_CV = 0.3
#: Share of a sample's colors that must be sized or weighed to teach how mean masses
#: differ from place to place [-], and the least of that spread [-]; ours.
MOSTLY_TOLD, LEAST_PLACE_SD = 0.5, 0.10
#: Variance of a squared deviation of a mean of few heavy-tailed masses, in units of
#: its own square [-]; 2 for a normal law.
HEAVY_TAILS = 12.0
#: Least weight of counted colors over the expected one that is believed [-].
LEAST_GAIN = 1e-3
#: Colors up to which their number is told from the weight one by one [-].
FEW_COLORS = 60.0
_MOST_HIDDEN, _LEAST_CHANCE = 400, 1e-12
#: Most steps toward the shares of the size classes.
_SHARE_STEPS = 500


@dataclass(frozen=True, slots=True)
class Mixture:
    """The ground's colors in place.

    Attributes
    ----------
    share : ndarray, shape (n_classes,)
        Share of the colors in place that each class holds [-].
    recovery : ndarray, shape (n_classes,)
        Share of each class that washing finds [-].
    mass_mg, mass_cv : ndarray, shape (n_classes,)
        Mean mass of a color of each class [mg], and its variation [-].
    color_mg : float
        Mean mass of a color in place [mg].
    cv : float
        Coefficient of variation of one color's mass [-].
    """

    share: FloatArray
    recovery: FloatArray
    mass_mg: FloatArray
    mass_cv: FloatArray
    color_mg: float
    cv: float

    @property
    def told_by_size(self) -> float:
        """Share of the variation of color masses that the size classes tell [-]."""
        within = self.share @ (self.mass_mg * self.mass_cv) ** 2 / self.color_mg**2
        return float(np.clip(1.0 - within / self.cv**2, 0.0, 1.0))

    @property
    def found_color_mg(self) -> float:
        """Mean mass of a color that was found [mg]."""
        found = self.share * self.recovery
        return float(found @ self.mass_mg / found.sum())

    @property
    def gold_share(self) -> FloatArray:
        """Share of the gold in place that each class holds [-]."""
        gold = self.share * self.mass_mg
        return np.asarray(gold / gold.sum(), np.float64)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What each sample says, as arrays over the samples.

    Attributes
    ----------
    colors : ndarray
        Colors found, or those that the weight stands for [-]; nan when unwashed, and
        at first where a weight is below the balance's step.
    recovery : ndarray
        Share of the colors in place that was found [-].
    color_mg, color_mg_rel_sd : ndarray
        Mean mass of a color there [mg], and its relative standard deviation [-].
    count, exposure : ndarray
        Count with Poisson spread [-], and the mean of that count at a grade of
        1 mg/m3 [m3/mg].
    own_log_sd : ndarray
        Of the sample's own mean mass, as it enters the grade [-].
    calibrated : ndarray
        Share of the mass calibration that enters [-]; 0 where the gold was weighed.
    """

    colors: FloatArray
    recovery: FloatArray
    color_mg: FloatArray
    color_mg_rel_sd: FloatArray
    count: FloatArray
    exposure: FloatArray
    own_log_sd: FloatArray
    calibrated: FloatArray

    @property
    def median_exposure(self) -> FloatArray:
        """Exposure at the median of a mean mass that is right on average [m3/mg].

        A lognormal factor of median 1 has the mean exp(sd^2 / 2).
        """
        return np.asarray(self.exposure * np.exp(self.own_log_sd**2 / 2.0), np.float64)


def mix_colors(
    washed: Washed, masses: Masses, recoveries: Mapping[str, Recovery]
) -> Mixture:
    """Return the colors in place of a ground, from all samples together.

    Parameters
    ----------
    washed : Washed
        The samples.
    masses : Masses
        What colors weigh, in the order of the samples' classes.
    recoveries : mapping
        Class to its recovery.

    Returns
    -------
    Mixture
        Colors in the shares that the samples tell.
    """
    recovery = np.array([recoveries[name].mean for name in washed.classes])
    rows = washed.counts if washed.counts.any() else washed.counted
    rate = share_classes(washed.colors[rows], washed.looked[rows])
    rate = rate / recovery
    if rate.sum() <= 0.0:
        rate = np.array([float(name == UNSIZED) for name in washed.classes])
    color_mg, cv = mixture_mass(rate, masses.classes)
    return Mixture(
        share=rate / rate.sum(),
        recovery=recovery,
        mass_mg=np.array([one.mean_mg for one in masses.classes]),
        mass_cv=np.array([one.cv for one in masses.classes]),
        color_mg=color_mg,
        cv=max(cv, LEAST_CV),
    )


def share_classes(colors: npt.ArrayLike, looked: npt.ArrayLike) -> FloatArray:
    """Return the share of the ground's colors that each class holds.

    Parameters
    ----------
    colors : array_like, shape (n_samples, n_classes)
        Colors found [-].
    looked : array_like of bool, shape (n_samples, n_classes)
        Whether the class was looked at [-].

    Returns
    -------
    ndarray, shape (n_classes,)
        Shares that add to 1; all 0 without any color [-].

    Notes
    -----
    Highest likelihood of a multinomial law whose classes were partly looked at,
    by expectation and maximization: a class that was not looked at in a sample holds
    there what it holds beside the same other classes elsewhere. A rate by the volume
    looked at would overstate it, for a rare class is mostly written down where it was
    found, and that is where the ground is rich.

    References
    ----------
    Dempster, Laird and Rubin (1977), Journal of the Royal Statistical Society B 39:
    1-38; docs/sources.md "shares of size classes".

    Examples
    --------
    Two coarse for eight fine where both were looked at, and ten fine more:

    >>> shares = share_classes([[8, 2], [10, 0]], [[True, True], [True, False]])
    >>> shares.round(3).tolist()
    [0.8, 0.2]
    """
    found = np.asarray(colors, np.float64)
    seen = np.asarray(looked, np.bool_) | (found > 0.0)
    number = found.sum(axis=1)
    total = found.sum(axis=0)
    if total.sum() <= 0.0:
        return np.zeros(found.shape[1])
    share = total / total.sum()
    for _ in range(_SHARE_STEPS):
        covered = np.maximum(seen @ share, _LEAST_CHANCE)
        whole = total + np.where(seen, 0.0, (number / covered)[:, None] * share).sum(0)
        moved = whole / whole.sum()
        still = np.abs(moved - share).max() < _LEAST_CHANCE
        share = moved
        if still:
            break
    return np.asarray(share, np.float64)


def weigh_evidence(washed: Washed, mixture: Mixture) -> Evidence:
    """Return what each sample says about the grade of its place.

    Parameters
    ----------
    washed : Washed
        The samples.
    mixture : Mixture
        The ground's colors.

    Returns
    -------
    Evidence
        Arrays over the samples, nan where there is no fair volume.

    Notes
    -----
    A sample that was only weighed counts as weight / (m (1 + cv^2)) colors: the
    total of a compound Poisson has variance = mean x m (1 + cv^2).
    """
    only_weighed = ~washed.counted & np.isfinite(washed.weight_mg)
    # Below a step there may be colors: their number is unknown, not zero.
    below_step = only_weighed & (washed.weight_mg <= 0.0)
    stands_for = washed.weight_mg / mixture.found_color_mg
    colors = np.where(only_weighed, stands_for, washed.colors.sum(axis=1))
    trust = _trust_in_weight(washed, mixture)
    recovery = _share_found(washed, mixture)
    ratio = _mass_ratio(washed, mixture, trust)
    believed, off, place_sd = _believe_own_mass(washed, mixture, trust, ratio)
    color_mg = mixture.color_mg * np.exp(believed * off)
    within_class = PLACE_LOG_SD * np.sqrt((1.0 - trust) * _sized_share(washed))
    rel_sd = np.hypot(place_sd * np.sqrt(1.0 - believed), within_class)
    rel_sd = np.where(
        only_weighed, mixture.cv / np.sqrt(1.0 + np.nan_to_num(colors)), rel_sd
    )
    lump = np.where(only_weighed, 1.0 + mixture.cv**2, 1.0)
    return Evidence(
        colors=np.where(washed.washed & ~below_step, colors, np.nan),
        recovery=recovery,
        color_mg=color_mg,
        color_mg_rel_sd=rel_sd,
        count=colors / lump,
        exposure=washed.bank_m3 * recovery / color_mg / lump,
        own_log_sd=np.where(only_weighed, 0.0, rel_sd),
        calibrated=np.where(only_weighed, 0.0, 1.0 - trust * believed),
    )


def _believe_own_mass(
    washed: Washed, mixture: Mixture, trust: FloatArray, ratio: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Return how far each sample's own mean mass is believed, its log, its spread.

    All as shares of, or logs over, the ground's mean mass [-].
    The log of the mean mass differs from place to place with a spread that is learnt
    from the samples; each one's own mean is read with the noise of its few colors,
    lognormal and right on average. Colors that were neither sized nor weighed tell
    nothing of their mass.
    """
    told = np.maximum(trust, _sized_share(washed))
    colors = washed.colors.sum(axis=1) * told
    # Sized colors show their class; only what lies between classes is noise.
    noise = mixture.cv**2 * (trust + (1.0 - trust) * mixture.told_by_size)
    noise = np.maximum(noise, LEAST_CV**2)
    some = colors > 0.0
    noise = np.log1p(np.divide(noise, colors, out=np.ones_like(noise), where=some))
    off = np.log(ratio) + noise / 2.0
    supposed = PLACE_LOG_SD_UNSIZED**2
    rows = washed.counts & (told > MOSTLY_TOLD) & some
    weight = float((1.0 / noise[rows]).sum())
    variance = supposed
    if weight > 0.0:
        seen = off[rows] ** 2 / noise[rows] - 1.0
        error = HEAVY_TAILS * float(rows.sum()) / weight**2
        share = supposed**2 / (supposed**2 + error)
        found = max(float(seen.sum()) / weight, 0.0)
        variance = share * found + (1.0 - share) * supposed
    believed = 1.0 / (1.0 + noise / max(variance, LEAST_PLACE_SD**2))
    believed = np.where(some, believed, 0.0)
    return believed, np.where(some, off, 0.0), float(np.sqrt(variance))


def _sized_share(washed: Washed) -> FloatArray:
    """Return the share of each sample's colors that was sized [-]."""
    total = washed.colors.sum(axis=1)
    sized = total - washed.colors[:, washed.classes.index(UNSIZED)]
    share = np.divide(sized, total, out=np.zeros_like(total), where=total > 0.0)
    return np.asarray(share, np.float64)


def _share_supposed(washed: Washed) -> FloatArray:
    """Return which share of all sizes each sample was searched for [-].

    By the sizes supposed beforehand; for sieve classes alone, as no law of sizes
    tells what share a class by weight holds.
    """
    shares = np.ones(len(washed.samples))
    for row, sample in enumerate(washed.samples):
        found = washed.tallied.get(sample.sample)
        if found is None or found.whole:
            continue
        listed = [parse_class(name) for name in found.by_class]
        if all(one.kind == "sieve" for one in listed):
            shares[row] = min(sum(share_supposed(one) for one in listed), 1.0)
    return shares


def _share_found(washed: Washed, mixture: Mixture) -> FloatArray:
    """Return which share of the colors in place each sample shows [-].

    Where not every class was looked at, the others are as in the ground; where no
    color of the ground was sized, as in the sizes supposed beforehand.
    """
    looked = np.where(washed.counted[:, None], washed.looked, True)
    shown = looked @ mixture.share
    pooled = np.divide(
        looked @ (mixture.share * mixture.recovery),
        shown,
        out=np.full(len(shown), mixture.recovery[-1]),
        where=shown > 0.0,
    )
    n = washed.colors.sum(axis=1)
    in_place = (washed.colors / mixture.recovery).sum(axis=1)
    found = np.divide(n, in_place, out=pooled.copy(), where=in_place > 0.0)
    found = np.where(washed.counted, found, pooled)
    if not washed.colors[:, :-1].any():
        shown = shown * _share_supposed(washed)
    return np.asarray(np.maximum(shown, LEAST_SHARE_LOOKED_AT) * found, np.float64)


def _mass_ratio(washed: Washed, mixture: Mixture, trust: FloatArray) -> FloatArray:
    """Return the mean mass of a sample's colors over what its classes would give."""
    in_place = washed.colors / mixture.recovery
    own = _ratio(in_place @ mixture.mass_mg, in_place.sum(axis=1))
    looked = washed.looked * mixture.share
    expected = _ratio(looked @ mixture.mass_mg, looked.sum(axis=1))
    gain = _ratio(_weight_read(washed), washed.colors @ mixture.mass_mg)
    believed = np.maximum(gain, LEAST_GAIN) ** trust
    return np.asarray(_ratio(own, expected) * believed, np.float64)


def _ratio(above: FloatArray, below: FloatArray) -> FloatArray:
    """Return above / below; 1 where either is missing or there is nothing."""
    known = (below > 0.0) & np.isfinite(above)
    found = np.divide(above, below, out=np.ones_like(below), where=known)
    return np.asarray(found, np.float64)


def _weight_read(washed: Washed) -> FloatArray:
    """Return the weight that a balance stood for; half a step where it read 0."""
    step = np.where(washed.step_mg > 0.0, washed.step_mg, washed.zero_below_mg)
    return np.where(washed.weight_mg > 0.0, washed.weight_mg, step / 2.0)


def _trust_in_weight(washed: Washed, mixture: Mixture) -> FloatArray:
    """Return how far the weight, not the count, tells a sample's gold [-].

    By their variances: of counted grains of uncertain mass, and of the balance.
    """
    read = _weight_read(washed)
    counted_mg = washed.colors @ mixture.mass_mg
    grains = washed.colors @ (mixture.mass_mg * mixture.mass_cv) ** 2
    by_count = grains / np.maximum(counted_mg, 1e-12) ** 2
    step = np.where(washed.weight_mg > 0.0, washed.step_mg, 2.0 * read)
    by_balance = step**2 / 12.0 / np.maximum(read, 1e-12) ** 2 + WEIGHING_REL_SD**2
    trust = by_count / (by_count + by_balance)
    # A reading of 0 tells nothing where less than a step was to be expected.
    silent = (washed.weight_mg <= 0.0) & (counted_mg < 2.0 * read)
    known = washed.counted & np.isfinite(washed.weight_mg) & (counted_mg > 0.0)
    return np.where(known & ~silent, trust, 0.0)


def find_hidden(
    evidence: Evidence, washed: Washed, mixture: Mixture
) -> tuple[HiddenColors | None, npt.NDArray[np.int64]]:
    """Return the samples that were only weighed and stand for few colors.

    There the weight alone misleads, and a reading of 0 hides what is lighter than
    the balance's step.

    Parameters
    ----------
    evidence : Evidence
        As `weigh_evidence` gives it.
    washed : Washed
        The samples.
    mixture : Mixture
        The ground's colors.

    Returns
    -------
    tuple
        What their weights tell of the number of colors, None where there is no such
        sample; their rows.

    Notes
    -----
    A number n of colors weighs lognormal with mean n m and relative variance
    cv^2 / n (Fenton 1960, IRE Transactions on Communications Systems 8: 57-67); a
    reading stands for one step of the balance.
    """
    only_weighed = ~washed.counted & np.isfinite(washed.weight_mg)
    few = np.nan_to_num(evidence.colors) < FEW_COLORS
    rows = np.flatnonzero(only_weighed & few & np.isfinite(washed.bank_m3))
    if not rows.size:
        return None, rows
    numbers = np.unique(np.rint(np.geomspace(1.0, _MOST_HIDDEN + 1.0, 60))) - 1.0
    fits = _fit_of_weights(washed, mixture, rows, numbers)
    exposure = washed.bank_m3[rows] * evidence.recovery[rows] / mixture.color_mg
    return HiddenColors(numbers, np.gradient(numbers), fits, exposure), rows


def count_hidden(
    evidence: Evidence,
    hidden: HiddenColors,
    rows: npt.NDArray[np.int64],
    *,
    places: Places,
) -> Evidence:
    """Return the evidence with the colors that a weight stands for.

    Parameters
    ----------
    evidence : Evidence
        As `weigh_evidence` gives it.
    hidden : HiddenColors
        What the weights tell.
    rows : ndarray of int, shape (n_hidden,)
        The samples [-].
    places : Places
        What all samples say of the ground.

    Returns
    -------
    Evidence
        With count and exposure such that the grade has the mean and the variance of
        the mixture over the number of colors.
    """
    number, variance = number_hidden(places, hidden)
    shape = float(places.weights @ places.shapes)
    lump = 1.0 + variance / (number + shape)
    changed = (evidence.colors, evidence.count, evidence.exposure, evidence.calibrated)
    colors, count, exposure, calibrated = (one.copy() for one in changed)
    colors[rows] = np.where(np.isnan(colors[rows]), number, colors[rows])
    count[rows] = number / lump
    exposure[rows] = hidden.colors_per_grade / lump
    # Next to nothing weighed: then the grade rests on what a color is supposed to be.
    calibrated[rows] = 1.0 / (1.0 + np.nan_to_num(evidence.colors[rows]))
    return replace(
        evidence, colors=colors, count=count, exposure=exposure, calibrated=calibrated
    )


def _fit_of_weights(
    washed: Washed, mixture: Mixture, rows: npt.NDArray[np.int64], n: FloatArray
) -> FloatArray:
    """Return the chance of each reading given n colors, shape (n_rows, n_numbers)."""
    weight, step = washed.weight_mg[rows, None], washed.step_mg[rows, None]
    half = np.maximum(step / 2.0, WEIGHING_REL_SD * weight)
    zero = weight <= 0.0
    high = np.where(zero, washed.zero_below_mg[rows, None], weight + half)
    low = np.where(zero, _LEAST_CHANCE, np.maximum(weight - half, _LEAST_CHANCE))
    some = np.maximum(n, 1.0)
    sd = np.sqrt(np.log1p(mixture.cv**2 / some))
    middle = np.log(mixture.found_color_mg * some) - sd**2 / 2.0
    below = ndtr((np.log(high) - middle) / sd)
    above = np.where(zero, 0.0, ndtr((np.log(low) - middle) / sd))
    fits = np.asarray(below - above + _LEAST_CHANCE, np.float64)
    return np.where(n > 0.0, fits, np.where(zero, 1.0, _LEAST_CHANCE))
