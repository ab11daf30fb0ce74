"""Two programs at one book, books that may not be written, and other files."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from pennyweight.book import locks
from pennyweight.book.book import create_book, open_book
from pennyweight.book.changes import putting
from pennyweight.book.checking import check_book
from pennyweight.book.schema import FORMAT
from pennyweight.errors import CallError, ClosedBookError, DamagedBookError
from pennyweight.records import Dig

ANN = {"who": "Ann", "why": "typed in camp"}
T1 = putting("digs", Dig(dig="T1"))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Make a book and return where it is."""
    create_book(tmp_path / "creek.book").close()
    return tmp_path / "creek.book"


def read_only_to_us(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the tests see a file as a user without the right to write does."""
    monkeypatch.setattr(locks, "may_write", lambda path: False)


def test_a_missing_book_is_a_wrong_call_that_tells_how_to_make_one(
    tmp_path: Path,
) -> None:
    with pytest.raises(
        CallError, match=r"Make one with: pennyweight new .*creek\.book"
    ):
        open_book(tmp_path / "creek.book")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_book(tmp_path: Path) -> None:
    with pytest.raises(CallError, match="is a folder"):
        open_book(tmp_path)


def test_a_text_file_is_no_book_and_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.book"
    path.write_text("dig T1: three colors\n" * 50)
    with pytest.raises(DamagedBookError, match=r"notes\.book is not a book"):
        open_book(path)
    assert path.read_text() == "dig T1: three colors\n" * 50


def test_an_empty_file_is_a_book_of_which_nothing_is_left(tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    path.touch()
    with pytest.raises(DamagedBookError, match=r"creek\.book is an empty file"):
        open_book(path, read_only=True)
    assert [one.weight for one in check_book(path)] == ["wrong"]


def test_another_database_is_no_book(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "other.book") as other:
        other.execute("CREATE TABLE digs (dig TEXT)")
    other.close()
    with pytest.raises(
        CallError, match=r"other\.book is a database of another program"
    ):
        open_book(tmp_path / "other.book")


def test_a_book_of_a_newer_program_is_refused_and_left_alone(path: Path) -> None:
    with sqlite3.connect(path) as newer:
        newer.execute(f"PRAGMA user_version = {FORMAT + 1}")
    newer.close()
    before = path.read_bytes()
    with pytest.raises(
        ClosedBookError, match=f"has format {FORMAT + 1}, written by a n"
    ):
        open_book(path)
    assert path.read_bytes() == before


def test_a_second_program_waits_and_is_told_who_is_in_the_way(path: Path) -> None:
    first = sqlite3.connect(path, isolation_level=None)
    first.execute("BEGIN IMMEDIATE")
    with open_book(path, patience_s=0.05) as book:
        with pytest.raises(
            ClosedBookError, match=r"creek\.book is being written by ano"
        ):
            book.write([T1], **ANN)
        first.execute("ROLLBACK")
        first.close()
        assert book.write([T1], **ANN) is not None


def test_what_one_program_writes_another_sees_at_once(path: Path) -> None:
    with open_book(path) as one, open_book(path) as other:
        before = other.revision
        one.write([T1], **ANN)
        assert other.revision != before
        assert other.log().digs == (Dig(dig="T1"),)


def test_a_reader_keeps_no_writer_out(path: Path) -> None:
    with open_book(path, read_only=True) as reader, open_book(path) as writer:
        with reader.transaction():
            writer.write([T1], **ANN)
        assert reader.log().digs == (Dig(dig="T1"),)


def test_a_book_open_for_reading_refuses_changes(path: Path) -> None:
    with (
        open_book(path, read_only=True) as book,
        pytest.raises(ClosedBookError, match=r"creek\.book is open for reading only"),
    ):
        book.write([T1], **ANN)


def test_a_read_only_file_is_refused_for_writing_with_a_remedy(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_only_to_us(monkeypatch)
    with pytest.raises(ClosedBookError, match=r"read-only. Give yourself the right"):
        open_book(path)


def test_a_read_only_file_can_be_read_and_nothing_is_left_beside_it(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_book(path) as book:
        book.write([T1], **ANN)
    read_only_to_us(monkeypatch)
    with open_book(path, read_only=True) as book:
        assert book.log().digs == (Dig(dig="T1"),)
        assert [one.name for one in path.parent.iterdir()] == ["creek.book"]


def test_a_read_only_book_in_use_is_read_with_what_was_written_last(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_book(path) as writer:
        writer.write([T1], **ANN)
        read_only_to_us(monkeypatch)
        with open_book(path, read_only=True) as book:
            assert book.log().digs == (Dig(dig="T1"),)


def test_nothing_is_written_into_a_file_that_was_taken_away(path: Path) -> None:
    with open_book(path) as book:
        path.unlink()
        with pytest.raises(ClosedBookError, match=r"creek\.book was moved, removed or"):
            book.write([T1], **ANN)


def test_a_torn_page_is_told_as_damage(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(
        DamagedBookError, match=r"creek\.book is damaged. Take the newest"
    ):
        open_book(path)


def test_what_is_no_fault_of_the_file_goes_on_as_it_is(path: Path) -> None:
    with (
        open_book(path) as book,
        pytest.raises(OperationalError, match="no such table: nuggets"),
        book.transaction() as connection,
    ):
        connection.exec_driver_sql("SELECT * FROM nuggets")


def test_a_book_is_not_made_in_a_folder_that_is_read_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.access", lambda path, mode: False)
    with pytest.raises(
        ClosedBookError, match=r"The folder of creek\.book is read-only"
    ):
        create_book(tmp_path / "creek.book")


def test_two_programs_never_make_the_same_book(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other one takes the name after we have looked."""
    monkeypatch.setattr(
        "pennyweight.book.book._lay_out",
        lambda path, name: (
            path.touch(),
            (tmp_path / "creek.book").write_text("theirs"),
        ),
    )
    with pytest.raises(CallError, match="already there"):
        create_book(tmp_path / "creek.book")
    assert [one.read_text() for one in tmp_path.iterdir()] == ["theirs"]
