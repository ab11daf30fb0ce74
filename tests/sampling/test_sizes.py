"""The spread of sizes from sized tallies, against made colors."""

import math

import numpy as np
import pytest

from pennyweight.sampling.classes import parse_class
from pennyweight.sampling.sizes import Sizes, fit_sizes

NAMES = ("<0.1", "0.1-0.25", "0.25-0.5", "0.5-1", ">1")
EDGES = (0.0, 0.1, 0.25, 0.5, 1.0, math.inf)


def made_diameters() -> np.ndarray:
    """Return colors with a median of 0.3 mm and a spread of 0.6."""
    return np.random.default_rng(6).lognormal(math.log(0.3), 0.6, size=20_000)


def test_the_spread_that_made_the_tallies_is_found() -> None:
    counts, _ = np.histogram(made_diameters(), bins=EDGES)
    found = fit_sizes(dict(zip(NAMES, counts.tolist(), strict=True)))
    assert found is not None
    assert found.median_mm == pytest.approx(0.3, rel=0.03)
    assert found.log_sd == pytest.approx(0.6, rel=0.05)


@pytest.mark.parametrize(
    ("name", "low", "high"), [("0.5-1", 0.5, 1.0), (">1", 1.0, 99.0)]
)
def test_mean_cubes_agree_with_made_colors(name: str, low: float, high: float) -> None:
    d = made_diameters()
    inside = d[(d >= low) & (d < high)]
    found = Sizes(0.3, 0.6).mean_of_power(parse_class(name), 3.0)
    assert found == pytest.approx((inside**3).mean(), rel=0.05)


def test_the_whole_law_has_its_known_mean() -> None:
    """exp(s^2 / 2) times the median, nothing cut off."""
    whole = parse_class("0.0001-1000")
    assert Sizes(0.4, 0.5).mean_of_power(whole, 1.0) == pytest.approx(
        0.4 * math.exp(0.125)
    )


def test_few_colors_or_one_sieve_fit_nothing() -> None:
    assert fit_sizes({"0.5-1": 4, "1-2": 1}) is None
    assert fit_sizes({"0.5-1": 400, "No.2": 50, "all": 9}) is None
