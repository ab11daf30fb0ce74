"""Headings as typed: units behind names, unknown ones kept, wrong ones refused."""

from collections.abc import Callable
from typing import Any

import pytest

from pennyweight.exchange.headings import plain

Log = dict[str, str | bytes]


@pytest.mark.parametrize("heading", ["bottom_ft", "Bottom (ft)", "BOTTOM FT"])
def test_a_heading_is_known_however_it_is_spelled(
    read_log: Callable[..., Any], base: Log, heading: str
) -> None:
    base["digs.csv"] = f"dig,easting_m,northing_m,{heading}\nT1,500000,5100000,10\n"
    del base["samples.csv"]
    (dig,) = read_log(base).log.digs
    assert dig.bottom_m == pytest.approx(3.048)
    assert dig.typed == {"bottom_ft": "10"}


def test_columns_may_stand_in_any_order(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "pans,bottom_m,dig,top_m,sample\n10,0.5,T1,0,S1\n"
    (sample,) = read_log(base).log.samples
    assert (sample.sample, sample.dig, sample.pans) == ("S1", "T1", 10.0)


@pytest.mark.parametrize(
    ("suffix", "meters"),
    [("m", 2.0), ("cm", 0.02), ("mm", 0.002), ("ft", 0.6096), ("in", 0.0508)],
)
def test_every_length_unit_is_understood(
    read_log: Callable[..., Any], base: Log, suffix: str, meters: float
) -> None:
    base["digs.csv"] = (
        f"dig,easting_m,northing_m,bottom_{suffix}\nT1,500000,5100000,2\n"
    )
    del base["samples.csv"]
    assert read_log(base).log.digs[0].bottom_m == pytest.approx(meters, rel=1e-15)


@pytest.mark.parametrize(
    ("suffix", "cubic_meters"),
    [
        ("l", 0.002),
        ("m3", 2.0),
        ("ft3", 2 * 0.028316846592),
        ("yd3", 2 * 0.764554857984),
        ("gal", 2 * 0.003785411784),
    ],
)
def test_every_volume_unit_is_understood(
    read_log: Callable[..., Any], base: Log, suffix: str, cubic_meters: float
) -> None:
    """Exact values of the international yard and the US gallon."""
    base["samples.csv"] = (
        f"sample,dig,top_m,bottom_m,volume_{suffix},state\nS1,T1,0,1,2,bank\n"
    )
    (sample,) = read_log(base).log.samples
    assert sample.volume_m3 == pytest.approx(cubic_meters, rel=1e-14)
    assert sample.state == "bank"


@pytest.mark.parametrize(
    ("suffix", "milligrams"),
    [
        ("mg", 2.0),
        ("g", 2000.0),
        ("grain", 129.59782),
        ("gr", 129.59782),
        ("dwt", 3110.34768),
        ("ozt", 62206.9536),
    ],
)
def test_every_mass_unit_is_understood(
    read_log: Callable[..., Any], base: Log, suffix: str, milligrams: float
) -> None:
    base["samples.csv"] = (
        f"sample,dig,top_m,bottom_m,pans,weighed_{suffix}\nS1,T1,0,1,10,2\n"
    )
    (sample,) = read_log(base).log.samples
    assert sample.weighed_mg == pytest.approx(milligrams, rel=1e-14)


def test_gr_is_read_as_grains_and_named(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,top_m,bottom_m,pans,weighed_gr\nS1,T1,0,1,10,2\n"
    (doubt,) = read_log(base).doubts
    assert doubt.where == "samples.csv, column weighed_gr"
    assert "read as grains" in doubt.problem


def test_two_units_may_stand_side_by_side_if_each_row_fills_one(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = (
        "sample,dig,top_ft,top_m,bottom_ft,bottom_m,pans\n"
        "S1,T1,0,,2,,10\nS2,T2,,0.5,,1,10\n"
    )
    first, second = read_log(base).log.samples
    assert (first.bottom_m, second.top_m, second.bottom_m) == (0.6096, 0.5, 1.0)
    assert first.typed == {"top_ft": "0", "bottom_ft": "2"}
    assert second.typed == {}


def test_two_units_filled_in_one_row_are_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,top_m,bottom_ft,bottom_in,pans\nS1,T1,0,3,6,10\n"
    (refusal,) = refuse_log(base)
    assert (refusal.row, refusal.column, refusal.found) == (2, "bottom_in", "6")
    assert refusal.expected == "one of bottom_ft and bottom_in in a row, not both"


def test_a_measured_heading_without_a_unit_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,top,bottom_m,pans\nS1,T1,0,1,10\n"
    refusal = refuse_log(base)[0]
    assert (refusal.file, refusal.row, refusal.column) == ("samples.csv", 1, "top")
    assert "top_m, top_cm, top_mm, top_ft, top_in" in refusal.expected


@pytest.mark.parametrize(
    ("heading", "hint"),
    [
        ("volume_liters", "write _l"),
        ("volume_m", "volume_l, volume_m3"),
        ("weighed_oz", "write _ozt"),
        ("weighed_l", "weighed_mg"),
    ],
)
def test_a_unit_that_is_not_on_the_list_is_refused(
    refuse_log: Callable[..., Any], base: Log, heading: str, hint: str
) -> None:
    base["samples.csv"] = f"sample,dig,top_m,bottom_m,pans,{heading}\nS1,T1,0,1,10,1\n"
    (refusal,) = refuse_log(base)
    assert refusal.column == heading
    assert hint in refusal.expected


def test_an_unknown_column_is_kept_with_the_row_and_named(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["digs.csv"] = (
        "dig,easting_m,northing_m,Weather,top_of_bank\n"
        "T1,500000,5100000,rain,\nT2,500010,5100000,,left\n"
    )
    read = read_log(base)
    assert [dig.extra for dig in read.log.digs] == [
        {"Weather": "rain"},
        {"top_of_bank": "left"},
    ]
    assert read.ignored_columns == ("digs.csv: Weather", "digs.csv: top_of_bank")


def test_a_missing_required_column_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,bottom_m,pans\nS1,T1,1,10\n"
    (refusal,) = refuse_log(base)
    assert (refusal.row, refusal.column) == (1, "top_m")
    assert refusal.expected == "a column top_m (or another unit)"


def test_a_column_twice_is_refused(refuse_log: Callable[..., Any], base: Log) -> None:
    base["samples.csv"] = (
        "sample,dig,top_m,bottom_m,pans,Pans,odd,odd\nS1,T1,0,1,10,9,1,2\n"
    )
    first, second = refuse_log(base)
    assert (first.column, first.expected) == (
        "Pans",
        "each column once; pans is the same",
    )
    assert "odd stands there twice" in second.expected


def test_a_filled_column_without_a_heading_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,top_m,bottom_m,pans,\nS1,T1,0,1,10,wet\n"
    (refusal,) = refuse_log(base)
    assert refusal.expected == "a heading over every column that holds something"


def test_an_empty_column_without_a_heading_is_let_be(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = "sample,dig,top_m,bottom_m,pans,,\nS1,T1,0,1,10,,\n"
    assert len(read_log(base).log.samples) == 1


def test_plain_headings_have_single_underscores() -> None:
    assert plain("  Boulders left-out [m3] ") == "boulders_left_out_m3"
