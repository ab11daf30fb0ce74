"""Worth of looking, against closed forms, brute force and grounds of known truth."""

import numpy as np
import numpy.testing as npt
import pytest
from scipy.stats import nbinom

from pennyweight.nextdig.batch import (
    Option,
    choose_batch,
    find_open_blocks,
)
from pennyweight.nextdig.gain import (
    PATCHINESS,
    ExpectedGain,
    expected_colors,
    gain_of,
    log_agreement,
    simulate_counts,
    weigh_others,
)


def even_draws(n_draws: int = 240) -> np.ndarray:
    """Return a block that is worth +100 or -100, as likely, in any one draw."""
    return np.where(np.arange(n_draws) % 2 == 0, 100.0, -100.0)


def look(expected: np.ndarray, seed: int = 1) -> np.ndarray:
    counts = simulate_counts(expected, np.random.default_rng(seed))
    return log_agreement(counts, expected)


def test_expected_colors_agree_with_hand_arithmetic() -> None:
    """60 mg/m2 over 0.3 m is 200 mg/m3; 0.04 m3 hold 8 mg, 16 colors, 14.4 found."""
    found = expected_colors(
        np.array([60.0]), np.array([0.3]), bank_m3=0.04, color_mg=0.5, recovery=0.9
    )
    npt.assert_allclose(found, [14.4])
    with pytest.raises(ValueError, match=r"color_mg is 0.0"):
        expected_colors(
            np.ones(1), np.ones(1), bank_m3=0.04, color_mg=0.0, recovery=0.9
        )


def test_simulated_counts_have_the_mean_and_spread_of_their_law() -> None:
    """Negative binomial of size 3: variance 12 + 12 x 12 / 3 = 60."""
    counts = simulate_counts(np.full(40_000, 12.0), np.random.default_rng(2))
    npt.assert_allclose(counts.mean(), 12.0, rtol=0.02)
    npt.assert_allclose(counts.var(), 60.0, rtol=0.05)


def test_agreement_is_the_likelihood_of_the_library() -> None:
    expected = np.array([[2.0, 8.0, 0.5], [1.0, 1.0, 4.0]])
    counts = np.array([[3.0, 9.0, 0.0], [0.0, 2.0, 5.0]])
    found = log_agreement(counts, expected)
    chance = PATCHINESS / (PATCHINESS + expected[:, None, :])
    law = np.sum(nbinom.logpmf(counts[:, :, None], PATCHINESS, chance), axis=0)
    npt.assert_allclose(found, law)


def test_weights_add_up_and_no_draw_judges_itself() -> None:
    weights = weigh_others(look(np.random.default_rng(0).lognormal(1, 1, (1, 60))))
    npt.assert_allclose(weights.sum(axis=1), 1.0)
    npt.assert_allclose(np.diag(weights), 0.0)
    assert np.all(1.0 / (weights**2).sum(axis=1) > 11.9)


def test_seeing_the_truth_is_worth_half_the_stake() -> None:
    """Worth +100 or -100, leave now: knowing brings 50 on average, never wrong."""
    value = even_draws()[:, None]
    expected = np.where(value[:, 0] > 0.0, 4000.0, 0.01)[None]
    gain = gain_of(weigh_others(look(expected)), value)
    npt.assert_allclose(gain.value, 50.0, atol=1.0)
    npt.assert_allclose(gain.wrong, 0.5, atol=0.01)


def test_seeing_nothing_new_is_worth_nothing() -> None:
    rng = np.random.default_rng(4)
    value = rng.normal(20.0, 100.0, (240, 5))
    gain = gain_of(weigh_others(look(np.full((1, 240), 5.0))), value)
    assert abs(gain.value) < 1e-9
    unrelated = gain_of(weigh_others(look(rng.lognormal(1.0, 1.0, (1, 240)))), value)
    assert unrelated.value < 15.0


def test_gain_by_draws_agrees_with_gain_by_enumeration() -> None:
    """Two states, rates 2 and 9: sum over counts of the better of mine and leave."""
    value = np.tile([300.0, -100.0], 200)[:, None]
    rates = np.tile([9.0, 2.0], 200)[None]
    counts = np.arange(200)
    law = [
        nbinom.pmf(counts, PATCHINESS, PATCHINESS / (PATCHINESS + rate))
        for rate in (9.0, 2.0)
    ]
    joint = 0.5 * (300.0 * law[0] - 100.0 * law[1])
    exact = np.maximum(joint, 0.0).sum() - max(100.0, 0.0)
    found = [
        gain_of(weigh_others(look(rates, seed)), value).value for seed in range(12)
    ]
    npt.assert_allclose(np.mean(found), exact, rtol=0.15)


def test_noise_alone_is_not_taken_for_value() -> None:
    assert ExpectedGain(value=3.0, wrong=0.0, noise=5.0).sure_value == 0.0
    assert ExpectedGain(value=7.0, wrong=0.0, noise=5.0).sure_value == 7.0


def test_settled_blocks_are_left_out() -> None:
    value = np.column_stack([np.full(100, 5.0), np.full(100, -5.0), even_draws(100)])
    npt.assert_array_equal(find_open_blocks(value), [False, False, True])


def make_options(
    hours: tuple[float, ...] = (2.0, 2.0, 2.0),
) -> tuple[list[Option], np.ndarray]:
    """Return two independent blocks, a dig on each, and a twin of the first dig."""
    rng = np.random.default_rng(9)
    first, second = rng.normal(size=(2, 240)) > 0.0
    value = np.column_stack(
        [np.where(first, 100.0, -100.0), np.where(second, 60.0, -60.0)]
    )
    rates = [np.where(one, 30.0, 1.0)[None] for one in (first, second, first)]
    near = [np.array([True, False]), np.array([False, True]), np.array([True, False])]
    places = (0.0, 100.0, 1.0)
    options = [
        Option(look(rate, seed), blocks, s_m, cost)
        for seed, (rate, blocks, s_m, cost) in enumerate(
            zip(rates, near, places, hours, strict=True)
        )
    ]
    return options, value


def test_the_second_dig_is_not_the_twin_of_the_first() -> None:
    options, value = make_options()
    chosen = choose_batch(options, value, hours=4.0, reach_m=30.0)
    assert {one.index for one in chosen} in ({0, 1}, {1, 2})
    assert chosen[0].index in (0, 2)
    assert chosen[0].gain.value > chosen[1].gain.value > 0.0


def test_a_batch_keeps_to_its_hours() -> None:
    options, value = make_options((2.0, 2.5, 9.0))
    chosen = choose_batch(options, value, hours=4.0, reach_m=30.0)
    assert [one.index for one in chosen] == [0]
    assert choose_batch(options, value, hours=1.0, reach_m=30.0) == []


def test_gain_is_reckoned_for_an_hour() -> None:
    options, value = make_options((8.0, 1.0, 8.0))
    assert choose_batch(options, value, hours=9.0, reach_m=30.0)[0].index == 1


def test_a_dig_that_tells_of_no_block_is_never_chosen() -> None:
    options, value = make_options()
    blind = Option(options[0].agreement, np.zeros(2, dtype=bool), 0.0, 1.0)
    assert choose_batch([blind], value, hours=8.0, reach_m=30.0) == []


def test_progress_is_told() -> None:
    told: list[float] = []
    options, value = make_options()
    choose_batch(
        options, value, hours=4.0, reach_m=30.0, progress=lambda at, _: told.append(at)
    )
    assert told == sorted(told)
    assert told[0] == 0.0


def test_weights_too_sharp_to_flatten_are_left_after_five_halvings() -> None:
    """A difference of 1e6 is 31,250 after five halvings: one draw still speaks."""
    weights = weigh_others(np.diag(np.full(59, 1.0e6), 1))
    npt.assert_allclose(weights[:-1].max(axis=1), 1.0)
