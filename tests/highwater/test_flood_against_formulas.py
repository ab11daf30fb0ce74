"""The flood against answers known from formulas.

Dam breaks and the bump: Delestre et al. (2013), International Journal for Numerical
Methods in Fluids 72: 269-300 (SWASHES), sections 3.1.3 to 3.1.5, 4.1.1 and 4.1.2.
"""

import numpy as np
import pytest
from flumes import G, bump, depths_by_bernoulli, flume
from scipy.optimize import brentq

from pennyweight.highwater.flood import Pace, flood_at, let_run, still_water
from pennyweight.highwater.reach import Reach

STILL = 1e-12
CONSERVED = 1e-9
MILLIMETER = 1e-3
ONE_PERCENT = 0.01


@pytest.mark.parametrize("level_m", [0.5, 0.1])
def test_a_lake_over_a_bump_stays_still(level_m: float) -> None:
    """Covered and with the bump as an island (SWASHES 3.1.1 and 3.1.2)."""
    _, bed, cell_m = bump()
    reach = flume(bed, cell_m, closed=True)
    depth = np.maximum(level_m - reach.bed_m, 0.0)
    after = let_run(reach, still_water(reach, depth), 20.0)
    assert np.abs(after.depth_m - depth).max() < STILL
    assert after.speed_m_s.max() < STILL


def test_pools_on_rough_ground_high_above_the_sea_stay_still() -> None:
    rng = np.random.default_rng(1)
    bed = 1500.0 + 2.0 * rng.random((30, 40))
    closed = np.zeros(bed.shape, np.bool_)
    reach = Reach(bed, 1.0, np.array([[0, 0]]), outlet=closed)
    depth = np.maximum(1501.0 - bed, 0.0)
    after = let_run(reach, still_water(reach, depth), 30.0)
    assert np.abs(after.depth_m - depth).max() < STILL
    assert after.speed_m_s.max() < STILL


def broken_dam(tail_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return distance over time and depth, 6 s after a dam of 1 m broke."""
    cell_m, flow_s = 0.25, 6.0
    x_m = (np.arange(400) + 0.5) * cell_m - 50.0
    reach = flume(np.zeros(400), cell_m, closed=True)
    depth = np.tile(np.where(x_m < 0.0, 1.0, tail_m), (3, 1))
    after = let_run(reach, still_water(reach, depth), flow_s)
    assert after.depth_m.min() >= 0.0
    assert np.nansum(after.depth_m) == pytest.approx(depth.sum(), rel=CONSERVED)
    return x_m / flow_s, after.depth_m[1]


def test_a_dam_that_breaks_on_dry_ground_follows_ritter() -> None:
    """Depth (2 c - x/t)^2 / (9 g) between -c and 2 c."""
    xi, found = broken_dam(0.0)
    c = np.sqrt(G)
    expected = np.where(xi < -c, 1.0, np.maximum(2.0 * c - xi, 0.0) ** 2 / (9.0 * G))
    assert np.abs(found - expected).mean() < 2.0 * MILLIMETER
    assert np.abs(found - expected).max() < 0.02


def test_a_dam_that_breaks_on_wet_ground_follows_stoker() -> None:
    """A wave of even depth behind a shock; its depth where both sides agree."""
    tail_m = 0.1
    xi, found = broken_dam(tail_m)
    c = np.sqrt(G)

    def mismatch(depth_m: float) -> float:
        rise = (depth_m - tail_m) * np.sqrt(
            G * (depth_m + tail_m) / (2.0 * depth_m * tail_m)
        )
        return float(2.0 * (c - np.sqrt(G * depth_m)) - rise)

    middle_m = brentq(mismatch, tail_m, 1.0)
    speed = 2.0 * (c - np.sqrt(G * middle_m))
    shock = middle_m * speed / (middle_m - tail_m)
    expected = np.where(xi < shock, middle_m, tail_m)
    fan = xi < speed - np.sqrt(G * middle_m)
    expected = np.where(fan, (2.0 * c - xi) ** 2 / (9.0 * G), expected)
    expected = np.where(xi < -c, 1.0, expected)
    assert np.abs(found - expected).mean() < 2.0 * MILLIMETER


def test_slow_flow_over_a_bump() -> None:
    """SWASHES 3.1.3: 4.42 m2/s, 2 m deep at the lower end."""
    x_m, bed, cell_m = bump()
    reach = flume(bed, cell_m, level_m=2.0)
    start = still_water(reach, 2.0 - reach.bed_m)
    flow = let_run(reach, start, 100.0, discharge_m3_s=4.42 * 3.0 * cell_m)
    head_m = 2.0 + 4.42**2 / (2.0 * G * 2.0**2)
    slow = np.zeros(x_m.size, np.bool_)
    expected = depths_by_bernoulli(4.42, bed, head_m, quick=slow)
    assert np.abs(flow.depth_m[1] - expected)[2:].max() < 5.0 * MILLIMETER
    assert np.abs(flow.depth_m * flow.speed_m_s - 4.42)[:, 2:].max() < 0.02


def test_flow_that_turns_quick_on_a_bump() -> None:
    """SWASHES 3.1.4: 1.53 m2/s, critical on the crest, quick below it."""
    x_m, bed, cell_m = bump()
    reach = flume(bed, cell_m)
    start = still_water(reach, 0.3 - reach.bed_m)
    flow = let_run(reach, start, 60.0, discharge_m3_s=1.53 * 3.0 * cell_m)
    head_m = 0.2 + 1.5 * (1.53**2 / G) ** (1.0 / 3.0)
    expected = depths_by_bernoulli(1.53, bed, head_m, quick=x_m > 10.0)
    assert np.abs(flow.depth_m[1] - expected)[2:].mean() < 2.0 * MILLIMETER
    assert np.abs(flow.depth_m * flow.speed_m_s - 1.53)[:, 2:].max() < 0.02


def test_flow_that_jumps_behind_a_bump() -> None:
    """SWASHES 3.1.5: 0.18 m2/s, 0.33 m at the lower end; a jump between."""
    x_m, bed, cell_m = bump()
    reach = flume(bed, cell_m, level_m=0.33)
    start = still_water(reach, 0.33 - reach.bed_m)
    flow = let_run(reach, start, 150.0, discharge_m3_s=0.18 * 3.0 * cell_m)
    head_m = 0.2 + 1.5 * (0.18**2 / G) ** (1.0 / 3.0)
    quick = depths_by_bernoulli(0.18, bed, head_m, quick=x_m > 10.0)
    tail_m = 0.33 + 0.18**2 / (2.0 * G * 0.33**2)
    slow = np.zeros(x_m.size, np.bool_)
    behind = depths_by_bernoulli(0.18, bed, tail_m, quick=slow)
    push_quick = 0.18**2 / quick + 0.5 * G * quick**2
    push_behind = 0.18**2 / behind + 0.5 * G * behind**2
    jump_m = x_m[(x_m > 10.0) & (push_quick <= push_behind)][0]
    expected = np.where(x_m < jump_m, quick, behind)
    assert np.abs(flow.depth_m[1] - expected)[2:].mean() < 2.0 * MILLIMETER
    found_m = x_m[10:-1][np.diff(flow.depth_m[1, 10:]).argmax()]
    assert found_m == pytest.approx(jump_m, abs=2.0 * cell_m)


def test_even_flow_has_the_depth_of_manning() -> None:
    """2 m2/s on a slope of 0.01, n 0.03: h = (q n / sqrt S)^0.6 = 0.736 m."""
    reach = flume(-0.01 * np.arange(60.0), 1.0, manning_n=0.03)
    flow = flood_at(reach, 6.0, pace=Pace(tolerance=1e-3))
    depth_m = (2.0 * 0.03 / 0.1) ** 0.6
    assert flow.steady
    assert flow.depth_m[1, 40] == pytest.approx(depth_m, rel=ONE_PERCENT)
    assert flow.speed_m_s[1, 40] == pytest.approx(2.0 / depth_m, rel=ONE_PERCENT)
    assert flow.shear_pa[1, 40] == pytest.approx(98.1 * depth_m, rel=ONE_PERCENT)


def test_even_flow_over_stones_has_the_depth_of_ferguson() -> None:
    """Stones of 0.3 m, slope 0.03: q = h U, U = sqrt(g h S) f(h / 0.3)."""
    reach = flume(-0.03 * np.arange(60.0), 1.0)
    reach = Reach(
        reach.bed_m,
        1.0,
        reach.inflow,
        stones_m=0.3,
        exact_inflow=True,
        outlet=reach.outlet,
    )
    flow = flood_at(reach, 3.0, pace=Pace(tolerance=1e-3))

    def excess(depth_m: float) -> float:
        x = depth_m / 0.3
        factor = 6.5 * 2.5 * x / np.sqrt(6.5**2 + 2.5**2 * x ** (5.0 / 3.0))
        return float(depth_m * np.sqrt(G * depth_m * 0.03) * factor - 1.0)

    assert flow.depth_m[1, 40] == pytest.approx(brentq(excess, 0.1, 3.0), rel=0.01)
