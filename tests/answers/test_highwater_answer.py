"""What did the floods do? From stones, surface and finds to drops and sentences."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.bedrock import alike_traps
from pennyweight.answers.highwater import HighwaterAnswer, read_floods
from pennyweight.answers.highwatersaid import (
    KIND_NAMES,
    KIND_PHRASES,
    LOOK_FOR,
    discharge_words,
    gold_by_look,
    highwater_verdict,
    say_why,
    spread_words,
)
from pennyweight.highwater.drops import KIND_WEIGHTS, Drop, Reason
from pennyweight.progress import Cancelled
from pennyweight.records import Log, Rock
from pennyweight.spread import Spread
from pennyweight.units import FEET_AND_YARDS, METRIC
from tests.answers.made_creek import made_answer, made_log, read


@pytest.fixture(scope="module")
def answer() -> HighwaterAnswer:
    return made_answer()


def test_the_stones_tell_of_a_flood(answer: HighwaterAnswer) -> None:
    """Three stones of 0.30, 0.32 and 0.34 m lie on one bar: 320 mm."""
    (row,) = answer.clasts
    assert row.size_mm == pytest.approx(320.0)
    assert row.depth_m is not None
    assert row.depth_m.p10 < row.depth_m.p50 < row.depth_m.p90
    assert answer.discharge_m3_s is not None


def test_the_floods_rise_up_to_the_one_of_the_stones(answer: HighwaterAnswer) -> None:
    flows = [one.discharge_m3_s for one in answer.floods]
    assert flows == sorted(flows)
    assert answer.discharge_m3_s is not None
    assert flows[-1] == pytest.approx(answer.discharge_m3_s.p50, rel=0.06)
    wet = [one.wet_m2 for one in answer.floods]
    assert wet == sorted(wet)
    deep = [one.deepest_m for one in answer.floods]
    assert deep == sorted(deep)


def test_every_drop_has_a_reason_and_what_to_look_for(answer: HighwaterAnswer) -> None:
    assert answer.drops
    scores = [one.score for one in answer.drops]
    assert scores == sorted(scores, reverse=True)
    for one in answer.drops:
        assert one.why.endswith(".")
        assert 0.0 < one.score < 1.0
        assert one.kind in LOOK_FOR


def test_the_bends_of_the_creek_are_among_the_drops(answer: HighwaterAnswer) -> None:
    kinds = {reason.kind for one in answer.drops for reason in one.drop.reasons}
    assert "inner_bend" in kinds


def test_the_digs_say_what_a_score_is_worth_here(answer: HighwaterAnswer) -> None:
    assert answer.agreement is not None
    assert answer.agreement.n_digs == 9
    chances = [one.chance_richer for one in answer.drops]
    assert all(one is not None and 0.0 < one < 1.0 for one in chances)


def test_the_json_has_the_keys_of_the_contract(answer: HighwaterAnswer) -> None:
    told = to_json(answer)
    assert set(told["clasts"][0]) >= {
        "dig",
        "size_mm",
        "velocity_m_s",
        "shear_pa",
        "depth_m",
    }
    assert set(told["drops"][0]) >= {
        "easting_m",
        "northing_m",
        "kind",
        "score",
        "why",
    }
    assert told["rasters"] is None
    assert set(told["discharge_m3_s"]) == {"p10", "p50", "p90", "mean"}
    assert "creek" not in told
    assert "water" not in told


def test_the_verdict_names_flood_drops_and_finds(answer: HighwaterAnswer) -> None:
    said = " ".join(one.text for one in highwater_verdict(answer, METRIC))
    said = said.replace("\u00a0", " ")
    assert said.startswith("The largest stones of 1 place took a flood of about ")
    assert "number 1 on the map" in said
    assert "9 washed digs" in said


def test_the_cautions_speak_of_water_and_of_skim(answer: HighwaterAnswer) -> None:
    said = " ".join(answer.cautions)
    assert "Leave the creek bed when it rises" in said
    assert "no hazard map" in said
    assert "Loose flood sand" in said


def test_bedrock_that_says_the_same_is_told_once(answer: HighwaterAnswer) -> None:
    groups = alike_traps(answer.traps)
    assert {len(one.digs) for one in groups} == {3}
    assert "cross the current" in groups[0].why


def test_gold_is_told_by_where_to_look(answer: HighwaterAnswer) -> None:
    looks = gold_by_look(answer.gold)
    assert sum(map(len, looks.values())) == len(answer.gold)
    assert all(one.sinks_like_mm > one.size_mm for one in answer.gold)


def test_without_a_model_the_line_alone_tells_drops() -> None:
    answer = read_floods(read(made_log(surface=False)))
    assert answer.floods == ()
    assert answer.drops
    assert any("There is no elevation model" in one for one in answer.cautions)
    said = highwater_verdict(answer, METRIC)[0].text
    assert "flood" in said


def test_an_empty_book_answers_too() -> None:
    answer = read_floods(read(Log()))
    assert answer.drops == ()
    assert answer.discharge_m3_s is None
    (verdict,) = highwater_verdict(answer, METRIC)
    assert verdict.text == (
        "Nothing tells of the floods yet: attach an elevation model, draw the creek, "
        "and measure the largest stones that water moved."
    )


def test_without_stones_floods_are_tried_by_depth_and_say_so() -> None:
    answer = read_floods(read(made_log(rocks=())))
    assert answer.discharge_m3_s is None
    assert len(answer.floods) >= 3
    assert "flood_discharges_m3_s" in answer.assumptions
    assert (
        "No boulder tells of a flood yet" in highwater_verdict(answer, METRIC)[0].text
    )


def test_a_single_stone_and_a_slide_are_warned_of() -> None:
    log = made_log(surface=False)
    alone = replace(log, rocks=log.rocks[:1])
    assert any("single stone" in one for one in read_floods(read(alone)).cautions)
    slid = replace(log.rocks[0], set_down_by="slide")
    told = read_floods(read(replace(log, rocks=(slid,))))
    assert told.clasts == ()
    assert any("slide" in one for one in told.cautions)


def test_a_flat_model_carries_no_flood_and_says_why() -> None:
    log = made_log()
    from pennyweight.exchange.rasters import write_raster  # noqa: PLC0415

    flat = write_raster(
        {"elevation_m": np.full((40, 90), 100.0)},
        west_m=500_000.0,
        north_m=5_400_080.0,
        cell_m=2.0,
        crs="EPSG:32610",
    )
    tile = replace(log.attachments[0], content=flat)
    answer = read_floods(read(replace(log, attachments=(tile,))))
    assert answer.floods == ()
    assert any("No flood could be run" in one for one in answer.cautions)
    assert any("within 0.00 m" in one.problem for one in answer.findings)


def test_a_model_that_misses_the_ground_is_told_and_nothing_is_made_up() -> None:
    log = made_log()
    far = tuple(replace(dig, easting_m=560_000.0) for dig in log.digs)
    answer = read_floods(read(replace(log, digs=far, features=(), rocks=())))
    assert answer.floods == ()
    assert any(
        "knows no height at 9 of 9 digs" in one.problem for one in answer.findings
    )
    assert any("No flood could be run" in one for one in answer.cautions)
    assert answer.drops == ()


def test_bedrock_of_which_nothing_was_written_is_not_rated() -> None:
    log = made_log(surface=False)
    bare = tuple(
        replace(dig, fabric=None, surface=None, stopped_by="bedrock")
        for dig in log.digs
    )
    assert read_floods(read(replace(log, digs=bare))).traps == ()


def test_a_long_answer_can_be_stopped() -> None:
    def stop(share_done: float, doing: str) -> None:
        if "flood" in doing or share_done > 0.2:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_floods(read(made_log(), stop))


def test_the_same_book_and_seed_give_the_same_answer() -> None:
    one, other = (read_floods(read(made_log(surface=False))) for _ in range(2))
    assert to_json(one) == to_json(other)


def test_every_kind_has_words() -> None:
    assert set(KIND_NAMES) == set(LOOK_FOR) == set(KIND_WEIGHTS)
    assert set(KIND_PHRASES) == set(KIND_WEIGHTS)


def test_reasons_are_said_in_the_readers_units() -> None:
    reason = Reason(
        kind="high_bar",
        strength=0.5,
        facts={"above_m": 1.0, "area_m2": 100.0, "reached_m3_s": 10.0},
    )
    drop = Drop(easting_m=0.0, northing_m=0.0, reasons=(reason,))
    assert say_why(drop, METRIC).replace("\u00a0", " ") == (
        "Level ground of 100 m² lies 1 m above the creek, reached only from about "
        "10 m³/s on, where the water stands quiet."
    )
    feet = say_why(drop, FEET_AND_YARDS).replace("\u00a0", " ")
    assert "1,100 ft² lies 3.3 ft above" in feet
    assert "350 ft³/s" in feet


def test_a_discharge_says_its_interval() -> None:
    """10 m3/s are 353 cubic feet a second."""
    flow = Spread(4.0, 10.0, 30.0, 12.0)
    assert (
        spread_words(flow, METRIC).replace("\u00a0", " ") == "10 m³/s (80 %: 4\u201330)"
    )
    assert discharge_words(10.0, FEET_AND_YARDS).replace("\u00a0", " ") == "350 ft³/s"


def test_a_boulder_far_from_any_creek_still_counts_for_speed() -> None:
    rock = Rock(number=1, kind="boulder", long_m=0.8, middle_m=0.5, dig="L1-0")
    answer = read_floods(read(Log(digs=(), rocks=(rock,))))
    assert answer.clasts[0].velocity_m_s is not None
    assert answer.clasts[0].depth_m is None
