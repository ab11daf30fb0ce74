"""What is odd in a record is told with its value and a remedy, and nothing else is."""

import datetime
from dataclasses import replace
from typing import Any

import pytest

from pennyweight.book.doubtwords import figure, names_in_short
from pennyweight.book.findings import CHECKS, find_doubts
from pennyweight.book.sampledoubts import colors_counted
from pennyweight.records import (
    BucketTest,
    Day,
    Dig,
    Feature,
    Ground,
    Layer,
    Log,
    PanTest,
    Sample,
    Tally,
    Weighing,
)


def dig(name: str, **said: Any) -> Dig:
    """Return a dig where nothing is odd, but for what is said."""
    usual: dict[str, Any] = {"line": "1", "bottom_m": 2.0, "northing_m": 5.4e6}
    usual["easting_m"] = 500_000.0 + 10.0 * int(name[1:])
    return Dig(dig=name, **(usual | said))


def sample(name: str, **said: Any) -> Sample:
    """Return a washed sample where nothing is odd, but for what is said."""
    usual: dict[str, Any] = {"dig": "T1", "top_m": 1.0, "bottom_m": 1.5}
    usual |= {"volume_m3": 0.02, "state": "loose"}
    return Sample(sample=name, **(usual | said))


def count(name: str, colors: int, size_class: str = "all") -> Tally:
    """Return a tally."""
    return Tally(sample=name, size_class=size_class, colors=colors)


#: A record in which nothing is odd.
SOUND = Log(
    ground=Ground(swell=0.2, pan_volume_m3=0.006, fineness=860.0),
    digs=tuple(dig(f"T{number}", elevation_m=600.0) for number in (1, 2, 3)),
    layers=(
        Layer(dig="T1", top_m=0.0, bottom_m=1.0),
        Layer(dig="T1", top_m=1.0, bottom_m=2.0),
    ),
    samples=(
        sample("S1"),
        sample("S2", dig="T2"),
        sample("S3", dig="T3"),
        sample("S4", duplicate_of="S1"),
        sample("S5", blank=True, dig="T2"),
    ),
    tallies=tuple(count(f"S{n}", c) for n, c in enumerate((9, 0, 4, 12, 0), 1)),
)


def told(log: Log) -> list[tuple[str, str]]:
    """Return where and how bad the doubts about a log are."""
    return [(one.where, one.weight) for one in find_doubts(log)]


def problem(log: Log) -> str:
    """Return the only problem that is told of a log."""
    (finding,) = find_doubts(log)
    assert finding.remedy.endswith((".", ")"))
    return finding.problem


def with_digs(*digs: Dig) -> Log:
    """Return the sound log with its digs otherwise."""
    by_name = {one.dig: one for one in (*SOUND.digs, *digs)}
    return replace(SOUND, digs=tuple(by_name.values()))


def with_samples(*samples: Sample, tallies: tuple[Tally, ...] = ()) -> Log:
    """Return the sound log with samples otherwise or more of them."""
    by_name = {one.sample: one for one in (*SOUND.samples, *samples)}
    fresh = [one.sample for one in samples if one.sample not in colors_counted(SOUND)]
    washed = [
        count(name, 1) for name in fresh if name not in {t.sample for t in tallies}
    ]
    kept = [t for t in SOUND.tallies if t.sample not in {one.sample for one in tallies}]
    return replace(
        SOUND, samples=tuple(by_name.values()), tallies=(*kept, *washed, *tallies)
    )


def test_nothing_is_odd_in_a_sound_record() -> None:
    assert find_doubts(SOUND) == []


def test_nothing_is_odd_in_an_empty_record() -> None:
    assert find_doubts(Log()) == []


def test_every_check_has_a_sentence_of_its_own() -> None:
    assert len({check.__doc__ for check in CHECKS}) == len(CHECKS)


# ---- the ground --------------------------------------------------------------------


@pytest.mark.parametrize("swell", [0.02, 0.7])
def test_a_swell_that_no_gravel_has_is_told(swell: float) -> None:
    log = replace(SOUND, ground=replace(SOUND.ground, swell=swell))
    assert f"The swell is {swell:g}, that is {swell:.0%}" in problem(log)


def test_a_pan_of_odd_size_is_told_for_ground_and_sample() -> None:
    log = replace(
        with_samples(sample("S1", pan_volume_m3=6.0)),
        ground=replace(SOUND.ground, pan_volume_m3=0.0001),
    )
    found = [one.problem for one in find_doubts(log)]
    assert found == [
        "A pan of 0.1 l is an odd size.",
        "A pan of 6,000 l is an odd size.",
    ]


def test_a_share_typed_as_fineness_is_told() -> None:
    log = replace(SOUND, ground=replace(SOUND.ground, fineness=0.86))
    assert problem(log) == "The fineness is 0.86 parts in 1000."


def test_two_centerlines_are_told() -> None:
    drawn = [Feature(number=n, role="centerline", geometry={}) for n in (1, 2)]
    assert problem(replace(SOUND, features=tuple(drawn))) == "There are 2 centerlines."


def test_more_found_than_put_in_is_wrong() -> None:
    test = PanTest(number=1, size_class="0.5-1", put_in=10, found=11)
    assert told(replace(SOUND, pantests=(test,))) == [
        ("pan test 1, class 0.5-1", "wrong")
    ]


def test_ground_that_shrinks_when_dug_is_told() -> None:
    test = BucketTest(number=1, bank_m3=0.09, loose_m3=0.075)
    assert "A hole of 90 l filled only 75 l" in problem(replace(SOUND, buckets=(test,)))


def test_a_date_years_from_the_others_is_told() -> None:
    dates = ["2026-07-01", "2026-07-02", "2026-07-03", "2062-07-04", "in July"]
    days = tuple(Day(date=date) for date in dates)
    assert told(replace(SOUND, days=days)) == [("day 2062-07-04", "doubt")]


def test_two_dates_cannot_tell_which_of_them_is_odd() -> None:
    days = (Day(date="2026-07-01"), Day(date="1926-07-01"))
    assert told(replace(SOUND, days=days)) == []


def test_a_date_to_come_is_told_when_today_is_known() -> None:
    log = replace(SOUND, days=(Day(date="2026-07-02", by="Ann"),))
    (finding,) = find_doubts(log, datetime.date(2026, 7, 1))
    assert finding.where == "day 2026-07-02 of Ann"
    assert "still to come (today is 2026-07-01)" in finding.problem
    assert find_doubts(log, datetime.date(2026, 7, 2)) == []


# ---- digs --------------------------------------------------------------------------


def test_a_dig_over_two_kilometers_from_all_others_is_told() -> None:
    far = dig("T3", northing_m=5.4e6 + 2_001.0)
    assert "500030 E, 5402001 N, over 2 km" in problem(with_digs(far))


def test_a_dig_two_kilometers_from_the_nearest_is_not_far() -> None:
    near = dig("T3", easting_m=500_010.0, northing_m=5.4e6 + 2_000.0)
    assert told(with_digs(near)) == []


def test_of_two_digs_neither_is_called_far() -> None:
    digs = (dig("T1"), dig("T2", northing_m=0.0))
    log = Log(digs=digs, samples=SOUND.samples[:2], tallies=SOUND.tallies[:2])
    assert told(log) == []


def test_a_dig_without_a_place_is_not_far() -> None:
    assert told(with_digs(dig("T3", easting_m=None))) == []


def test_two_digs_in_one_place_are_told() -> None:
    twin = dig("T2", easting_m=500_010.0)
    assert problem(with_digs(twin)) == "It lies in the same place as dig T1."


def test_a_peg_that_is_not_there_is_told() -> None:
    taped = dig("T2", peg="T9", toward="T1")
    assert problem(with_digs(taped)).startswith("Its peg is T9, a dig that is not")


def test_a_surface_far_above_its_line_is_told() -> None:
    high = dig("T2", elevation_m=631.0)
    assert "631.0 m, but that of line 1 is about 600.0 m" in problem(with_digs(high))


def test_a_surface_far_above_the_ground_is_told_without_a_line() -> None:
    feet = dig("T2", line=None, elevation_m=1969.0)
    assert "that of the ground is about 600.0 m" in problem(with_digs(feet))


def test_a_layer_below_the_bottom_is_wrong() -> None:
    assert told(with_digs(dig("T1", bottom_m=1.9))) == [("dig T1", "wrong")]


def test_a_tape_is_not_read_to_the_millimeter() -> None:
    assert told(with_digs(dig("T1", bottom_m=1.96))) == []


def test_layers_in_one_another_are_wrong() -> None:
    lower = Layer(dig="T1", top_m=0.8, bottom_m=2.0)
    log = replace(SOUND, layers=(lower, SOUND.layers[0]))
    assert "ends at 1.00 m, below the top of the next one at 0.80 m" in problem(log)


def test_digs_without_a_bottom_are_told_together() -> None:
    log = with_digs(dig("T2", bottom_m=None), dig("T3", bottom_m=None))
    assert told(log) == [("dig T2, T3", "note")]


def test_a_dig_without_a_sample_is_noted() -> None:
    assert told(with_digs(dig("T4"))) == [("dig T4", "note")]


def test_of_many_names_the_first_eight_are_told() -> None:
    names = [f"T{number}" for number in range(10)]
    assert names_in_short(names) == "T0, T1, T2, T3, T4, T5, T6, T7 and 2 more"


# ---- samples -----------------------------------------------------------------------


def test_large_numbers_have_no_powers_of_ten() -> None:
    assert [figure(0.02), figure(999.0), figure(6000.0)] == ["0.02", "999", "6,000"]


def test_a_sample_from_below_the_bottom_is_told() -> None:
    deep = sample("S2", dig="T2", top_m=1.5, bottom_m=2.5)
    assert "down to 2.50 m, but dig T2 ends at 2.00 m" in problem(with_samples(deep))


def test_a_sample_from_outside_the_layers_is_told() -> None:
    log = replace(SOUND, layers=(Layer(dig="T3", top_m=1.2, bottom_m=1.5),))
    assert "1.00 to 1.50 m, but the layers of dig T3 go from 1.20 to" in problem(log)


def test_rock_taken_up_under_the_lowest_layer_is_no_doubt() -> None:
    """Bedrock is taken up until it is barren; nobody describes it as a layer."""
    gravel = Layer(dig="T3", top_m=0.0, bottom_m=1.3, base="bedrock")
    assert told(replace(SOUND, layers=(gravel,))) == []
    clay = replace(gravel, base="clay")
    on_clay = replace(SOUND, layers=(clay,))
    stopped = [replace(dig, stopped_by="clay") for dig in SOUND.digs]
    assert told(replace(on_clay, digs=tuple(stopped))) == [("sample S3", "doubt")]


def test_overlapping_samples_are_told_unless_one_repeats_the_other() -> None:
    second = sample("S6", top_m=1.3, bottom_m=1.8)
    assert told(with_samples(second)) == [("sample S6", "doubt")]
    assert told(with_samples(replace(second, duplicate_of="S1"))) == []
    assert told(with_samples(replace(second, taken="bulk"))) == []


def test_a_sample_without_depths_overlaps_nothing() -> None:
    loose = sample("S6", taken="grab", top_m=None, bottom_m=None)
    assert told(with_samples(loose)) == []


def test_more_gravel_than_the_cut_held_is_told_with_the_assumption() -> None:
    """0.5 m of 1 m2 hold 0.5 m3; three times that is 1.5 m3."""
    said = problem(with_samples(sample("S3", dig="T3", volume_m3=1.6)))
    assert "1.6 m3 were washed of a cut 0.50 m thick" in said
    assert "a cross-section of 1 m2, which is assumed here, it holds 0.5 m3" in said


def test_pans_count_as_volume_where_their_size_is_known() -> None:
    pans = sample("S3", dig="T3", volume_m3=None, pans=300.0)
    assert "1.8 m3 were washed" in problem(with_samples(pans))
    unknown = replace(with_samples(pans), ground=Ground())
    assert told(unknown) == []


def test_mostly_stones_is_told() -> None:
    stony = sample("S1", oversize_m3=0.3)
    assert "held back 0.3 m3 and let 0.02 m3 through" in problem(with_samples(stony))


def test_a_repeat_of_nothing_is_told() -> None:
    log = with_samples(sample("S4", duplicate_of="S9"))
    assert ("sample S4", "doubt") in told(log)
    assert "S9, which is not in the record" in find_doubts(log)[0].problem


def test_a_repeat_from_another_dig_is_told() -> None:
    log = with_samples(
        sample("S4", dig="T3", top_m=0.2, bottom_m=0.5, duplicate_of="S1")
    )
    assert "It repeats S1, which is from dig T1." in problem(log)


def test_repeats_that_chance_cannot_explain_are_told() -> None:
    """9 against 30: 21 apart, the deviation of both counts is root 39, that is 6.2."""
    log = with_samples(sample("S4", duplicate_of="S1"), tallies=(count("S4", 30),))
    assert "30 colors in 20 l, but 9 in 20 l of S1" in problem(log)


def test_repeats_that_chance_explains_are_not_told() -> None:
    """9 against 25: 16 apart, three deviations are 17.5."""
    log = with_samples(sample("S4", duplicate_of="S1"), tallies=(count("S4", 25),))
    assert told(log) == []


def test_repeats_of_unlike_volumes_are_compared_per_volume() -> None:
    half = sample("S4", duplicate_of="S1", volume_m3=0.2)
    log = with_samples(half, tallies=(count("S4", 90),))
    assert told(log) == []


def test_repeats_of_which_one_waits_are_not_compared() -> None:
    log = replace(SOUND, tallies=SOUND.tallies[1:])
    assert told(log) == [("sample S1", "note")]


def test_gold_in_a_blank_is_told() -> None:
    log = with_samples(sample("S5", dig="T2", blank=True), tallies=(count("S5", 2),))
    assert problem(log) == "This blank held gold: 2 colors."


def test_classes_that_add_up_to_more_than_all_are_wrong() -> None:
    tallies = (count("S1", 9), count("S1", 7, "0.5-1"), count("S1", 4, "<0.5"))
    log = with_samples(sample("S1"), tallies=tallies)
    assert problem(log) == "Its classes add up to 11 colors, but all are 9."


def test_classes_that_outweigh_their_sample_are_told() -> None:
    tallies = (count("S1", 9), replace(count("S1", 7, "0.5-1"), mg=4.0))
    heavy = sample("S1", weighed_mg=3.0, balance_mg=0.1)
    assert problem(with_samples(heavy, tallies=tallies)) == (
        "Its classes weigh 4 mg together, but the sample 3 mg."
    )


def test_colors_too_heavy_to_be_colors_are_told() -> None:
    """Grams typed as milligrams the other way: 9 colors of 9 g."""
    log = with_samples(sample("S1", weighed_mg=9000.0))
    assert problem(log) == "9,000 mg in 9 colors is 1,000 mg each."


def test_a_sample_that_waits_is_noted_and_a_weighed_one_is_not() -> None:
    more = (
        sample("S6", dig="T3", top_m=0.1, bottom_m=0.5),
        sample("S7", dig="T2", top_m=0.1, bottom_m=0.5),
    )
    log = replace(
        SOUND,
        samples=(*SOUND.samples, *more),
        weighings=(Weighing(weighing="W1", samples=("S7",), weighed_mg=3.0),),
    )
    assert told(log) == [("sample S6", "note")]


def test_a_dig_that_ends_far_below_all_that_is_in_it_is_told() -> None:
    """37.5 m for 3.75 m; the layers of T1 end at 2 m, the sample of T2 at 1.5 m."""
    slip = replace(SOUND, digs=(dig("T1"), dig("T2", bottom_m=37.5), dig("T3")))
    assert told(slip) == [("dig T2", "doubt")]
    assert problem(slip) == (
        "It ends at 37.50 m, but its layers and samples end at 1.50 m."
    )


@pytest.mark.parametrize("bottom_m", [3.0, 3.5, 4.0, None])
def test_a_dig_that_ends_a_little_below_its_samples_is_not(
    bottom_m: float | None,
) -> None:
    """Twice as deep as 2 m, or 2 m below it, is not yet far."""
    log = replace(SOUND, digs=(dig("T1", bottom_m=bottom_m), *SOUND.digs[1:]))
    assert all("far" not in one.problem for one in find_doubts(log))
    assert not any(one.problem.startswith("It ends at") for one in find_doubts(log))


def test_nothing_is_told_of_the_depth_of_a_dig_without_layers_and_samples() -> None:
    log = replace(SOUND, digs=(*SOUND.digs, dig("T4", bottom_m=40.0)))
    assert not any(one.problem.startswith("It ends at") for one in find_doubts(log))


@pytest.mark.parametrize(
    ("classes", "told"),
    [
        (("0.25-0.5", "0.3-1"), "0.25-0.5 and 0.3-1 share grains of 0.3 mm and more"),
        (("20/40 mesh", "0.5-1"), "20/40 mesh and 0.5-1 share grains of 0.5 mm"),
        (("<0.5", "0.25-1"), "<0.5 and 0.25-1 share grains of 0.25 mm"),
        (("0.5-1", ">0.7"), "0.5-1 and >0.7 share grains of 0.7 mm"),
    ],
)
def test_classes_that_share_grain_sizes_are_told(
    classes: tuple[str, str], told: str
) -> None:
    record = replace(SOUND, tallies=tuple(count("S1", 3, one) for one in classes))
    (found,) = [one for one in find_doubts(record) if "share grains" in one.problem]
    assert told in found.problem


def test_sieves_that_follow_one_another_share_nothing() -> None:
    """40 mesh is 0.425 mm, and 0.42 is what people write."""
    for classes in (("<0.25", "0.25-0.5", "0.5-1", ">1"), ("20/40 mesh", "0.85-2")):
        record = replace(SOUND, tallies=tuple(count("S1", 3, one) for one in classes))
        assert not [one for one in find_doubts(record) if "share" in one.problem]


def test_sieves_beside_weight_classes_are_told() -> None:
    record = replace(
        SOUND, tallies=(count("S1", 3, "No.3"), count("S1", 2, "0.25-0.5"))
    )
    (found,) = [one for one in find_doubts(record) if "weight class" in one.problem]
    assert "(No.3) and by sieve (0.25-0.5)" in found.problem


def test_weight_classes_alone_are_no_doubt() -> None:
    record = replace(SOUND, tallies=(count("S1", 3, "No.3"), count("S1", 2, "No.2")))
    assert not [one for one in find_doubts(record) if "added up" in one.problem]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"weighed_mg": 250_000.0}, "Its gold weighs 250 g"),
        ({"volume_m3": 2e-5}, "Only 20 ml of it were washed"),
        ({"weighed_mg": 0.3, "balance_mg": 10.0}, "reads 0.3 mg on a balance"),
    ],
)
def test_a_sample_with_an_odd_unit_is_told(said: dict[str, Any], told: str) -> None:
    record = replace(SOUND, samples=(sample("S1", **said),), tallies=())
    assert any(told in one.problem for one in find_doubts(record))


def test_a_dig_deeper_than_hands_dig_is_told() -> None:
    record = replace(SOUND, digs=(dig("T1", bottom_m=37.0),), layers=(), samples=())
    (found,) = [one for one in find_doubts(record) if "goes down" in one.problem]
    assert "goes down to 37.00 m" in found.problem
