"""The house itself: what a clone must hold before any room is built."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LOCKS = [
    ROOT / "requirements.lock",
    *sorted((ROOT / "locks").glob("*.lock")),
    ROOT / "frontend" / "package-lock.json",
]
# A scheme before a host, or a word that ends like one: files.example.org
HOST = re.compile(r"https?:|\b[\w-]+\.(?:org|com|net|io)/", re.IGNORECASE)


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_lock_names_no_host(lock: Path) -> None:
    assert HOST.findall(lock.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("lock", LOCKS[:-1], ids=lambda lock: lock.name)
def test_every_locked_package_carries_a_hash(lock: Path) -> None:
    pins = re.split(r"\n(?=\S)", lock.read_text(encoding="utf-8").strip())
    assert pins
    assert [pin.split()[0] for pin in pins if "--hash=sha256:" not in pin] == []


def test_running_lock_pins_what_the_test_lock_pins() -> None:
    def pins(lock: Path) -> set[str]:
        text = lock.read_text(encoding="utf-8")
        return set(re.findall(r"^[\w.-]+==\S+", text, re.MULTILINE))

    assert pins(ROOT / "locks" / "run.lock") <= pins(ROOT / "requirements.lock")


def test_first_paragraph_of_the_readme_states_the_job() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    paragraph = readme.split("\n\n")[1]
    words = [
        "trenches",
        "pan",
        "how surely",
        "pay streaks",
        "depth",
        "overburden",
        "next hole",
        "whether, where and when",
        "no network",
        "secret",
    ]
    assert [word for word in words if word not in paragraph] == []


def test_readme_gives_the_two_commands_with_and_without_make() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for chore in ("demo", "test"):
        assert f"    make {chore} " in readme
        assert f"`python3 bootstrap.py {chore}`" in readme


def test_floors_and_contracts_hold() -> None:
    beside_python = str(Path(sys.executable).parent)
    command = shutil.which("lint-imports", path=beside_python)
    assert command is not None
    done = subprocess.run(
        [command, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_decision_records_stay_within_forty_lines() -> None:
    records = sorted((ROOT / "docs" / "decisions").glob("[0-9]*.md"))
    assert records
    long = [r.name for r in records if len(r.read_text("utf-8").splitlines()) > 40]
    assert long == []
