"""How far gold has come, by the look of its grains: classes in order, wide overlap.

Published schemes give an order of stages, not a law: an angular grain is not always
near, flatness goes up and down again, one hammered ball looks like a far traveled
flake. So each feature of a grain speaks for a stage four times as loudly as for one
two steps off, grains of one sample count as two at most, and every feature's word is
kept apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from pennyweight.spread import Spread
from pennyweight.upstream.grainshape import (
    attached_class,
    corey_shape,
    rim_class,
    roundness_of,
)

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Limits between classes of distance [km]: 50 and 300 m, Townley et al. (2003), from
#: memory; 5 km, Knight et al. (1999), from memory. docs/sources.md "distance classes".
DISTANCE_LIMITS_KM = (0.005, 0.05, 0.3, 5.0, 50.0)
DISTANCE_WORDS = (
    "within 50 m",
    "50 to 300 m away",
    "300 m to 5 km away",
    "more than 5 km away",
)
#: Stages after Giusti (1986) in Macdonald (2007), Table 1.9, p. 21; docs/sources.md
#: "stages of grains". The typical class of each feature at each stage, nearest first.
STAGES = ("at the source", "near", "middle", "far", "farthest")
TYPICAL = {
    "size": (0, 1, 2, 3, 3),
    "flatness": (0, 0, 2, 1, 0),
    "roundness": (0, 1, 1, 2, 2),
    "rim": (0, 1, 2, 2, 1),
    "attached": (0, 0, 1, 1, 1),
}
CLASSES = {"size": 4, "flatness": 3, "roundness": 3, "rim": 3, "attached": 2}
#: Typical stages of each class of distance; our reading of the two schemes together.
STAGE_OF_DISTANCE = ((4, 2, 1, 1, 1), (2, 4, 2, 1, 1), (1, 2, 4, 2, 1), (1, 1, 2, 3, 3))
#: Weight of a class by how many steps it lies off the typical one [-]; ours.
STEP_WEIGHTS = (4.0, 2.0, 1.0, 1.0)
#: Meshes 35, 120 and 200 [mm], Giusti's limits; Corey factor and roundness, ours [-].
SIZE_LIMITS_MM = (0.075, 0.125, 0.5)
FLATNESS_LIMITS, ROUNDNESS_LIMITS = (0.3, 0.6), (0.3, 0.55)
#: How alike grains of one sample are [-]; ours: the most they count for is its inverse.
GRAIN_LIKENESS = 0.5
#: Features contradict each other when their best classes lie so many steps apart, and
#: both say so at these odds [-].
CONTRARY_STEPS, CONTRARY_ODDS = 2, 1.5


@dataclass(frozen=True)
class GrainFeatures:
    """Measured grains as arrays of shape (n_grains,); nan or -1 where not noted.

    Attributes
    ----------
    size_mm : ndarray
        Middle axis, or the long one [mm].
    corey, roundness : ndarray
        Shape factor and roundness [-].
    rim, attached : ndarray of int
        Classes.
    """

    size_mm: FloatArray
    corey: FloatArray
    roundness: FloatArray
    rim: IndexArray
    attached: IndexArray

    def classes(self, feature: str) -> IndexArray:
        """Return the class of every grain in a feature.

        Parameters
        ----------
        feature : str
            A key of `TYPICAL`.

        Returns
        -------
        ndarray of int, shape (n_grains,)
            0 for what is typical nearest the source [-]; -1 where not noted.
        """
        if feature == "size":
            found = 3 - np.digitize(self.size_mm, SIZE_LIMITS_MM)
            return np.where(np.isfinite(self.size_mm), found, -1)
        if feature == "flatness":
            found = 2 - np.digitize(self.corey, FLATNESS_LIMITS)
            return np.where(np.isfinite(self.corey), found, -1)
        if feature == "roundness":
            found = np.digitize(self.roundness, ROUNDNESS_LIMITS)
            return np.where(np.isfinite(self.roundness), found, -1)
        return self.rim if feature == "rim" else self.attached


@dataclass(frozen=True)
class FeatureWord:
    """What one feature of the grains says about the distance.

    Attributes
    ----------
    feature : str
        size, flatness, roundness, rim or attached.
    n_grains : int
        Grains that show it [-].
    chance : tuple of float
        Of each class of distance, equal beforehand [-].
    """

    feature: str
    n_grains: int
    chance: tuple[float, ...]

    @property
    def best(self) -> int:
        """The likeliest class of distance."""
        return int(np.argmax(self.chance))


@dataclass(frozen=True)
class GrainWord:
    """What grains say about how far they have come.

    Attributes
    ----------
    n_grains : int
        Measured [-].
    features : tuple of FeatureWord
        One by one.
    chance : tuple of float
        Of each class of distance, all features together [-].
    distance_km : Spread
        The same as a distance, evenly in its logarithm within a class [km].
    contrary : tuple of (str, str)
        Pairs of features that contradict each other.
    """

    n_grains: int
    features: tuple[FeatureWord, ...]
    chance: tuple[float, ...]
    distance_km: Spread
    contrary: tuple[tuple[str, str], ...]


def read_grain(
    axes_mm: tuple[float | None, float | None, float | None],
    roundness: str | None,
    rim: str | None,
    *,
    attached: str | None,
) -> tuple[float, float, float, int, int]:
    """Return one grain's size [mm], Corey factor, roundness, rim and attached rock.

    Parameters
    ----------
    axes_mm : tuple of (float or None)
        Long, middle and short axis, in any order [mm].
    roundness, rim, attached : str or None
        As written.

    Returns
    -------
    tuple
        Numbers and classes; nan and -1 where not noted [-].
    """
    known = sorted((one for one in axes_mm if one), reverse=True)
    size_mm = float("nan") if not known else known[min(1, len(known) - 1)]
    corey = float("nan")
    if len(known) == 3:
        corey = float(corey_shape(known[0], known[1], known[2]))
    worn = roundness_of(roundness)
    return size_mm, corey, worn, rim_class(rim), attached_class(attached)


def make_features(rows: list[tuple[float, float, float, int, int]]) -> GrainFeatures:
    """Return grains as arrays.

    Parameters
    ----------
    rows : list of tuple
        From `read_grain`.

    Returns
    -------
    GrainFeatures
        In the same order.
    """
    size, corey, worn, rim, attached = zip(*rows, strict=True) if rows else ((),) * 5
    return GrainFeatures(
        size_mm=np.array(size, dtype=np.float64),
        corey=np.array(corey, dtype=np.float64),
        roundness=np.array(worn, dtype=np.float64),
        rim=np.array(rim, dtype=np.int64),
        attached=np.array(attached, dtype=np.int64),
    )


def class_likelihood(feature: str) -> FloatArray:
    """Return how likely each class of a feature is at each class of distance.

    Parameters
    ----------
    feature : str
        A key of `TYPICAL`.

    Returns
    -------
    ndarray, shape (n_distances, n_classes)
        Rows sum to 1 [-].
    """
    count = CLASSES[feature]
    steps = np.abs(np.arange(count)[None, :] - np.array(TYPICAL[feature])[:, None])
    by_stage = np.asarray(STEP_WEIGHTS)[steps]
    by_stage /= by_stage.sum(axis=1, keepdims=True)
    stage = np.asarray(STAGE_OF_DISTANCE, dtype=np.float64)
    stage /= stage.sum(axis=1, keepdims=True)
    return np.asarray(stage @ by_stage)


def feature_log_likelihood(grains: GrainFeatures, feature: str) -> FloatArray:
    """Return the log likelihood of a feature of grains at each class of distance.

    Parameters
    ----------
    grains : GrainFeatures
        Of one sample, or of samples close together.
    feature : str
        A key of `TYPICAL`.

    Returns
    -------
    ndarray, shape (n_distances,)
        Natural logarithms [-]; grains that are alike count as two at most.
    """
    known = grains.classes(feature)
    known = known[known >= 0]
    if len(known) == 0:
        return np.zeros(len(DISTANCE_WORDS))
    logs = np.log(class_likelihood(feature))[:, known].mean(axis=1)
    counted = len(known) / (1.0 + GRAIN_LIKENESS * (len(known) - 1))
    return np.asarray(counted * logs)


def judge_grains(grains: GrainFeatures) -> GrainWord | None:
    """Return what grains say about how far they have come; None without any.

    Parameters
    ----------
    grains : GrainFeatures
        Of one sample, or of samples close together.

    Returns
    -------
    GrainWord or None
        Every feature by itself, and all together.
    """
    logs = {name: feature_log_likelihood(grains, name) for name in TYPICAL}
    words = tuple(
        FeatureWord(name, int((grains.classes(name) >= 0).sum()), _shares(log))
        for name, log in logs.items()
        if (grains.classes(name) >= 0).any()
    )
    if not words:
        return None
    # The features of a grain come from one journey: together they count as the square
    # root of their number (ours), not as so many witnesses.
    together = np.sum(list(logs.values()), axis=0) / np.sqrt(len(words))
    chance = _shares(together)
    return GrainWord(
        n_grains=len(grains.size_mm),
        features=words,
        chance=chance,
        distance_km=distance_spread(chance),
        contrary=find_contrary(words),
    )


def _shares(logs: FloatArray) -> tuple[float, ...]:
    weights = np.exp(logs - logs.max())
    return tuple((weights / weights.sum()).tolist())


def distance_spread(chance: tuple[float, ...]) -> Spread:
    """Return chances of the classes of distance as a distance.

    Parameters
    ----------
    chance : tuple of float
        Of each class, summing to 1 [-].

    Returns
    -------
    Spread
        Evenly in the logarithm within each class [km].
    """
    edges = np.log(DISTANCE_LIMITS_KM)
    below = np.concatenate([[0.0], np.cumsum(chance)])
    p10, p50, p90 = np.exp(np.interp((0.1, 0.5, 0.9), below, edges))
    width = np.diff(edges)
    means = np.diff(np.asarray(DISTANCE_LIMITS_KM)) / width
    return Spread(float(p10), float(p50), float(p90), float(np.dot(chance, means)))


def find_contrary(words: tuple[FeatureWord, ...]) -> tuple[tuple[str, str], ...]:
    """Return the pairs of features that contradict each other.

    Parameters
    ----------
    words : tuple of FeatureWord
        What each says.

    Returns
    -------
    tuple of (str, str)
        The one that speaks for nearer first.
    """
    found = []
    for near in words:
        for far in words:
            apart = far.best - near.best
            if apart < CONTRARY_STEPS:
                continue
            odds = near.chance[near.best] / near.chance[far.best]
            other = far.chance[far.best] / far.chance[near.best]
            if min(odds, other) >= CONTRARY_ODDS:
                found.append((near.feature, far.feature))
    return tuple(found)


def distance_log_likelihood(chance: tuple[float, ...], way_m: FloatArray) -> FloatArray:
    """Return what grains say about sources so far away.

    Parameters
    ----------
    chance : tuple of float
        Of each class of distance, equal beforehand [-].
    way_m : ndarray, shape (n_pieces,)
        Way from each possible source down to the grains [m]; nan where none leads.

    Returns
    -------
    ndarray, shape (n_pieces,)
        Natural logarithm of the likelihood over the mean one [-]; 0 where no way leads.
    """
    log = np.log(np.maximum(np.asarray(chance) * len(chance), 1e-6))
    known = np.isfinite(way_m)
    where = np.digitize(np.where(known, way_m, 0.0) / 1000.0, DISTANCE_LIMITS_KM[1:-1])
    return np.where(known, log[where], 0.0)


def rising_chance(up_km: npt.ArrayLike, values: npt.ArrayLike) -> float:
    """Return the probability that a feature of grains rises on the way up a stream.

    Parameters
    ----------
    up_km : array_like, shape (n_grains,)
        How far up each grain was found [km].
    values : array_like, shape (n_grains,)
        The feature, in any one unit [-].

    Returns
    -------
    float
        Of a straight line with flat priors, by Student's t [-]; nan with fewer than
        four grains or all in one place.
    """
    x = np.asarray(up_km, np.float64)
    y = np.asarray(values, np.float64)
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    if len(x) < 4 or np.ptp(x) < 1e-6:
        return float("nan")
    centered = x - x.mean()
    square = float(centered @ centered)
    slope = float(centered @ y) / square
    rest = y - y.mean() - slope * centered
    error = np.sqrt(float(rest @ rest) / (len(x) - 2) / square)
    if error == 0.0:
        return float(np.heaviside(slope, 0.5))
    return float(stats.t.cdf(slope / error, len(x) - 2))


def trend_log_likelihood(
    values: FloatArray, way_m: FloatArray, *, rise_decades: float = 1.0
) -> FloatArray:
    """Return how well each possible source explains the ground's own trend of grains.

    A feature changes with the logarithm of the way from the source, by how much and
    which way is learnt from these grains alone.

    Parameters
    ----------
    values : ndarray, shape (n_grains,)
        Of the feature, in any one unit [-].
    way_m : ndarray, shape (n_pieces, n_grains)
        Way from every possible source down to every grain [m]; nan where none leads.
    rise_decades : float
        Standard deviation of the change over a factor of ten in distance, in standard
        deviations of the feature [-].

    Returns
    -------
    ndarray, shape (n_pieces,)
        Natural logarithm over that of no trend [-]; grains that a source cannot have
        reached are left out of its sum on both sides.

    Notes
    -----
    Conjugate linear model of one slope; level and scatter are those of the grains.
    With standardized y and centered x = log10(way + 10 m): evidence ratio
    (1 + t^2 Sxx)^-1/2 exp(t^2 Sxy^2 / (2 (1 + t^2 Sxx))). Gelman et al. (2013),
    Bayesian Data Analysis, section 14; docs/sources.md "trend of grains".
    """
    spread = float(np.std(values))
    if len(values) < 4 or spread == 0.0:
        return np.zeros(len(way_m))
    y = (values - values.mean()) / spread
    known = np.isfinite(way_m)
    count = np.maximum(known.sum(axis=1, keepdims=True), 1)
    x = np.where(known, np.log10(np.where(known, way_m, 1.0) + 10.0), 0.0)
    x = np.where(known, x - x.sum(axis=1, keepdims=True) / count, 0.0)
    rows = np.where(known, y[None, :], 0.0)
    rows = np.where(known, rows - rows.sum(axis=1, keepdims=True) / count, 0.0)
    sxx, sxy = (x * x).sum(axis=1), (x * rows).sum(axis=1)
    wide = 1.0 + rise_decades**2 * sxx
    return np.asarray(
        -0.5 * np.log(wide) + 0.5 * rise_decades**2 * sxy**2 / wide, np.float64
    )
