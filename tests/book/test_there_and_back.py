"""Whatever a log says, the book says the same, and gives it back after an undo."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings

from pennyweight.book.book import Book, create_book, open_book
from pennyweight.book.changes import putting_all
from pennyweight.book.rows import from_line, same, to_line
from pennyweight.records import Attachment, Log, Record
from tests.book.strategies import logs

ANN = {"who": "Ann", "why": "typed in camp"}


@cache
def empty_book() -> bytes:
    """Return a new book as a file; making one anew for every case is slow."""
    with tempfile.TemporaryDirectory() as folder:
        create_book(Path(folder) / "creek.book").close()
        return (Path(folder) / "creek.book").read_bytes()


@contextmanager
def fresh_book() -> Iterator[Book]:
    """Open a new book that is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "creek.book"
        path.write_bytes(empty_book())
        with open_book(path) as book:
            yield book


def all_records(log: Log) -> Iterator[tuple[str, Record]]:
    """Yield every record of a log, the ground included."""
    yield "ground", log.ground
    for name in Log.__dataclass_fields__:
        if name != "ground":
            for record in getattr(log, name):
                yield name, record


@pytest.mark.law
@settings(max_examples=25)
@given(logs())
def test_log_to_book_to_log_changes_nothing(log: Log) -> None:
    with fresh_book() as book:
        book.write(putting_all(log), **ANN)
        book.close()
        with open_book(book.path) as again:
            assert again.log() == log


@pytest.mark.law
@settings(max_examples=10)
@given(logs(), logs())
def test_undo_gives_back_exactly_what_was_there(first: Log, then: Log) -> None:
    with fresh_book() as book:
        book.write(putting_all(first), **ANN)
        before = book.log()
        batch = book.write(putting_all(then), **ANN)
        if batch is not None:
            book.undo(batch, "Ann")
        assert book.log() == before


@settings(max_examples=25)
@given(logs())
def test_a_line_of_history_says_all_of_a_record(log: Log) -> None:
    for table, record in all_records(log):
        content = record.content if isinstance(record, Attachment) else b""
        back = from_line(table, to_line(table, record), content)
        assert back is not None
        assert back == record or same(table, back, record)
