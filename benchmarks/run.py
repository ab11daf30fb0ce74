"""Time every benchmark of this folder and write docs/benchmarks.md."""

import importlib.util
import json
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

HERE = Path(__file__).resolve().parent
TABLE = HERE.parent / "docs" / "benchmarks.md"
SECONDS = 5.0
CALLS = (3, 20)
SLOWER = 1.25

HEAD = """# Benchmarks

Written by `make bench`; `benchmarks/README.md` says how they are taken.
Times are seconds, memory is the peak of the whole process.

Taken on: {machine}.

| benchmark | what it does | first | median | before | peak MB |
| --- | --- | ---: | ---: | ---: | ---: |
"""

BESIDE = """
## Beside a plain way of equal accuracy

*plain* is the plain way's median, for as many samples.

| what | tool | plain | plain / tool |
| --- | ---: | ---: | ---: |
"""


def load(file: Path) -> ModuleType:
    """Import a benchmark file by its path."""
    spec = importlib.util.spec_from_file_location(file.stem, file)
    if spec is None or spec.loader is None:
        msg = f"{file} cannot be imported as a Python file."
        raise ImportError(msg)
    module = importlib.util.module_from_spec(spec)
    # Registered by name, so that a dataclass of the file finds its own annotations.
    sys.modules[file.stem] = module
    spec.loader.exec_module(module)
    return module


def benchmark_names(file: Path) -> list[str]:
    """Return the names of the benchmarks in a file, in the order written."""
    lines = file.read_text(encoding="utf-8").splitlines()
    starts = [line for line in lines if line.startswith("def bench_")]
    return [line.removeprefix("def ").split("(")[0] for line in starts]


def time_calls(work: Callable[[], object]) -> list[float]:
    """Return the duration of each call [s], the first one first."""
    durations_s: list[float] = []
    fewest, most = CALLS
    while len(durations_s) < fewest + 1 or (
        sum(durations_s) < SECONDS and len(durations_s) < most + 1
    ):
        began = time.perf_counter()
        work()
        durations_s.append(time.perf_counter() - began)
    return durations_s


def peak_megabytes() -> float:
    """Return the largest memory this process has held [MB], nan where unknown."""
    if os.name == "nt":
        return float("nan")
    import resource  # noqa: PLC0415  (no such module on Windows)

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1e6 if sys.platform == "darwin" else 1e3)


def measure(file: Path, name: str) -> dict[str, str | float]:
    """Time one benchmark in this process, set up as the program sets itself up."""
    importlib.import_module("pennyweight")
    function = getattr(load(file), name)
    first_s, *later_s = time_calls(function())
    return {
        "what": (function.__doc__ or name).splitlines()[0],
        "first_s": first_s,
        "median_s": statistics.median(later_s),
        "peak_mb": peak_megabytes(),
    }


def measure_apart(file: Path, name: str) -> dict[str, str | float]:
    """Time one benchmark in a process of its own."""
    command = [sys.executable, __file__, "--one", str(file), name]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    result: dict[str, str | float] = json.loads(done.stdout.splitlines()[-1])
    return result


def table_lines() -> dict[str, str]:
    """Return the lines of the table as it stands, by the benchmark's name."""
    text = TABLE.read_text(encoding="utf-8") if TABLE.exists() else ""
    lines = [line for line in text.splitlines() if line.startswith("| bench_")]
    return {line.split("|")[1].strip(): line for line in lines}


def table_line(name: str, result: dict[str, str | float], last: str | None) -> str:
    """Return a benchmark's new line of the table."""
    before = last.split("|")[4].strip() if last else "-"
    first, median, peak = (result[key] for key in ("first_s", "median_s", "peak_mb"))
    numbers = f"{first:.3g} | {median:.3g} | {before} | {peak:.0f}"
    return f"| {name} | {result['what']} | {numbers} |"


def median_s(line: str) -> float:
    """Return the median of a line of the table [s]."""
    return float(line.split("|")[4])


def beside_lines(files: list[Path], lines: dict[str, str]) -> str:
    """Return how the tool compares with plain ways, where both were timed."""
    rows = ""
    for file in files:
        for what, ours, plain, times in getattr(load(file), "BESIDE", ()):
            if ours in lines and plain in lines:
                ours_s, plain_s = median_s(lines[ours]), median_s(lines[plain]) * times
                ratio = f"{plain_s / ours_s:,.0f}"
                rows += f"| {what} | {ours_s:.3g} | {plain_s:,.0f} | {ratio} |\n"
    return BESIDE + rows if rows else ""


def main(words: list[str]) -> int:
    """Time the chosen benchmarks, all where none is named, and write the table."""
    if words[:1] == ["--one"]:
        print(json.dumps(measure(Path(words[1]), words[2])))
        return 0
    files = sorted(HERE.glob("bench_*.py"))
    known = [(file, name) for file in files for name in benchmark_names(file)]
    last = table_lines()
    lines = {name: last[name] for _, name in known if name in last}
    for file, name in known:
        if words and not any(word in f"{file.stem} {name}" for word in words):
            continue
        result = measure_apart(file, name)
        lines[name] = table_line(name, result, last.get(name))
        before, now_s = lines[name].split("|")[5].strip(), float(result["median_s"])
        slower = before != "-" and now_s > SLOWER * float(before)
        print(f"{name}: {now_s:.3g} s (before: {before})", "SLOWER" * slower)
    machine = f"{platform.machine()}, {os.cpu_count()} cores"
    head = HEAD.format(machine=f"{machine}, Python {platform.python_version()}")
    rows = "".join(f"{lines[name]}\n" for _, name in known if name in lines)
    beside = beside_lines(files, lines)
    TABLE.write_text(head + rows + beside, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
