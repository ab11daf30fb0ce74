"""Copies of a book: whole, by age, and never in the way."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from pennyweight.book import backup
from pennyweight.book.book import create_book, open_book
from pennyweight.book.changes import putting
from pennyweight.errors import CallError
from pennyweight.records import Dig

ANN = {"who": "Ann", "why": "typed in camp"}
NOON = datetime(2026, 7, 14, 12)  # noqa: DTZ001 - the user's own zone


def test_a_copy_is_a_whole_book_of_one_file(tmp_path: Path) -> None:
    with create_book(tmp_path / "creek.book") as book:
        book.write([putting("digs", Dig(dig="T1"))], **ANN)
        book.back_up(tmp_path / "stick" / "copy.book")
        with open_book(tmp_path / "stick" / "copy.book") as copy:
            assert copy.log() == book.log()
    assert [one.name for one in (tmp_path / "stick").iterdir()] == ["copy.book"]


def test_a_copy_never_replaces_another_file(tmp_path: Path) -> None:
    with (
        create_book(tmp_path / "creek.book") as book,
        pytest.raises(CallError, match="already there"),
    ):
        book.back_up(book.path)


def test_the_first_change_of_a_day_sets_a_copy_aside(tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    with create_book(path) as book:
        book.write([putting("digs", Dig(dig="T1"))], **ANN)
    assert backup.rolling_copies(path) == {}
    for name in ("T2", "T3"):
        with open_book(path) as book:
            book.write([putting("digs", Dig(dig=name))], **ANN)
    (copy,) = backup.rolling_copies(path)
    with open_book(copy, read_only=True) as before:
        assert [dig.dig for dig in before.log().digs] == ["T1"]


def test_a_copy_that_cannot_be_made_keeps_no_one_from_writing(tmp_path: Path) -> None:
    (tmp_path / "backups").write_text("a file where the folder should be")
    with create_book(tmp_path / "creek.book") as book:
        book.write([putting("digs", Dig(dig="T1"))], **ANN)
    with open_book(tmp_path / "creek.book") as book:
        assert book.write([putting("digs", Dig(dig="T2"))], **ANN) is not None
        assert "backups" in (book.backup_problem or "")


def test_a_copy_is_due_after_a_day(tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    backup.backup_folder(path).mkdir()
    assert backup.is_due(path, NOON)
    backup.rolling_path(path, NOON).touch()
    assert not backup.is_due(path, NOON + timedelta(hours=23))
    assert backup.is_due(path, NOON + timedelta(hours=25))


def test_copies_of_a_season_thin_out_to_days_weeks_and_months() -> None:
    """A hundred days back from July 14, one copy a day at noon."""
    made = [NOON - timedelta(days=back) for back in range(100)]
    kept = sorted(backup.to_keep(made), reverse=True)
    days = [f"{one:%m-%d}" for one in kept]
    # Seven days, then Sundays (the last days of their weeks), then month ends.
    assert days[:7] == ["07-14", "07-13", "07-12", "07-11", "07-10", "07-09", "07-08"]
    assert days[7:] == ["07-05", "06-30", "06-28", "05-31", "04-30"]


def test_thinning_out_removes_only_rolling_copies_of_this_book(tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    backup.backup_folder(path).mkdir()
    own = backup.backup_folder(path) / "creek--2020-01-01-120000.book"
    other = backup.rolling_path(tmp_path / "creek--fork.book", NOON)
    made = [backup.rolling_path(path, NOON - timedelta(hours=h)) for h in range(3)]
    for one in (own, other, *made):
        one.touch()
    assert backup.thin_out(path) == sorted(made[1:])
    assert sorted(backup.backup_folder(path).iterdir()) == sorted([own, other, made[0]])
