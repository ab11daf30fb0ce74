"""The questions: what does a pan say, where does it run, is it worth it, what next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

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

if TYPE_CHECKING:
    from pennyweight.answers.reading import Reading

Ask = Callable[["Reading"], Any]
Tell = Callable[[Any, Measures], list[str]]


def _answer(book: Path, seed: int | None, ask: Ask) -> Any:
    """Return the answer that a book gives to a question."""
    with progress_shown() as progress:
        return ask(read_book(book, seed, progress))


def _print(answer: Any, tell: Tell, measures: Measures, *, as_json: bool) -> None:
    """Print an answer, for a program or for a person."""
    if as_json:
        from pennyweight.answers.answer import to_json  # noqa: PLC0415 - slow to import

        print_json(to_json(answer))
    else:
        print_lines(tell(answer, measures))


@click.command("grade")
@book_argument
@units_option
@seed_option
@json_option
def grade_command(
    book: Path, measures: Measures, seed: int | None, *, as_json: bool
) -> None:
    """Say what each pan and each dig holds, and how sure that is."""
    from pennyweight.answers.grade import grade_ground  # noqa: PLC0415 - slow to import
    from pennyweight.cli.telling import tell_grade  # noqa: PLC0415 - slow to import

    answer = _answer(book, seed, grade_ground)
    _print(answer, tell_grade, measures, as_json=as_json)


@click.command("trace")
@book_argument
@click.option(
    "--cutoff",
    metavar="GRADE",
    help='Follow what is richer than this, as "100 mg/m3" or "2 gr/yd3" (bank). '
    "Without it: the grade that just pays, or 100 mg/m3.",
)
@units_option
@seed_option
@json_option
def trace_command(
    book: Path,
    cutoff: str | None,
    measures: Measures,
    *,
    seed: int | None,
    as_json: bool,
) -> None:
    """Follow the pay streaks: where they run and how likely."""
    from pennyweight.answers.trace import trace_streaks  # noqa: PLC0415 - slow to import
    from pennyweight.cli.telling import tell_trace  # noqa: PLC0415 - slow to import

    cutoff_mg_m3 = None if cutoff is None else _cutoff(cutoff)
    answer = _answer(book, seed, lambda reading: trace_streaks(reading, cutoff_mg_m3))
    _print(answer, tell_trace, measures, as_json=as_json)


def _cutoff(text: str) -> float:
    """Return a cutoff as typed, in mg/m3 of bank volume."""
    try:
        cutoff_mg_m3 = parse_quantity(text, "grade")
    except ValueError as error:
        allowed = ", ".join(GRADE_MG_M3)
        msg = f"--cutoff is {text!r}; give a number and one of {allowed}."
        raise CallError(msg) from error
    if cutoff_mg_m3 <= 0.0:
        msg = f"--cutoff is {text!r}; it must lie above 0."
        raise CallError(msg)
    return cutoff_mg_m3


@click.command("upstream")
@book_argument
@units_option
@seed_option
@json_option
def upstream_command(
    book: Path, measures: Measures, seed: int | None, *, as_json: bool
) -> None:
    """Say where the gold comes from, and which feeder to walk."""
    from pennyweight.answers.upstreamask import (  # noqa: PLC0415 - slow to import
        ask_upstream,
    )
    from pennyweight.cli.tellingupstream import (  # noqa: PLC0415 - slow to import
        tell_upstream,
    )

    answer = _answer(book, seed, ask_upstream)
    _print(answer, tell_upstream, measures, as_json=as_json)


@click.command("highwater")
@book_argument
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write depth, speed, shear and drops there as GeoTIFF.",
)
@units_option
@seed_option
@json_option
def highwater_command(
    book: Path,
    out: Path | None,
    measures: Measures,
    *,
    seed: int | None,
    as_json: bool,
) -> None:
    """Say what the floods did, and where gravel would have stopped."""
    from pennyweight.answers.highwater import read_floods  # noqa: PLC0415 - slow
    from pennyweight.cli.tellinghighwater import (  # noqa: PLC0415 - slow to import
        tell_highwater,
        write_rasters,
    )

    answer = _answer(book, seed, read_floods)
    if out is not None:
        answer = replace(answer, rasters=write_rasters(answer, out))
    _print(answer, tell_highwater, measures, as_json=as_json)


@click.command("worth")
@book_argument
@units_option
@seed_option
@json_option
def worth_command(
    book: Path, measures: Measures, seed: int | None, *, as_json: bool
) -> None:
    """Say whether mining it pays, and how likely a loss is."""
    from pennyweight.answers.worth import weigh_worth  # noqa: PLC0415 - slow to import
    from pennyweight.cli.telling import tell_worth  # noqa: PLC0415 - slow to import

    answer = _answer(book, seed, weigh_worth)
    _print(answer, tell_worth, measures, as_json=as_json)


@click.command("next")
@book_argument
@click.option(
    "--days",
    type=click.FloatRange(min=0.0, min_open=True),
    default=1.0,
    show_default=True,
    help="Days that you have for digging.",
)
@units_option
@seed_option
@json_option
def next_command(
    book: Path, days: float, measures: Measures, *, seed: int | None, as_json: bool
) -> None:
    """Say where to dig next, and why there."""
    from pennyweight.answers.nextdigs import plan_digs  # noqa: PLC0415 - slow to import
    from pennyweight.cli.telling import tell_next  # noqa: PLC0415 - slow to import

    answer = _answer(book, seed, lambda reading: plan_digs(reading, days))
    _print(answer, tell_next, measures, as_json=as_json)
