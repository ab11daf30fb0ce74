"""Plant templates and the sizes of the gold that they keep."""

from itertools import pairwise

import numpy.testing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.records import Tally
from pennyweight.worth.plants import (
    DEFAULT_PLANT,
    PLANTS,
    choose_plant,
    class_span_mm,
    size_shares,
)


def tally(size_class: str, colors: int, mg: float | None = None) -> Tally:
    return Tally(sample="S", size_class=size_class, colors=colors, mg=mg)


@pytest.mark.parametrize(
    ("size_class", "span"),
    [
        ("0.25-0.5", (0.25, 0.5)),
        ("0-0.4", (0.1, 0.4)),
        ("<0.25", (0.125, 0.25)),
        (">2", (2.0, 4.0)),
        ("20/40 mesh", (0.425, 0.85)),
        ("No.2", (0.9, 1.44)),
        ("40/40 mesh", None),
        ("0.5-0.25", None),
        ("all", None),
    ],
)
def test_a_class_spans_its_sizes(
    size_class: str, span: tuple[float, float] | None
) -> None:
    assert class_span_mm(size_class) == span


def test_shares_agree_with_hand_arithmetic() -> None:
    """Weights 1 mg above 1 mm and 3 mg within 0.3-1 mm: 0, 0, 3/4, 1/4."""
    shares = size_shares([tally("1-2", 1, 1.0), tally("0.3-1", 9, 3.0)])
    assert shares is not None
    npt.assert_allclose(shares, [0.0, 0.0, 0.75, 0.25])


def test_a_class_across_a_limit_is_shared_by_the_logarithm_of_size() -> None:
    """0.5-2 mm lies half below and half above 1 mm."""
    shares = size_shares([tally("0.5-2", 4)])
    assert shares is not None
    npt.assert_allclose(shares, [0.0, 0.0, 0.5, 0.5])


def test_unsized_colors_tell_nothing() -> None:
    assert size_shares([tally("all", 12), tally("0.3-1", 0)]) is None


@given(counts=st.lists(st.integers(0, 500), min_size=4, max_size=4))
def test_shares_add_up_and_recovery_stays_a_share(counts: list[int]) -> None:
    classes = ("<0.15", "0.15-0.5", "0.5-1", ">1")
    tallies = [tally(name, n) for name, n in zip(classes, counts, strict=True)]
    shares = size_shares(tallies)
    if shares is None:
        assert sum(counts) == 0
    else:
        npt.assert_allclose(sum(shares), 1.0)
        assert all(0.0 < plant.recovery(shares) < 1.0 for plant in PLANTS)


def test_recovery_agrees_with_hand_arithmetic() -> None:
    """Half at 0.88 and half at 0.96 is 0.92."""
    assert DEFAULT_PLANT.recovery((0.0, 0.0, 0.5, 0.5)) == pytest.approx(0.92)


def test_every_plant_keeps_coarse_gold_better_than_fine() -> None:
    for plant in PLANTS:
        assert list(plant.recovery_by_size) == sorted(plant.recovery_by_size)


def test_a_plant_is_chosen_by_the_words_of_its_name() -> None:
    assert choose_plant("Our Hand Sluice No. 2").name == "hand sluice"
    assert choose_plant("dredge") is DEFAULT_PLANT
    assert choose_plant(None) is DEFAULT_PLANT


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("My Hand Sluice", "hand sluice"),
        ("our trommel", "small trommel and excavator"),
        ("rocker box", "rocker"),
        ("a big excavator and trommel", "excavator and trommel"),
        ("sluice", DEFAULT_PLANT.name),
        ("", DEFAULT_PLANT.name),
    ],
)
def test_a_plant_is_known_by_its_words(typed: str, found: str) -> None:
    assert choose_plant(typed).name == found


def test_larger_plants_wash_more_burn_more_and_move_larger_stones() -> None:
    for less, more in pairwise(PLANTS):
        assert more.m3_per_hour > less.m3_per_hour
        assert more.fuel_l_per_hour >= less.fuel_l_per_hour
        assert more.moves_stone_m >= less.moves_stone_m
        assert more.largest_stone_m < more.moves_stone_m
