"""Grains as evidence of distance: shapes, stages, contradictions, trends, two kinds."""

import numpy as np
import pytest

from pennyweight.upstream.grainevidence import (
    DISTANCE_WORDS,
    TYPICAL,
    class_likelihood,
    distance_log_likelihood,
    distance_spread,
    judge_grains,
    make_features,
    read_grain,
    rising_chance,
    trend_log_likelihood,
)
from pennyweight.upstream.grainshape import (
    attached_class,
    cailleux_flatness,
    corey_shape,
    rim_class,
    roundness_of,
)
from pennyweight.upstream.populations import part_populations


def grains(count, axes, roundness, rim=None, attached=None):
    row = read_grain(axes, roundness, rim, attached=attached)
    return make_features([row] * count)


@pytest.mark.parametrize(
    ("axes", "flatness", "corey"),
    [
        ((1, 1, 1), 1.0, 1.0),
        ((1.2, 0.8, 0.3), 3.33333, 0.3062),
        ((2, 1.5, 0.1), 17.5, 0.0577),
    ],
)
def test_flatness_and_shape_of_known_grains(axes, flatness, corey):
    assert cailleux_flatness(*axes) == pytest.approx(flatness, rel=1e-5)
    assert corey_shape(*axes) == pytest.approx(corey, abs=1e-4)


def test_flatness_times_corey_is_never_below_one():
    rng = np.random.default_rng(4)
    axes = np.sort(rng.uniform(0.1, 5.0, (3, 200)), axis=0)[::-1]
    assert (cailleux_flatness(*axes) * corey_shape(*axes)).min() >= 1.0 - 1e-12


def test_words_and_numbers_of_roundness_are_read():
    assert roundness_of("Well-rounded") == 0.85
    assert roundness_of("0,4") == 0.4
    assert np.isnan(roundness_of("blue"))
    assert np.isnan(roundness_of("7"))
    assert np.isnan(roundness_of(None))


def test_rims_and_attached_rock_are_classed():
    assert [rim_class(one) for one in ("none", "thin", "compact", "", None)] == [
        0,
        1,
        2,
        -1,
        -1,
    ]
    assert [attached_class(one) for one in ("quartz", "none", "")] == [0, 1, -1]


def test_classes_of_every_feature_share_out_to_one():
    for feature in TYPICAL:
        table = class_likelihood(feature)
        assert table.sum(axis=1) == pytest.approx(np.ones(4))
        # Wide overlap: no class is more than four times as likely near as far.
        assert (table.max(axis=0) / table.min(axis=0)).max() < 4.0


def test_coarse_angular_grains_with_quartz_speak_for_near():
    word = judge_grains(grains(8, (1.5, 1.2, 0.9), "angular", "none", "quartz"))
    assert DISTANCE_WORDS[int(np.argmax(word.chance))] == "within 50 m"
    assert word.contrary == ()
    assert max(word.chance) < 0.9


def test_fine_rounded_flat_grains_with_compact_rims_speak_for_far():
    word = judge_grains(grains(8, (0.1, 0.09, 0.02), "well rounded", "compact", "none"))
    near, far = word.chance[0], word.chance[2] + word.chance[3]
    assert far > 0.6
    assert near < 0.2


def test_a_coarse_but_worn_grain_contradicts_itself():
    word = judge_grains(grains(6, (2.0, 1.8, 1.6), "well rounded"))
    assert ("size", "roundness") in word.contrary


def test_a_hundred_alike_grains_say_hardly_more_than_ten():
    ten = judge_grains(grains(10, (1.5, 1.2, 0.9), "angular"))
    hundred = judge_grains(grains(100, (1.5, 1.2, 0.9), "angular"))
    assert hundred.chance[0] == pytest.approx(ten.chance[0], abs=0.05)


def test_no_grain_says_nothing():
    assert judge_grains(make_features([])) is None
    assert judge_grains(grains(3, (None, None, None), None)) is None


def test_equal_chances_put_the_median_between_the_classes():
    spread = distance_spread((0.25, 0.25, 0.25, 0.25))
    assert spread.p50 == pytest.approx(0.3)
    assert spread.p10 < 0.05
    assert spread.p90 > 5.0


def test_near_looking_grains_make_near_sources_likelier():
    logs = distance_log_likelihood(
        (0.5, 0.3, 0.1, 0.1), np.array([20.0, 9000.0, np.nan])
    )
    assert logs.tolist() == pytest.approx([np.log(2.0), np.log(0.4), 0.0])


def test_grains_that_grow_coarser_upstream_are_seen():
    up = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5])
    assert rising_chance(up, 2.0 * up + [0.01, -0.01, 0.0, 0.02, -0.01, 0.0]) > 0.99
    assert rising_chance(up, [1.0, 1.2, 1.0, 1.2, 1.0, 1.2]) == pytest.approx(
        0.6, abs=0.2
    )
    assert np.isnan(rising_chance(up[:3], up[:3]))


def test_the_source_at_the_head_of_a_trend_explains_it_best():
    place = np.array([100.0, 200.0, 400.0, 800.0, 1600.0])
    size = 2.0 - np.log10(place + 10.0) + np.array([0.02, -0.03, 0.01, 0.0, 0.02])
    ways = np.stack([place, place + 5000.0, np.full(5, np.nan)])
    logs = trend_log_likelihood(size, ways)
    assert logs[0] > logs[1] > logs[2] == 0.0


def test_a_trend_by_hand():
    """Two places, y = +-1: x = log10(10), log10(100), Sxx = 1, Sxy = -2."""
    ways = np.array([[0.0, 0.0, 90.0, 90.0]])
    log = trend_log_likelihood(np.array([1.0, 1.0, -1.0, -1.0]), ways)
    assert log[0] == pytest.approx(-0.5 * np.log(2.0) + 0.5 * 4.0 / 2.0)


def test_two_kinds_of_grains_are_told_apart():
    rng = np.random.default_rng(5)
    mixed = np.concatenate([rng.normal(0.2, 0.05, 15), rng.normal(0.7, 0.05, 15)])
    kinds = part_populations(mixed)
    assert kinds.two_chance > 0.95
    assert kinds.angular == pytest.approx(0.2, abs=0.05)
    assert kinds.worn == pytest.approx(0.7, abs=0.05)
    assert kinds.angular_share == pytest.approx(0.5, abs=0.05)
    assert kinds.belongs_angular[:15].min() > 0.5


def test_one_kind_stays_one():
    rng = np.random.default_rng(6)
    assert part_populations(rng.normal(0.4, 0.12, 40)).two_chance < 0.3
    assert part_populations([0.1, 0.9]) is None
