"""What is odd about a sample: its depth, its volume, its gold, its repeats."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator

from pennyweight.book.digdoubts import TAPE_M
from pennyweight.book.doubtwords import figure, names_in_short
from pennyweight.errors import Finding
from pennyweight.records import Layer, Log, Sample

#: Cross-section that a hand-dug cut is taken to have at most: 1 m by 1 m [m2].
CUT_M2 = 1.0
#: How much more than that cut may have been washed before we ask [-].
CUT_TIMES = 3.0
#: Stones held back by the screen, against what went through it, before we ask [-].
OVERSIZE_TIMES = 10.0
#: Counts that differ by this many standard deviations disagree [-].
DEVIATIONS = 3.0
#: A color heavier than this would be a nugget that a person writes down [mg].
NUGGET_MG = 500.0
#: More gold than a sample washed by hand holds, before we ask [mg]: 100 g.
MUCH_GOLD_MG = 100_000.0
#: Less ground than a handful, before we ask [m3]: 100 ml.
LITTLE_M3 = 1e-4
#: Kinds of samples that are cut over a stretch of the wall.
CUT_OVER_A_STRETCH = ("channel", "bulk")


def below_the_bottom(log: Log) -> Iterator[Finding]:
    """Tell of samples from below the depth that was dug."""
    bottoms = {dig.dig: dig.bottom_m for dig in log.digs}
    for sample in log.samples:
        lowest_m, bottom_m = sample.bottom_m, bottoms.get(sample.dig)
        if lowest_m is None or bottom_m is None or lowest_m <= bottom_m + TAPE_M:
            continue
        yield Finding(
            where=f"sample {sample.sample}",
            problem=f"It was taken down to {lowest_m:.2f} m, but dig {sample.dig} ends"
            f" at {bottom_m:.2f} m.",
            remedy="Correct the sample's depth or the dig's bottom.",
            weight="doubt",
        )


def _bedrock_taken_up(log: Log) -> set[str]:
    """Return the digs whose lowest layer lies on rock, some of which was taken up."""
    lowest: dict[str, Layer] = {}
    for layer in log.layers:
        if layer.dig not in lowest or layer.bottom_m > lowest[layer.dig].bottom_m:
            lowest[layer.dig] = layer
    on_rock = {dig for dig, layer in lowest.items() if layer.base == "bedrock"}
    return on_rock | {dig.dig for dig in log.digs if dig.stopped_by == "bedrock"}


def outside_the_layers(log: Log) -> Iterator[Finding]:
    """Tell of samples from above or below everything that was described.

    What is cut into the rock under the lowest layer is no layer and no doubt.
    """
    spans: dict[str, tuple[float, float]] = {}
    for layer in log.layers:
        top_m, bottom_m = spans.get(layer.dig, (layer.top_m, layer.bottom_m))
        spans[layer.dig] = (min(top_m, layer.top_m), max(bottom_m, layer.bottom_m))
    into_rock = _bedrock_taken_up(log)
    for sample in log.samples:
        span = spans.get(sample.dig)
        if span is None or sample.top_m is None or sample.bottom_m is None:
            continue
        above = sample.top_m < span[0] - TAPE_M
        below = sample.bottom_m > span[1] + TAPE_M and sample.dig not in into_rock
        if above or below:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"It was taken from {sample.top_m:.2f} to"
                f" {sample.bottom_m:.2f} m, but the layers of dig {sample.dig} go from"
                f" {span[0]:.2f} to {span[1]:.2f} m.",
                remedy="Describe the layer that it came from, or correct a depth.",
                weight="doubt",
            )


def overlapping(log: Log) -> Iterator[Finding]:
    """Tell of samples cut from the same stretch that do not say they repeat it."""
    stretches: dict[tuple[str, str], list[tuple[float, float, str]]] = defaultdict(list)
    for one in log.samples:
        if one.taken not in CUT_OVER_A_STRETCH or one.blank or one.duplicate_of:
            continue
        if one.top_m is not None and one.bottom_m is not None:
            stretch = (one.top_m, one.bottom_m, one.sample)
            stretches[one.dig, one.taken].append(stretch)
    for (dig, taken), found in stretches.items():
        for upper, lower in itertools.pairwise(sorted(found)):
            if upper[1] > lower[0] + TAPE_M:
                yield Finding(
                    where=f"sample {lower[2]}",
                    problem=f"Sample {upper[2]} of dig {dig} ends at {upper[1]:.2f} m,"
                    f" below its top at {lower[0]:.2f} m; both are {taken} samples.",
                    remedy=f"If it repeats {upper[2]}, say so in duplicate_of; else"
                    " correct a depth.",
                    weight="doubt",
                )


def _washed_m3(log: Log, sample: Sample) -> float | None:
    """Return the volume as typed, bank or loose; pans where their size is known."""
    if sample.volume_m3 is not None:
        return sample.volume_m3
    pan_m3 = sample.pan_volume_m3 or log.ground.pan_volume_m3
    if sample.pans is None or pan_m3 is None:
        return None
    return sample.pans * pan_m3


def more_than_was_cut(log: Log) -> Iterator[Finding]:
    """Tell of volumes that no hand-dug cut of that thickness can have yielded."""
    for sample in log.samples:
        volume_m3 = _washed_m3(log, sample)
        if volume_m3 is None or sample.top_m is None or sample.bottom_m is None:
            continue
        cut_m3 = (sample.bottom_m - sample.top_m) * CUT_M2
        if volume_m3 > CUT_TIMES * cut_m3:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"{figure(volume_m3)} m3 were washed of a cut"
                f" {sample.bottom_m - sample.top_m:.2f} m thick; at a cross-section of"
                f" {CUT_M2:.0f} m2, which is assumed here, it holds"
                f" {figure(cut_m3)} m3.",
                remedy="Check the unit of the volume and the depths; a wider cut is"
                " nothing wrong.",
                weight="doubt",
            )


def mostly_oversize(log: Log) -> Iterator[Finding]:
    """Tell of far more stones on the screen than gravel through it."""
    for sample in log.samples:
        held_m3, through_m3 = sample.oversize_m3, _washed_m3(log, sample)
        if held_m3 is None or through_m3 is None:
            continue
        if held_m3 > OVERSIZE_TIMES * through_m3:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"The screen held back {figure(held_m3)} m3 and let"
                f" {figure(through_m3)} m3 through.",
                remedy="Check both units; oversize is what the screen held, loose.",
                weight="doubt",
            )


def odd_duplicates(log: Log) -> Iterator[Finding]:
    """Tell of repeats of nothing, or of a sample from elsewhere."""
    by_name = {sample.sample: sample for sample in log.samples}
    for sample in log.samples:
        if sample.duplicate_of is None:
            continue
        first = by_name.get(sample.duplicate_of)
        if first is None:
            problem = f"It repeats {sample.duplicate_of}, which is not in the record."
        elif first.dig != sample.dig:
            problem = f"It repeats {first.sample}, which is from dig {first.dig}."
        else:
            continue
        yield Finding(
            where=f"sample {sample.sample}",
            problem=problem,
            remedy="Correct duplicate_of; a repeat is cut beside the first one.",
            weight="doubt",
        )


def colors_counted(log: Log) -> dict[str, int]:
    """Return the colors of each washed sample: of class all, or of all classes."""
    alone: dict[str, int] = {}
    summed: dict[str, int] = defaultdict(int)
    for tally in log.tallies:
        if tally.size_class == "all":
            alone[tally.sample] = tally.colors
        else:
            summed[tally.sample] += tally.colors
    return {**summed, **alone}


def disagreeing_duplicates(log: Log) -> Iterator[Finding]:
    """Tell of repeats whose counts differ by more than chance allows.

    Counts are taken as Poisson counts, so that the variance of a count per volume is
    the count over the volume squared.
    """
    by_name = {sample.sample: sample for sample in log.samples}
    colors = colors_counted(log)
    for sample in log.samples:
        first = by_name.get(sample.duplicate_of or "")
        if first is None or not {sample.sample, first.sample} <= colors.keys():
            continue
        volume_m3, first_m3 = _washed_m3(log, sample), _washed_m3(log, first)
        if not volume_m3 or not first_m3 or sample.state != first.state:
            continue
        count, first_count = colors[sample.sample], colors[first.sample]
        apart = abs(count / volume_m3 - first_count / first_m3)
        deviation = math.hypot(
            math.sqrt(count) / volume_m3, math.sqrt(first_count) / first_m3
        )
        if apart > DEVIATIONS * deviation:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"{count} colors in {figure(volume_m3 * 1000)} l, but"
                f" {first_count} in {figure(first_m3 * 1000)} l of {first.sample},"
                " which it repeats: more apart than chance allows.",
                remedy="Check the volumes and counts, or cut the place once more; until"
                " then trust neither alone.",
                weight="doubt",
            )


def gold_in_blanks(log: Log) -> Iterator[Finding]:
    """Tell of barren material in which gold was found."""
    colors = colors_counted(log)
    for sample in log.samples:
        count = colors.get(sample.sample, 0)
        if sample.blank and (count or sample.weighed_mg):
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"This blank held gold: {count} colors.",
                remedy="Clean the pan and tubs; samples washed just before or after may"
                " have lost or gained these.",
                weight="doubt",
            )


def classes_beyond_all(log: Log) -> Iterator[Finding]:
    """Tell of size classes that add up to more than all colors."""
    summed: dict[str, int] = defaultdict(int)
    for tally in log.tallies:
        if tally.size_class != "all":
            summed[tally.sample] += tally.colors
    for tally in log.tallies:
        if tally.size_class == "all" and summed[tally.sample] > tally.colors:
            yield Finding(
                where=f"sample {tally.sample}",
                problem=f"Its classes add up to {summed[tally.sample]} colors, but all"
                f" are {tally.colors}.",
                remedy="Count again, or correct the class all.",
                weight="wrong",
            )


def classes_outweigh_the_sample(log: Log) -> Iterator[Finding]:
    """Tell of size classes that weigh more than all gold of their sample."""
    split_mg: dict[str, float] = defaultdict(float)
    for tally in log.tallies:
        split_mg[tally.sample] += tally.mg or 0.0
    for sample in log.samples:
        whole_mg = sample.weighed_mg
        # A tenth, or the balance's step, may come from weighing each class apart.
        slack_mg = max(0.1 * (whole_mg or 0.0), 2.0 * (sample.balance_mg or 0.0))
        if whole_mg and split_mg[sample.sample] > whole_mg + slack_mg:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"Its classes weigh {figure(split_mg[sample.sample])} mg"
                f" together, but the sample {figure(whole_mg)} mg.",
                remedy="Weigh again, or check the units.",
                weight="doubt",
            )


def heavy_colors(log: Log) -> Iterator[Finding]:
    """Tell of gold that weighs more than its colors can."""
    colors = colors_counted(log)
    for sample in log.samples:
        count, weighed_mg = colors.get(sample.sample), sample.weighed_mg
        if count and weighed_mg and weighed_mg / count > NUGGET_MG:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"{figure(weighed_mg)} mg in {count} colors is"
                f" {figure(weighed_mg / count)} mg each.",
                remedy="Check the unit of the weight; a nugget is entered as a grain.",
                weight="doubt",
            )


def not_washed_yet(log: Log) -> Iterator[Finding]:
    """Tell which samples still wait: neither counted nor weighed."""
    seen = {tally.sample for tally in log.tallies}
    seen |= {name for weighing in log.weighings for name in weighing.samples}
    waiting = [
        sample.sample
        for sample in log.samples
        if sample.sample not in seen and sample.weighed_mg is None
    ]
    if waiting:
        yield Finding(
            where=f"sample {names_in_short(waiting)}",
            problem=f"{len(waiting)} not washed yet: nothing counted, nothing weighed.",
            remedy="Wash them. If there was no gold, enter class all with 0 colors.",
            weight="note",
        )


def much_gold(log: Log) -> Iterator[Finding]:
    """Tell of more gold than a hand sample holds."""
    for sample in log.samples:
        if sample.weighed_mg is not None and sample.weighed_mg > MUCH_GOLD_MG:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"Its gold weighs {figure(sample.weighed_mg / 1000)} g.",
                remedy=f"Samples washed by hand seldom hold {MUCH_GOLD_MG / 1000:.0f}"
                " g: check the unit of the weight.",
                weight="doubt",
            )


def hardly_washed(log: Log) -> Iterator[Finding]:
    """Tell of volumes that hardly wet a pan."""
    for sample in log.samples:
        washed_m3 = _washed_m3(log, sample)
        if washed_m3 is not None and washed_m3 < LITTLE_M3:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"Only {figure(washed_m3 * 1e6)} ml of it were washed.",
                remedy=f"A sample below {LITTLE_M3 * 1e6:.0f} ml says next to nothing:"
                " check the unit of the volume, or the pans.",
                weight="doubt",
            )


def odd_balance(log: Log) -> Iterator[Finding]:
    """Tell of a balance too coarse for what was read on it."""
    for sample in log.samples:
        step_mg, weighed_mg = sample.balance_mg, sample.weighed_mg
        if step_mg is not None and weighed_mg is not None and 0 < weighed_mg < step_mg:
            yield Finding(
                where=f"sample {sample.sample}",
                problem=f"It reads {figure(weighed_mg)} mg on a balance that reads to"
                f" {figure(step_mg)} mg.",
                remedy="A balance shows its step or nothing: check both units.",
                weight="doubt",
            )
