"""Where does it come from? The answer `upstream`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.waters import PlacedOnWater, Stream
from pennyweight.errors import Finding
from pennyweight.spread import Spread
from pennyweight.terrain.streams import Streams
from pennyweight.upstream.grainevidence import GrainWord
from pennyweight.upstream.slopelines import SoilLine

FloatArray = npt.NDArray[np.float64]

Verdict = Literal["cleared", "suspect", "untested"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamVerdict:
    """What is known of one stream.

    Attributes
    ----------
    id, name : str
        S1 is the main one.
    probability_source_here : float
        That gold enters on this stream itself, feeders left out [-].
    verdict : str
        cleared, suspect or untested.
    probability_carries : float
        That gold of a source passes its mouth [-].
    into, side : str or None
        The stream that it flows into, and from which bank, looking downstream.
    washed : int
        Places washed on it and above it, with a volume [-].
    colors, bank_m3 : float
        Counted there, and washed [-], [m3].
    by_counts, by_grains, by_rocks : float or None
        Probability of a source here by the counts alone [-]; how much likelier grains
        and rocks make one here than elsewhere [-]; None where there are none.
    """

    id: str
    name: str
    probability_source_here: float
    verdict: Verdict
    probability_carries: float
    into: str | None
    side: str | None
    washed: int
    colors: float
    bank_m3: float
    by_counts: float
    by_grains: float | None
    by_rocks: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SourcePlace:
    """A stretch where gold may enter; the middle of it, and how likely."""

    easting_m: float
    northing_m: float
    stream: str
    probability: float
    from_m: float
    to_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LastGold:
    """The sample with gold that lies highest on the way to the source."""

    sample: str
    stream: str
    chainage_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Where the gold stops on the way up: a change point with its interval."""

    stream: str
    above_last_m: Spread
    chainage_m: Spread
    beyond_probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch of a stream that no sample parts; chainages from where water leaves."""

    stream: str
    from_m: float
    to_m: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSample:
    """A sample that would split the question."""

    rank: int
    easting_m: float
    northing_m: float
    stream: str
    chainage_m: float
    pans: float
    hours: float
    gain_bits: float
    gold_probability: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainTrend:
    """Whether a feature of the grains rises on the way up; None where too few tell."""

    feature: str
    rises_probability: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RockPointer:
    """A rock that points, with its stated weight."""

    easting_m: float
    northing_m: float
    stream: str
    pointer: str
    says: str
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilFind:
    """What a line of soil holes on the slope found."""

    line: str
    holes: int
    colors: float
    there_probability: float
    middle_m: Spread
    half_width_m: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class UpstreamAnswer(Answer):
    """Streams, sources, the stop of the gold, grains, rocks, and what to wash next.

    `samples_at_worst` pin the source down wherever it lies, `samples_halving` is what
    plain halving would take if every cut were even [-]. `grains` are what all grains
    on the water say; `kinds_probability` that they are of two kinds.
    """

    streams: tuple[StreamVerdict, ...]
    sources: tuple[SourcePlace, ...]
    last_gold: LastGold | None
    gaps: tuple[Gap, ...]
    grain_distance_km: Spread | None
    stop: Stop | None = None
    probability_of_any: float = 0.0
    probability_everywhere: float = 0.0
    next_samples: tuple[NextSample, ...] = ()
    samples_at_worst: int = 0
    samples_halving: int = 0
    grains: GrainWord | None = None
    trends: tuple[GrainTrend, ...] = ()
    kinds_probability: float | None = None
    rocks: tuple[RockPointer, ...] = ()
    soil: tuple[SoilFind, ...] = ()
    off_stream: tuple[PlacedOnWater, ...] = ()
    findings: tuple[Finding, ...] = ()
    basis: str = ""
    off_creek: bool = False
    """Whether the source seems to lie beside the creek, in the bank or the slope."""
    ground: GroundAnswer = for_pictures(default=None)
    waters: Streams | None = for_pictures(default=None)
    rows: tuple[Stream, ...] = for_pictures(default=())
    washed: tuple[WashedPlace, ...] = for_pictures(default=())
    pieces: tuple[PieceChance, ...] = for_pictures(default=())
    soil_lines: tuple[SoilLine, ...] = for_pictures(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class WashedPlace:
    """A place on the water with what was washed there: a dig, or a trench across it.

    `bank_m3` is None for a find without a fair volume.
    """

    place: PlacedOnWater
    digs: tuple[str, ...]
    samples: tuple[str, ...]
    colors: float
    exposure_m3: float
    bank_m3: float | None
    volume_rel_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceChance:
    """A stretch of a stream as it is drawn: its line, and its chances [-]."""

    stream: int
    easting_m: FloatArray
    northing_m: FloatArray
    from_m: float
    to_m: float
    source: float
    carries: float
