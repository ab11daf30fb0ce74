"""The record of samples as arrays: volume, colors by class and weight of each.

One row a sample, in the order of the record. A duplicate's numbers are also pooled
into its first sample, which then speaks for both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pennyweight.records import Layer, Log, Sample
from pennyweight.sampling.classes import UNSIZED, overlap_share, parse_class
from pennyweight.sampling.gold import WeighedColors
from pennyweight.sampling.tallies import Colors, count_colors
from pennyweight.sampling.volume import (
    SampleVolume,
    VolumeBasis,
    bank_volume,
    measure_basis,
)

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Below which a weight of 0 is supposed to lie where no balance is named [mg]; ours.
DEFAULT_STEP_MG = 1.0
#: Share of a class that others must cover for it to count as looked at [-]; ours.
MOSTLY = 0.5


@dataclass(frozen=True, slots=True)
class Washed:
    """All samples of a ground, as arrays over (n_samples) and (n_classes).

    Attributes
    ----------
    samples : tuple of Sample
        The record.
    tallied : mapping
        Colors of each sample that has a tally.
    basis : VolumeBasis
        Pan and swell.
    classes : tuple of str
        Size classes; `all` is always one.
    volumes : tuple of SampleVolume
        Of each sample alone.
    bank_m3 : ndarray, shape (n_samples,)
        Bank volume with duplicates pooled [m3]; nan without a fair one.
    colors : ndarray, shape (n_samples, n_classes)
        Colors with duplicates pooled [-].
    looked : ndarray of bool, shape (n_samples, n_classes)
        Whether the class was looked at.
    weight_mg : ndarray, shape (n_samples,)
        Weighed gold with duplicates pooled [mg]; nan where not weighed.
    step_mg : ndarray, shape (n_samples,)
        Reading step of the balance [mg]; 0 where none is named.
    zero_below_mg : ndarray, shape (n_samples,)
        What a reading of 0 lies below [mg]: the step, else `DEFAULT_STEP_MG`.
    own_colors, own_mg : ndarray, shape (n_samples,)
        Colors and weight of each sample alone [-], [mg]; nan where unknown.
    counted, washed, counts : ndarray of bool, shape (n_samples,)
        Whether colors were counted; whether it was washed at all; whether it enters
        averages.
    pooled : tuple of tuple of str
        The duplicates that each row also holds.
    """

    samples: tuple[Sample, ...]
    tallied: Mapping[str, Colors]
    basis: VolumeBasis
    classes: tuple[str, ...]
    volumes: tuple[SampleVolume, ...]
    bank_m3: FloatArray
    colors: FloatArray
    looked: BoolArray
    weight_mg: FloatArray
    step_mg: FloatArray
    zero_below_mg: FloatArray
    own_colors: FloatArray
    own_mg: FloatArray
    counted: BoolArray
    washed: BoolArray
    counts: BoolArray
    pooled: tuple[tuple[str, ...], ...]


def read_samples(log: Log) -> Washed:
    """Return the samples of a record as arrays.

    Parameters
    ----------
    log : Log
        The whole record.

    Returns
    -------
    Washed
        One row a sample.
    """
    samples = log.samples
    basis = measure_basis(log.ground, log.buckets)
    materials = material_of_samples(log)
    volumes = tuple(bank_volume(s, basis, materials[s.sample]) for s in samples)
    bank = np.array([_or_nan(v.bank_m3) for v in volumes])
    tallied = count_colors(log.tallies)
    classes = (*sorted({t.size_class for t in log.tallies} - {UNSIZED}), UNSIZED)
    colors, looked = _color_matrix(samples, tallied, classes)
    counted = np.array([one.sample in tallied for one in samples], dtype=np.bool_)
    weight = _weights(log, tallied, bank)
    washed = counted | np.isfinite(weight)
    fair = np.isfinite(bank) & np.array([not s.blank for s in samples], np.bool_)
    firsts = _first_of_each(samples, fair & washed, counted)
    steps = np.array([one.balance_mg or 0.0 for one in samples])
    alone = firsts == np.arange(len(samples))
    return Washed(
        samples=samples,
        tallied=tallied,
        basis=basis,
        classes=classes,
        volumes=volumes,
        bank_m3=_pooled(bank, firsts),
        colors=_pooled(colors, firsts),
        looked=looked,
        weight_mg=_pooled(weight, firsts),
        step_mg=steps,
        zero_below_mg=np.where(steps > 0.0, steps, DEFAULT_STEP_MG),
        own_colors=np.where(counted, colors.sum(axis=1), np.nan),
        own_mg=weight,
        counted=counted,
        washed=washed,
        counts=fair & washed & alone,
        pooled=_names_pooled(samples, firsts),
    )


def material_of_samples(log: Log) -> dict[str, str | None]:
    """Return the material of the layer in which each sample's middle lies.

    Parameters
    ----------
    log : Log
        The whole record.

    Returns
    -------
    dict
        Sample name to the layer's word; None where no layer tells.
    """
    layers: dict[str, list[Layer]] = {}
    for layer in log.layers:
        layers.setdefault(layer.dig, []).append(layer)
    return {one.sample: _material(layers.get(one.dig, []), one) for one in log.samples}


def _material(layers: list[Layer], sample: Sample) -> str | None:
    """Return the material at the middle of a sample."""
    if sample.top_m is None or sample.bottom_m is None:
        return None
    middle = (sample.top_m + sample.bottom_m) / 2.0
    inside = (one for one in layers if one.top_m <= middle <= one.bottom_m)
    return next((one.material for one in inside), None)


def weighed_colors(log: Log, tallied: Mapping[str, Colors]) -> list[WeighedColors]:
    """Return every group of counted colors whose weight is known, none twice.

    Parameters
    ----------
    log : Log
        The whole record.
    tallied : mapping
        Colors of each sample that has a tally.

    Returns
    -------
    list of WeighedColors
        Classes weighed in a sample; what the sample's whole weight leaves for the
        others; samples weighed together; grains weighed one by one where their
        sample was not.
    """
    whole = {one.sample: one for one in log.samples}
    found: list[WeighedColors] = []
    for sample, colors in tallied.items():
        found.extend(_weighed_classes(colors, whole.get(sample)))
    found.extend(_weighed_together(log, tallied))
    found.extend(_weighed_grains(log, tallied))
    return found


def _weighed_classes(colors: Colors, sample: Sample | None) -> list[WeighedColors]:
    """Return the weighings of one sample's colors: of classes, and of the rest.

    Where every class was weighed, the weight of the whole sets the scale.
    """
    whole_mg = sample.weighed_mg if sample is not None else None
    if whole_mg is None and not colors.class_mg:
        return []
    step = _step(sample)
    split = {k: mg for k, mg in colors.class_mg.items() if colors.by_class.get(k, 0)}
    rest = {k: n for k, n in colors.by_class.items() if k not in colors.class_mg}
    total, scale = sum(split.values()), 1.0
    if whole_mg and total > 0.0 and not any(rest.values()):
        scale = whole_mg / total
    found = [
        WeighedColors({k: colors.by_class[k]}, mg * scale, step)
        for k, mg in split.items()
    ]
    if whole_mg is not None:
        found.append(WeighedColors(rest, max(whole_mg - total * scale, 0.0), step))
    return found


def _step(sample: Sample | None) -> float:
    """Return the reading step of a sample's balance [mg]."""
    if sample is None or sample.balance_mg is None:
        below = sample is not None and sample.weighed_mg == 0.0
        return DEFAULT_STEP_MG if below else 0.0
    return sample.balance_mg


def _weighed_together(log: Log, tallied: Mapping[str, Colors]) -> list[WeighedColors]:
    """Return the weighings of several samples, without what was weighed singly."""
    single = {s.sample: s.weighed_mg for s in log.samples if s.weighed_mg is not None}
    found = []
    for weighing in log.weighings:
        left = weighing.weighed_mg - sum(single.get(s, 0.0) for s in weighing.samples)
        rest = [s for s in weighing.samples if s not in single]
        colors: dict[str, float] = {}
        for name in rest:
            for size, number in _by_class(tallied, name).items():
                colors[size] = colors.get(size, 0.0) + number
        if not colors and weighing.colors:
            colors = {UNSIZED: float(weighing.colors)}
        found.append(WeighedColors(colors, max(left, 0.0)))
    return found


def _by_class(tallied: Mapping[str, Colors], sample: str) -> Mapping[str, int]:
    """Return the colors of a sample by class; none where it was not counted."""
    return tallied[sample].by_class if sample in tallied else {}


def _weighed_grains(log: Log, tallied: Mapping[str, Colors]) -> list[WeighedColors]:
    """Return grains weighed one by one, by the class that they were counted in."""
    together = {name for one in log.weighings for name in one.samples}
    weighed = {s.sample for s in log.samples if s.weighed_mg is not None} | together
    sums: dict[str, list[float]] = {}
    for grain in log.grains:
        if grain.mg is None or grain.mg <= 0.0 or grain.sample in weighed:
            continue
        for name in _by_class(tallied, grain.sample):
            one = parse_class(name)
            size = grain.mg if one.kind == "weight" else grain.middle_mm
            if size is not None and one.low <= size < one.high:
                sums.setdefault(name, []).append(grain.mg)
    return [WeighedColors({k: len(mg)}, sum(mg)) for k, mg in sums.items()]


def _color_matrix(
    samples: tuple[Sample, ...], tallied: Mapping[str, Colors], classes: tuple[str, ...]
) -> tuple[FloatArray, BoolArray]:
    """Return colors, and whether they were looked for, by sample and class."""
    column = {name: k for k, name in enumerate(classes)}
    colors = np.zeros((len(samples), len(classes)))
    looked = np.zeros(colors.shape, dtype=np.bool_)
    covered: dict[frozenset[str], BoolArray] = {}
    for row, sample in enumerate(samples):
        found = tallied.get(sample.sample)
        if found is None:
            continue
        for name, number in found.by_class.items():
            colors[row, column[name]] = number
        listed = frozenset(found.by_class)
        if listed not in covered:
            covered[listed] = _covered_by(listed, classes)
        looked[row] = covered[listed] | found.whole
    return colors, looked


def _covered_by(listed: frozenset[str], classes: tuple[str, ...]) -> BoolArray:
    """Return which classes a sample's own classes leave nothing out of.

    Classes of another kind than the sample's own (sieves, weights, unsized), and
    sieves that split the same sizes otherwise, hold the same colors once more.
    """
    own = [parse_class(name) for name in listed]
    kinds = {one.kind for one in own}
    every = [parse_class(name) for name in classes]
    return np.array(
        [
            one.kind not in kinds
            or sum(overlap_share(other, one) for other in own) > MOSTLY
            for one in every
        ],
        dtype=np.bool_,
    )


def _weights(log: Log, tallied: Mapping[str, Colors], bank: FloatArray) -> FloatArray:
    """Return the weighed gold of each sample [mg]; nan where it was not weighed.

    Gold of uncounted samples weighed together is shared out by volume.
    """
    row = {one.sample: k for k, one in enumerate(log.samples)}
    weight = np.array([_or_nan(one.weighed_mg) for one in log.samples])
    for sample, colors in tallied.items():
        k = row.get(sample)
        if k is None or np.isfinite(weight[k]) or not colors.class_mg:
            continue
        if all(name in colors.class_mg for name, n in colors.by_class.items() if n):
            weight[k] = sum(colors.class_mg.values())
    for weighing in log.weighings:
        members = [row[name] for name in weighing.samples if name in row]
        singly = [k for k in members if np.isfinite(weight[k])]
        rest = [k for k in members if k not in singly]
        volumes = np.nan_to_num(bank[rest])
        if any(log.samples[k].sample in tallied for k in rest) or volumes.sum() <= 0.0:
            continue
        left = max(weighing.weighed_mg - weight[singly].sum(), 0.0)
        weight[rest] = left * volumes / volumes.sum()
    return weight


def _first_of_each(
    samples: tuple[Sample, ...], usable: BoolArray, counted: BoolArray
) -> npt.NDArray[np.int64]:
    """Return the row that each sample is pooled into: its own, or its first's.

    Two samples are alike enough to pool when both were counted or both only weighed.
    """
    row = {one.sample: k for k, one in enumerate(samples)}
    firsts = np.arange(len(samples))
    for k, sample in enumerate(samples):
        first = row.get(sample.duplicate_of or "", k)
        alike = usable[k] and usable[first] and counted[k] == counted[first]
        if alike and samples[first].duplicate_of is None:
            firsts[k] = first
    return firsts


def _names_pooled(
    samples: tuple[Sample, ...], firsts: npt.NDArray[np.int64]
) -> tuple[tuple[str, ...], ...]:
    """Return the duplicates that each sample also speaks for."""
    names: list[tuple[str, ...]] = [()] * len(samples)
    for k in np.flatnonzero(firsts != np.arange(len(firsts))):
        names[firsts[k]] = (*names[firsts[k]], samples[k].sample)
    return tuple(names)


def _pooled(values: FloatArray, firsts: npt.NDArray[np.int64]) -> FloatArray:
    """Return the values with those of duplicates added to their first sample."""
    pooled = values.copy()
    extra = np.flatnonzero(firsts != np.arange(len(firsts)))
    np.add.at(pooled, firsts[extra], values[extra])
    return pooled


def _or_nan(value: float | None) -> float:
    """Return the value, nan where nothing was written down."""
    return float("nan") if value is None else value
