"""The small reckonings on the page, a form each that works without a script."""

import pytest

from pennyweight.answers.benchforms import BENCHES
from tests.web.conftest import Visitor, words_of


@pytest.mark.parametrize("name", list(BENCHES))
def test_each_asks_before_it_tells(visitor: Visitor, name: str) -> None:
    page = visitor.read(f"/reckon/{name}")
    assert page.status_code == 200
    assert BENCHES[name].question in page.text
    for one in BENCHES[name].asked:
        assert f'id="{one.name}"' in page.text


def test_the_calculator_leads_to_each(visitor: Visitor) -> None:
    page = visitor.read("/reckon").text
    for name in BENCHES:
        assert f'href="/reckon/{name}"' in page


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("specimen?asked=yes&in_air_g=100&in_water_g=80", "of raw gold"),
        ("pan?asked=yes&rim_m=14&rim_m.unit=in&fill=struck", "liters of loose gravel"),
        ("pan?asked=yes&bucket_m3=18&pans=3&fill=struck", "Your pan holds 6"),
        ("weight?asked=yes&wet_kg=100&moisture=10&dry_bank_kg_m3=1800", "50"),
        ("value?asked=yes&price_per_ozt=2000&grade_mg_m3=200&currency=USD", "USD"),
        ("grain?asked=yes&magnetic=yes", "no magnet lifts gold"),
        ("grain?asked=yes", "Nothing was tried yet"),
        ("settling?asked=yes&size_m=0,5", "mica"),
        ("enough?asked=yes&grade_mg_m3=150", "20 colors"),
        ("charge?asked=yes&charge_g=50&top_size_mm=1&gold_ppm=100", "luck"),
    ],
)
def test_each_answers_in_plain_words(visitor: Visitor, query: str, told: str) -> None:
    page = visitor.read(f"/reckon/{query}")
    assert page.status_code == 200
    words = words_of(page.text)
    assert told in words
    assert "The numbers behind it" in words


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("specimen?asked=yes&in_air_g=100", "Weight in water is needed"),
        ("specimen?asked=yes&in_air_g=80&in_water_g=100", "below the first"),
        ("settling?asked=yes&size_m=fine", "fine is no number"),
        ("enough?asked=yes&grade_mg_m3=9&digs=2.5", "no whole number"),
        ("value?asked=yes&price_per_ozt=2000", "nothing to price"),
        ("grain?asked=yes&streak=green", "not offered"),
    ],
)
def test_what_cannot_be_is_told_beside_the_form(
    visitor: Visitor, query: str, told: str
) -> None:
    page = visitor.read(f"/reckon/{query}")
    assert page.status_code == 422
    assert told in page.text


def test_a_program_gets_numbers(visitor: Visitor) -> None:
    told = visitor.read("/reckon/settling.json?size_m=0.5&water_c=10").json()
    assert told["sinking"][0]["mineral"] == "gold nugget"


def test_who_reads_in_feet_is_asked_in_inches(visitor: Visitor) -> None:
    visitor.client.cookies.set("units", "feet")
    page = visitor.read("/reckon/pan").text
    assert '<option value="in" selected>' in page


def test_an_unknown_reckoning_is_not_found(visitor: Visitor) -> None:
    assert visitor.read("/reckon/slabs").status_code == 404


def test_what_each_pan_says_comes_with_how_far_to_trust_it(settled: Visitor) -> None:
    words = words_of(settled.wait_for("/book/small/pans").text)
    assert "How far to trust the samples" in words
    assert "No sample was repeated" in words
    assert "Handbook: highest left out" in words
