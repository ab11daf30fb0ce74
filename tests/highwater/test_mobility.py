"""When a grain moves: critical shear, hiding, transport by size."""

import numpy as np
import pytest

from pennyweight.highwater import mobility

WATER = 1.0e-6
PRINTED = 1e-4
EXACT = 1e-12


@pytest.mark.parametrize(
    ("diameter_m", "expected"),
    [(0.2e-3, 0.04772), (1e-3, 0.0314055), (10e-3, 0.05564), (100e-3, 0.05510)],
)
def test_soulsbys_curve_at_four_sizes(diameter_m: float, expected: float) -> None:
    """Soulsby (1997) eq. 77, worked for quartz in water of 1e-6 m2/s."""
    found = mobility.soulsby_shields(diameter_m, 1.65, WATER)
    assert float(found) == pytest.approx(expected, rel=PRINTED)


def test_soulsbys_curve_tends_to_its_limit() -> None:
    """Very large D*: 0.055."""
    assert float(mobility.soulsby_shields(50.0, 1.65, WATER)) == pytest.approx(
        0.055, rel=PRINTED
    )


@pytest.mark.parametrize(
    ("diameter_m", "expected"),
    [(1e-3, 0.0347999), (10e-3, 0.0546273), (100e-3, 0.0592767)],
)
def test_brownlies_fit_at_three_sizes(diameter_m: float, expected: float) -> None:
    """Brownlie (1981), worked for quartz in water of 1e-6 m2/s."""
    found = mobility.brownlie_shields(diameter_m, 1.65, WATER)
    assert float(found) == pytest.approx(expected, rel=PRINTED)


def test_two_fits_to_shields_curve_agree_within_a_fifth() -> None:
    sizes = np.geomspace(1e-3, 0.5, 20)
    one = mobility.soulsby_shields(sizes, 1.65, WATER)
    other = mobility.brownlie_shields(sizes, 1.65, WATER)
    assert np.all(np.abs(one / other - 1.0) < 0.20)


@pytest.mark.parametrize(
    ("diameter_m", "expected"), [(0.1, 72.8393), (0.5, 364.196), (1.0, 728.3925)]
)
def test_shear_that_moves_a_stone(diameter_m: float, expected: float) -> None:
    """0.045 x 1650 kg/m3 x 9.81 m/s2 x size."""
    found = mobility.shields_shear_pa(0.045, diameter_m, 1.65)
    assert float(found) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("slope", "expected"), [(0.005, 0.0398872), (0.02, 0.056409), (0.1, 0.0843512)]
)
def test_steep_beds_hold_longer(slope: float, expected: float) -> None:
    """Lamb, Dietrich and Venditti (2008): 0.15 S^0.25."""
    assert float(mobility.steep_shields(slope)) == pytest.approx(expected, rel=1e-5)


def test_andrews_hiding_and_its_ends() -> None:
    """0.0834 ratio^-0.872 at 0.5, 1 and 3; held at 4.2 beyond."""
    found = mobility.andrews_shields([0.5, 1.0, 3.0])
    assert found.tolist() == pytest.approx([0.15264, 0.0834, 0.03200], rel=PRINTED)
    assert mobility.andrews_shields(50.0) == mobility.andrews_shields(4.2)


def test_hiding_function_at_three_sizes() -> None:
    """Wilcock and Crowe (2003): 10, 40 and 160 mm in a bed of 40 mm, sand 0.10."""
    assert float(mobility.mixed_shields(0.04, mean_m=0.04)) == pytest.approx(
        0.02303, rel=PRINTED
    )
    found = mobility.moving_shear_pa([0.01, 0.04, 0.16], mean_m=0.04, sand_share=0.1)
    assert found.tolist() == pytest.approx([12.1248, 14.911, 35.1794], rel=PRINTED)


def test_gold_needs_more_shear_by_its_weight() -> None:
    """Same size, R 16.5 against 1.65: ten times."""
    gravel, gold = (
        float(mobility.moving_shear_pa(1e-3, mean_m=0.04, ratio=r))
        for r in (1.65, 16.5)
    )
    assert gold == pytest.approx(10.0 * gravel, rel=EXACT)


def test_transport_at_stage_one_and_two() -> None:
    """0.002 x 1 and 14 (1 - 0.894 / sqrt 2)^4.5; nothing at rest, nan unknown."""
    assert mobility.transport_number([0.0, 1.0, 2.0]).tolist() == pytest.approx(
        [0.0, 0.002, 0.15546], rel=PRINTED
    )
    assert np.isnan(mobility.transport_number(np.nan))


def test_transport_has_no_jump_where_its_two_parts_meet() -> None:
    """The published parts meet at stage 1.35 within 3 %."""
    below, above = mobility.transport_number([1.35 - 1e-9, 1.35 + 1e-9])
    assert below == pytest.approx(above, rel=0.03)


def test_bedload_by_hand() -> None:
    """30 Pa, one size: W*(2.012) x (30/1000)^1.5 / (1.65 x 9.81)."""
    stage = 30.0 / 14.9109
    number = 14.0 * (1.0 - 0.894 / stage**0.5) ** 4.5
    found = mobility.bedload_m2_s([30.0, np.nan], [0.04], share=[1.0])
    assert found.shape == (2, 1)
    assert found[0, 0] == pytest.approx(
        number * 0.030**1.5 / (1.65 * 9.81), rel=PRINTED
    )
    assert np.isnan(found[1, 0])


def test_a_map_of_shear_gives_one_stage_a_size() -> None:
    stage = mobility.transport_stage(
        np.full((3, 4, 1), 20.0), [0.01, 0.16], mean_m=0.04
    )
    assert stage.shape == (3, 4, 2)
    assert np.all(stage[..., 0] > 1.0)
    assert np.all(stage[..., 1] < 1.0)


def test_the_largest_stone_moved_inverts_the_threshold() -> None:
    sizes = np.array([0.005, 0.04, 0.3])
    shear = mobility.moving_shear_pa(sizes, mean_m=0.04)
    found = mobility.largest_moved_m(shear, mean_m=0.04)
    assert found.tolist() == pytest.approx(sizes.tolist(), rel=0.01)
    assert float(mobility.largest_moved_m(0.0, mean_m=0.04)) == 0.0


def test_mean_size_is_geometric_and_weighted() -> None:
    """10 mm three quarters, 160 mm one: 10 x 16^(1/4) = 20 mm."""
    assert mobility.mean_size_m([0.01, 0.16], [3.0, 1.0]) == pytest.approx(
        0.02, rel=EXACT
    )


def test_sizes_and_shares_out_of_range_are_named() -> None:
    with pytest.raises(ValueError, match=r"-0\.1"):
        mobility.mean_size_m([0.01, 0.1], [-0.1, 1.0])
    with pytest.raises(ValueError, match=r"sand is 1\.5"):
        mobility.mixed_shields(0.04, mean_m=0.04, sand_share=1.5)
