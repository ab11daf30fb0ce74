"""Nuggets: kept apart from ordinary gold, with a rate over all that was washed."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from pennyweight.records import Grain, Ground, Log, Sample, Tally, Weighing
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSamples
from pennyweight.sampling.intervals import sum_spread
from pennyweight.sampling.nuggetgold import weigh_nuggets
from pennyweight.sampling.nuggets import Nugget, find_coarse, part_nuggets

GROUND = Ground(name="made ground", pan_volume_m3=0.006, swell=0.20)


def pan(name: str, nugget_mg: float | None = None, **fine: int) -> list[Tally]:
    """Return the tallies of one pan, its nugget weighed."""
    whole = sum(fine.values()) + (nugget_mg is not None)
    rows = [
        Tally(sample=name, size_class=size.replace("_", "-"), colors=n)
        for size, n in (
            ("0.25-0.5", fine.get("fine", 0)),
            ("0.5-1", fine.get("mid", 0)),
        )
    ]
    if nugget_mg is not None:
        rows.append(Tally(sample=name, size_class=">2", colors=1, mg=nugget_mg))
    return [*rows, Tally(sample=name, size_class="all", colors=whole)]


def ground(nugget_mg: float | None = None, **more: Any) -> Log:
    """Return six pans; the last one may hold a nugget."""
    tallies = [
        *pan("P1", fine=2),
        *pan("P2", fine=5, mid=1),
        *pan("P3"),
        *pan("P4", fine=15, mid=6),
        *pan("P5", fine=4),
        *pan("P6", nugget_mg, fine=18, mid=9),
    ]
    samples = tuple(
        Sample(sample=f"P{k}", dig=f"D{k}", top_m=0.0, bottom_m=1.0, pans=1.0)
        for k in range(1, 7)
    )
    return Log(ground=GROUND, samples=samples, tallies=tuple(tallies), **more)


def expected(graded: GradedSamples) -> list[float]:
    """Return the expected grade of every sample [mg/m3]."""
    return [one.grade_mg_m3.mean for one in graded.samples if one.grade_mg_m3]


def test_a_nugget_leaves_every_other_pan_as_it_was() -> None:
    without, with_it = (expected(grade_samples(ground(mg))) for mg in (None, 400.0))
    assert with_it[:5] == pytest.approx(without[:5], rel=1e-9)


@pytest.mark.parametrize("mg", [30.0, 400.0, 30_000.0])
def test_a_nugget_never_lowers_its_own_sample(mg: float) -> None:
    before = grade_samples(ground()).samples[5].grade_mg_m3
    after = grade_samples(ground(mg)).samples[5].grade_mg_m3
    assert before is not None
    assert after is not None
    for name in ("p10", "p50", "p90", "mean"):
        assert getattr(after, name) > getattr(before, name)


def test_its_own_sample_is_less_sure_than_without() -> None:
    before, after = (grade_samples(ground(mg)).samples[5] for mg in (None, 400.0))
    assert after.own_rel_sd > before.own_rel_sd


def test_a_ground_without_nuggets_is_left_alone() -> None:
    log = ground()
    assert part_nuggets(log).log is log
    assert grade_samples(log).nuggets is None


def test_no_color_is_lost_and_none_counted_twice() -> None:
    graded = grade_samples(ground(400.0))
    colors = sum(one.own_colors or 0.0 for one in graded.samples)
    assert colors == 2 + 6 + 0 + 21 + 4 + 28
    assert sum(one.nuggets for one in graded.samples) == 1
    assert sum(one.nugget_mg for one in graded.samples) == 400.0


def test_ordinary_colors_weigh_what_they_did() -> None:
    masses = {one.name: one.mean_mg for one in grade_samples(ground(400.0)).masses}
    before = {one.name: one.mean_mg for one in grade_samples(ground()).masses}
    assert masses == pytest.approx(before)


def test_the_sample_says_that_its_nugget_is_kept_apart() -> None:
    assert "One nugget of 400 mg" in grade_samples(ground(400.0)).samples[5].why


def test_the_handbooks_cutting_stands_beside() -> None:
    """One doubt names the plain mean, without the highest, and lowered to the next."""
    said = [
        one.problem
        for one in grade_samples(ground(400.0)).findings
        if one.where == "sample P6"
    ]
    assert "leave the highest out" in said[0]
    assert "Here nothing is cut" in said[0]


def test_well_counted_coarse_gold_is_ordinary() -> None:
    masses = {"0.25-0.5": 0.07, ">2": 50.0}
    assert find_coarse({"0.25-0.5": 900, ">2": 19}, masses) == {">2"}
    assert find_coarse({"0.25-0.5": 900, ">2": 20}, masses) == frozenset()


def test_a_heavy_class_alone_has_nothing_to_stand_out_of() -> None:
    assert find_coarse({">2": 3}, {">2": 50.0}) == frozenset()


def test_a_grain_weighed_by_itself_is_a_nugget_among_unsized_colors() -> None:
    tallies = tuple(
        Tally(sample=f"P{k}", size_class="all", colors=n) for k, n in ((1, 12), (2, 9))
    )
    samples = tuple(Sample(sample=f"P{k}", dig="D", pans=1.0) for k in (1, 2))
    grains = (Grain(sample="P2", number=1, mg=350.0),)
    log = Log(ground=GROUND, samples=samples, tallies=tallies, grains=grains)
    parted = part_nuggets(log)
    assert parted.nuggets == (Nugget("P2", 1, 350.0, True),)
    assert [one.colors for one in parted.log.tallies] == [12, 8]
    assert parted.log.grains == ()


def test_the_weight_of_a_sample_keeps_what_the_nugget_leaves() -> None:
    log = ground(400.0)
    weighed = (*log.samples[:5], replace(log.samples[5], weighed_mg=420.0))
    parted = part_nuggets(replace(log, samples=weighed))
    assert parted.log.samples[5].weighed_mg == pytest.approx(20.0)


def test_a_rest_too_small_to_be_read_beside_a_nugget_is_unknown() -> None:
    log = ground(400.0)
    weighed = (*log.samples[:5], replace(log.samples[5], weighed_mg=401.0))
    assert part_nuggets(replace(log, samples=weighed)).log.samples[5].weighed_mg is None


def test_a_weight_of_several_samples_loses_the_nugget_too() -> None:
    together = Weighing(
        weighing="W1", samples=("P4", "P6"), weighed_mg=412.0, colors=49
    )
    parted = part_nuggets(ground(400.0, weighings=(together,)))
    assert parted.log.weighings[0].weighed_mg == pytest.approx(12.0)
    assert parted.log.weighings[0].colors == 48


def test_an_unweighed_nugget_has_the_mass_of_its_class() -> None:
    log = ground(400.0)
    bare = tuple(replace(one, mg=None) for one in log.tallies)
    found = part_nuggets(replace(log, tallies=bare)).nuggets[0]
    assert not found.weighed
    assert 10.0 < found.mg < 200.0


def test_a_sample_with_nothing_but_a_nugget_is_unknown_not_zero() -> None:
    log = ground()
    kept = [one for one in log.tallies if one.sample != "P3"]
    only = (*kept, Tally(sample="P3", size_class=">2", colors=1, mg=500.0))
    one = grade_samples(replace(log, tallies=only)).samples[2]
    assert one.grade_mg_m3 is None
    assert "unknown, not zero" in one.why


def test_the_rate_by_hand() -> None:
    """Great volume outweighs what is supposed: 19 nuggets in 1000 m3 are 0.0195."""
    found = weigh_nuggets((Nugget("A", 19, 19 * 100.0, True),), 1000.0, 100.0)
    assert found.per_m3.mean == pytest.approx(19.5 / 1000.0, rel=0.03)
    assert found.grade_mg_m3.mean == pytest.approx(1.95, rel=0.03)


def test_one_nugget_raises_the_ground_a_little_and_its_doubt_a_lot() -> None:
    found = weigh_nuggets((Nugget("A", 1, 400.0, True),), 0.055, 500.0)
    assert found.grade_mg_m3.mean < 500.0
    assert found.grade_mg_m3.p90 / found.grade_mg_m3.p10 > 10.0


def test_its_own_place_holds_more_than_the_ground() -> None:
    found = weigh_nuggets((Nugget("A", 1, 400.0, True),), 0.055, 500.0)
    assert found.at_sample(1, 0.005).mean > found.grade_mg_m3.mean


def test_more_washed_without_a_nugget_lowers_the_rate() -> None:
    nugget = (Nugget("A", 1, 400.0, True),)
    means = [weigh_nuggets(nugget, v, 500.0).per_m3.mean for v in (0.05, 0.5, 5.0)]
    assert means == sorted(means, reverse=True)


def test_draws_are_those_of_the_law() -> None:
    found = weigh_nuggets((Nugget("A", 3, 900.0, True),), 0.5, 400.0)
    draws = found.draw_mg_m3(40_000, np.random.default_rng(5))
    assert np.median(draws) == pytest.approx(found.grade_mg_m3.p50, rel=0.03)
    assert draws.mean() == pytest.approx(found.grade_mg_m3.mean, rel=0.05)


def test_nothing_to_weigh_is_refused() -> None:
    with pytest.raises(ValueError, match=r"0 nuggets in 1\.0 m3"):
        weigh_nuggets((), 1.0, 100.0)


def test_four_intervals_in_five_hold_the_nuggets_of_made_grounds() -> None:
    """Grounds whose nuggets hold 3 to 60 % of the ordinary gold, any seen at all."""
    rng = np.random.default_rng(11)
    held, tried = 0, 0
    while tried < 300:
        ordinary = float(np.exp(rng.normal(6.0, 0.7)))
        share = math.exp(rng.uniform(math.log(0.03), math.log(0.60)))
        mass = float(np.exp(rng.normal(5.5, 0.5)))
        volume = float(np.exp(rng.uniform(-1.0, 2.5)))
        number = int(rng.poisson(share * ordinary / mass * volume))
        if not 0 < number < 20:
            continue
        grains = mass * rng.lognormal(-0.18, 0.6, number)
        nugget = Nugget("A", number, float(grains.sum()), True)
        found = weigh_nuggets((nugget,), volume, ordinary).grade_mg_m3
        held += found.p10 <= share * ordinary <= found.p90
        tried += 1
    assert 0.72 <= held / tried <= 0.92


#: Made ground: mean masses of its two fine classes as the handbook has them [mg], and
#: how its colors divide among them.
MADE_MG, MADE_SHARE = (0.0659, 0.434), (0.75, 0.25)
BANK_M3 = 0.05


def make_pans(rng: np.random.Generator, rate_m3: float, nugget_m3: float) -> Log:
    """Return 40 samples of 50 l of an uneven ground with rare nuggets of 300 mg."""
    tallies: list[Tally] = []
    for k in range(40):
        place = rng.gamma(0.8, 1.0 / 0.8)
        fine, mid = rng.poisson(np.array(MADE_SHARE) * rate_m3 * place * BANK_M3)
        number = int(rng.poisson(nugget_m3 * place * BANK_M3))
        seen = {"0.25-0.5": int(fine), "0.5-1": int(mid), ">2": number}
        for name, n in {**seen, "all": sum(seen.values())}.items():
            mg = None
            if name == ">2":
                mg = float(300.0 * rng.lognormal(-0.125, 0.5, n).sum())
            tallies.append(
                Tally(sample=f"P{k}", size_class=name, colors=n, mg=mg or None)
            )
    samples = tuple(
        Sample(sample=f"P{k}", dig=f"D{k}", top_m=0.0, bottom_m=1.0, pans=10.0)
        for k in range(40)
    )
    return Log(ground=GROUND, samples=samples, tallies=tuple(tallies))


def test_four_intervals_in_five_hold_all_gold_of_made_grounds_with_nuggets() -> None:
    """Ordinary gold and nuggets together, where any was found; 40 small grounds."""
    rng = np.random.default_rng(17)
    held, tried = 0, 0
    while tried < 40:
        rate = float(np.exp(rng.normal(6.5, 0.5)))
        ordinary = rate * float(np.dot(MADE_SHARE, MADE_MG))
        share = math.exp(rng.uniform(math.log(0.2), math.log(2.0)))
        log = make_pans(rng, rate, share * ordinary / 300.0)
        if not part_nuggets(log).nuggets:
            continue
        graded = grade_samples(part_nuggets(log).log)
        shared = math.hypot(graded.volume_common_rel_sd, graded.mass_common_rel_sd)
        fine = sum_spread(graded.samples, [1.0 / 40] * 40, shared_rel_sd=shared)
        nuggets = grade_samples(log).nuggets
        assert fine is not None
        assert nuggets is not None
        low = fine.p10 + nuggets.grade_mg_m3.p10
        high = fine.p90 + nuggets.grade_mg_m3.p90
        held += low <= ordinary * (1.0 + share) <= high
        tried += 1
    assert held / tried >= 0.70
