"""To be surer: the bulk test, clean-ups beside the estimate, gold by the hour."""

from __future__ import annotations

from pathlib import Path

import click

from pennyweight.cli.asking import (
    book_argument,
    json_option,
    print_json,
    print_lines,
    progress_shown,
    read_book,
    seed_option,
    units_option,
)
from pennyweight.errors import CallError
from pennyweight.units import GRADE_MG_M3, Measures, parse_quantity


@click.command("bulk")
@book_argument
@click.option(
    "--within",
    type=click.FloatRange(5.0, 100.0),
    default=25.0,
    show_default=True,
    metavar="PERCENT",
    help="Know the grade within this.",
)
@click.option(
    "--sure",
    type=click.FloatRange(51.0, 99.0),
    default=80.0,
    show_default=True,
    metavar="PERCENT",
    help="How surely.",
)
@click.option(
    "--grade",
    metavar="GRADE",
    help='What the ground should exceed, as "300 mg/m3" (bank). Without it: what just '
    "pays.",
)
@units_option
@seed_option
@json_option
def bulk_command(
    book: Path,
    within: float,
    sure: float,
    *,
    grade: str | None,
    measures: Measures,
    seed: int | None,
    as_json: bool,
) -> None:
    """Say how much to wash, and where, to be sure of a grade."""
    from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import
    from pennyweight.answers.bulktest import plan_bulk  # noqa: PLC0415 - slow to import
    from pennyweight.cli.tellingsurer import tell_bulk  # noqa: PLC0415 - slow to import

    threshold = None if grade is None else _grade(grade)
    with progress_shown() as progress:
        answer = plan_bulk(
            read_book(book, seed, progress),
            within=within / 100.0,
            sure=sure / 100.0,
            threshold_mg_m3=threshold,
        )
    if as_json:
        print_json(to_json(answer))
    else:
        print_lines(tell_bulk(answer, measures))


def _grade(text: str) -> float:
    """Return a grade as typed, in mg/m3 of bank volume."""
    try:
        found = parse_quantity(text, "grade")
    except ValueError as error:
        allowed = ", ".join(GRADE_MG_M3)
        msg = f"--grade is {text!r}; give a number and one of {allowed}."
        raise CallError(msg) from error
    return found


@click.command("reconcile")
@book_argument
@units_option
@seed_option
@json_option
def reconcile_command(
    book: Path, measures: Measures, seed: int | None, *, as_json: bool
) -> None:
    """Lay gold won from cuts beside what was expected of them."""
    from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import
    from pennyweight.answers.reconcile import reconcile  # noqa: PLC0415 - slow
    from pennyweight.cli.tellingsurer import tell_reconcile  # noqa: PLC0415 - slow

    with progress_shown() as progress:
        answer = reconcile(read_book(book, seed, progress))
    if as_json:
        print_json(to_json(answer))
    else:
        print_lines(tell_reconcile(answer, measures))


@click.command("hours")
@book_argument
@units_option
@seed_option
@json_option
def hours_command(
    book: Path, measures: Measures, seed: int | None, *, as_json: bool
) -> None:
    """Say what gold an hour of work has brought."""
    from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import
    from pennyweight.answers.handwork import weigh_handwork  # noqa: PLC0415 - slow
    from pennyweight.cli.tellingsurer import tell_hours  # noqa: PLC0415 - slow

    with progress_shown() as progress:
        answer = weigh_handwork(read_book(book, seed, progress))
    if as_json:
        print_json(to_json(answer))
    else:
        print_lines(tell_hours(answer, measures))
