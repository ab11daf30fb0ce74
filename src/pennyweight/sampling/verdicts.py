"""The judged samples in words: each one's record, what was assumed, what is odd."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.records import Log
from pennyweight.sampling.classes import UNSIZED, parse_class
from pennyweight.sampling.evidence import Evidence, Mixture
from pennyweight.sampling.gold import DEFAULT_FINENESS, Masses
from pennyweight.sampling.graded import GradedSample, reliability_of
from pennyweight.sampling.places import PRIOR_MEAN_MG_M3
from pennyweight.sampling.posterior import exact_limits
from pennyweight.sampling.recovery import Recovery
from pennyweight.sampling.sizes import share_supposed
from pennyweight.sampling.volume import swell_of_material
from pennyweight.sampling.washed import DEFAULT_STEP_MG, Washed, material_of_samples
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

NOT_WASHED = "Not washed yet: that is unknown, not zero."
NO_COLOR = "No color: its grade has an upper limit, and is not zero."
BELOW_STEP = (
    "Weighs less than the balance shows and nobody counted: how many colors is "
    "unknown, not zero."
)
#: Share of the supposed sizes above which a sample was searched for all [-]; ours.
ALL_SIZES = 0.95
ONLY_SOME = (
    "No color in {classes}, and no other size was looked at: the rest is unknown, not "
    "zero. If you looked at all of it, enter class all with 0 colors."
)
BLANK = "A blank: barren material washed on purpose; any color in it came from outside."


def describe_samples(
    washed: Washed,
    evidence: Evidence,
    mixture: Mixture,
    *,
    spreads: Sequence[Spread | None],
    own_rel_sd: FloatArray,
    volume_rel_sd: FloatArray,
) -> tuple[GradedSample, ...]:
    """Return the record of each judged sample.

    Parameters
    ----------
    washed : Washed
        The samples.
    evidence : Evidence
        What they say.
    mixture : Mixture
        The ground's colors.
    spreads : sequence of Spread or None
        Their grades.
    own_rel_sd, volume_rel_sd : ndarray, shape (n_samples,)
        Relative spread of grade and of volume, without what all share [-].

    Returns
    -------
    tuple of GradedSample
        In the order of the record.
    """
    whys, exact = _whys(washed, mixture), _exact_mg_m3(evidence)
    known = washed.counted & np.isfinite(own_rel_sd)
    unknown = ~washed.counted & (washed.own_mg <= 0.0)
    stands_for = np.where(unknown, np.nan, evidence.colors)
    own_colors = np.where(washed.counted, washed.own_colors, stands_for)
    numbers = np.column_stack(
        [
            washed.bank_m3,
            volume_rel_sd,
            evidence.colors,
            evidence.recovery,
            evidence.color_mg,
            evidence.color_mg_rel_sd,
            own_rel_sd,
            own_colors,
        ]
    ).tolist()
    return tuple(
        GradedSample(
            sample=sample.sample,
            dig=sample.dig,
            top_m=sample.top_m,
            bottom_m=sample.bottom_m,
            bank_m3=_or_none(bank),
            bank_rel_sd=bank_sd,
            colors=_or_none(colors),
            recovery=recovery,
            color_mg=color_mg,
            color_mg_rel_sd=color_sd,
            color_cv=mixture.cv,
            grade_mg_m3=spreads[row],
            reliability=reliability_of(spreads[row]),
            counts_for_grade=bool(washed.counts[row]),
            why=whys[row],
            exact_mg_m3=exact[row] if known[row] else None,
            own_rel_sd=own_sd,
            own_bank_m3=washed.volumes[row].bank_m3,
            own_colors=_or_none(own),
            counted=bool(washed.counted[row]),
            pooled=washed.pooled[row],
        )
        for row, (
            sample,
            (bank, bank_sd, colors, recovery, color_mg, color_sd, own_sd, own),
        ) in enumerate(zip(washed.samples, numbers, strict=True))
    )


def _exact_mg_m3(evidence: Evidence) -> list[tuple[float, float]]:
    """Return the exact limits of each grade from its colors alone [mg/m3]."""
    lower, upper = exact_limits(np.nan_to_num(evidence.count))
    exposure = np.where(evidence.exposure > 0.0, evidence.exposure, np.nan)
    return list(
        zip((lower / exposure).tolist(), (upper / exposure).tolist(), strict=True)
    )


def _whys(washed: Washed, mixture: Mixture) -> list[str]:
    """Return what a reader must know of each sample; empty where nothing is odd."""
    held = np.any(washed.colors[washed.counts] > 0.0, axis=0)
    partly = washed.counted & np.any(held & ~washed.looked, axis=1)
    empty = washed.counted & ~np.any(washed.colors > 0.0, axis=1)
    below = ~washed.counted & (washed.own_mg <= 0.0)
    rows = zip(partly.tolist(), empty.tolist(), strict=True)
    return [
        _why_no_grade(washed, row)
        or (_why_partly(washed, row, held, mixture=mixture) if part else "")
        or (_why_empty(washed, row) if none else BELOW_STEP if below[row] else "")
        for row, (part, none) in enumerate(rows)
    ]


def _why_empty(washed: Washed, row: int) -> str:
    """Return what no color means: of all sizes, or of those looked at alone."""
    found = washed.tallied[washed.samples[row].sample]
    listed = [parse_class(name) for name in found.by_class]
    sizes = sum(share_supposed(one) for one in listed if one.kind == "sieve")
    if found.whole or sizes > ALL_SIZES:
        return NO_COLOR
    return ONLY_SOME.format(classes=", ".join(found.by_class))


def _why_no_grade(washed: Washed, row: int) -> str:
    """Return why a sample has no grade of its own, or shares one; else empty."""
    sample = washed.samples[row]
    if sample.blank:
        return BLANK
    if washed.volumes[row].why:
        return washed.volumes[row].why
    if not washed.washed[row]:
        return NOT_WASHED
    if washed.pooled[row]:
        return f"Judged together with its duplicate {', '.join(washed.pooled[row])}."
    if not washed.counts[row]:
        return f"A duplicate: its gold counts with sample {sample.duplicate_of}."
    return ""


def _why_partly(washed: Washed, row: int, held: BoolArray, *, mixture: Mixture) -> str:
    """Return which classes that the ground holds were not looked at, and their part."""
    missing = held & ~washed.looked[row]
    names = ", ".join(np.array(washed.classes)[missing])
    share = float(mixture.gold_share[missing].sum())
    return (
        f"Not looked at: {names}; supposed to hold as much as elsewhere in the ground, "
        f"which makes about {share:.0%} of its grade. Write 0 where you looked, or how "
        "many colors it holds in all."
    )


def _or_none(value: float) -> float | None:
    """Return None for a number that is not known."""
    return value if math.isfinite(value) else None


def list_assumptions(
    log: Log, washed: Washed, masses: Masses, *, recoveries: Mapping[str, Recovery]
) -> dict[str, Any]:
    """Return every value that the program supplied, by a key that names its unit.

    Parameters
    ----------
    log : Log
        The whole record.
    washed : Washed
        The samples.
    masses : Masses
        What colors weigh.
    recoveries : mapping
        Class to its recovery.

    Returns
    -------
    dict
        `swell` and `swell_<material>` [-], `pan_volume_l`, `recovery_share` and
        `recovery_share_<class>` [-], `color_mg` and `color_mg_<class>`,
        `balance_step_mg`, `fineness` and `grade_prior_mg_m3`; only what was needed.
    """
    found: dict[str, Any] = {}
    loose = [
        one
        for one, volume in zip(washed.samples, washed.volumes, strict=True)
        if volume.bank_m3 is not None and one.state != "bank"
    ]
    if washed.basis.swell is None and loose:
        found.update(_assumed_swells(log, {one.sample for one in loose}))
    nominal = "pan_volume_l" in washed.basis.assumptions
    if nominal and any(one.pans and one.pan_volume_m3 is None for one in loose):
        found["pan_volume_l"] = round(washed.basis.assumptions["pan_volume_l"], 3)
    any_sized = bool(washed.colors[:, :-1].any())
    for one in masses.classes:
        if one.name == UNSIZED and any_sized and not washed.colors[:, -1].any():
            continue
        tail = "" if one.name == UNSIZED else f"_{one.name}"
        if one.colors_weighed == 0:
            found[f"color_mg{tail}"] = float(f"{one.mean_mg:.4g}")
        if recoveries[one.name].tested == 0:
            found[f"recovery_share{tail}"] = round(recoveries[one.name].mean, 4)
    if np.any((washed.weight_mg == 0.0) & (washed.step_mg == 0.0)):
        found["balance_step_mg"] = DEFAULT_STEP_MG
    if log.ground.fineness is None:
        found["fineness"] = DEFAULT_FINENESS
    found["grade_prior_mg_m3"] = PRIOR_MEAN_MG_M3
    return found


def _assumed_swells(log: Log, loose: set[str]) -> dict[str, float]:
    """Return the swell supposed for each material that was washed loose."""
    materials = material_of_samples(log)
    found = {"swell": swell_of_material(None)}
    for sample in loose:
        material, swell = materials[sample], swell_of_material(materials[sample])
        if material and swell != found["swell"]:
            found[f"swell_{material}"] = swell
    return dict(sorted(found.items()))


def find_doubts(washed: Washed) -> tuple[Finding, ...]:
    """Return what is odd about volumes, tallies and weights.

    Parameters
    ----------
    washed : Washed
        The samples.

    Returns
    -------
    tuple of Finding
        In the order of the record.
    """
    found = []
    for sample, volume in zip(washed.samples, washed.volumes, strict=True):
        if volume.bank_m3 is None and not sample.blank:
            remedy = "Write down what was washed, and whether bank or loose."
            if sample.taken not in {"channel", "bulk", "recut"}:
                remedy = "Nothing to mend: it is kept as a find."
            weight = "note" if remedy.startswith("Nothing") else "doubt"
            found.append(
                _finding(f"sample {sample.sample}", volume.why, remedy, weight)
            )
    if "pan_volume_l" in washed.basis.assumptions and any(
        s.pans for s in washed.samples
    ):
        liters = washed.basis.assumptions["pan_volume_l"]
        found.append(
            _finding(
                "ground",
                f"The pan was never measured; {liters:.1f} l is supposed.",
                "Count struck pans into a bucket of known volume, once.",
                "doubt",
            )
        )
    names = {one.sample for one in washed.samples}
    for name in washed.tallied:
        if name not in names:
            problem = "There is a tally for a sample that is not in the record."
            remedy = "Add the sample or correct its name."
            found.append(_finding(f"sample {name}", problem, remedy, "doubt"))
    return tuple(found)


def _finding(where: str, problem: str, remedy: str, weight: str) -> Finding:
    """Return a finding of one of the two milder weights."""
    return Finding(where, problem, remedy, "note" if weight == "note" else "doubt")
