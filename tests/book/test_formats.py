"""Books of every format there has been are opened, and brought up to date."""

import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from pennyweight.book import schema
from pennyweight.book.book import create_book, open_book
from pennyweight.book.checking import check_book, is_damage
from pennyweight.errors import ClosedBookError
from pennyweight.records import Day, Dig, Ground, Log, Sample, Tally

OLD = Path(__file__).parent / "old"


def lay_out(folder: Path, number: int) -> Path:
    """Lay a book of an old format out as a file and return where it is."""
    path = folder / "creek.book"
    with sqlite3.connect(path) as old:
        old.executescript((OLD / f"format_{number:04}.sql").read_text())
    old.close()
    return path


@pytest.fixture
def old_path(tmp_path: Path) -> Path:
    """Return where a book of format 1 lies."""
    return lay_out(tmp_path, 1)


@pytest.mark.filterwarnings("ignore:.*expression-based index")
def test_migrations_lead_to_the_tables_that_the_program_knows(tmp_path: Path) -> None:
    with create_book(tmp_path / "creek.book") as book, book.transaction() as connection:
        # An index over an expression cannot be read back, so it is not compared.
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, schema.metadata) == []


def test_there_is_an_old_book_of_every_format_before_this_one() -> None:
    kept = [path.stem for path in sorted(OLD.iterdir())]
    assert kept == [f"format_{number:04}" for number in range(1, schema.FORMAT)]


@pytest.mark.parametrize("number", range(1, schema.FORMAT))
def test_a_book_of_an_old_format_is_read_in_full(tmp_path: Path, number: int) -> None:
    with open_book(lay_out(tmp_path, number)) as book:
        assert book.log() == Log(
            ground=Ground(log_id="b-1"),
            digs=(Dig(dig="T1", line="1"),),
            samples=(Sample(sample="S1", dig="T1", pans=4.0, typed={"top_ft": "1"}),),
            tallies=(Tally(sample="S1", size_class="all", colors=3),),
            days=(Day(date="2026-07-01", hours=6.0),),
        )


def test_its_history_says_whose_page_it_shows_on(old_path: Path) -> None:
    with open_book(old_path) as book:
        digs = [(entry.table, entry.dig) for entry in book.history()]
    assert digs == [
        ("tallies", "T1"),
        ("days", None),
        ("tallies", "T1"),
        ("samples", "T1"),
        ("digs", "T1"),
    ]


def test_its_changes_can_still_be_undone(old_path: Path) -> None:
    with open_book(old_path) as book:
        book.undo("batch-2", "Ann")
        assert book.log().tallies[0].colors == 2


def test_a_migrated_book_is_sound(old_path: Path) -> None:
    open_book(old_path).close()
    assert not any(is_damage(finding) for finding in check_book(old_path))


def test_the_old_book_is_set_aside_before_it_is_migrated(old_path: Path) -> None:
    open_book(old_path).close()
    (copy,) = (old_path.parent / "backups").iterdir()
    assert copy.name.startswith("creek--format-1-")
    kept = sqlite3.connect(copy)
    assert kept.execute("PRAGMA user_version").fetchone() == (1,)
    kept.close()


def test_a_migration_that_fails_leaves_the_old_book(
    old_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(connection: sa.Connection) -> None:
        connection.exec_driver_sql("DROP TABLE days")
        msg = f"no disk for {connection.dialect.name}"
        raise OSError(msg)

    with monkeypatch.context() as patch:
        patch.setattr("pennyweight.book.migrating.bring_up_to_date", fail)
        with pytest.raises(OSError, match="no disk"):
            open_book(old_path)
    with open_book(old_path) as book:
        assert len(book.log().days) == 1


def test_an_old_book_that_is_read_only_is_refused_with_a_remedy(
    old_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("locks", "book"):
        monkeypatch.setattr(f"pennyweight.book.{module}.may_write", lambda path: False)
    with pytest.raises(ClosedBookError, match="has format 1 and must be brought to"):
        open_book(old_path, read_only=True)
