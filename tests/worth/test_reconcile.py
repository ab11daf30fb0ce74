"""Gold won beside gold expected: by hand, and on made grounds never seen before."""

import numpy as np
import pytest

from pennyweight.worth.reconcile import (
    Priors,
    chance_of_outside,
    compare_cut,
    learn_from_cuts,
)

ONE_PERCENT = 0.01
SURE = Priors(common_rel_sd=1e-3, recovery=0.8, recovery_rel_sd=1e-3, model_rel_sd=1e-3)
USUAL = Priors(common_rel_sd=0.25, recovery=0.8, recovery_rel_sd=0.10)
#: Made grounds; a share of 0.8 of them is known to two standard errors of 0.023.
GROUNDS, TWO_ERRORS = 300, 0.047


def made_ground(
    rng: np.random.Generator, priors: Priors, n_cuts: int
) -> tuple[np.ndarray, np.ndarray, dict[str, float]]:
    """Return draws, gold won, and the true factors of a ground made by the rules.

    Cuts share part of what is not known of them, as neighbors do.
    """
    truth: dict[str, float] = {}
    for name, rel_sd in (
        ("common", priors.common_rel_sd),
        ("model", priors.model_rel_sd),
    ):
        variance = np.log1p(rel_sd**2)
        score = rng.standard_normal()
        truth[name] = float(np.exp(np.sqrt(variance) * score - variance / 2.0))
    sd = np.sqrt(np.log1p(priors.recovery_rel_sd**2))
    recovery = 2.0
    while recovery > 1.0:
        recovery = float(priors.recovery * np.exp(sd * rng.standard_normal()))
    truth["recovery"] = recovery
    truth["ground"] = truth["common"] * truth["model"]
    truth["call"] = truth["ground"] * recovery / priors.recovery
    level = rng.uniform(500.0, 8000.0, n_cuts)
    covariance = 0.3**2 * (np.eye(n_cuts) + 0.5)
    root = np.linalg.cholesky(covariance)

    def draw(count: int) -> np.ndarray:
        logs = rng.standard_normal((count, n_cuts)) @ root.T
        return np.asarray(level * np.exp(logs - np.diag(covariance) / 2.0))

    survey = np.log1p(priors.survey_rel_sd**2)
    error = np.exp(np.sqrt(survey) * rng.standard_normal(n_cuts))
    won = draw(1)[0] * truth["common"] * truth["model"] * recovery * error
    return draw(240), won, truth


@pytest.mark.parametrize("part", ["call", "ground", "recovery", "common"])
def test_intervals_hold_the_true_factor_as_often_as_they_say(part: str) -> None:
    """80 % of 300 grounds made with a seed that nothing was set by."""
    rng = np.random.default_rng(773_021)
    held, n_sharper = 0, 0
    for at in range(GROUNDS):
        gold, won, truth = made_ground(rng, USUAL, 1 + at % 6)
        found = learn_from_cuts(gold, won, priors=USUAL)
        now = found.spread_of_part(part)
        held += now.p10 <= truth[part] <= now.p90
        before = found.spread_of_part(part, before=True)
        n_sharper += now.p90 - now.p10 < 1.1 * (before.p90 - before.p10)
    assert abs(held / GROUNDS - 0.8) < TWO_ERRORS
    assert n_sharper > 0.6 * GROUNDS


def test_a_cut_lies_in_its_interval_as_often_as_it_should() -> None:
    rng = np.random.default_rng(90_417)
    inside = []
    for _ in range(GROUNDS):
        gold, won, truth = made_ground(rng, USUAL, 1)
        # Draws of the estimate do not know the common factor: they carry its prior.
        variance = np.log1p(USUAL.common_rel_sd**2)
        common = np.sqrt(variance) * rng.standard_normal(len(gold)) - variance / 2.0
        found = compare_cut(
            gold[:, 0] * np.exp(common), float(won[0]), priors=USUAL, rng=rng
        )
        inside.append(found.inside)
        assert truth["recovery"] <= 1.0
    assert abs(np.mean(inside) - 0.8) < TWO_ERRORS


def test_one_cut_by_hand() -> None:
    """All known but the estimate (sd 0.2) and the cut's own error (0.08).

    Gold of 1000 mg, 0.8 kept, 600 won: ln 0.75 = -0.2877. In logs the estimate has
    the variance 0.03922 and mean -0.01961, the error 0.00638: the posterior mean is
    -0.01961 + 0.03922 / (0.03922 + 0.00638) x (-0.2877 + 0.01961) = -0.2502.
    """
    priors = Priors(common_rel_sd=1e-3, recovery=0.8, recovery_rel_sd=1e-3)
    found = learn_from_cuts(np.full((2, 1), 1000.0), [600.0], priors=priors)
    middle = found.spread_of_part("model").p50
    assert np.log(middle) == pytest.approx(-0.2502, abs=ONE_PERCENT)


def test_the_difference_is_divided_by_what_each_was_thought_able_to_do() -> None:
    """In logs by their variances: sampling 0.3 takes four times what 0.15 takes."""
    priors = Priors(
        common_rel_sd=0.30, recovery=0.5, recovery_rel_sd=0.15, model_rel_sd=0.15
    )
    found = learn_from_cuts(np.full((2, 30), 1000.0), np.full(30, 350.0), priors=priors)
    moved = {
        part: np.log(found.spread_of_part(part).p50)
        - np.log(found.spread_of_part(part, before=True).p50)
        for part in ("common", "recovery", "model")
    }
    assert moved["common"] / moved["recovery"] == pytest.approx(3.87, rel=0.03)
    assert moved["recovery"] == pytest.approx(moved["model"], rel=0.03)
    assert sum(moved.values()) < 0.0


def test_a_recovery_never_goes_above_one() -> None:
    priors = Priors(common_rel_sd=0.1, recovery=0.95, recovery_rel_sd=0.2)
    found = learn_from_cuts(np.full((2, 5), 1000.0), np.full(5, 1500.0), priors=priors)
    assert found.spread_of_part("recovery").p90 < 1.0
    assert found.spread_of_part("ground").p50 > 1.2


def test_neighbors_that_share_their_doubt_count_for_less() -> None:
    rng = np.random.default_rng(5)
    alike = np.exp(0.4 * rng.standard_normal((4000, 1)) - 0.08) * np.ones(4) * 1000.0
    apart = np.exp(0.4 * rng.standard_normal((4000, 4)) - 0.08) * 1000.0
    widths = []
    for gold in (alike, apart):
        found = learn_from_cuts(gold, np.full(4, 800.0), priors=USUAL)
        call = found.spread_of_part("call")
        widths.append(np.log(call.p90 / call.p10))
    assert widths[1] < 0.85 * widths[0]


def test_no_clean_up_leaves_all_as_it_was() -> None:
    found = learn_from_cuts(np.zeros((2, 0)), [], priors=USUAL)
    assert found.spread_of_part("call") == found.spread_of_part("call", before=True)
    assert found.spread_of_part("common").mean == pytest.approx(1.0, abs=1e-3)


def test_draws_follow_the_posterior() -> None:
    gold, won, _ = made_ground(np.random.default_rng(8), USUAL, 4)
    found = learn_from_cuts(gold, won, priors=USUAL)
    common, recovery, model = found.draw(20_000, np.random.default_rng(9))
    assert np.median(common * model) == pytest.approx(
        found.spread_of_part("ground").p50, rel=2 * ONE_PERCENT
    )
    assert recovery.max() <= 1.0


def test_gold_won_exactly_as_expected_lies_in_the_middle() -> None:
    found = compare_cut(
        np.full(500, 1000.0), 800.0, priors=SURE, rng=np.random.default_rng(1)
    )
    assert found.inside
    assert found.chance_below == pytest.approx(0.5, abs=0.05)
    assert found.expected_mg.mean == pytest.approx(800.0, rel=ONE_PERCENT)


def test_a_barren_clean_up_lies_below_all_that_was_expected() -> None:
    found = compare_cut(
        np.full(50, 1000.0), 0.0, priors=USUAL, rng=np.random.default_rng(1)
    )
    assert (found.inside, found.chance_below) == (False, 0.0)


def test_the_chance_of_cuts_outside_is_binomial() -> None:
    """Two or more of four: 1 - 0.8^4 - 4 x 0.2 x 0.8^3 = 0.1808."""
    assert chance_of_outside(2, 4) == pytest.approx(0.1808)
    assert chance_of_outside(0, 4) == 1.0
    with pytest.raises(ValueError, match="5 of 4"):
        chance_of_outside(5, 4)


def test_odd_numbers_are_named() -> None:
    with pytest.raises(ValueError, match=r"recovery is 1\.2"):
        Priors(common_rel_sd=0.1, recovery=1.2, recovery_rel_sd=0.1)
    with pytest.raises(ValueError, match=r"won down to 0\.0 mg"):
        learn_from_cuts(np.ones((2, 1)), [0.0], priors=USUAL)
    with pytest.raises(ValueError, match=r"shape \(1, 1\)"):
        learn_from_cuts(np.ones((1, 1)), [1.0], priors=USUAL)
    with pytest.raises(ValueError, match=r"-1\.0 mg"):
        compare_cut(np.ones(3), -1.0, priors=USUAL, rng=np.random.default_rng(1))
    with pytest.raises(ValueError, match="'luck'"):
        learn_from_cuts(np.zeros((2, 0)), [], priors=USUAL).spread_of_part("luck")
