"""Take field logs into a book, all of them in one transaction or none.

What a log says of a known record is an edit and is shown as such; what it does not
mention stays. A log of another `log_id` never changes a record: where it says
something else, that is a conflict, shown and not applied.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pennyweight.book.book import Book
from pennyweight.book.changes import Change
from pennyweight.book.findings import find_doubts
from pennyweight.book.history import edits
from pennyweight.book.matching import (
    COUNTED,
    group_records,
    match_group,
    merge_ground,
    merge_row,
)
from pennyweight.book.rows import Key, key_of, name_of, same, same_key
from pennyweight.book.writing import Kept, load_kept
from pennyweight.errors import ClosedBookError, Finding, Refusal, RefusedError
from pennyweight.exchange.fieldlog import FieldLogRead, read_fieldlog
from pennyweight.exchange.refusedrows import refused_path, write_refused_rows
from pennyweight.progress import Progress, quiet
from pennyweight.records import KEYS, Ground, Log, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One field of a known record that the log says something else of."""

    where: str
    field: str
    was: Any
    now: Any

    def as_json(self) -> dict[str, Any]:
        """Return the object that the summary prints."""
        return {
            "where": self.where,
            "field": self.field,
            "was": self.was,
            "now": self.now,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeSummary:
    """What an intake did.

    Attributes
    ----------
    added, changed, unchanged, removed : int
        Records; removed are grains and rocks that a set no longer holds [-].
    tables : mapping
        Table -> the same counts.
    edits : tuple of Edit
        What was changed.
    conflicts : tuple of Edit
        What a log of another identity says otherwise; not applied.
    refused : tuple of Refusal
        Rows left out; empty unless good rows were taken alone.
    refused_files : tuple of str
        Names of the files in which those rows were set aside.
    ignored_columns : tuple of str
        Columns that the program does not know; kept with their rows.
    doubts : tuple of Finding
        What was taken and looks odd.
    batch : str or None
        By which all of it can be undone; None if nothing changed.
    """

    added: int
    changed: int
    unchanged: int
    removed: int
    tables: dict[str, dict[str, int]]
    edits: tuple[Edit, ...]
    conflicts: tuple[Edit, ...]
    refused: tuple[Refusal, ...]
    refused_files: tuple[str, ...]
    ignored_columns: tuple[str, ...]
    doubts: tuple[Finding, ...]
    batch: str | None

    def to_json(self) -> dict[str, Any]:
        """Return the object that `intake --json` prints."""
        return {
            "added": self.added,
            "changed": self.changed,
            "unchanged": self.unchanged,
            "removed": self.removed,
            "refused": [
                {
                    "file": one.file,
                    "row": one.row,
                    "column": one.column,
                    "found": one.found,
                    "expected": one.expected,
                }
                for one in self.refused
            ],
            "refused_files": list(self.refused_files),
            "ignored_columns": list(self.ignored_columns),
            "doubts": [
                {
                    "where": one.where,
                    "problem": one.problem,
                    "remedy": one.remedy,
                    "weight": one.weight,
                }
                for one in self.doubts
            ],
            "edits": [one.as_json() for one in self.edits],
            "conflicts": [one.as_json() for one in self.conflicts],
            "tables": self.tables,
            "batch": self.batch,
        }


def refused_summary(refusals: Sequence[Refusal]) -> IntakeSummary:
    """Return the summary of an intake that was refused: nothing was changed."""
    return IntakeSummary(
        added=0,
        changed=0,
        unchanged=0,
        removed=0,
        tables={},
        edits=(),
        conflicts=(),
        refused=tuple(refusals),
        refused_files=(),
        ignored_columns=(),
        doubts=(),
        batch=None,
    )


@dataclass
class _Plan:
    """What is to be written: the book as it will be, table by table."""

    book_id: str
    present: dict[str, dict[Key, Kept]]
    changes: dict[tuple[str, Key], Change] = field(default_factory=dict)
    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    edits: list[Edit] = field(default_factory=list)
    conflicts: list[Edit] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)

    def take(self, read: FieldLogRead) -> None:
        """Work one log into the plan."""
        log_id = read.log.ground.log_id if read.has_ground else None
        log_id = None if log_id == self.book_id else log_id
        self._take_ground(read, log_id)
        for table in KEYS:
            if table == "ground":
                continue
            if table in COUNTED:
                self._take_counted(table, getattr(read.log, table), log_id)
                continue
            columns = read.columns.get(table)
            for record in getattr(read.log, table):
                old = self._old(table, key_of(table, record))
                if old is not None:
                    record = merge_row(old.record, record, columns)  # noqa: PLW2901
                self._put(table, old, record, log_id=log_id)

    def _old(self, table: str, key: Key) -> Kept | None:
        """Return what the book, or an earlier log of this intake, has there."""
        return self.present[table].get(same_key(table, key))

    def _is_foreign(self, old: Kept, log_id: str | None) -> bool:
        """Tell whether a log must not change a record: it is of another log."""
        return log_id is not None and log_id != old.origin

    def _take_ground(self, read: FieldLogRead, log_id: str | None) -> None:
        """Take what is said of the ground, or the coordinate system it was given."""
        old = self._old("ground", ())
        before = old.record if old is not None else Ground()
        new = replace(read.log.ground, log_id=None)
        if not read.has_ground:
            new = Ground(crs=getattr(before, "crs", None) or new.crs)
        now = merge_ground(before, new)
        if old is not None or now != Ground():
            self._put("ground", old, now, log_id=log_id, said=read.has_ground)

    def _put(
        self,
        table: str,
        old: Kept | None,
        now: Record,
        *,
        log_id: str | None,
        said: bool = True,
    ) -> None:
        """Put one record beside the one that is there; count it if a file said it."""
        if old is None:
            self._write(table, now, now=now, based_on=0, origin=log_id)
            self.counts[table, "added"] += said
        elif same(table, old.record, now):
            self.counts[table, "unchanged"] += said
        elif self._is_foreign(old, log_id):
            self.conflicts += _differences(table, old.record, now)
        else:
            self._write(
                table, old.record, now=now, based_on=old.version, origin=old.origin
            )
            self.counts[table, "changed"] += said
            self.edits += _differences(table, old.record, now) if said else []

    def _remove(self, table: str, old: Kept) -> None:
        """Remove a record that its set no longer holds."""
        self._write(
            table, old.record, now=None, based_on=old.version, origin=old.origin
        )
        self.counts[table, "removed"] += 1
        self.edits.append(_only_in(table, old.record, book=True))

    def _write(
        self,
        table: str,
        named: Record,
        *,
        now: Record | None,
        based_on: int,
        origin: str | None,
    ) -> None:
        """Plan a change; that of an earlier log of this intake is overruled."""
        key = key_of(table, named)
        place = (table, same_key(table, key))
        if place in self.changes:
            based_on = self.changes[place].based_on or 0
        self.changes[place] = Change(
            table=table, key=key, now=now, based_on=based_on, origin=origin
        )
        if now is None:
            del self.present[table][place[1]]
        else:
            self.present[table][place[1]] = Kept(now, 0, "", 0, origin)

    def _take_counted(
        self, table: str, records: Sequence[Any], log_id: str | None
    ) -> None:
        """Take records that are known by their group and their order."""
        if not records:
            return
        present = self.present[table]
        kept_of = {id(kept.record): kept for kept in present.values()}
        groups = group_records(table, [kept.record for kept in present.values()])
        for group, new in group_records(table, records).items():
            there = groups.get(group, [])
            own = [r for r in there if not self._is_foreign(kept_of[id(r)], log_id)]
            foreign = [r for r in there if self._is_foreign(kept_of[id(r)], log_id)]
            if foreign and COUNTED[table].whole:
                self._tell_other_set(table, foreign, new)
                continue
            twins = match_group(table, foreign, new)
            new = [m.new for m in twins if m.old is None or m.new is not m.old]  # noqa: PLW2901
            self.counts[table, "unchanged"] += len(twins) - len(new)
            for match in match_group(table, own, new):
                if match.old is None:
                    number = self._next_number(table, group)
                    now = replace(match.new, number=number)
                    self._put(table, None, now, log_id=log_id)
                elif match.new is None:
                    self._remove(table, kept_of[id(match.old)])
                else:
                    old = kept_of[id(match.old)]
                    self._put(table, old, match.new, log_id=log_id)

    def _tell_other_set(
        self, table: str, foreign: Sequence[Any], new: Sequence[Any]
    ) -> None:
        """Tell of a set that another log has otherwise; it is left as it is."""
        for match in match_group(table, foreign, new):
            if match.old is match.new:
                self.counts[table, "unchanged"] += 1
            elif match.old is None or match.new is None:
                only = match.old or match.new
                self.conflicts.append(_only_in(table, only, book=match.new is None))
            else:
                self.conflicts += _differences(table, match.old, match.new)

    def _next_number(self, table: str, group: Any) -> int:
        """Return a number that no record of the table, or of the sample, has."""
        place = f"{table} {group}" if table == "grains" else table
        if place not in self.numbers:
            # The number of what this intake removes is not given out again.
            removed = (key for name, key in self.changes if name == table)
            self.numbers[place] = max(
                (
                    key[-1]
                    for key in (*self.present[table], *removed)
                    if table != "grains" or key[0] == group
                ),
                default=0,
            )
        self.numbers[place] += 1
        return self.numbers[place]


def _differences(table: str, was: Record, now: Record) -> list[Edit]:
    """Return what differs between two records, field by field."""
    where = name_of(table, key_of(table, was))
    return [
        Edit(where=where, field=name, was=before, now=after)
        for name, (before, after) in edits(was, now).items()
        if name not in ("content", "number")
    ]


def _only_in(table: str, record: Record, *, book: bool) -> Edit:
    """Return that a record is only in the book, or only in the log."""
    return Edit(
        where=name_of(table, key_of(table, record)),
        field="",
        was="there" if book else None,
        now=None if book else "there",
    )


def _read_all(
    paths: Sequence[Path], known: Log, *, skip_bad: bool, progress: Progress
) -> list[FieldLogRead]:
    """Read every log; a later one may refer to the digs and samples of an earlier.

    Raises
    ------
    RefusedError
        Something is wrong in any of them; all of it is told.
    """
    read: list[FieldLogRead] = []
    refusals: list[Refusal] = []
    for at, path in enumerate(paths):
        progress(0.6 * at / len(paths), f"reading {path.name}")
        try:
            found = read_fieldlog(path, skip_bad=skip_bad, known=known)
        except RefusedError as refused:
            refusals += refused.refusals
            continue
        read.append(found)
        known = replace(
            known,
            ground=replace(known.ground, crs=known.ground.crs or found.log.ground.crs),
            digs=_named(known.digs, found.log.digs, "dig"),
            samples=_named(known.samples, found.log.samples, "sample"),
            weighings=_named(known.weighings, found.log.weighings, "weighing"),
        )
    if refusals:
        raise RefusedError(refusals)
    return read


def _named(old: Sequence[Any], new: Sequence[Any], name: str) -> tuple[Any, ...]:
    """Return the records of both, the newer one of each name."""
    found = {getattr(record, name): record for record in (*old, *new)}
    return tuple(found.values())


def _set_aside(paths: Sequence[Path], read: Sequence[FieldLogRead]) -> list[str]:
    """Write the refused rows of each log beside it; return the files' names."""
    names = []
    for path, one in zip(paths, read, strict=True):
        if not one.refusals:
            continue
        aside = refused_path(path)
        try:
            write_refused_rows(aside, one.refusals, one.refused_rows)
        except OSError as error:
            msg = (
                f"The refused rows of {path.name} cannot be written to {aside.name}"
                f" beside it ({error.strerror}); nothing was changed. Copy the log to a"
                " folder of your own."
            )
            raise ClosedBookError(msg) from error
        names.append(aside.name)
    return names


def take_in(
    book: Book,
    paths: Sequence[Path],
    *,
    who: str,
    skip_bad: bool = False,
    progress: Progress = quiet,
) -> IntakeSummary:
    """Take field logs into a book.

    Parameters
    ----------
    book : Book
        Open for writing.
    paths : sequence of Path
        Folders, .zip files, or single files of a log.
    who : str
        Written into the history.
    skip_bad : bool, optional
        Take the good rows; the refused ones go to a file beside the log.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    IntakeSummary
        What was added, changed, left as it was, refused or doubted.

    Raises
    ------
    RefusedError
        Something is wrong and `skip_bad` is not set; nothing was changed.
    ConflictError
        Another program changed the same records meanwhile; nothing was changed.
    CallError
        There is nothing at a path.
    """
    before = book.log()
    read = _read_all(paths, before, skip_bad=skip_bad, progress=progress)
    progress(0.6, "comparing with the book")
    with book.transaction() as connection:
        present = {table: load_kept(connection, table) for table in KEYS}
    plan = _Plan(book.id, present)
    for one in read:
        plan.take(one)
    aside = _set_aside(paths, read)
    progress(0.7, "writing")
    names = ", ".join(path.name for path in paths)
    changes = list(plan.changes.values())
    batch = book.write(changes, who=who, why=f"intake of {names}") if changes else None
    progress(0.9, "looking for what is odd")
    return _summary(plan, read, batch=batch, aside=aside, new=_new_doubts(book, before))


def _new_doubts(book: Book, before: Log) -> list[Finding]:
    """Return the doubts that the book did not raise before; notes are left out."""
    known = set(find_doubts(before))
    found = find_doubts(book.log())
    return [one for one in found if one.weight != "note" and one not in known]


def _summary(
    plan: _Plan,
    read: Sequence[FieldLogRead],
    *,
    batch: str | None,
    aside: Sequence[str],
    new: Sequence[Finding],
) -> IntakeSummary:
    """Return what was done, counted."""
    kinds = ("added", "changed", "unchanged", "removed")
    tables = {
        table: {kind: plan.counts[table, kind] for kind in kinds}
        for table in KEYS
        if any(plan.counts[table, kind] for kind in kinds)
    }
    sums = {kind: sum(counts[kind] for counts in tables.values()) for kind in kinds}
    doubts = [doubt for one in read for doubt in one.doubts]
    return IntakeSummary(
        added=sums["added"],
        changed=sums["changed"],
        unchanged=sums["unchanged"],
        removed=sums["removed"],
        tables=tables,
        edits=tuple(plan.edits),
        conflicts=tuple(plan.conflicts),
        refused=tuple(refusal for one in read for refusal in one.refusals),
        refused_files=tuple(aside),
        ignored_columns=tuple(
            dict.fromkeys(column for one in read for column in one.ignored_columns)
        ),
        doubts=(*doubts, *new),
        batch=batch,
    )
