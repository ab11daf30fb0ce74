"""From the record to arrays: which weight belongs to which colors."""

import math

import pytest
from made_logs import log_of, panned

from pennyweight.records import Grain, Layer, Log, Tally, Weighing
from pennyweight.sampling.gold import WeighedColors
from pennyweight.sampling.washed import (
    material_of_samples,
    read_samples,
    weighed_colors,
)


def weighed(log: Log) -> list[WeighedColors]:
    found = weighed_colors(log, read_samples(log).tallied)
    return [one for one in found if sum(one.colors.values())]


def classes(name: str, *seen: tuple[str, int, float | None]) -> list[Tally]:
    return [
        Tally(sample=name, size_class=size_class, colors=colors, mg=mg)
        for size_class, colors, mg in seen
    ]


def test_the_whole_weight_less_the_weighed_classes_is_the_rests() -> None:
    sample, _ = panned("1", None, weighed_mg=60.0, balance_mg=0.5)
    found = weighed(
        log_of((sample, classes("1", ("0.5-1", 50, 40.0), ("1-2", 5, None))))
    )
    assert found == [
        WeighedColors({"0.5-1": 50}, 40.0, 0.5),
        WeighedColors({"1-2": 5}, 20.0, 0.5),
    ]


def test_where_every_class_was_weighed_they_only_split_the_whole() -> None:
    """30 and 10 mg, but 44 mg together: 33 and 11."""
    sample, _ = panned("1", None, weighed_mg=44.0)
    found = weighed(
        log_of((sample, classes("1", ("0.5-1", 50, 30.0), ("1-2", 2, 10.0))))
    )
    assert [one.mg for one in found] == pytest.approx([33.0, 11.0])


def test_weighed_classes_give_an_unweighed_sample_its_weight() -> None:
    sample, _ = panned("1", None)
    rows = classes("1", ("0.5-1", 50, 30.0), ("1-2", 0, None))
    washed = read_samples(log_of((sample, rows)))
    assert washed.weight_mg.tolist() == [30.0]


def test_a_class_without_weight_leaves_the_sample_unweighed() -> None:
    sample, _ = panned("1", None)
    rows = classes("1", ("0.5-1", 50, 30.0), ("1-2", 3, None))
    assert math.isnan(read_samples(log_of((sample, rows))).weight_mg[0])


def test_a_weight_together_is_less_what_was_weighed_singly() -> None:
    """70 mg of three samples, one of which weighed 20 mg: 50 mg for the others."""
    log = log_of(
        panned("1", 10, weighed_mg=20.0),
        panned("2", 12),
        panned("3", 13),
        weighings=(Weighing(weighing="W", samples=("1", "2", "3"), weighed_mg=70.0),),
    )
    assert WeighedColors({"all": 25}, 50.0) in weighed(log)


def test_colors_counted_with_the_weighing_count_where_samples_have_none() -> None:
    log = log_of(
        panned("1", None),
        panned("2", None),
        weighings=(
            Weighing(weighing="W", samples=("1", "2"), weighed_mg=9.0, colors=30),
        ),
    )
    assert weighed(log) == [WeighedColors({"all": 30.0}, 9.0)]


def test_grains_of_a_weighed_sample_are_not_weighed_twice() -> None:
    grain = Grain(sample="1", number=1, middle_mm=0.7, mg=1.0)
    rows = classes("1", ("0.5-1", 5, None))
    sample, _ = panned("1", None, weighed_mg=4.0)
    assert len(weighed(log_of((sample, rows), grains=(grain,)))) == 1


def test_grains_outside_every_class_or_without_weight_say_nothing() -> None:
    grains = (
        Grain(sample="1", number=1, middle_mm=5.0, mg=100.0),
        Grain(sample="1", number=2, middle_mm=0.7),
        Grain(sample="1", number=3, mg=1.0),
    )
    sample, _ = panned("1", None)
    rows = classes("1", ("0.5-1", 5, None))
    assert weighed(log_of((sample, rows), grains=grains)) == []


def test_a_grain_of_a_weight_class_goes_by_its_weight() -> None:
    grain = Grain(sample="1", number=1, mg=2.5)
    log = log_of(panned("1", 3, size_class="No.2"), grains=(grain,))
    assert weighed(log) == [WeighedColors({"No.2": 1}, 2.5)]


def test_a_sample_is_of_the_layer_at_its_middle() -> None:
    layers = (
        Layer(dig="A", top_m=0.0, bottom_m=0.4, material="silt"),
        Layer(dig="A", top_m=0.4, bottom_m=1.2, material="gravel"),
    )
    log = log_of(
        panned("1", 3),
        panned("2", 3, top_m=None),
        panned("3", 3, dig="B"),
        layers=layers,
    )
    assert material_of_samples(log) == {"1": "gravel", "2": None, "3": None}


def test_counted_and_only_weighed_duplicates_are_not_pooled() -> None:
    log = log_of(panned("1", 5), panned("2", None, weighed_mg=2.0, duplicate_of="1"))
    washed = read_samples(log)
    assert washed.pooled == ((), ())
    assert washed.counts.tolist() == [True, True]
