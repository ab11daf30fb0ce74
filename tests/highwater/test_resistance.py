"""Resistance laws at printed points, and read backward."""

import numpy as np
import pytest

from pennyweight.highwater import resistance

PRINTED = 1e-4
ONE_PERCENT = 0.011


@pytest.mark.parametrize(
    ("relative", "expected"),
    [(0.5, 1.22186), (1.0, 2.33336), (5.0, 7.029), (20.0, 10.4716)],
)
def test_fergusons_factor(relative: float, expected: float) -> None:
    """Ferguson (2007) with 6.5 and 2.5."""
    found = float(resistance.ferguson_factor(relative))
    assert found == pytest.approx(expected, rel=PRINTED)


@pytest.mark.parametrize(
    ("depth_m", "slope", "expected"),
    [(0.5, 0.01, 0.0621319), (1.0, 0.02, 0.0723671), (1.5, 0.035, 0.0838921)],
)
def test_jarretts_roughness(depth_m: float, slope: float, expected: float) -> None:
    """Jarrett (1984); the metric factor is printed as 0.32 or 0.323."""
    found = float(resistance.jarrett_n(depth_m, slope))
    assert found == pytest.approx(expected, rel=ONE_PERCENT)


@pytest.mark.parametrize(
    ("depth_m", "stones_m", "expected"),
    [(0.5, 0.2, 0.05142), (1.0, 0.2, 0.0441296), (1.5, 0.4, 0.05233)],
)
def test_limerinos_roughness(depth_m: float, stones_m: float, expected: float) -> None:
    """Limerinos (1970), metric."""
    found = float(resistance.limerinos_n(depth_m, stones_m))
    assert found == pytest.approx(expected, rel=PRINTED)


def test_limerinos_has_no_meaning_below_the_stones() -> None:
    """1.16 + 2 log10 x is 0 at x = 0.263."""
    assert np.isnan(resistance.limerinos_n(0.05, 0.2))


def test_limerinos_agrees_with_its_chezy_form() -> None:
    """5.657 log10 (R / d84) + 3.281 at 5 is 7.235; U / u* = R^(1/6) / (n sqrt g)."""
    n = float(resistance.limerinos_n(1.0, 0.2))
    assert 1.0 / (n * 9.81**0.5) == pytest.approx(7.23507, rel=0.003)


@pytest.mark.parametrize(
    ("median_m", "expected"), [(0.05, 0.0288307), (0.1, 0.0323614), (0.2, 0.0363244)]
)
def test_stricklers_roughness(median_m: float, expected: float) -> None:
    """Strickler (1923), 0.0475 D^(1/6)."""
    found = float(resistance.strickler_n(median_m))
    assert found == pytest.approx(expected, rel=1e-5)


def test_manning_by_hand() -> None:
    """1 m deep, slope 0.01, n 0.04: 0.1 / 0.04 = 2.5 m/s."""
    assert float(resistance.manning_speed(1.0, 0.01, 0.04)) == pytest.approx(2.5)


def test_ferguson_speed_by_hand() -> None:
    """Depth of the stones, 0.2 m, slope 0.05: sqrt(9.81 x 0.2 x 0.05) x 2.33336."""
    found = float(resistance.ferguson_speed(0.2, 0.05, 0.2))
    assert found == pytest.approx(0.31321 * 2.33336, rel=PRINTED)


@pytest.mark.parametrize("law", resistance.LAWS, ids=lambda law: law.source)
def test_depth_of_a_speed_is_the_way_back(law: resistance.Law) -> None:
    depths = np.array([0.2, 0.7, 2.0])
    speeds = law.speed(depths, np.asarray(0.02), np.asarray(0.15))
    found = resistance.depth_of_speed_m(law, speeds, slope=0.02, stones_m=0.15)
    assert found.tolist() == pytest.approx(depths.tolist(), rel=1e-4)


def test_each_law_says_where_it_was_tried() -> None:
    deep, slope, stones = np.array([0.05, 1.0]), np.asarray(0.02), np.asarray(0.2)
    tried = {law.source: law.tried(deep, slope, stones) for law in resistance.LAWS}
    assert tried["Jarrett (1984)"].tolist() == [False, True]
    assert tried["Strickler (1923)"].tolist() == [False, True]
    assert tried["Ferguson (2007)"].tolist() == [True, True]


@pytest.mark.parametrize(("slope", "stones_m"), [(0.0, 0.2), (0.02, 0.0)])
def test_slope_and_stones_out_of_range_are_named(slope: float, stones_m: float) -> None:
    with pytest.raises(ValueError, match=f"slope is {slope} and stones are {stones_m}"):
        resistance.check_fall(slope, stones_m)
