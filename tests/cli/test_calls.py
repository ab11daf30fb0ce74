"""How calls end: exit codes, one clear line, JSON alone on standard output."""

import json
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from pennyweight import __version__
from pennyweight.cli.cli import COMMANDS
from pennyweight.progress import Cancelled
from tests.cli.conftest import Call


def raising(error: BaseException) -> Any:
    """Return a function that raises, whatever it is given."""

    def fail(*given: object, **named: object) -> None:
        raise error

    return fail


def test_help_names_every_command_without_cutting_a_sentence_short(
    call: Call,
) -> None:
    said = call("--help")
    assert said.code == 0
    assert all(f"\n  {command} " in said.out for command in COMMANDS)
    assert "..." not in said.out.split("Commands:")[1]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_a_help_of_its_own(call: Call, command: str) -> None:
    said = call(command, "-h")
    assert said.code == 0
    assert said.out.startswith(f"Usage: pennyweight {command} ")


def test_the_version_is_printed(call: Call) -> None:
    assert __version__ in call("--version").out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["mine"], "No such command 'mine'. See: pennyweight --help"),
        (["reckon", "--pans", "3"], "Missing option '--colors'."),
        (["grade"], "Missing argument 'BOOK'. See: pennyweight grade --help"),
        (["next", "b", "--days", "0"], "'--days'"),
        (["serve", "b", "--port", "99999"], "'--port'"),
        (["grade", "b", "--units", "rods"], "'rods' is not one of"),
    ],
)
def test_a_wrong_call_ends_with_2_and_one_line(
    call: Call, arguments: list[str], told: str
) -> None:
    said = call(*arguments)
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert told in said.err


@pytest.mark.parametrize("command", ["grade", "trace", "worth", "check"])
def test_a_missing_book_ends_with_2(call: Call, command: str, tmp_path: Path) -> None:
    said = call(command, tmp_path / "none.book")
    assert (said.code, said.out) == (2, "")
    assert "pennyweight new" in said.err


def test_new_makes_a_book_and_never_over_another(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    assert json.loads(call("new", path, "--json").out) == {"path": str(path)}
    before = path.read_bytes()
    said = call("new", path)
    assert (said.code, said.out) == (2, "")
    assert path.read_bytes() == before


def test_new_tells_a_person_what_to_do_next(call: Call, tmp_path: Path) -> None:
    said = call("new", tmp_path / "creek.book", "--name", "Upper bar")
    assert "pennyweight intake" in said.out


def test_intake_adds_and_the_same_again_changes_nothing(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    first = json.loads(call("intake", path, log, "--json").out)
    again = json.loads(call("intake", path, log, "--json").out)
    assert (first["added"], first["changed"]) == (28, 0)
    assert (again["added"], again["changed"], again["unchanged"]) == (0, 0, 28)


def test_a_refused_intake_ends_with_4_and_a_line_a_row(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    (log / "tallies.csv").write_text("sample,class,colors\n1A-1,all,x\nS,all,1\n")
    said = call("intake", path, log)
    assert (said.code, said.out, said.err.count("\n")) == (4, "", 2)
    assert "tallies.csv row 2 column colors: found 'x'" in said.err
    assert json.loads(call("grade", path, "--json").out or "null") is None


def test_a_refused_intake_is_told_in_json_too(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    (log / "tallies.csv").write_text("sample,class,colors\n1A-1,all,x\n")
    said = call("intake", path, log, "--json")
    (refused,) = json.loads(said.out)["refused"]
    assert (said.code, refused["row"], refused["found"]) == (4, 2, "x")


def test_intake_with_skip_bad_is_answered(
    call: Call, tmp_path: Path, log: Path
) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    (log / "tallies.csv").write_text("sample,class,colors\n1A-1,all,x\n1B-1,all,2\n")
    said = call("intake", path, log, "--skip-bad", "--who", "Ann")
    assert said.code == 0
    assert "1 refused" in said.out
    assert "log-refused.csv" in said.out


def test_intake_into_a_book_that_is_not_there_makes_none(
    call: Call, tmp_path: Path, log: Path
) -> None:
    assert call("intake", tmp_path / "none.book", log).code == 2
    assert not (tmp_path / "none.book").exists()


def test_a_book_without_a_washed_sample_ends_with_3(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "creek.book"
    call("new", path)
    said = call("grade", path, "--json")
    assert (said.code, said.out, said.err.count("\n")) == (3, "", 1)


def test_a_newer_book_ends_with_5(call: Call, tmp_path: Path, read_book: Path) -> None:
    path = Path(shutil.copy(read_book, tmp_path))
    with sqlite3.connect(path) as newer:
        newer.execute("PRAGMA user_version = 99")
    newer.close()
    said = call("grade", path)
    assert (said.code, said.out) == (5, "")
    assert "has format 99" in said.err


def test_a_sound_book_is_checked_with_0(call: Call, read_book: Path) -> None:
    said = call("check", read_book, "--json")
    assert said.code == 0
    assert list(json.loads(said.out)) == ["findings"]
    assert "is whole" in call("check", read_book).out


def test_a_damaged_book_ends_with_6(
    call: Call, tmp_path: Path, read_book: Path
) -> None:
    path = Path(shutil.copy(read_book, tmp_path))
    with sqlite3.connect(path) as other:
        other.execute("UPDATE tallies SET colors = 40 WHERE sample = '1A-1'")
    other.close()
    said = call("check", path, "--json")
    (finding,) = json.loads(said.out)["findings"]
    assert (said.code, finding["weight"]) == (6, "wrong")
    assert finding["where"] == "sample 1A-1, class 0.5-1"
    assert "is damaged" in call("check", path).out


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), Cancelled()])
def test_a_cancelled_answer_ends_with_130(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException
) -> None:
    monkeypatch.setattr("pennyweight.answers.grade.grade_ground", raising(stop))
    said = call("grade", read_book)
    assert (said.code, said.out) == (130, "")
    assert said.err == "Cancelled; nothing was changed.\n"


def test_a_fault_of_the_program_ends_with_1_and_one_line(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fault = KeyError("a\nb")
    monkeypatch.setattr("pennyweight.answers.grade.grade_ground", raising(fault))
    said = call("grade", read_book, "--json")
    assert (said.code, said.out, said.err.count("\n")) == (1, "", 1)
    assert "KeyError" in said.err
    assert "pennyweight --traceback" in said.err


def test_a_fault_shows_its_place_when_asked(
    call: Call, read_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pennyweight.answers.grade.grade_ground", raising(KeyError()))
    said = call("--traceback", "grade", read_book)
    assert said.code == 1
    assert "Traceback (most recent call last)" in said.err


def test_a_reader_that_goes_away_is_no_fault(read_book: Path) -> None:
    command = [sys.executable, "-m", "pennyweight", "grade", str(read_book), "--json"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as asked:
        assert asked.stdout is not None
        assert asked.stderr is not None
        asked.stdout.close()
        assert asked.stderr.read() == b""
    assert asked.returncode == 0


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; from pennyweight.cli.cli import run; run(['--help']);"
        "heavy = {'numpy', 'sqlalchemy', 'rich', 'starlette', 'rasterio', 'scipy'};"
        "sys.exit(str(heavy & set(sys.modules)) if heavy & set(sys.modules) else 0)"
    )
    asked = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )
    assert (asked.returncode, asked.stderr) == (0, "")


def test_check_tells_the_first_of_many_findings_alike(
    call: Call, tmp_path: Path, log: Path
) -> None:
    """Nine digs without a sample: five are told, four counted; none of them is odd."""
    path = tmp_path / "creek.book"
    for name in ("samples", "tallies"):
        (log / f"{name}.csv").unlink()
    call("new", path)
    call("intake", path, log)
    said = call("check", path)
    assert said.code == 0
    assert said.out.count("No sample was taken from it.") == 5
    assert said.out.count("and 4 more like it") == 1
    assert "is whole. Nothing in its record looks odd; noted:" in said.out
    assert len(json.loads(call("check", path, "--json").out)["findings"]) >= 9
