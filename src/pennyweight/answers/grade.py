"""What does each pan say? The answer `grade`."""

from __future__ import annotations

from dataclasses import dataclass

from pennyweight.answers.answer import Answer, for_pictures
from pennyweight.errors import Finding
from pennyweight.spread import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleGrade:
    """The grade of one sample; fields as the JSON prints them."""

    sample: str
    dig: str
    line: str | None
    top_m: float | None
    bottom_m: float | None
    bank_m3: float | None
    colors: float | None
    grade_mg_m3: Spread | None
    reliability: str
    expected_colors_at_cutoff: float | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DigGrade:
    """The best mining interval of one dig; fields as the JSON prints them.

    `best_horizon` is None and depths are None when nothing washed has a volume.
    """

    dig: str
    line: str | None
    easting_m: float | None
    northing_m: float | None
    s_m: float | None
    n_m: float | None
    best_horizon: str | None
    pay_top_m: float | None
    pay_bottom_m: float | None
    overburden_m: float | None
    grade_mg_m3: Spread | None
    accumulation_mg_m2: Spread | None
    bottom_m: float | None = for_pictures(default=None)
    stopped_by: str | None = for_pictures(default=None)
    unwashed: tuple[str, ...] = for_pictures(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeAnswer(Answer):
    """Grades of every sample and dig, with what is odd about them."""

    samples: tuple[SampleGrade, ...]
    digs: tuple[DigGrade, ...]
    findings: tuple[Finding, ...] = ()
