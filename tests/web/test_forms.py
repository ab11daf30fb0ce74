"""What is typed into a field becomes what it says, or is told plainly to be wrong."""

import pytest

from pennyweight.records import KEYS, Dig, Layer, Log, Rock, Sample
from pennyweight.web.columns import DIGS, LAYERS, ROCKS, SAMPLES, TABLES, TALLIES
from pennyweight.web.forms import (
    FieldError,
    complaints_about,
    fill,
    find_row,
    key_text,
    new_record,
    parse_field,
    parse_number,
    show_field,
    usual_unit,
)


@pytest.mark.parametrize(
    ("text", "number"), [("0,35", 0.35), (" 12 ", 12.0), ("\u22123", -3.0), (".5", 0.5)]
)
def test_numbers_take_point_or_comma(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize("text", ["", "abc", "1,2,3", "nan", "1e5", "1 m"])
def test_what_is_no_number_is_named(text: str) -> None:
    with pytest.raises(FieldError, match="no number"):
        parse_number(text)


def test_a_depth_in_feet_becomes_meters() -> None:
    """3.5 ft x 0.3048 m = 1.0668 m."""
    column = DIGS.field("bottom_m")
    assert parse_field(column, "3.5", "ft") == pytest.approx(1.0668)


def test_centimeters_are_exact() -> None:
    assert parse_field(LAYERS.field("top_m"), "35", "cm") == 0.35


@pytest.mark.parametrize(
    ("column", "text", "told"),
    [
        (DIGS.field("dig"), "", "Dig is needed"),
        (DIGS.field("kind"), "castle", "castle"),
        (DIGS.field("bottom_m"), "-1", "-1"),
        (DIGS.field("date"), "7.8.2026", "8 Jul 2026 or"),
        (SAMPLES.field("pans"), "0", "above 0"),
        (TALLIES.field("colors"), "2.5", "whole number"),
        (TALLIES.field("size_class"), "2026-01-02", "spreadsheet"),
    ],
)
def test_what_cannot_be_taken_is_told_with_its_value(
    column: object, text: str, told: str
) -> None:
    with pytest.raises(FieldError, match=told):
        parse_field(column, text)  # type: ignore[arg-type]


def test_nothing_typed_is_unknown_not_zero() -> None:
    assert parse_field(SAMPLES.field("weighed_mg"), "  ", "mg") is None


def test_the_words_that_were_typed_stay_beside_the_value() -> None:
    filled = fill(LAYERS, {"dig": "T1", "top_m": "1.5", "top_m.unit": "ft"})
    assert filled.values["top_m"] == pytest.approx(0.4572)
    assert filled.typed == {"top_ft": "1.5"}
    assert "bottom_m" in filled.errors


def test_a_new_value_takes_away_what_was_typed_before() -> None:
    before = Dig(dig="T1", bottom_m=0.9144, typed={"bottom_ft": "3", "along_ft": "7"})
    form = {"bottom_m": "1", "bottom_m.unit": "m"}
    after = fill(DIGS, form, only_sent=True).applied_to(before)
    assert after.bottom_m == 1.0
    assert after.typed == {"along_ft": "7"}


def test_an_easting_takes_away_degrees() -> None:
    before = Dig(dig="T1", easting_m=1.0, typed={"longitude": "14.5", "latitude": "46"})
    form = {"easting_m": "2", "easting_m.unit": "m"}
    assert fill(DIGS, form, only_sent=True).applied_to(before).typed == {}


def test_what_was_typed_is_shown_again_as_it_was() -> None:
    record = Layer(dig="T1", top_m=0.4572, bottom_m=1.0, typed={"top_ft": "1.50"})
    column = LAYERS.field("top_m")
    assert usual_unit(column, record) == "ft"
    assert show_field(column, record, "ft") == "1.50"
    assert show_field(column, record, "m") == "0.457"
    assert show_field(LAYERS.field("material"), record) == ""


def test_a_layer_upside_down_is_told() -> None:
    complaints = complaints_about(Layer(dig="T1", top_m=1.2, bottom_m=0.9))
    assert "1.2 m" in complaints["bottom_m"]
    assert "0.9 m" in complaints["bottom_m"]


def test_a_volume_must_say_bank_or_loose() -> None:
    sample = Sample(sample="a", dig="T1", volume_m3=0.02)
    assert "bank" in complaints_about(sample)["state"]
    assert (
        complaints_about(Sample(sample="a", dig="T1", volume_m3=1.0, state="bank"))
        == {}
    )


def test_rocks_are_numbered_on() -> None:
    log = Log(rocks=(Rock(number=4),))
    made = new_record(ROCKS, fill(ROCKS, {"kind": "boulder"}), log)
    assert made == Rock(number=5, kind="boulder")


def test_a_row_is_found_by_its_identity() -> None:
    layer = Layer(dig='T"1', top_m=0.25, bottom_m=0.5)
    text = key_text("layers", layer)
    assert text == '["T\\"1", 0.25]'
    assert find_row([layer], "layers", text) is layer
    assert find_row([layer], "layers", '["T1", 0]') is None


@pytest.mark.parametrize("table", TABLES.values(), ids=lambda table: table.name)
def test_every_table_names_its_key_first(table: object) -> None:
    record_class, key = KEYS[table.name]  # type: ignore[attr-defined]
    names = [field.name for field in table.fields]  # type: ignore[attr-defined]
    assert set(key) - {"number"} <= set(names)
    assert len(names) == len(set(names))
    assert all(name in record_class.__dataclass_fields__ for name in names)


def test_an_unknown_column_is_an_error() -> None:
    with pytest.raises(KeyError, match="salt"):
        DIGS.field("salt")
