"""Where gold can rest: bedrock, and false bedrock above it, dig by dig.

A contact is told by the layers (a bed of clay, of cemented gravel, bedrock itself,
or what a layer lies on) and otherwise by what stopped the dig. A dig that met none
only bounds how deep the contact lies.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pennyweight.records import Dig, Layer, Log, Sample

GRAVEL = "gravel"
BEDROCK = "bedrock"

#: Materials that are a false bedrock. Common practice, no source.
FALSE_BEDS = frozenset({"clay", "ash", "caliche", "hardpan", "tuff", "marl", "false"})
#: Words that make even gravel a false bedrock.
BINDING = frozenset({"cemented", "conglomerate", "tight"})
#: Materials that are no gravel and carry no gold of a contact.
BARREN = frozenset(
    {"silt", "soil", "topsoil", "muck", "peat", "loam", "loess", "humus", "sod", "ice"}
)
#: Contacts of one dig closer than this are one [m]. Our choice.
SAME_CONTACT_M = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """A surface that gold can rest on.

    Attributes
    ----------
    horizon : str
        `bedrock` or `false-1`, `false-2`, ... from the top.
    depth_m : float
        Below the surface [m].
    sd_m : float
        0 where the dig met it; else how unsure the depth is that its neighbors lead
        to expect [m].
    """

    horizon: str
    depth_m: float
    sd_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a dig met on its way down.

    Attributes
    ----------
    dig : str
        Its name.
    contacts : tuple of Contact
        Top down.
    barren_bases_m : tuple of float
        Depths at which a layer that is no gravel ends [m].
    bottom_m : float or None
        Deepest depth that anything tells of [m].
    assumed_bedrock : bool
        Nothing said bedrock; neighbors' depths did.
    """

    dig: str
    contacts: tuple[Contact, ...]
    barren_bases_m: tuple[float, ...]
    bottom_m: float | None
    assumed_bedrock: bool = False

    def depth_of(self, horizon: str) -> float | None:
        """Return the depth of a contact [m], or None where the dig did not meet it.

        Parameters
        ----------
        horizon : str
            Name of the horizon.

        Returns
        -------
        float or None
            Below the surface [m].
        """
        for contact in self.contacts:
            if contact.horizon == horizon and contact.sd_m == 0.0:
                return contact.depth_m
        return None


def read_columns(log: Log) -> dict[str, Column]:
    """Return what every dig met on its way down, with false bedrocks numbered.

    Parameters
    ----------
    log : Log
        The record.

    Returns
    -------
    dict
        Dig name to its column. False bedrocks carry one number over the whole
        ground: that of the typical depth that they lie nearest to, in order.
    """
    layers: dict[str, list[Layer]] = {}
    for layer in log.layers:
        layers.setdefault(layer.dig, []).append(layer)
    samples: dict[str, list[Sample]] = {}
    for sample in log.samples:
        samples.setdefault(sample.dig, []).append(sample)
    found = {
        dig.dig: _contacts_of(
            dig,
            sorted(layers.get(dig.dig, ()), key=lambda layer: layer.top_m),
            samples.get(dig.dig, ()),
        )
        for dig in log.digs
    }
    numbers = _number_false([false for false, _, _, _ in found.values()])
    columns = {}
    for (name, parts), ranks in zip(found.items(), numbers, strict=True):
        false, bedrock, barren, bottom = parts
        contacts = [
            Contact(horizon=f"false-{rank + 1}", depth_m=depth)
            for depth, rank in zip(false, ranks, strict=True)
        ]
        if bedrock is not None:
            contacts.append(Contact(horizon=BEDROCK, depth_m=bedrock))
        columns[name] = Column(
            dig=name,
            contacts=tuple(contacts),
            barren_bases_m=tuple(barren),
            bottom_m=bottom,
        )
    return columns


def _words(text: str | None) -> frozenset[str]:
    """Return the words that the user typed, in small letters."""
    return frozenset(re.findall(r"[a-z]+", (text or "").lower()))


def _is_bedrock(text: str | None) -> bool:
    words = _words(text)
    return "bedrock" in words and "false" not in words


def _is_false_bed(material: str | None, packing: str | None = None) -> bool:
    """Tell whether a material is a false bedrock."""
    words = _words(material)
    if packing == "cemented" or words & BINDING:
        return True
    return bool(words & FALSE_BEDS) and "gravel" not in words


def _is_barren(layer: Layer) -> bool:
    words = _words(layer.material)
    return bool(words & BARREN) and "gravel" not in words


def _contacts_of(
    dig: Dig, layers: Sequence[Layer], samples: Sequence[Sample]
) -> tuple[list[float], float | None, list[float], float | None]:
    """Return depths of false bedrocks, of bedrock, of barren bases, and the bottom."""
    deepest = [layer.bottom_m for layer in layers]
    deepest += [one.bottom_m for one in samples if one.bottom_m is not None]
    if dig.bottom_m is not None:
        deepest.append(dig.bottom_m)
    bottom = max(deepest) if deepest else None
    bedrock = _bedrock_depth(dig, layers, bottom)
    beds = [
        layer.top_m > 0.0
        and not _is_bedrock(layer.material)
        and _is_false_bed(layer.material, layer.packing)
        for layer in layers
    ]
    false: list[float] = []
    for at, layer in enumerate(layers):
        bare = at > 0 and (beds[at - 1] or _is_barren(layers[at - 1]))
        if beds[at] and not bare:
            false.append(layer.top_m)
        if not beds[at] and _is_false_bed(layer.base) and not _is_bedrock(layer.base):
            false.append(layer.bottom_m)
    if bedrock is None and _is_false_bed(dig.stopped_by) and not (beds and beds[-1]):
        stop = dig.bottom_m if dig.bottom_m is not None else bottom
        false += [stop] if stop is not None else []
    barren = [
        layer.bottom_m
        for layer, bed in zip(layers, beds, strict=True)
        if bed or _is_barren(layer)
    ]
    return _thinned(false, bedrock), bedrock, sorted(barren), bottom


def _bedrock_depth(
    dig: Dig, layers: Sequence[Layer], bottom: float | None
) -> float | None:
    """Return how deep bedrock lies [m], where the dig met it."""
    for layer in layers:
        if _is_bedrock(layer.material):
            return layer.top_m
    for layer in layers:
        if _is_bedrock(layer.base):
            return layer.bottom_m
    if _is_bedrock(dig.stopped_by):
        if dig.bottom_m is not None:
            return dig.bottom_m
        return layers[-1].bottom_m if layers else bottom
    return None


def _thinned(false: list[float], bedrock: float | None) -> list[float]:
    """Return false bedrocks top down, doubles and any at or below bedrock left out."""
    kept: list[float] = []
    for depth in sorted(false):
        if kept and depth - kept[-1] < SAME_CONTACT_M:
            continue
        if bedrock is None or depth < bedrock - SAME_CONTACT_M:
            kept.append(depth)
    return kept


def _number_false(found: Sequence[Sequence[float]]) -> list[list[int]]:
    """Return a number from the top for every false bedrock of every dig."""
    most = max((len(depths) for depths in found), default=0)
    if most <= 1:
        return [[0] * len(depths) for depths in found]
    typical = np.median([depths for depths in found if len(depths) == most], axis=0)
    return [_nearest_in_order(depths, typical.tolist()) for depths in found]


def _nearest_in_order(depths: Sequence[float], typical: Sequence[float]) -> list[int]:
    """Return increasing ranks that bring each depth nearest to a typical one."""
    best: dict[int, tuple[float, list[int]]] = {-1: (0.0, [])}
    for depth in depths:
        after: dict[int, tuple[float, list[int]]] = {}
        for rank, common in enumerate(typical):
            before = [best[last] for last in best if last < rank]
            if before:
                cost, ranks = min(before, key=lambda one: one[0])
                after[rank] = (cost + abs(depth - common), [*ranks, rank])
        best = after
    return min(best.values(), key=lambda one: one[0])[1]


def fill_in_bedrock(
    columns: Mapping[str, Column],
    silent: Sequence[str],
    neighbors: Mapping[str, Sequence[str]],
    *,
    within_m: float = 0.3,
) -> dict[str, Column]:
    """Return the columns with bedrock taken for the bottom where neighbors agree.

    Parameters
    ----------
    columns : mapping
        Dig name to its column.
    silent : sequence of str
        Digs of which nothing says why they stopped.
    neighbors : mapping
        Dig name to the names of the digs nearest to it.
    within_m : float
        Largest difference from the neighbors' median depth [m].

    Returns
    -------
    dict
        Columns; a dig so filled in is marked `assumed_bedrock`.
    """
    filled = dict(columns)
    for name in silent:
        column = columns[name]
        known = [
            depth
            for other in neighbors.get(name, ())
            if (depth := columns[other].depth_of(BEDROCK)) is not None
        ]
        if column.bottom_m is None or not known or column.depth_of(BEDROCK) is not None:
            continue
        if abs(column.bottom_m - float(np.median(known))) <= within_m:
            filled[name] = Column(
                dig=name,
                contacts=(
                    *column.contacts,
                    Contact(horizon=BEDROCK, depth_m=column.bottom_m),
                ),
                barren_bases_m=column.barren_bases_m,
                bottom_m=column.bottom_m,
                assumed_bedrock=True,
            )
    return filled
