"""`ground.toml`: every key of the field log, checked and given back."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pennyweight.errors import RefusedError
from pennyweight.exchange.coordinates import open_grid
from pennyweight.exchange.groundfile import read_ground, write_ground
from pennyweight.records import Ground

FULL = """
name = "Upper bench"
log_id = "b7"
crs = "EPSG:32610"
pan_volume_l = 9.5
swell = 0.25
gold_price_per_ozt = 2400
price_date = 2026-07-01
currency = "USD"
fineness = 880
receiver_error_m = 4
min_pay_ft = 1.5
hand_depth_limit_m = 1.2
river = "none"
crew = ["A", "B"]

[costs]
wash_per_m3 = 12.5
fixed = 1000
mood = "good"

[plant]
m3_per_hour = 6
recovery = 0.85

[camp]
tents = 2
"""


def refused(text: str | bytes) -> list[Any]:
    content = text.encode() if isinstance(text, str) else text
    return list(read_ground(content).refusals)


def test_every_key_is_read_into_its_inside_unit() -> None:
    ground = read_ground(FULL.encode()).ground
    assert (ground.name, ground.log_id, ground.crs) == (
        "Upper bench",
        "b7",
        "EPSG:32610",
    )
    assert ground.pan_volume_m3 == 0.0095
    assert ground.min_pay_m == pytest.approx(0.4572)
    assert (ground.swell, ground.fineness) == (0.25, 880.0)
    assert (ground.price_date, ground.currency) == ("2026-07-01", "USD")


def test_a_price_per_troy_ounce_is_kept_per_gram() -> None:
    """2400 / 31.1034768 g = 77.1618 per gram, by hand."""
    ground = read_ground(FULL.encode()).ground
    assert ground.gold_price_per_g == pytest.approx(77.1617918)
    assert ground.typed["gold_price_per_ozt"] == "2400"


def test_a_price_per_gram_is_taken_as_it_is() -> None:
    assert read_ground(b"gold_price_per_g = 80.5").ground.gold_price_per_g == 80.5


def test_costs_and_plant_are_kept_as_typed_with_unknown_keys() -> None:
    ground = read_ground(FULL.encode()).ground
    assert ground.costs == {"wash_per_m3": 12.5, "fixed": 1000, "mood": "good"}
    assert ground.plant == {"m3_per_hour": 6, "recovery": 0.85}


def test_unknown_keys_are_kept_and_named() -> None:
    read = read_ground(FULL.encode())
    assert read.unknown == ("river", "crew", "camp")
    assert read.ground.extra["crew"] == '["A", "B"]'


def test_a_ground_reads_back_as_it_was_written() -> None:
    ground = read_ground(FULL.encode()).ground
    again = read_ground(write_ground(ground))
    assert again.refusals == ()
    assert again.ground == ground
    assert b"gold_price_per_ozt = 2400" in write_ground(ground)
    assert b"min_pay_ft = 1.5" in write_ground(ground)


def test_typed_text_that_no_longer_holds_is_not_written() -> None:
    ground = Ground(
        pan_volume_m3=0.01,
        gold_price_per_g=70.0,
        typed={"pan_volume_gal": "2", "gold_price_per_ozt": "1"},
    )
    text = write_ground(ground)
    assert text == b"pan_volume_m3 = 0.01\ngold_price_per_g = 70.0\n"


def test_the_globe_as_crs_is_the_same_as_none() -> None:
    assert read_ground(b'crs = "EPSG:4326"').ground.crs is None


def test_an_empty_crs_is_none() -> None:
    assert read_ground(b'crs = ""').ground.crs is None


def test_utf_16_is_understood_here_too() -> None:
    assert read_ground('name = "Süd"'.encode("utf-16")).ground.name == "Süd"


@pytest.mark.parametrize(
    ("line", "column", "found", "expected"),
    [
        ("swell = 1.0", "swell", "1.0", "below 1, like 0.25 for 25 %"),
        ("swell = 25", "swell", "25", "below 1"),
        ("swell = -0.1", "swell", "-0.1", "0 or more"),
        ("swell = nan", "swell", "nan", "below 1"),
        ('swell = "0.2"', "swell", "0.2", "below 1"),
        ("swell = true", "swell", "True", "below 1"),
        ("fineness = 0", "fineness", "0", "parts of gold in 1000"),
        ("pan_volume = 10", "pan_volume", "10", "pan_volume_l, pan_volume_m3"),
        ("pan_volume_m = 10", "pan_volume_m", "10", "a unit behind the name"),
        ("pan_volume_l = 1e-30", "pan_volume_l", "1e-30", "between 0.01 and 1,000 l"),
        ("pan_volume_l = 1e30", "pan_volume_l", "1e+30", "never a cubic meter"),
        ("min_pay_ft = 9e9", "min_pay_ft", "9000000000.0", "between 0 and 3,280 ft"),
        ("price = 2000", "price", "2000", "gold_price_per_ozt or gold_price_per_g"),
        ("gold_price_ozt = 2000", "gold_price_ozt", "2000", "gold_price_per_ozt or"),
        ("price_of_gold = 90", "price_of_gold", "90", "a price above 0"),
        (
            'crs = "+proj=pipeline +step +proj=utm +zone=33"',
            "crs",
            "+proj=pipeline +step +proj=utm +zone=33",
            "neither the number of a system nor its well-known text",
        ),
        ('crs = "WGS 84 / UTM zone 10N"', "crs", "WGS 84 / UTM zone 10N", "neither"),
        ("pan_volume_l = 0", "pan_volume_l", "0", "a number above 0"),
        ("min_pay_m = inf", "min_pay_m", "inf", "a number above 0"),
        ("name = 5", "name", "5", 'name = "..."'),
        ('crs = "EPSG:99999"', "crs", "EPSG:99999", "names no known"),
        ('crs = "EPSG:4267"', "crs", "EPSG:4267", "not a map grid"),
        ('price_date = "July"', "price_date", "July", "a date like 2026-07-31"),
        ('currency = "dollars"', "currency", "dollars", "ISO 4217"),
        ("gold_price = 80", "gold_price", "80", "gold_price_per_ozt"),
        ("gold_price_per_oz = 80", "gold_price_per_oz", "80", "per_ozt"),
        ("gold_price_per_g = 0", "gold_price_per_g", "0", "a price above 0"),
        ("gold_price_per_g = nan", "gold_price_per_g", "nan", "a price above 0"),
        ("costs = 5", "costs", "5", "a line [costs]"),
    ],
)
def test_a_wrong_key_is_refused_with_its_line(
    line: str, column: str, found: str, expected: str
) -> None:
    (refusal,) = refused(f'# a comment\nriver = "x"\n{line}\n')
    assert (refusal.file, refusal.row) == ("ground.toml", 3)
    assert (refusal.column, refusal.found) == (column, found)
    assert expected in refusal.expected


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("wash_per_m3 = -1", "a number of 0 or more"),
        ("wash_per_m3 = nan", "a finite number"),
        ("recovery = 85", "a share above 0 and at most 1"),
        ("royalty_percent = 300", "a share in percent, at most 100"),
        ("hours_per_day = 40", "at most the 24 hours of a day"),
    ],
)
def test_a_wrong_cost_is_refused_with_its_line(line: str, expected: str) -> None:
    (refusal,) = refused(f"[costs]\n{line}\n")
    assert (refusal.row, refusal.expected) == (2, expected)
    assert refusal.column == f"costs.{line.split(maxsplit=1)[0]}"


def test_two_prices_and_two_units_are_refused() -> None:
    found = refused(
        "gold_price_per_g = 80\ngold_price_per_ozt = 2400\n"
        "pan_volume_l = 10\npan_volume_gal = 2\n"
    )
    assert [one.column for one in found] == ["gold_price_per_ozt", "pan_volume_gal"]


def test_one_cost_in_two_units_is_refused() -> None:
    (refusal,) = refused("[costs]\nwash_per_m3 = 9\nwash_yd3 = 7\n")
    assert (refusal.row, refusal.column) == (3, "costs.wash_yd3")
    assert "one of wash_per_m3 and wash_yd3, not two" in refusal.expected


def test_a_system_may_be_written_out_in_full() -> None:
    text = open_grid("EPSG:32633").well_known_text
    assert read_ground(f"crs = '''{text}'''".encode()).ground.crs == text


def test_what_is_no_toml_is_refused_with_its_line() -> None:
    with pytest.raises(RefusedError) as error:
        read_ground(b'name = "x"\nswell 0.25\n')
    (refusal,) = error.value.refusals
    assert refusal.row == 2
    assert "swell = 0.25" in refusal.expected


def test_toml_that_ends_early_is_refused_without_a_line() -> None:
    with pytest.raises(RefusedError) as error:
        read_ground(b'name = "x')
    assert error.value.refusals[0].file == "ground.toml"


VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(costs=st.dictionaries(st.from_regex(r"[a-z ]{1,9}", fullmatch=True), VALUES))
def test_any_table_is_written_and_read_back(costs: dict[str, Any]) -> None:
    kept = {
        key: value
        for key, value in costs.items()
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value >= 0
    }
    kept.pop("recovery", None)
    ground = Ground(plant=kept)
    assert read_ground(write_ground(ground)).ground == ground


def test_dates_in_tables_become_text() -> None:
    ground = read_ground(
        b"[costs]\nsince = 2026-07-01\nlist = [07:30:00]\nsub = {a = 1}\n"
    ).ground
    assert ground.costs == {
        "since": "2026-07-01",
        "list": ["07:30:00"],
        "sub": {"a": 1},
    }


def test_an_unknown_date_becomes_text_and_stays_so() -> None:
    ground = read_ground(b"since = 1899-05-01\n").ground
    assert ground.extra == {"since": "1899-05-01"}
    assert read_ground(write_ground(ground)).ground == ground


def test_a_text_that_reads_as_nothing_stays_a_text() -> None:
    ground = Ground(extra={"weather": "null"})
    assert write_ground(ground) == b'weather = "null"\n'


def test_infinite_unknown_numbers_come_back() -> None:
    ground = read_ground(b"odd = inf\n").ground
    again = read_ground(write_ground(ground)).ground
    assert math.isinf(float(again.extra["odd"]))
