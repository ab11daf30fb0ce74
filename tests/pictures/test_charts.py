"""Twenty dots, each one chance in twenty; a loss is red and never hidden."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.pictures.charts import draw_gold_chart, draw_margin_chart, stack_dots
from pennyweight.pictures.gradecharts import (
    draw_cumulative_chart,
    draw_grades_chart,
    reliability_of,
)
from pennyweight.pictures.svg import Look
from pennyweight.spread import Spread
from tests.pictures import made_answers as made

LOOK = Look(width_px=760)


def test_a_distribution_is_twenty_dots() -> None:
    picture = draw_gold_chart(made.trace(), LOOK)
    assert picture.count(f'fill="{LOOK.palette.gold}"') == 20


def test_eleven_of_twenty_chances_of_loss_are_eleven_red_rings() -> None:
    """54 % of the draws lose; the 11th of twenty dots stands at the 52.5 % point."""
    picture = draw_margin_chart(made.worth(losing=True), LOOK)
    assert picture.count(f'stroke="{LOOK.palette.danger}" stroke-width="2"') == 11
    assert "The chance of a loss is 54\u00a0%." in picture


def test_without_a_loss_nothing_is_red() -> None:
    worth = replace(made.worth(), margin_draws=np.linspace(100.0, 200.0, 50))
    assert LOOK.palette.danger not in draw_margin_chart(worth, LOOK)


def test_equal_draws_still_make_a_chart() -> None:
    worth = replace(made.worth(), margin_draws=np.full(10, 5.0))
    assert draw_margin_chart(worth, LOOK).count("<circle") == 21


def test_no_cut_is_a_sentence() -> None:
    worth = replace(made.worth(), margin_draws=None)
    assert "No cut is proposed" in draw_margin_chart(worth, LOOK)


def test_an_unknown_total_is_a_sentence() -> None:
    trace = replace(made.trace(), gold_draws_g=None)
    assert "cannot be told yet" in draw_gold_chart(trace, LOOK)


def test_dots_that_share_a_place_are_stacked() -> None:
    size, stacks = stack_dots([10.0, 12.0, 100.0])
    assert size == 26.0
    assert stacks == [(11.0, 0), (11.0, 1), (100.0, 0)]


def test_a_loss_never_shares_a_stack_with_a_gain() -> None:
    size, stacks = stack_dots([10.0, 12.0], losses=1)
    assert [level for _, level in stacks] == [0, 0]
    assert stacks[1][0] - stacks[0][0] == pytest.approx(size)


def test_crowded_dots_shrink_until_they_fit() -> None:
    size, stacks = stack_dots([50.0] * 20)
    assert size == 7.0
    assert stacks[-1] == (50.0, 19)


def test_reliability_follows_the_half_width() -> None:
    """(124 - 80) / 2 / 100 = 22 %; (150 - 70) / 200 = 40 %; (250 - 50) / 200."""
    assert reliability_of(Spread(80.0, 100.0, 124.0, 100.0)) == "good"
    assert reliability_of(Spread(70.0, 100.0, 150.0, 100.0)) == "fair"
    assert reliability_of(Spread(50.0, 100.0, 250.0, 100.0)) == "poor"


def test_digs_left_out_of_the_chart_are_counted() -> None:
    assert "5\u00a0poorer digs left out." in draw_grades_chart(made.grade(), LOOK)


def test_no_grade_is_a_sentence() -> None:
    bare = replace(made.grade(), digs=())
    assert "no grade to draw" in draw_grades_chart(bare, LOOK)
    assert "nothing adds up" in draw_cumulative_chart(bare, LOOK)


def test_how_few_digs_hold_half_of_the_gold() -> None:
    picture = draw_cumulative_chart(made.grade(), LOOK)
    assert "Half of the gold found lies in 4 of 45\u00a0digs." in picture
