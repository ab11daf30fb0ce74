"""Ground of known truth, made by the studies' generator: few, small, seeds unseen."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pennyweight.answers.answer import BookName
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import trace_streaks

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "studies"))

from simulated_ground import STANDARD, dig_ground, make_truth
from streak_scores import (
    Score,
    claimed_paths,
    score_paths,
    score_points,
)

CUTOFF_MG_M3 = 100.0
SEEDS = (71, 72, 73, 74)


@pytest.fixture(scope="module")
def score() -> Score:
    kind = replace(STANDARD, n_lines=7, floor_m=24.0)
    found = Score()
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        truth = make_truth(kind, rng)
        log = dig_ground(truth, rng)
        book = BookName(name="invented", id="b1")
        reading = Reading(book=book, revision="1", log=log, made_at="", seed=seed)
        answer = trace_streaks(reading, cutoff_mg_m3=CUTOFF_MG_M3)
        score_paths(found, claimed_paths(answer), truth)
        score_points(found, answer, truth)
    return found


def test_most_of_the_true_streaks_are_found(score: Score) -> None:
    """A loose bound: four small grounds say little; the study says more."""
    assert score.found_m > 0.8 * score.true_m


def test_most_of_what_is_told_is_true(score: Score) -> None:
    assert score.right_m > 0.85 * score.claimed_m


def test_eighty_percent_intervals_hold_about_that_share(score: Score) -> None:
    assert 0.55 < np.mean(score.place_held) < 0.97
    assert 0.5 < np.mean(score.width_held) < 0.97


def test_barren_ground_has_no_streak() -> None:
    kind = replace(STANDARD, n_lines=6, floor_m=20.0, streaks=(0, 0))
    rng = np.random.default_rng(75)
    log = dig_ground(make_truth(kind, rng), rng)
    book = BookName(name="invented", id="b1")
    answer = trace_streaks(
        Reading(book=book, revision="1", log=log, made_at=""),
        cutoff_mg_m3=CUTOFF_MG_M3,
    )
    assert all(streak.probability < 0.5 for streak in answer.streaks)
    assert answer.probability_of_any < 0.3
