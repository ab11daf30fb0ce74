"""Cells of the field log: numbers, decimal marks, dates, words."""

from collections.abc import Callable
from typing import Any

import pytest

from pennyweight.exchange.cells import to_field_unit
from pennyweight.exchange.logtables import DIGS

Log = dict[str, str | bytes]


def with_sample(base: Log, heading: str, text: str) -> Log:
    head = "sample,dig,top_m,bottom_m,pans"
    return base | {"samples.csv": f'{head},{heading}\nS1,T1,0,1,10,"{text}"\n'}


def test_a_french_sheet_with_semicolons_and_decimal_commas_is_read(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = (
        "\ufeffsample;dig;top_m;bottom_ft;volume_l;state;weighed_mg;note\r\n"
        "E1;T1;0,25;2,5;12,5;loose;0,8;sable, gravier\r\n"
    ).encode()
    (sample,) = read_log(base).log.samples
    assert (sample.top_m, sample.volume_m3, sample.weighed_mg) == (0.25, 0.0125, 0.8)
    assert sample.typed["bottom_ft"] == "2.5"
    assert sample.note == "sable, gravier"


@pytest.mark.parametrize("separator", [";", "\t"])
def test_a_point_is_a_decimal_mark_too_where_cells_are_not_parted_by_commas(
    read_log: Callable[..., Any], base: Log, separator: str
) -> None:
    text = "sample,dig,top_m,bottom_m,pans\nS1,T1,0.25,1.5,10\n"
    base["samples.csv"] = text.replace(",", separator)
    assert read_log(base).log.samples[0].top_m == 0.25


def test_both_decimal_marks_in_one_column_are_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = (
        "sample;dig;top_m;bottom_m;pans\nS1;T1;0;0,5;10\nS2;T2;0;1.5;10\n"
    )
    (refusal,) = refuse_log(base)
    assert (refusal.row, refusal.column, refusal.found) == (3, "bottom_m", "1.5")
    assert "row 2 has ',', this one '.'" in refusal.expected


@pytest.mark.parametrize(
    "text", ["1,234", "1 234", "1'234", "1\u202f234", "1,234.5", "12,345,678"]
)
def test_a_thousands_mark_is_refused(
    refuse_log: Callable[..., Any], base: Log, text: str
) -> None:
    (refusal,) = refuse_log(with_sample(base, "weighed_mg", text))
    assert (refusal.row, refusal.column, refusal.found) == (2, "weighed_mg", text)
    assert "without a mark between thousands" in refusal.expected


@pytest.mark.parametrize("text", ["1.234,5", "1,234.5"])
def test_both_marks_in_one_cell_are_refused(
    refuse_log: Callable[..., Any], base: Log, text: str
) -> None:
    base["samples.csv"] = (
        f"sample;dig;top_m;bottom_m;pans;weighed_mg\nS1;T1;0;1;10;{text}\n"
    )
    (refusal,) = refuse_log(base)
    assert refusal.found == text
    assert "one decimal mark and none between thousands" in refusal.expected


def test_two_commas_in_a_cell_are_a_thousands_mark(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = (
        "sample;dig;top_m;bottom_m;pans;weighed_mg\nS1;T1;0;1;10;1,234,567\n"
    )
    (refusal,) = refuse_log(base)
    assert refusal.found == "1,234,567"


def test_points_between_thousands_are_seen_where_decimals_have_commas(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    """1.250 beside 0,5 is more likely 1250 than one and a quarter."""
    base["samples.csv"] = (
        "sample;dig;top_m;bottom_m;pans;weighed_mg\n"
        "S1;T1;0;0,5;10;1.250\nS2;T2;0;0,5;10;12.500\n"
    )
    first, second = refuse_log(base)
    assert (first.column, first.found) == ("weighed_mg", "1.250")
    assert "may mean 1250 or 1,250" in first.expected
    assert second.row == 3


def test_a_column_with_points_beside_one_with_commas_is_taken(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["samples.csv"] = (
        "sample;dig;top_m;bottom_m;pans;weighed_mg\n"
        "S1;T1;0;0,5;10;1.25\nS2;T2;0;0,5;10;\n"
    )
    assert read_log(base).log.samples[0].weighed_mg == 1.25


@pytest.mark.parametrize("text", ["nan", "NaN", "inf", "-Infinity", "1e999"])
def test_nan_and_infinity_are_refused(
    refuse_log: Callable[..., Any], base: Log, text: str
) -> None:
    (refusal,) = refuse_log(with_sample(base, "weighed_mg", text))
    assert refusal.found == text


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("1,5", "with a point as decimal mark"),
        ('3\'6""', "fractions and feet with inches are not"),
        ("3 1/2", "fractions and feet with inches are not"),
        ("n/a", "or an empty cell where it is not known"),
        ("-", "or an empty cell where it is not known"),
        ("1_000", "a number"),
        ("\u0661\u0662", "a number"),
    ],
)
def test_what_is_no_number_is_refused_with_the_right_hint(
    refuse_log: Callable[..., Any], base: Log, text: str, hint: str
) -> None:
    (refusal,) = refuse_log(with_sample(base, "weighed_mg", text))
    assert hint in refusal.expected


@pytest.mark.parametrize(
    ("heading", "text", "expected"),
    [
        ("weighed_mg", "-1", "a number of 0 mg or more"),
        ("fineness", "0", "a number above 0 and at most 1000"),
        ("fineness", "1001", "a number between 0 and 1000"),
        ("washed_part", "1.5", "a number between 0 and 1"),
        ("balance_mg", "0", "a number above 0 mg"),
        ("oversize_l", "-3", "a number of 0 m3 or more"),
        ("screen_mm", "0", "a number above 0 mm"),
    ],
)
def test_a_number_out_of_bounds_is_refused(
    refuse_log: Callable[..., Any], base: Log, heading: str, text: str, expected: str
) -> None:
    (refusal,) = refuse_log(with_sample(base, heading, text))
    assert (refusal.column, refusal.found, refusal.expected) == (
        heading,
        text,
        expected,
    )


@pytest.mark.parametrize("text", ["2.5", "2000000"])
def test_a_count_is_a_whole_number_of_this_world(
    refuse_log: Callable[..., Any], base: Log, text: str
) -> None:
    base["tallies.csv"] = f"sample,class,colors\nS1,all,{text}\n"
    (refusal,) = refuse_log(base)
    assert (refusal.column, refusal.found) == ("colors", text)
    assert refusal.expected == "a whole number up to 1000000"


def test_a_count_with_a_zero_behind_the_point_is_whole(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS1,all,3.0\n"
    assert read_log(base).log.tallies[0].colors == 3


def test_a_count_that_is_no_number_is_refused_as_a_count(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS1,all,few\n"
    assert refuse_log(base)[0].expected.startswith("a whole number")


@pytest.mark.parametrize("text", ["31/07/2026", "2026-7-31", "July", "20260731"])
def test_dates_have_one_form(
    refuse_log: Callable[..., Any], base: Log, text: str
) -> None:
    (refusal,) = refuse_log(with_sample(base, "date", text))
    assert refusal.expected == "a date like 2026-07-31 (year-month-day)"


def test_a_day_that_is_not_in_the_calendar_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    (refusal,) = refuse_log(with_sample(base, "date", "2026-02-30"))
    assert (refusal.found, refusal.column) == ("2026-02-30", "date")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("true", True),
        ("YES", True),
        ("1", True),
        ("false", False),
        ("No", False),
        ("0", False),
        ("", False),
    ],
)
def test_yes_and_no_have_three_spellings(
    read_log: Callable[..., Any], base: Log, text: str, value: bool
) -> None:
    assert read_log(with_sample(base, "blank", text)).log.samples[0].blank is value


def test_another_word_for_yes_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    (refusal,) = refuse_log(with_sample(base, "blank", "x"))
    assert refusal.expected == "one of true, yes, 1, false, no, 0"


def test_a_word_off_a_closed_list_is_refused_with_the_list(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    (refusal,) = refuse_log(with_sample(base, "taken", "trench"))
    assert refusal.expected == (
        "one of channel, bulk, recut, grab, crevice, moss, root, loam"
    )


def test_capitals_and_blanks_in_a_listed_word_do_not_matter(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["layers.csv"] = "dig,top_m,bottom_m,wet,packing\nT1,0,1,Under water,FIRM\n"
    (layer,) = read_log(base).log.layers
    assert (layer.wet, layer.packing) == ("under_water", "firm")


def test_names_are_text_and_keep_their_zeros(
    read_log: Callable[..., Any], base: Log
) -> None:
    base["digs.csv"] = "dig,line,easting_m,northing_m\n007,01,500000,5100000\n"
    base["samples.csv"] = "sample,dig,top_m,bottom_m,pans\n0010,007,0,1,10\n"
    log = read_log(base).log
    assert (log.digs[0].dig, log.digs[0].line) == ("007", "01")
    assert (log.samples[0].sample, log.samples[0].dig) == ("0010", "007")


def test_a_value_in_the_fields_own_unit_is_left_as_it_is() -> None:
    bottom = next(one for one in DIGS.columns if one.name == "bottom")
    assert to_field_unit(0.1, "m", bottom) == 0.1


def test_a_required_cell_left_empty_is_refused(
    refuse_log: Callable[..., Any], base: Log
) -> None:
    base["tallies.csv"] = "sample,class,colors\nS1,all,\n"
    (refusal,) = refuse_log(base)
    assert (refusal.row, refusal.column, refusal.found) == (2, "colors", "")
    assert refusal.expected == "a value for colors in every row"
