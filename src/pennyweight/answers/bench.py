"""Small reckonings at the camp table, without any book: how much ground it was.

Each answer holds numbers alone, in inside units unless its names say otherwise;
`benchwords` puts them into words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, ParamSpec, TypeVar

from pennyweight import __version__
from pennyweight.errors import CallError
from pennyweight.sampling.volume import (
    DEFAULT_PAN_RIM_M,
    DEFAULT_SWELL,
    bank_from_weight_m3,
    frustum_volume_m3,
    heap_volume_m3,
    nominal_pan_m3,
    pan_factor,
    pan_of_bucket_m3,
)
from pennyweight.units import CUBIC_YARD_M3

#: Slope of the heap on a heaped pan [deg]; ours: damp gravel stands at 30, but the
#: heap settles and loses its tip.
HEAP_DEG = 20.0
#: Difference between the measured and the reckoned pan that asks for a look [-]; ours.
ODD_PAN = 0.15

WEIGHT_CAUTION = (
    "Weights of one bed differ by a sixth: weigh what comes out of a measured hole, "
    "dried, at this very place."
)

Given = ParamSpec("Given")
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchAnswer:
    """What every reckoning carries besides its numbers."""

    version: str = __version__
    cautions: tuple[str, ...] = ()
    assumptions: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class PanAnswer(BenchAnswer):
    """What a pan holds, and how many of them a cubic meter of ground fills.

    `pan_m3` is the pan as it is filled: by the user's own bucket where he counted,
    else reckoned. Pan and heap are loose volumes.
    """

    pan_m3: float
    struck_m3: float
    heap_m3: float
    by_bucket: bool
    differs: bool
    swell: float
    bank_per_pan_m3: float
    pans_per_bank_m3: float
    pans_per_bank_yd3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightAnswer(BenchAnswer):
    """How much ground a weighed sample was."""

    bank_m3: float
    dry_kg: float
    water_share: float


def call(work: Callable[Given, Found], *args: Given.args, **more: Given.kwargs) -> Any:
    """Return what a function finds; what it refuses is the caller's mistake.

    Raises
    ------
    CallError
        The function refuses a number.
    """
    try:
        return work(*args, **more)
    except ValueError as error:
        raise CallError(str(error)) from error


def measure_pan(
    *,
    rim_m: float | None = None,
    bottom_m: float | None = None,
    depth_m: float | None = None,
    fill: str = "struck",
    bucket_m3: float | None = None,
    pans: float | None = None,
    swell: float | None = None,
) -> PanAnswer:
    """Return what a pan holds, and its pan factor.

    Parameters
    ----------
    rim_m, bottom_m, depth_m : float, optional
        Inside measures of the pan; without a rim a 16-inch pan is supposed, without
        the others one of its shape [m].
    fill : {"struck", "heaped"}
        How it is filled.
    bucket_m3, pans : float, optional
        Volume of a marked bucket, loose [m3], and pans that filled it [-].
    swell : float, optional
        Growth of the ground when dug; else 0.20 [-].

    Returns
    -------
    PanAnswer
        Loose and bank volumes.

    Raises
    ------
    CallError
        A number lies outside what is allowed, or one of a pair is missing.
    """
    if (bucket_m3 is None) != (pans is None):
        msg = "a bucket test needs both: what the bucket holds and the pans it took."
        raise CallError(msg)
    if (bottom_m is None) != (depth_m is None):
        msg = "the shape of a pan needs rim, bottom and depth; one of them is missing."
        raise CallError(msg)
    assumptions: dict[str, Any] = {}
    rim = DEFAULT_PAN_RIM_M if rim_m is None else rim_m
    if bottom_m is not None and depth_m is not None:
        struck = call(frustum_volume_m3, rim, bottom_m, depth_m)
    else:
        struck = call(nominal_pan_m3, rim)
        if bucket_m3 is None:
            assumptions["pan_volume_l"] = round(struck * 1000.0, 3)
    heap = 0.0
    if fill == "heaped":
        heap = call(heap_volume_m3, rim, HEAP_DEG)
        if bucket_m3 is None:
            assumptions["heap_deg"] = HEAP_DEG
    reckoned = pan = struck + heap
    if bucket_m3 is not None and pans is not None:
        pan = call(pan_of_bucket_m3, bucket_m3, pans)
    if swell is None:
        swell = assumptions["swell"] = DEFAULT_SWELL
    factor = call(pan_factor, pan, swell)
    measured = rim_m is not None
    return PanAnswer(
        pan_m3=pan,
        struck_m3=struck,
        heap_m3=heap,
        by_bucket=bucket_m3 is not None,
        differs=measured and abs(pan / reckoned - 1.0) > ODD_PAN,
        swell=swell,
        bank_per_pan_m3=1.0 / factor,
        pans_per_bank_m3=factor,
        pans_per_bank_yd3=factor * CUBIC_YARD_M3,
        assumptions=assumptions,
    )


def weigh_ground(wet_kg: float, moisture: float, dry_bank_kg_m3: float) -> WeightAnswer:
    """Return how much ground a sample was that was weighed instead of measured.

    Parameters
    ----------
    wet_kg : float
        Weight as dug [kg].
    moisture : float
        Water in it, share of the wet weight, 0 to below 1 [-].
    dry_bank_kg_m3 : float
        Dry weight of a cubic meter as it lies, measured there [kg/m3].

    Returns
    -------
    WeightAnswer
        Bank volume.

    Raises
    ------
    CallError
        A number lies outside what is allowed.
    """
    return WeightAnswer(
        bank_m3=call(bank_from_weight_m3, wet_kg, moisture, dry_bank_kg_m3),
        dry_kg=wet_kg * (1.0 - moisture),
        water_share=moisture,
        cautions=(WEIGHT_CAUTION,),
    )
