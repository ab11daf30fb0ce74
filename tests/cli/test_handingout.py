"""The report on paper, and the record handed on, true or blurred."""

import json
import zipfile
from pathlib import Path

import pytest

from pennyweight.answers import nextdigs
from pennyweight.book.book import create_book
from tests.cli.conftest import Call
from tests.cli.test_answers_told import planned


def test_report_writes_a_pdf(
    call: Call, read_book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nextdigs, "plan_digs", planned, raising=False)
    said = call("report", read_book, "-o", tmp_path / "r.pdf", "--json")
    assert json.loads(said.out) == {"path": str(tmp_path / "r.pdf")}
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    assert [one.name for one in tmp_path.iterdir()] == ["r.pdf"]


def test_a_report_needs_a_folder(call: Call, read_book: Path, tmp_path: Path) -> None:
    said = call("report", read_book, "-o", tmp_path / "none" / "r.pdf")
    assert (said.code, said.out) == (2, "")
    assert "There is no folder" in said.err


def test_share_writes_a_log_that_comes_back_the_same(
    call: Call, read_book: Path, tmp_path: Path
) -> None:
    shared = tmp_path / "log.zip"
    said = call("share", read_book, "-o", shared, "--json")
    assert json.loads(said.out) == {"path": str(shared)}
    create_book(tmp_path / "other.book").close()
    intake = json.loads(call("intake", tmp_path / "other.book", shared, "--json").out)
    assert intake["added"] == 28


def test_share_says_that_the_place_goes_with_it(
    call: Call, read_book: Path, tmp_path: Path
) -> None:
    said = call("share", read_book, "-o", tmp_path / "log.zip")
    assert "says where the ground really is" in said.out


def test_a_blurred_log_says_neither_where_nor_whose(
    call: Call, read_book: Path, tmp_path: Path
) -> None:
    said = call("share", read_book, "-o", tmp_path / "log.zip", "--public")
    with zipfile.ZipFile(tmp_path / "log.zip") as shared:
        text = "".join(shared.read(name).decode() for name in shared.namelist())
    assert "Blurred" in said.out
    assert not [
        word for word in ("500008", "5400000", "Invented", "32610") if word in text
    ]


def test_an_unknown_ending_is_a_wrong_call(
    call: Call, read_book: Path, tmp_path: Path
) -> None:
    said = call("share", read_book, "-o", tmp_path / "log.doc")
    assert (said.code, said.out) == (2, "")
    assert "log.doc" in said.err


@pytest.mark.parametrize("command", ["share", "report"])
def test_the_book_itself_is_never_written_over(
    call: Call, tmp_path: Path, log: Path, command: str
) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    call("intake", path, log)
    before = path.read_bytes()
    said = call(command, path, "-o", tmp_path / "log" / ".." / "creek.book")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "is the book itself" in said.err
    assert path.read_bytes() == before
