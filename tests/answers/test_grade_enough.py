"""How many pans are enough, by hand and against what a ground holds."""

import math

import pytest

from pennyweight.answers.enough import judge_enough
from pennyweight.records import Dig, Ground, Log, Sample, Tally
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSamples

GROUND = Ground(name="made", pan_volume_m3=0.006, swell=0.2)


def digs_of(*colors: int) -> GradedSamples:
    """Return one sample of ten pans in each dig, colors unsized."""
    samples = tuple(
        Sample(sample=f"{k}", dig=f"D{k}", top_m=0.0, bottom_m=1.0, pans=10.0)
        for k in range(len(colors))
    )
    tallies = tuple(
        Tally(sample=f"{k}", size_class="all", colors=n) for k, n in enumerate(colors)
    )
    return grade_samples(Log(ground=GROUND, samples=samples, tallies=tallies))


def test_a_pan_at_the_cutoff_agrees_with_hand_arithmetic() -> None:
    """100 mg/m3 x 0.005 m3 x 0.9 / 0.17 mg = 2.647 colors a pan."""
    found = judge_enough(digs_of(5), (), 100.0)
    assert found is not None
    assert found.pan_bank_m3 == pytest.approx(0.005)
    assert found.colors_per_pan == pytest.approx(2.647, abs=5e-4)
    assert found.chance_of_blank_pan == pytest.approx(math.exp(-2.647), rel=1e-3)
    assert found.pans_for_20_colors == pytest.approx(20.0 / 2.647, rel=1e-3)
    assert found.blank_pans_to_clear == pytest.approx(math.log(20.0) / 2.647, rel=1e-3)


def test_uneven_ground_asks_for_digs_before_pans() -> None:
    uneven = judge_enough(digs_of(2, 90, 5, 160, 1, 40), (), 100.0)
    even = judge_enough(digs_of(50, 52, 47, 55, 44, 50), (), 100.0)
    assert uneven is not None
    assert even is not None
    assert uneven.next_step is not None
    assert even.next_step is not None
    assert uneven.next_step.best_pans < even.next_step.best_pans
    assert uneven.next_step.rel_sd > even.next_step.rel_sd


def test_two_digs_tell_nothing_of_the_next_step() -> None:
    found = judge_enough(digs_of(5, 9), (Dig(dig="D0", bottom_m=1.2),), 100.0)
    assert found is not None
    assert found.next_step is None


def test_deep_digs_ask_for_more_pans_in_each() -> None:
    graded = digs_of(2, 90, 5, 160)
    shallow, deep = (
        judge_enough(graded, (Dig(dig="D0", bottom_m=depth),), 100.0)
        for depth in (0.5, 2.0)
    )
    assert shallow is not None
    assert deep is not None
    assert shallow.next_step is not None
    assert deep.next_step is not None
    assert deep.next_step.best_pans > shallow.next_step.best_pans


def test_before_anything_is_washed_there_is_nothing_to_judge() -> None:
    assert judge_enough(grade_samples(Log(ground=GROUND)), (), 100.0) is None


def test_where_washing_costs_nothing_any_gravel_pays() -> None:
    assert judge_enough(digs_of(5), (), 0.0) is None
