"""How much ground a sample speaks for: from pans, buckets and holes to bank volume.

Bank is the ground as it lies, loose is what comes out of it. Every function says
which one it takes and gives; a volume that does not say so has no bank volume.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from pennyweight.records import BucketTest, Ground, Sample
from pennyweight.units import INCH_M

#: Kinds of sample whose volume is fair: cut to a shape, not picked for the gold.
FAIR_KINDS = frozenset({"channel", "bulk", "recut"})

#: What a struck 16-inch pan holds, loose: 336 cubic inches [m3]. Wells (1969), BLM
#: Technical Bulletin 4, Part V; docs/sources.md "pan".
DEFAULT_PAN_M3 = 336.0 * INCH_M**3

#: Rim of that pan [m]; other sizes are supposed to have its shape.
DEFAULT_PAN_RIM_M = 16.0 * INCH_M

#: Ground.extra key of a pan that was chosen by its rim, not measured.
PAN_SIZE_KEY = "pan_size_in"


@dataclass(frozen=True, slots=True)
class PanSize:
    """A pan of a common size, struck level.

    Attributes
    ----------
    rim_in : int
        Diameter of its rim [in].
    loose_m3 : float
        What it holds, loose [m3].
    source : str
        Where the volume comes from.
    """

    rim_in: int
    loose_m3: float
    source: str


#: Growth of the ground when dug, by a word in the material's name [-]. Gravel 0.20:
#: lower end of the 20-25 % in Wells (1969); sand, earth, clay and rock: US Army
#: FM 5-434, table 1-1, from memory. docs/sources.md "swell".
SWELL_OF_MATERIAL = (
    ("gravel", 0.20),
    ("sand", 0.11),
    ("clay", 0.43),
    ("bedrock", 0.50),
    ("rock", 0.50),
    ("soil", 0.25),
    ("silt", 0.25),
    ("loam", 0.25),
)
DEFAULT_SWELL = 0.20

#: Relative standard deviations [-]; ours. Published swells of gravel run from 5 to
#: 40 %, hence 0.10 of (1 + swell) where nobody measured it.
SWELL_SD_DEFAULT, SWELL_SD_TYPED, SWELL_SD_ONE_TEST = 0.10, 0.05, 0.05
PAN_SD_DEFAULT, PAN_SD_TYPED, PAN_SD_ONE_TEST = 0.15, 0.05, 0.04
#: Pans of one rim differ in slope and depth: 12 inches by Wells is
#: 7 % more than the 16-inch shape scaled; makes differ by more. Ours.
PAN_SD_SIZE = 0.10
SD_ONE_FILL, SD_HOLE, SD_BUCKETS, SD_FLOOR = 0.08, 0.06, 0.04, 0.02


@dataclass(frozen=True, slots=True)
class VolumeBasis:
    """What turns pans and buckets of this ground into bank volume.

    Attributes
    ----------
    pan_m3 : float
        What a pan holds, loose [m3].
    pan_rel_sd : float
        Its relative standard deviation [-].
    swell : float or None
        Growth when dug, measured or typed for the whole ground [-]; None where the
        default of each material holds.
    swell_rel_sd : float
        Relative standard deviation of 1 + swell [-].
    bank_per_pan_m3 : float or None
        Bank volume of one pan, where a measured hole was counted in pans [m3].
    bank_per_pan_rel_sd : float
        Its relative standard deviation [-].
    assumptions : mapping
        What the program had to suppose.
    """

    pan_m3: float
    pan_rel_sd: float
    swell: float | None
    swell_rel_sd: float
    bank_per_pan_m3: float | None = None
    bank_per_pan_rel_sd: float = 0.0
    assumptions: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SampleVolume:
    """The ground that one sample speaks for.

    Attributes
    ----------
    bank_m3 : float or None
        Bank volume looked at, stones included [m3]; None without a fair volume.
    own_rel_sd : float
        Relative standard deviation from this sample's own measuring [-].
    shared_rel_sd : float
        The same from pan and swell, which all samples share [-].
    why : str
        One sentence where there is no fair volume; else empty.
    """

    bank_m3: float | None
    own_rel_sd: float
    shared_rel_sd: float
    why: str = ""


def frustum_volume_m3(top_m: float, bottom_m: float, depth_m: float) -> float:
    """Return what a pan with sloping sides holds, struck level.

    Parameters
    ----------
    top_m, bottom_m : float
        Inside diameters [m].
    depth_m : float
        Inside depth [m].

    Returns
    -------
    float
        Loose volume [m3].

    Raises
    ------
    ValueError
        A measure is not above 0.

    Notes
    -----
    V = pi h / 12 (D^2 + D d + d^2), the frustum of a cone.

    Examples
    --------
    A 16-inch pan, 10 inches across the bottom, 2.5 inches deep:

    >>> round(frustum_volume_m3(0.4064, 0.254, 0.0635), 5)
    0.00553
    """
    for name, value in (("top", top_m), ("bottom", bottom_m), ("depth", depth_m)):
        if value <= 0.0:
            msg = f"{name} of the pan is {value} m; measure it, it is above 0."
            raise ValueError(msg)
    return math.pi * depth_m / 12.0 * (top_m**2 + top_m * bottom_m + bottom_m**2)


def heap_volume_m3(top_m: float, repose_deg: float) -> float:
    """Return what a heaped pan holds above its rim.

    Parameters
    ----------
    top_m : float
        Inside diameter of the rim [m].
    repose_deg : float
        Slope of the heap, about 30 for damp gravel [deg].

    Returns
    -------
    float
        Loose volume of the cone above the rim [m3].

    Raises
    ------
    ValueError
        The diameter is not above 0, or the slope not between 0 and 60 deg.
    """
    if top_m <= 0.0 or not 0.0 <= repose_deg <= 60.0:
        msg = (
            f"rim is {top_m} m and the heap slopes {repose_deg} deg; give a rim "
            "above 0 and a slope from 0 to 60 deg."
        )
        raise ValueError(msg)
    return math.pi / 24.0 * top_m**3 * math.tan(math.radians(repose_deg))


def nominal_pan_m3(rim_m: float) -> float:
    """Return what a pan of that size holds where nobody measured it, struck level.

    Parameters
    ----------
    rim_m : float
        Inside diameter of the rim [m].

    Returns
    -------
    float
        Loose volume [m3].

    Raises
    ------
    ValueError
        The diameter is not above 0.

    Notes
    -----
    The 16-inch pan of 336 cubic inches, in proportion: diameter to the third power.

    References
    ----------
    Wells (1969), BLM Technical Bulletin 4, Part V; docs/sources.md "pan".

    Examples
    --------
    A 14-inch pan, in liters:

    >>> round(nominal_pan_m3(14.0 * 0.0254) * 1000.0, 2)
    3.69
    """
    if rim_m <= 0.0:
        msg = f"rim of the pan is {rim_m} m; measure it, it is above 0."
        raise ValueError(msg)
    return DEFAULT_PAN_M3 * (rim_m / DEFAULT_PAN_RIM_M) ** 3


#: Pans by their rim. Wells (1969) gives 12 and 16 inches; the others are the 16-inch
#: pan in proportion, because no measures were found. docs/sources.md "pan".
PAN_SIZES = (
    PanSize(10, nominal_pan_m3(10.0 * INCH_M), "The 16-inch shape scaled, no source."),
    PanSize(12, 152.0 * INCH_M**3, "Wells (1969), BLM Technical Bulletin 4."),
    PanSize(14, nominal_pan_m3(14.0 * INCH_M), "The 16-inch shape scaled, no source."),
    PanSize(16, DEFAULT_PAN_M3, "Wells (1969), BLM Technical Bulletin 4."),
)


def pan_of_bucket_m3(bucket_m3: float, pans: float) -> float:
    """Return what a pan holds as its user fills it, from pans to a marked bucket.

    Parameters
    ----------
    bucket_m3 : float
        Volume of the bucket up to its mark, above 0, loose [m3].
    pans : float
        Pans that filled it, above 0 [-].

    Returns
    -------
    float
        Loose volume of one pan [m3].

    Raises
    ------
    ValueError
        A value is not above 0.

    Examples
    --------
    Four pans to a mark at 18 liters:

    >>> pan_of_bucket_m3(0.018, 4.0)
    0.0045
    """
    if bucket_m3 <= 0.0 or pans <= 0.0:
        msg = f"bucket is {bucket_m3} m3 and took {pans} pans; both are above 0."
        raise ValueError(msg)
    return bucket_m3 / pans


def pan_factor(pan_m3: float, swell: float) -> float:
    """Return how many pans one cubic meter of ground fills once it is dug.

    Parameters
    ----------
    pan_m3 : float
        What a pan holds, loose [m3].
    swell : float
        Growth when dug [-].

    Returns
    -------
    float
        Pans per bank cubic meter [1/m3].

    Raises
    ------
    ValueError
        The pan holds nothing, or the swell is below 0 or 1 or more.

    Examples
    --------
    >>> round(pan_factor(0.006, 0.2), 1)
    200.0
    """
    if pan_m3 <= 0.0:
        msg = f"pan holds {pan_m3} m3; it must hold more than 0."
        raise ValueError(msg)
    return (1.0 + _swell_in_range(swell)) / pan_m3


def swell_of_pan_factor(pans_per_bank_m3: float, pan_m3: float) -> float:
    """Return the swell that a stated pan factor implies.

    Parameters
    ----------
    pans_per_bank_m3 : float
        Pans per bank cubic meter [1/m3].
    pan_m3 : float
        What a pan holds, loose [m3].

    Returns
    -------
    float
        Growth when dug [-]; below 0 where the pans were not full.
    """
    return pans_per_bank_m3 * pan_m3 - 1.0


def _swell_in_range(swell: float) -> float:
    """Return the swell, refusing what is no share."""
    if not 0.0 <= swell < 1.0:
        msg = f"swell is {swell}; it lies from 0 to below 1 (0.25 means 25 percent)."
        raise ValueError(msg)
    return swell


def bank_from_loose_m3(loose_m3: float, swell: float) -> float:
    """Return the bank volume that came out as a loose one.

    Parameters
    ----------
    loose_m3 : float
        Volume once dug [m3].
    swell : float
        Growth when dug [-].

    Returns
    -------
    float
        Bank volume [m3].

    Examples
    --------
    A hole of 75 liters fills 90 liters of buckets:

    >>> round(bank_from_loose_m3(0.090, 0.2), 6)
    0.075
    """
    return loose_m3 / (1.0 + _swell_in_range(swell))


def bank_from_weight_m3(wet_kg: float, moisture: float, dry_bank_kg_m3: float) -> float:
    """Return the bank volume of a sample that was weighed instead of measured.

    Weights of one bed differ by 16 % (Gardner and Johnson 1934), so a local figure
    is needed; there is no default.

    Parameters
    ----------
    wet_kg : float
        Weight as dug [kg].
    moisture : float
        Water as a share of the wet weight, 0 to below 1 [-].
    dry_bank_kg_m3 : float
        Dry weight of a cubic meter as it lies [kg/m3].

    Returns
    -------
    float
        Bank volume [m3].

    Raises
    ------
    ValueError
        A weight is not above 0, or the moisture is no share.

    Examples
    --------
    >>> bank_from_weight_m3(100.0, 0.1, 1800.0)
    0.05
    """
    if wet_kg <= 0.0 or dry_bank_kg_m3 <= 0.0:
        msg = f"weights are {wet_kg} kg and {dry_bank_kg_m3} kg/m3; both are above 0."
        raise ValueError(msg)
    if not 0.0 <= moisture < 1.0:
        msg = f"moisture is {moisture}; it is a share from 0 to below 1."
        raise ValueError(msg)
    return wet_kg * (1.0 - moisture) / dry_bank_kg_m3


def grade_with_boulders(grade_fines: float, boulder_share: float) -> float:
    """Return the bank grade of ground whose boulders were not washed.

    Parameters
    ----------
    grade_fines : float
        Grade of what was washed [mg/m3].
    boulder_share : float
        Share of the bank volume that is boulders, 0 to below 1 [-].

    Returns
    -------
    float
        Grade of the whole [mg/m3].

    Raises
    ------
    ValueError
        The share is not from 0 to below 1.

    Examples
    --------
    >>> grade_with_boulders(100.0, 0.25)
    75.0
    """
    if not 0.0 <= boulder_share < 1.0:
        msg = f"boulder share is {boulder_share}; it lies from 0 to below 1."
        raise ValueError(msg)
    return grade_fines * (1.0 - boulder_share)


def swell_of_material(material: str | None) -> float:
    """Return the swell that is supposed for a material nobody measured.

    Parameters
    ----------
    material : str or None
        The layer's word for it: "sandy gravel", "clay".

    Returns
    -------
    float
        Growth when dug [-].

    Examples
    --------
    >>> swell_of_material("sandy gravel"), swell_of_material("stiff clay")
    (0.2, 0.43)
    """
    words = (material or "").lower()
    return next((s for word, s in SWELL_OF_MATERIAL if word in words), DEFAULT_SWELL)


def measure_basis(ground: Ground, buckets: Sequence[BucketTest]) -> VolumeBasis:
    """Return pan and swell of a ground: tests before typed values before defaults.

    Parameters
    ----------
    ground : Ground
        May carry the user's pan volume and swell.
    buckets : sequence of BucketTest
        Holes measured, and what came out of them.

    Returns
    -------
    VolumeBasis
        With the assumptions that had to be made.
    """
    assumptions: dict[str, Any] = {}
    swells = [t.loose_m3 / t.bank_m3 - 1.0 for t in buckets if t.loose_m3 and t.bank_m3]
    pans = [t.loose_m3 / t.pans for t in buckets if t.loose_m3 and t.pans]
    banks = [t.bank_m3 / t.pans for t in buckets if t.bank_m3 and t.pans]
    swell, swell_sd = ground.swell, SWELL_SD_TYPED
    if swells:
        swell = _swell_in_range(float(np.mean(swells)))
        swell_sd = SWELL_SD_ONE_TEST / math.sqrt(len(swells))
    elif swell is None:
        swell_sd = SWELL_SD_DEFAULT
        assumptions["swell"] = DEFAULT_SWELL
    if ground.pan_volume_m3 is not None:
        by_size = PAN_SIZE_KEY in ground.extra
        pan = ground.pan_volume_m3
        pan_sd = PAN_SD_SIZE if by_size else PAN_SD_TYPED
        if by_size:
            assumptions["pan_volume_l"] = pan * 1000.0
    elif pans:
        pan, pan_sd = float(np.mean(pans)), PAN_SD_ONE_TEST / math.sqrt(len(pans))
    else:
        pan, pan_sd = DEFAULT_PAN_M3, PAN_SD_DEFAULT
        assumptions["pan_volume_l"] = DEFAULT_PAN_M3 * 1000.0
    return VolumeBasis(
        pan_m3=pan,
        pan_rel_sd=pan_sd,
        swell=swell,
        swell_rel_sd=swell_sd,
        bank_per_pan_m3=float(np.mean(banks)) if banks else None,
        bank_per_pan_rel_sd=PAN_SD_ONE_TEST / math.sqrt(len(banks) or 1),
        assumptions=assumptions,
    )


def why_no_fair_volume(sample: Sample) -> str:
    """Return why a sample cannot enter a grade per volume; empty if it can.

    Parameters
    ----------
    sample : Sample
        As recorded.

    Returns
    -------
    str
        One sentence for the user, or empty.
    """
    if sample.taken not in FAIR_KINDS:
        return (
            f"A {sample.taken} sample has no fair volume: it tells what gold is there, "
            "its size and shape, but enters no grade per volume."
        )
    if sample.volume_m3 is not None and sample.state not in {"bank", "loose"}:
        return "Its volume does not say bank or loose."
    if sample.volume_m3 is None and sample.pans is None:
        return "No volume and no number of pans is written down."
    measured = sample.volume_m3 if sample.volume_m3 is not None else sample.pans
    if measured is not None and measured <= 0.0:
        return "Its volume is 0."
    return ""


def bank_volume(
    sample: Sample, basis: VolumeBasis, material: str | None = None
) -> SampleVolume:
    """Return the bank volume that a sample speaks for, stones included.

    Parameters
    ----------
    sample : Sample
        As recorded.
    basis : VolumeBasis
        Pan and swell of the ground.
    material : str or None
        Of the layer it came from; gives the swell where nobody measured it.

    Returns
    -------
    SampleVolume
        None as volume, with the reason, where there is no fair one.

    Notes
    -----
    Pans, loose volumes and screen oversize shrink by 1 + swell; boulders left out
    are solid and do not. Where only a part of a measured cut was washed
    (`washed_part`), the cut's stones are part of it already.
    """
    why = why_no_fair_volume(sample)
    if why:
        return SampleVolume(None, 0.0, 0.0, why)
    swell = basis.swell if basis.swell is not None else swell_of_material(material)
    if sample.volume_m3 is None:
        bank, own, shared = _bank_of_pans(sample, basis, swell)
    elif sample.state == "bank":
        bank, own, shared = sample.volume_m3, SD_HOLE, 0.0
    else:
        bank = bank_from_loose_m3(sample.volume_m3, swell)
        own, shared = SD_BUCKETS, basis.swell_rel_sd
    if sample.washed_part is not None and sample.volume_m3 is not None:
        if not 0.0 < sample.washed_part <= 1.0:
            found = f"{sample.washed_part}; it lies above 0 and up to 1"
            return SampleVolume(None, 0.0, 0.0, f"Its washed part is {found}.")
        return SampleVolume(bank * sample.washed_part, own, shared)
    stones = bank_from_loose_m3(sample.oversize_m3 or 0.0, swell)
    return SampleVolume(
        bank + stones + (sample.boulders_left_out_m3 or 0.0), own, shared
    )


def _bank_of_pans(
    sample: Sample, basis: VolumeBasis, swell: float
) -> tuple[float, float, float]:
    """Return bank volume [m3], own and shared relative standard deviation [-]."""
    pans = sample.pans or 0.0
    own = max(SD_FLOOR, SD_ONE_FILL / math.sqrt(max(pans, 1.0)))
    if sample.pan_volume_m3 is not None:
        shared = math.hypot(PAN_SD_TYPED, basis.swell_rel_sd)
        return bank_from_loose_m3(pans * sample.pan_volume_m3, swell), own, shared
    if basis.bank_per_pan_m3 is not None:
        return pans * basis.bank_per_pan_m3, own, basis.bank_per_pan_rel_sd
    shared = math.hypot(basis.pan_rel_sd, basis.swell_rel_sd)
    return bank_from_loose_m3(pans * basis.pan_m3, swell), own, shared
