"""What a color weighs: geometry, handbook, and the ground's own weighings."""

import math

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.sampling import gold
from pennyweight.sampling.classes import parse_class

DENSITY = 17.5


def test_a_class_starts_from_flakes_spread_over_it() -> None:
    """0.5-1 mm: mean d^3 = (1 - 0.125) / (3 ln 2) = 0.4208; x 1.3744 mg = 0.5784."""
    mean, _ = gold.handbook_mass(parse_class("0.5-1"), DENSITY)
    assert mean == pytest.approx(0.4208 * 1.3744, rel=1e-3)


def test_a_weight_class_starts_inside_its_bounds() -> None:
    """1-4 mg: (4 - 1) / ln 4 = 2.164 mg."""
    mean, cv = gold.handbook_mass(parse_class("No.2"), DENSITY)
    assert mean == pytest.approx(3.0 / math.log(4.0))
    assert 0.2 < cv < 0.6


def test_a_sphere_weighs_six_and_two_thirds_of_its_flake() -> None:
    ratio = gold.sphere_mass_mg(1.0, DENSITY) / gold.flake_mass_mg(1.0, DENSITY)
    assert ratio == pytest.approx(20.0 / 3.0)


def test_without_weights_the_handbook_stands_and_says_so() -> None:
    masses = gold.learn_masses({"0.5-1": 30, "all": 0}, [], DENSITY)
    one = masses.classes[0]
    assert one.mean_mg == pytest.approx(one.prior_mg)
    assert one.colors_weighed == 0
    assert one.rel_sd == pytest.approx(math.hypot(0.50, 0.25))


def test_many_weighed_colors_outweigh_the_handbook() -> None:
    weighed = [gold.WeighedColors({"0.5-1": 40}, 40 * 2.0)] * 25
    one = gold.learn_masses({"0.5-1": 1000}, weighed, DENSITY).classes[0]
    assert one.mean_mg == pytest.approx(2.0, rel=0.02)
    assert one.rel_sd < 0.06
    assert one.colors_weighed == 1000


def test_a_class_never_weighed_moves_with_its_neighbors() -> None:
    """Grains three times the flake in one sieve are thick in the next one too."""
    prior = gold.handbook_mass(parse_class("0.5-1"), DENSITY)[0]
    weighed = [gold.WeighedColors({"0.5-1": 40}, 40 * 3.0 * prior)] * 25
    masses = gold.learn_masses({"0.5-1": 1000, "1-2": 5}, weighed, DENSITY)
    own, neighbor = (math.log(one.mean_mg / one.prior_mg) for one in masses.classes)
    assert 0.6 * own < neighbor < own


def test_whole_weights_are_split_among_classes() -> None:
    """Samples of two classes in changing parts, of 0.1 and 1 mg a color."""
    rng = np.random.default_rng(3)
    counts = rng.poisson([20.0, 5.0], size=(60, 2))
    weighed = [
        gold.WeighedColors({"0.25-0.5": int(a), "0.5-1": int(b)}, 0.1 * a + 1.0 * b)
        for a, b in counts
    ]
    masses = gold.learn_masses({"0.25-0.5": 1200, "0.5-1": 300}, weighed, DENSITY)
    means = [one.mean_mg for one in masses.classes]
    npt.assert_allclose(means, [0.1, 1.0], rtol=0.15)


def test_unsized_colors_start_from_the_grounds_sized_ones() -> None:
    sized = {"1-2": 300}
    masses = gold.learn_masses({**sized, "all": 10}, [], DENSITY)
    assert 1.0 < masses.classes[1].mean_mg < masses.classes[0].mean_mg


def test_a_reading_of_zero_is_below_the_step_not_nothing() -> None:
    """Ten colors that should weigh 5.8 mg, but not even a step of 1 mg."""
    weighed = [gold.WeighedColors({"0.5-1": 10}, 0.0, step_mg=1.0)]
    one = gold.learn_masses({"0.5-1": 10}, weighed, DENSITY).classes[0]
    assert 0.05 < one.mean_mg < 0.75 * one.prior_mg


def test_a_reading_of_zero_where_far_less_was_expected_tells_nothing() -> None:
    weighed = [gold.WeighedColors({"0.5-1": 1}, 0.0, step_mg=10.0)]
    one = gold.learn_masses({"0.5-1": 1}, weighed, DENSITY).classes[0]
    assert one.mean_mg == pytest.approx(one.prior_mg, rel=1e-3)


def test_readings_to_a_coarse_step_are_right_on_average() -> None:
    """Weights of a third of a step and more, half of them read as 0."""
    rng = np.random.default_rng(8)
    weighed = []
    for _ in range(400):
        n = int(rng.poisson(4.0)) + 1
        mg = float(rng.exponential(0.3, size=n).sum())
        weighed.append(
            gold.WeighedColors({"0.5-1": n}, math.floor(mg / 2.0) * 2.0, 2.0)
        )
    lifted = [
        gold.WeighedColors(one.colors, one.mg + 1.0 if one.mg else 0.0, one.step_mg)
        for one in weighed
    ]
    one = gold.learn_masses({"0.5-1": 2000}, lifted, DENSITY).classes[0]
    assert one.mean_mg == pytest.approx(0.3, rel=0.12)


def test_scatter_of_weights_teaches_the_variation() -> None:
    """Two hundred samples of 20 colors that hardly scatter."""
    weighed = [gold.WeighedColors({"all": 20}, 20 * 0.3 * f) for f in (0.9, 1.1)] * 100
    one = gold.learn_masses({"all": 4000}, weighed, DENSITY).classes[0]
    assert one.cv < 0.9


def test_a_mixture_varies_more_than_its_classes() -> None:
    """Half of 1 mg, half of 3 mg, none varying: mean 2, sd 1, cv 0.5."""
    classes = [
        gold.ClassMass("a", 1.0, 0.0, 0.0, 1.0, 0.0),
        gold.ClassMass("b", 3.0, 0.0, 0.0, 3.0, 0.0),
    ]
    assert gold.mixture_mass([1, 1], classes) == pytest.approx((2.0, 0.5))


def test_no_grains_are_no_effective_grains() -> None:
    assert gold.effective_grains([]) == 0.0


def test_an_impossible_fineness_is_named() -> None:
    with pytest.raises(ValueError, match="fineness is 1001"):
        gold.gold_density_g_cm3(1001.0)


def test_unsized_colors_of_a_ground_without_sized_ones_keep_the_handbook() -> None:
    masses = gold.learn_masses({"1-2": 0, "all": 10}, [], DENSITY)
    assert masses.classes[1].mean_mg == pytest.approx(gold.UNSIZED_MG)
