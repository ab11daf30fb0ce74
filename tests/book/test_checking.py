"""`check` finds damage to the book, and never changes it."""

import sqlite3
from pathlib import Path

import pytest

from pennyweight.book.book import create_book, open_book
from pennyweight.book.changes import putting_all
from pennyweight.book.checking import check_book, is_damage
from pennyweight.errors import CallError, Finding
from tests.book.test_history import LOG


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Make a book with a few records and return where it is."""
    with create_book(tmp_path / "creek.book") as book:
        book.write(putting_all(LOG), who="Ann", why="typed in camp")
    return tmp_path / "creek.book"


def tamper(path: Path, *statements: str) -> list[Finding]:
    """Change a book behind the program's back; return the damage that is found."""
    with sqlite3.connect(path) as other:
        for statement in statements:
            other.execute(statement)
    other.close()
    return [finding for finding in check_book(path) if is_damage(finding)]


def test_a_sound_book_has_no_damage_and_is_not_changed(path: Path) -> None:
    before = path.read_bytes()
    findings = check_book(path)
    assert [finding.weight for finding in findings] == ["note"] * len(findings)
    assert path.read_bytes() == before
    assert [one.name for one in path.parent.iterdir()] == ["creek.book"]


def test_doubts_about_the_record_are_no_damage(path: Path) -> None:
    assert not any(is_damage(finding) for finding in check_book(path))


def test_a_missing_book_cannot_be_checked(tmp_path: Path) -> None:
    with pytest.raises(CallError, match="There is no book"):
        check_book(tmp_path / "creek.book")


def test_overwritten_pages_are_found(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[-3 * 4096 :] = b"\xff" * (3 * 4096)
    path.write_bytes(content)
    (finding, *_) = check_book(path)
    assert is_damage(finding)
    assert finding.where == "the file"


def test_a_cut_off_file_is_found(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: 4096 * 5])
    assert all(is_damage(finding) for finding in check_book(path))


def test_a_file_that_is_no_database_is_found(path: Path) -> None:
    path.write_bytes(b"no book" * 1000)
    (finding,) = check_book(path)
    assert "is not a book" in finding.problem


def test_a_row_changed_behind_the_history_is_found(path: Path) -> None:
    (finding,) = tamper(path, "UPDATE digs SET line = '7' WHERE dig = 'T1'")
    assert finding.where == "dig T1"
    assert finding.problem == "says something else than the last line of its history."


def test_a_row_that_the_history_does_not_know_is_found(path: Path) -> None:
    (finding,) = tamper(path, "DELETE FROM history WHERE record_table = 'tallies'")
    assert finding.where == "sample S1, class all"
    assert "not in its history" in finding.problem


def test_a_row_that_is_gone_without_a_trace_is_found(path: Path) -> None:
    (finding,) = tamper(path, "DELETE FROM digs WHERE dig = 'T3'")
    assert (finding.where, "not in the book" in finding.problem) == ("dig T3", True)


def test_a_reference_that_leads_nowhere_is_found(path: Path) -> None:
    (finding,) = tamper(path, "DELETE FROM digs WHERE dig = 'T2'")
    assert (finding.where, "names a row of digs" in finding.problem) == (
        "samples",
        True,
    )


def test_a_lost_table_is_found(path: Path) -> None:
    (finding,) = tamper(path, "DROP TABLE rocks")
    assert finding.problem == "the table rocks is missing."


def test_a_lost_column_is_found(path: Path) -> None:
    (finding,) = tamper(path, "ALTER TABLE digs DROP COLUMN note")
    assert finding.problem == "the table digs lacks note."


def test_a_wrong_migration_number_is_found(path: Path) -> None:
    (finding,) = tamper(path, "UPDATE alembic_version SET version_num = '0001'")
    assert "its migrations say otherwise" in finding.problem


def test_a_changed_photograph_is_found(path: Path) -> None:
    (finding,) = tamper(path, "UPDATE contents SET content = x'00'")
    assert "its content is not what was put in" in finding.problem


def test_a_damaged_book_can_still_be_left_alone(path: Path) -> None:
    tamper(path, "UPDATE digs SET line = '7' WHERE dig = 'T1'")
    with open_book(path, read_only=True) as book:
        assert book.log().digs[0].line == "7"
