"""Small field logs written by hand, for the tests of this room."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from pennyweight.errors import Refusal, RefusedError
from pennyweight.exchange.fieldlog import FieldLogRead, read_fieldlog

Files = Mapping[str, str | bytes]

#: Two digs ten meters apart; positions are invented.
BASE: dict[str, str | bytes] = {
    "ground.toml": 'crs = "EPSG:32633"\n',
    "digs.csv": "dig,easting_m,northing_m\nT1,500000,5100000\nT2,500010,5100000\n",
    "samples.csv": "sample,dig,top_m,bottom_m,pans\nS1,T1,0,0.5,10\nS2,T2,0,0.5,10\n",
}


def write_files(folder: Path, files: Files) -> Path:
    """Write files into a folder."""
    folder.mkdir(exist_ok=True)
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder


@pytest.fixture
def base() -> dict[str, str | bytes]:
    """Return a log of two digs and two samples, to be changed by a test."""
    return dict(BASE)


@pytest.fixture
def write_log(tmp_path: Path) -> Callable[[Files], Path]:
    """Write a log folder and return its path."""
    return lambda files: write_files(tmp_path / "log", files)


@pytest.fixture
def read_log(write_log: Callable[[Files], Path]) -> Callable[..., FieldLogRead]:
    """Write a log folder and read it."""

    def read(files: Files, **options: Any) -> FieldLogRead:
        return read_fieldlog(write_log(files), **options)

    return read


@pytest.fixture
def refuse_log(
    read_log: Callable[..., FieldLogRead],
) -> Callable[..., tuple[Refusal, ...]]:
    """Read a log that must be refused, and return its refusals."""

    def refuse(files: Files, **options: Any) -> tuple[Refusal, ...]:
        with pytest.raises(RefusedError) as refused:
            read_log(files, **options)
        return refused.value.refusals

    return refuse
