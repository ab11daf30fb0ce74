"""Where does it come from: the answer of a record, and of odd ones."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.answer import to_json
from pennyweight.answers.spoken import verdict_text
from pennyweight.answers.upstreamask import NO_STREAMS, SHORT_CREEK, ask_upstream
from pennyweight.answers.upstreamsaid import (
    SLOPE_RULES,
    grain_sentences,
    isolation_words,
    soil_line_words,
    soil_words,
    upstream_verdict,
)
from pennyweight.answers.waters import find_waters
from pennyweight.errors import TooLittleError
from pennyweight.records import Grain, Rock
from pennyweight.units import MEASURES, METRIC
from tests.answers.made_drainage import (
    EAST_M,
    NORTH_M,
    drawn,
    line,
    log_of,
    on_feeder,
    reading_of,
    second_feeder,
    washed,
)


@pytest.fixture(scope="module")
def answer():
    return ask_upstream(reading_of(second_feeder()))


def by_name(answer):
    return {one.name: one for one in answer.streams}


def test_the_feeder_with_gold_is_suspect_and_the_barren_one_is_cleared(answer):
    streams = by_name(answer)
    assert streams["second"].verdict == "suspect"
    assert streams["second"].probability_carries > 0.95
    assert streams["first"].verdict == "cleared"
    assert 0.0 < streams["first"].probability_carries < 0.1
    assert streams["third"].verdict in ("cleared", "untested")


def test_the_source_lies_most_likely_on_that_feeder(answer):
    best = max(answer.streams, key=lambda one: one.probability_source_here)
    assert best.name == "second"
    assert answer.sources[0].stream == best.id
    assert answer.sources[0].probability > 0.5


def test_the_last_gold_is_the_highest_on_the_way_to_the_source(answer):
    assert answer.last_gold.sample == "second-up"
    # The mouth of the second feeder lies 900 m up, the sample half way up its 671 m.
    assert answer.last_gold.chainage_m == pytest.approx(900.0 + 335.4, abs=1.0)
    assert answer.stop.above_last_m.p90 <= 336.0


def test_the_answer_is_the_same_twice_and_is_json():
    one, two = (to_json(ask_upstream(reading_of(second_feeder()))) for _ in range(2))
    assert one == two
    assert {
        "streams",
        "sources",
        "last_gold",
        "gaps",
        "grain_distance_km",
    } <= one.keys()
    assert {"id", "name", "probability_source_here", "verdict"} <= one["streams"][
        0
    ].keys()
    assert {"easting_m", "northing_m", "stream", "probability"} <= one["sources"][
        0
    ].keys()
    assert "pieces" not in one


def test_the_verdict_says_which_feeder_to_walk(answer):
    said = verdict_text(upstream_verdict(answer, METRIC))
    assert said.startswith("The gold most likely enters")
    assert "second" in said
    assert "First (" in said
    assert "cleared for now" in said


def test_the_next_samples_lie_where_nothing_was_washed(answer):
    assert answer.next_samples
    assert answer.next_samples[0].gain_bits >= answer.next_samples[-1].gain_bits * 0.99
    for one in answer.next_samples:
        assert 0.0 <= one.gold_probability <= 1.0
        assert one.hours > 1.0


def test_worst_case_and_halving_stand_side_by_side(answer):
    assert answer.samples_at_worst >= answer.samples_halving
    assert str(answer.samples_at_worst) in isolation_words(answer)


def test_barren_never_is_a_certainty(answer):
    assert any("never a certainty" in one for one in answer.cautions)
    assert all(one.probability_carries > 0.0 for one in answer.streams)


def test_a_dig_far_from_all_water_is_told_with_its_distance():
    far = washed("far", (700.0, 1500.0), 9)
    log = second_feeder()
    log = replace(
        log,
        digs=(*log.digs, far[0]),
        samples=(*log.samples, far[1]),
        tallies=(*log.tallies, far[2]),
    )
    found = ask_upstream(reading_of(log))
    assert [one.dig for one in found.off_stream] == ["far"]
    assert found.off_stream[0].distance_m > 60.0
    assert any("far" in one.where for one in found.findings)


def test_the_user_says_which_stream_a_dig_belongs_to():
    log = second_feeder()
    digs = tuple(
        replace(one, extra={"stream": "first"}) if one.dig == "second-mouth" else one
        for one in log.digs
    )
    waters = find_waters(reading_of(replace(log, digs=digs)))
    place = waters.digs["second-mouth"]
    assert waters.rows[place.stream].name == "first"
    assert place.said
    assert place.distance_m > 100.0


def test_the_user_says_that_a_dig_lies_on_no_stream():
    log = second_feeder()
    digs = tuple(
        replace(one, extra={"stream": "none"}) if one.dig == "low" else one
        for one in log.digs
    )
    found = ask_upstream(reading_of(replace(log, digs=digs)))
    assert [one.dig for one in found.off_stream] == ["low"]
    assert not any("low" in one.where for one in found.findings)


def test_a_stream_that_does_not_exist_is_doubted():
    log = second_feeder()
    digs = tuple(replace(one, extra={"stream": "lost"}) for one in log.digs)
    found = ask_upstream(reading_of(replace(log, digs=digs)))
    assert any("'lost'" in one.problem for one in found.findings)


def test_a_trench_line_stays_on_its_creek_where_a_feeder_comes_in():
    places = []
    for at, east in enumerate((-20.0, -10.0, 2.0, 12.0)):
        dig, sample, tally = washed(f"T{at}", (east, 403.0 + 0.6 * max(east, 0.0)), 3)
        places.append((replace(dig, line="T"), sample, tally))
    waters = find_waters(reading_of(log_of(places)))
    assert {waters.rows[one.stream].name for one in waters.digs.values()} == {
        "the creek"
    }


def test_side_creeks_come_from_the_bank_where_they_were_drawn():
    waters = find_waters(reading_of(second_feeder()))
    sides = {row.name: row.side for row in waters.rows}
    # The creek runs south: the first feeder comes from the east, its left bank.
    assert sides["first"] == "left"
    assert sides["second"] == "right"


def test_a_loop_of_drawn_lines_is_told():
    loop = line("tributary", "ring", [(0.0, 700.0), (300.0, 1000.0), (0.0, 1300.0)])
    features = (*drawn(), replace(loop, number=9))
    found = ask_upstream(reading_of(replace(second_feeder(), features=features)))
    assert any("ring" in one.where for one in found.findings)


def test_a_sample_above_the_head_of_its_stream_is_brought_to_its_head():
    mouth, side = 400.0, 500.0
    above = washed("above", (side + 20.0, mouth + 312.0), 3)
    found = ask_upstream(reading_of(log_of([washed("low", (0.0, 50.0), 4), above])))
    place = next(one for one in found.washed if "above" in one.digs)
    assert found.rows[place.place.stream].name == "first"
    assert place.place.distance_m == pytest.approx(np.hypot(20.0, 12.0), abs=2.0)


@pytest.mark.parametrize("colors", [0, 25])
def test_gold_nowhere_and_everywhere_are_answers(colors):
    places = [
        washed(name, on_feeder(name, 0.2), colors) for name in ("first", "second")
    ]
    places.append(washed("low", (0.0, 60.0), colors))
    found = ask_upstream(reading_of(log_of(places)))
    said = verdict_text(upstream_verdict(found, METRIC))
    if colors:
        assert found.probability_everywhere > 0.3
        assert all(
            one.verdict == "suspect" for one in found.streams if one.name != "third"
        )
    else:
        assert found.last_gold is None
        assert said.startswith("No gold was found on the water")


def test_soil_does_not_count_as_gold_of_the_creek():
    log = second_feeder()
    soil = tuple(
        replace(one, taken="loam") for one in log.samples if one.sample == "low"
    )
    rest = tuple(one for one in log.samples if one.sample != "low")
    found = ask_upstream(reading_of(replace(log, samples=(*rest, *soil))))
    assert not any("low" in one.digs for one in found.washed)


def test_a_find_without_a_volume_speaks_of_presence_only():
    log = second_feeder()
    samples = tuple(
        replace(one, taken="crevice", pans=None) if one.sample == "second-up" else one
        for one in log.samples
    )
    found = ask_upstream(reading_of(replace(log, samples=samples)))
    find = next(one for one in found.washed if "second-up" in one.digs)
    assert find.bank_m3 is None
    assert found.last_gold.sample == "second-up"


def test_nothing_washed_is_too_little():
    log = replace(second_feeder(), tallies=())
    with pytest.raises(TooLittleError, match="washed"):
        ask_upstream(reading_of(log))


def test_without_any_place_it_is_said_what_to_draw():
    found = ask_upstream(reading_of(log_of([], features=())))
    assert found.streams == ()
    assert found.cautions == (NO_STREAMS,)
    assert "tributary" in verdict_text(upstream_verdict(found, METRIC))


def test_with_digs_alone_the_creek_is_the_line_through_them():
    places = [washed(f"d{at}", (3.0 * at, 40.0 * at), 5) for at in range(4)]
    places = [(replace(dig, line=dig.dig), s, t) for dig, s, t in places]
    found = ask_upstream(reading_of(log_of(places, features=())))
    assert found.basis == "digs"
    assert SHORT_CREEK in found.cautions
    assert len(found.streams) == 1


def grain(number, sample, **seen):
    return Grain(sample=sample, number=number, **seen)


def test_grains_are_heard_feature_by_feature():
    shape = {"long_mm": 1.4, "middle_mm": 1.1, "short_mm": 0.8}
    grains = tuple(
        grain(
            at, "second-up", **shape, roundness="angular", attached="quartz", rim="none"
        )
        for at in range(6)
    )
    found = ask_upstream(reading_of(replace(second_feeder(), grains=grains)))
    assert found.grains.n_grains == 6
    assert {one.feature for one in found.grains.features} == {
        "size",
        "flatness",
        "roundness",
        "rim",
        "attached",
    }
    assert found.grain_distance_km.p50 < 0.3
    assert "6" in grain_sentences(found, METRIC)[0]
    second = by_name(found)["second"]
    assert second.by_grains is not None
    assert second.by_counts == pytest.approx(
        by_name(ask_upstream(reading_of(second_feeder())))["second"].by_counts
    )


def test_grains_that_contradict_themselves_are_said_to():
    grains = tuple(
        grain(at, "low", long_mm=3.0, middle_mm=2.5, roundness="well rounded")
        for at in range(6)
    )
    found = ask_upstream(reading_of(replace(second_feeder(), grains=grains)))
    assert any("contradict" in one for one in grain_sentences(found, MEASURES["feet"]))


def test_two_kinds_of_gold_are_told():
    worn = [0.15 + 0.01 * at for at in range(8)] + [0.75 + 0.01 * at for at in range(8)]
    grains = tuple(
        grain(at, "mid", roundness=f"{one:.2f}") for at, one in enumerate(worn)
    )
    found = ask_upstream(reading_of(replace(second_feeder(), grains=grains)))
    assert found.kinds_probability > 0.9
    assert any("two kinds" in one for one in grain_sentences(found, METRIC))


def test_rocks_point_with_their_stated_weight():
    rocks = (
        Rock(number=1, dig="second-up", kind="bedrock", name="granite", stain="rusty"),
        Rock(number=2, dig="mid", kind="bedrock", name="slate"),
    )
    found = ask_upstream(reading_of(replace(second_feeder(), rocks=rocks)))
    assert {one.pointer for one in found.rocks} == {"stain", "contact"}
    assert all(one.weight <= 1.5 for one in found.rocks)
    assert by_name(found)["second"].by_rocks > 1.0
    assert found.assumptions["rock_weight_most"] == 3.0


def test_gold_that_stops_with_no_feeder_between_is_looked_for_on_the_slope():
    places = [
        washed("low", (0.0, 100.0), 20),
        washed("last", (0.0, 1600.0), 18),
        washed("none", (0.0, 1700.0), 0, 20.0),
        washed("none-2", (0.0, 1800.0), 0, 20.0),
    ]
    found = ask_upstream(reading_of(log_of(places)))
    assert found.off_creek
    assert {one.bank for one in found.soil_lines} == {"left", "right"}
    assert found.stop.above_last_m.p50 <= 100.0
    assert found.stop.beyond_probability > 0.05
    assert any("slide" in one for one in found.cautions)
    left, right = soil_line_words(found, METRIC)
    assert left.startswith("Left bank, lines of ")
    assert "carrying the soil to water" in right


def test_a_line_of_soil_holes_finds_its_band():
    places = [washed("low", (0.0, 100.0), 20)]
    colors = [0, 0, 1, 5, 8, 4, 0, 0]
    for at, count in enumerate(colors):
        dig, sample, tally = washed(f"h{at}", (300.0, 1000.0 + 4.0 * at), count, 1.0)
        places.append(
            (replace(dig, line="soil-1"), replace(sample, taken="loam"), tally)
        )
    found = ask_upstream(reading_of(log_of(places)))
    assert found.soil[0].line == "soil-1"
    assert found.soil[0].there_probability > 0.95
    middle = found.soil[0].middle_m.p50
    assert min(middle, 28.0 - middle) == pytest.approx(12.5, abs=3.0)
    assert "soil-1" in soil_words(found.soil[0], METRIC)
    assert "contradict" in SLOPE_RULES


def test_duplicates_that_contradict_each_other_are_doubted():
    one = washed("low", (0.0, 100.0), 30)
    two = washed("low-2", (0.0, 100.0), 0)
    second = replace(two[1], dig="low", duplicate_of="low", taken="recut")
    log = log_of([one])
    log = replace(
        log,
        samples=(*log.samples, second),
        tallies=(*log.tallies, two[2]),
    )
    found = ask_upstream(reading_of(log))
    assert any("low-2" in one.where for one in found.findings)
    place = next(one for one in found.washed if "low" in one.digs)
    assert place.colors == 30.0


def test_the_places_are_in_the_ground_s_own_meters(answer):
    east = [one.easting_m for one in answer.sources]
    north = [one.northing_m for one in answer.sources]
    assert EAST_M - 700.0 < min(east) <= max(east) < EAST_M + 700.0
    assert NORTH_M <= min(north) <= max(north) <= NORTH_M + 2001.0
