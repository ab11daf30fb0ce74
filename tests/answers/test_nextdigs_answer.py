"""What next? Digs proposed for known, one-lined and empty grounds."""

import warnings
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from pennyweight.answers import digplan, mineground, nextdigs
from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.assumptions import find_assumption
from pennyweight.answers.digreasons import KIND_WORDS, find_reason, say_reason
from pennyweight.answers.nextdigs import (
    Gain,
    NextAnswer,
    ProposedDig,
    changes_little,
    plan_digs,
)
from pennyweight.answers.reading import Reading
from pennyweight.answers.sentences import next_verdict, verdict_text
from pennyweight.answers.trace import (
    Link,
    Merge,
    PathPoint,
    Streak,
    Total,
    TraceAnswer,
    ValleyField,
)
from pennyweight.errors import TooLittleError
from pennyweight.nextdig.candidates import Candidate
from pennyweight.records import Day, Dig, Ground, Log, Sample, Tally
from pennyweight.spread import Spread
from pennyweight.units import FEET_AND_YARDS, METRIC

MONEY: dict[str, Any] = {
    "gold_price_per_g": 60.0,
    "currency": "USD",
    "fineness": 850.0,
    "costs": {"wash_per_m3": 10.0, "strip_per_m3": 3.0},
    "plant": {"m3_per_hour": 4.0, "min_width_m": 2.0, "recovery": 0.8},
}
Ask = Callable[..., NextAnswer]


def lines(*places: float) -> tuple[Dig, ...]:
    """Return lines across a valley that runs east, five digs on each.

    The centerline that is laid through them begins 20 m above the first: they are at
    20, 40, 60 and 80 m along it.
    """
    return tuple(
        Dig(
            dig=f"{name}{at}",
            line=name,
            easting_m=s_m,
            northing_m=-n_m,
            bottom_m=0.8,
            stopped_by="bedrock",
        )
        for name, s_m in zip("ABCDEF", places, strict=False)
        for at, n_m in enumerate((-6.0, -3.0, 0.0, 3.0, 6.0))
    )


def doubtful_field(top_m: float = 0.4, width: int = 100) -> ValleyField:
    """Return a streak that may or may not run through the gap from 40 to 60 m."""
    rng = np.random.default_rng(3)
    s_m, n_m = np.linspace(0.5, width - 0.5, width), np.linspace(-9.5, 9.5, 20)
    there = rng.random(120) < 0.5
    level = np.where(there, 500.0, 5.0) * rng.lognormal(0.0, 0.2, 120)
    across = np.exp(-0.5 * (n_m / 1.5) ** 2)
    sure = 500.0 * rng.lognormal(0.0, 0.1, 120)
    gap = (s_m > 40.0) & (s_m < 60.0)
    along = np.where(gap, level[:, None], sure[:, None])
    gold = along[:, :, None] * across + 2.0
    return ValleyField(
        horizon="bedrock",
        s_m=s_m,
        n_m=n_m,
        accumulation_mg_m2=gold.astype(np.float32),
        thickness_m=np.full(gold.shape, 0.4, np.float32),
        top_m=np.full(gold.shape, top_m, np.float32),
        probability_above=(gold > 40.0).mean(axis=0),
        sampled=np.ones(gold.shape[1:], dtype=bool),
    )


def streak(probability: float) -> Streak:
    spread = Spread(0.0, 0.0, 0.0, 0.0)
    point = PathPoint(
        s_m=50.0,
        n_m=0.0,
        center_n_m=spread,
        easting_m=30.0,
        northing_m=0.0,
        probability=probability,
        top_m=None,
        thickness_m=None,
        width_m=spread,
        grade_mg_m3=spread,
    )
    return Streak(
        id="A",
        probability=probability,
        horizon="bedrock",
        path=(point,),
        links=(Link(from_line="B", to_line="C", probability=probability),),
        gold_g=spread,
        gravel_m3=spread,
    )


def invented_trace(
    heading: dict[str, Any], fields: tuple[ValleyField, ...]
) -> TraceAnswer:
    """Return one streak and one merge, both as likely as not."""
    merge = Merge(
        from_=("A", "B"),
        into="C",
        s_m=51.0,
        easting_m=31.0,
        northing_m=0.0,
        probability=0.5,
    )
    return TraceAnswer(
        **heading,
        cutoff_mg_m3=100.0,
        probability_of_any=1.0,
        streaks=(streak(0.5),) if fields else (),
        merges=(merge,) if fields else (),
        splits=(),
        total=Total(
            gold_g=None, gravel_m3=None, gold_g_above_cutoff=None, outline=None
        ),
        area=None,
        fields=fields,
    )


def washed(dig: str, *colors: int) -> dict[str, Any]:
    """Return samples of a dig with their tallies, each 4 pans."""
    samples = tuple(
        Sample(sample=f"{dig}-{at}", dig=dig, top_m=0.1, bottom_m=0.5, pans=4.0)
        for at in range(len(colors))
    )
    tallies = tuple(
        Tally(sample=one.sample, size_class="all", colors=seen)
        for one, seen in zip(samples, colors, strict=True)
    )
    return {"samples": samples, "tallies": tallies}


@pytest.fixture
def ask(monkeypatch: pytest.MonkeyPatch) -> Ask:
    """Return a way to ask for the next digs of an invented ground."""

    def plan(
        *fields: ValleyField,
        digs: tuple[Dig, ...] = lines(0.0, 20.0, 40.0, 60.0),
        days: float = 1.0,
        log: dict[str, Any] | None = None,
        **ground: Any,
    ) -> NextAnswer:
        reading = Reading(
            book=BookName(name="invented", id="1"),
            revision="1",
            log=Log(ground=Ground(**(MONEY | ground)), digs=digs, **(log or {})),
            made_at="then",
        )
        traced = invented_trace(reading.heading(), fields)
        for room in (digplan, nextdigs, mineground):
            monkeypatch.setattr(room, "trace_streaks", lambda _: traced, raising=False)
        return plan_digs(reading, days)

    return plan


def test_the_first_dig_goes_into_the_doubtful_gap(ask: Ask) -> None:
    answer = ask(doubtful_field())
    first = answer.digs[0]
    assert first.kind == "gap dig"
    assert first.s_m == pytest.approx(50.0, abs=0.5)
    assert abs(first.n_m) < 2.0
    assert first.gain.money is not None
    assert first.gain.money > 0.0
    assert first.gain.chance_of_wrong_decision is not None
    assert first.gain.chance_of_wrong_decision > 0.0


def test_the_reason_names_lines_streak_and_merge(ask: Ask) -> None:
    why = ask(doubtful_field()).digs[0].why
    assert "Half-way between lines B and C" in why
    assert "whether streak A runs through (one in two)" in why
    assert "Streaks A and B may come together near here" in why


def test_digs_keep_to_the_hours_of_the_days(ask: Ask) -> None:
    """5 hours a day where no day was written down; twice as many in two."""
    for days in (0.5, 1.0, 3.0):
        answer = ask(doubtful_field(), days=days)
        assert answer.hours <= 5.0 * days + 1e-9
        assert answer.hours == pytest.approx(sum(dig.hours for dig in answer.digs))
    assert answer.assumptions["worked_hours_per_day"] == 5.0


def test_ranks_count_from_one(ask: Ask) -> None:
    answer = ask(doubtful_field(), days=4.0)
    assert [dig.rank for dig in answer.digs] == list(range(1, len(answer.digs) + 1))


def test_the_user_s_own_days_tell_the_hours(ask: Ask) -> None:
    days = (Day(date="2025-06-01", dug_hours=2.0),)
    answer = ask(doubtful_field(), log={"days": days})
    assert "worked_hours_per_day" not in answer.assumptions
    assert answer.hours <= 2.0


def test_no_time_proposes_nothing_and_says_so(ask: Ask) -> None:
    answer = ask(doubtful_field(), days=0.01)
    assert answer.digs == ()
    assert "fits into 0.1 hours" in answer.verdict


def test_a_contact_below_the_hand_limit_needs_shoring_or_a_machine(ask: Ask) -> None:
    """3 ft by hand where nobody says otherwise; never called safe."""
    answer = ask(doubtful_field(top_m=1.0))
    assert answer.assumptions["hand_depth_limit_m"] == pytest.approx(0.9144)
    assert "needs shoring or a machine" in answer.digs[0].why
    assert any("deeper than you dig by hand" in one for one in answer.cautions)
    assert not any("is safe" in one for one in answer.cautions)
    own = ask(doubtful_field(top_m=1.0), hand_depth_limit_m=1.5)
    assert "hand_depth_limit_m" not in own.assumptions
    assert "shoring" not in own.digs[0].why


def test_walls_are_warned_of_wherever_a_dig_is_proposed(ask: Ask) -> None:
    assert any("A wall can fall" in one for one in ask(doubtful_field()).cautions)


def test_without_a_price_digs_are_ranked_by_wrong_decisions(ask: Ask) -> None:
    answer = ask(doubtful_field(), gold_price_per_g=None)
    assert answer.digs[0].s_m == pytest.approx(50.0, abs=0.5)
    assert answer.digs[0].gain.money is None
    assert answer.digs[0].gain.chance_of_wrong_decision is not None
    assert any("Price or costs are missing" in one for one in answer.cautions)


def test_pay_that_runs_out_at_an_end_is_followed_with_hours_left(ask: Ask) -> None:
    answer = ask(doubtful_field(), days=20.0)
    ends = [dig for dig in answer.digs if dig.kind == "end dig"]
    assert {round(dig.s_m) for dig in ends} == {0, 100}
    assert all(dig.gain.money is None for dig in ends)
    assert "nobody has looked beyond it" in ends[0].why


def test_a_dig_that_stopped_short_is_deepened(ask: Ask) -> None:
    digs = list(lines(0.0, 20.0, 30.0, 40.0, 60.0))
    digs[12] = Dig(
        dig="C2",
        line="C",
        easting_m=30.0,
        northing_m=0.0,
        bottom_m=0.3,
        stopped_by="boulder",
    )
    answer = ask(doubtful_field(), digs=tuple(digs), days=3.0)
    deeper = next(dig for dig in answer.digs if dig.kind == "deepening")
    assert deeper.why.startswith("Dig C2 stopped at 0.3")
    assert deeper.depth_m == pytest.approx(0.8, abs=0.01)


def test_an_unsampled_ground_begins_with_lines_fifty_feet_apart(ask: Ask) -> None:
    digs = tuple(dig for dig in lines(0.0) if dig.dig in ("A1", "A2", "A3"))
    answer = ask(digs=digs, days=20.0)
    assert {dig.kind for dig in answer.digs} == {"first dig"}
    assert all(dig.gain.money is None for dig in answer.digs)
    assert sorted({round(abs(dig.s_m - 20.0), 2) for dig in answer.digs})[1] == 15.24
    assert "first line across the valley" in answer.digs[0].why


def test_nothing_at_all_is_too_little(ask: Ask) -> None:
    with pytest.raises(TooLittleError, match="There is no sample yet"):
        ask(digs=())


def test_a_washed_sample_that_lies_nowhere_asks_for_a_centerline(ask: Ask) -> None:
    """Its dig has no place, so that nothing tells where the valley runs."""
    answer = ask(digs=(Dig(dig="A1", bottom_m=1.0),), log=washed("A1", 3))
    assert answer.digs == ()
    assert "draw a centerline" in answer.verdict


def test_unknown_depths_fall_back_to_how_deep_digs_go_here(ask: Ask) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        answer = ask(doubtful_field(top_m=float("nan")))
    assert answer.digs[0].depth_m == pytest.approx(0.8)


def test_the_same_seed_gives_the_same_digs(ask: Ask) -> None:
    assert to_json(ask(doubtful_field())) == to_json(ask(doubtful_field()))


def test_days_of_nothing_are_refused(ask: Ask) -> None:
    with pytest.raises(ValueError, match=r"days is 0.0"):
        ask(doubtful_field(), days=0.0)


def test_the_json_has_the_keys_of_the_contract(ask: Ask) -> None:
    printed = to_json(ask(doubtful_field()))
    assert set(printed["digs"][0]) == {
        "rank",
        "easting_m",
        "northing_m",
        "line",
        "kind",
        "depth_m",
        "pans",
        "hours",
        "gain",
        "why",
        "longitude",
        "latitude",
    }
    assert {"to_wash", "to_cut_again"} < set(printed)
    assert "reason" not in printed["digs"][0]
    assert set(printed["digs"][0]["gain"]) == {"money", "chance_of_wrong_decision"}
    assert "hours" in printed


def test_every_assumption_has_its_words(ask: Ask) -> None:
    for key in ask(doubtful_field()).assumptions:
        assert find_assumption(key)[0] is not None, key


def test_the_user_s_own_pan_and_swell_are_used(ask: Ask) -> None:
    """A pan of twice the volume shows twice the colors: looking tells more."""
    small = ask(doubtful_field(), pan_volume_m3=0.0005, swell=0.25).digs[0].gain
    large = ask(doubtful_field(), pan_volume_m3=0.010, swell=0.25).digs[0].gain
    assert small.money is not None
    assert large.money is not None
    assert large.money > small.money


def test_a_field_without_doubt_changes_no_decision(ask: Ask) -> None:
    field = doubtful_field()
    field.accumulation_mg_m2[:] = 0.0
    field.probability_above[:] = 0.0
    answer = ask(field)
    assert answer.digs == ()
    assert "would change what you decide" in answer.verdict


def test_reasons_are_told_by_the_kind_of_dig() -> None:
    """No merge within 12 m of the first two; no streak within 4 m of the third."""
    book = BookName(name="invented", id="1")
    heading = {"book": book, "made_at": "then", "version": "0", "seed": 1}
    traced = invented_trace(heading, (doubtful_field(),))
    beside, between, gap = (
        say_reason(find_reason(one, traced, depth_m=0.5, limit_m=1.0))
        for one in (
            Candidate(s_m=20.0, n_m=8.0, kind="step-out", line="A", beside=("A0",)),
            Candidate(s_m=20.0, n_m=1.5, kind="infill dig", beside=("A2", "A3")),
            Candidate(s_m=50.0, n_m=9.0, kind="gap dig", beside=("B", "C")),
        )
    )
    assert beside.startswith("Beside dig A0, the outermost of line A: pay may go on")
    assert between.startswith("Between digs A2 and A3: the chance of pay is")
    assert "may come together" not in between
    assert gap.startswith("Half-way between lines B and C: the chance of pay is")


def test_reasons_are_told_in_the_reader_s_units(ask: Ask) -> None:
    """1.4 m are 4.6 ft, and 3 ft are what is dug by hand where nobody says."""
    dig = ask(doubtful_field(top_m=1.0)).digs[0]
    said = dig.say(FEET_AND_YARDS).replace("\u00a0", " ")
    assert "about 4.6 ft down, below the 3 ft that are dug by hand" in said
    assert " m " not in said
    assert "the contact" not in said
    assert "about 1.4\u00a0m down" in dig.why


def test_a_depth_reached_before_asks_for_one_s_own_limit(ask: Ask) -> None:
    """Digs of 1.2 m against the 0.91 m supposed; those of 0.8 m ask nothing."""
    deeper = tuple(replace(dig, bottom_m=1.2) for dig in lines(0.0, 20.0, 40.0, 60.0))
    answer = ask(doubtful_field(top_m=1.0), digs=deeper)
    said = verdict_text(next_verdict(answer, FEET_AND_YARDS)).replace("\u00a0", " ")
    assert "you dug 3.9 ft here before: if that was by hand, enter your own" in said
    assert said.count("No depth is called safe") == 1
    assert "needs shoring or a machine" in answer.digs[0].why
    assert any("hand-dug limit" in one for one in answer.cautions)
    shallow = ask(doubtful_field(top_m=1.0))
    assert "here before" not in verdict_text(next_verdict(shallow, METRIC))
    assert not any("hand-dug limit" in one for one in shallow.cautions)


def test_a_limit_that_was_typed_is_not_asked_for_again(ask: Ask) -> None:
    deeper = tuple(replace(dig, bottom_m=1.2) for dig in lines(0.0, 20.0, 40.0, 60.0))
    answer = ask(doubtful_field(top_m=1.0), digs=deeper, hand_depth_limit_m=0.6)
    assert "needs shoring or a machine" in answer.digs[0].why
    assert "here before" not in verdict_text(next_verdict(answer, METRIC))


def test_every_kind_of_dig_has_plain_words(ask: Ask) -> None:
    answer = ask(doubtful_field(), days=20.0)
    assert {dig.kind for dig in answer.digs} <= set(KIND_WORDS)
    assert KIND_WORDS["gap dig"] == "between two lines"


def test_places_are_also_told_in_degrees(ask: Ask) -> None:
    """500 km east is the central meridian of UTM zone 10, 123 degrees west."""
    digs = tuple(
        replace(
            dig,
            easting_m=500_000.0 + (dig.easting_m or 0.0),
            northing_m=5_400_000.0 + (dig.northing_m or 0.0),
        )
        for dig in lines(0.0, 20.0, 40.0, 60.0)
    )
    dig = ask(doubtful_field(), digs=digs, crs="EPSG:32610").digs[0]
    assert dig.longitude == pytest.approx(-123.0, abs=0.001)
    assert dig.latitude == pytest.approx(48.7528, abs=0.001)


def test_without_a_coordinate_system_there_are_no_degrees(ask: Ask) -> None:
    printed = to_json(ask(doubtful_field()))["digs"][0]
    assert (printed["longitude"], printed["latitude"]) == (None, None)


def test_samples_that_wait_come_before_any_dig(ask: Ask) -> None:
    waiting = (Sample(sample="A3-3", dig="A3", top_m=0.1, bottom_m=0.5, pans=2.0),)
    assert ask(doubtful_field(), log={"samples": waiting}).to_wash == ("A3-3",)


def test_a_sample_that_holds_most_of_the_gold_is_cut_again(ask: Ask) -> None:
    """50 colors of 60 in one of six samples; a duplicate of it settles that."""
    log = washed("A3", 2, 50, 2, 2, 2, 2)
    assert ask(doubtful_field(), log=log).to_cut_again == ("A3-1",)
    again = replace(log["samples"][0], sample="A3-9", duplicate_of="A3-1")
    repeated = {**log, "samples": (*log["samples"], again)}
    assert ask(doubtful_field(), log=repeated).to_cut_again == ()
    assert ask(doubtful_field(), log=washed("A3", 2, 3, 2, 2, 2, 2)).to_cut_again == ()


def gained(money: float | None, wrong: float | None) -> ProposedDig:
    return ProposedDig(
        rank=1,
        easting_m=0.0,
        northing_m=0.0,
        line=None,
        kind="gap dig",
        depth_m=1.0,
        pans=8.0,
        hours=2.0,
        gain=Gain(money=money, chance_of_wrong_decision=wrong),
        why="",
    )


@pytest.mark.parametrize(
    ("digs", "plan_value", "little"),
    [
        ((gained(None, 0.004), gained(None, 0.003)), 0.0, True),
        ((gained(None, 0.007), gained(None, 0.006)), 0.0, False),
        ((gained(5.0, 0.004),), 1000.0, True),
        ((gained(50.0, 0.004),), 1000.0, False),
        ((gained(5.0, 0.004),), 0.0, False),
        ((), 0.0, False),
    ],
)
def test_digs_change_little_below_one_in_a_hundred(
    digs: tuple[ProposedDig, ...], plan_value: float, *, little: bool
) -> None:
    assert changes_little(digs, plan_value) is little


def test_a_doubtful_gap_changes_much(ask: Ask) -> None:
    assert not ask(doubtful_field()).changes_little
