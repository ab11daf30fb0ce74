"""A small invented ground, as a field log and as a book, and how it is asked."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from pennyweight.book.book import create_book
from pennyweight.book.transfer import take_in
from pennyweight.cli.cli import run

COSTS = "\n[costs]\nwash_per_m3 = 9\nstrip_per_m3 = 3\n"
GROUND = (
    'name = "Invented Creek"\ncrs = "EPSG:32610"\nswell = 0.2\npan_volume_l = 6\n'
    'currency = "USD"\ngold_price_per_ozt = 3000\nfineness = 860\n' + COSTS
)


def write_small_log(folder: Path) -> Path:
    """Write three lines of three digs, rich in the middle; return the folder."""
    digs = ["dig,line,easting_m,northing_m,bottom_m,stopped_by"]
    samples = ["sample,dig,top_m,bottom_m,pans"]
    tallies = ["sample,class,colors"]
    for line, northing_m in ((1, 5_400_000), (2, 5_399_985), (3, 5_399_970)):
        for place, colors in ((1, 2), (2, 14), (3, 3)):
            dig = f"{line}{'ABC'[place - 1]}"
            east = 500_000 + 4 * place
            digs.append(f"{dig},{line},{east},{northing_m},1.2,bedrock")
            samples.append(f"{dig}-1,{dig},0.8,1.2,4")
            tallies.append(f"{dig}-1,0.5-1,{colors}")
    folder.mkdir()
    for name, rows in (("digs", digs), ("samples", samples), ("tallies", tallies)):
        text = "\n".join(rows) + "\n"
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    (folder / "ground.toml").write_text(GROUND, encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Said:
    """How a call ended, and what it printed."""

    code: int
    out: str
    err: str


Call = Callable[..., Said]


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Call:
    """Return what carries out a call in this process."""

    def carry_out(*arguments: object) -> Said:
        capsys.readouterr()
        code = run([str(one) for one in arguments])
        printed = capsys.readouterr()
        return Said(code, printed.out, printed.err)

    return carry_out


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Write the small log and return its folder."""
    return write_small_log(tmp_path / "log")


@pytest.fixture(scope="session")
def read_book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Make a book of the small log that no test changes."""
    folder = tmp_path_factory.mktemp("read")
    path = folder / "creek.book"
    with create_book(path, "Invented Creek") as book:
        take_in(book, [write_small_log(folder / "log")], who="Ann")
    yield path
    assert sorted(one.name for one in folder.iterdir()) == ["creek.book", "log"]
