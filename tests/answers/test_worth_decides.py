"""Mine, sample more or walk away: the rule alone, and on a ground with a gap."""

from dataclasses import replace
from typing import Any

import pytest

from pennyweight.answers import digplan, mineground, worth
from pennyweight.answers.answer import BookName
from pennyweight.answers.oneday import OneMoreDay
from pennyweight.answers.reading import Reading
from pennyweight.answers.worth import WorthAnswer, weigh_worth
from pennyweight.answers.worthsaid import Case, decide
from pennyweight.records import Ground, Log
from pennyweight.worth.stones import Stones
from pennyweight.worth.terms import read_terms
from tests.answers.test_nextdigs_answer import (
    MONEY,
    doubtful_field,
    invented_trace,
    lines,
)

NO_STONES = Stones(largest_m=None, too_big_share=0.0, unmoved_share=0.0, told=0)


def one_day(value: float, cost: float, digs: int = 2) -> OneMoreDay:
    return OneMoreDay(
        digs=digs,
        hours=5.0,
        expected_now=0.0,
        expected_after=value,
        value=value,
        cost=cost,
        net=value - cost,
        noise=0.0,
        chance_of_turning=0.1,
    )


def case(margin: float, loss: float, day: OneMoreDay | None) -> Case:
    return Case(
        margin=margin,
        loss=loss,
        low=-4_000.0,
        day=day,
        stones=NO_STONES,
        terms=read_terms(
            Ground(gold_price_per_g=60.0, currency="USD", costs={"wash_per_m3": 5.0})
        ),
        all_poor=False,
    )


@pytest.mark.parametrize(
    ("margin", "loss", "day", "decision", "says"),
    [
        (1000.0, 0.05, one_day(0.0, 50.0), "mine", "Worth mining"),
        (1000.0, 0.05, one_day(300.0, 50.0), "sample more", "then mine"),
        (1000.0, 0.05, one_day(58.0, 50.0), "mine", "worth USD 58 over deciding now"),
        (1000.0, 0.30, one_day(40.0, 50.0), "mine", "test the cut in bulk"),
        (1000.0, 0.50, one_day(300.0, 50.0), "sample more", "a loss is near"),
        (1000.0, 0.50, one_day(40.0, 50.0), "mine", "bear to lose USD 4,000"),
        (1000.0, 0.70, None, "sample more", "a loss is nearer"),
        (-1000.0, 0.70, one_day(300.0, 50.0), "sample more", "it loses on average"),
        (-1000.0, 0.70, one_day(40.0, 50.0), "walk away", "Walk away"),
        (-1000.0, 0.70, None, "sample more", "more digs may turn it"),
        (-1000.0, 0.95, one_day(0.0, 0.0, digs=0), "walk away", "Leave it"),
    ],
)
def test_the_decision_follows_what_one_more_day_is_worth(
    margin: float, loss: float, day: OneMoreDay | None, decision: str, says: str
) -> None:
    found = decide(case(margin, loss, day))
    assert found.decision == decision
    assert says in found.verdict.replace("\u00a0", " ")


def test_stones_that_cannot_be_moved_end_the_matter_for_that_plant() -> None:
    barred = Stones(largest_m=1.2, too_big_share=0.2, unmoved_share=0.3, told=10)
    found = decide(replace(case(5000.0, 0.0, one_day(900.0, 0.0)), stones=barred))
    assert found.decision == "walk away"
    assert "30" in found.verdict


def weigh_gap(monkeypatch: pytest.MonkeyPatch, **costs: float) -> WorthAnswer:
    """Weigh a ground whose streak may or may not run through a gap of 20 m."""
    ground = MONEY | {"costs": {**MONEY["costs"], **costs}}
    reading = Reading(
        book=BookName(name="invented", id="1"),
        revision="1",
        log=Log(ground=Ground(**ground), digs=lines(0.0, 20.0, 40.0, 60.0)),
        made_at="then",
    )
    traced = invented_trace(reading.heading(), (doubtful_field(),))

    def answer(_: Any) -> Any:
        return traced

    for room in (digplan, mineground, worth):
        monkeypatch.setattr(room, "trace_streaks", answer)
    return weigh_worth(reading)


def test_a_doubtful_gap_makes_one_more_day_worth_a_computed_sum(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    day = weigh_gap(monkeypatch).one_more_day
    assert day is not None
    assert day.digs > 0
    assert day.value > 0.0
    assert day.expected_after == pytest.approx(day.expected_now + day.value)


def test_a_day_that_costs_more_than_it_brings_is_not_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cheap = weigh_gap(monkeypatch)
    dear = weigh_gap(monkeypatch, sampling_day=1e6)
    assert dear.one_more_day is not None
    assert dear.one_more_day.net < 0.0
    assert dear.decision != "sample more"
    assert cheap.one_more_day is not None
    assert cheap.one_more_day.value == pytest.approx(dear.one_more_day.value)
