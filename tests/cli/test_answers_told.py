"""Every question is answered, for a program and for a person."""

import json
from pathlib import Path
from typing import Any

import pytest

from pennyweight.answers import nextdigs
from pennyweight.answers.answer import Answer
from pennyweight.answers.nextdigs import Gain, NextAnswer, ProposedDig
from pennyweight.answers.reading import Reading
from tests.cli.conftest import Call

HEADING = ["book", "made_at", "version", "seed", "cautions", "assumptions"]


def answered(call: Call, *arguments: object) -> dict[str, Any]:
    """Return the JSON that a call prints, and nothing else."""
    said = call(*arguments, "--json")
    assert (said.code, said.err) == (0, "")
    printed: dict[str, Any] = json.loads(said.out)
    return printed


def test_grade_prints_every_sample_and_dig(call: Call, read_book: Path) -> None:
    printed = answered(call, "grade", read_book)
    assert list(printed)[:6] == HEADING
    assert printed["book"]["name"] == "Invented Creek"
    assert (len(printed["samples"]), len(printed["digs"])) == (9, 9)
    assert set(printed["samples"][0]["grade_mg_m3"]) == {"p10", "p50", "p90", "mean"}


def test_no_path_stands_in_an_answer(call: Call, read_book: Path) -> None:
    said = call("grade", read_book, "--json")
    assert str(read_book.parent) not in said.out


def test_grade_tells_the_verdict_before_the_numbers(
    call: Call, read_book: Path
) -> None:
    lines = call("grade", read_book).out.splitlines()
    assert lines[0].startswith("The best interval is in dig ")
    assert lines.index("Supposed, because the book does not say:") > 20
    assert lines.index("Before you act on it:") > 20


def test_units_are_those_of_the_reader(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "2.62-3.94 ft" in call("grade", read_book, "--units", "feet").out
    monkeypatch.setenv("PENNYWEIGHT_UNITS", "feet")
    assert "2.62-3.94 ft" in call("grade", read_book).out


def test_json_is_metric_whatever_the_reader_reads(call: Call, read_book: Path) -> None:
    printed = answered(call, "grade", read_book, "--units", "feet")
    assert printed["samples"][0]["top_m"] == 0.8


def test_trace_answers_with_streaks_and_the_gold_between_the_lines(
    call: Call, read_book: Path
) -> None:
    printed = answered(call, "trace", read_book, "--cutoff", "0.5 g/m3", "--seed", "7")
    assert (printed["cutoff_mg_m3"], printed["seed"]) == (500.0, 7)
    assert printed["total"]["gold_g"]["p50"] > 0.0
    assert 0.0 < printed["probability_of_any"] <= 1.0


def test_the_same_seed_gives_the_same_bytes(call: Call, read_book: Path) -> None:
    one, two = (answered(call, "trace", read_book, "--seed", "3") for _ in range(2))
    del one["made_at"], two["made_at"]
    assert json.dumps(one) == json.dumps(two)


def test_trace_is_told_in_sentences_and_tables(call: Call, read_book: Path) -> None:
    said = call("trace", read_book, "--cutoff", "50 mg/m3")
    assert said.code == 0
    assert "Followed above 50\u00a0mg/m³ (bank)." in said.out
    assert "no resource or reserve" in " ".join(said.out.split())


@pytest.mark.parametrize("cutoff", ["100", "ten mg/m3", "0 mg/m3", "100 mg"])
def test_a_cutoff_that_is_no_grade_is_a_wrong_call(
    call: Call, read_book: Path, cutoff: str
) -> None:
    said = call("trace", read_book, "--cutoff", cutoff)
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert cutoff in said.err


def test_worth_answers_in_the_currency_of_the_ground(
    call: Call, read_book: Path
) -> None:
    printed = answered(call, "worth", read_book)
    assert printed["currency"] == "USD"
    assert printed["verdict"]
    assert call("worth", read_book).out.startswith(printed["verdict"].split()[0])


def test_worth_without_a_price_ends_with_3(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    (log / "ground.toml").write_text('crs = "EPSG:32610"\npan_volume_l = 6\n')
    call("new", path)
    call("intake", path, log)
    said = call("worth", path, "--json")
    assert (said.code, said.out, said.err.count("\n")) == (3, "", 1)


def planned(reading: Reading, days: float = 1.0) -> NextAnswer:
    """Return a plan that was made up."""
    first = ProposedDig(
        rank=1,
        easting_m=500_010.0,
        northing_m=5_400_000.0,
        line="1",
        kind="trench",
        depth_m=1.2,
        pans=4.0,
        hours=6.0 * days,
        gain=Gain(money=120.0, chance_of_wrong_decision=0.04),
        why="It tells whether the streak goes on.",
    )
    return NextAnswer(**reading.heading(), digs=(first,), hours=6.0 * days)


def test_next_hands_the_days_on_and_tells_the_reasons(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nextdigs, "plan_digs", planned, raising=False)
    assert answered(call, "next", read_book, "--days", "2")["hours"] == 12.0
    out = call("next", read_book).out
    assert "500010 E, 5400000 N" in out
    assert "1: It tells whether the streak goes on." in out


def test_next_tells_places_in_degrees_and_reasons_in_feet(
    call: Call, read_book: Path
) -> None:
    """The ground lies on the central meridian of its zone, 123 degrees west."""
    said = call("next", read_book, "--units", "feet")
    assert said.code == 0
    assert "For a receiver, latitude and longitude (WGS 84):" in said.out
    assert "1: 48.75" in said.out
    assert "\u00a0m " not in said.out.split("Supposed,")[0]
    assert "gap dig" not in said.out
    printed = answered(call, "next", read_book)
    assert printed["digs"][0]["longitude"] == pytest.approx(-123.0, abs=0.01)


@pytest.mark.parametrize("command", ["trace", "grade"])
def test_a_book_with_nothing_washed_is_too_little(
    call: Call, tmp_path: Path, log: Path, command: str
) -> None:
    path = tmp_path / "creek.book"
    (log / "tallies.csv").unlink()
    call("new", path)
    call("intake", path, log)
    said = call(command, path)
    assert (said.code, said.out, said.err.count("\n")) == (3, "", 1)
    assert "None of the 9 samples is washed" in said.err


def test_next_answers_before_anything_is_washed(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    (log / "tallies.csv").unlink()
    call("new", path)
    call("intake", path, log)
    said = call("next", path)
    assert said.code == 0
    assert said.out.startswith("First wash 1A-1, 1B-1, 1C-1, 2A-1 and 5 more:")


def test_next_of_an_empty_book_is_too_little(call: Call, tmp_path: Path) -> None:
    call("new", tmp_path / "creek.book")
    said = call("next", tmp_path / "creek.book")
    assert (said.code, said.out) == (3, "")


def test_no_streak_is_said_once(call: Call, read_book: Path) -> None:
    out = " ".join(call("trace", read_book, "--cutoff", "900 g/m3").out.split())
    assert out.count("That there is any") == 1


@pytest.mark.parametrize("command", ["grade", "trace", "worth"])
def test_the_eighty_percent_are_explained_once(
    call: Call, read_book: Path, command: str
) -> None:
    out = " ".join(call(command, read_book).out.split())
    assert out.count("four chances in five") == 1


def test_trust_is_said_in_plain_words(call: Call, read_book: Path) -> None:
    out = " ".join(call("grade", read_book).out.split())
    assert "poor (it may well be half or double)" in out
    said = call("reckon", "--pans", "1", "--colors", "2").out
    assert "poor: it may well be half or double" in said


def test_nothing_to_dig_next_is_an_answer(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing(reading: Reading, days: float = 1.0) -> Answer:
        return NextAnswer(**reading.heading(), digs=(), hours=0.0, verdict="Stay home.")

    monkeypatch.setattr(nextdigs, "plan_digs", nothing, raising=False)
    assert call("next", read_book).out.startswith("Stay home.")


def test_reckon_needs_no_book(call: Call) -> None:
    said = call("reckon", "--pans", "6", "--colors", "14", "--json")
    printed = json.loads(said.out)
    assert (printed["colors"], printed["assumptions"]["swell"]) == (14, 0.2)


def test_reckon_takes_the_pan_and_the_swell_as_typed(call: Call) -> None:
    """Ten pans of 6 l make 60 l loose, that is 48 l of bank at a swell of 0.25."""
    asked = ("--pans", "10", "--colors", "2", "--pan-volume-l", "6", "--swell", "0.25")
    printed = json.loads(call("reckon", *asked, "--json").out)
    assert printed["bank_m3"] == pytest.approx(0.048)
    assert "swell" not in printed["assumptions"]


def test_reckon_is_told_to_a_person(call: Call) -> None:
    out = call("reckon", "--pans", "6", "--colors", "14").out
    assert out.startswith("14 colors in 6 pans")
    assert "pans for 20 colors" in out


def test_reckon_takes_sizes_weights_and_a_pan_test(call: Call) -> None:
    asked = ("--pans", "6", "--colors", "14", "--size", "0.5 to 1", "--weighed-mg", "9")
    more = ("--balance-mg", "0.1", "--put-in", "20", "--found", "18")
    printed = json.loads(call("reckon", *asked, *more, "--json").out)
    assert "recovery_share_0.5-1" not in printed["assumptions"]
    assert "color_mg_0.5-1" not in printed["assumptions"]


def test_reckon_names_a_size_that_it_does_not_know(call: Call) -> None:
    said = call("reckon", "--pans", "6", "--colors", "14", "--size", "big")
    assert said.code == 2
    assert "--size is 'big'; give a class like 0.25-0.5" in said.err


def test_reckon_without_a_color_says_at_most(call: Call) -> None:
    out = call("reckon", "--pans", "6", "--colors", "0", "--units", "feet").out
    assert "nine chances in ten" in out
    assert "mg/m" not in out.split("Supposed")[0]


def test_reckon_says_who_did_not_say(call: Call) -> None:
    out = call("reckon", "--pans", "6", "--colors", "14").out
    assert "Supposed, because you did not say:" in out
    assert "the book" not in out


def test_an_impossible_pan_is_a_wrong_call(call: Call) -> None:
    said = call("reckon", "--pans", "0", "--colors", "14")
    assert (said.code, said.out) == (2, "")
