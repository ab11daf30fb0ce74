"""What next? The answer `next`."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.answer import Answer, for_pictures


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What a dig is expected to bring; None where it cannot be told."""

    money: float | None
    chance_of_wrong_decision: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedDig:
    """One dig to open next."""

    rank: int
    easting_m: float
    northing_m: float
    line: str | None
    kind: str
    depth_m: float
    pans: float
    hours: float
    gain: Gain
    why: str
    s_m: float = for_pictures(default=0.0)
    n_m: float = for_pictures(default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class NextAnswer(Answer):
    """Digs in the order of their gain for the effort, and their hours together."""

    digs: tuple[ProposedDig, ...]
    hours: float
    verdict: str = for_pictures(default="")
