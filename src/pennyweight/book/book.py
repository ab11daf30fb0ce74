"""The book itself: make one, open it, read its record, change it, close it."""

from __future__ import annotations

import gc
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from threading import RLock
from types import TracebackType
from typing import Any

import sqlalchemy as sa

from pennyweight import __version__
from pennyweight.book import backup, schema
from pennyweight.book.changes import Change
from pennyweight.book.history import Batch, Entry, list_batches, list_entries, undo
from pennyweight.book.locks import (
    BARE,
    PATIENCE_S,
    WRITES,
    connect,
    file_identity,
    find_book,
    may_write,
    told_plainly,
)
from pennyweight.book.rows import Key, fields_of, same_key, to_records
from pennyweight.book.writing import (
    Deed,
    Kept,
    load_kept,
    new_id,
    steps_for,
    this_moment,
    write_steps,
)
from pennyweight.errors import (
    CallError,
    ClosedBookError,
    DamagedBookError,
    PennyweightError,
)
from pennyweight.records import KEYS, Ground, Log


class Book:
    """One open book. Several threads may use it; each call waits for the others.

    Attributes
    ----------
    path : Path
        Of the file.
    read_only : bool
        Whether changes are refused.
    name, id : str
        What the book is called, and its identity for good.
    backup_problem : str or None
        Why the copy before today's first change could not be made.
    """

    def __init__(self, path: Path, engine: sa.Engine, *, read_only: bool) -> None:
        self.path = path
        self.read_only = read_only
        self.backup_problem: str | None = None
        self._engine = engine
        self._file = file_identity(path)
        self._lock = RLock()
        self._read: tuple[str, Log] | None = None
        self._backed_up = False
        with self.transaction() as connection:
            self.id, self.name = connection.execute(
                sa.select(schema.book.c.id, schema.book.c.name)
            ).one()

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def transaction(self, *, writes: bool = False) -> Iterator[sa.Connection]:
        """Open a transaction: all of it happens, or nothing."""
        if writes and self.read_only:
            msg = f"The book {self.path.name} is open for reading only; open it anew."
            raise ClosedBookError(msg)
        if writes and file_identity(self.path) != self._file:
            msg = (
                f"The book {self.path.name} was moved, removed or replaced while it"
                " was open; nothing was written. Put it back or open it anew."
            )
            raise ClosedBookError(msg)
        with self._lock, told_plainly(self.path.name):
            options = WRITES if writes else {}
            opened = self._engine.connect().execution_options(**options)
            with opened as connection, connection.begin():
                yield connection

    @property
    def revision(self) -> str:
        """Changes whenever the record does; cheap to ask for."""
        with self.transaction() as connection:
            return self._revision(connection)

    def _revision(self, connection: sa.Connection) -> str:
        """Return the identity of the last batch, or of the book that has none."""
        rows = schema.batches.c
        last = sa.select(rows.uuid).order_by(rows.number.desc()).limit(1)
        found: str | None = connection.scalar(last)
        return found or self.id

    def log(self) -> Log:
        """Return the whole record. A ground of no log of its own says this book's."""
        with self.transaction() as connection:
            revision = self._revision(connection)
            if self._read is None or self._read[0] != revision:
                self._read = (revision, self._load_log(connection))
            return self._read[1]

    def _load_log(self, connection: sa.Connection) -> Log:
        """Read every table in the order in which its rows were taken in."""
        with _without_collector():
            found = {table: _load_table(connection, table) for table in KEYS}
        grounds: list[Any] = found.pop("ground")
        ground = grounds[0] if grounds else Ground()
        if ground.log_id is None:
            ground = replace(ground, log_id=self.id)
        records: dict[str, Any] = {name: tuple(rows) for name, rows in found.items()}
        return Log(ground=ground, **records)

    def find(self, table: str, key: Key) -> Kept | None:
        """Return the kept record of a key with its version, or None."""
        with self.transaction() as connection:
            return load_kept(connection, table, [key]).get(same_key(table, key))

    def versions(self, table: str) -> dict[Key, int]:
        """Return the version of every record of a table by its natural key."""
        rows = schema.RECORD_TABLES[table].c
        wanted = sa.select(rows.version, *(rows[name] for name in KEYS[table][1]))
        with self.transaction() as connection:
            return {tuple(row[1:]): row[0] for row in connection.execute(wanted)}

    def write(self, changes: Sequence[Change], *, who: str, why: str) -> str | None:
        """Make changes, all of them or none, and put them into the history.

        Parameters
        ----------
        changes : sequence of Change
            What is to be put, changed or removed.
        who, why : str
            Written into the history.

        Returns
        -------
        str or None
            The batch, by which all of it can be undone; None if nothing changed.

        Raises
        ------
        ConflictError
            A record was changed since the version that its change is based on.
        RefusedError
            A record would name a dig or a sample that is not there.
        ClosedBookError
            Another program is writing, or the book cannot be written.
        """
        self._copy_if_due()
        with self.transaction(writes=True) as connection, _without_collector():
            steps = steps_for(connection, changes)
            if not steps:
                return None
            return write_steps(connection, steps, Deed(who=who, why=why))

    def history(
        self, *, dig: str | None = None, day: str | None = None, limit: int = 500
    ) -> list[Entry]:
        """Return what was changed, newest first.

        Parameters
        ----------
        dig : str, optional
            Only what belongs to this dig.
        day : str, optional
            Only what was done on this day, "2026-07-14".
        limit : int
            How many at most [-].
        """
        with self.transaction() as connection:
            return list_entries(connection, dig=dig, day=day, limit=limit)

    def batches(self, *, limit: int = 200) -> list[Batch]:
        """Return who did what together and why, newest first."""
        with self.transaction() as connection:
            return list_batches(connection, limit=limit)

    def undo(self, batch: str, who: str, *, place: int | None = None) -> str:
        """Take back a batch, or one change of it, as a batch of its own.

        Parameters
        ----------
        batch : str
            As returned by `write`.
        who : str
            Written into the history.
        place : int, optional
            Take back only the change at this place of the batch.

        Returns
        -------
        str
            The new batch, which can be undone in its turn.

        Raises
        ------
        ConflictError
            Something of it was changed later, or the batch is undone already.
        RefusedError
            Later records would name what is no longer there.
        CallError
            There is no such batch or place.
        """
        self._copy_if_due()
        with self.transaction(writes=True) as connection, _without_collector():
            return undo(connection, batch, place=place, who=who)

    def _copy_if_due(self) -> None:
        """Set a copy aside before the first change of a day.

        A copy that cannot be made is told and does not keep anyone from writing.
        """
        if self.read_only or self._backed_up:
            return
        self._backed_up = True
        now = datetime.now().astimezone().replace(tzinfo=None)
        if self.revision == self.id or not backup.is_due(self.path, now):
            return
        try:
            self.back_up(backup.rolling_path(self.path, now))
            backup.thin_out(self.path)
        except (PennyweightError, OSError) as error:
            self.backup_problem = str(error)

    def back_up(self, path: Path) -> None:
        """Write a whole copy of the book, as it is now, to a path of its own."""
        if path.exists():
            msg = f"{path} is already there; name another file for the copy."
            raise CallError(msg)
        with self._lock, told_plainly(self.path.name):
            _write_copy(self._engine, path)

    def close(self) -> None:
        """Close the book, so that it is one file again."""
        with self._lock:
            if not self.read_only:
                with suppress(PennyweightError), told_plainly(self.path.name):
                    _checkpoint(self._engine)
            self._engine.dispose()
            self._read = None


def _write_copy(engine: sa.Engine, path: Path) -> None:
    """Write a whole copy of a book to a path."""
    with engine.connect().execution_options(**BARE) as connection:
        backup.write_copy(connection, path)


def _checkpoint(engine: sa.Engine) -> None:
    """Bring what was written last from the side file into the book."""
    with engine.connect().execution_options(**BARE) as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")


@contextmanager
def _without_collector() -> Iterator[None]:
    """Put the garbage collector off; records hold no cycles, and there are many."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _load_table(connection: sa.Connection, table: str) -> list[Any]:
    """Return the records of one table in their order."""
    rows = schema.RECORD_TABLES[table]
    wanted = sa.select(*(rows.c[field.name] for field in fields_of(table)))
    if table == "attachments":
        kept = schema.contents
        joined = rows.join(kept, kept.c.sha256 == rows.c.sha256)
        wanted = wanted.add_columns(kept.c.content).select_from(joined)
    found = connection.execute(wanted.order_by(rows.c.sequence)).cursor
    return to_records(table, found.fetchall() if found is not None else [])


def create_book(path: Path, name: str | None = None) -> Book:
    """Make an empty book and open it.

    Parameters
    ----------
    path : Path
        Where nothing is yet, in a folder that is there.
    name : str, optional
        What to call it; the name of the file if nothing is said.

    Raises
    ------
    CallError
        There is something at the path already, or no folder for it.
    ClosedBookError
        The folder cannot be written.
    """
    if path.exists():
        msg = f"{path} is already there and is left as it is. Choose another name."
        raise CallError(msg)
    if not path.parent.is_dir():
        msg = f"There is no folder {path.parent}. Make it first."
        raise CallError(msg)
    if not os.access(path.parent, os.W_OK):
        msg = f"The folder of {path.name} is read-only. Choose one of your own."
        raise ClosedBookError(msg)
    # Under its name a book is whole from the first moment.
    unfinished = path.with_name(f".{path.name}.{new_id()[:8]}")
    try:
        _lay_out(unfinished, name or path.stem)
        _take_place(unfinished, path)
    finally:
        unfinished.unlink(missing_ok=True)
    return open_book(path)


def _take_place(unfinished: Path, path: Path) -> None:
    """Give the finished file its name, unless someone has taken it meanwhile."""
    try:
        path.touch(exist_ok=False)
    except FileExistsError as error:
        msg = f"{path} is already there and is left as it is. Choose another name."
        raise CallError(msg) from error
    unfinished.replace(path)


def _lay_out(path: Path, name: str) -> None:
    """Write the tables of an empty book."""
    # Only a new or an old book needs the migrations, which are slow to import.
    from pennyweight.book.migrating import bring_up_to_date  # noqa: PLC0415

    with told_plainly(path.name):
        fresh = sqlite3.connect(path)
        fresh.execute("PRAGMA journal_mode = WAL")
        fresh.close()
        engine = connect(path, read_only=False, patience_s=PATIENCE_S)
        writing = engine.connect().execution_options(**WRITES)
        with writing as connection, connection.begin():
            bring_up_to_date(connection)
            row = {"id": new_id(), "name": name, "made_at": this_moment()}
            connection.execute(schema.book.insert(), row | {"made_by": __version__})
        _checkpoint(engine)
        engine.dispose()


def open_book(
    path: Path, read_only: bool = False, *, patience_s: float = PATIENCE_S
) -> Book:
    """Open a book; an older format is brought up to date, with a copy set aside.

    Parameters
    ----------
    path : Path
        Of the file.
    read_only : bool
        Only read; then the file and its folder may be read-only too.
    patience_s : float
        How long to wait for another program that is writing [s].

    Raises
    ------
    CallError
        There is no such file, or it is some other database.
    ClosedBookError
        It is locked, read-only, or of a newer format.
    DamagedBookError
        It is no database, or a damaged one.
    """
    find_book(path)
    if path.stat().st_size == 0:
        msg = (
            f"The book {path.name} is an empty file: nothing of it is left. Take the"
            " newest copy from the folder `backups` beside it."
        )
        raise DamagedBookError(msg)
    engine = connect(path, read_only=read_only, patience_s=patience_s)
    try:
        with told_plainly(path.name):
            number = _format_of(engine, path.name)
        if number < schema.FORMAT:
            engine.dispose()
            _migrate(path, number, patience_s)
        return Book(path, engine, read_only=read_only)
    except BaseException:
        engine.dispose()
        raise


def _format_of(engine: sa.Engine, name: str) -> int:
    """Return the format of a book that this program can open."""
    with engine.connect() as connection:
        application = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        number = int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
    if application != schema.APPLICATION_ID:
        msg = f"{name} is a database of another program, not a book."
        raise CallError(msg)
    if number > schema.FORMAT:
        msg = (
            f"The book {name} has format {number}, written by a newer pennyweight;"
            f" this one ({__version__}) knows formats up to {schema.FORMAT}. Update"
            " the program; the book was left as it is."
        )
        raise ClosedBookError(msg)
    return number


def _migrate(path: Path, number: int, patience_s: float) -> None:
    """Set a copy of an older book aside and bring the book up to date."""
    # Only a new or an old book needs the migrations, which are slow to import.
    from pennyweight.book.migrating import bring_up_to_date  # noqa: PLC0415

    if not may_write(path):
        msg = (
            f"The book {path.name} has format {number} and must be brought to format"
            f" {schema.FORMAT}, but it is read-only. Copy it to a folder of your own."
        )
        raise ClosedBookError(msg)
    engine = connect(path, read_only=False, patience_s=patience_s)
    stamp = datetime.now().astimezone().strftime(backup.STAMP)
    copy = backup.backup_folder(path) / f"{path.stem}--format-{number}-{stamp}.book"
    try:
        with told_plainly(path.name):
            if not copy.exists():
                _write_copy(engine, copy)
            writing = engine.connect().execution_options(**WRITES)
            with writing as connection, connection.begin():
                bring_up_to_date(connection)
            _checkpoint(engine)
    finally:
        engine.dispose()
