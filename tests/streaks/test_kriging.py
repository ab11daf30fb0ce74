"""Kriging against a printed textbook example.

Isaaks and Srivastava 1989, An Introduction to Applied Geostatistics, pp. 290-315:
seven samples, the target (65, 137), and the printed results of figures 12.3 to 12.20.
The practical range of the print is three times the exponential's length.
"""

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.streaks.kriging import krige

PLACES = [(61, 139), (63, 140), (64, 129), (68, 128), (71, 140), (73, 141), (75, 128)]
VALUES = [477.0, 696.0, 227.0, 646.0, 606.0, 791.0, 783.0]
TARGET = [(65, 137)]
PRINTED_DIGIT, PRINTED_HUNDREDTH = 0.5, 0.005


def exponential(
    sill: float, range_m: float, azimuth_deg: float = 0.0, ratio: float = 1.0
):
    turn = np.radians(azimuth_deg)
    along = np.array([np.sin(turn), np.cos(turn)])
    across = np.array([np.cos(turn), -np.sin(turn)])

    def covariance(difference: np.ndarray) -> np.ndarray:
        distance = np.hypot(difference @ along / ratio, difference @ across)
        return sill * np.exp(-3.0 * distance / range_m)

    return covariance


def gaussian(sill: float, range_m: float):
    def covariance(difference: np.ndarray) -> np.ndarray:
        squared = (difference**2).sum(axis=-1)
        return sill * np.exp(-3.0 * squared / range_m**2)

    return covariance


@pytest.mark.parametrize(
    ("covariance", "nugget", "estimate", "variance"),
    [
        (exponential(10.0, 10.0), 0.0, 593.0, 8.96),
        (exponential(20.0, 10.0), 0.0, 593.0, 17.91),
        (gaussian(10.0, 10.0), 0.0, 559.0, 4.78),
        (exponential(5.0, 10.0), 5.0, 597.0, 10.31),
        (exponential(10.0, 20.0), 0.0, 572.0, 5.76),
        (exponential(10.0, 10.0, 135.0, 2.0), 0.0, 620.0, 6.30),
        (exponential(10.0, 10.0, 45.0, 2.0), 0.0, 574.0, 8.16),
        (exponential(10.0, 10.0, 135.0, 10.0), 0.0, 654.0, 2.83),
    ],
)
def test_kriging_gives_the_printed_results(
    covariance, nugget: float, estimate: float, variance: float
) -> None:
    found, spread = krige(PLACES, VALUES, TARGET, covariance=covariance, nugget=nugget)
    assert found[0] == pytest.approx(estimate, abs=PRINTED_DIGIT)
    assert spread[0] == pytest.approx(variance, abs=PRINTED_HUNDREDTH)


def test_pure_nugget_is_the_plain_mean() -> None:
    """Variance 10 (1 + 1/7) = 11.4286."""
    nothing = exponential(0.0, 10.0)
    found, spread = krige(PLACES, VALUES, TARGET, covariance=nothing, nugget=10.0)
    npt.assert_allclose(found, np.mean(VALUES))
    npt.assert_allclose(spread, 10.0 * (1.0 + 1.0 / 7.0))
