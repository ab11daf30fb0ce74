"""Set up pennyweight from a clone, with nothing but Python, and run its chores.

    python3 bootstrap.py CHORE [-- MORE ARGUMENTS]

Everything is kept in .venv beside this file. A step whose inputs have not changed
since it last succeeded is left out, and then no network is needed.
"""

from __future__ import annotations  # an older Python gets as far as the remedy

import hashlib
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
DONE = VENV / "setup.json"
LOCKS = ROOT / "locks"
OLDEST_PYTHON = (3, 11)
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
# Trust what this machine trusts, as pip does, or set-up fails behind a TLS proxy.
UV_PIP = ["--system-certs", "pip", "install", "--quiet", "--python", str(VENV)]
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")

sys.path.insert(0, str(ROOT / "frontend"))

from build_page import find_node


class SetupError(Exception):
    """Set-up cannot go on; the text says why and what to do."""


def command_path(name: str) -> str:
    """Return the path of a command installed in .venv."""
    return str(BIN / (f"{name}.exe" if os.name == "nt" else name))


def run(command: list[str], remedy: str, **environment: str) -> None:
    """Run one step quietly; when it fails show the end of its output and a remedy."""
    done = subprocess.run(
        command,
        cwd=ROOT,
        env=os.environ | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        last_lines = "\n".join(done.stdout.strip().splitlines()[-15:])
        msg = f"{last_lines}\n{Path(command[0]).name} failed: {remedy}"
        raise SetupError(msg)


def call(command: list[str], **environment: str) -> int:
    """Run a command in the foreground and return its exit code."""
    return subprocess.run(
        command, cwd=ROOT, env=os.environ | environment, check=False
    ).returncode


def digest(*files: Path) -> str:
    """Return one digest over the contents of the files."""
    return hashlib.sha256(b"\0".join(file.read_bytes() for file in files)).hexdigest()


def steps_done() -> dict[str, str]:
    """Return the digest of every step that succeeded in this .venv."""
    return json.loads(DONE.read_text()) if DONE.exists() else {}


def step(name: str, wanted: str, work: Callable[[], None], doing: str) -> None:
    """Do a step unless it already succeeded for the wanted digest, and note it."""
    if steps_done().get(name) == wanted:
        return
    print(f"{doing} ...", flush=True)
    began = time.monotonic()
    work()
    print(f"    {time.monotonic() - began:.1f} s", flush=True)
    DONE.write_text(json.dumps(steps_done() | {name: wanted}, indent=1) + "\n")


# ---- the steps ---------------------------------------------------------------


def make_venv() -> None:
    """Make .venv, or make it anew where its Python no longer starts."""
    if sys.version_info < OLDEST_PYTHON:
        have = ".".join(map(str, sys.version_info[:3]))
        msg = f"this is Python {have}; start bootstrap.py with Python 3.11 or newer."
        raise SetupError(msg)
    python = command_path("python")
    if Path(python).exists() and call([python, "-c", ""]) == 0:
        return
    print("making .venv ...", flush=True)
    remedy = "install Python's venv module (on Debian: apt-get install python3-venv)."
    run([sys.executable, "-m", "venv", "--clear", str(VENV)], remedy)


def pip_install_installer() -> None:
    """Install uv into .venv with pip, its hashes checked."""
    lock = str(LOCKS / "installer.lock")
    pip = [command_path("python"), "-m", "pip", "install", "--quiet"]
    remedy = "a package index must be in reach the first time; try again with one."
    run([*pip, "--disable-pip-version-check", "--require-hashes", "-r", lock], remedy)


def install(lock: Path) -> None:
    """Install the packages of a lock, their hashes checked."""
    remedy = "a package index must be in reach for this step; try again with one."
    options = ["--compile-bytecode", "--only-binary", ":all:", "--require-hashes"]
    run([command_path("uv"), *UV_PIP, *options, "-r", str(lock)], remedy)


def install_package() -> None:
    """Install this package itself, so that edits to src take effect at once."""
    options = ["--no-build-isolation", "--no-deps", "--editable", "."]
    remedy = "mend what the lines above name and try again."
    run([command_path("uv"), *UV_PIP, *options], remedy)


def find_browser() -> str | None:
    """Return the path of a browser that tests can drive, or None."""
    return next(filter(None, map(shutil.which, BROWSERS)), None)


def install_browser() -> None:
    """Install Chromium where the system's own installer lets us."""
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not (as_root and shutil.which("apt-get")):
        msg = "no Chromium found for the page's tests: install one and try again."
        raise SetupError(msg)
    print("installing Chromium ...", flush=True)
    remedy = "install Chromium by hand and try again."
    # A package's own scripts look for programs of the system's keeper.
    path = f"{os.environ.get('PATH', os.defpath)}:/usr/local/sbin:/usr/sbin:/sbin"
    settings = {"PATH": path, "DEBIAN_FRONTEND": "noninteractive"}
    run(["apt-get", "update", "--quiet"], remedy, **settings)
    apt = ["apt-get", "install", "--yes", "--quiet", "--no-install-recommends"]
    run([*apt, "chromium"], remedy, **settings)


def build_page(*, with_tools: bool) -> None:
    """Build the page's script, style and fonts, where their sources have changed."""
    builder = str(ROOT / "frontend" / "build_page.py")
    if call([command_path("python"), builder, *(["tools"] if with_tools else [])]):
        msg = (
            "the page was not built; the npm registry must be in reach the first time."
        )
        raise SetupError(msg)


def set_up(*, with_tools: bool) -> None:
    """Bring .venv up to date: to run the program, or to test and check it too."""
    make_venv()
    installer, node = LOCKS / "installer.lock", LOCKS / "node.lock"
    step("installer", digest(installer), pip_install_installer, "installing uv")
    every, running = ROOT / "requirements.lock", LOCKS / "run.lock"
    if with_tools:
        doing = "installing packages, with those for tests"
        step("packages for tests", digest(every), lambda: install(every), doing)
    elif steps_done().get("packages for tests") != digest(every):
        doing = "installing packages"
        step("packages", digest(running), lambda: install(running), doing)
    if find_node() is None:
        step("node", digest(node), lambda: install(node), "installing node")
    build_page(with_tools=with_tools)
    inputs = digest(ROOT / "pyproject.toml", ROOT / "hatch_build.py")
    step("package", inputs, install_package, "installing pennyweight")
    if with_tools and find_browser() is None:
        install_browser()


# ---- the chores --------------------------------------------------------------


def setup(_more: list[str]) -> int:
    """Bring .venv, page and browser up to date."""
    set_up(with_tools=True)
    print("ready; .venv/bin/pennyweight --help lists the commands")
    return 0


def demo(more: list[str]) -> int:
    """Open the page on an invented creek; with OPEN=0 only say its address."""
    set_up(with_tools=False)
    stay_shut = ["--no-open"] if os.environ.get("OPEN") == "0" else []
    return call([command_path("pennyweight"), "demo", *stay_shut, *more])


def serve(more: list[str]) -> int:
    """Serve the page for a book: serve -- my.book."""
    set_up(with_tools=False)
    return call([command_path("pennyweight"), "serve", *more])


def test(more: list[str]) -> int:
    """Run the tests; QUICK=1 leaves out the slow ones."""
    set_up(with_tools=True)
    quick = ["-m", "not law and not stories and not browser"]
    choice = quick if os.environ.get("QUICK") == "1" else []
    pytest = [command_path("python"), "-m", "pytest", "--numprocesses=auto"]
    return call([*pytest, "--dist=loadfile", *choice, *more], **ONE_THREAD)


def check(_more: list[str]) -> int:
    """Look over format, lint, types, floors, house rules and spelling."""
    set_up(with_tools=True)
    python, tool = command_path("python"), command_path
    looks = {
        "format": [tool("ruff"), "format", "--check", "."],
        "lint": [tool("ruff"), "check", "."],
        "types": [
            tool("mypy"),
            "src",
            "bootstrap.py",
            "tools",
            "frontend/build_page.py",
        ],
        "floors": [tool("lint-imports")],
        "house": [python, "tools/house_check.py", "src/pennyweight"],
        "spelling": [tool("codespell")],
        "page types": [python, "frontend/build_page.py", "types"],
    }
    failed = []
    for name, command in looks.items():
        print(f"---- {name}", flush=True)
        if call(command) != 0:
            failed.append(name)
    print(f"not in order: {', '.join(failed)}" if failed else "all in order")
    return 1 if failed else 0


def bench(more: list[str]) -> int:
    """Time the benchmarks and write docs/benchmarks.md."""
    set_up(with_tools=True)
    return call([command_path("python"), "benchmarks/run.py", *more], **ONE_THREAD)


def study(more: list[str]) -> int:
    """Run the studies and write docs/studies."""
    set_up(with_tools=True)
    return call([command_path("python"), "studies/run.py", *more], **ONE_THREAD)


def lock(_more: list[str]) -> int:
    """Write the locks anew after pyproject.toml has changed."""
    set_up(with_tools=True)
    options = "--quiet --universal --generate-hashes --no-header --no-annotate"
    compiler = [
        command_path("uv"),
        "--system-certs",
        "pip",
        "compile",
        *options.split(),
    ]
    wanted = {
        "requirements.lock": ["pyproject.toml", "--all-extras", "--group", "dev"],
        "locks/run.lock": ["pyproject.toml", "--group", "build"],
    }
    for name, parts in wanted.items():
        same = ["-c", "requirements.lock"] if name.startswith("locks") else []
        done = call([*compiler, *parts, *same, "--python-version=3.11", "-o", name])
        if done != 0:
            return done
    return 0


CHORES = {
    chore.__name__: chore
    for chore in (setup, demo, test, check, bench, study, serve, lock)
}


def main(words: list[str]) -> int:
    """Do the chore that the first word names; the rest are handed on to it."""
    if not words or words[0] not in CHORES:
        print("python3 bootstrap.py CHORE [-- MORE]\n")
        for name, chore in CHORES.items():
            print(f"  {name:6} {chore.__doc__}")
        return 2
    more = words[2:] if words[1:2] == ["--"] else words[1:]
    try:
        return CHORES[words[0]](more)
    except SetupError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
