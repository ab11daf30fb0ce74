"""A phone's day in the book: once, twice, and beside another phone's."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pennyweight.book.book import Book, create_book
from pennyweight.book.transfer import IntakeSummary, take_in
from pennyweight.errors import RefusedError

DIGS = (
    "dig,line,easting_m,northing_m,bottom_ft,note\n"
    "T1,T,510280,5400380,4,by the leaning cedar\n"
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Return a book with one dig in it."""
    folder = tmp_path / "log"
    folder.mkdir()
    (folder / "ground.toml").write_text('name = "Invented Creek"\ncrs = "EPSG:32610"\n')
    (folder / "digs.csv").write_text(DIGS)
    with create_book(tmp_path / "creek.book", "Invented Creek") as made:
        take_in(made, [folder], who="Ann")
        yield made


def entry(kind: str, number: int, phone: str, **cells: str) -> dict[str, Any]:
    """Return one entry as the form writes it."""
    return {
        "id": f"{phone}{number}",
        "kind": kind,
        "revision": 1,
        "phone": phone,
        "changed_at": f"2026-07-30T10:0{number}:00.000Z",
        "cells": cells,
        "settles": {},
        "removed": False,
    }


def hand_in(
    book: Book, folder: Path, phone: str, *entries: dict[str, Any]
) -> IntakeSummary:
    """Take the file of a phone into the book."""
    told = {
        "pocket_file": 1,
        "book": {"id": book.log().ground.log_id, "name": "Invented Creek"},
        "entries": list(entries),
    }
    path = folder / f"{phone}.json"
    path.write_text(json.dumps(told))
    return take_in(book, [path], who=phone)


def day(phone: str, rock: str = "slate") -> list[dict[str, Any]]:
    """Return a day at the known dig."""
    return [
        entry("digs", 1, phone, dig="T1", stopped_by="bedrock", bedrock=rock),
        entry("samples", 2, phone, sample="A", dig="T1", taken="grab", pans="1"),
        entry("tallies", 3, phone, sample="A", **{"class": "all", "colors": "0"}),
    ]


def test_a_phone_adds_to_a_dig_and_empties_nothing(book: Book, tmp_path: Path) -> None:
    summary = hand_in(book, tmp_path, "aaaa", *day("aaaa"))
    (dig,) = book.log().digs
    assert (dig.bedrock, dig.stopped_by) == ("slate", "bedrock")
    assert (dig.note, dig.typed["bottom_ft"]) == ("by the leaning cedar", "4")
    assert (dig.easting_m, dig.line) == (510_280.0, "T")
    assert (summary.added, summary.changed) == (2, 1)
    assert not summary.conflicts


def test_the_same_file_twice_changes_nothing(book: Book, tmp_path: Path) -> None:
    hand_in(book, tmp_path, "aaaa", *day("aaaa"))
    before = book.log()
    summary = hand_in(book, tmp_path, "aaaa", *day("aaaa"))
    assert (summary.added, summary.changed, summary.unchanged) == (0, 0, 3)
    assert book.log() == before


def test_a_second_phone_adds_its_own_and_its_edits_are_shown(
    book: Book, tmp_path: Path
) -> None:
    hand_in(book, tmp_path, "aaaa", *day("aaaa"))
    rival = entry("digs", 4, "bbbb", dig="T1", bedrock="schist", fabric="across")
    summary = hand_in(book, tmp_path, "bbbb", rival)
    (dig,) = book.log().digs
    assert (dig.bedrock, dig.fabric, dig.stopped_by) == ("schist", "across", "bedrock")
    shown = {(one.field, one.was, one.now) for one in summary.edits}
    assert ("bedrock", "slate", "schist") in shown


def test_a_form_of_another_book_is_refused_and_changes_nothing(
    book: Book, tmp_path: Path
) -> None:
    path = tmp_path / "foreign.json"
    told = {"pocket_file": 1, "book": {"id": "x", "name": "Elsewhere"}, "entries": []}
    path.write_text(json.dumps(told))
    before = book.revision
    with pytest.raises(RefusedError, match="Elsewhere"):
        take_in(book, [path], who="Ann")
    assert book.revision == before
