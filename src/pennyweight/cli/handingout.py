"""Hand out: the report on paper, and the record in open formats."""

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
from pennyweight.units import Measures


def _check_target(path: Path, book: Path) -> None:
    """Raise unless something can be written at a path, and not over the book."""
    if path.exists() and book.exists() and path.samefile(book):
        msg = f"{path} is the book itself and stays. Give another name after -o."
        raise CallError(msg)
    if not path.parent.is_dir():
        msg = f"There is no folder {path.parent}. Make it first."
        raise CallError(msg)


@click.command("report")
@book_argument
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE.pdf",
    help="Where to write it; a file that is there is replaced.",
)
@units_option
@seed_option
@json_option
def report_command(
    book: Path,
    out: Path,
    measures: Measures,
    *,
    seed: int | None,
    as_json: bool,
) -> None:
    """Write all that the book says as a PDF.

    Its maps show where the ground really is.
    """
    from pennyweight.paper.wholereport import write_whole_report  # noqa: PLC0415
    from pennyweight.pictures.svg import Look  # noqa: PLC0415 - slow to import

    _check_target(out, book)
    with progress_shown() as progress:
        reading = read_book(book, seed, progress)
        write_whole_report(reading, out, Look(measures=measures))
    if as_json:
        print_json({"path": str(out)})
    else:
        print_lines([f"Wrote {out}. Its maps show where the ground really is."])


@click.command("share")
@book_argument
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE",
    help="Where to write it; its ending says what: .zip or a folder the record as a"
    " field log, .gpkg .geojson .kml .gpx .tif the answers as maps.",
)
@click.option(
    "--public", is_flag=True, help="Blurred: not where it is, nor who was there."
)
@seed_option
@json_option
def share_command(
    book: Path, out: Path, *, public: bool, seed: int | None, as_json: bool
) -> None:
    """Hand the record on in an open format, true or blurred."""
    from pennyweight.handing.share import share_record  # noqa: PLC0415 - slow to import

    _check_target(out, book)
    with progress_shown() as progress:
        said = share_record(read_book(book, seed, progress), out, public=public)
    if as_json:
        print_json({"path": str(out)})
    else:
        print_lines([f"Wrote {out}. {said}"])
