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
    ],
)
def test_what_no_pan_can_be_is_told(visitor: Visitor, query: str, told: str) -> None:
    answer = visitor.read(f"/reckon?{query}")
    assert answer.status_code == 422
    assert told in answer.text
