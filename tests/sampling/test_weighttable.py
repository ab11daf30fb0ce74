"""The table of what a weight says, beside the same sums done one by one."""

import math

import numpy as np
import numpy.testing as npt
from scipy.stats import lognorm, poisson

from pennyweight.sampling.gold import PLACE_LOG_SD_UNSIZED
from pennyweight.sampling.onlyweighed import Weights, bound_weights, grade_weights
from pennyweight.sampling.places import stated_places
from pennyweight.sampling.weighttable import MASS_STEPS, STEP, tabulate_weights

#: So sharp that places do not differ in mean mass.
ONE_PLACE = 0.01
CV = 1.0


def weight_below(weight: float, colors: float) -> float:
    """Return the chance of less than a weight, color by color."""
    total = float(poisson.pmf(0, colors))
    for n in range(1, 200):
        variance = math.log1p(CV**2 / n)
        law = lognorm(math.sqrt(variance), scale=n * math.exp(-variance / 2.0))
        total += float(poisson.pmf(n, colors) * law.cdf(weight))
    return total


def chances(low: float, high: float, log_colors: float, mass: int = 0) -> float:
    """Return the chance of one reading at one number of expected colors."""
    table = tabulate_weights(
        0.01,
        200.0,
        color_cv=CV,
        place_log_sd=ONE_PLACE,
        log_colors=(-8.0, 8.0),
    )
    found = table.chances(
        np.array([low]),
        np.array([high]),
        log_colors=np.array([log_colors]),
        n_grades=1,
        masses=np.array([mass]),
    )
    return float(found[0, 0, 0])


def test_the_table_tells_what_a_sum_over_colors_tells() -> None:
    """Weights of 1.9 to 2.1 colors, where 0.05 to 40 colors are expected.

    Between two cells a tenth apart a straight line is off by up to 2 %.
    """
    for colors in (0.05, 0.5, 2.03, 7.7, 40.0):
        by_sum = weight_below(2.1, colors) - weight_below(1.9, colors)
        npt.assert_allclose(
            chances(1.9, 2.1, math.log(colors)), by_sum, rtol=0.02, atol=1e-9
        )


def test_nothing_weighed_where_no_color_is_expected_is_certain() -> None:
    npt.assert_allclose(chances(0.0, 0.1, -8.0), 1.0, atol=1e-3)


def test_a_heavier_color_is_a_smaller_weight_and_fewer_colors() -> None:
    """Two mass steps up: e^0.6 times the mass, so both logs are less by 0.6."""
    steps = 2
    factor = math.exp(steps * MASS_STEPS * STEP)
    npt.assert_allclose(
        chances(2.0, 2.2, math.log(9.0), steps),
        chances(2.0 / factor, 2.2 / factor, math.log(9.0 / factor)),
        rtol=1e-9,
    )


def test_a_number_of_colors_between_cells_is_read_between_them() -> None:
    """The mean of two neighbors of the grid, to the table's straight line."""
    left, right, middle = (chances(2.0, 2.2, at * STEP) for at in (10, 11, 10.5))
    npt.assert_allclose(middle, (left + right) / 2.0, rtol=1e-9)


def test_weights_are_graded_as_draws_from_the_stated_prior_say() -> None:
    """Draw grades, numbers and masses; keep those that weigh what was read."""
    rng = np.random.default_rng(20310714)
    n_draws, colors_per_grade, color_mg = 2_000_000, 0.02, 0.2
    prior = stated_places()
    part = rng.choice(len(prior.weights), size=n_draws, p=prior.weights)
    shape = prior.shapes[part]
    grade = rng.gamma(shape, prior.means_mg_m3[part] / shape)
    place_sd = PLACE_LOG_SD_UNSIZED
    factor = np.exp(rng.normal(-(place_sd**2) / 2.0, place_sd, size=n_draws))
    number = rng.poisson(np.minimum(grade * colors_per_grade / factor, 1e6))
    some = np.maximum(number, 1)
    variance = np.log1p(CV**2 / some)
    weight = some * color_mg * factor * np.exp(-variance / 2.0)
    weight *= np.exp(np.sqrt(variance) * rng.normal(size=n_draws))
    weight[number == 0] = 0.0
    for read_mg in (0.0, 0.3, 2.0, 12.0):
        low, high = bound_weights([read_mg], [0.1], [0.1])
        kept = grade[(weight >= low[0]) & (weight < high[0])]
        by_draws = np.quantile(kept, (0.5, 0.9))
        found = grade_weights(
            Weights(
                low,
                high,
                np.array([colors_per_grade]),
                color_mg=color_mg,
                color_log_sd=0.0,
                color_cv=CV,
                teaches=np.ones(1, dtype=np.bool_),
            ),
            np.zeros(0),
            np.zeros(0),
            log_sd=np.zeros(1),
            own_log_sd=np.zeros(1),
            probabilities=(0.5, 0.9),
        )
        # Some 5,000 draws are kept of the rarest weight: 2 % of a median.
        npt.assert_allclose(found.points[0], by_draws, rtol=0.06)
