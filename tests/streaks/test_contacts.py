"""Contacts told by layers, by what stopped the dig, and by neighbors."""

from typing import Any

import pytest

from pennyweight.records import Dig, Layer, Log, Sample
from pennyweight.streaks.contacts import fill_in_bedrock, read_columns


def met(log: Log, dig: str) -> list[tuple[str, float]]:
    column = read_columns(log)[dig]
    return [(one.horizon, one.depth_m) for one in column.contacts]


def layer(top_m: float, bottom_m: float, material: str, **more: Any) -> Layer:
    return Layer(dig="A", top_m=top_m, bottom_m=bottom_m, material=material, **more)


def test_layers_tell_false_and_true_bedrock() -> None:
    log = Log(
        digs=(Dig(dig="A"),),
        layers=(
            layer(0.0, 0.6, "gravel"),
            layer(0.6, 0.8, "blue clay"),
            layer(0.8, 1.5, "gravel"),
            layer(1.5, 1.6, "bedrock"),
        ),
    )
    assert met(log, "A") == [("false-1", 0.6), ("bedrock", 1.5)]


def test_cemented_gravel_is_a_false_bedrock() -> None:
    log = Log(
        digs=(Dig(dig="A"),),
        layers=(
            layer(0.0, 0.7, "gravel"),
            layer(0.7, 1.0, "gravel", packing="cemented"),
        ),
    )
    assert met(log, "A") == [("false-1", 0.7)]


def test_clayey_gravel_and_a_clay_soil_are_no_contact() -> None:
    log = Log(
        digs=(Dig(dig="A"),),
        layers=(layer(0.0, 0.2, "clay"), layer(0.2, 1.0, "clayey gravel")),
    )
    assert met(log, "A") == []


def test_clay_below_silt_is_no_contact() -> None:
    """Nothing that carries gold rests on it."""
    log = Log(
        digs=(Dig(dig="A"),), layers=(layer(0.0, 0.5, "silt"), layer(0.5, 0.8, "clay"))
    )
    assert met(log, "A") == []


@pytest.mark.parametrize(
    ("stopped_by", "expected"),
    [
        ("bedrock", [("bedrock", 1.2)]),
        ("clay", [("false-1", 1.2)]),
        ("false bedrock", [("false-1", 1.2)]),
        ("water", []),
        (None, []),
    ],
)
def test_without_layers_what_stopped_the_dig_tells(
    stopped_by: str | None, expected: list[tuple[str, float]]
) -> None:
    log = Log(digs=(Dig(dig="A", bottom_m=1.2, stopped_by=stopped_by),))
    assert met(log, "A") == expected


def test_bedrock_without_a_bottom_lies_under_the_deepest_sample() -> None:
    log = Log(
        digs=(Dig(dig="A", stopped_by="bedrock"),),
        samples=(Sample(sample="1", dig="A", top_m=0.5, bottom_m=0.9),),
    )
    assert met(log, "A") == [("bedrock", 0.9)]


def test_a_dig_with_one_of_two_clays_keeps_the_ground_wide_number() -> None:
    """Clays at 0.5 and 1.4 m elsewhere: the one at 1.3 m is the second."""
    both = [
        Layer(dig="A", top_m=0.5, bottom_m=0.6, material="clay"),
        Layer(dig="A", top_m=0.6, bottom_m=1.4, material="gravel"),
        Layer(dig="A", top_m=1.4, bottom_m=1.5, material="clay"),
    ]
    one = [
        Layer(dig="B", top_m=0.0, bottom_m=1.3, material="gravel"),
        Layer(dig="B", top_m=1.3, bottom_m=1.4, material="clay"),
    ]
    log = Log(digs=(Dig(dig="A"), Dig(dig="B")), layers=(*both, *one))
    assert met(log, "A") == [("false-1", 0.5), ("false-2", 1.4)]
    assert met(log, "B") == [("false-2", 1.3)]


def test_a_silent_dig_takes_bedrock_from_neighbors_that_agree() -> None:
    log = Log(
        digs=(
            Dig(dig="A", bottom_m=1.0, stopped_by="bedrock"),
            Dig(dig="B", bottom_m=1.1),
            Dig(dig="C", bottom_m=0.3),
        )
    )
    columns = read_columns(log)
    filled = fill_in_bedrock(columns, ["B", "C"], {"B": ["A"], "C": ["A"]})
    assert filled["B"].assumed_bedrock
    assert filled["B"].depth_of("bedrock") == 1.1
    assert filled["C"].depth_of("bedrock") is None
