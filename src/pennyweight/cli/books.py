"""Make a book, take field logs into it, check it."""

from __future__ import annotations

import getpass
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from pennyweight.cli.alike import more_words, pick_few
from pennyweight.cli.asking import (
    book_argument,
    json_option,
    print_json,
    print_lines,
    progress_shown,
)
from pennyweight.cli.intaketold import tell_intake
from pennyweight.cli.layout import paragraph
from pennyweight.errors import DamagedBookError, Finding, RefusedError


def user_name() -> str:
    """Return who sits at this machine, as the system calls them."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "someone"


@click.command("new")
@book_argument
@click.option("--name", help="What the ground is called; else the file's name.")
@json_option
def new_command(book: Path, name: str | None, *, as_json: bool) -> None:
    """Make an empty book."""
    from pennyweight.book.book import create_book  # noqa: PLC0415 - slow to import

    create_book(book, name).close()
    if as_json:
        print_json({"path": str(book)})
    else:
        print_lines(
            [
                f"Made {book}.",
                f"Next: pennyweight intake {book} FOLDER, or serve {book}",
            ]
        )


@click.command("intake")
@book_argument
@click.argument(
    "paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PATH..."
)
@click.option(
    "--skip-bad",
    is_flag=True,
    help="Take the good rows; the refused ones go to a file beside the log.",
)
@click.option("--who", help="Your name in the book's history; else the system's.")
@json_option
def intake_command(
    book: Path,
    paths: Sequence[Path],
    who: str | None,
    *,
    skip_bad: bool,
    as_json: bool,
) -> None:
    """Take field logs into a book: folders, .zip or single files.

    All of it is taken or none. A second intake of the same log changes nothing; rows
    that a log no longer has stay in the book.
    """
    from pennyweight.book.book import open_book  # noqa: PLC0415 - slow to import
    from pennyweight.book.transfer import refused_summary, take_in  # noqa: PLC0415

    with open_book(book) as opened, progress_shown() as progress:
        try:
            summary = take_in(
                opened,
                paths,
                who=who or user_name(),
                skip_bad=skip_bad,
                progress=progress,
            )
        except RefusedError as refused:
            if as_json:
                print_json(refused_summary(refused.refusals).to_json())
            raise
    if as_json:
        print_json(summary.to_json())
    else:
        print_lines(tell_intake(summary))


@click.command("check")
@book_argument
@json_option
def check_command(book: Path, *, as_json: bool) -> None:
    """Look whether a book is whole, and what is odd in its record."""
    from pennyweight.book.checking import check_book, is_damage  # noqa: PLC0415

    findings = check_book(book, today=datetime.now(UTC).astimezone().date())
    damaged = any(is_damage(finding) for finding in findings)
    if as_json:
        print_json({"findings": [_finding_json(finding) for finding in findings]})
    else:
        print_lines(_tell_findings(book, findings, damaged=damaged))
    if damaged:
        click.get_current_context().exit(DamagedBookError.exit_code)


def _finding_json(finding: Finding) -> dict[str, Any]:
    """Return a finding as the JSON prints it."""
    return {
        "where": finding.where,
        "problem": finding.problem,
        "remedy": finding.remedy,
        "weight": finding.weight,
    }


def _tell_findings(book: Path, findings: list[Finding], *, damaged: bool) -> list[str]:
    """Return the findings, for a person."""
    if damaged:
        verdict = f"{book.name} is damaged."
    elif any(finding.weight != "note" for finding in findings):
        verdict = f"{book.name} is whole. Odd in its record:"
    elif findings:
        verdict = f"{book.name} is whole. Nothing in its record looks odd; noted:"
    else:
        verdict = f"{book.name} is whole, and nothing in its record looks odd."
    lines = [verdict]
    for finding, left_out in pick_few(findings):
        lines += ["", f"{finding.weight}: {finding.where}"]
        lines += paragraph(finding.problem, "    ")
        lines += paragraph(finding.remedy, "    ")
        if left_out:
            lines += ["", more_words(left_out)]
    return lines
