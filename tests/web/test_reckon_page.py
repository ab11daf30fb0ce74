"""One pan is reckoned without any book."""

import pytest

from tests.web.conftest import Visitor, words_of


def test_the_calculator_asks_before_it_tells(visitor: Visitor) -> None:
    page = visitor.read("/reckon").text
    assert "Nothing is written down" in page
    assert 'id="colors"' in page


def test_colors_become_a_grade_with_its_interval(visitor: Visitor) -> None:
    words = words_of(visitor.read("/reckon?colors=12&pans=4&pan_volume=6").text)
    assert "four chances in five between" in words
    assert "mg/m³ (80 %:" in words


def test_no_color_is_not_zero(visitor: Visitor) -> None:
    assert "That is not zero" in visitor.read("/reckon?colors=0&pans=4").text


def test_a_program_gets_the_same_as_json(visitor: Visitor) -> None:
    told = visitor.read("/reckon.json?colors=12&pans=4&pan_volume=1.5&unit=gal").json()
    assert told["colors"] == 12
    assert told["grade_mg_m3"]["p10"] < told["grade_mg_m3"]["p90"]
    # 4 pans of 1.5 US gallons are 22.71 l loose, less the swell that is supposed.
    assert 0.015 < told["bank_m3"] < 0.0227


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("colors=2.5", "whole"),
        ("colors=some", "some"),
        ("colors=3&pans=0", "0 is not taken"),
        ("colors=3&swell=150", "150"),
        ("colors=3&pan_volume=9000", "9000"),
        ("colors=3&size=big", "big is not taken"),
        ("colors=3&put_in=20&found=21", "21 of 20 grains"),
        ("colors=3&put_in=2.5", "whole grains"),
        ("colors=3&weighed=1e9", "1e9"),
    ],
)
def test_what_no_pan_can_be_is_told(visitor: Visitor, query: str, told: str) -> None:
    answer = visitor.read(f"/reckon?{query}")
    assert answer.status_code == 422
    assert told in answer.text


def test_what_was_supposed_is_not_blamed_on_a_record(visitor: Visitor) -> None:
    words = words_of(visitor.read("/reckon?colors=12&pans=4").text)
    assert "that you did not give" in words
    assert "your record" not in words


def test_sized_and_weighed_colors_are_taken(visitor: Visitor) -> None:
    more = "&size=No.2&weighed=3&balance=0.1&put_in=20&found=18&fineness=900"
    words = words_of(visitor.read(f"/reckon?colors=2&pans=4{more}").text)
    assert "2 colors in 4 pans" in words
    assert "guess at weight" not in words
