"""Where it comes from, said: the stream to walk, what is cleared, where gold stops."""

from __future__ import annotations

from pennyweight.answers.spoken import (
    Part,
    Sentence,
    open_chance,
    open_number,
    say,
)
from pennyweight.answers.upstream import (
    NextSample,
    SoilFind,
    StreamVerdict,
    UpstreamAnswer,
)
from pennyweight.answers.wording import (
    NO_BREAK,
    count_words,
    interval_words,
    list_words,
    number_words,
    percent_words,
    quantity_words,
    some_words,
)
from pennyweight.spread import probability_word
from pennyweight.units import Measures
from pennyweight.upstream.grainevidence import DISTANCE_WORDS, FeatureWord
from pennyweight.upstream.nextsample import CARRYING_M_H, HOURS_A_PAN

#: Streams named one by one; more are counted.
MOST_NAMED = 4
#: A stop in the uppermost stretch is told as its head from this probability on [-].
FROM_HEAD = 0.5
#: Gold in all gravel is told of from this probability on [-].
TOLD_EVERYWHERE = 0.5
#: A trend of grains is told from this probability on, either way [-].
TOLD_TREND = 0.85

#: What each feature is called.
FEATURE_WORDS = {
    "size": "their size",
    "flatness": "their flatness",
    "roundness": "their roundness",
    "rim": "their rims",
    "attached": "rock left on them",
}
SLOPE_RULES = (
    "On slopes some say that the finest gold lies nearest its source, since coarse "
    "grains roll farthest; in streams coarse gold is the near one. The two rules of "
    "thumb contradict each other: grain size says nothing here about soil."
)
KINDS_RULE = (
    "Worn grains of an old channel mixed with fresh ones would look like this: follow "
    "the share of angular grains, not the average."
)
VERDICT_WORDS = {
    "cleared": "cleared: tested, and hardly any chance of gold is left",
    "suspect": "suspect: gold may come from here",
    "untested": "untested: nothing was washed that tells",
}


def upstream_verdict(
    answer: UpstreamAnswer, measures: Measures
) -> tuple[Sentence, ...]:
    """Return where the gold most likely comes from, and which stream to walk next."""
    if not answer.streams:
        return tuple(say(words) for words in answer.cautions[:1])
    said = [_most_likely(answer)]
    said += _by_verdict(answer)
    if answer.probability_everywhere > TOLD_EVERYWHERE:
        said.append(_everywhere(answer))
    if answer.stop is not None and answer.last_gold is not None:
        said.append(_stop(answer, measures))
    if answer.next_samples:
        said.append(_wash_next(answer, measures))
    return tuple(said)


def _name(answer: UpstreamAnswer, stream: str) -> str:
    return next(one.name for one in answer.streams if one.id == stream)


def _most_likely(answer: UpstreamAnswer) -> Sentence:
    chance = answer.probability_of_any
    colors = sum(one.colors for one in answer.washed)
    if colors == 0.0:
        return say(
            "No gold was found on the water. That a source feeds it all the same is ",
            open_chance(chance, _chance(chance), "a source above the samples"),
            ".",
        )
    best = max(answer.streams, key=lambda one: one.probability_source_here)
    own = best.probability_source_here
    where = f"on {best.name}"
    stop = answer.stop
    if (
        stop is not None
        and stop.stream == best.id
        and stop.beyond_probability > FROM_HEAD
    ):
        where = f"at the head of {best.name}, or in the ground above it"
    return say(
        f"The gold most likely enters {where}: ",
        open_chance(own, _chance(own), "that a source lies on this stream"),
        ".",
    )


def _chance(probability: float) -> str:
    return f"{probability_word(probability)} ({percent_words(probability)})"


def _by_verdict(answer: UpstreamAnswer) -> list[Sentence]:
    """Return which feeders are suspect, cleared and untested."""
    feeders = [one for one in answer.streams if one.into is not None]
    if not feeders:
        return []
    said = []
    words = {
        "suspect": ("is suspect", "are suspect"),
        "cleared": ("is cleared for now", "are cleared for now"),
        "untested": ("is untested", "are untested"),
    }
    for verdict, (one_is, many_are) in words.items():
        own = [one for one in feeders if one.verdict == verdict]
        if not own:
            continue
        own.sort(key=lambda one: -one.probability_carries)
        names = tuple(_with_chance(one) for one in own)
        told = some_words(names, MOST_NAMED)
        verb = one_is if len(own) == 1 else many_are
        said.append(
            say(
                Part(text=told[:1].upper() + told[1:], means=", ".join(names)),
                f" {verb}.",
            )
        )
    return said


def _with_chance(one: StreamVerdict) -> str:
    """Return a stream's name with the chance that gold passes its mouth."""
    return f"{one.name} ({percent_words(one.probability_carries)})"


def _everywhere(answer: UpstreamAnswer) -> Sentence:
    chance = answer.probability_everywhere
    return say(
        "That all gravel here holds some gold, whatever the stream, is ",
        open_chance(chance, _chance(chance), "gold in all gravel of the ground"),
        ": counts then tell the feeders apart less well.",
    )


def _stop(answer: UpstreamAnswer, measures: Measures) -> Sentence:
    stop, last = answer.stop, answer.last_gold
    if stop is None or last is None:
        msg = f"the answer of {answer.book.name!r} has no stop to tell of."
        raise ValueError(msg)
    if stop.beyond_probability > FROM_HEAD:
        return say(
            f"Above the last gold, sample {last.sample}, nothing says where it stops: "
            "it may come from the head or beyond.",
        )
    return say(
        f"Above the last gold, sample {last.sample}, it stops after ",
        open_number(
            stop.above_last_m,
            "length",
            measures,
            means="way up from that sample to where its gold enters",
        ),
        ".",
    )


def _wash_next(answer: UpstreamAnswer, measures: Measures) -> Sentence:
    first = answer.next_samples[0]
    place = quantity_words(first.chainage_m, "length", measures, figures=3)
    return say(
        f"Wash next on {_name(answer, first.stream)}, ",
        f"{place} above where the water leaves: ",
        f"{first.why}.",
    )


def sample_words(one: NextSample, measures: Measures) -> str:
    """Return what a proposed sample costs and may show."""
    place = quantity_words(one.chainage_m, "length", measures, figures=3)
    return (
        f"{place} up, {number_words(one.pans)} pans, about {number_words(one.hours)}"
        f"{NO_BREAK}hours; gold shows with {percent_words(one.gold_probability)}"
    )


def grain_sentences(answer: UpstreamAnswer, measures: Measures) -> tuple[str, ...]:
    """Return what the grains say, feature by feature, and where they contradict."""
    word = answer.grains
    if word is None:
        return ()
    best = max(range(len(word.chance)), key=word.chance.__getitem__)
    all_grains = count_words(word.n_grains, "grain")
    chance = percent_words(word.chance[best])
    together = (
        f"{all_grains} together look as from {DISTANCE_WORDS[best]} ({chance}); "
        "distances from grains are good to a factor of ten at best: "
        f"{_distance(answer, measures)}."
    )
    said = [together]
    for near, far in word.contrary:
        said.append(
            f"{FEATURE_WORDS[near].capitalize()} speaks for near, {FEATURE_WORDS[far]} "
            "for far: they contradict each other, and neither is taken for the truth."
        )
    said += _trend_sentences(answer)
    if answer.kinds_probability is not None and answer.kinds_probability > 0.5:
        kinds = percent_words(answer.kinds_probability)
        said.append(f"The grains are of two kinds with {kinds}. {KINDS_RULE}")
    return tuple(said)


def _distance(answer: UpstreamAnswer, measures: Measures) -> str:
    distance = answer.grain_distance_km
    if distance is None:
        return "unknown"
    return interval_words(distance.scaled(1000.0), "length", measures)


def _trend_sentences(answer: UpstreamAnswer) -> list[str]:
    rises = {
        "size": ("the grains grow coarser", "the grains grow finer"),
        "flatness": ("they grow flatter", "they grow chunkier"),
        "roundness": ("they grow rounder", "they grow more angular"),
    }
    nearing = {"size": True, "flatness": False, "roundness": False}
    told = []
    for one in answer.trends:
        chance = one.rises_probability
        if chance is None or 1.0 - TOLD_TREND < chance < TOLD_TREND:
            continue
        up = chance >= TOLD_TREND
        words = rises[one.feature][0 if up else 1]
        # A straight line through few grains is never certain.
        sure = percent_words(min(max(chance, 1.0 - chance), 0.999))
        means = (
            "as toward a source"
            if up == nearing[one.feature]
            else ("unlike toward a source")
        )
        told.append(f"On the way up {words} ({sure}), {means}.")
    return told


def feature_words(one: FeatureWord) -> str:
    """Return what one feature says: its likeliest distance, and how much it says so."""
    return f"{DISTANCE_WORDS[one.best]} ({percent_words(one.chance[one.best])})"


def soil_words(one: SoilFind, measures: Measures) -> str:
    """Return what a line of soil holes found."""
    told = (
        f"Line {one.line}: {one.holes} holes, {count_words(int(one.colors), 'color')}; "
        f"a band of gold crosses it with {percent_words(one.there_probability)}"
    )
    if one.there_probability < 0.5:
        return f"{told}."
    middle = interval_words(one.middle_m, "length", measures)
    return f"{told}, its middle {middle} from the line's end."


def soil_line_words(answer: UpstreamAnswer, measures: Measures) -> tuple[str, ...]:
    """Return the lines of soil holes that are proposed, with their hours."""
    said = []
    for bank in ("left", "right"):
        lines = [one for one in answer.soil_lines if one.bank == bank]
        if not lines:
            continue
        holes = len(lines[0].easting_m)
        places = [quantity_words(one.carry_m, "length", measures) for one in lines]
        hours = [
            number_words(holes * (HOURS_A_PAN + one.carry_m / CARRYING_M_H))
            for one in (lines[0], lines[-1])
        ]
        said.append(
            f"{bank.capitalize()} bank, lines of {count_words(holes, 'hole')} at "
            f"{list_words(places)} from the creek: about {hours[0]}{NO_BREAK}hours for "
            f"the first, {hours[1]} for the last, carrying the soil to water included."
        )
    return tuple(said)


def isolation_words(answer: UpstreamAnswer) -> str:
    """Return how many samples pin the source down, at worst, beside halving."""
    pieces = count_words(len(answer.pieces), "stretch", "stretches")
    return (
        f"Each big enough to be sure of, {answer.samples_at_worst} samples pin the "
        f"source down to one of {pieces} wherever it lies; halving a straight row of "
        f"as many would take {answer.samples_halving}."
    )
