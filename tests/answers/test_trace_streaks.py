"""The answer `trace`: what it says of made ground, and of the least there can be."""

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from pennyweight.answers.answer import BookName, to_json
from pennyweight.answers.reading import Reading
from pennyweight.answers.trace import TraceAnswer, name_streaks, trace_streaks
from pennyweight.errors import TooLittleError
from pennyweight.progress import Cancelled
from pennyweight.records import Dig, Ground, Layer, Log, Sample, Tally

PAN_M3 = 0.006


def read(log: Log, **more: Any) -> Reading:
    return Reading(
        book=BookName(name="Invented Creek", id="b1"),
        revision="r1",
        log=log,
        made_at="2026-01-01T00:00:00+00:00",
        **more,
    )


def line_of_digs(
    line: str, s_m: float, streaks: dict[float, float], *, stopped_by: str = "bedrock"
) -> tuple[list[Dig], list[Sample], list[Tally]]:
    """Eleven digs 2 m apart; `streaks` gives the colors at the middle of each."""
    digs, samples, tallies = [], [], []
    for at in range(11):
        n_m = 2.0 * at - 10.0
        name = f"{line}{at}"
        digs.append(
            Dig(
                dig=name,
                line=line,
                easting_m=s_m,
                northing_m=n_m,
                bottom_m=1.0,
                stopped_by=stopped_by,
            )
        )
        colors = 0.5 + sum(
            crest * np.exp(-0.5 * ((n_m - middle) / 1.5) ** 2)
            for middle, crest in streaks.items()
        )
        samples.append(Sample(sample=name, dig=name, top_m=0.6, bottom_m=1.0, pans=4.0))
        tallies.append(Tally(sample=name, size_class="No.3", colors=round(colors)))
    return digs, samples, tallies


def log_of(*lines: tuple[list[Dig], list[Sample], list[Tally]]) -> Log:
    digs, samples, tallies = (
        tuple(one for line in lines for one in line[kind]) for kind in range(3)
    )
    ground = Ground(pan_volume_m3=PAN_M3, swell=0.2, receiver_error_m=0.3)
    return Log(ground=ground, digs=digs, samples=samples, tallies=tallies)


def merging_log() -> Log:
    """Two streaks, 40 colors in the middle, come together over six lines."""
    apart = [6.0, 5.5, 4.5, 3.0]
    lines = [
        line_of_digs(f"L{at}", 15.0 * at, {-half: 40.0, half: 40.0})
        for at, half in enumerate(apart)
    ]
    lines += [line_of_digs(f"L{at}", 15.0 * at, {0.0: 80.0}) for at in (4, 5)]
    return log_of(*lines)


@pytest.fixture(scope="module")
def merging() -> TraceAnswer:
    return trace_streaks(read(merging_log()))


def test_two_streaks_are_followed_into_one(merging: TraceAnswer) -> None:
    assert len(merging.streaks) == 3
    (merge,) = merging.merges
    assert len(merge.from_) == 2
    assert merge.into not in merge.from_
    assert 45.0 <= merge.easting_m <= 60.0
    assert merge.probability > 0.5


def test_paths_run_downstream_with_a_point_at_every_line(
    merging: TraceAnswer,
) -> None:
    for streak in merging.streaks:
        s_m = np.array([point.s_m for point in streak.path])
        assert np.all(np.diff(s_m) > 0.0)
        assert np.diff(s_m).max() <= 5.0 + 1e-9
    upper = [
        streak for streak in merging.streaks if streak.id in merging.merges[0].from_
    ]
    for streak in upper:
        lines = [point.line for point in streak.path if point.line is not None]
        assert lines == ["L0", "L1", "L2", "L3"]


def test_a_streak_lies_where_its_colors_were(merging: TraceAnswer) -> None:
    below = next(one for one in merging.streaks if one.id == merging.merges[0].into)
    for point in below.path:
        if point.line is not None:
            assert abs(point.northing_m) < 1.0


def test_letters_follow_the_gold(merging: TraceAnswer) -> None:
    assert [one.id for one in merging.streaks] == ["A", "B", "C"]
    gold = [one.gold_g.mean for one in merging.streaks]
    assert gold == sorted(gold, reverse=True)


def test_gold_of_the_stretch_holds_that_of_its_streaks(merging: TraceAnswer) -> None:
    total = merging.total
    assert total.gold_g is not None
    assert total.gold_g_above_cutoff is not None
    streaks = sum(one.gold_g.mean for one in merging.streaks)
    assert streaks <= total.gold_g_above_cutoff.mean * 1.02
    assert total.gold_g_above_cutoff.mean <= total.gold_g.mean


def test_gravel_of_the_stretch_reaches_down_to_bedrock(merging: TraceAnswer) -> None:
    """75 m x 20 m x 1.0 m."""
    gravel = merging.total.gravel_m3
    assert gravel is not None
    assert gravel.p50 == pytest.approx(1500.0, rel=0.05)


def test_probabilities_lie_between_zero_and_one(merging: TraceAnswer) -> None:
    assert merging.probability_of_any > 0.95
    for streak in merging.streaks:
        assert 0.2 <= streak.probability <= 1.0
        assert all(0.0 <= link.probability <= 1.0 for link in streak.links)


def test_fields_are_handed_over_whole(merging: TraceAnswer) -> None:
    (bedrock,) = [one for one in merging.fields if one.horizon == "bedrock"]
    shape = bedrock.accumulation_mg_m2.shape
    assert shape[1:] == (len(bedrock.s_m), len(bedrock.n_m)) == bedrock.sampled.shape
    assert bedrock.thickness_m.shape == bedrock.top_m.shape == shape
    assert np.isfinite(bedrock.accumulation_mg_m2).all()
    assert bedrock.top_m.min() >= 0.0


def test_the_same_seed_gives_the_same_json() -> None:
    log = merging_log()
    first, second = (
        json.dumps(to_json(trace_streaks(read(log, seed=5)))) for _ in range(2)
    )
    assert first == second


def test_another_cutoff_traces_again_without_a_new_fit() -> None:
    reading = read(merging_log())
    low = trace_streaks(reading, cutoff_mg_m3=60.0)
    high = trace_streaks(reading, cutoff_mg_m3=150.0)
    assert high.total.gold_g == low.total.gold_g
    assert low.total.gold_g_above_cutoff is not None
    assert high.total.gold_g_above_cutoff is not None
    assert high.total.gold_g_above_cutoff.mean <= low.total.gold_g_above_cutoff.mean
    assert high.cutoff_mg_m3 == 150.0
    assert "cutoff_mg_m3" not in high.assumptions


def test_a_cutoff_far_from_the_usual_one_is_traced_on_the_same_fit(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    reading = read(merging_log())
    usual = trace_streaks(reading)

    def refuse(*_args: Any, **_more: Any) -> None:
        msg = "a new fit"
        raise AssertionError(msg)

    monkeypatch.setattr("pennyweight.answers.streakfit.fit_streaks", refuse)
    for factor in (0.1, 8.0):
        far = trace_streaks(reading, cutoff_mg_m3=usual.cutoff_mg_m3 * factor)
        assert far.total.gold_g == usual.total.gold_g


def test_one_line_has_crossings_and_no_links() -> None:
    answer = trace_streaks(read(log_of(line_of_digs("L", 0.0, {2.0: 60.0}))))
    (streak,) = [one for one in answer.streaks if one.horizon == "bedrock"]
    assert streak.links == ()
    assert streak.path[0].n_m == pytest.approx(answer.streaks[0].path[0].n_m)
    assert answer.total.gold_g is None
    assert any("one line" in caution for caution in answer.cautions)


def test_one_sample_is_answered() -> None:
    log = Log(
        ground=Ground(pan_volume_m3=PAN_M3, swell=0.2),
        digs=(Dig(dig="A", easting_m=0.0, northing_m=0.0),),
        samples=(Sample(sample="1", dig="A", top_m=0.0, bottom_m=0.5, pans=2.0),),
        tallies=(Tally(sample="1", size_class="all", colors=3),),
    )
    answer = trace_streaks(read(log))
    assert answer.total.gold_g is None
    assert any("bedrock" in caution for caution in answer.cautions)


def test_no_gold_at_all_is_no_streak() -> None:
    lines = [line_of_digs(f"L{at}", 15.0 * at, {}) for at in range(3)]
    barren = log_of(*lines)
    barren = replace(
        barren, tallies=tuple(replace(one, colors=0) for one in barren.tallies)
    )
    answer = trace_streaks(read(barren))
    assert answer.streaks == ()
    assert answer.probability_of_any < 0.2
    assert any("No gold" in caution for caution in answer.cautions)


def test_where_no_contact_was_met_the_gravel_answers() -> None:
    lines = [
        line_of_digs(f"L{at}", 15.0 * at, {0.0: 60.0}, stopped_by="water")
        for at in range(3)
    ]
    answer = trace_streaks(read(log_of(*lines)))
    assert [one.horizon for one in answer.streaks] == ["gravel"]
    assert any("No dig met bedrock" in caution for caution in answer.cautions)


def test_false_bedrock_and_bedrock_carry_each_their_own() -> None:
    digs, samples, tallies, layers = [], [], [], []
    for at in range(3):
        line = line_of_digs(f"L{at}", 15.0 * at, {-5.0: 60.0})
        upper = line_of_digs(f"L{at}", 15.0 * at, {5.0: 60.0})
        digs += line[0]
        samples += line[1]
        tallies += line[2]
        for one, tally in zip(upper[1], upper[2], strict=True):
            name = f"{one.sample}u"
            samples.append(replace(one, sample=name, top_m=0.1, bottom_m=0.4))
            tallies.append(replace(tally, sample=name))
            layers += [
                Layer(dig=one.dig, top_m=0.0, bottom_m=0.4, material="gravel"),
                Layer(dig=one.dig, top_m=0.4, bottom_m=0.5, material="clay"),
                Layer(dig=one.dig, top_m=0.5, bottom_m=1.0, material="gravel"),
            ]
    log = replace(log_of((digs, samples, tallies)), layers=tuple(layers))
    answer = trace_streaks(read(log))
    found = {one.horizon: one.path[0].northing_m for one in answer.streaks}
    assert set(found) == {"false-1", "bedrock"}
    assert found["false-1"] == pytest.approx(5.0, abs=1.0)
    assert found["bedrock"] == pytest.approx(-5.0, abs=1.0)


def test_nothing_washed_is_too_little() -> None:
    digs, samples, _ = line_of_digs("L", 0.0, {2.0: 60.0})
    with pytest.raises(TooLittleError, match="None of the 11 samples is washed") as far:
        trace_streaks(read(log_of((digs, samples, []))))
    assert far.value.exit_code == 3


def test_how_many_digs_the_streaks_rest_on_is_told() -> None:
    """60 colors at the crest are fair at least, few at the sides are poor."""
    answer = trace_streaks(read(log_of(line_of_digs("L", 0.0, {2.0: 60.0}))))
    assert sum(answer.rests_on.values()) == 11
    assert answer.rests_on["poor"] < 11
    assert "rests_on" not in to_json(answer)


def test_digs_without_a_position_are_a_caution_not_a_crash() -> None:
    digs, samples, tallies = line_of_digs("L", 0.0, {2.0: 60.0})
    lost = [replace(one, easting_m=None, northing_m=None) for one in digs]
    answer = trace_streaks(read(log_of((lost, samples, tallies))))
    assert answer.streaks == ()
    assert answer.area is None
    assert "position" in answer.cautions[0]


def test_digs_without_a_line_are_answered() -> None:
    digs, samples, tallies = [], [], []
    for at in range(3):
        line = line_of_digs(f"L{at}", 15.0 * at, {1.0: 60.0})
        digs += [replace(one, line=None) for one in line[0]]
        samples += line[1]
        tallies += line[2]
    answer = trace_streaks(read(log_of((digs, samples, tallies))))
    assert len([one for one in answer.streaks if one.horizon == "bedrock"]) == 1


def test_a_cutoff_of_nothing_is_refused_with_its_value() -> None:
    with pytest.raises(ValueError, match=r"-3\.0 mg/m3"):
        trace_streaks(read(merging_log()), cutoff_mg_m3=-3.0)


def test_a_wish_to_stop_is_honored() -> None:
    def stop(share_done: float, doing: str) -> None:
        if share_done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        trace_streaks(read(merging_log(), progress=stop))


def test_after_z_come_two_letters() -> None:
    assert name_streaks(28)[25:] == ["Z", "AA", "AB"]


def test_an_answer_is_plain_json(merging: TraceAnswer) -> None:
    text = json.dumps(to_json(merging), allow_nan=False)
    found = json.loads(text)
    assert set(found["merges"][0]) >= {"from", "into", "s_m", "probability"}
    assert "fields" not in found
    assert set(found["streaks"][0]["path"][0]) == {
        "s_m",
        "n_m",
        "center_n_m",
        "easting_m",
        "northing_m",
        "probability",
        "top_m",
        "thickness_m",
        "width_m",
        "grade_mg_m3",
    }
