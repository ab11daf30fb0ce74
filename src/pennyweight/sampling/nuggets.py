"""Nuggets: single grains so heavy that they speak for a rare gold of their own.

One such grain in a dozen pans would set the mean mass of every color of the ground.
It is taken out of the tallies and weights here, with its mass, so that the ordinary
colors are judged as if it had not been there; `nuggetgold` says what it tells itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from pennyweight.records import Grain, Log, Sample, Tally, Weighing
from pennyweight.sampling.classes import UNSIZED, parse_class
from pennyweight.sampling.gold import (
    DEFAULT_FINENESS,
    UNSIZED_MG,
    gold_density_g_cm3,
    handbook_mass,
)
from pennyweight.sampling.tallies import Colors, count_colors

#: A nugget weighs at least this many times the mean of the ground's finer colors [-];
#: ours: 4.6 times their size.
NUGGET_RATIO = 100.0
#: Grains of a coarse kind from which their number tells enough, and they are ordinary
#: gold of this ground [-]: Clifton et al. (1969), USGS Professional Paper 625-C.
ENOUGH_GRAINS = 20
#: Share of a weight that is too little to be read beside a nugget [-]; ours.
LEAST_LEFT = 0.02


@dataclass(frozen=True, slots=True)
class Nugget:
    """The nuggets of one sample.

    Attributes
    ----------
    sample : str
        Where they were found.
    number : int
        How many [-].
    mg : float
        Their mass together [mg].
    weighed : bool
        Whether the balance told it; else it is that of their size class.
    """

    sample: str
    number: int
    mg: float
    weighed: bool


@dataclass(frozen=True, slots=True)
class Parted:
    """A record parted into its ordinary gold and its nuggets.

    Attributes
    ----------
    log : Log
        The record without them; the same record where there are none.
    nuggets : tuple of Nugget
        One a sample that holds any, in the order of the tallies.
    """

    log: Log
    nuggets: tuple[Nugget, ...]


def part_nuggets(log: Log) -> Parted:
    """Return a record's ordinary gold and its nuggets apart.

    Parameters
    ----------
    log : Log
        The whole record.

    Returns
    -------
    Parted
        Nuggets are all colors of a class, or single weighed grains, that weigh
        `NUGGET_RATIO` times the mean of the finer colors, where fewer than
        `ENOUGH_GRAINS` were found.

    Raises
    ------
    ValueError
        A tally holds an impossible count.

    Examples
    --------
    >>> fine = Tally(sample="A", size_class="0.25-0.5", colors=9)
    >>> coarse = Tally(sample="A", size_class=">2", colors=1, mg=400.0)
    >>> part_nuggets(Log(tallies=(fine, coarse))).nuggets
    (Nugget(sample='A', number=1, mg=400.0, weighed=True),)
    """
    tallied = count_colors(log.tallies)
    mass_mg = _class_masses(log, tallied)
    coarse = find_coarse(_numbers(tallied), mass_mg)
    single = _single_grains(log.grains, tallied, mass_mg, coarse=coarse)
    weighed_mg = {one.sample: one.weighed_mg for one in reversed(log.samples)}
    grains: dict[str, list[Grain]] = {}
    for grain in log.grains:
        grains.setdefault(grain.sample, []).append(grain)
    found = []
    for name, colors in tallied.items():
        number = sum(n for k, n in colors.by_class.items() if k in coarse)
        alone = single.get(name, ())
        mg, weighed = _coarse_mg(
            colors,
            weighed_mg.get(name),
            grains.get(name, ()),
            mass_mg=mass_mg,
            coarse=coarse,
        )
        mg += sum(grain.mg or 0.0 for grain, _ in alone)
        if number + len(alone):
            found.append(Nugget(name, number + len(alone), mg, weighed))
    if not found or sum(one.number for one in found) >= ENOUGH_GRAINS:
        return Parted(log, ())
    return Parted(_without(log, found, coarse, single=single), tuple(found))


def find_coarse(
    numbers: Mapping[str, float], mass_mg: Mapping[str, float]
) -> frozenset[str]:
    """Return the size classes whose few colors are nuggets.

    Parameters
    ----------
    numbers : mapping
        Class to colors counted in the ground [-].
    mass_mg : mapping
        Class to the mean mass of a color [mg].

    Returns
    -------
    frozenset of str
        From the heaviest down, until a class is well counted or not much heavier
        than those below; never the unsized one.

    Examples
    --------
    >>> sorted(find_coarse({"0.25-0.5": 60, ">2": 1}, {"0.25-0.5": 0.07, ">2": 400}))
    ['>2']
    """
    order = sorted((k for k, n in numbers.items() if n > 0), key=lambda k: -mass_mg[k])
    coarse: set[str] = set()
    for at, name in enumerate(order):
        finer = order[at + 1 :]
        count = sum(numbers[k] for k in finer)
        if name == UNSIZED or count <= 0 or numbers[name] >= ENOUGH_GRAINS:
            break
        if name.startswith("<"):  # open downward: it holds the finest gold too
            break
        mean = sum(numbers[k] * mass_mg[k] for k in finer) / count
        if mass_mg[name] < NUGGET_RATIO * mean:
            break
        coarse.add(name)
    return frozenset(coarse)


def _numbers(tallied: Mapping[str, Colors]) -> Counter[str]:
    """Return the colors of the ground by class."""
    numbers: Counter[str] = Counter()
    for colors in tallied.values():
        numbers.update(colors.by_class)
    return numbers


def _class_masses(log: Log, tallied: Mapping[str, Colors]) -> dict[str, float]:
    """Return the mean mass of each class [mg]: weighed, else the handbook's."""
    fineness = log.ground.fineness
    density = gold_density_g_cm3(DEFAULT_FINENESS if fineness is None else fineness)
    weighed: dict[str, tuple[float, float]] = {}
    for colors in tallied.values():
        for name, mg in colors.class_mg.items():
            number, whole = weighed.get(name, (0.0, 0.0))
            weighed[name] = number + colors.by_class.get(name, 0), whole + mg
    found = {}
    for name in _numbers(tallied):
        number, mg = weighed.get(name, (0.0, 0.0))
        if name == UNSIZED:
            found[name] = UNSIZED_MG
        elif number > 0 and mg > 0.0:
            found[name] = mg / number
        else:
            found[name] = handbook_mass(parse_class(name), density)[0]
    return found


def _single_grains(
    grains: Iterable[Grain],
    tallied: Mapping[str, Colors],
    mass_mg: Mapping[str, float],
    *,
    coarse: frozenset[str],
) -> dict[str, list[tuple[Grain, str]]]:
    """Return nuggets weighed one by one, with the ordinary class that counted them."""
    ordinary = {k: n for k, n in _numbers(tallied).items() if k not in coarse}
    found: dict[str, list[tuple[Grain, str]]] = {}
    for grain in grains:
        colors = tallied.get(grain.sample)
        if colors is None or grain.mg is None:
            continue
        name = _class_of(grain, colors)
        # The finer colors are those without this grain, which may be the heaviest.
        finer = {**ordinary, name: ordinary.get(name, 0) - 1}
        count = sum(finer.values())
        if name in coarse or finer[name] < 0 or count <= 0:
            continue
        mean = sum(n * mass_mg[k] for k, n in finer.items()) / count
        taken = sum(k == name for _, k in found.get(grain.sample, ()))
        if grain.mg >= NUGGET_RATIO * mean and taken < colors.by_class[name]:
            found.setdefault(grain.sample, []).append((grain, name))
    return found


def _class_of(grain: Grain, colors: Colors) -> str:
    """Return the class of its sample that a grain was counted in."""
    for name in colors.by_class:
        one = parse_class(name)
        size = grain.mg if one.kind == "weight" else grain.middle_mm
        if size is not None and one.low <= size < one.high:
            return name
    return UNSIZED


def _coarse_mg(
    colors: Colors,
    whole_mg: float | None,
    grains: Sequence[Grain],
    *,
    mass_mg: Mapping[str, float],
    coarse: frozenset[str],
) -> tuple[float, bool]:
    """Return the mass of a sample's coarse colors [mg], and whether it was weighed."""
    total, weighed = 0.0, True
    rest = sum(n * mass_mg[k] for k, n in colors.by_class.items() if k not in coarse)
    for name in coarse & colors.by_class.keys():
        number = colors.by_class[name]
        alone = [one.mg for one in grains if one.mg and _class_of(one, colors) == name]
        if name in colors.class_mg:
            total += colors.class_mg[name]
        elif len(alone) == number:
            total += sum(alone)
        elif number and whole_mg and whole_mg > rest and len(coarse) == 1:
            total += whole_mg - rest
        elif number:
            total, weighed = total + number * mass_mg[name], False
    return total, weighed


def _without(
    log: Log,
    nuggets: Iterable[Nugget],
    coarse: frozenset[str],
    *,
    single: Mapping[str, list[tuple[Grain, str]]],
) -> Log:
    """Return the record without its nuggets."""
    by_sample = {one.sample: one for one in nuggets}
    sized = {t.sample for t in log.tallies if t.size_class != UNSIZED}
    gone = {id(grain) for taken in single.values() for grain, _ in taken}
    tallies = []
    for row in log.tallies:
        taken = [
            grain for grain, k in single.get(row.sample, ()) if k == row.size_class
        ]
        nugget = by_sample.get(row.sample)
        if row.size_class in coarse:
            continue
        if row.size_class == UNSIZED and row.sample in sized and nugget is not None:
            # This row counts the sample as a whole.
            tallies.append(_less(row, nugget.number, nugget.mg))
        elif taken:
            mg = sum(grain.mg or 0.0 for grain in taken)
            tallies.append(_less(row, len(taken), mg))
        else:
            tallies.append(row)
    return replace(
        log,
        tallies=tuple(tallies),
        samples=tuple(_lighter(one, by_sample.get(one.sample)) for one in log.samples),
        weighings=tuple(_lighter_together(log, by_sample)),
        grains=tuple(one for one in log.grains if id(one) not in gone),
    )


def _less(row: Tally, number: int, mg: float) -> Tally:
    """Return a row without so many colors of that mass."""
    left = None if row.mg is None else _left(row.mg, mg)
    return replace(row, colors=max(row.colors - number, 0), mg=left)


def _left(whole_mg: float, nugget_mg: float, step_mg: float = 0.0) -> float | None:
    """Return what a weight leaves beside a nugget [mg]; None where too little."""
    left = whole_mg - nugget_mg
    return left if left > max(LEAST_LEFT * whole_mg, step_mg) else None


def _lighter(sample: Sample, nugget: Nugget | None) -> Sample:
    """Return a sample whose weight is that of its ordinary gold."""
    if nugget is None or sample.weighed_mg is None:
        return sample
    step = sample.balance_mg or 0.0
    return replace(sample, weighed_mg=_left(sample.weighed_mg, nugget.mg, step))


def _lighter_together(log: Log, by_sample: Mapping[str, Nugget]) -> Iterable[Weighing]:
    """Yield the weighings of several samples without their nuggets."""
    singly = {one.sample for one in log.samples if one.weighed_mg is not None}
    for weighing in log.weighings:
        inside = [by_sample[k] for k in weighing.samples if k in by_sample]
        if not inside:
            yield weighing
            continue
        left = _left(weighing.weighed_mg, sum(one.mg for one in inside))
        # A sample that was weighed by itself loses its weight with its nugget.
        if left is None or any(one.sample in singly for one in inside):
            continue
        number = sum(one.number for one in inside)
        colors = None if weighing.colors is None else weighing.colors - number
        yield replace(weighing, weighed_mg=left, colors=colors)
