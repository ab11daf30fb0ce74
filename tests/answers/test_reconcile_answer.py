"""Clean-ups of an invented creek beside the estimate of their cuts."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.cuts import draw_ground, lay_cuts, read_stretch
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import (
    CARRY_KEY,
    ReconcileAnswer,
    carry_evidence,
    reconcile,
)
from pennyweight.errors import TooLittleError
from pennyweight.records import Cleanup, Log
from tests.answers.made_season import box, drawn, season, true_mg_m2

#: Gold truly in the lower cut, 12 m by 8 m: cells of 0.1 m summed [mg].
TRUE_MG = 12.0 * 0.1 * sum(true_mg_m2(n) for n in np.arange(-3.95, 4.0, 0.1))
CLEANUPS = (
    Cleanup(
        cleanup="C1",
        area="Lower cut",
        bank_volume_m3=52.0,
        weighed_mg=0.8 * TRUE_MG,
        hours=60.0,
    ),
    Cleanup(cleanup="C2", area="s 30-40", bank_volume_m3=20.0, weighed_mg=40000.0),
    Cleanup(cleanup="C3", area="Upper cut", bank_volume_m3=9.0, weighed_mg=9000.0),
    Cleanup(cleanup="C4", bank_volume_m3=9.0, weighed_mg=900.0),
    Cleanup(cleanup="C5", area="lower cut", bank_volume_m3=9.0),
    Cleanup(cleanup="C6", area="200-210", bank_volume_m3=9.0, weighed_mg=5.0),
    Cleanup(cleanup="C7", area="30-40", weighed_mg=5.0),
    Cleanup(cleanup="C8", area="Lower cut", bank_volume_m3=8.0, weighed_mg=4000.0),
)


@pytest.fixture(scope="module")
def reading() -> Reading:
    return season(cleanups=CLEANUPS)


@pytest.fixture(scope="module")
def answer(reading: Reading) -> ReconcileAnswer:
    return reconcile(reading)


def test_gold_truly_there_lies_in_the_interval_of_its_cut(
    answer: ReconcileAnswer,
) -> None:
    cut = answer.cuts[0]
    assert cut.inside
    assert cut.used
    assert cut.expected_g is not None
    assert cut.expected_g.p10 < 0.8 * TRUE_MG / 1000.0 < cut.expected_g.p90
    assert cut.said.startswith("As expected")


def test_a_clean_up_far_richer_than_expected_is_said_to_be(
    answer: ReconcileAnswer,
) -> None:
    """40 g from 20 m3 where about 15 g are expected."""
    cut = answer.cuts[1]
    assert cut.inside is False
    assert cut.won_over_expected is not None
    assert cut.won_over_expected > 1.5
    assert cut.said.startswith("More than expected")


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (2, "No area named Upper cut"),
        (3, "not written down"),
        (4, "not weighed yet"),
        (5, "outside the sampled stretch"),
        (6, "not surveyed"),
        (7, "Nobody knows which part"),
    ],
)
def test_what_cannot_be_compared_says_why_and_teaches_nothing(
    answer: ReconcileAnswer, at: int, words: str
) -> None:
    assert words in answer.cuts[at].said
    assert not answer.cuts[at].used


def test_the_difference_is_carried_and_shown(
    reading: Reading, answer: ReconcileAnswer
) -> None:
    carried = carry_evidence(reading)
    assert carried is not None
    assert answer.carried
    assert carried.cuts == 2
    assert carried.factor == answer.ground_factor
    alone = carry_evidence(season(cleanups=CLEANUPS[:1]))
    assert alone is not None
    assert carried.factor.p50 > alone.factor.p50
    assert answer.left_g is not None
    assert answer.left_before_g is not None
    assert answer.left_g.mean == pytest.approx(
        carried.factor.mean * answer.left_before_g.mean, rel=0.1
    )
    assert [one.part for one in answer.parts] == ["common", "recovery", "model"]


def test_one_word_in_the_record_switches_the_evidence_off() -> None:
    off = season(cleanups=CLEANUPS, extra={CARRY_KEY: "no"})
    assert carry_evidence(off) is None
    found = reconcile(off)
    assert not found.carried
    assert found.left_g == found.left_before_g
    assert found.ground_factor is not None


def test_mined_cells_are_taken_out_of_what_is_left(reading: Reading) -> None:
    ground = draw_ground(reading)
    assert ground is not None
    whole = (ground.all_gold_mg_m2.mean(axis=0) * ground.area_m2 * ground.sampled).sum()
    found = reconcile(reading).left_before_g
    assert found is not None
    assert found.mean < 0.85 * whole / 1000.0


def test_a_cut_is_as_large_as_it_was_drawn(reading: Reading) -> None:
    """12 m by 8 m, all of it within the sampled stretch."""
    cut = lay_cuts(reading)[0]
    assert cut.share_m2 is not None
    assert cut.share_m2.sum() == pytest.approx(96.0, rel=0.04)
    assert cut.sampled_share == pytest.approx(1.0, abs=0.04)


def test_a_stretch_is_as_wide_as_its_volume_and_lies_on_the_streak(
    reading: Reading,
) -> None:
    cut, ground = lay_cuts(reading)[1], draw_ground(reading)
    assert cut.share_m2 is not None
    assert ground is not None
    columns = ground.n_m[cut.share_m2.any(axis=0)]
    assert columns.min() < 0.0 < columns.max()
    volume = (ground.pay_m.mean(axis=0) * cut.share_m2).sum()
    assert volume == pytest.approx(20.0, rel=0.25)


def test_every_assumption_has_its_words(answer: ReconcileAnswer) -> None:
    for key in answer.assumptions:
        assert find_assumption(key)[0] is not None, key


def test_the_answer_prints_as_json(answer: ReconcileAnswer) -> None:
    printed = to_json(answer)
    assert printed["cuts"][2]["expected_g"] is None
    assert "grounds" not in printed


def test_without_a_clean_up_nothing_is_carried() -> None:
    bare = season()
    found = reconcile(bare)
    assert found.cuts == ()
    assert found.call_factor is None
    assert found.verdict.startswith("No clean-up is recorded yet")
    assert carry_evidence(bare) is None


def test_ground_without_a_washed_sample_is_refused() -> None:
    empty = season()
    empty.log = Log(ground=empty.log.ground, cleanups=CLEANUPS)
    with pytest.raises(TooLittleError):
        reconcile(empty)


def test_old_workings_in_the_estimate_hold_their_own_grade() -> None:
    """No sample lies in them: they are told as they stand, with a caution."""
    reading = season(cleanups=CLEANUPS[:1])
    old = drawn("worked", "old diggings", box(25, 27, -20, -16))
    reading.log = replace(reading.log, features=(*reading.log.features, old))
    assert any("marked as worked" in one for one in reconcile(reading).cautions)


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("12-25", (12.0, 25.0)),
        ("s 25 to 12,5 m", (12.5, 25.0)),
        ("10..20 ft", (3.048, 6.096)),
        ("Cut 3", None),
        ("5-5", None),
        (None, None),
    ],
)
def test_distances_along_the_valley_are_read(
    text: str | None, ends: tuple[float, float] | None
) -> None:
    found = read_stretch(text)
    assert found == (pytest.approx(ends) if ends else None)
