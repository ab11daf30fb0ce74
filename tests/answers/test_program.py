"""The program, its two rules held against the ground, and the diary."""

import datetime
from collections.abc import Mapping
from typing import Any

import pytest
from scipy import stats

from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.diary import DiaryAnswer, days_for, read_diary
from pennyweight.answers.diarysaid import diary_verdict
from pennyweight.answers.grade import DigGrade
from pennyweight.answers.nextdigs import plan_digs
from pennyweight.answers.program import Closed, parse_closed, read_program
from pennyweight.answers.reading import Reading
from pennyweight.answers.rules import judge_line, judge_rules, say_go, say_leave
from pennyweight.answers.sentences import next_verdict, verdict_text
from pennyweight.records import Day, Dig, Ground, Layer, Log, Sample, Tally
from pennyweight.spread import Spread
from pennyweight.units import FEET_AND_YARDS, METRIC

PRICED: dict[str, Any] = {
    "gold_price_per_g": 60.0,
    "currency": "USD",
    "costs": {"wash_per_m3": 10.0, "strip_per_m3": 3.0},
}


def read(log: Log, made_at: str = "2026-07-20T08:00:00+00:00") -> Reading:
    return Reading(
        book=BookName(name="Creek (invented)", id="b"),
        revision="1",
        log=log,
        made_at=made_at,
    )


def washed_lines(
    colors: Mapping[str, int], program: Mapping[str, Any], **ground: Any
) -> Log:
    """Return lines of three digs to bedrock, as many colors in each dig of a line."""
    digs, layers, samples, tallies = [], [], [], []
    for number, (line, count) in enumerate(colors.items()):
        for at in range(3):
            name = f"{line}{at}"
            digs.append(
                Dig(
                    dig=name,
                    line=line,
                    easting_m=20.0 * number,
                    northing_m=4.0 * at,
                    bottom_m=1.0,
                    stopped_by="bedrock",
                    date=f"2026-07-{number + 1:02}",
                )
            )
            layers.append(Layer(dig=name, top_m=0.0, bottom_m=1.0, material="gravel"))
            samples.append(
                Sample(
                    sample=f"{name}s",
                    dig=name,
                    top_m=0.5,
                    bottom_m=1.0,
                    volume_m3=0.1,
                    state="bank",
                    date=f"2026-07-{number + 1:02}",
                )
            )
            tallies.append(Tally(sample=f"{name}s", size_class="0.5-1", colors=count))
    return Log(
        ground=Ground(program=dict(program), **ground),
        digs=tuple(digs),
        layers=tuple(layers),
        samples=tuple(samples),
        tallies=tuple(tallies),
        days=(Day(date="2026-07-01", by="Ann", hours=8.0, cost=40.0),),
    )


LEAVE = {"leave_after_lines": 2, "leave_below_mg_m3": 100.0}


@pytest.mark.parametrize(
    ("typed", "day", "inside"),
    [
        ("09-15 to 05-31", (12, 24), True),
        ("09-15 to 05-31", (5, 31), True),
        ("09-15 to 05-31", (6, 1), False),
        ("06-01..06-30", (6, 15), True),
        ("06-01..06-30", (7, 1), False),
    ],
)
def test_a_closed_season_may_run_over_the_new_year(
    typed: str, day: tuple[int, int], inside: bool
) -> None:
    (season,) = parse_closed(typed)
    assert season.holds(datetime.date(2026, *day)) is inside


@pytest.mark.parametrize("typed", ["June", "06-31 to 07-02", "13-01 to 14-01"])
def test_what_is_no_season_is_told(typed: str) -> None:
    with pytest.raises(ValueError, match="09-15 to 05-31"):
        parse_closed(typed)


def test_a_program_is_read_and_what_is_no_number_is_not_said() -> None:
    program = read_program(
        {"people": 2, "days": "many", "digs": -3, "closed": "05-01 to 06-15", "x": 1}
    )
    assert (program.people, program.days, program.digs) == (2, None, None)
    assert program.closed == (Closed((5, 1), (6, 15)),)
    assert not program.has_leave_rule


def test_lines_without_gold_meet_the_rule_to_leave() -> None:
    rule = judge_rules(read(washed_lines({"A": 0, "B": 0}, LEAVE))).leave
    assert rule is not None
    assert [one.shows for one in rule.lines] == ["nothing", "nothing"]
    assert rule.state == "met"
    assert "It is met: leave" in say_leave(rule, METRIC)


def test_one_line_with_gold_keeps_from_leaving() -> None:
    rule = judge_rules(read(washed_lines({"A": 0, "B": 0, "C": 60}, LEAVE))).leave
    assert rule is not None
    assert rule.state == "not met"
    said = say_leave(rule, METRIC)
    assert "Above it lies line C: stay." in said
    assert "2 of 2 so far (lines A and B)" in said


def test_the_rule_speaks_in_the_readers_units() -> None:
    rule = judge_rules(read(washed_lines({"A": 0}, LEAVE))).leave
    assert rule is not None
    assert "76 mg/yd³" in say_leave(rule, FEET_AND_YARDS).replace("\xa0", " ")


def a_dig(grade: Spread | None, **more: Any) -> DigGrade:
    fields = dict.fromkeys(
        (
            "easting_m",
            "northing_m",
            "s_m",
            "n_m",
            "best_horizon",
            "pay_top_m",
            "pay_bottom_m",
            "overburden_m",
            "accumulation_mg_m2",
        )
    )
    own: dict[str, Any] = {"dig": "A1", "line": "A", "stopped_by": "bedrock"} | more
    return DigGrade(grade_mg_m3=grade, **own, **fields)


@pytest.mark.parametrize(
    ("dig", "shows", "why"),
    [
        (a_dig(Spread(1.0, 5.0, 40.0, 9.0)), "nothing", ""),
        (a_dig(Spread(90.0, 150.0, 400.0, 190.0)), "gold", ""),
        (a_dig(Spread(1.0, 5.0, 140.0, 30.0)), "open", "washed too little"),
        (a_dig(None), "open", "washed too little"),
        (a_dig(Spread(1.0, 5.0, 40.0, 9.0), unwashed=("s",)), "open", "still to wash"),
        (
            a_dig(Spread(1.0, 5.0, 40.0, 9.0), stopped_by="water"),
            "open",
            "no dig reached a contact",
        ),
    ],
)
def test_a_line_shows_nothing_only_where_that_is_sure(
    dig: DigGrade, shows: str, why: str
) -> None:
    line = judge_line("A", [dig], 100.0)
    assert line.shows == shows
    assert why in line.why


def test_without_a_price_the_rule_to_go_cannot_be_told() -> None:
    log = washed_lines({"A": 5, "B": 5}, {"go_below_chance_of_loss": 0.2})
    rule = judge_rules(read(log)).go
    assert rule is not None
    assert rule.state == "not told"
    assert "cannot be told yet" in say_go(rule)


@pytest.mark.parametrize(("limit", "state"), [(0.999, "met"), (1e-9, "not met")])
def test_the_rule_to_go_asks_for_the_chance_of_loss(limit: float, state: str) -> None:
    log = washed_lines(
        {"A": 60, "B": 62, "C": 57}, {"go_below_chance_of_loss": limit}, **PRICED
    )
    rule = judge_rules(read(log)).go
    assert rule is not None
    assert rule.chance_of_loss is not None
    assert rule.state == state


def test_people_share_the_hours_of_the_plan() -> None:
    colors = {"A": 30, "B": 20, "C": 40}
    alone = plan_digs(read(washed_lines(colors, {})))
    two = plan_digs(read(washed_lines(colors, {"people": 2})))
    assert alone.assumptions["people"] == 1
    assert "people" not in two.assumptions
    assert two.people == 2
    assert two.hours > alone.hours


def test_a_rule_that_is_met_comes_before_the_digs() -> None:
    answer = plan_digs(read(washed_lines({"A": 0, "B": 0}, LEAVE)))
    assert verdict_text(next_verdict(answer, METRIC)).startswith("Your rule: leave")
    told = to_json(answer)
    assert told["rules"]["leave"]["state"] == "met"


def test_a_plan_in_a_closed_season_says_so() -> None:
    program = {"closed": "07-15 to 08-31"}
    log = washed_lines({"A": 9, "B": 7}, program)
    assert any("closed season" in one for one in plan_digs(read(log)).cautions)
    open_day = plan_digs(read(log, "2026-09-01T08:00:00+00:00"))
    assert not any("closed season" in one for one in open_day.cautions)


def diary_of(program: Mapping[str, Any]) -> DiaryAnswer:
    return read_diary(read(washed_lines({"A": 4, "B": 2}, program)))


def test_the_diary_joins_what_was_written_with_what_was_dug() -> None:
    first, second = diary_of({}).days
    assert (first.date, first.by, first.hours) == ("2026-07-01", "Ann", 8.0)
    assert first.digs == ("A0", "A1", "A2")
    assert (first.colors, second.colors) == (12, 6)
    assert (first.written, second.written) == (True, False)


def test_months_add_up() -> None:
    (july,) = diary_of({}).months
    assert (july.month, july.days, july.digs, july.samples) == ("2026-07", 2, 6, 6)
    assert (july.hours, july.cost) == (8.0, 40.0)


def test_the_rest_of_the_program_is_reckoned_at_the_pace_so_far() -> None:
    """Digs a day are Poisson: so long until 12 more is gamma with 12 of them known."""
    progress = {one.what: one for one in diary_of({"digs": 18, "lines": 2}).progress}
    days_left = progress["digs"].days_left
    assert days_left is not None
    rates = stats.gamma(6.5, scale=1.0 / 2.0)
    assert days_left.p50 == pytest.approx(12.0 / rates.ppf(0.5))
    assert days_left.p90 == pytest.approx(12.0 / rates.ppf(0.1))
    assert (progress["lines"].done, progress["lines"].days_left) == (2.0, None)


def test_the_mean_of_the_days_left_is_that_of_an_inverse_gamma() -> None:
    assert days_for(10.0, 4, 2).mean == pytest.approx(20.0 / 3.5)


def test_the_diary_is_said() -> None:
    said = verdict_text(diary_verdict(diary_of({"digs": 18, "lines": 2})))
    said = said.replace("\xa0", " ")
    assert "2 days so far, 6 digs, 8 hours on the clock." in said
    assert "12 digs of the program are left: about" in said
    assert "All lines of the program are done." in said
    assert "1 day has no entry yet." in said


def test_an_empty_diary_says_what_to_write() -> None:
    said = verdict_text(diary_verdict(read_diary(read(Log(ground=Ground())))))
    assert "No day is written down yet" in said
