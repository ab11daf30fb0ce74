"""Changes that a person makes on the page, brought into the book."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pennyweight.book.changes import Change, putting, removing, renaming
from pennyweight.errors import RefusedError
from pennyweight.records import KEYS, Ground, Record
from pennyweight.units import METRIC, Measures
from pennyweight.web.desk import Desk
from pennyweight.web.forms import complaints_about, key_of
from pennyweight.web.said import name_row, say_changes

NAMED = ("digs", "samples")


@dataclass(frozen=True)
class Written:
    """What came of a change.

    Attributes
    ----------
    batch : str or None
        By which it can be undone; None if nothing changed or it was refused.
    complaints : dict
        Field -> what is wrong; "" for the row as a whole.
    """

    batch: str | None = None
    complaints: dict[str, str] | None = None

    @property
    def refused(self) -> bool:
        """Whether nothing was written because something is wrong."""
        return bool(self.complaints)


def write(desk: Desk, changes: list[Change], *, who: str, why: str) -> Written:
    """Write changes, all or none; a refusal of the book becomes a complaint."""
    try:
        return Written(desk.book.write(changes, who=who, why=why))
    except RefusedError as error:
        found = error.refusals[0]
        return Written(complaints={"": f"{found.found}: expected {found.expected}"})


def add_row(
    desk: Desk, table: str, record: Record, *, who: str, measures: Measures = METRIC
) -> Written:
    """Put a new row into the book."""
    complaints = complaints_about(record)
    if not complaints and _is_there(desk, table, record):
        first = KEYS[table][1][0]
        name = " ".join(str(part) for part in key_of(table, record) if part is not None)
        complaints = {first: f"{name} is in the book already. Choose another name."}
    if complaints:
        return Written(complaints=complaints)
    why = f"Added {name_row(table, record, measures)}"
    return write(desk, [putting(table, record, based_on=0)], who=who, why=why)


def _is_there(desk: Desk, table: str, record: Record) -> bool:
    wanted = key_of(table, record)
    return any(key_of(table, row) == wanted for row in getattr(desk.log, table))


def change_row(
    desk: Desk,
    table: str,
    before: Record,
    *,
    after: Record,
    who: str,
    measures: Measures = METRIC,
) -> Written:
    """Put a row in the place of another; a new name is taken on wherever it stands."""
    if before == after:
        return Written()
    complaints = complaints_about(after)
    old, new = key_of(table, before), key_of(table, after)
    if not complaints and old != new and _is_there(desk, table, after):
        first = KEYS[table][1][0]
        complaints = {first: f"{new[0]} is in the book already. Choose another name."}
    if complaints:
        return Written(complaints=complaints)
    changes: list[Change] = []
    if table in NAMED and old != new:
        own = Change(table=table, key=old, now=after)
        others = renaming(desk.log, table, old=old[0], new=new[0])
        changes = [
            own,
            *(one for one in others if (one.table, one.key) != (table, old)),
        ]
    else:
        changes = [Change(table=table, key=old, now=after)]
    name = name_row(table, before, measures)
    why = f"Changed {name}: {say_changes(table, before, after, measures=measures)}"
    return write(desk, changes, who=who, why=why)


def remove_row(
    desk: Desk, table: str, row: Record, *, who: str, measures: Measures = METRIC
) -> Written:
    """Take a row out of the book, with all that belongs to it."""
    changes = removing(desk.log, table, key_of(table, row))
    return write(
        desk, changes, who=who, why=f"Removed {name_row(table, row, measures)}"
    )


def change_ground(desk: Desk, *, who: str, why: str, **values: object) -> Written:
    """Change what the book says about the ground as a whole."""
    ground: Ground = replace(desk.log.ground, **values)  # type: ignore[arg-type]
    return write(desk, [putting("ground", ground)], who=who, why=why)
