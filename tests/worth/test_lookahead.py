"""What one more look is worth, against hand arithmetic and a closed form."""

import numpy as np
import numpy.testing as npt
import pytest
from scipy.stats import norm

from pennyweight.worth.blocks import choose_washing, slice_shares
from pennyweight.worth.cut import find_cut
from pennyweight.worth.lookahead import Lookahead, look_ahead, margins_of
from pennyweight.worth.risk import worth_of_knowing
from tests.worth.test_cut import TERMS, blocks_of, layer, ribbon


def test_a_look_that_tells_nothing_is_worth_nothing() -> None:
    margins = np.array([[300.0, -100.0], [0.0, 0.0]])
    blind = np.repeat(margins.mean(axis=1, keepdims=True), 2, axis=1)
    found = look_ahead(margins, blind)
    assert (found.now, found.after, found.value, found.turns) == (100.0, 100.0, 0, 0)


def test_a_look_that_tells_all_is_worth_as_much_as_knowing() -> None:
    rng = np.random.default_rng(1)
    margin = rng.normal(50.0, 400.0, 900)
    margins = np.stack([margin, np.zeros(900)])
    found = look_ahead(margins, margins)
    npt.assert_allclose(found.value, worth_of_knowing(margin))
    npt.assert_allclose(found.turns, np.mean(margin < 0.0))


@pytest.mark.parametrize(("mean", "told"), [(0.0, 0.5), (80.0, 0.5), (-60.0, 0.8)])
def test_the_value_of_a_look_agrees_with_the_normal_loss_integral(
    mean: float, told: float
) -> None:
    """Normal margin of s.d. 100, a look that tells `told` of its variance.

    The posterior mean is normal with s.d. 100 sqrt(told): E[max(it, 0)] - max(mean, 0).
    """
    rng = np.random.default_rng(2)
    sd = 100.0 * np.sqrt(told)
    seen = mean + sd * rng.standard_normal(200_000)
    margin = seen + 100.0 * np.sqrt(1.0 - told) * rng.standard_normal(200_000)
    found = look_ahead(
        np.stack([margin, np.zeros(len(margin))]), np.stack([seen, 0.0 * seen])
    )
    closed = mean * norm.cdf(mean / sd) + sd * norm.pdf(mean / sd) - max(mean, 0.0)
    npt.assert_allclose(found.after - found.now, closed, atol=0.6)


def test_what_noise_could_make_is_no_value() -> None:
    assert Lookahead(now=10.0, after=12.0, noise=3.0, turns=0.0).value == 0.0
    assert Lookahead(now=10.0, after=15.0, noise=3.0, turns=0.0).value == 5.0


def test_margins_of_plans_agree_with_the_pit_s_own() -> None:
    blocks = blocks_of(layer(ribbon(n_draws=3)))
    pit = find_cut(blocks, TERMS)
    levels = pit.mined.sum(axis=0)
    margins = margins_of(
        blocks,
        TERMS,
        [levels, np.zeros_like(levels)],
        shares=slice_shares(blocks, pit.slice_m),
        washed=choose_washing(blocks, TERMS),
        kept_factor=1.0,
    )
    assert margins.shape == (3, 3)
    npt.assert_allclose(margins[0], pit.revenue(TERMS) - pit.cost(TERMS))
    npt.assert_allclose(margins[1:], 0.0)
