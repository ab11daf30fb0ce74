"""The answer `grade`, from a record to its JSON."""

from dataclasses import replace
from typing import Any

import pytest

from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.assumptions import ASSUMPTIONS, find_assumption
from pennyweight.answers.grade import GradeAnswer, grade_ground, read_cutoff
from pennyweight.answers.reading import Reading
from pennyweight.errors import TooLittleError
from pennyweight.records import Dig, Ground, Layer, Log, Sample, Tally
from pennyweight.worth.terms import read_terms

GROUND = Ground(name="made", pan_volume_m3=0.006, swell=0.2, crs="EPSG:32610")
DIGS = (
    Dig(
        dig="A",
        line="1",
        easting_m=500000.0,
        northing_m=5e6,
        bottom_m=1.9,
        stopped_by="bedrock",
    ),
    Dig(dig="B", line="1", easting_m=500008.0, northing_m=5e6, bottom_m=2.5),
)
LAYERS = (
    Layer(dig="A", top_m=0.0, bottom_m=0.5, material="silt"),
    Layer(dig="A", top_m=0.5, bottom_m=1.9, material="gravel", base="bedrock"),
)


def washed(
    name: str, dig: str, depths: tuple[float, float], colors: int | None, **more: Any
) -> tuple[Sample, tuple[Tally, ...]]:
    top, bottom = depths
    sample = Sample(sample=name, dig=dig, top_m=top, bottom_m=bottom, pans=10.0, **more)
    if colors is None:
        return sample, ()
    return sample, (Tally(sample=name, size_class="0.5-1", colors=colors),)


def log_of(*found: tuple[Sample, tuple[Tally, ...]]) -> Log:
    return Log(
        ground=GROUND,
        digs=DIGS,
        layers=LAYERS,
        samples=tuple(sample for sample, _ in found),
        tallies=tuple(tally for _, tallies in found for tally in tallies),
    )


def answer_to(log: Log) -> GradeAnswer:
    reading = Reading(
        book=BookName(name="made", id="1"), revision="1", log=log, made_at="2030-05-01"
    )
    return grade_ground(reading)


RECORD = log_of(
    washed("1", "A", (0.5, 1.2), 0),
    washed("2", "A", (1.2, 1.9), 40),
    washed("3", "B", (0.5, 1.0), 12),
    washed("4", "B", (1.0, 1.5), None),
    washed("5", "B", (1.0, 1.0), 3, taken="crevice"),
)
ANSWER = answer_to(RECORD)


def test_the_pay_on_bedrock_is_found_below_its_overburden() -> None:
    dig = ANSWER.digs[0]
    assert (dig.pay_top_m, dig.pay_bottom_m, dig.overburden_m) == (1.2, 1.9, 1.2)
    assert dig.best_horizon == "bedrock"


def test_accumulation_is_grade_times_thickness() -> None:
    dig = ANSWER.digs[0]
    assert dig.grade_mg_m3 is not None
    assert dig.accumulation_mg_m2 is not None
    by_hand = dig.grade_mg_m3.p50 * 0.7
    assert dig.accumulation_mg_m2.p50 == pytest.approx(by_hand)


def test_gold_tied_to_no_contact_lies_in_gravel() -> None:
    assert ANSWER.digs[1].best_horizon == "gravel"


def test_a_false_bedrock_is_named_from_the_top() -> None:
    log = replace(RECORD, digs=(DIGS[0], replace(DIGS[1], stopped_by="clay")))
    log = replace(log, digs=(log.digs[0], replace(log.digs[1], bottom_m=1.0)))
    assert answer_to(log).digs[1].best_horizon == "false-1"


def test_samples_carry_their_own_volume_and_colors() -> None:
    one = ANSWER.samples[1]
    assert (one.bank_m3, one.colors) == pytest.approx((0.05, 40.0))


def test_the_unwashed_sample_is_null_and_named() -> None:
    assert ANSWER.samples[3].grade_mg_m3 is None
    assert ANSWER.samples[3].colors is None
    assert ANSWER.digs[1].unwashed == ("4",)
    assert any("unknown, not zero" in text for text in ANSWER.cautions)


def test_the_crevice_is_a_find_and_enters_no_grade() -> None:
    crevice = ANSWER.samples[4]
    assert crevice.bank_m3 is None
    assert crevice.reliability == "none"
    assert any("enters no grade" in text for text in ANSWER.cautions)


def test_colors_expected_at_the_cutoff_are_told() -> None:
    """100 mg/m3 x 0.05 m3 x 0.97 / 0.58 mg: about eight."""
    expected = ANSWER.samples[1].expected_colors_at_cutoff
    assert expected == pytest.approx(100.0 * 0.05 * 0.97 / 0.5818, rel=0.02)


def test_the_json_carries_the_agreed_keys() -> None:
    found = to_json(ANSWER)
    sample_keys = {
        "sample",
        "dig",
        "line",
        "top_m",
        "bottom_m",
        "bank_m3",
        "colors",
        "grade_mg_m3",
        "reliability",
    }
    dig_keys = {
        "dig",
        "line",
        "easting_m",
        "northing_m",
        "s_m",
        "n_m",
        "best_horizon",
        "pay_top_m",
        "pay_bottom_m",
        "overburden_m",
        "grade_mg_m3",
        "accumulation_mg_m2",
    }
    assert sample_keys <= set(found["samples"][0])
    assert dig_keys <= set(found["digs"][0])
    assert set(found["samples"][1]["grade_mg_m3"]) == {"p10", "p50", "p90", "mean"}


def test_a_dig_without_a_fair_sample_has_no_interval() -> None:
    log = log_of(washed("1", "A", (0.0, 1.0), 3))
    dig = answer_to(log).digs[1]
    assert dig.best_horizon is None
    assert dig.pay_top_m is None
    assert dig.grade_mg_m3 is None


def test_no_washed_sample_with_a_volume_is_too_little() -> None:
    with pytest.raises(TooLittleError, match="The one sample is not washed"):
        answer_to(log_of(washed("1", "A", (0.0, 1.0), None)))


def test_price_and_costs_give_the_cutoff() -> None:
    """8 a m3 / (0.06 a mg x 0.85 x 0.75) = 209.15 mg/m3; stripping a quarter of it."""
    ground = replace(
        GROUND,
        gold_price_per_g=60.0,
        fineness=850.0,
        costs={"wash_per_m3": 8.0, "strip_per_m3": 2.0},
        plant={"recovery": 0.75},
    )
    cutoff = read_cutoff(ground)
    assert cutoff.wash_mg_m3 == pytest.approx(209.15, abs=0.01)
    assert cutoff.strip_mg_m3 == pytest.approx(209.15 / 4.0, abs=0.01)


def test_every_assumption_has_its_words() -> None:
    keys = [key for key in ANSWER.assumptions if find_assumption(key)[0] is None]
    assert keys == []


def test_words_say_what_unit_source_and_remedy() -> None:
    assert all(one.label and one.source and one.remedy for one in ASSUMPTIONS.values())
    assert find_assumption("nothing of the kind") == (None, "")


def test_the_same_record_gives_the_same_bytes() -> None:
    assert to_json(answer_to(RECORD)) == to_json(ANSWER)


def test_without_a_price_stripping_is_a_quarter_of_washing() -> None:
    cutoff = read_cutoff(Ground())
    assert (cutoff.wash_mg_m3, cutoff.strip_mg_m3) == (100.0, 25.0)
    assert cutoff.assumptions["strip_share_of_wash"] == 0.25


def test_hours_paid_make_stripping_cost_the_hours_that_it_takes() -> None:
    """At 40 an hour, 2 m3 washed and 4 m3 moved: 20 and 10 a m3, as worth reckons."""
    ground = replace(
        GROUND,
        gold_price_per_g=60.0,
        costs={"per_hour": 40.0},
        plant={"m3_per_hour": 2.0, "digs_m3_per_hour": 4.0, "availability": 1.0},
    )
    cutoff, terms = read_cutoff(ground), read_terms(ground)
    assert (terms.washing, terms.stripping) == (20.0, 10.0)
    assert cutoff.strip_mg_m3 == pytest.approx(0.5 * cutoff.wash_mg_m3)
    assert cutoff.strip_mg_m3 == pytest.approx(terms.stripping / terms.value_per_mg)
    assert cutoff.assumptions["strip_cost_per_m3"] == 0.0
    assert cutoff.assumptions["plant_hours_per_day"] > 0.0


def test_costs_without_stripping_suppose_a_share_of_washing() -> None:
    ground = replace(
        GROUND, gold_price_per_g=60.0, costs={"wash_per_m3": 8.0}, min_pay_m=0.5
    )
    cutoff = read_cutoff(ground)
    assert cutoff.strip_mg_m3 == pytest.approx(0.25 * cutoff.wash_mg_m3)
    assert cutoff.assumptions["strip_cost_per_m3"] == 2.0
    assert "strip_share_of_wash" not in cutoff.assumptions
    assert cutoff.min_pay_m == 0.5


def test_a_blank_is_no_find() -> None:
    log = log_of(
        washed("1", "A", (0.0, 1.0), 3),
        washed("2", "A", (0.0, 1.0), 0, blank=True, taken="grab"),
    )
    assert answer_to(log).findings == ()


def test_two_finds_are_told_in_the_plural() -> None:
    log = log_of(
        washed("1", "A", (0.0, 1.0), 3),
        washed("2", "A", (0.0, 1.0), 2, taken="moss"),
        washed("3", "A", (0.0, 1.0), 2, taken="root"),
    )
    assert any(text.startswith("2 finds") for text in answer_to(log).cautions)
