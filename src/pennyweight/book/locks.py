"""How the file of a book is opened and shared, and what is said when it cannot be.

One program may write at a time, any number may read; a second writer waits. The file
is only ever touched through the one database library of this process: opening and
closing it in any other way, even to look at its first bytes, would drop the locks that
the operating system holds for this process.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.pool import StaticPool

from pennyweight.errors import CallError, ClosedBookError, DamagedBookError

#: How long a program waits for another one to finish writing [s].
PATIENCE_S = 10.0

#: Set on a connection that is going to write, so that it takes the lock at once
#: instead of finding in the middle that another program has written.
WRITES = {"pennyweight_begin": "BEGIN IMMEDIATE"}
#: Set on a connection for what cannot be done inside a transaction.
BARE = {"pennyweight_begin": ""}

_NO_RIGHT = (
    "the file or its folder is read-only. Give yourself the right to write, or copy"
    " the book to a folder of your own"
)
_COPY = "Take the newest copy from the folder `backups` beside it"

#: What is the matter with a book that cannot be had now, by the library's code.
_CLOSED = {
    "SQLITE_BUSY": "is being written by another program. Wait until it has finished,"
    " or close it there, and try again",
    "SQLITE_LOCKED": "is locked by another program. Close it there and try again",
    "SQLITE_READONLY": f"cannot be written: {_NO_RIGHT}",
    "SQLITE_CANTOPEN": f"cannot be opened: {_NO_RIGHT}",
    "SQLITE_FULL": "cannot be written: the disk is full. Make room and try again;"
    " nothing was changed",
    "SQLITE_IOERR": "cannot be read or written: the disk reports a fault. Copy the"
    " book to another disk and try there",
}
#: And with a damaged one.
_DAMAGED = {
    "SQLITE_NOTADB": f"is not a book, or its first page is damaged. {_COPY}",
    "SQLITE_CORRUPT": f"is damaged. {_COPY}",
}


@contextmanager
def told_plainly(name: str) -> Iterator[None]:
    """Turn what the database library reports into an error for the user."""
    try:
        yield
    except (sa.exc.DBAPIError, sqlite3.Error) as error:
        cause = error.orig if isinstance(error, sa.exc.DBAPIError) else error
        code = getattr(cause, "sqlite_errorname", "") or ""
        kinds = ((ClosedBookError, _CLOSED), (DamagedBookError, _DAMAGED))
        for kind, remedies in kinds:
            if remedy := _remedy(code, remedies):
                msg = f"The book {name} {remedy} ({cause})."
                raise kind(msg) from error
        raise


def _remedy(code: str, remedies: dict[str, str]) -> str | None:
    """Return what stands for a code; codes are refined, as in SQLITE_IOERR_WRITE."""
    return next((remedies[start] for start in remedies if code.startswith(start)), None)


def find_book(path: Path) -> None:
    """Raise unless there is a file at this path."""
    if path.is_dir():
        msg = f"{path} is a folder; name the file of a book."
        raise CallError(msg)
    if not path.exists():
        msg = f"There is no book {path}. Make one with: pennyweight new {path}"
        raise CallError(msg)


def file_identity(path: Path) -> tuple[int, int] | None:
    """Return what tells a file from another one put in its place; None without one."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def may_write(path: Path) -> bool:
    """Tell whether this user may write the file and beside it."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def connect(path: Path, *, read_only: bool, patience_s: float) -> sa.Engine:
    """Return the one connection of this process to the file, not opened yet."""
    if not read_only and not may_write(path):
        msg = f"The book {path.name} cannot be written: {_NO_RIGHT}."
        raise ClosedBookError(msg)
    address = path.resolve().as_uri()
    if may_write(path):
        # Also for reading: a reader that may write tidies up behind itself.
        address += "?mode=rw"
    elif path.with_name(path.name + "-wal").exists():
        address += "?mode=ro"
    else:
        address += "?immutable=1"

    def open_file() -> sqlite3.Connection:
        connection = sqlite3.connect(
            address,
            uri=True,
            timeout=patience_s,
            isolation_level=None,
            check_same_thread=False,
        )
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        if read_only:
            connection.execute("PRAGMA query_only = ON")
        return connection

    engine = sa.create_engine("sqlite://", creator=open_file, poolclass=StaticPool)
    sa.event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: sa.Connection) -> None:
    """Open a transaction ourselves; the driver would open it too late."""
    begin = connection.get_execution_options().get("pennyweight_begin", "BEGIN")
    if begin:
        connection.exec_driver_sql(begin)
