"""Panning recovery from counted grains put in and found again."""

import pytest
from scipy import stats

from pennyweight.records import PanTest
from pennyweight.sampling.classes import parse_class
from pennyweight.sampling.recovery import (
    PRIOR_GRAINS,
    default_recovery,
    learn_recoveries,
    recovery_of,
)


def panned(size_class: str, put_in: int, found: int) -> PanTest:
    return PanTest(number=1, size_class=size_class, put_in=put_in, found=found)


def test_without_a_test_the_named_default_holds() -> None:
    assert recovery_of("0.5-1", []).mean == pytest.approx(0.97)
    assert recovery_of("0.5-1", []).tested == 0.0


def test_a_test_moves_the_default_by_its_grains() -> None:
    """(0.93 x 12 + 40) / (12 + 50) = 0.8252, worked by hand."""
    found = recovery_of("0.25-0.5", [panned("0.25-0.5", 50, 40)])
    assert found.mean == pytest.approx(51.16 / 62.0)


def test_spread_is_that_of_a_beta_distribution() -> None:
    found = recovery_of("all", [panned("all", 20, 15)])
    beta = stats.beta(0.9 * PRIOR_GRAINS + 15, 0.1 * PRIOR_GRAINS + 5)
    assert found.mean == pytest.approx(beta.mean())
    assert found.rel_sd == pytest.approx(beta.std() / beta.mean())


def test_a_neighboring_test_speaks_with_its_share() -> None:
    """1-2 mm covers half of 1-4 mm."""
    assert recovery_of("1-4", [panned("1-2", 10, 0)]).tested == pytest.approx(5.0)


def test_unsized_grains_speak_for_every_class() -> None:
    found = learn_recoveries(["<0.1", "No.3"], [panned("all", 10, 5)])
    assert {one.tested for one in found.values()} == {10.0}


def test_fine_gold_is_lost_more_readily() -> None:
    names = ["<0.1", "0.1-0.2", "0.25-0.5", "1-2"]
    shares = [default_recovery(parse_class(name)) for name in names]
    assert shares == sorted(shares)


def test_more_found_than_put_in_is_refused() -> None:
    with pytest.raises(ValueError, match="found 11 of 10"):
        recovery_of("all", [panned("all", 10, 11)])
