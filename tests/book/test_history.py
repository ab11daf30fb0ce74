"""Every change stands in the history, and can be taken back exactly."""

from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from pennyweight.book.book import Book, create_book
from pennyweight.book.changes import Change, putting, putting_all, removing, renaming
from pennyweight.errors import CallError, ConflictError, RefusedError
from pennyweight.records import Attachment, Dig, Log, Sample, Tally

ANN = {"who": "Ann", "why": "typed in camp"}
LOG = Log(
    digs=(Dig(dig="T1", line="1"), Dig(dig="T2", line="1"), Dig(dig="T3")),
    samples=(Sample(sample="S1", dig="T1"), Sample(sample="S2", dig="T2")),
    tallies=(Tally(sample="S1", size_class="all", colors=3),),
    attachments=(
        Attachment(
            file="t1.jpg",
            kind="photo",
            media_type="image/jpeg",
            sha256=sha256(b"light").hexdigest(),
            content=b"light",
            dig="T1",
        ),
    ),
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Open a book with three digs."""
    with create_book(tmp_path / "creek.book") as book:
        book.write(putting_all(LOG), **ANN)
        yield book


def change(book: Book, *, line: str, note: str | None = None) -> str:
    """Change dig T1 and return the batch."""
    dig = Dig(dig="T1", line=line, note=note)
    batch = book.write([putting("digs", dig)], who="Bo", why="better")
    assert batch is not None
    return batch


def test_an_entry_says_who_changed_what_and_why(book: Book) -> None:
    batch = change(book, line="2")
    entry = book.history()[0]
    assert (entry.batch, entry.who, entry.why) == (batch, "Bo", "better")
    assert entry.name == "dig T1"
    assert entry.edits() == {"line": ("1", "2")}


def test_what_was_added_or_removed_has_no_edits(book: Book) -> None:
    assert book.history()[0].edits() == {}


def test_a_dig_has_its_own_history_down_to_the_tallies(book: Book) -> None:
    tables = [entry.table for entry in book.history(dig="T1")]
    assert tables == ["attachments", "tallies", "samples", "digs"]


def test_a_renamed_dig_keeps_its_history(book: Book) -> None:
    book.write(renaming(book.log(), "digs", old="T2", new="B2"), **ANN)
    assert [entry.table for entry in book.history(dig="B2")] == [
        "samples",
        "digs",
        "samples",
        "digs",
    ]


def test_a_day_has_its_own_history(book: Book) -> None:
    day = book.history()[0].at[:10]
    assert len(book.history(day=day)) == 7
    assert book.history(day="1901-01-01") == []


def test_the_newest_entries_come_first_and_no_more_than_asked(book: Book) -> None:
    change(book, line="2")
    change(book, line="3")
    newest = book.history(limit=2)
    assert [entry.edits() for entry in newest] == [
        {"line": ("2", "3")},
        {"line": ("1", "2")},
    ]


def test_batches_are_listed_with_what_took_them_back(book: Book) -> None:
    batch = change(book, line="2")
    undoing = book.undo(batch, "Ann")
    last, before, first = book.batches()
    assert (last.uuid, last.undoes, last.changes) == (undoing, batch, 1)
    assert last.why.startswith("undo: better (Bo, ")
    assert (before.undone_by, first.undone_by) == (undoing, None)
    assert first.changes == 7


def test_undoing_a_change_restores_the_record_exactly(book: Book) -> None:
    before = book.log()
    book.undo(change(book, line="2", note="wrong"), "Ann")
    assert book.log() == before


def test_undoing_a_removal_restores_everything_in_its_place(book: Book) -> None:
    before = book.log()
    batch = book.write(removing(before, "digs", ("T1",)), **ANN)
    assert batch is not None
    book.write([putting("digs", Dig(dig="T4"))], **ANN)
    book.undo(batch, "Ann")
    after = book.log()
    assert after.digs == (*before.digs, Dig(dig="T4"))
    assert replace(after, digs=before.digs) == before


def test_undoing_the_first_batch_leaves_an_empty_book(book: Book) -> None:
    book.undo(book.batches()[0].uuid, "Ann")
    assert book.log() == Log(ground=book.log().ground)


def test_an_undone_batch_can_be_done_again(book: Book) -> None:
    batch = change(book, line="2")
    after = book.log()
    book.undo(book.undo(batch, "Ann"), "Ann")
    assert book.log() == after


def test_one_change_of_a_batch_can_be_taken_back_alone(book: Book) -> None:
    both = [putting("digs", Dig(dig=name, line="9")) for name in ("T1", "T2")]
    batch = book.write(both, **ANN)
    assert batch is not None
    book.undo(batch, "Ann", place=1)
    assert [dig.line for dig in book.log().digs] == ["9", "1", None]


def test_undo_is_refused_when_the_record_was_changed_later(book: Book) -> None:
    batch = change(book, line="2")
    change(book, line="3")
    with pytest.raises(ConflictError, match="dig T1: found 'a later change by Bo on"):
        book.undo(batch, "Ann")
    assert book.log().digs[0].line == "3"


def test_undo_is_possible_once_the_later_change_is_taken_back(book: Book) -> None:
    first = change(book, line="2")
    book.undo(change(book, line="3"), "Ann")
    book.undo(first, "Ann")
    assert book.log().digs[0].line == "1"


def test_undo_is_refused_twice(book: Book) -> None:
    batch = change(book, line="2")
    book.undo(batch, "Ann")
    with pytest.raises(ConflictError, match="undo: better"):
        book.undo(batch, "Ann")


def test_undoing_a_new_dig_is_refused_while_samples_name_it(book: Book) -> None:
    batch = book.write([putting("digs", Dig(dig="T4"))], **ANN)
    assert batch is not None
    book.write([putting("samples", Sample(sample="S4", dig="T4"))], **ANN)
    with pytest.raises(RefusedError, match="samples column dig: found 'T4'"):
        book.undo(batch, "Ann")
    assert book.log().samples[-1].dig == "T4"


def test_undoing_a_removal_is_refused_when_the_name_is_taken(book: Book) -> None:
    batch = book.write([Change(table="digs", key=("T3",), now=None)], **ANN)
    assert batch is not None
    book.write([putting("digs", Dig(dig="T3", line="new"))], **ANN)
    with pytest.raises(ConflictError, match="a name that is there already"):
        book.undo(batch, "Ann")


def test_an_unknown_batch_cannot_be_undone(book: Book) -> None:
    with pytest.raises(CallError, match="no batch 'none' at place 3"):
        book.undo("none", "Ann", place=3)
