"""Run every study of this folder and write what it found to docs/studies."""

import importlib.util
import sys
import time
from pathlib import Path
from types import ModuleType

import numpy as np

HERE = Path(__file__).resolve().parent
PAGES = HERE.parent / "docs" / "studies"
#: Word that asks for other grounds than the written page's.
SEED = "seed="


def load(file: Path) -> ModuleType:
    """Import a study by its path."""
    spec = importlib.util.spec_from_file_location(file.stem, file)
    if spec is None or spec.loader is None:
        msg = f"{file} cannot be imported as a Python file."
        raise ImportError(msg)
    module = importlib.util.module_from_spec(spec)
    # Registered by name, so that worker processes can unpickle its functions.
    sys.modules[file.stem] = module
    spec.loader.exec_module(module)
    return module


def seed_of(name: str, more: tuple[int, ...] = ()) -> np.random.SeedSequence:
    """Return the seed that belongs to a study's name, and to further numbers."""
    return np.random.SeedSequence([*name.encode(), *more])


def page_of(module: ModuleType, found: str) -> str:
    """Return a study's page: its title and preface, then what was found."""
    title, _, preface = (module.__doc__ or module.__name__).partition("\n")
    source = f"Written by `make study` from `studies/{module.__name__}.py`."
    parts = [f"# {title.rstrip('.')}", source, preface.strip(), found.strip()]
    return "\n\n".join(part for part in parts if part) + "\n"


def main(words: list[str]) -> int:
    """Run the studies whose name holds one of the words, all where there is none.

    `seed=NUMBER` draws other grounds and only prints what was found: the page stays.
    """
    sys.path.insert(0, str(HERE))
    seeds = tuple(int(word[len(SEED) :]) for word in words if word.startswith(SEED))
    words = [word for word in words if not word.startswith(SEED)]
    PAGES.mkdir(parents=True, exist_ok=True)
    for file in sorted(HERE.glob("study_*.py")):
        if words and not any(word in file.stem for word in words):
            continue
        print(f"{file.stem} ...", flush=True)
        began = time.monotonic()
        module = load(file)
        found = module.study(np.random.default_rng(seed_of(file.stem, seeds)))
        if seeds:
            print(page_of(module, found))
            continue
        page = PAGES / f"{file.stem.removeprefix('study_')}.md"
        page.write_text(page_of(module, found), encoding="utf-8")
        print(f"    {time.monotonic() - began:.0f} s, docs/studies/{page.name}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
