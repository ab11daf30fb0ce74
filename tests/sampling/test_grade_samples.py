"""Grades of samples, from a record to a posterior."""

import math
from dataclasses import replace

import numpy as np
import pytest
from made_logs import GROUND, log_of, panned
from scipy import stats

from pennyweight.records import Grain, Layer, PanTest, Tally, Weighing
from pennyweight.sampling import places
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSample, reliability_of
from pennyweight.spread import Spread

ONE_PERCENT, TEN_PERCENT = 0.01, 0.10


def only(*found: GradedSample) -> GradedSample:
    assert len(found) == 1
    return found[0]


def test_many_weighed_colors_agree_with_hand_arithmetic() -> None:
    """200 mg in 50 l of ground, of which washing finds 0.9: 4444 mg/m3."""
    graded = grade_samples(log_of(panned("1", 400, weighed_mg=200.0)))
    one = only(*graded.samples)
    assert one.bank_m3 == pytest.approx(0.05)
    assert one.grade_mg_m3 is not None
    assert one.grade_mg_m3.p50 == pytest.approx(200.0 / 0.05 / 0.9, rel=TEN_PERCENT)


def test_counted_colors_times_their_mass_agree_with_hand_arithmetic() -> None:
    """90 flakes of 0.5-1 mm, 0.5817 mg each, 0.97 found: 90 x 0.6 / 0.05 mg/m3."""
    graded = grade_samples(log_of(panned("1", 90, size_class="0.5-1")))
    one = only(*graded.samples)
    assert one.grade_mg_m3 is not None
    by_hand = 90 * 0.58176 / 0.97 / 0.05
    assert one.grade_mg_m3.p50 == pytest.approx(by_hand, rel=0.03)


def test_posterior_agrees_with_integration_by_brute_force() -> None:
    """One sample: prior over mean and shape, Poisson count, lognormal factor."""
    graded = grade_samples(log_of(panned("1", 7)))
    one = only(*graded.samples)
    assert one.bank_m3 is not None
    assert one.grade_mg_m3 is not None
    exposure = one.bank_m3 * one.recovery / one.color_mg
    # The mean mass is right on average: its median is lower.
    exposure *= math.exp(one.color_mg_rel_sd**2 / 2.0)
    log_g = np.linspace(-6.0, 16.0, 4001)
    g = np.exp(log_g)
    prior = places.stated_places()
    parts = stats.gamma.pdf(
        g[:, None], prior.shapes, scale=prior.means_mg_m3 / prior.shapes
    )
    density = parts @ prior.weights * g * stats.poisson.pmf(7, g * exposure)
    log_sd = math.hypot(
        math.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd),
        math.hypot(one.bank_rel_sd, one.color_mg_rel_sd),
    )
    factor = stats.norm.pdf(
        np.arange(-2000, 2001) * (log_g[1] - log_g[0]), scale=log_sd
    )
    share = np.cumsum(np.convolve(density, factor, mode="same"))
    expected = np.exp(np.interp([0.1, 0.5, 0.9], share / share[-1], log_g))
    found = [one.grade_mg_m3.p10, one.grade_mg_m3.p50, one.grade_mg_m3.p90]
    assert found == pytest.approx(expected.tolist(), rel=ONE_PERCENT)


def test_no_color_has_an_upper_limit_and_is_not_zero() -> None:
    """Exact limit of one pan in ten: ln 10 colors over what 1 mg/m3 would show."""
    one = only(*grade_samples(log_of(panned("1", 0))).samples)
    assert one.grade_mg_m3 is not None
    assert one.exact_mg_m3 is not None
    assert one.grade_mg_m3.p90 > 0.0
    assert one.exact_mg_m3[0] == 0.0
    assert one.exact_mg_m3[1] == pytest.approx(
        math.log(10.0) * 0.17 / 0.9 / 0.05, rel=ONE_PERCENT
    )
    assert "not zero" in one.why


def test_a_sample_not_washed_is_unknown() -> None:
    one = only(*grade_samples(log_of(panned("1", None))).samples)
    assert one.grade_mg_m3 is None
    assert one.colors is None
    assert one.reliability == "none"
    assert "not zero" in one.why


def test_a_find_without_fair_volume_enters_no_grade() -> None:
    graded = grade_samples(log_of(panned("1", 50, taken="crevice"), panned("2", 1)))
    find, pan = graded.samples
    assert find.grade_mg_m3 is None
    assert not find.counts_for_grade
    alone = only(*grade_samples(log_of(panned("2", 1))).samples)
    assert pan.grade_mg_m3 == alone.grade_mg_m3


def test_a_blank_enters_no_grade() -> None:
    one = only(*grade_samples(log_of(panned("1", 2, blank=True))).samples)
    assert one.grade_mg_m3 is None
    assert not one.counts_for_grade
    assert "blank" in one.why


def test_a_duplicate_is_judged_with_its_first() -> None:
    """12 and 8 colors in twice 50 l are 20 in 100 l."""
    graded = grade_samples(log_of(panned("1", 12), panned("2", 8, duplicate_of="1")))
    first, second = graded.samples
    assert (first.colors, first.bank_m3) == pytest.approx((20.0, 0.1))
    assert (first.own_colors, first.own_bank_m3) == pytest.approx((12.0, 0.05))
    assert first.pooled == ("2",)
    assert first.counts_for_grade
    assert not second.counts_for_grade


def test_more_pans_of_the_same_ground_are_surer() -> None:
    small = only(*grade_samples(log_of(panned("1", 5, weighed_mg=2.5))).samples)
    large = only(
        *grade_samples(log_of(panned("1", 500, pans=1000.0, weighed_mg=250.0))).samples
    )
    assert small.grade_mg_m3 is not None
    assert large.grade_mg_m3 is not None
    assert large.grade_mg_m3.half_width_share() < small.grade_mg_m3.half_width_share()


def test_a_rich_pan_among_barren_ones_is_believed_less() -> None:
    """High values are treated by the ground's own law, never cut in silence."""
    alone = only(*grade_samples(log_of(panned("1", 6))).samples)
    barren = [panned(f"{k}", 0) for k in range(2, 40)]
    among = grade_samples(log_of(panned("1", 6), *barren)).samples[0]
    assert alone.grade_mg_m3 is not None
    assert among.grade_mg_m3 is not None
    assert among.grade_mg_m3.p90 < alone.grade_mg_m3.p90
    assert among.grade_mg_m3.p50 > 0.5 * alone.grade_mg_m3.p50


def test_the_users_own_pan_test_replaces_the_default_recovery() -> None:
    test = PanTest(number=1, size_class="all", put_in=1000, found=600)
    graded = grade_samples(log_of(panned("1", 40), pantests=(test,)))
    assert only(*graded.samples).recovery == pytest.approx(0.603, abs=0.005)
    assert "recovery_share" not in graded.assumptions


def test_a_sample_only_weighed_stands_for_colors() -> None:
    """100 mg in 50 l, 0.9 found: 2222 mg/m3."""
    one = only(*grade_samples(log_of(panned("1", None, weighed_mg=100.0))).samples)
    assert one.colors == pytest.approx(100.0 / 0.17)
    assert one.grade_mg_m3 is not None
    assert one.grade_mg_m3.p50 == pytest.approx(2222.0, rel=TEN_PERCENT)
    assert one.exact_mg_m3 is None


def test_a_weight_below_the_balances_step_is_not_zero() -> None:
    fine = panned("1", None, weighed_mg=0.0, balance_mg=0.1)
    coarse = panned("1", None, weighed_mg=0.0, balance_mg=10.0)
    found = [only(*grade_samples(log_of(one)).samples) for one in (fine, coarse)]
    most = [one.grade_mg_m3.p90 for one in found if one.grade_mg_m3 is not None]
    assert 0.0 < most[0] < most[1]


def test_an_unnamed_balance_is_an_assumption() -> None:
    graded = grade_samples(log_of(panned("1", None, weighed_mg=0.0)))
    assert graded.assumptions["balance_step_mg"] == 1.0


def test_gold_weighed_together_teaches_the_mass_of_a_color() -> None:
    """Three hundred colors that weighed 0.5 mg each."""
    samples = [panned(f"{k}", 30) for k in range(10)]
    together = Weighing(
        weighing="W1", samples=tuple(f"{k}" for k in range(10)), weighed_mg=150.0
    )
    graded = grade_samples(log_of(*samples, weighings=(together,)))
    assert graded.masses[0].mean_mg == pytest.approx(0.5, rel=0.35)
    assert "color_mg" not in graded.assumptions


def test_uncounted_gold_weighed_together_is_shared_by_volume() -> None:
    """90 mg from 50 l and 100 l: 30 and 60 mg."""
    samples = [panned("1", None), panned("2", None, pans=20.0)]
    together = Weighing(weighing="W1", samples=("1", "2"), weighed_mg=90.0)
    graded = grade_samples(log_of(*samples, weighings=(together,)))
    one, two = (sample.colors for sample in graded.samples)
    assert one == pytest.approx(30.0 / 0.17)
    assert two == pytest.approx(60.0 / 0.17)


def test_classes_not_looked_at_are_unknown_not_zero() -> None:
    """Half of the ground's colors are coarse; the second sample looked at the fine."""
    whole = [
        (
            panned(f"w{k}", None)[0],
            [
                Tally(sample=f"w{k}", size_class="0.25-0.5", colors=20),
                Tally(sample=f"w{k}", size_class="0.5-1", colors=20),
            ],
        )
        for k in range(10)
    ]
    fine = panned("fine", 20, size_class="0.25-0.5")
    graded = grade_samples(log_of(*whole, fine))
    full, partly = graded.samples[0], graded.samples[-1]
    assert partly.recovery == pytest.approx(full.recovery / 2.0, rel=0.05)
    assert partly.grade_mg_m3 is not None
    assert full.grade_mg_m3 is not None
    assert partly.grade_mg_m3.p50 == pytest.approx(full.grade_mg_m3.p50, rel=0.1)
    assert "Not looked at: 0.5-1" in partly.why


def test_two_ways_of_sizing_do_not_hide_gold_from_each_other() -> None:
    """Sieves in one sample, weight classes in the other: both saw everything."""
    graded = grade_samples(
        log_of(panned("1", 20, size_class="0.5-1"), panned("2", 20, size_class="No.3"))
    )
    assert all(one.recovery > 0.85 for one in graded.samples)


def test_grains_weighed_one_by_one_teach_their_class() -> None:
    sample = panned("1", 40, size_class="0.5-1")
    grains = tuple(
        Grain(sample="1", number=k, middle_mm=0.7, mg=1.2) for k in range(40)
    )
    graded = grade_samples(log_of(sample, grains=grains))
    assert graded.masses[0].mean_mg == pytest.approx(1.2, rel=0.25)
    assert graded.masses[0].colors_weighed == 40


def test_class_weights_are_not_counted_twice_with_the_whole() -> None:
    sample, _ = panned("1", None, weighed_mg=60.0)
    tallies = [
        Tally(sample="1", size_class="0.5-1", colors=50, mg=40.0),
        Tally(sample="1", size_class="1-2", colors=5),
    ]
    graded = grade_samples(log_of((sample, tallies)))
    by_name = {one.name: one for one in graded.masses}
    assert by_name["0.5-1"].mean_mg == pytest.approx(0.8, rel=0.1)
    assert by_name["0.5-1"].colors_weighed == 50
    assert by_name["1-2"].mean_mg == pytest.approx(4.0, rel=0.3)


def test_all_beside_sized_colors_counts_the_rest() -> None:
    sample, _ = panned("1", None)
    tallies = [
        Tally(sample="1", size_class="0.5-1", colors=3),
        Tally(sample="1", size_class="all", colors=10),
    ]
    assert only(*grade_samples(log_of((sample, tallies))).samples).colors == 10.0


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="sample 1 class all has -2 colors"):
        grade_samples(log_of(panned("1", -2)))


def test_a_tally_without_its_sample_is_a_doubt() -> None:
    log = log_of(panned("1", 3))
    stray = Tally(sample="9", size_class="all", colors=1)
    graded = grade_samples(replace(log, tallies=(*log.tallies, stray)))
    assert any(one.where == "sample 9" for one in graded.findings)


def test_a_pan_never_measured_is_a_doubt() -> None:
    ground = replace(GROUND, pan_volume_m3=None, swell=None)
    graded = grade_samples(log_of(panned("1", 3), ground=ground))
    assert any("never measured" in one.problem for one in graded.findings)
    assert graded.assumptions["swell"] == 0.20
    assert graded.volume_common_rel_sd == pytest.approx(math.hypot(0.15, 0.10))


def test_an_empty_record_has_no_grades() -> None:
    assert grade_samples(log_of()).samples == ()


def test_the_order_of_samples_does_not_matter() -> None:
    samples = [panned(f"{k}", k % 7) for k in range(12)]
    there = grade_samples(log_of(*samples)).samples
    back = grade_samples(log_of(*samples[::-1])).samples[::-1]
    for one, other in zip(there, back, strict=True):
        assert one.grade_mg_m3 is not None
        assert other.grade_mg_m3 is not None
        assert one.grade_mg_m3.p50 == pytest.approx(other.grade_mg_m3.p50, rel=1e-6)


def test_the_same_record_gives_the_same_numbers() -> None:
    log = log_of(*(panned(f"{k}", k) for k in range(5)))
    assert grade_samples(log).samples == grade_samples(log).samples


@pytest.mark.parametrize(
    ("spread", "word"),
    [
        (Spread(80.0, 100.0, 125.0, 100.0), "good"),
        (Spread(60.0, 100.0, 150.0, 100.0), "fair"),
        (Spread(20.0, 100.0, 300.0, 100.0), "poor"),
        (None, "none"),
    ],
)
def test_reliability_goes_by_the_width_of_the_interval(
    spread: Spread | None, word: str
) -> None:
    assert reliability_of(spread) == word


def test_clay_has_its_own_swell_among_the_assumptions() -> None:
    layers = (Layer(dig="A", top_m=0.0, bottom_m=2.0, material="clay"),)
    ground = replace(GROUND, swell=None)
    graded = grade_samples(log_of(panned("1", 5), ground=ground, layers=layers))
    assert graded.assumptions["swell_clay"] == 0.43
    assert only(*graded.samples).bank_m3 == pytest.approx(0.06 / 1.43)


def test_digs_hold_their_samples_top_down() -> None:
    log = log_of(
        panned("low", 1, top_m=1.0, bottom_m=2.0),
        panned("none", 1, top_m=None, bottom_m=None),
        panned("high", 1, top_m=0.0, bottom_m=1.0),
    )
    found = grade_samples(log).by_dig()
    assert [one.sample for one in found["A"]] == ["high", "low", "none"]
