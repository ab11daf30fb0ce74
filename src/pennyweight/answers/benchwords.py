"""The small reckonings in words: what comes first, and the numbers behind it."""

from __future__ import annotations

from functools import singledispatch

from pennyweight.answers.bench import BenchAnswer, PanAnswer, WeightAnswer
from pennyweight.answers.benchgold import (
    GrainAnswer,
    SettlingAnswer,
    SpecimenAnswer,
    ValueAnswer,
)
from pennyweight.answers.benchplan import ChargeAnswer, PlanAnswer
from pennyweight.answers.wording import (
    NO_BREAK,
    count_words,
    list_words,
    money_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
)
from pennyweight.units import MASS_MG, METRIC, Measures

Facts = list[tuple[str, str]]
MG_IN_G = 1000.0

#: What a mineral is to the eye, where it was not gold.
PLAIN_NAMES = {
    "gold flake": "gold, in flakes",
    "gold nugget": "gold, in lumps",
    "mica flake": "mica (fool's glitter)",
    "pyrite": "pyrite (fool's gold)",
}


def _liters(volume_m3: float) -> str:
    """Return a small volume in liters."""
    return f"{number_words(volume_m3 * 1000.0, 3)}{NO_BREAK}liters"


def _grams(mg: float) -> str:
    """Return gold in grams and, as the trade weighs it, in pennyweights."""
    weight = f"{number_words(mg / MG_IN_G, 3)}{NO_BREAK}g"
    return f"{weight} ({number_words(mg / MASS_MG['dwt'], 3)}{NO_BREAK}dwt)"


def _plain(name: str) -> str:
    """Return a mineral as a person calls it."""
    return PLAIN_NAMES.get(name, name)


def _speed(speed_m_s: float, over_quartz: float) -> str:
    """Return how fast a grain sinks, and against quartz."""
    speed = f"{number_words(speed_m_s * 100.0)}{NO_BREAK}cm/s"
    return f"{speed}, {number_words(over_quartz)} times quartz"


@singledispatch
def bench_verdict(answer: BenchAnswer, measures: Measures = METRIC) -> str:
    """Return the sentence or two that come first.

    Parameters
    ----------
    answer : BenchAnswer
        Any of the reckonings.
    measures : Measures
        The reader's units.

    Returns
    -------
    str
        Plain words.
    """
    msg = f"{type(answer).__name__} has no words."
    raise TypeError(msg)


@singledispatch
def bench_facts(answer: BenchAnswer, measures: Measures = METRIC) -> Facts:
    """Return the numbers behind the verdict.

    Parameters
    ----------
    answer : BenchAnswer
        Any of the reckonings.
    measures : Measures
        The reader's units.

    Returns
    -------
    list of (str, str)
        What, and how much.
    """
    msg = f"{type(answer).__name__} has no numbers."
    raise TypeError(msg)


@bench_verdict.register
def _(answer: PanAnswer, measures: Measures = METRIC) -> str:
    yards = measures.name == "feet"
    factor = answer.pans_per_bank_yd3 if yards else answer.pans_per_bank_m3
    whole = "cubic yard" if yards else "cubic meter"
    text = (
        f"Your pan holds {_liters(answer.pan_m3)} of loose gravel; that is "
        f"{_liters(answer.bank_per_pan_m3)} of ground as it lies. A {whole} of ground "
        f"fills {number_words(factor, 3)} of them."
    )
    if answer.differs:
        text += (
            " Its measures and your bucket do not agree: trust the bucket, and count "
            "once more."
        )
    return text


@bench_facts.register
def _(answer: PanAnswer, measures: Measures = METRIC) -> Facts:
    rows = [("Struck level, by its measures", _liters(answer.struck_m3))]
    if answer.heap_m3:
        rows.append(("The heap above the rim", _liters(answer.heap_m3)))
    if answer.by_bucket:
        rows.append(("By your own bucket", _liters(answer.pan_m3)))
    return [
        *rows,
        ("Growth when dug", percent_words(answer.swell)),
        ("Pan factor, a cubic meter", number_words(answer.pans_per_bank_m3, 3)),
        ("Pan factor, a cubic yard", number_words(answer.pans_per_bank_yd3, 3)),
    ]


@bench_verdict.register
def _(answer: WeightAnswer, measures: Measures = METRIC) -> str:
    return (
        f"That was {_liters(answer.bank_m3)} of ground as it lies. Write it down as a "
        "bank volume."
    )


@bench_facts.register
def _(answer: WeightAnswer, measures: Measures = METRIC) -> Facts:
    dry = f"{number_words(answer.dry_kg, 3)}{NO_BREAK}kg"
    return [("Dry weight", dry), ("Water in it", percent_words(answer.water_share))]


@bench_verdict.register
def _(answer: SpecimenAnswer, measures: Measures = METRIC) -> str:
    gold = answer.gold_mg
    if gold.p90 <= 0.0:
        return (
            "No gold that these weighings could show: the piece is no heavier than the "
            "rock that was supposed."
        )
    between = f"{number_words(gold.p10 / MG_IN_G)} and {_grams(gold.p90)}"
    if gold.p10 <= 0.0:
        return (
            f"It may hold no gold at all, and with nine chances in ten no more than "
            f"{_grams(gold.p90)}. A finer balance, or a larger piece, tells more."
        )
    return (
        f"It holds about {_grams(gold.p50)} of raw gold, and with four chances in five "
        f"between {between}."
    )


@bench_facts.register
def _(answer: SpecimenAnswer, measures: Measures = METRIC) -> Facts:
    gold = answer.gold_mg
    low, half, high = (one / MG_IN_G for one in (gold.p10, gold.p50, gold.p90))
    grams = f"{number_words(half, 3)}{NO_BREAK}g"
    between = range_words(low, high, 3)
    doubt = [
        f"{number_words(sd / MG_IN_G)}{NO_BREAK}g"
        for sd in (answer.from_balance_sd_mg, answer.from_rock_sd_mg)
    ]
    return [
        ("Raw gold", f"{grams} (80{NO_BREAK}%: {between})"),
        ("Fine gold in it", _grams(answer.fine_mg)),
        ("Gold, by weight of the piece", percent_words(answer.share)),
        ("Density of the piece", f"{number_words(answer.density_g_cm3, 3)} g/cm³"),
        ("Doubt from the balance, one sigma", doubt[0]),
        ("Doubt from the rock, one sigma", doubt[1]),
    ]


@bench_verdict.register
def _(answer: ValueAnswer, measures: Measures = METRIC) -> str:
    told = []
    if answer.value_per_yd3 is not None and answer.value_per_m3 is not None:
        yard = money_words(answer.value_per_yd3, answer.currency, 3)
        meter = money_words(answer.value_per_m3, answer.currency, 3)
        told.append(
            f"The gold in a cubic yard of such ground is worth {yard.strip()}, in a "
            f"cubic meter {meter.strip()}."
        )
    if answer.value is not None and answer.fine_mg is not None:
        worth = money_words(answer.value, answer.currency, 3).strip()
        told.append(
            f"The gold in hand holds {_grams(answer.fine_mg)} of fine gold, worth "
            f"{worth}."
        )
    return " ".join(told)


@bench_facts.register
def _(answer: ValueAnswer, measures: Measures = METRIC) -> Facts:
    rows: Facts = []
    if answer.grade_mg_m3 is not None and answer.fine_mg_m3 is not None:
        for label, grade in (
            ("Raw gold in the ground", answer.grade_mg_m3),
            ("Fine gold in the ground", answer.fine_mg_m3),
        ):
            rows.append((label, quantity_words(grade, "grade", measures, figures=3)))
    if answer.raw_mg is not None:
        rows.append(("Raw gold in hand", _grams(answer.raw_mg)))
    price = money_words(answer.price_per_ozt, answer.currency, 4).strip()
    return [
        *rows,
        ("Fineness", f"{number_words(answer.fineness, 3)} of 1000"),
        ("Price of a troy ounce, fine", price),
    ]


@bench_verdict.register
def _(answer: GrainAnswer, measures: Measures = METRIC) -> str:
    if not answer.tried:
        return "Nothing was tried yet: a knife point and a magnet tell most."
    names = [_plain(one.name) for one in answer.may_be]
    if answer.may_be_gold:
        others = [name for name in names if not name.startswith("gold")]
        if not others:
            return "It behaves like gold in all that you tried."
        return (
            f"It may be gold, but {list_words(others)} would do the same. Press it "
            "with a knife point: gold flattens, the others break."
        )
    begin = f"It is not gold: {answer.certain_no}." if answer.certain_no else ""
    if not begin:
        begin = "It does not behave like gold."
    if not names:
        return f"{begin} Nor does it fit anything else on this list."
    return f"{begin} It fits {list_words(names)}."


@bench_facts.register
def _(answer: GrainAnswer, measures: Measures = METRIC) -> Facts:
    return [
        (
            _plain(one.name),
            ", ".join(
                (
                    f"{number_words(one.density_g_cm3, 3)} g/cm³",
                    "flattens" if one.malleable else "breaks",
                    "magnetic" if one.magnetic else "not magnetic",
                    "stays in the pan" if one.stays else "washes over",
                    f"mark {one.streak}",
                )
            ),
        )
        for one in answer.may_be
    ]


@bench_verdict.register
def _(answer: SettlingAnswer, measures: Measures = METRIC) -> str:
    speed = {one.mineral: one for one in answer.sinking}
    flake, mica = speed["gold flake"], speed["mica flake"]
    return (
        f"A gold flake of {number_words(answer.size_m * 1000.0, 3)}{NO_BREAK}mm sinks "
        f"{number_words(flake.speed_m_s * 100.0)}{NO_BREAK}cm a second, "
        f"{number_words(flake.over_quartz)} times as fast as quartz of its size and "
        f"{number_words(flake.speed_m_s / mica.speed_m_s)} times as fast as mica. A "
        f"lump of gold of that size sinks like quartz of "
        f"{number_words(answer.quartz_as_fast_m * 1000.0)}{NO_BREAK}mm: screen before "
        "you pan."
    )


@bench_facts.register
def _(answer: SettlingAnswer, measures: Measures = METRIC) -> Facts:
    return [
        (_plain(one.mineral), _speed(one.speed_m_s, one.over_quartz))
        for one in answer.sinking
    ]


@bench_verdict.register
def _(answer: PlanAnswer, measures: Measures = METRIC) -> str:
    step = answer.next_step
    ways = ["one more pan from every dig", "one more dig"]
    if step.pan_gain_per_hour <= step.dig_gain_per_hour:
        ways.reverse()
    return (
        f"Ground of {quantity_words(answer.grade_mg_m3, 'grade', measures)} shows "
        f"{number_words(answer.colors_per_pan)} colors a pan on average, and no color "
        f"at all in {percent_words(answer.chance_of_blank_pan)} of the pans. About "
        f"{number_words(answer.pans_for_20_colors)} pans bring 20 colors, the least to "
        f"lean on. For the hours it takes, {ways[0]} tells more than {ways[1]}."
    )


@bench_facts.register
def _(answer: PlanAnswer, measures: Measures = METRIC) -> Facts:
    step = answer.next_step
    wanted = percent_words(answer.wanted_error)
    so_far = f"{count_words(answer.digs, 'dig')} of {number_words(answer.pans)} pans"
    return [
        ("One pan, as it lies", _liters(answer.pan_bank_m3)),
        ("Colors expected in a pan", number_words(answer.colors_per_pan)),
        ("Chance of a pan without any", percent_words(answer.chance_of_blank_pan)),
        ("Pans for 20 colors", number_words(answer.pans_for_20_colors)),
        ("Ground that holds them", _liters(answer.bank_m3_for_20_colors)),
        (
            f"Pans to be within {wanted}, four times in five",
            number_words(answer.pans_for_error),
        ),
        (
            "Blank pans in a row that rule this grade out (95 %)",
            number_words(answer.blank_pans_to_clear),
        ),
        (f"Error of the mean with {so_far}", percent_words(step.rel_sd)),
        ("The same with one more pan from each", percent_words(step.rel_sd_more_pans)),
        ("The same with one more dig", percent_words(step.rel_sd_more_digs)),
        ("Best number of pans from a dig", number_words(step.best_pans)),
    ]


@bench_verdict.register
def _(answer: ChargeAnswer, measures: Measures = METRIC) -> str:
    return (
        f"By the luck of its grains alone such a charge is off by "
        f"{percent_words(answer.rel_sd)} or less two times in three. To keep to "
        f"{percent_words(answer.wanted_rel_sd)} it would take "
        f"{number_words(answer.charge_for_wanted_g)}{NO_BREAK}g: crush or sieve it "
        "finer if that is too much, or weigh the gold itself."
    )


@bench_facts.register
def _(answer: ChargeAnswer, measures: Measures = METRIC) -> Facts:
    return [
        ("Charge", f"{number_words(answer.charge_g, 3)}{NO_BREAK}g"),
        ("Fundamental error, one sigma", percent_words(answer.rel_sd)),
        (
            f"Charge for {percent_words(answer.wanted_rel_sd)}",
            f"{number_words(answer.charge_for_wanted_g)}{NO_BREAK}g",
        ),
    ]
