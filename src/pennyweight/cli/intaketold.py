"""What an intake did, told to a person: counts first, then edits and doubts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pennyweight.cli.alike import alike_lines
from pennyweight.cli.layout import bullets, table

if TYPE_CHECKING:
    from pennyweight.book.transfer import Edit, IntakeSummary

#: Lines of one kind told one by one; more are counted.
TOLD = 40


def tell_intake(summary: IntakeSummary) -> list[str]:
    """Return the lines that tell of an intake."""
    lines = [_verdict(summary)]
    lines += table(
        ("", "added", "changed", "unchanged", "removed"),
        [
            (name, *(str(counts[kind]) for kind in counts))
            for name, counts in summary.tables.items()
        ],
    )
    lines += bullets("Edits:", _in_short([_edit(one) for one in summary.edits]))
    conflicts = [_conflict(one) for one in summary.conflicts]
    lines += bullets(
        "Conflicts with another log, shown and not applied:", _in_short(conflicts)
    )
    refused = [one.line() for one in summary.refused]
    aside = ", ".join(summary.refused_files)
    lines += bullets(f"Refused rows, set aside in {aside}:", _in_short(refused))
    lines += bullets(
        "Columns that the program does not know, kept with their rows:",
        summary.ignored_columns,
    )
    doubts = alike_lines([one for one in summary.doubts if one.weight != "note"])
    notes = alike_lines([one for one in summary.doubts if one.weight == "note"])
    lines += bullets("Taken, but odd:", _in_short(doubts))
    return lines + bullets("Noted:", _in_short(notes))


def _verdict(summary: IntakeSummary) -> str:
    """Return what happened in one line."""
    if summary.batch is None:
        said = f"Nothing new: {summary.unchanged} records are in the book already"
    else:
        said = (
            f"{summary.added} records added, {summary.changed} changed,"
            f" {summary.unchanged} unchanged"
        )
    if summary.refused:
        rows = {(one.file, one.row) for one in summary.refused}
        said += f"; {len(rows)} refused"
    return f"{said}."


def _edit(edit: Edit) -> str:
    """Return an edit as one line."""
    if not edit.field:
        return f"{edit.where}: {'added' if edit.now else 'removed'}"
    return f"{edit.where}: {edit.field} was {_said(edit.was)}, now {_said(edit.now)}"


def _conflict(edit: Edit) -> str:
    """Return a conflict as one line."""
    if not edit.field:
        return f"{edit.where}: only in {'the other log' if edit.now else 'the book'}"
    return (
        f"{edit.where}: {edit.field} is {_said(edit.was)} in the book,"
        f" {_said(edit.now)} in the other log"
    )


def _said(value: object) -> str:
    """Return a value as a person reads it; what was not written is empty."""
    return "empty" if value is None or value in ("", {}) else str(value)


def _in_short(texts: Sequence[str]) -> list[str]:
    """Return the first of many lines, and how many more there are."""
    shown = list(texts[:TOLD])
    if len(texts) > TOLD:
        shown.append(f"and {len(texts) - TOLD} more")
    return shown
