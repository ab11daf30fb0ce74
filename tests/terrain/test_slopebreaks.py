"""Slope breaks against profiles with known breaks, and against full enumeration."""

from itertools import combinations, pairwise

import numpy as np
import numpy.testing as npt
import pytest
from scipy.stats import multivariate_normal

from pennyweight.terrain import slopebreaks
from pennyweight.terrain.slopebreaks import find_slope_breaks, piece_evidence


def two_falls(
    at_m: float = 400.0, *, above: float = 0.06, below: float = 0.02
) -> tuple[np.ndarray, np.ndarray]:
    distance = np.arange(0.0, 1000.0, 5.0)
    height = 300.0 - above * np.minimum(distance, at_m)
    return distance, height - below * np.maximum(distance - at_m, 0.0)


def test_a_break_is_found_where_it_was_made() -> None:
    distance, height = two_falls()
    (found,) = find_slope_breaks(distance, height)
    assert found.low_m - 10.0 <= 400.0 <= found.high_m + 10.0
    assert found.probability > 0.95
    assert found.slope_above == pytest.approx(0.06, rel=0.05)
    assert found.slope_below == pytest.approx(0.02, rel=0.1)
    assert found.eases


def test_a_straight_fall_has_no_break() -> None:
    distance = np.arange(0.0, 500.0, 2.0)
    noise = np.random.default_rng(4).normal(0.0, 0.1, len(distance))
    assert find_slope_breaks(distance, 100.0 - 0.03 * distance + noise) == ()


def test_noise_widens_the_place_of_a_break() -> None:
    distance, height = two_falls(above=0.04)
    sharp = find_slope_breaks(distance, height, noise_m=0.05)[0]
    blurred = find_slope_breaks(distance, height, noise_m=1.0)[0]
    assert blurred.high_m - blurred.low_m > sharp.high_m - sharp.low_m


def test_the_interval_holds_the_true_place_about_eight_times_in_ten() -> None:
    """Thirty made profiles: 80 % of 30 is 24, give or take 2.2 a standard deviation."""
    rng = np.random.default_rng(11)
    held, told = 0, 0
    for _ in range(30):
        place = float(rng.uniform(250.0, 750.0))
        distance, height = two_falls(place, above=0.05, below=0.03)
        noisy = height + rng.normal(0.0, 0.6, len(height))
        for found in find_slope_breaks(distance, noisy):
            step_m = 1000.0 / 100.0
            told += 1
            held += found.low_m - step_m / 2 <= place <= found.high_m + step_m / 2
    assert told >= 25
    assert held / told > 0.65


def test_the_evidence_of_a_piece_is_that_of_the_joint_normal_density() -> None:
    """Integrated by hand it is one multivariate normal density of all heights."""
    rng = np.random.default_rng(2)
    at, height = np.arange(8.0) * 10.0, rng.normal(50.0, 2.0, 8)
    x, y = at - at.mean(), height - height.mean()
    evidence = piece_evidence(at, height, noise_m=0.7)
    part = slice(1, 7)
    design = np.column_stack([np.ones(6), x[part]])
    prior = np.diag([np.ptp(y) ** 2 + 1.0, slopebreaks.PRIOR_SLOPE**2])
    covariance = design @ prior @ design.T + 0.49 * np.eye(6)
    direct = multivariate_normal(np.zeros(6), covariance).logpdf(y[part])
    assert evidence[1, 7] == pytest.approx(direct)
    assert evidence[1, 3] == -np.inf


def test_the_sum_over_all_partings_is_that_of_enumeration() -> None:
    """Fourteen steps in pieces of four or more: every parting written out."""
    rng = np.random.default_rng(7)
    at = np.arange(14.0) * 10.0
    height = 100.0 - 0.08 * np.minimum(at, 70.0) + rng.normal(0.0, 0.4, 14)
    evidence = piece_evidence(at, height, noise_m=0.4)
    mass, best = slopebreaks._weigh_breaks(evidence)  # noqa: SLF001 - the sum itself
    ends = slopebreaks.EXPECTED_BREAKS / 14
    weights, expected = {}, np.zeros(15)
    for n_breaks in range(3):
        for breaks in combinations(range(1, 14), n_breaks):
            edges = [0, *breaks, 14]
            pieces = list(pairwise(edges))
            log = n_breaks * np.log(ends) + (13 - n_breaks) * np.log1p(-ends)
            weights[breaks] = np.exp(log + sum(evidence[a, b] for a, b in pieces))
    total = sum(weights.values())
    for breaks, weight in weights.items():
        for at_step in breaks:
            expected[at_step] += weight / total
    npt.assert_allclose(mass[1:14], expected[1:14], atol=1e-10)
    assert tuple(best) == max(weights, key=lambda one: weights[one])


def test_a_short_profile_tells_nothing() -> None:
    assert find_slope_breaks([0.0, 1.0, 2.0], [3.0, 2.0, 1.0]) == ()
