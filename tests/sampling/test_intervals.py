"""Averages down a hole, and the best mining interval, against brute force."""

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import numpy.testing as npt
import pytest
from made_logs import log_of, panned

from pennyweight.sampling import intervals
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSample


def column(*seen: tuple[float, float, int]) -> tuple[GradedSample, ...]:
    """Return judged samples of one dig: top, bottom, colors of ten pans."""
    samples = [
        panned(f"{k}", colors, top_m=top, bottom_m=bottom, weighed_mg=colors * 0.5)
        for k, (top, bottom, colors) in enumerate(seen)
    ]
    return grade_samples(log_of(*samples)).samples


def found(
    samples: tuple[GradedSample, ...],
    grades: list[float],
    *,
    wash: float = 100.0,
    strip: float = 25.0,
    least: float = 0.30,
) -> intervals.Interval:
    slices = intervals.cut_slices(samples)
    assert slices is not None
    return intervals.best_interval(
        slices, grades, wash_mg_m3=wash, strip_mg_m3=strip, min_pay_m=least
    )


def test_barren_cover_stays_out_of_the_best_interval() -> None:
    """300 over 1 m at 2 m depth: 300 - 100 - 2 x 25 = 150 mg/m2 to the good."""
    samples = column((0.0, 2.0, 0), (2.0, 3.0, 30))
    best = found(samples, [0.0, 300.0])
    assert (best.top_m, best.bottom_m) == (2.0, 3.0)
    assert best.net_mg_m2 == pytest.approx(150.0)
    assert best.grade_mg_m3 == pytest.approx(300.0)


def test_a_poor_layer_between_two_rich_ones_stays_in() -> None:
    samples = column((0.0, 1.0, 30), (1.0, 1.2, 0), (1.2, 2.0, 30))
    best = found(samples, [300.0, 0.0, 300.0])
    assert (best.top_m, best.bottom_m) == (0.0, 2.0)


def test_thin_rich_pay_is_charged_its_least_thickness() -> None:
    """0.1 m at 500: 50 - 0.3 x 100 = 20 mg/m2."""
    best = found(column((0.0, 0.1, 9)), [500.0])
    assert best.net_mg_m2 == pytest.approx(20.0)


def test_where_nothing_pays_the_richest_interval_is_shown() -> None:
    samples = column((0.0, 1.0, 1), (1.0, 2.0, 4))
    best = found(samples, [5.0, 20.0])
    assert (best.top_m, best.bottom_m) == (1.0, 2.0)
    assert best.net_mg_m2 < 0.0


def test_a_depth_nobody_sampled_costs_and_is_credited_with_nothing() -> None:
    samples = column((0.0, 1.0, 30), (2.0, 3.0, 30))
    best = found(samples, [1000.0, 1000.0])
    assert best.accumulation_mg_m2 == pytest.approx(2000.0)
    assert best.bottom_m == 3.0


def test_overlapping_samples_share_their_depths_by_volume() -> None:
    """Both cover 0-1 m with equal volumes per meter: half of each."""
    samples = column((0.0, 1.0, 4), (0.0, 1.0, 8))
    slices = intervals.cut_slices(samples)
    assert slices is not None
    npt.assert_allclose(slices.weights, [[0.5, 0.5]])


def test_no_sample_with_a_depth_is_no_column() -> None:
    samples = grade_samples(log_of(panned("1", 3, top_m=None, bottom_m=None))).samples
    assert intervals.cut_slices(samples) is None


def test_the_best_interval_agrees_with_trying_all() -> None:
    rng = np.random.default_rng(5)
    for _ in range(30):
        edges = np.unique(rng.integers(0, 40, size=8)) / 10.0
        seen = [(a, b, 1) for a, b in pairwise(edges)]
        samples = column(*seen)
        grades = rng.lognormal(4.5, 1.0, size=len(seen))
        best = found(samples, grades.tolist())
        nets = []
        for first, last in combinations(range(len(edges)), 2):
            gold = sum(
                g * (b - a)
                for (a, b, _), g in zip(seen, grades, strict=True)
                if a >= edges[first] and b <= edges[last]
            )
            thick = max(edges[last] - edges[first], 0.3)
            nets.append(gold - 100.0 * thick - 25.0 * edges[first])
        if max(nets) > 0.0:
            assert best.net_mg_m2 == pytest.approx(max(nets))


def test_one_sample_alone_keeps_its_own_posterior() -> None:
    samples = column((0.0, 2.0, 10))
    whole = intervals.sum_spread(samples, [2.0], shared_rel_sd=0.1)
    grade = samples[0].grade_mg_m3
    assert grade is not None
    assert whole == grade.scaled(2.0)


def test_many_samples_together_are_surer_than_one() -> None:
    samples = column(*((k / 10.0, (k + 1) / 10.0, 12) for k in range(10)))
    parts = np.full(10, 0.1)
    whole = intervals.sum_spread(samples, parts, shared_rel_sd=0.05)
    one = samples[0].grade_mg_m3
    assert whole is not None
    assert one is not None
    assert whole.half_width_share() < one.half_width_share()
    expected = sum(s.grade_mg_m3.mean for s in samples if s.grade_mg_m3) / 10.0
    assert whole.mean == pytest.approx(expected)


def test_nothing_with_a_weight_has_no_sum() -> None:
    samples = column((0.0, 2.0, 10))
    assert intervals.sum_spread(samples, [0.0], shared_rel_sd=0.1) is None
    unknown = (replace(samples[0], grade_mg_m3=None),)
    assert intervals.sum_spread(unknown, [1.0], shared_rel_sd=0.1) is None


def test_sample_thicknesses_add_to_the_sampled_thickness() -> None:
    samples = column((0.0, 1.0, 4), (0.5, 1.5, 8))
    slices = intervals.cut_slices(samples)
    assert slices is not None
    parts = intervals.sample_thickness(slices, 0, 2)
    assert parts.sum() == pytest.approx(1.5)


def test_no_run_reaches_a_cutoff_above_all() -> None:
    assert intervals.longest_run_above([1.0, 2.0], [1.0, 1.0], 3.0) is None


def test_thickness_of_nothing_is_named() -> None:
    with pytest.raises(ValueError, match="not all 0"):
        intervals.interval_average([1.0], [0.0])
