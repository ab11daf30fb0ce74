"""What is known of every stream: cleared, suspect or untested."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pennyweight.answers.sourcework import SourceWork, flows_past
from pennyweight.answers.upstream import StreamVerdict, Verdict
from pennyweight.answers.waters import Stream, Waters

FloatArray = npt.NDArray[np.float64]
IndexArray = npt.NDArray[np.int64]

#: Below this probability that gold passes its mouth a tested stream is cleared [-].
CLEARED_BELOW = 0.10
#: A stream without samples is suspect where those below make gold on it likelier than
#: it was, by this factor [-], and this likely at least [-].
SUSPECT_FACTOR, SUSPECT_ABOVE = 2.0, 0.25
#: Samples below a stream clear it too, where they lower its chance so far [-].
TOLD_BELOW = 0.5
#: A stream on which more than this share of the ground's mean was counted is never
#: cleared [-]: its gold may lie in all gravel, and come from wherever that does.
CLEARED_SHARE = 0.25


def stream_of_piece(work: SourceWork, waters: Waters) -> IndexArray:
    """Return the number of the stream of every piece."""
    return np.asarray(waters.stream_of[work.pieces.reach])


def judge_streams(work: SourceWork, waters: Waters) -> tuple[StreamVerdict, ...]:
    """Return what is known of every stream."""
    stream = stream_of_piece(work, waters)
    tree = work.pieces.tree
    mean = work.together.mean_colors_m3
    found = []
    for number, row in enumerate(waters.rows):
        own = stream == number
        mouth = mouth_of(work, row)
        above = flows_past(tree, mouth)
        here = [
            one
            for one, piece in zip(
                work.washed, work.search.washed.piece.tolist(), strict=True
            )
            if above[piece]
        ]
        held = work.draws.source[:, own].any(axis=1)
        carries = float(work.together.carries_chance[mouth])
        counts = work.by_counts.source_chance[own]
        exposure = sum(one.exposure_m3 for one in here)
        colors = sum(one.colors for one in here)
        richness = colors / exposure / max(mean, 1e-300) if exposure > 0.0 else 0.0
        found.append(
            StreamVerdict(
                id=row.id,
                name=row.name,
                probability_source_here=float(held.mean()),
                verdict=name_verdict(
                    carries,
                    float(work.together.prior_carries[mouth]),
                    washed=len(here),
                    richness=richness,
                ),
                probability_carries=carries,
                into=None if row.into < 0 else waters.rows[row.into].id,
                side=row.side or None,
                washed=len(here),
                colors=colors,
                bank_m3=sum(one.bank_m3 or 0.0 for one in here),
                by_counts=float(
                    -np.expm1(np.log1p(-np.minimum(counts, 0.999999)).sum())
                ),
                by_grains=_mean_factor(work.grain_factor, work, own)
                if len(work.grain_piece)
                else None,
                by_rocks=_mean_factor(work.rock_factor, work, own)
                if work.pointed
                else None,
            )
        )
    return tuple(found)


def mouth_of(work: SourceWork, row: Stream) -> int:
    """Return the lowest piece of a stream."""
    return int(np.flatnonzero(work.pieces.reach == row.reaches[0])[0])


def _mean_factor(
    factor: FloatArray, work: SourceWork, own: npt.NDArray[np.bool_]
) -> float:
    """Return how much likelier a stream is made than the ground as a whole."""
    weight = work.pieces.tree.own_area_km2
    here = float(factor[own] @ weight[own]) / float(weight[own].sum())
    return here / (float(factor @ weight) / float(weight.sum()))


def name_verdict(
    carries: float, before: float, *, washed: int, richness: float = 0.0
) -> Verdict:
    """Return cleared, suspect or untested.

    Parameters
    ----------
    carries : float
        Probability that gold passes the mouth, after all samples [-].
    before : float
        The same before any [-].
    washed : int
        Places washed on the stream and above it [-].
    richness : float
        Colors a volume there over those of the ground as a whole [-].
    """
    tested = washed > 0 or carries < TOLD_BELOW * before
    if tested and carries < CLEARED_BELOW and richness < CLEARED_SHARE:
        return "cleared"
    if washed > 0:
        return "suspect"
    likelier = carries > SUSPECT_FACTOR * before and carries > SUSPECT_ABOVE
    return "suspect" if likelier else "untested"
