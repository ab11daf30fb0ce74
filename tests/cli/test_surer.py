"""Bulk test, clean-ups and hours asked in a terminal."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Call, write_small_log

CLEANUPS = (
    "cleanup,area,bank_volume_m3,weighed_g,hours\nC1,25-40,10,4,30\nC2,Nowhere,5,1,12\n"
)


@pytest.fixture
def mined(call: Call, tmp_path: Path) -> Path:
    """Return a book with two clean-ups."""
    folder = write_small_log(tmp_path / "log")
    (folder / "cleanups.csv").write_text(CLEANUPS, encoding="utf-8")
    book = tmp_path / "mined.book"
    assert call("new", book).code == 0
    assert call("intake", book, folder).code == 0
    return book


def test_clean_ups_are_told_beside_the_estimate(call: Call, mined: Path) -> None:
    said = call("reconcile", mined)
    assert said.code == 0
    assert "C1 (25-40):" in said.out
    assert "No area named Nowhere is drawn." in said.out
    assert "Clean-ups are carried into the next estimate" in said.out
    printed = json.loads(call("reconcile", mined, "--json").out)
    assert printed["cuts"][0]["won_g"] == 4.0
    assert printed["cuts"][1]["expected_g"] is None
    assert printed["assumptions"]["reconcile_survey_rel_sd"] == 0.08


def test_a_bulk_test_is_planned_in_the_readers_units(call: Call, mined: Path) -> None:
    said = call("bulk", mined, "--within", 50, "--units", "feet")
    assert said.code == 0
    assert "yd³ of pay from" in said.out
    assert "m³" not in said.out.split("Supposed")[0]
    printed = json.loads(call("bulk", mined, "--within", 50, "--json").out)
    assert printed["plan"]["places"] == len(printed["places"])
    assert 0.0 <= printed["outlook"]["chance_confirmed"] <= 1.0


def test_another_grade_can_be_asked_about(call: Call, mined: Path) -> None:
    printed = json.loads(call("bulk", mined, "--grade", "2 gr/yd3", "--json").out)
    assert printed["threshold_mg_m3"] == pytest.approx(169.51, rel=1e-3)


@pytest.mark.parametrize("grade", ["300", "x mg/m3", "-3 mg/m3"])
def test_a_grade_that_cannot_be_ends_with_2(
    call: Call, mined: Path, grade: str
) -> None:
    said = call("bulk", mined, "--grade", grade)
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)


def test_hours_are_told_for_clean_ups(call: Call, mined: Path) -> None:
    """4 g in 30 h and 1 g in 12 h: 5 g in 42 h."""
    said = call("hours", mined)
    assert said.code == 0
    assert "By clean-ups, an hour wins" in said.out
    printed = json.loads(call("hours", mined, "--json").out)
    assert printed["kinds"][0]["work"]["gold_mg"] == 5000.0
    assert printed["kinds"][0]["work"]["hours"] == 42.0


@pytest.mark.parametrize("command", ["bulk", "reconcile", "hours"])
def test_an_empty_book_is_answered_or_refused_in_one_line(
    call: Call, tmp_path: Path, command: str
) -> None:
    book = tmp_path / "empty.book"
    call("new", book)
    said = call(command, book)
    assert said.code == (0 if command == "hours" else 3)
    assert "Traceback" not in said.err
