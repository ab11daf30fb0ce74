"""The judged samples in words: each one's record, what was assumed, what is odd."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.errors import Finding
from pennyweight.records import Log
from pennyweight.sampling.classes import UNSIZED
from pennyweight.sampling.evidence import Evidence, Mixture
from pennyweight.sampling.gold import DEFAULT_FINENESS, Masses
from pennyweight.sampling.graded import GradedSample, reliability_of
from pennyweight.sampling.places import PRIOR_MEAN_MG_M3
from pennyweight.sampling.posterior import exact_limits
from pennyweight.sampling.recovery import Recovery
from pennyweight.sampling.tallies import count_colors
from pennyweight.sampling.volume import swell_of_material
from pennyweight.sampling.washed import DEFAULT_STEP_MG, Washed, material_of_samples
from pennyweight.spread import Spread

FloatArray = npt.NDArray[np.float64]

NOT_WASHED = "Not washed yet: that is unknown, not zero."
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
    lower, upper = _exact_mg_m3(evidence)
    graded = []
    for row, sample in enumerate(washed.samples):
        spread = spreads[row]
        exact = None
        if spread is not None and washed.counted[row]:
            exact = (float(lower[row]), float(upper[row]))
        colors = _or_none(evidence.colors[row])
        own = washed.own_colors[row] if washed.counted[row] else evidence.colors[row]
        graded.append(
            GradedSample(
                sample=sample.sample,
                dig=sample.dig,
                top_m=sample.top_m,
                bottom_m=sample.bottom_m,
                bank_m3=_or_none(washed.bank_m3[row]),
                bank_rel_sd=float(volume_rel_sd[row]),
                colors=colors,
                recovery=float(evidence.recovery[row]),
                color_mg=float(evidence.color_mg[row]),
                color_mg_rel_sd=float(evidence.color_mg_rel_sd[row]),
                color_cv=mixture.cv,
                grade_mg_m3=spread,
                reliability=reliability_of(spread),
                counts_for_grade=bool(washed.counts[row]),
                why=_why(washed, row),
                exact_mg_m3=exact,
                own_rel_sd=float(own_rel_sd[row]),
                own_bank_m3=washed.volumes[row].bank_m3,
                own_colors=_or_none(own),
                pooled=washed.pooled[row],
            )
        )
    return tuple(graded)


def _exact_mg_m3(evidence: Evidence) -> tuple[FloatArray, FloatArray]:
    """Return the exact limits of each grade from its colors alone [mg/m3]."""
    lower, upper = exact_limits(np.nan_to_num(evidence.count))
    exposure = np.where(evidence.exposure > 0.0, evidence.exposure, np.nan)
    return lower / exposure, upper / exposure


def _why(washed: Washed, row: int) -> str:
    """Return what a reader must know of one sample; empty where nothing is odd."""
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
    if washed.counted[row] and not washed.looked[row].all():
        held = washed.colors[washed.counts].sum(axis=0)
        missing = [
            name
            for k, name in enumerate(washed.classes)
            if held[k] > 0.0 and not washed.looked[row, k]
        ]
        if missing:
            return (
                f"Not looked at: {', '.join(missing)}; supposed to hold as much as "
                "in the rest of the ground."
            )
    if washed.counted[row] and washed.colors[row].sum() == 0.0:
        return "No color: its grade has an upper limit, and is not zero."
    return ""


def _or_none(value: float) -> float | None:
    """Return None for a number that is not known."""
    return float(value) if np.isfinite(value) else None


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


def find_doubts(log: Log, washed: Washed) -> tuple[Finding, ...]:
    """Return what is odd about volumes, tallies and weights.

    Parameters
    ----------
    log : Log
        The whole record.
    washed : Washed
        The samples.

    Returns
    -------
    tuple of Finding
        In the order of the record.
    """
    found = []
    for sample, volume in zip(washed.samples, washed.volumes, strict=True):
        if volume.bank_m3 is None:
            remedy = "Write down what was washed, and whether bank or loose."
            if sample.taken not in {"channel", "bulk", "recut"}:
                remedy = "Nothing to mend: it is kept as a find."
            weight = "note" if remedy.startswith("Nothing") else "doubt"
            found.append(
                _finding(f"sample {sample.sample}", volume.why, remedy, weight)
            )
    if "pan_volume_l" in washed.basis.assumptions and any(s.pans for s in log.samples):
        litres = washed.basis.assumptions["pan_volume_l"]
        found.append(
            _finding(
                "ground",
                f"The pan was never measured; {litres:.1f} l is supposed.",
                "Count struck pans into a bucket of known volume, once.",
                "doubt",
            )
        )
    names = {one.sample for one in log.samples}
    for name in count_colors(log.tallies):
        if name not in names:
            problem = "There is a tally for a sample that is not in the record."
            remedy = "Add the sample or correct its name."
            found.append(_finding(f"sample {name}", problem, remedy, "doubt"))
    return tuple(found)


def _finding(where: str, problem: str, remedy: str, weight: str) -> Finding:
    """Return a finding of one of the two milder weights."""
    return Finding(where, problem, remedy, "note" if weight == "note" else "doubt")
