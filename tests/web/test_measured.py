"""Feet, fractions and dates are read as people write them, or asked about."""

import pytest

from pennyweight.web.columns import DIGS, GRAINS, SAMPLES
from pennyweight.web.dates import DateError, read_date
from pennyweight.web.forms import FieldError, fill, parse_field
from pennyweight.web.measured import read_measured

LENGTHS = ("m", "cm", "ft", "in")


@pytest.mark.parametrize(
    ("text", "unit", "inside_m"),
    [
        # 4 ft 2 in = 50 in; 50 in x 0.0254 m = 1.27 m.
        ("4 ft 2 in", "m", 1.27),
        ("4'2\"", "m", 1.27),
        ("4\u2019 2\u201d", "m", 1.27),
        ("50 in", "m", 1.27),
        ('50"', "ft", 1.27),
        # 3 ft 8 in = 44 in = 1.1176 m; with half an inch 44.5 in = 1.1303 m.
        ("3'8\"", "ft", 1.1176),
        ("3' 8 1/2\"", "ft", 1.1303),
        # Half a foot = 0.1524 m; half a meter = 0.5 m; 3 1/2 ft = 1.0668 m.
        ("1/2", "ft", 0.1524),
        ("1/2", "m", 0.5),
        ("3 1/2", "ft", 1.0668),
        ("3\u00bd ft", "m", 1.0668),
        ("60 cm", "ft", 0.6),
        ("0,35", "m", 0.35),
        ("4 feet", "m", 1.2192),
    ],
)
def test_a_length_is_read_as_it_is_written(
    text: str, unit: str, inside_m: float
) -> None:
    assert parse_field(DIGS.field("bottom_m"), text, unit) == pytest.approx(
        inside_m, rel=1e-12
    )


@pytest.mark.parametrize(
    ("text", "unit", "typed"),
    [
        ("4 ft 2 in", "m", {"bottom_ft": "4 ft 2 in"}),
        ("50 in", "m", {"bottom_in": "50"}),
        ("1/2", "ft", {"bottom_ft": "1/2"}),
        ("1.2 m", "ft", {}),
    ],
)
def test_a_length_is_kept_as_it_was_typed(
    text: str, unit: str, typed: dict[str, str]
) -> None:
    form = {"bottom_m": text, "bottom_m.unit": unit}
    assert fill(DIGS, form, only_sent=True).typed == typed


@pytest.mark.parametrize("text", ["4 ft 2 gal", "deep", "4 ft two", "3 parsec", "1/0"])
def test_what_is_no_length_is_told_with_an_example(text: str) -> None:
    with pytest.raises(FieldError, match="4 ft 2 in"):
        parse_field(DIGS.field("bottom_m"), text, "ft")


def test_a_length_in_feet_has_no_place_among_millimeters() -> None:
    with pytest.raises(FieldError, match=r"3'8"):
        parse_field(GRAINS.field("long_mm"), "3'8\"", "mm")


def test_a_volume_and_a_weight_may_name_their_unit() -> None:
    """5 US gallons = 0.01892705892 m3; 1 grain = 64.79891 mg."""
    assert parse_field(SAMPLES.field("volume_m3"), "5 gal", "l") == pytest.approx(
        0.018927059, rel=1e-7
    )
    assert parse_field(SAMPLES.field("weighed_mg"), "1 grain", "mg") == pytest.approx(
        64.79891
    )


def test_no_unit_is_read_where_it_does_not_belong() -> None:
    assert read_measured("4 ft", "l", ("l", "gal")) is None
    assert read_measured("", "m", LENGTHS) is None


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-08-12", "2026-08-12"),
        ("2026/8/2", "2026-08-02"),
        ("12 Aug 2026", "2026-08-12"),
        ("12. August 2026", "2026-08-12"),
        ("Aug 12, 2026", "2026-08-12"),
        ("Sept 3 2026", "2026-09-03"),
        ("31.08.2026", "2026-08-31"),
        ("8/31/2026", "2026-08-31"),
        ("08.08.2026", "2026-08-08"),
    ],
)
def test_a_date_with_one_reading_is_taken(text: str, day: str) -> None:
    assert read_date(text) == day


def test_a_date_with_two_readings_is_asked_about() -> None:
    with pytest.raises(DateError) as told:
        read_date("12.08.2026")
    assert "12 Aug 2026 or 8 Dec 2026" in str(told.value)
    assert "2026-08-12 or 2026-12-08" in str(told.value)


@pytest.mark.parametrize("text", ["31.02.2026", "12.8.26", "soon", "12 Foo 2026"])
def test_what_is_no_date_is_told_with_an_example(text: str) -> None:
    with pytest.raises(DateError, match="12 Aug 2026"):
        read_date(text)
