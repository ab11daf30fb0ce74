"""Worth of looking, against closed forms, brute force and grounds of known truth."""

import numpy as np
import numpy.testing as npt
import pytest
from scipy.stats import nbinom, norm

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
    look_at,
    simulate_counts,
    tell,
    tell_nothing,
)


def even_draws(n_draws: int = 240) -> np.ndarray:
    """Return a block that is worth +100 or -100, as likely, in any one draw."""
    return np.where(np.arange(n_draws) % 2 == 0, 100.0, -100.0)


def look(expected: np.ndarray, seed: int = 1) -> np.ndarray:
    return look_at(simulate_counts(expected, np.random.default_rng(seed)))


def gain(looks: np.ndarray, value: np.ndarray) -> ExpectedGain:
    before = tell_nothing(value)
    return gain_of(before, tell(before, looks, value), value)


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


def test_a_look_has_mean_0_and_holds_the_logarithm_of_the_count() -> None:
    """Counts of 0, 1 and 3: ln 0.5, ln 1.5, ln 3.5, less their mean of 0.3217."""
    looks = look_at(np.array([[0.0, 1.0, 3.0]]))
    npt.assert_allclose(looks[:, 0], [-1.0148, 0.0838, 0.9311], atol=1e-3)
    npt.assert_allclose(looks.sum(axis=0), 0.0, atol=1e-12)


def test_what_is_told_is_least_squares_where_nothing_is_shrunk() -> None:
    """Without noise the fit is that of numpy's least squares."""
    rng = np.random.default_rng(3)
    looks = look(rng.lognormal(1.0, 1.0, (2, 300)))
    value = 5.0 + looks @ rng.normal(size=(4, 6))
    told = tell(tell_nothing(value), looks, value).value
    columns = np.column_stack([np.ones(300), looks])
    fitted = columns @ np.linalg.lstsq(columns, value, rcond=None)[0]
    npt.assert_allclose(told, fitted, atol=1e-9)


def test_looks_one_after_the_other_tell_what_they_tell_together() -> None:
    rng = np.random.default_rng(6)
    one, two = (look(rng.lognormal(1.0, 1.0, (1, 300)), seed) for seed in (1, 2))
    value = np.column_stack([one[:, 0] + two[:, 0], two[:, 1] - one[:, 1]])
    step = tell(tell(tell_nothing(value), one, value), two, value)
    once = tell(tell_nothing(value), np.hstack([one, two]), value)
    assert step.basis.shape[1] == once.basis.shape[1] == 4
    npt.assert_allclose(step.value, once.value, atol=1.0)


def test_seeing_the_truth_is_worth_half_the_stake() -> None:
    """Worth +100 or -100, leave now: knowing brings 50 on average, never wrong."""
    value = even_draws()[:, None]
    expected = np.where(value[:, 0] > 0.0, 4000.0, 0.01)[None]
    found = gain(look(expected), value)
    npt.assert_allclose(found.value, 50.0, atol=1.0)
    npt.assert_allclose(found.wrong, 0.5, atol=0.01)


def test_seeing_nothing_new_is_worth_nothing() -> None:
    rng = np.random.default_rng(4)
    value = rng.normal(20.0, 100.0, (240, 5))
    assert gain(np.zeros((240, 2)), value) == ExpectedGain(value=0.0, wrong=0.0)
    before = tell_nothing(value)
    looks = look(rng.lognormal(1.0, 1.0, (1, 240)))
    once = tell(before, looks, value)
    assert tell(once, looks, value) is once


def test_an_unrelated_look_is_worth_next_to_nothing() -> None:
    """Knowing all is worth 31.2 a block here: 100 phi(0.2) - 20 Phi(-0.2)."""
    found = []
    for seed in range(40):
        rng = np.random.default_rng([seed, 4])
        value = rng.normal(20.0, 100.0, (240, 1))
        found.append(gain(look(rng.lognormal(1.0, 1.0, (1, 240)), seed), value).value)
    assert np.mean(found) < 0.02 * 31.2


def test_gain_by_draws_agrees_with_gain_by_enumeration() -> None:
    """Two states, rates 2 and 9: sum over counts of the better of mine and leave.

    What is expected is no parabola of the logarithm of the count here, so that some of
    the gain is missed; none is made up.
    """
    value = np.tile([300.0, -100.0], 200)[:, None]
    rates = np.tile([9.0, 2.0], 200)[None]
    counts = np.arange(200)
    law = [
        nbinom.pmf(counts, PATCHINESS, PATCHINESS / (PATCHINESS + rate))
        for rate in (9.0, 2.0)
    ]
    joint = 0.5 * (300.0 * law[0] - 100.0 * law[1])
    exact = np.maximum(joint, 0.0).sum() - max(100.0, 0.0)
    found = [gain(look(rates, seed), value).value for seed in range(12)]
    assert 0.8 * exact < np.mean(found) < 1.02 * exact


def test_gain_agrees_with_the_normal_closed_form() -> None:
    """A linear look at a normal value: s phi(m/s) - m Phi(-m/s), s^2 = R^2 sd^2.

    Unit normal loss integral (Raiffa and Schlaifer 1961), for a block that is mined
    now: mean 20, sd 100, a look that explains a quarter of the variance.
    """
    rng = np.random.default_rng(12)
    seen = rng.normal(size=60_000)
    value = (20.0 + 50.0 * seen + 75.0**0.5 * 10.0 * rng.normal(size=60_000))[:, None]
    looks = np.column_stack([seen, seen**2])
    found = gain(looks - looks.mean(axis=0), value).value
    exact = 50.0 * norm.pdf(0.4) - 20.0 * norm.sf(0.4)
    npt.assert_allclose(found, exact, rtol=0.06)


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
    chosen = choose_batch(options, value, hours=4.0)
    assert {one.index for one in chosen} in ({0, 1}, {1, 2})
    assert chosen[0].index in (0, 2)
    assert chosen[0].gain.value > chosen[1].gain.value > 0.0


def test_a_batch_keeps_to_its_hours() -> None:
    options, value = make_options((2.0, 2.5, 9.0))
    chosen = choose_batch(options, value, hours=4.0)
    assert [one.index for one in chosen] == [0]
    assert choose_batch(options, value, hours=1.0) == []


def test_gain_is_reckoned_for_an_hour() -> None:
    options, value = make_options((8.0, 1.0, 8.0))
    assert choose_batch(options, value, hours=9.0)[0].index == 1


def test_a_dig_that_tells_of_no_block_is_never_chosen() -> None:
    options, value = make_options()
    blind = Option(options[0].looks, np.zeros(2, dtype=bool), 0.0, 1.0)
    assert choose_batch([blind], value, hours=8.0) == []


def test_progress_is_told() -> None:
    told: list[float] = []
    options, value = make_options()
    choose_batch(options, value, hours=4.0, progress=lambda at, _: told.append(at))
    assert told == sorted(told)
    assert told[0] == 0.0
