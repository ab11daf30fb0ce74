"""Bedrock that digs reached: how well it may hold gold, and what to open first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.answers.frame import frame_ground
from pennyweight.answers.reading import Reading
from pennyweight.answers.streamtree import StreamTree
from pennyweight.highwater.traps import CreviceStop, list_crevices, rate_traps

#: Samples that cleaned bedrock rather than gravel.
CLEANING = ("crevice", "moss", "root")


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapRead:
    """Bedrock in the order in which to sample it; `score` is 0 to 1 and no grade."""

    rank: int
    dig: str
    score: float
    why: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapsAlike:
    """Digs whose bedrock says and asks the same."""

    digs: tuple[str, ...]
    why: str
    how: str


def read_traps(reading: Reading, tree: StreamTree) -> tuple[TrapRead, ...]:
    """Return the bedrock that was seen, what to sample first at the top."""
    log = reading.log
    traps = rate_traps(log.digs, log.rocks, flow_bearing_deg=_bearings(reading, tree))
    # Of bedrock about which nothing was written down nothing is said.
    told = [one for one in traps if any(reason.known for reason in one.reasons)]
    cleaned = {one.dig for one in log.samples if one.taken in CLEANING}
    stops = list_crevices(told, log.digs, washed=frozenset(cleaned))
    return tuple(map(_tell, stops))


def _tell(stop: CreviceStop) -> TrapRead:
    return TrapRead(
        rank=stop.rank, dig=stop.dig, score=stop.score, why=stop.why, how=stop.how
    )


def _bearings(reading: Reading, tree: StreamTree) -> dict[str, float]:
    """Return the bearing toward which the creek runs at each dig [deg]."""
    creek = tree.creek
    if creek is None:
        return {}
    found = {}
    for dig, place in frame_ground(reading).places.items():
        away = np.hypot(
            creek.easting_m - place.easting_m, creek.northing_m - place.northing_m
        )
        along = creek.tangent[int(np.argmin(away))]
        found[dig] = float(np.degrees(np.arctan2(along[0], along[1])) % 360.0)
    return found


def alike_traps(traps: Sequence[TrapRead]) -> tuple[TrapsAlike, ...]:
    """Return the bedrock told once for all digs where it is the same, in its order."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in traps:
        found.setdefault((one.why, one.how), []).append(one.dig)
    return tuple(
        TrapsAlike(digs=tuple(digs), why=why, how=how)
        for (why, how), digs in found.items()
    )
