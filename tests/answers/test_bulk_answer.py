"""The bulk test and gold by the hour, of an invented creek."""

from dataclasses import replace

import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.bulktest import BulkAnswer, plan_bulk
from pennyweight.answers.handwork import weigh_handwork
from pennyweight.answers.reading import Reading
from pennyweight.answers.worth import weigh_worth
from pennyweight.errors import CallError, TooLittleError
from pennyweight.records import Cleanup, Day, Log
from tests.answers.made_season import season

CLEANUPS = (
    Cleanup(
        cleanup="C1",
        area="Lower cut",
        bank_volume_m3=8.0,
        weighed_mg=4000.0,
        hours=40.0,
    ),
    Cleanup(cleanup="C2", area="Lower cut", weighed_mg=3000.0, hours=30.0),
    Cleanup(cleanup="C3", area="Lower cut", weighed_mg=3000.0),
)


@pytest.fixture(scope="module")
def reading() -> Reading:
    return season(cleanups=CLEANUPS)


@pytest.fixture(scope="module")
def bulk(reading: Reading) -> BulkAnswer:
    return plan_bulk(reading, within=0.4)


def test_places_lie_apart_in_the_ground_that_is_tested(bulk: BulkAnswer) -> None:
    assert bulk.plan is not None
    assert len(bulk.places) == bulk.plan.places > 2
    assert sum(one.bank_m3 for one in bulk.places) == pytest.approx(bulk.plan.bank_m3)
    along = [one.s_m for one in bulk.places]
    assert max(along) - min(along) > 15.0
    assert all(one.top_m is not None for one in bulk.places)


def test_a_closer_test_takes_more(bulk: BulkAnswer) -> None:
    hours = [one.hours for one in bulk.ladder if one.hours is not None]
    assert hours == sorted(hours)
    assert len(hours) > 1


def test_chances_of_its_verdicts_add_up(bulk: BulkAnswer) -> None:
    look = bulk.outlook
    assert look is not None
    total = look.chance_confirmed + look.chance_refuted + look.chance_open
    assert total == pytest.approx(1.0)
    assert look.chance_wrong < 0.2


def test_another_grade_to_confirm_changes_the_chances(reading: Reading) -> None:
    chances = []
    for threshold in (1.0, 100_000.0):
        look = plan_bulk(reading, within=0.4, threshold_mg_m3=threshold).outlook
        assert look is not None
        chances.append((look.chance_confirmed, look.chance_refuted))
    assert chances[0][0] + chances[1][0] < 1.01
    assert chances[0][1] == 0.0


def test_what_cannot_be_reached_is_said(reading: Reading) -> None:
    found = plan_bulk(reading, within=0.06, sure=0.95)
    assert found.plan is None
    assert found.places == ()
    assert found.verdict.startswith("No bulk test")


def test_odd_wishes_are_wrong_calls(reading: Reading) -> None:
    with pytest.raises(CallError, match="2%"):
        plan_bulk(reading, within=0.02)
    with pytest.raises(CallError, match=r"-1\.0 mg/m3"):
        plan_bulk(reading, threshold_mg_m3=-1.0)


def test_ground_without_places_or_pans_is_refused() -> None:
    empty = season()
    empty.log = Log(ground=empty.log.ground)
    with pytest.raises(TooLittleError):
        plan_bulk(empty)


def test_every_assumption_of_the_test_has_its_words(bulk: BulkAnswer) -> None:
    for key in bulk.assumptions:
        assert find_assumption(key)[0] is not None, key
    assert to_json(bulk)["plan"]["places"] == len(bulk.places)


def test_gold_by_the_hour_is_told_for_clean_ups_and_for_days_apart(
    reading: Reading,
) -> None:
    """7 g in 70 h: 100 mg an hour; one clean-up without hours is left out."""
    found = weigh_handwork(reading)
    by_kind = {one.kind: one for one in found.kinds}
    assert by_kind["clean-up"].work.per_hour.p50 == pytest.approx(100.0, rel=0.15)
    assert by_kind["clean-up"].work.outings == 2
    assert by_kind["sampling day"].work.hours == 32.0
    assert found.left_out == 1
    assert found.cost_per_hour == pytest.approx(2.5)


def test_an_hour_is_told_in_money_where_there_is_a_price(reading: Reading) -> None:
    """100 mg x 0.88 x 60 a gram = 5.28 an hour."""
    money = weigh_handwork(reading).kinds[0].money_per_hour
    assert money is not None
    assert money.p50 == pytest.approx(5.28, rel=0.15)
    bare = weigh_handwork(season(cleanups=CLEANUPS, gold_price_per_g=None))
    assert bare.kinds[0].money_per_hour is None
    assert "Without a price" in bare.verdict


def test_volume_is_told_only_by_outings_that_measured_it(reading: Reading) -> None:
    """4 g from 8 m3: 500 mg/m3; 8 m3 in 40 h."""
    one = weigh_handwork(reading).kinds[0]
    assert one.gold_mg_m3 is not None
    assert one.gold_mg_m3.p10 < 500.0 < one.gold_mg_m3.p90
    assert one.m3_per_hour == pytest.approx(0.2)


def test_hours_dug_alone_are_reckoned_up_and_said_to_be() -> None:
    reading = season()
    days = tuple(replace(one, hours=None) for one in reading.log.days)
    reading.log = replace(reading.log, days=days)
    found = weigh_handwork(reading)
    assert found.outings[0].hours == pytest.approx(8.0)
    assert found.assumptions["clock_per_worked_hour"] == 1.6


def test_a_day_whose_sample_waits_is_left_out() -> None:
    reading = season()
    waiting = reading.log.tallies[0].sample
    reading.log = replace(
        reading.log,
        tallies=tuple(one for one in reading.log.tallies if one.sample != waiting),
        days=(*reading.log.days, Day(date="2026-07-30", hours=6.0)),
    )
    found = weigh_handwork(reading)
    assert [one.name for one in found.outings] == [
        "2026-07-02",
        "2026-07-03",
        "2026-07-04",
    ]
    assert found.left_out == 2


def test_nothing_written_down_says_what_to_write() -> None:
    reading = season()
    reading.log = replace(reading.log, days=())
    found = weigh_handwork(reading)
    assert found.kinds == ()
    assert found.verdict.startswith("No stretch of work")


def test_the_grade_that_is_tested_is_that_of_the_pay_that_is_washed(
    reading: Reading, bulk: BulkAnswer
) -> None:
    """Gold of the cut over its pay, as worth reckons it: within a third."""
    found = weigh_worth(reading)
    assert found.cut is not None
    assert found.gold_g is not None
    by_worth = found.gold_g.p50 * 1000.0 / found.cut.pay_m3
    assert bulk.grade_mg_m3.p50 == pytest.approx(by_worth, rel=0.33)
