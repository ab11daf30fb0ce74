"""Settling speeds: limits, orders, and what stays in the pan."""

import math
from typing import Any

import numpy as np
import pytest

from pennyweight.sampling import settling

WATER = 1.0e-6
ONE_PERCENT = 0.01


def test_the_general_formula_meets_its_two_limits() -> None:
    """Stokes when tiny; sqrt(4 R g D / (3 C2)) when coarse."""
    tiny = settling.ferguson_church_speed(1e-6, 1.65, WATER)
    assert float(tiny) == pytest.approx(
        float(settling.stokes_speed(1e-6, 1.65, WATER)), rel=ONE_PERCENT
    )
    coarse = settling.ferguson_church_speed(1.0, 1.65, WATER)
    assert float(coarse) == pytest.approx(
        math.sqrt(4.0 * 1.65 * 9.81 / 3.0), rel=ONE_PERCENT
    )


def test_two_formulas_for_natural_grains_agree_within_a_fifth() -> None:
    sizes = np.array([0.2e-3, 0.5e-3, 1e-3])
    one = settling.ferguson_church_speed(sizes, 1.65, WATER)
    other = settling.dietrich_speed(sizes, 1.65, WATER)
    assert np.all(np.abs(one / other - 1.0) < 0.20)


def test_a_tiny_grain_follows_stokes_in_dietrichs_formula_too() -> None:
    """D* below 0.05: W* = D*^2 / 5832, which is Stokes."""
    found = settling.dietrich_speed(10e-6, 1.65, WATER, shape_factor=1.0)
    assert float(found) == pytest.approx(
        float(settling.stokes_speed(10e-6, 1.65, WATER)), rel=1e-9
    )


def test_flatter_and_more_angular_grains_sink_slower() -> None:
    by_shape = [
        float(settling.dietrich_speed(0.5e-3, 18.3, WATER, shape_factor=s))
        for s in (1.0, 0.7, 0.4, 0.2)
    ]
    assert by_shape == sorted(by_shape, reverse=True)
    angular = settling.dietrich_speed(2e-3, 1.65, WATER, roundness=1.0)
    assert angular < settling.dietrich_speed(2e-3, 1.65, WATER, roundness=6.0)


def test_cold_water_slows_fine_gold() -> None:
    cold, warm = (settling.viscosity_m2_s(c) for c in (2.0, 20.0))
    fine = 0.05e-3
    assert settling.ferguson_church_speed(
        fine, 16.6, cold
    ) < 0.8 * settling.ferguson_church_speed(fine, 16.6, warm)


def test_compact_gold_sinks_first_and_mica_last() -> None:
    """A thin flake sinks no faster than pyrite of its sieve: that is how it is lost."""
    speeds = settling.settling_table(0.5e-3, 8.0)
    order = sorted(speeds, key=lambda name: -speeds[name])
    assert order[0] == "gold nugget"
    assert order[-2:] == ["quartz", "mica flake"]
    assert speeds["gold flake"] == pytest.approx(speeds["pyrite"], rel=0.05)


def test_a_disc_on_edge_sinks_half_as_fast_again() -> None:
    flat, edge = (
        settling.disc_speed(
            1e-4,
            5e-6,
            submerged_kg_m3=1800.0,
            dynamic_viscosity=1e-3,
            edgewise=edgewise,
        )
        for edgewise in (False, True)
    )
    assert edge == pytest.approx(1.5 * flat)


def test_equal_settling_goes_both_ways() -> None:
    there = settling.equal_settling_m(0.3e-3, 16.6, 1.65, viscosity=WATER)
    back = settling.equal_settling_m(there, 1.65, 16.6, viscosity=WATER)
    assert back == pytest.approx(0.3e-3)


def test_what_was_tried_rules_minerals_out() -> None:
    soft = settling.minerals_that_fit(malleable=True)
    assert {one.name for one in soft} == {"gold flake", "gold nugget"}
    heavy = settling.minerals_that_fit(density_g_cm3=5.1, streak="Black")
    assert {one.name for one in heavy} == {"pyrite", "magnetite"}
    assert len(settling.minerals_that_fit()) == len(settling.MINERALS)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: settling.viscosity_m2_s(30.0), "water is 30.0 C"),
        (
            lambda: settling.dietrich_speed(1e-3, 1.65, 1e-6, shape_factor=0.1),
            "shape factor is 0.1",
        ),
        (lambda: settling.dietrich_speed(0.0, 1.65, 1e-6), "sizes reach 0.0 m"),
    ],
)
def test_outside_the_range_is_named(call: Any, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        call()
