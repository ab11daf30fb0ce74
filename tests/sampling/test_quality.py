"""Doubts about samples: duplicates, blanks, wonders, drift, salting."""

from typing import Any

import numpy as np
import pytest
from made_logs import log_of, panned
from scipy.stats import binom

from pennyweight.errors import Finding
from pennyweight.records import Dig, Log
from pennyweight.sampling import quality
from pennyweight.sampling.grade import grade_samples


def doubts(log: Log) -> list[Finding]:
    return quality.check_quality(log, grade_samples(log).samples)


def about(log: Log, where: str) -> list[Finding]:
    return [one for one in doubts(log) if one.where.startswith(where)]


def test_alike_duplicates_raise_no_doubt() -> None:
    log = log_of(panned("1", 20), panned("2", 25, duplicate_of="1"))
    assert doubts(log) == []


def test_duplicates_that_differ_beyond_luck_are_a_doubt() -> None:
    log = log_of(panned("1", 2), panned("2", 30, duplicate_of="1"))
    assert "more than luck" in about(log, "samples 1 and 2")[0].problem


def test_the_chance_of_a_difference_is_twice_a_binomial_tail() -> None:
    """5 and 15 colors in equal volumes: 2 P(X <= 5) with n = 20, p = 1/2."""
    log = log_of(panned("1", 5), panned("2", 15, duplicate_of="1"))
    found = quality.compare_duplicates(log, grade_samples(log).samples)[0]
    assert found.chance == pytest.approx(2.0 * binom.cdf(5, 20, 0.5))
    assert found.ratio == pytest.approx(3.0)


def test_volumes_enter_the_comparison() -> None:
    """Ten colors of 50 l and twenty of 100 l are the same ground."""
    log = log_of(panned("1", 10), panned("2", 20, pans=20.0, duplicate_of="1"))
    found = quality.compare_duplicates(log, grade_samples(log).samples)[0]
    assert found.ratio == pytest.approx(1.0)
    assert found.chance == pytest.approx(1.0)


def test_two_blank_duplicates_say_nothing() -> None:
    log = log_of(panned("1", 0), panned("2", 0, duplicate_of="1"))
    graded = grade_samples(log).samples
    found = quality.compare_duplicates(log, graded)[0]
    assert (found.ratio, found.chance) == (None, 1.0)
    assert quality.precision_of(log, graded) is None


def test_precision_agrees_with_hand_arithmetic() -> None:
    """Pairs 80, 120 and 100, 100: mean of 0.16 and 0 over 2 is 0.04: 20 %."""
    found = quality.duplicate_precision([80.0, 100.0], [120.0, 100.0], 25.0)
    assert found is not None
    assert found.rel_sd == pytest.approx(0.2)
    assert found.luck_rel_sd == pytest.approx(0.2)
    assert found.low < found.rel_sd < found.high


def test_precision_finds_the_spread_that_made_the_pairs() -> None:
    rng = np.random.default_rng(4)
    first, second = rng.normal(100.0, 15.0, size=(2, 4000))
    found = quality.duplicate_precision(first, second, 1e9)
    assert found is not None
    assert found.rel_sd == pytest.approx(0.15, rel=0.03)


def test_precision_of_a_record_comes_from_its_pairs() -> None:
    log = log_of(panned("1", 20), panned("2", 24, duplicate_of="1"))
    found = quality.precision_of(log, grade_samples(log).samples)
    assert found is not None
    assert found.pairs == 1
    alone = log_of(panned("1", 3))
    assert quality.precision_of(alone, grade_samples(alone).samples) is None


def test_gold_in_a_blank_is_a_doubt() -> None:
    log = log_of(panned("1", 3, blank=True), panned("2", 0, blank=True))
    found = doubts(log)
    assert [one.where for one in found] == ["sample 1"]
    assert "3 colors" in found[0].problem


def test_a_weighed_blank_is_a_doubt_too() -> None:
    log = log_of(panned("1", None, blank=True, weighed_mg=2.0))
    assert "2 mg" in doubts(log)[0].problem


def test_one_pan_that_holds_the_gold_is_a_wonder() -> None:
    log = log_of(panned("rich", 80), *(panned(f"{k}", 5) for k in range(6)))
    found = about(log, "sample rich")[0]
    assert "alone holds" in found.problem
    assert "Handbooks would leave it out" in found.problem
    assert "salting" in found.remedy


def test_a_wonder_that_was_cut_again_is_said_so() -> None:
    again = panned("again", 80, duplicate_of="rich")
    log = log_of(panned("rich", 80), again, *(panned(f"{k}", 5) for k in range(6)))
    assert about(log, "sample rich")[0].remedy == "Cut the spot again."


def test_even_ground_has_no_wonder() -> None:
    assert doubts(log_of(*(panned(f"{k}", 10) for k in range(10)))) == []


def test_influence_leaves_one_out() -> None:
    """Of 10, 20 and 60 over 1, 2 and 1 m: mean 27.5; without the last 50 / 3."""
    found = quality.weigh_influence(
        [10.0, 20.0, 60.0], [1.0, 2.0, 1.0], ["a", "b", "c"]
    )
    assert found[0].sample == "c"
    assert found[0].gold_share == pytest.approx(60.0 / 110.0)
    assert found[0].mean_without == pytest.approx(50.0 / 3.0)


def test_no_gold_or_one_sample_has_no_influence() -> None:
    assert quality.weigh_influence([0.0, 0.0], [1.0, 1.0], ["a", "b"]) == []
    assert quality.weigh_influence([1.0], [1.0], ["a"]) == []


def line_of(*hands: tuple[str, str, int]) -> Log:
    """Return one line of ten digs: who washed, when, colors."""
    digs = tuple(Dig(dig=f"D{k}", line="L") for k in range(len(hands)))
    samples = [
        panned(f"{k}", colors, dig=f"D{k}", by=by, date=date)
        for k, (by, date, colors) in enumerate(hands)
    ]
    return log_of(*samples, digs=digs)


def test_a_panner_who_loses_half_is_a_doubt() -> None:
    hands = [("first", "2030-05-01", 40), ("second", "2030-05-01", 14)] * 6
    found = about(line_of(*hands), "washed by")
    assert [one.where for one in found] == ["washed by second"]
    assert "ratio 0.52" in found[0].problem


def test_a_day_apart_is_a_doubt() -> None:
    hands = [("one", "2030-05-01", 40), ("one", "2030-05-02", 14)] * 6
    assert about(line_of(*hands), "day 2030-05-02")


def test_two_panners_alike_are_none() -> None:
    hands: list[tuple[str, str, Any]] = [("first", "d", 22), ("second", "d", 18)] * 6
    assert about(line_of(*hands), "washed by") == []


def test_one_panner_alone_cannot_drift() -> None:
    assert quality.find_drift(["a", "a"], ["L", "L"], [10, 50], exposure=[1, 1]) == []


def test_too_few_colors_say_nothing_of_a_panner() -> None:
    assert quality.find_drift(["a", "b"], ["L", "L"], [1, 4], exposure=[1, 1]) == []


def test_gold_of_another_fineness_asks_for_a_reason() -> None:
    samples = [panned(f"{k}", 5, fineness=880.0 + k) for k in range(6)]
    log = log_of(*samples, panned("odd", 5, fineness=990.0))
    assert "990 fine" in about(log, "sample odd")[0].problem


def test_a_review_holds_the_numbers_behind_the_doubts() -> None:
    hands = [("first", "2030-05-01", 40), ("second", "2030-05-02", 14)] * 6
    log = line_of(*hands)
    review = quality.review_quality(log, grade_samples(log).samples)
    assert review.precision is None
    assert review.cut is not None
    assert len(review.influence) == 12
    assert [one.who for one in review.people] == ["first", "second"]
    assert review.days[0].ratio == pytest.approx(40.0 / 27.0)


def test_a_panner_who_finds_nothing_is_a_doubt() -> None:
    hands = [("first", "2030-05-01", 60), ("second", "2030-05-01", 0)] * 6
    found = about(line_of(*hands), "washed by second")
    assert "0 colors" in found[0].problem


def test_a_rare_difference_is_told_as_once_in_so_many() -> None:
    """2 P(X <= 5) with n = 30, p = 1/2 is 2 x 174,437 / 2^30: once in 3,078."""
    log = log_of(panned("1", 5), panned("2", 25, duplicate_of="1"))
    assert "by luck once in 3,000 times" in about(log, "samples 1 and 2")[0].problem


def test_a_hopeless_chance_is_only_bounded() -> None:
    log = log_of(panned("1", 2), panned("2", 60, duplicate_of="1"))
    assert "less than once in 100,000" in about(log, "samples 1 and 2")[0].problem
