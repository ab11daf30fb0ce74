"""Verdicts are written from numbers by rule."""

from dataclasses import replace

import pytest

from pennyweight.answers.sentences import (
    NO_RESOURCE,
    across_words,
    grade_verdict,
    ground_verdict,
    next_verdict,
    total_sentences,
    trace_verdict,
    verdict_text,
    worth_verdict,
)
from pennyweight.answers.wording import (
    chance_words,
    interval_words,
    money_words,
    number_words,
    percent_words,
    quantity_words,
    range_words,
)
from pennyweight.errors import Finding
from pennyweight.spread import Spread
from pennyweight.units import FEET_AND_YARDS, METRIC
from tests.pictures import made_answers

MINUS, DASH, TIE = "\u2212", "\u2013", "\u00a0"


def plain(text: str) -> str:
    return text.replace(TIE, " ").replace(DASH, "-").replace(MINUS, "-")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.0, "0"),
        (0.0312, "0.031"),
        (0.6, "0.6"),
        (9.96, "10"),
        (1234.0, "1,200"),
        (-7.06, f"{MINUS}7.1"),
        (float("nan"), "unknown"),
    ],
)
def test_a_number_keeps_two_figures_and_no_powers_of_ten(
    value: float, words: str
) -> None:
    assert number_words(value) == words


def test_a_range_below_zero_says_to_instead_of_a_dash() -> None:
    assert range_words(-2.0, 3.0) == f"{MINUS}2 to 3"
    assert range_words(0.6, 1.3) == f"0.6{DASH}1.3"


def test_an_interval_always_says_that_it_is_80_percent() -> None:
    words = interval_words(Spread(0.6, 0.9, 1.3, 0.95), "length", METRIC)
    assert plain(words) == "0.9 m (80 %: 0.6-1.3)"


def test_a_quantity_is_said_in_the_readers_unit() -> None:
    assert plain(quantity_words(1.524, "length", FEET_AND_YARDS)) == "5 ft"


def test_money_carries_its_currency() -> None:
    assert plain(money_words(12_345.0, "CAD")) == "CAD 12,000"


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.66, "two in three"),
        (0.97, "97 %"),
        (0.999, "over 99 %"),
        (0.002, "under 1 %"),
    ],
)
def test_a_chance_is_a_fraction_or_a_percentage_and_never_certain(
    share: float, words: str
) -> None:
    assert plain(chance_words(share)) == words


def test_certainty_itself_is_said_as_such() -> None:
    assert plain(percent_words(1.0)) == "100 %"
    assert plain(percent_words(0.0)) == "0 %"


@pytest.mark.parametrize(
    ("low_m", "high_m", "words"),
    [
        (2.0, 4.0, "2 to 4 m left of the centerline"),
        (-4.2, -3.9, "about 4 m right of the centerline"),
        (-1.0, 2.0, "between 1 m right and 2 m left of the centerline"),
        (-0.2, 0.3, "along the centerline"),
    ],
)
def test_offsets_are_said_from_the_centerline(
    low_m: float, high_m: float, words: str
) -> None:
    assert plain(across_words(low_m, high_m, METRIC)) == words


def test_the_richest_streak_is_told_with_its_place_cover_and_links() -> None:
    said = plain(verdict_text(trace_verdict(made_answers.trace(), METRIC)))
    assert said.startswith("Streak A, the richest, lies on bedrock, 2 to 3 m left of")
    assert "under about 1.4 m (80 %: 1.3-1.5) of overburden." in said
    assert "its weakest link, line 5 to 6, being very likely." in said
    assert (
        "Streaks B and C come together into streak A near line 4 (two in three)."
        in said
    )


def test_a_number_in_a_verdict_can_be_opened() -> None:
    parts = [p for s in trace_verdict(made_answers.trace(), METRIC) for p in s.parts]
    opened = next(part for part in parts if part.spread is not None)
    assert opened.quantity == "length"
    assert opened.means == "depth of the top of the pay, averaged along the streak"


def test_no_streak_is_an_answer() -> None:
    empty = replace(
        made_answers.trace(), streaks=(), merges=(), probability_of_any=0.08
    )
    said = plain(verdict_text(trace_verdict(empty, METRIC)))
    assert said == (
        "No pay streak above 150 mg/m3 shows. That there is any is very unlikely (8 %)."
    ).replace("m3", "m³")


def test_a_streak_at_one_line_is_told_without_links() -> None:
    answer = made_answers.trace()
    alone = replace(answer.streaks[0], links=())
    said = plain(
        verdict_text(
            trace_verdict(replace(answer, streaks=(alone,), merges=()), METRIC)
        )
    )
    assert "That it is there at line 5 is almost certain." in said


def test_the_total_is_never_called_a_resource() -> None:
    said = verdict_text(total_sentences(made_answers.trace(), METRIC))
    assert plain(said).startswith("Between the outermost lines lie about 420 g (80 %:")
    assert said.endswith(NO_RESOURCE)


def test_an_unknown_total_says_what_would_tell() -> None:
    answer = made_answers.trace()
    unknown = replace(answer, total=replace(answer.total, gold_g=None))
    assert "two lines with two digs" in verdict_text(total_sentences(unknown, METRIC))


def test_the_pans_verdict_names_the_best_interval_and_its_reliability() -> None:
    said = plain(verdict_text(grade_verdict(made_answers.grade(), METRIC)))
    assert said.startswith("The best interval is in dig 6C, on bedrock: 810 mg/m³")
    assert "none is good, 12 are fair and 140 are poor to rely on (poor: it may" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("poor",),
            (
                "One sample is graded; it is poor to rely on: it may well be half or "
                "double."
            ),
        ),
        (
            ("fair", "fair", "none"),
            "Both graded samples are fair to rely on: within about a half either way.",
        ),
        (
            ("good",) * 3,
            (
                "All 3 graded samples are good to rely on: within about a quarter "
                "either way."
            ),
        ),
        (
            ("good", "fair", "fair"),
            "Of 3 graded samples, 1 is good, 2 are fair and none is poor to rely on.",
        ),
    ],
)
def test_reliability_is_said_in_plain_words(words: tuple[str, ...], said: str) -> None:
    answer = made_answers.grade()
    samples = tuple(
        replace(answer.samples[0], reliability=word, sample=str(at))
        for at, word in enumerate(words)
    )
    verdict = grade_verdict(replace(answer, samples=samples), METRIC)
    assert plain(verdict[1].text) == said


@pytest.mark.parametrize(
    ("where", "problem", "said"),
    [
        (
            "ground",
            "The pan was never measured",
            "Check the ground first: the pan was never measured.",
        ),
        ("dig T1", "It is odd.", "Check dig T1 first: it is odd."),
        ("dig T1", "UTM is odd.", "Check dig T1 first: UTM is odd."),
        (
            "sample 8",
            "One nugget of 58.8 mg. Handbooks leave it out (153).",
            "Check sample 8 first: one nugget of 58.8 mg.",
        ),
    ],
)
def test_what_to_check_first_is_a_sentence(where: str, problem: str, said: str) -> None:
    finding = Finding(where, problem, "Look.", "doubt")
    answer = replace(made_answers.grade(), findings=(finding,))
    assert grade_verdict(answer, METRIC)[-1].text == said


@pytest.mark.parametrize(
    ("rests_on", "said"),
    [
        ({"poor": 5}, "very likely, on 5 digs, all poor to rely on;"),
        ({"poor": 2}, "very likely, on 2 digs, both poor to rely on;"),
        ({"poor": 1}, "very likely, on 1 dig, poor to rely on;"),
        (
            {"poor": 9, "good": 15},
            "very likely, on 24 digs, 9 of them poor to rely on;",
        ),
        ({"fair": 8}, "very likely, on 8 digs;"),
    ],
)
def test_a_streak_says_how_few_digs_it_stands_on(
    rests_on: dict[str, int], said: str
) -> None:
    answer = made_answers.trace()
    streak = replace(answer.streaks[0], probability=0.94)
    shown = replace(answer, streaks=(streak,), merges=(), rests_on=rests_on)
    assert said in plain(verdict_text(trace_verdict(shown, METRIC)))


def test_other_streaks_are_called_streaks() -> None:
    said = plain(verdict_text(trace_verdict(made_answers.trace(), METRIC)))
    assert "Besides it: streak B, " in said


def test_without_a_volume_no_grade_is_told() -> None:
    bare = replace(made_answers.grade(), digs=(), samples=())
    assert verdict_text(grade_verdict(bare, METRIC)).startswith("No washed sample")


def test_what_is_not_washed_is_unknown_and_not_zero() -> None:
    said = plain(verdict_text(ground_verdict(made_answers.ground(), METRIC)))
    assert "3 samples are not washed yet: unknown, not zero." in said


def test_an_empty_book_says_what_to_do() -> None:
    empty = replace(made_answers.ground(), digs=(), lines=(), samples=0, unwashed=())
    said = verdict_text(ground_verdict(empty, METRIC))
    assert said == "Nothing is dug yet. Enter the first dig, or take in a log."


def test_worth_says_the_chance_of_a_loss() -> None:
    said = plain(verdict_text(worth_verdict(made_answers.worth(), METRIC)))
    assert "the chance of a loss is 14 %." in said


def test_next_says_what_to_open_first_and_why() -> None:
    said = plain(verdict_text(next_verdict(made_answers.nextdigs(), METRIC)))
    assert said.startswith("Open dig 1 first, about 1.7 m deep. Between lines")
    assert said.endswith("All 4 take about 14 hours together.")


def test_next_begins_with_what_costs_no_digging() -> None:
    plan = replace(made_answers.nextdigs(), to_wash=("A3-3",), to_cut_again=("B2-1",))
    said = plain(verdict_text(next_verdict(plan, METRIC)))
    assert said.startswith(
        "First wash A3-3: it waits in your bucket and costs no digging. Then cut the "
        "spot of sample B2-1 again: so much of all the gold lies in this one sample "
        "that it must be sure. Then open dig 1, about 1.7 m deep. Between lines"
    )


def test_of_many_samples_that_wait_four_are_named() -> None:
    names = tuple(f"S{at}" for at in range(1, 8))
    plan = replace(made_answers.nextdigs(), to_wash=names)
    first = next_verdict(plan, METRIC)[0]
    assert plain(first.text) == (
        "First wash S1, S2, S3, S4 and 3 more: they wait in your buckets and cost no "
        "digging."
    )
    assert first.parts[1].means == "S1, S2, S3, S4, S5, S6, S7"


def test_digs_that_change_little_are_not_ordered() -> None:
    plan = replace(made_answers.nextdigs(), changes_little=True)
    said = plain(verdict_text(next_verdict(plan, METRIC)))
    assert said.startswith(
        "More digging where you have sampled would hardly change the decision. The 4 "
        "digs below together lower the chance of a wrong one by under 1 %. If you dig "
        "all the same, begin with dig 1"
    )


def test_two_digs_are_both() -> None:
    plan = made_answers.nextdigs()
    said = plain(verdict_text(next_verdict(replace(plan, digs=plan.digs[:2]), METRIC)))
    assert said.endswith("Both take about 14 hours together.")


def test_samples_are_to_be_washed_even_where_no_dig_helps() -> None:
    none = replace(made_answers.nextdigs(), digs=(), to_wash=("A3-3",), verdict="")
    said = verdict_text(next_verdict(none, METRIC))
    assert said.startswith("First wash A3-3")
    assert said.endswith("No dig within reach would change what you decide.")


def test_nothing_worth_digging_is_said_so() -> None:
    none = replace(made_answers.nextdigs(), digs=(), verdict="")
    assert "would change what you decide" in verdict_text(next_verdict(none, METRIC))
