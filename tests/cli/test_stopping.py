"""Ctrl-C ends a call with 130, in one line, whenever it comes."""

import signal
import subprocess
import sys
import time

import pytest

from pennyweight.cli import stopping
from pennyweight.cli.asking import print_json, progress_shown
from pennyweight.progress import Cancelled


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the user have pressed Ctrl-C, and something have swallowed it."""
    monkeypatch.setattr(stopping.Stop, "asked", True)


@pytest.mark.usefixtures("asked")
def test_a_swallowed_interrupt_ends_the_computation_at_its_next_step() -> None:
    with progress_shown() as progress, pytest.raises(Cancelled):
        progress(0.5, "fitting")


@pytest.mark.usefixtures("asked")
def test_a_swallowed_interrupt_keeps_the_answer_from_being_printed(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(Cancelled):
        print_json({"streaks": []})
    assert capsys.readouterr().out == ""


def test_an_interrupt_is_remembered_and_raised(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before = signal.getsignal(signal.SIGINT)
    monkeypatch.setattr(stopping.Stop, "asked", False)
    try:
        stopping.listen()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, before)
    assert stopping.Stop.asked


def test_an_interrupt_while_the_program_is_imported_leaves_no_traceback() -> None:
    """The command line is imported only after the door for Ctrl-C stands."""
    code = (
        "import sys, time, types; import pennyweight.__main__ as start;"
        "slow = types.ModuleType('pennyweight.cli.cli');"
        "slow.main = lambda: (print('ready', flush=True), time.sleep(30));"
        "sys.modules['pennyweight.cli.cli'] = slow; start.main()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=20)
    assert (process.returncode, said) == (130, "")
