"""A program killed in the middle of writing loses nothing that was acknowledged."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pennyweight.book.book import create_book, open_book
from pennyweight.book.checking import check_book, is_damage

KILLS = 15

#: Opens the book, then writes one dig with two samples at a time, and says so after
#: each has been written. The second word begins the names, the third says how many.
WRITER = """
import sys
from pathlib import Path
from pennyweight.book.book import open_book
from pennyweight.book.changes import putting
from pennyweight.records import Dig, Sample

with open_book(Path(sys.argv[1])) as book:
    first = len(book.log().digs)
    for number in range(first, first + int(sys.argv[3])):
        dig = f"{sys.argv[2]}{number}"
        book.write(
            [
                putting("digs", Dig(dig=dig)),
                putting("samples", Sample(sample=f"{dig}-a", dig=dig)),
                putting("samples", Sample(sample=f"{dig}-b", dig=dig)),
            ],
            who="Ann",
            why="typed in camp",
        )
        print(dig, flush=True)
"""


def kill_while_writing(path: Path, after: int) -> list[str]:
    """Kill a writer after some acknowledged digs; return those it acknowledged."""
    command = [sys.executable, "-c", WRITER, str(path), "T", "10000"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        told = [writer.stdout.readline().strip() for _ in range(after)]
        os.kill(writer.pid, signal.SIGKILL)
        told += [line.strip() for line in writer.stdout if line.endswith("\n")]
    return told


@pytest.mark.stories
def test_no_acknowledged_write_is_lost_in_fifteen_kills(tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    create_book(path).close()
    told: list[str] = []
    for after in np.random.default_rng(7).integers(1, 12, KILLS):
        told += kill_while_writing(path, int(after))
        with open_book(path) as book:
            log = book.log()
        digs = [dig.dig for dig in log.digs]
        assert set(told) <= set(digs)
        # A dig that was not acknowledged is there with both samples or not at all.
        assert len(log.samples) == 2 * len(digs)
    assert not any(is_damage(finding) for finding in check_book(path))


@pytest.mark.stories
def test_two_programs_write_into_one_book_and_none_loses_anything(
    tmp_path: Path,
) -> None:
    path = tmp_path / "creek.book"
    create_book(path).close()
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), name, "25"],
            stdout=subprocess.DEVNULL,
        )
        for name in ("A", "B")
    ]
    assert [writer.wait() for writer in writers] == [0, 0]
    with open_book(path) as book:
        log, batches = book.log(), book.batches()
    assert len(log.digs) == 50
    assert len(log.samples) == 100
    assert [batch.number for batch in batches] == list(range(50, 0, -1))
    assert [one.name for one in tmp_path.glob("creek.book*")] == ["creek.book"]
