"""The invented ground as a book, made once and found again."""

from __future__ import annotations

import tempfile
from pathlib import Path

from pennyweight.book.book import create_book
from pennyweight.book.transfer import take_in
from pennyweight.demo.ground import write_demo
from pennyweight.progress import Progress, quiet, within

NAME = "Invented creek"
FILE = "invented-creek.book"


def find_demo_book(folder: Path, progress: Progress = quiet) -> Path:
    """Return the book of the invented ground, made if it is not there yet.

    Parameters
    ----------
    folder : Path
        Where books are kept; made if it is not there.
    progress : callable, optional
        Told how far the making is.
    """
    path = folder / FILE
    if path.exists():
        return path
    folder.mkdir(parents=True, exist_ok=True)
    # Under its name the book is whole from the first moment.
    with tempfile.TemporaryDirectory(dir=folder) as aside:
        progress(0.0, "inventing a ground")
        log, unfinished = Path(aside) / "log", Path(aside) / FILE
        write_demo(log)
        with create_book(unfinished, NAME) as book:
            take_in(book, [log], who="demo", progress=within(progress, 0.3, 1.0))
        unfinished.replace(path)
    return path
