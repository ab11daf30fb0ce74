"""The small reckonings in a terminal, each beside the one pan of old."""

import json

import pytest

from tests.cli.conftest import Call


def test_one_pan_is_reckoned_as_ever(call: Call) -> None:
    said = call("reckon", "--pans", "4", "--colors", "3", "--json")
    assert said.code == 0
    assert json.loads(said.out)["colors"] == 3


def test_the_small_reckonings_are_listed(call: Call) -> None:
    said = call("reckon", "--help")
    assert "specimen" in said.out
    assert "--colors" in said.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("specimen --in-air-g 100 --in-water-g 80", "of raw gold"),
        ("pan --rim 36cm --fill heaped", "slope of the heap"),
        ("pan --bucket 18l --pans 3", "Your pan holds 6"),
        ("weight --wet-kg 100 --moisture 10 --dry-bank-kg-m3 1800", "50"),
        ("value --price-per-ozt 2000 --grade 200mg/m3 --currency USD", "cubic yard"),
        ("grain --magnetic yes", "no magnet lifts gold"),
        ("settling --size 0.5mm --water-c 5", "mica"),
        ("enough --grade 150mg/m3 --digs 5", "one more dig"),
        ("charge --charge-g 50 --top-size-mm 0.5 --gold-ppm 400", "two times in three"),
    ],
)
def test_each_says_its_piece(call: Call, words: str, told: str) -> None:
    said = call("reckon", *words.split())
    assert (said.code, said.err) == (0, "")
    assert told in said.out.replace("\n", " ")


def test_a_reckoning_is_printed_for_programs_too(call: Call) -> None:
    said = call("reckon", "value", "--price-per-ozt", "2000", "--raw", "5g", "--json")
    assert json.loads(said.out)["fine_mg"] == pytest.approx(4425.0)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("pan --rim 14", "--rim: '14' has no unit"),
        ("specimen --in-air-g 100", "--in-water-g"),
        ("grain --magnetic perhaps", "perhaps"),
        ("settling --size 0.5mm --water-c warm", "warm is no number"),
        ("enough --grade 0mg/m3", "above 0"),
        ("slabs", "No such command 'slabs'"),
    ],
)
def test_what_cannot_be_reckoned_ends_with_2(call: Call, words: str, told: str) -> None:
    said = call("reckon", *words.split())
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert told in said.err
