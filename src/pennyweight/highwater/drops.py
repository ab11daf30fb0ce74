"""Drops: places where gravel, and gold with it, comes to rest. Candidates, not finds.

Each place says why it is one. What several reasons say about one place is joined as
if each could fail by itself; how far the scores are true of a ground only its own
digs can tell (`dropcheck`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: How much each kind is trusted at full strength, 0 to 1 [-]. Common practice, no
#: source; docs/sources.md "drop kinds". A ground's own digs correct it.
KIND_WEIGHTS: Mapping[str, float] = {
    "inner_bend": 0.60,
    "slackening": 0.60,
    "above_narrows": 0.55,
    "slope_break": 0.55,
    "lee": 0.50,
    "widening": 0.50,
    "confluence": 0.35,
    "high_bar": 0.35,
    "bench": 0.30,
}

#: Drops nearer to each other than this are one place [m]: our assumption.
MERGE_M = 8.0

#: How far the promise of a drop reaches, one standard deviation [m]: our assumption.
REACH_M = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason why gravel stops at a place.

    Attributes
    ----------
    kind : str
        Of `KIND_WEIGHTS`.
    strength : float
        How marked it is, 0 to 1 [-].
    facts : mapping of str to float
        What it rests on, by names with units.
    """

    kind: str
    strength: float
    facts: Mapping[str, float] = field(default_factory=dict)

    @property
    def score(self) -> float:
        """Strength times how much the kind is trusted [-]."""
        return KIND_WEIGHTS[self.kind] * self.strength

    @property
    def witness(self) -> str:
        """What it rests on: two reasons of one witness are not two reasons."""
        if self.kind in {"high_bar", "bench"}:
            return "level ground"
        by_flow = "lost_share" in self.facts
        return "flow" if by_flow else self.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """A place where gravel may stop.

    Attributes
    ----------
    easting_m, northing_m : float
        Where [m].
    reasons : tuple of Reason
        Why, the strongest first; at least one.
    """

    easting_m: float
    northing_m: float
    reasons: tuple[Reason, ...]

    @property
    def kind(self) -> str:
        """Kind of the strongest reason."""
        return self.reasons[0].kind

    @property
    def score(self) -> float:
        """Promise of the place, 0 to 1 [-]: 1 less the product of what each misses."""
        missed = 1.0
        for reason in self.reasons:
            missed *= 1.0 - reason.score
        return 1.0 - missed


def join_drops(
    drops: Sequence[Drop], *, within_m: float = MERGE_M, most: int = 30
) -> tuple[Drop, ...]:
    """Return drops with those of one place joined, the most promising first.

    Parameters
    ----------
    drops : sequence of Drop
        As found, in any order.
    within_m : float, optional
        Drops nearer than this are one place [m]; it lies where the strongest does.
    most : int, optional
        How many are kept [-].

    Returns
    -------
    tuple of Drop
        In order of their scores. Of several reasons that rest on the same the
        strongest is kept.
    """
    waiting = sorted(drops, key=lambda one: -one.score)
    joined: list[Drop] = []
    while waiting:
        first, *waiting = waiting
        near = [one for one in waiting if _apart_m(first, one) < within_m]
        waiting = [one for one in waiting if _apart_m(first, one) >= within_m]
        best: dict[str, Reason] = {}
        for reason in (r for one in (first, *near) for r in one.reasons):
            known = best.get(reason.witness)
            if known is None or reason.score > known.score:
                best[reason.witness] = reason
        ordered = sorted(best.values(), key=lambda reason: -reason.score)
        joined.append(replace(first, reasons=tuple(ordered)))
    return tuple(sorted(joined, key=lambda one: -one.score)[:most])


def promise_at(
    drops: Sequence[Drop],
    easting_m: npt.ArrayLike,
    northing_m: npt.ArrayLike,
    *,
    reach_m: float = REACH_M,
) -> FloatArray:
    """Return what the drops promise at places.

    Parameters
    ----------
    drops : sequence of Drop
        The candidates.
    easting_m, northing_m : array_like, shape (n_places,)
        Where [m].
    reach_m : float, optional
        Standard deviation over which a drop's score fades [m].

    Returns
    -------
    ndarray, shape (n_places,)
        The largest score x exp(-distance^2 / (2 reach^2)) [-]; 0 far from all.
    """
    east = np.asarray(easting_m, dtype=np.float64)
    north = np.asarray(northing_m, dtype=np.float64)
    found = np.zeros(east.shape)
    for drop in drops:
        square = (east - drop.easting_m) ** 2 + (north - drop.northing_m) ** 2
        fades = drop.score * np.exp(-0.5 * square / reach_m**2)
        found = np.maximum(found, fades)
    return found


def large_pieces(
    mask: npt.NDArray[np.bool_], least_cells: float
) -> Iterator[npt.NDArray[np.bool_]]:
    """Yield every connected piece of a mask that is large enough.

    Parameters
    ----------
    mask : ndarray of bool, shape (n_rows, n_columns)
        Cells [-].
    least_cells : float
        Smaller pieces are left out [-].

    Returns
    -------
    iterator of ndarray of bool, shape (n_rows, n_columns)
        One piece each [-].
    """
    from scipy.ndimage import label  # noqa: PLC0415 - costs 0.1 s

    pieces, _ = label(mask)
    counts = np.bincount(pieces.ravel())
    for number in np.flatnonzero(counts >= least_cells):
        if number > 0:
            yield pieces == number


def _apart_m(one: Drop, other: Drop) -> float:
    east, north = one.easting_m - other.easting_m, one.northing_m - other.northing_m
    return float(np.hypot(east, north))
