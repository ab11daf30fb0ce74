"""Bedrock as a trap for gold: how well it holds, and which crevice to open first.

The scores are common practice, no source with numbers: old handbooks and diggers
agree on the direction of each sign and on no amount. A score ranks places on one
ground; it is no grade and promises nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.records import Dig, Rock

#: Points by sign; the sum of the best is 1. docs/sources.md "bedrock traps".
FABRIC_POINTS = {"across": 0.30, "along": 0.08, "massive": 0.0}
SURFACE_POINTS = {"fractured": 0.30, "rough": 0.20, "smooth": 0.0}
#: Points of a sign that nobody wrote down: less than the middle, since a place that
#: was looked at is worth more than one that was not.
UNKNOWN_POINTS = 0.10
DIP_POINTS = 0.20
DECAYED_POINTS = 0.10
CREVICE_POINTS = 0.10
#: Rocks that split on edge or rot, and hold gold where they do.
SPLITTING = ("slate", "schist", "shale", "phyllite", "greenstone", "serpentine")
#: Words of a note or stain that tell of rotten rock.
ROTTEN = ("rotten", "decomposed", "decayed", "soft", "weathered")
#: A layer steeper than this stands on edge [deg].
ON_EDGE_DEG = 50.0
#: Kinds of dig that are places to clean rather than cuts.
CLEANED = ("crevice", "moss", "root")
#: Rocks that are not tied to a dig count for it within this distance [m]; ours.
NEAR_M = 10.0


@dataclass(frozen=True, slots=True)
class Reason:
    """One sign, what it adds, and why.

    Attributes
    ----------
    sign : str
        fabric, surface, dip, rock or crevice.
    points : float
        What it adds to the score [-].
    words : str
        Why, as a sentence.
    known : bool
        Whether it was written down.
    """

    sign: str
    points: float
    words: str
    known: bool


@dataclass(frozen=True, slots=True)
class Trap:
    """How well the bedrock of one dig holds gold.

    Attributes
    ----------
    dig : str
        Its name.
    score : float
        0 to 1 [-].
    reasons : tuple of Reason
        The signs, the weightiest first.
    look_for : str
        What to clean and how far.
    source : str
        Who says so.
    """

    dig: str
    score: float
    reasons: tuple[Reason, ...]
    look_for: str
    source: str = "common practice, no source"


def lean_against_flow(
    strike_deg: float, dip_deg: float, flow_bearing_deg: float
) -> tuple[float, float]:
    """Return how a layer leans against the current, and how squarely it crosses it.

    Parameters
    ----------
    strike_deg : float
        Bearing of the layer's level line by the right-hand rule: it falls to the
        right of it [deg].
    dip_deg : float
        Fall of the layer, 0 flat to 90 on edge [deg].
    flow_bearing_deg : float
        Bearing toward which the water runs [deg].

    Returns
    -------
    upstream : float
        1 where the layer falls straight upstream, -1 straight downstream, 0 where it
        falls to the side [-].
    across : float
        1 where its edges cross the current squarely, 0 where they run along it [-].

    Raises
    ------
    ValueError
        The dip lies outside 0 to 90.

    Examples
    --------
    Water runs north; a layer that strikes east falls to the south, upstream:

    >>> [round(x, 6) for x in lean_against_flow(90.0, 60.0, 0.0)]
    [1.0, 1.0]
    """
    if not 0.0 <= dip_deg <= 90.0:
        msg = f"dip is {dip_deg} deg; it lies between 0 (flat) and 90 (on edge)."
        raise ValueError(msg)
    fall = math.radians(strike_deg + 90.0 - flow_bearing_deg)
    return -math.cos(fall), abs(math.cos(fall))


def rate_traps(
    digs: Sequence[Dig],
    rocks: Sequence[Rock] = (),
    *,
    flow_bearing_deg: dict[str, float] | None = None,
) -> tuple[Trap, ...]:
    """Return how well the bedrock of each dig that met it holds gold.

    Parameters
    ----------
    digs : sequence of Dig
        Those with bedrock, a fabric or a surface written down, or stopped by bedrock,
        are rated.
    rocks : sequence of Rock
        Bedrock seen at a dig or within 10 m of it gives strike, dip and rock.
    flow_bearing_deg : dict of str to float, optional
        Dig to the bearing toward which the water runs there [deg]; without it the
        lean of the layers is not judged.

    Returns
    -------
    tuple of Trap
        The best first; equal ones by name.
    """
    bearings = flow_bearing_deg or {}
    bedrock = [rock for rock in rocks if rock.kind == "bedrock"]
    traps = [
        _rate(dig, _rocks_of(dig, bedrock), bearings.get(dig.dig))
        for dig in digs
        if _met_bedrock(dig) or _rocks_of(dig, bedrock)
    ]
    return tuple(sorted(traps, key=lambda trap: (-trap.score, trap.dig)))


@dataclass(frozen=True, slots=True)
class CreviceStop:
    """One place on the list of crevices to sample.

    Attributes
    ----------
    rank : int
        1 is the first to open.
    dig : str
        Its name.
    kind : str or None
        crevice, moss, root or the kind of the cut.
    score : float
        Of its trap [-].
    why, how : str
        The weightiest reasons, and what to do there.
    """

    rank: int
    dig: str
    kind: str | None
    score: float
    why: str
    how: str


def list_crevices(
    traps: Sequence[Trap],
    digs: Sequence[Dig],
    *,
    washed: frozenset[str] = frozenset(),
) -> tuple[CreviceStop, ...]:
    """Return the order in which to sample crevices and bedrock.

    Parameters
    ----------
    traps : sequence of Trap
        Of `rate_traps`.
    digs : sequence of Dig
        The digs that they belong to.
    washed : frozenset of str
        Digs whose bedrock or crevice has a washed sample: they come last, since a
        crack gives more when it is cleaned a second time, but less than a new one.

    Returns
    -------
    tuple of CreviceStop
        Not yet washed ones first, each part by score.
    """
    kinds = {dig.dig: dig.kind for dig in digs}
    order = sorted(traps, key=lambda one: (one.dig in washed, -one.score, one.dig))
    return tuple(
        CreviceStop(
            rank=rank,
            dig=trap.dig,
            kind=kinds.get(trap.dig),
            score=trap.score,
            why=" ".join(one.words for one in trap.reasons if one.known)
            or "Nothing was written down of its fabric or surface.",
            how=(
                "Washed before: clean it a second time, deeper. "
                if trap.dig in washed
                else ""
            )
            + trap.look_for,
        )
        for rank, trap in enumerate(order, 1)
    )


def _met_bedrock(dig: Dig) -> bool:
    """Say whether a dig met bedrock."""
    told = (dig.bedrock, dig.fabric, dig.surface)
    return any(told) or dig.stopped_by == "bedrock" or dig.kind in CLEANED


def _rocks_of(dig: Dig, bedrock: list[Rock]) -> list[Rock]:
    """Return the bedrock seen at a dig, or else near it."""
    own = [rock for rock in bedrock if rock.dig == dig.dig]
    if own or dig.easting_m is None or dig.northing_m is None:
        return own
    return [
        rock
        for rock in bedrock
        if rock.dig is None
        and rock.easting_m is not None
        and rock.northing_m is not None
        and math.hypot(rock.easting_m - dig.easting_m, rock.northing_m - dig.northing_m)
        <= NEAR_M
    ]


def _rate(dig: Dig, rocks: list[Rock], flow_bearing_deg: float | None) -> Trap:
    """Return the trap of one dig."""
    reasons = [
        _by_fabric(dig),
        _by_surface(dig),
        _by_dip(rocks, flow_bearing_deg),
        _by_rock(dig, rocks),
    ]
    if dig.kind in CLEANED:
        words = f"It is a {dig.kind}, which holds what falls into it."
        reasons.append(Reason("crevice", CREVICE_POINTS, words, known=True))
    score = min(1.0, sum(one.points for one in reasons))
    reasons.sort(key=lambda one: (-one.known, -one.points))
    return Trap(dig.dig, score, tuple(reasons), _look_for(dig))


def _by_fabric(dig: Dig) -> Reason:
    """Return what the run of the layers adds."""
    words = {
        "across": "The rock's layers cross the current and catch like the bars of a "
        "grate.",
        "along": "The rock's layers run with the current, which sweeps along them.",
        "massive": "The rock is massive and has no layers to catch on.",
    }
    if dig.fabric not in FABRIC_POINTS:
        text = "Nothing says how the rock's layers run."
        return Reason("fabric", UNKNOWN_POINTS, text, known=False)
    return Reason("fabric", FABRIC_POINTS[dig.fabric], words[dig.fabric], known=True)


def _by_surface(dig: Dig) -> Reason:
    """Return what the surface adds."""
    words = {
        "fractured": "It is cracked, and gold works down into cracks.",
        "rough": "It is rough, and slows the water at the very bottom.",
        "smooth": "It is smooth, and smooth rock holds little.",
    }
    if dig.surface not in SURFACE_POINTS:
        text = "Nothing says how rough the rock is."
        return Reason("surface", UNKNOWN_POINTS, text, known=False)
    return Reason(
        "surface", SURFACE_POINTS[dig.surface], words[dig.surface], known=True
    )


def _by_dip(rocks: list[Rock], flow_bearing_deg: float | None) -> Reason:
    """Return what the lean of the layers adds, of the bedrock that has a dip."""
    dips = [rock for rock in rocks if rock.dip_deg is not None]
    if not dips:
        text = "No dip was measured."
        return Reason("dip", UNKNOWN_POINTS, text, known=False)
    dip = float(np.mean([rock.dip_deg for rock in dips if rock.dip_deg is not None]))
    strikes = [rock for rock in dips if rock.strike_deg is not None]
    if dip > 90.0 or dip < 0.0 or not strikes or flow_bearing_deg is None:
        steep = min(max(dip, 0.0), 90.0) / 90.0
        text = f"The layers dip {dip:.0f} degrees; which way to the current is unknown."
        return Reason("dip", UNKNOWN_POINTS * (0.5 + 0.5 * steep), text, known=True)
    leans = [
        lean_against_flow(rock.strike_deg or 0.0, dip, flow_bearing_deg)
        for rock in strikes
    ]
    upstream, across = (float(mean) for mean in np.mean(leans, axis=0))
    return _lean_said(dip, upstream, across)


def _lean_said(dip: float, upstream: float, across: float) -> Reason:
    """Return what a measured lean adds."""
    steepness = math.sin(math.radians(dip))
    if dip >= ON_EDGE_DEG and across >= 0.5:
        text = f"The layers stand on edge ({dip:.0f} degrees) across the current."
        return Reason("dip", DIP_POINTS * across, text, known=True)
    if across < 0.5:
        text = f"The layers dip {dip:.0f} degrees to the side of the current."
        return Reason("dip", 0.25 * DIP_POINTS * steepness, text, known=True)
    half = 0.5 + 0.5 * steepness
    if upstream > 0.0:
        text = (
            f"The layers dip {dip:.0f} degrees upstream, so that their ledges lean "
            "downstream: look on the under side, in the eddy."
        )
        return Reason("dip", 0.6 * DIP_POINTS * half, text, known=True)
    text = (
        f"The layers dip {dip:.0f} degrees downstream and their edges point up the "
        "current: look in the steps before each edge."
    )
    return Reason("dip", 0.5 * DIP_POINTS * half, text, known=True)


def _by_rock(dig: Dig, rocks: list[Rock]) -> Reason:
    """Return what the kind and the decay of the rock add."""
    told = [dig.bedrock, dig.note, *(rock.name for rock in rocks)]
    told += [text for rock in rocks for text in (rock.note, rock.stain)]
    words = " ".join(text.lower() for text in told if text)
    if any(word in words for word in ROTTEN):
        text = "The rock is rotten: take it up until it is barren."
        return Reason("rock", DECAYED_POINTS, text, known=True)
    named = [name for name in SPLITTING if name in words]
    if named:
        text = f"{named[0].capitalize()} splits into leaves that hold gold."
        return Reason("rock", 0.7 * DECAYED_POINTS, text, known=True)
    text = "Nothing tells that the rock splits or rots."
    return Reason("rock", 0.2 * DECAYED_POINTS, text, known=bool(words))


def _look_for(dig: Dig) -> str:
    """Return what to clean at a dig and how far."""
    if dig.kind == "moss":
        return "Peel the moss, wash its roots and the film of sand on the rock."
    if dig.kind == "root":
        return "Wash the fine roots and the packed gravel between them."
    if dig.surface == "fractured" or dig.kind == "crevice":
        return (
            "Open the cracks with a bar to their bottoms; the tight, stained gravel "
            "counts, not the loose sand on top. Clean each crack twice."
        )
    if dig.surface == "smooth":
        return "Clean only the hollows and the downstream side of steps."
    return (
        "Scrape and brush the surface, then lift the loose leaves of rock and wash "
        "them with the clay between."
    )
