"""Counts of gold with their exposure, horizon by horizon.

Gold hugs its contact, so the gravel that rests on a contact is looked at apart: its
zone. Each dig that met a contact and washed something of its zone says how many
colors it saw, and how many it would have seen for every mg/m2 that lies there: its
exposure. Everything outside the zones belongs to the horizon `gravel`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from pennyweight.sampling.graded import GradedSample
from pennyweight.streaks.contacts import BEDROCK, GRAVEL, Column, Contact
from pennyweight.streaks.sites import Sites

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Gravel above a contact that counts for it [m]. Our choice.
ZONE_ABOVE_M = 0.60
#: How far into a false bedrock the zone reaches [m]. Our choice.
ZONE_INTO_FALSE_M = 0.15
#: Heights above the contact at which richness changes [m]. Our choice.
CLASS_EDGE_M = 0.30
#: Height classes: below the contact, next to it, above that.
N_CLASSES = 3
#: Richness expected below the contact, next to it, above that, and above the zone, in
#: shares of the richest [-]: gold hugs the contact. Our choice.
EXPECTED_RICHNESS = (1.0, 1.0, 0.5, 0.15)
#: Colors that this expectation counts for [-]. Our choice.
RICHNESS_PSEUDO_COUNTS = 10.0
#: Height over which gold falls off above a contact, as learnt from the two classes
#: there, is kept between these [m]; and what is supposed at first [m]. Our choice.
HUG_LEAST_M, HUG_MOST_M, HUG_FIRST_M = 0.08, 1.0, 0.40
#: Rounds in which height classes and fall are learnt by turns.
HUG_ROUNDS = 3
#: Depths that an expected contact is tried at, in standard deviations [-].
EXPECTED_STEPS = (-1.2, 0.0, 1.2)
#: Least thickness of a sample or a zone [m]; a skim is given this.
THIN_M = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class HorizonCounts:
    """What the digs say about one horizon; arrays over those that say something.

    Attributes
    ----------
    horizon : str
        Its name.
    site : ndarray of int, shape (n_told,)
        Index of the dig among the sites [-].
    colors : ndarray, shape (n_told,)
        Colors seen [-].
    volume_m3 : ndarray, shape (n_told,)
        Bank volume washed, each height class weighted by its richness [m3].
    volume_rel_var : ndarray, shape (n_told,)
        Relative variance of it, where how deep the contact lies is only expected [-].
    thickness_m : ndarray, shape (n_told,)
        Thickness of the zone, weighted likewise [m].
    pay_m : ndarray, shape (n_told,)
        Thickness that holds the gold: (sum t h)^2 / sum t h^2 [m].
    pay_top_m : ndarray, shape (n_told,)
        Depth of the top of that pay [m].
    recovery : ndarray, shape (n_told,)
        Share of the colors in place that washing finds [-].
    color_mg, color_rel_sd : ndarray, shape (n_told,)
        Mean mass of a color of this dig's own in place [mg], and its relative
        standard deviation: its few colors, and how places differ [-].
    richness : tuple of float
        Relative richness of the height classes [-].
    """

    horizon: str
    site: IntArray
    colors: FloatArray
    volume_m3: FloatArray
    volume_rel_var: FloatArray
    thickness_m: FloatArray
    pay_m: FloatArray
    pay_top_m: FloatArray
    recovery: FloatArray
    color_mg: FloatArray
    color_rel_sd: FloatArray
    richness: tuple[float, ...] = ()


@dataclass(slots=True)
class _Part:
    """The share of one sample that lies in one zone."""

    share: float
    class_m: FloatArray
    sample: GradedSample
    heights_m: FloatArray | None = None
    variant: int = 0
    color_share: float = -1.0
    beside: _Part | None = None

    def colors(self) -> float:
        """Colors of this part: by thickness until gold is known to lie unevenly."""
        share = self.share if self.color_share < 0.0 else self.color_share
        return (self.sample.colors or 0.0) * share


@dataclass(slots=True)
class _Zone:
    """One dig's gravel that belongs to one horizon."""

    site: int
    class_m: FloatArray
    depth_m: float
    n_variants: int = 1
    parts: list[_Part] = field(default_factory=list)


def count_horizons(
    sites: Sites,
    columns: Mapping[str, Column],
    samples: Mapping[str, tuple[GradedSample, ...]],
) -> tuple[HorizonCounts, ...]:
    """Return the counts of every horizon that something was washed of.

    Parameters
    ----------
    sites : Sites
        Digs with a place.
    columns : mapping
        Dig name to what it met.
    samples : mapping
        Dig name to its graded samples.

    Returns
    -------
    tuple of HorizonCounts
        `gravel` first, then the contacts from the top down; horizons of which
        nothing was washed are left out.
    """
    zones: dict[str, list[_Zone]] = {}
    loose: list[_Zone] = []
    for site, name in enumerate(sites.digs):
        column = columns.get(name)
        washed = [one for one in samples.get(name, ()) if _is_washed(one)]
        if column is None or not washed:
            continue
        variants = _variants(column)
        parted = {
            one.horizon: _Zone(
                site, np.zeros(N_CLASSES), one.depth_m, n_variants=len(variants)
            )
            for one in column.contacts
        }
        rest = _Zone(site, np.zeros(N_CLASSES), 0.0)
        for number, variant in enumerate(variants):
            bounds = zone_bounds(variant)
            for contact, span in zip(variant.contacts, bounds, strict=True):
                parted[contact.horizon].class_m += _class_thickness(*span) / len(
                    variants
                )
            for sample in washed:
                _share_out(
                    sample, variant, bounds, (parted, rest, number, len(variants))
                )
        for horizon, zone in parted.items():
            if zone.parts:
                zones.setdefault(horizon, []).append(zone)
        if rest.parts:
            loose.append(rest)
    for found in zones.values():
        _fill_below(found, columns, sites)
        _part_colors(found, {zone.site: zone for zone in loose})
    gravel = [_gravel_counts(loose)] if loose else []
    order = sorted(zones, key=lambda name: (name == BEDROCK, name))
    return tuple(gravel + [_zone_counts(name, zones[name]) for name in order])


def _variants(column: Column) -> list[Column]:
    """Return the column as it may be where a contact is only expected."""
    if all(contact.sd_m == 0.0 for contact in column.contacts):
        return [column]
    variants = []
    for step in EXPECTED_STEPS:
        contacts = tuple(
            Contact(
                horizon=one.horizon,
                depth_m=max(one.depth_m + step * one.sd_m, column.bottom_m or 0.0)
                if one.sd_m > 0.0
                else one.depth_m,
            )
            for one in column.contacts
        )
        variants.append(replace(column, contacts=contacts))
    return variants


def _fill_below(
    zones: list[_Zone], columns: Mapping[str, Column], sites: Sites
) -> None:
    """Give digs that stopped short the usual thickness of pay below the contact."""
    met = [columns[sites.digs[zone.site]] for zone in zones]
    known = [
        zone.class_m[0]
        for zone, column in zip(zones, met, strict=True)
        if all(contact.sd_m == 0.0 for contact in column.contacts)
    ]
    usual = float(np.median(known)) if known else 0.0
    for zone, column in zip(zones, met, strict=True):
        if any(contact.sd_m > 0.0 for contact in column.contacts):
            zone.class_m[0] = usual


def _part_colors(zones: list[_Zone], loose: Mapping[int, _Zone]) -> None:
    """Part the colors of samples that reach above a zone as gold lies, not evenly.

    A sample half in the zone and half above it has nearly all its colors from the
    zone; how nearly, the samples of the whole ground tell.
    """
    colors, volume, dig = [], [], []
    shared = {id(part.beside) for zone in zones for part in zone.parts if part.beside}
    nowhere = np.zeros(N_CLASSES)
    for at, zone in enumerate(zones):
        rows: list[tuple[FloatArray, _Part, _Part | None]] = [
            (part.class_m, part, part.beside) for part in zone.parts
        ]
        rest = loose[zone.site].parts if zone.site in loose else []
        rows += [(nowhere, part, part) for part in rest if id(part) not in shared]
        for class_m, part, rest_of in rows:
            span = np.append(class_m, rest_of.class_m[2] if rest_of else 0.0)
            apart = rest_of is not None and rest_of is not part
            share = part.share + (rest_of.share if rest_of and apart else 0.0)
            bank = (part.sample.bank_m3 or 0.0) * share
            colors.append((part.sample.colors or 0.0) * share)
            volume.append(span * bank / span.sum())
            dig.append(at)
    if not any(part.beside for zone in zones for part in zone.parts):
        return
    _, height = fit_richness(colors, volume, dig)
    for zone in zones:
        for part in zone.parts:
            if part.beside is None:
                continue
            inside = float(part.class_m @ height[:N_CLASSES])
            above = float(part.beside.class_m[2] * height[N_CLASSES])
            both = part.share + part.beside.share
            part.color_share = both * inside / max(inside + above, 1e-12)
            part.beside.color_share = both - part.color_share


def _is_washed(sample: GradedSample) -> bool:
    return bool(
        sample.counts_for_grade
        and sample.colors is not None
        and sample.bank_m3 is not None
        and sample.bank_m3 > 0.0
        and sample.recovery > 0.0
    )


def zone_bounds(column: Column) -> list[tuple[float, float, float]]:
    """Return top, contact and bottom of each contact's zone [m].

    Parameters
    ----------
    column : Column
        What the dig met.

    Returns
    -------
    list of tuple
        Depths below the surface, one tuple a contact, top down: 0.60 m above the
        contact, no higher than half-way to the contact above nor than the base of
        silt or clay; down to 0.15 m into a false bedrock, and as deep as anything
        tells of into bedrock.
    """
    bounds = []
    above = 0.0
    for contact in column.contacts:
        depth = contact.depth_m
        top = max(depth - ZONE_ABOVE_M, 0.0)
        if above > 0.0:
            top = max(top, (above + depth) / 2.0)
        lids = [base for base in column.barren_bases_m if base <= depth - THIN_M]
        top = max([top, *lids])
        if contact.horizon == BEDROCK:
            bottom = max(depth, column.bottom_m or depth)
        else:
            bottom = depth + ZONE_INTO_FALSE_M
        bounds.append((top, depth, bottom))
        above = depth
    return bounds


def _class_thickness(
    top_m: float,
    contact_m: float,
    bottom_m: float,
    between: tuple[float, float] = (-np.inf, np.inf),
) -> FloatArray:
    """Return how much of each height class lies between two depths [m]."""
    low, high = between
    edges = _class_edges(top_m, contact_m, bottom_m)
    part = np.minimum(edges[:, 1], high) - np.maximum(edges[:, 0], low)
    return np.asarray(np.maximum(part, 0.0))


def _class_edges(top_m: float, contact_m: float, bottom_m: float) -> FloatArray:
    """Return the depths between which each height class lies, shape (3, 2) [m]."""
    middle = max(contact_m - CLASS_EDGE_M, top_m)
    return np.array([[contact_m, bottom_m], [middle, contact_m], [top_m, middle]])


def _class_heights(
    span: tuple[float, float, float], between: tuple[float, float]
) -> FloatArray:
    """Return how high above the contact a part and its classes lie, shape (2, 3, 2)."""
    edges = _class_edges(*span)
    return np.asarray(span[1] - np.stack([np.clip(edges, *between), edges]))


def _told_by(heights_m: FloatArray, hug_m: float) -> FloatArray:
    """Return the richness of a part of each class over that of the whole class [-].

    Gold falls off upward, so the lower half of a class has more of it than the upper;
    a class that was taken whole has 1.
    """
    high, low = heights_m[..., 0], heights_m[..., 1]
    thick = np.maximum(high - low, 1e-9)
    mean = (np.exp(-low / hug_m) - np.exp(-(low + thick) / hug_m)) / thick
    told: FloatArray = mean[..., 0, :] / np.maximum(mean[..., 1, :], 1e-12)
    told[..., 0] = 1.0
    return told


def _share_out(
    sample: GradedSample,
    column: Column,
    bounds: list[tuple[float, float, float]],
    into: tuple[dict[str, _Zone], _Zone, int, int],
) -> None:
    """Give each zone its share of a sample by thickness, and the rest to `gravel`."""
    top = 0.0 if sample.top_m is None else sample.top_m
    bottom = sample.bottom_m if sample.bottom_m is not None else column.bottom_m
    bottom = max(top + THIN_M, bottom or 0.0)
    parted, rest, number, n_variants = into
    left = 1.0
    given = []
    for contact, span in zip(column.contacts, bounds, strict=True):
        class_m = _class_thickness(*span, between=(top, bottom))
        share = min(float(class_m.sum()) / (bottom - top), left)
        if share > 1e-9:
            heights_m = _class_heights(span, (top, bottom))
            part = _Part(share / n_variants, class_m, sample, heights_m, number)
            parted[contact.horizon].parts.append(part)
            given.append(part)
            left -= share
    if left > 1e-6:
        whole = np.array([top, bottom, left * (bottom - top)])
        part = _Part(left / n_variants, whole, sample)
        rest.parts.append(part)
        if given:
            given[-1].beside = part


def fit_richness(
    colors: npt.ArrayLike,
    class_volume_m3: npt.ArrayLike,
    dig: npt.ArrayLike,
    *,
    expected: tuple[float, ...] = EXPECTED_RICHNESS,
) -> tuple[FloatArray, FloatArray]:
    """Return the richness of digs and of height classes, multiplied to a count's mean.

    Parameters
    ----------
    colors : array_like, shape (n_samples,)
        Colors seen [-].
    class_volume_m3 : array_like, shape (n_samples, n_classes)
        Bank volume of each height class in the sample [m3].
    dig : array_like of int, shape (n_samples,)
        Which dig each sample is from, numbered from 0 [-].
    expected : tuple of float, optional
        Relative richness of the classes before anything is washed; as many as there
        are classes, or more [-].

    Returns
    -------
    tuple of ndarray
        Richness of each dig [colors/m3], and relative richness of each class [-],
        scaled so that the richest class has 1; a class nobody washed has the mean
        of the others.

    Notes
    -----
    Colors ~ Poisson(g[dig] sum_c h[c] V[c]), maximum likelihood by the
    expectation-maximization of a sum of Poisson counts, with pseudo-counts that pull
    h toward what is expected (from memory; the two-way multiplicative Poisson model).
    """
    seen = np.asarray(colors, dtype=np.float64)
    volume = np.asarray(class_volume_m3, dtype=np.float64)
    index = np.asarray(dig, dtype=np.int64)
    n_digs = int(index.max()) + 1
    supposed = np.array(expected[: volume.shape[1]])
    height = supposed.copy()
    grade = np.zeros(n_digs)
    for _ in range(60):
        parts = volume * height
        total = np.maximum(parts.sum(axis=1), 1e-300)
        grade = np.bincount(index, seen, n_digs) / np.maximum(
            np.bincount(index, total, n_digs), 1e-300
        )
        parted = (seen / total)[:, None] * parts
        exposure = (grade[index][:, None] * volume).sum(axis=0)
        height = (parted.sum(axis=0) + RICHNESS_PSEUDO_COUNTS * supposed) / (
            exposure + RICHNESS_PSEUDO_COUNTS
        )
    washed = volume.sum(axis=0) > 0.0
    height = np.where(washed, height, height[washed].mean() if washed.any() else 1.0)
    scale = float(height.max())
    return grade * scale, height / scale


def _weighted(parts: list[_Part], values: list[float], by_color: bool) -> float:
    """Return the mean of a sample quantity over a zone, weighted by colors."""
    weights = [
        part.colors() + 0.5 * part.share if by_color else part.share for part in parts
    ]
    return float(np.average(values, weights=weights))


def _zone_counts(horizon: str, zones: list[_Zone]) -> HorizonCounts:
    """Return the counts of a contact's zone in every dig that washed some of it."""
    rows = [(at, part) for at, zone in enumerate(zones) for part in zone.parts]
    colors = np.array([part.colors() for _, part in rows])
    volume = np.array([_class_volume(part) for _, part in rows])
    dig = np.array([at for at, _ in rows])
    heights_m = np.array([part.heights_m for _, part in rows])
    height, hug_m = _learn_heights(colors, volume, heights_m, dig=dig, zones=zones)
    seen = (volume * _told_by(heights_m, hug_m)) @ height
    total = np.asarray(np.bincount(dig, seen, len(zones)), dtype=np.float64)
    class_m = np.array([zone.class_m for zone in zones])
    thickness = np.maximum(class_m @ height, THIN_M * height.min())
    pay = np.maximum(thickness**2 / np.maximum(class_m @ height**2, 1e-9), THIN_M)
    depth = np.array([zone.depth_m for zone in zones])
    return HorizonCounts(
        horizon=horizon,
        colors=np.bincount(dig, colors, len(zones)).astype(np.float64),
        volume_m3=total,
        volume_rel_var=_spread_of_variants(rows, seen, zones),
        thickness_m=thickness,
        pay_m=pay,
        pay_top_m=np.maximum(depth - np.maximum(pay - class_m[:, 0], 0.0), 0.0),
        richness=tuple(height.tolist()),
        **_gold_of(zones),
    )


def _learn_heights(
    colors: FloatArray,
    volume: FloatArray,
    heights_m: FloatArray,
    *,
    dig: IntArray,
    zones: list[_Zone],
) -> tuple[FloatArray, float]:
    """Return relative richness of the height classes, and the height gold falls over.

    From the digs that met the contact, where some did: the others do not know how
    high above it they were.
    """
    met = np.array([zone.n_variants == 1 for zone in zones])[dig]
    used = met if met.any() else np.ones_like(met)
    _, number = np.unique(dig[used], return_inverse=True)
    hug_m = HUG_FIRST_M
    for _ in range(HUG_ROUNDS):
        told = volume[used] * _told_by(heights_m[used], hug_m)
        _, height = fit_richness(colors[used], told, number)
        fall = float(np.log(max(height[1], 1e-6) / max(height[2], 1e-6)))
        hug_m = float(np.clip(CLASS_EDGE_M / max(fall, 1e-6), HUG_LEAST_M, HUG_MOST_M))
    return height, hug_m


def _spread_of_variants(
    rows: list[tuple[int, _Part]], seen: FloatArray, zones: list[_Zone]
) -> FloatArray:
    """Return the relative variance of each zone's volume over its variants [-]."""
    table = np.zeros((len(zones), len(EXPECTED_STEPS)))
    for (at, part), volume in zip(rows, seen, strict=True):
        table[at, part.variant] += volume
    spread = table.var(axis=1) / np.maximum(table.mean(axis=1), 1e-300) ** 2
    return np.where([zone.n_variants > 1 for zone in zones], spread, 0.0)


def _class_volume(part: _Part) -> FloatArray:
    """Return the bank volume of each height class in a part of a sample [m3]."""
    volume = (part.sample.bank_m3 or 0.0) * part.share
    return np.asarray(part.class_m * (volume / part.class_m.sum()))


def _gold_of(zones: list[_Zone]) -> dict[str, Any]:
    """Return what is known of the colors themselves, zone by zone."""

    def mean(name: str) -> FloatArray:
        return np.array(
            [
                _weighted(
                    zone.parts,
                    [getattr(part.sample, name) for part in zone.parts],
                    True,
                )
                for zone in zones
            ]
        )

    return {
        "site": np.array([zone.site for zone in zones], dtype=np.int64),
        "recovery": mean("recovery"),
        "color_mg": mean("color_mg"),
        "color_rel_sd": mean("color_mg_rel_sd"),
    }


def _gravel_counts(zones: list[_Zone]) -> HorizonCounts:
    """Return the counts of the gravel outside all zones, as thick as it was washed."""
    colors, volume, thick, pay, top = [], [], [], [], []
    for zone in zones:
        spans = np.array([part.class_m for part in zone.parts])
        seen = np.array([part.colors() for part in zone.parts])
        bank = np.array(
            [(part.sample.bank_m3 or 0.0) * part.share for part in zone.parts]
        )
        grade = (seen + 0.5) / bank
        thickness = np.maximum(spans[:, 2], THIN_M)
        held = float(grade @ thickness) ** 2 / float(grade**2 @ thickness)
        middle = float(
            np.average(spans[:, :2].mean(axis=1), weights=grade**2 * thickness)
        )
        colors.append(seen.sum())
        # Layers washed to different volumes count by their thickness.
        volume.append(
            seen.sum() * thickness.sum() / float((seen / bank) @ thickness)
            if seen.sum() > 0.0
            else bank.sum()
        )
        thick.append(thickness.sum())
        pay.append(held)
        top.append(max(middle - held / 2.0, 0.0))
    return HorizonCounts(
        horizon=GRAVEL,
        colors=np.array(colors),
        volume_m3=np.array(volume),
        volume_rel_var=np.zeros(len(zones)),
        thickness_m=np.array(thick),
        pay_m=np.array(pay),
        pay_top_m=np.array(top),
        **_gold_of(zones),
    )
