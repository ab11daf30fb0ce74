"""Clean-ups carried into worth: said, switched off, and mined cuts barred."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.carried import carry_minable, carry_terms, say_carried
from pennyweight.answers.mineground import minable_of, terms_of
from pennyweight.answers.reading import Reading
from pennyweight.answers.reconcile import CARRY_KEY, carry_evidence
from pennyweight.answers.worth import weigh_worth
from pennyweight.records import Cleanup
from tests.answers.made_season import season

POOR = (
    Cleanup(cleanup="C1", area="Lower cut", bank_volume_m3=52.0, weighed_mg=9000.0),
)


@pytest.fixture(scope="module")
def poor() -> Reading:
    return season(cleanups=POOR)


def test_a_poor_clean_up_lowers_gold_and_recovery_in_worth(poor: Reading) -> None:
    carried = carry_evidence(poor)
    assert carried is not None
    assert carried.factor.p50 < 0.9
    terms, bare = terms_of(poor), terms_of(season())
    assert terms.recovery < bare.recovery
    assert terms.assumptions["carried_cleanups"] == round(carried.factor.p50, 2)


def test_draws_keep_their_order_and_take_the_factor(poor: Reading) -> None:
    whole = minable_of(season(), edge_m=2.0, min_pay_m=0.3)
    mine = minable_of(poor, edge_m=2.0, min_pay_m=0.3)
    carried = carry_evidence(poor)
    assert whole is not None
    assert mine is not None
    assert carried is not None
    share = mine.blocks.gold_mg.sum(axis=(1, 2, 3)) / whole.blocks.gold_mg.sum(
        axis=(1, 2, 3)
    )
    assert np.allclose(share, carried.ground_factor)


def test_the_mined_cut_is_not_mined_again(poor: Reading) -> None:
    whole = minable_of(season(), edge_m=2.0, min_pay_m=0.3)
    mine = minable_of(poor, edge_m=2.0, min_pay_m=0.3)
    assert whole is not None
    assert mine is not None
    barred = whole.blocks.allowed & ~mine.blocks.allowed
    area = float(whole.blocks.area_m2[barred].sum())
    assert area == pytest.approx(96.0, rel=0.25)


def test_worth_says_that_clean_ups_are_in_it(poor: Reading) -> None:
    found = weigh_worth(poor)
    assert any("1\u00a0clean-up carried" in one for one in found.cautions)
    assert "carried_cleanups" in found.assumptions


def test_switched_off_only_the_mined_cut_is_left_out() -> None:
    off = season(cleanups=POOR, extra={CARRY_KEY: "no"})
    assert say_carried(off) == ()
    terms = terms_of(season())
    assert carry_terms(off, terms) is terms
    whole = minable_of(season(), edge_m=2.0, min_pay_m=0.3)
    left = carry_minable(off, whole)
    assert whole is not None
    assert left is not None
    assert np.array_equal(left.blocks.gold_mg, whole.blocks.gold_mg)
    assert left.blocks.allowed.sum() < whole.blocks.allowed.sum()


def test_without_clean_ups_nothing_is_touched() -> None:
    bare = season()
    whole = minable_of(bare, edge_m=2.0, min_pay_m=0.3)
    assert carry_minable(bare, whole) is whole
    assert carry_minable(bare, None) is None
    by_stretch = season(cleanups=(replace(POOR[0], area="10-22", weighed_mg=None),))
    assert carry_minable(by_stretch, whole) == whole
