"""However a file is damaged, it ends in records or in refusals, never in a crash."""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pennyweight.errors import RefusedError
from pennyweight.exchange.fieldlog import read_fieldlog
from pennyweight.exchange.fieldlogwriting import write_fieldlog

EXAMPLE = Path(__file__).parents[2] / "examples" / "messy-creek"
FILES = {
    path.name: path.read_bytes()
    for path in sorted(EXAMPLE.iterdir())
    if path.suffix != ".md"
}
#: What editors, spreadsheets and bad disks put in the middle of a file.
PIECES = st.sampled_from(
    [
        *(
            b",",
            b";",
            b"\t",
            b'"',
            b"\n",
            b"\r",
            b"\x00",
            b"\xff",
            b"-1",
            b"1,5",
            b"nan",
        ),
        *(
            b"1e999",
            b"{",
            b"]",
            b"null",
            b"<wpt>",
            b"&",
            b"\xef\xbb\xbf",
            b"2026-02-30",
        ),
    ]
)
EDITS = st.lists(
    st.tuples(st.floats(0.0, 1.0), st.integers(0, 30), PIECES | st.binary(max_size=3)),
    min_size=1,
    max_size=4,
)


def damage(content: bytes, edits: list[tuple[float, int, bytes]]) -> bytes:
    """Return a file with pieces cut out and others put in."""
    for where, cut, piece in edits:
        at = int(where * len(content))
        content = content[:at] + piece + content[at + cut :]
    return content


@pytest.mark.law
@given(name=st.sampled_from(sorted(FILES)), edits=EDITS, skip_bad=st.booleans())
@settings(max_examples=300)
def test_a_damaged_log_is_taken_or_refused_and_what_is_taken_comes_back(
    name: str, edits: list[tuple[float, int, bytes]], *, skip_bad: bool
) -> None:
    with TemporaryDirectory() as folder:
        log = Path(folder) / "log"
        log.mkdir()
        for file, content in FILES.items():
            (log / file).write_bytes(content)
        (log / name).write_bytes(damage(FILES[name], edits))
        try:
            taken = read_fieldlog(log, skip_bad=skip_bad).log
        except RefusedError:
            return
        again = read_fieldlog(write_fieldlog(taken, Path(folder) / "back.zip"))
        assert again.log == taken


@pytest.mark.law
@given(edits=EDITS)
@settings(max_examples=150)
def test_a_damaged_archive_is_taken_or_refused(
    edits: list[tuple[float, int, bytes]],
) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "log.zip"
        write_fieldlog(read_fieldlog(EXAMPLE).log, path)
        path.write_bytes(damage(path.read_bytes(), edits))
        try:
            digs = len(read_fieldlog(path).log.digs)
        except RefusedError as refused:
            digs = -len(refused.refusals)
        assert digs != 0
