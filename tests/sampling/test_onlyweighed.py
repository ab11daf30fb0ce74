"""Weights that nobody counted: what they say of grade and of colors."""

import math

import numpy as np
import numpy.testing as npt
import pytest
from made_logs import log_of, panned

from pennyweight.sampling.gold import UNSIZED_MG
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.onlyweighed import (
    Weights,
    bound_weights,
    grade_weights,
)

NOTHING = np.zeros(0)


def weights(mg: float, **other: float) -> Weights:
    """Return one weight to 0.01 mg in ground that shows 1 color at 100 mg/m3."""
    low, high = bound_weights([mg], [0.01], [0.01])
    return Weights(
        low,
        high,
        np.array([other.get("colors_per_grade", 0.01)]),
        color_mg=other.get("color_mg", 0.2),
        color_log_sd=other.get("color_log_sd", 0.0),
        color_cv=other.get("color_cv", 1.0),
        teaches=np.ones(1, dtype=np.bool_),
    )


def middle(one: Weights, log_sd: float = 0.0) -> tuple[float, float, float]:
    """Return p10, p50 and p90."""
    factor = np.full(1, log_sd)
    found = grade_weights(
        one,
        NOTHING,
        NOTHING,
        log_sd=factor,
        own_log_sd=factor,
        probabilities=(0.1, 0.5, 0.9),
    )
    low, half, high = found.points[0].tolist()
    return low, half, high


def test_a_reading_lies_half_a_step_about_itself() -> None:
    """2 % of 100 mg outweigh half a step; 0 lies between nothing and a step."""
    low, high = bound_weights([100.0, 0.0], [0.1, 0.1], [0.1, 0.1])
    npt.assert_allclose(low, [98.0, 0.0])
    npt.assert_allclose(high, [102.0, 0.1])


def test_a_heavy_weight_is_its_grade() -> None:
    """100 mg of 0.2 mg a color are 500 colors: at 0.01 a mg/m3 50,000 mg/m3."""
    low, half, high = middle(weights(100.0))
    assert half == pytest.approx(50_000.0, rel=0.10)
    # Place to place nothing cancels: gold is what was weighed, whatever a color is.
    assert high / low < 1.6


def test_a_heavier_color_leaves_the_grade_of_a_heavy_weight() -> None:
    lighter = middle(weights(100.0, color_mg=0.2, colors_per_grade=0.01))
    heavier = middle(weights(100.0, color_mg=0.4, colors_per_grade=0.005))
    assert heavier[1] == pytest.approx(lighter[1], rel=0.05)


def test_nothing_weighed_leaves_an_upper_limit_only() -> None:
    low, half, high = middle(weights(0.0))
    assert low < 0.01 * half
    assert 0.0 < half < high < 400.0


def test_doubt_about_the_color_hardly_moves_a_heavy_weight() -> None:
    """Lighter colors are more of them: the gold is the same."""
    sure = middle(weights(100.0))
    doubtful = middle(weights(100.0, color_log_sd=1.0))
    assert doubtful[1] == pytest.approx(sure[1], rel=0.15)
    assert doubtful[2] / doubtful[0] > sure[2] / sure[0]


def test_a_factor_of_volume_widens_the_interval() -> None:
    """Known to a factor e^0.5: the logs of both spreads add as squares."""
    low, _, high = middle(weights(100.0))
    wide_low, _, wide_high = middle(weights(100.0), 0.5)
    spread = math.log(high / low) / 2.5631
    wider = math.log(wide_high / wide_low) / 2.5631
    assert wider == pytest.approx(math.hypot(spread, 0.5), rel=0.05)


def test_a_rich_neighbor_lifts_what_a_small_weight_may_be() -> None:
    alone, among = (
        grade_weights(
            weights(0.2),
            counts,
            np.full(len(counts), 0.01),
            log_sd=np.zeros(1),
            own_log_sd=np.zeros(1),
            probabilities=(0.9,),
        ).points[0, 0]
        for counts in (np.zeros(6), np.full(6, 8.0))
    )
    assert among > alone


def test_below_the_step_colors_are_unknown_and_not_zero() -> None:
    one, counted = grade_samples(
        log_of(
            panned("1", None, weighed_mg=0.0, balance_mg=0.1),
            panned("2", 0, weighed_mg=0.0, balance_mg=0.1),
        )
    ).samples
    assert one.own_colors is None
    assert one.colors is not None
    assert 0.0 < one.colors < 1.0
    assert "unknown, not zero" in one.why
    assert one.exact_mg_m3 is None
    assert counted.own_colors == 0.0
    assert one.grade_mg_m3 is not None
    assert counted.grade_mg_m3 is not None
    assert one.grade_mg_m3.p90 > counted.grade_mg_m3.p90


def test_below_the_step_without_a_volume_colors_are_unknown_too() -> None:
    graded = grade_samples(
        log_of(panned("1", None, weighed_mg=0.0, balance_mg=0.1, taken="crevice"))
    )
    assert graded.samples[0].colors is None
    assert graded.samples[0].own_colors is None


def test_a_weighed_duplicate_teaches_nothing_twice() -> None:
    """Two halves of 30 mg in 10 pans each speak as 60 mg in 20 pans."""
    halves = log_of(
        panned("1", None, weighed_mg=30.0, balance_mg=0.1),
        panned("2", None, weighed_mg=30.0, balance_mg=0.1, duplicate_of="1"),
    )
    whole = log_of(panned("1", None, pans=20.0, weighed_mg=60.0, balance_mg=0.1))
    both, one = (grade_samples(log).samples[0] for log in (halves, whole))
    assert both.grade_mg_m3 is not None
    assert one.grade_mg_m3 is not None
    assert both.grade_mg_m3.p50 == pytest.approx(one.grade_mg_m3.p50, rel=0.02)


def test_the_mean_mass_of_few_colors_is_not_their_usual_weight() -> None:
    """A hundred samples of one color, half of them at the median of its law.

    Lognormal with a variation of 3: the mean is sqrt(10) = 3.16 times the median.
    """
    rng = np.random.default_rng(20300601)
    masses = rng.lognormal(math.log(UNSIZED_MG), math.sqrt(math.log(10.0)), size=100)
    graded = grade_samples(
        log_of(
            *(
                panned(f"{k}", 1, weighed_mg=float(mg), balance_mg=0.001)
                for k, mg in enumerate(masses)
            )
        )
    )
    mean = graded.masses[-1].mean_mg
    assert mean == pytest.approx(math.sqrt(10.0) * UNSIZED_MG, rel=0.35)
    assert 2.0 < graded.masses[-1].cv < 4.5
