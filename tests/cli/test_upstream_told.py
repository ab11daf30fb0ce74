"""Where it comes from, asked on the command line."""

import json
from pathlib import Path

import pytest

from pennyweight.book.book import create_book
from pennyweight.book.changes import putting_all
from tests.answers.made_drainage import second_feeder
from tests.cli.conftest import Call


@pytest.fixture
def drained(tmp_path: Path) -> Path:
    """Return the book of a made drainage."""
    path = tmp_path / "made.book"
    with create_book(path, "made") as book:
        book.write(putting_all(second_feeder()), who="test", why="Made up")
    return path


def test_upstream_tells_a_person_and_a_program(call: Call, drained: Path) -> None:
    said = call("upstream", drained)
    assert said.code == 0
    assert said.out.startswith("The gold most likely enters")
    assert "Wash next:" in said.out
    printed = json.loads(call("upstream", drained, "--json").out)
    assert list(printed)[:6] == [
        "book",
        "made_at",
        "version",
        "seed",
        "cautions",
        "assumptions",
    ]
    assert {one["verdict"] for one in printed["streams"]} <= {
        "cleared",
        "suspect",
        "untested",
    }
    assert set(printed["sources"][0]) >= {
        "easting_m",
        "northing_m",
        "stream",
        "probability",
    }


def test_a_ground_without_tributaries_says_what_to_draw(
    call: Call, read_book: Path
) -> None:
    said = call("upstream", read_book)
    assert said.code == 0
    assert "tributaries" in said.out


def test_nothing_washed_ends_with_exit_3(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "empty.book"
    with create_book(path, "empty"):
        pass
    said = call("upstream", path)
    assert said.code in (0, 3)
    assert said.err.count("\n") <= 1
