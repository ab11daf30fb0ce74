"""Which gold travels with which gravel."""

import math

import numpy as np
import pytest

from pennyweight.highwater import equivalents
from pennyweight.highwater.mobility import moving_shear_pa
from pennyweight.sampling.settling import ferguson_church_speed, viscosity_m2_s

ONE_PERCENT = 0.01


def test_gravel_of_a_speed_is_the_way_back() -> None:
    sizes = np.array([0.2e-3, 2e-3, 30e-3])
    speeds = ferguson_church_speed(sizes, 1.65, viscosity_m2_s(10.0))
    found = equivalents.gravel_of_speed_m(speeds)
    assert found.tolist() == pytest.approx(sizes.tolist(), rel=1e-4)


def test_gold_sinks_like_much_larger_quartz() -> None:
    """Ferguson and Church (2004): between 3.3 and 11.1 times, viscous to inertial.

    For equant gold of 19.3 against 2.65 g/cm3; gold of 17.6 a little less, and
    Dietrich's natural shapes sink slower than spheres.
    """
    speed = equivalents.gold_settling_m_s([0.1e-3, 5e-3], 0.7)
    ratio = equivalents.gravel_of_speed_m(speed) / np.array([0.1e-3, 5e-3])
    assert 2.5 < ratio[0] < 3.4
    assert 7.0 < ratio[1] < 11.1


def test_flakes_sink_slower_at_the_same_sieve() -> None:
    nugget, flat, flake = (
        float(equivalents.gold_settling_m_s(0.5e-3, shape))
        for shape in equivalents.SHAPES.values()
    )
    assert nugget > flat > flake


def test_a_flake_starts_with_less_shear_in_the_open() -> None:
    """Thickness 0.2 against 0.7 of the width: about 3.5 times less at coarse sizes."""
    nugget = float(equivalents.gold_open_shear_pa(5e-3, 0.7))
    flake = float(equivalents.gold_open_shear_pa(5e-3, 0.2))
    assert nugget / flake == pytest.approx(3.5, rel=0.05)


def test_open_shear_by_hand() -> None:
    """10 mm, very coarse: 0.055 x 16.6 x 9810 x 7 mm = 62.7 Pa, some less at D* 400."""
    found = float(equivalents.gold_open_shear_pa(10e-3, 0.7))
    assert found == pytest.approx(0.055 * 16.6 * 9810.0 * 7e-3, rel=0.02)


def test_gravel_of_a_shear_is_the_way_back() -> None:
    """Soulsby (1997) at 100 mm: 0.0551 x 1650 x 9.81 x 0.1 = 89.2 Pa."""
    found = float(equivalents.gravel_of_shear_m(0.0551 * 1650.0 * 9.81 * 0.1))
    assert found == pytest.approx(0.1, rel=ONE_PERCENT)


def test_hidden_gold_needs_ten_times_the_shear_of_hidden_sand() -> None:
    """Same height of 0.7 mm in a bed of 50 mm: R 16.6 against 1.65."""
    gold = float(equivalents.gold_hidden_shear_pa(1e-3, 0.7, mean_m=0.05))
    sand = float(moving_shear_pa(0.7e-3, mean_m=0.05))
    assert gold / sand == pytest.approx(16.6 / 1.65)


def test_the_stone_of_a_shear_is_the_way_back_and_unknown_beyond() -> None:
    shear = moving_shear_pa([0.05, 0.3], mean_m=0.05)
    found = equivalents.stone_of_shear_m(shear, mean_m=0.05)
    assert found.tolist() == pytest.approx([0.05, 0.3], rel=1e-3)
    assert np.isnan(equivalents.stone_of_shear_m(1e6, mean_m=0.05))


def test_the_table_by_hand() -> None:
    """A flat color of 1 mm: pi / 6 x 0.4 mm3 x 17.6 mg = 3.69 mg."""
    table = equivalents.table_of_equivalents([1e-3], mean_m=0.05)
    assert [one.shape for one in table] == ["nugget", "flat", "flake"]
    assert table[1].mass_mg == pytest.approx(math.pi / 6.0 * 0.4 * 17.6)
    for one in table:
        assert one.starts_like_m < one.sinks_like_m * 10.0
        assert one.held_like_m is not None
        assert one.hidden_shear_pa > one.open_shear_pa


def test_fine_gold_floats_middling_travels_and_nuggets_stay() -> None:
    """Bed of 50 mm, moved by 18.6 Pa: shear velocity 0.137 m/s."""
    table = equivalents.table_of_equivalents([0.1e-3, 1e-3, 10e-3], mean_m=0.05)
    told = equivalents.where_to_look(table, mean_m=0.05)
    by_size = {(one.equivalent.sieve_m, one.equivalent.shape): one.kind for one in told}
    assert by_size[0.1e-3, "nugget"] == "floats"
    assert by_size[1e-3, "nugget"] == "travels"
    assert by_size[10e-3, "nugget"] == "stays"
    assert all(one.look == equivalents.LOOKS[one.kind] for one in told)


def test_warm_water_lets_fine_gold_sink_faster() -> None:
    cold = float(equivalents.gold_settling_m_s(0.1e-3, 0.4, water_c=0.0))
    warm = float(equivalents.gold_settling_m_s(0.1e-3, 0.4, water_c=20.0))
    assert warm > 1.2 * cold


def test_sizes_that_cannot_be_are_named() -> None:
    with pytest.raises(ValueError, match=r"gold of \[0\.0\] m"):
        equivalents.table_of_equivalents([0.0], mean_m=0.05)
