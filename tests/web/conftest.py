"""A small invented ground on a shelf, and a browser without a screen to ask it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from pennyweight.book.book import create_book
from pennyweight.book.changes import putting_all
from pennyweight.records import Dig, Ground, Layer, Log, Sample, Tally
from pennyweight.web.app import make_app

HERE = "http://127.0.0.1:8700"
COLORS = ((2, 14, 3), (1, 11, 2), (0, 9, 1))


def small_log() -> Log:
    """Return three lines of three digs, rich in the middle; nobody dug them."""
    digs, layers, samples, tallies = [], [], [], []
    for number, counts in enumerate(COLORS, start=1):
        for place, colors in enumerate(counts, start=1):
            name = f"T{number}-{place}"
            digs.append(
                Dig(
                    dig=name,
                    line=f"T{number}",
                    kind="pit",
                    easting_m=500_000.0 + 4.0 * place,
                    northing_m=5_400_000.0 - 15.0 * number,
                    bottom_m=1.2,
                    stopped_by="bedrock",
                )
            )
            layers.append(Layer(dig=name, top_m=0.0, bottom_m=0.8, material="gravel"))
            samples.append(
                Sample(sample=f"{name}-a", dig=name, top_m=0.8, bottom_m=1.2, pans=4.0)
            )
            tallies.append(Tally(sample=f"{name}-a", size_class="0.5-1", colors=colors))
    samples.append(Sample(sample="late", dig="T3-3", top_m=0.2, bottom_m=0.6, pans=2.0))
    ground = Ground(
        name="Small Creek (invented)",
        crs="EPSG:32610",
        swell=0.2,
        pan_volume_m3=0.006,
        currency="USD",
        gold_price_per_g=100.0,
        costs={"wash_per_m3": 9.0, "strip_per_m3": 3.0},
    )
    return Log(
        ground=ground,
        digs=tuple(digs),
        layers=tuple(layers),
        samples=tuple(samples),
        tallies=tuple(tallies),
    )


@dataclass
class Visitor:
    """Somebody at the page: reads, follows forms, sends them with the page's word."""

    app: Starlette
    client: TestClient = field(init=False)

    def __post_init__(self) -> None:
        """Open the door."""
        self.client = TestClient(self.app, base_url=HERE, raise_server_exceptions=False)

    def read(self, path: str, **headers: str) -> Any:
        """Ask for a page."""
        return self.client.get(path, headers=headers)

    def wait_for(self, path: str) -> Any:
        """Ask for a page until its answer is there."""
        for _ in range(600):
            answer = self.client.get(path)
            if answer.status_code != 202:
                return answer
        msg = f"{path} is still being worked out."
        raise TimeoutError(msg)

    def send(self, path: str, **fields: str) -> Any:
        """Send a form as our own page does."""
        word = self.app.state.token
        names = {name.replace("__", "."): value for name, value in fields.items()}
        return self.client.post(
            path,
            data={"token": word} | names,
            headers={"Origin": HERE},
            follow_redirects=False,
        )

    def ask(self, path: str, **fields: str) -> Any:
        """Send a form as our own script does, and read its answer as JSON."""
        names = {name.replace("__", "."): value for name, value in fields.items()}
        headers = {
            "Origin": HERE,
            "Accept": "application/json",
            "X-Pennyweight-Token": self.app.state.token,
        }
        return self.client.post(path, data=names, headers=headers)


def words_of(html: str) -> str:
    """Return the words of a page without its tags."""
    plain = re.sub(r"<[^>]+>", " ", html)
    return re.sub(r"\s+", " ", plain.replace("\xa0", " ")).strip()


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Return an empty folder of books."""
    return tmp_path / "books"


@pytest.fixture
def visitor(shelf: Path) -> Iterator[Visitor]:
    """Return somebody at a page over an empty folder."""
    somebody = Visitor(make_app(shelf))
    with somebody.client:
        yield somebody


@cache
def small_book() -> bytes:
    """Return the small ground as a book, made once."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "small.book"
        with create_book(path, "Small Creek") as book:
            book.write(putting_all(small_log()), who="test", why="Made up")
        return path.read_bytes()


def put_small_book(folder: Path) -> Path:
    """Put the small ground on a shelf."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "small.book"
    path.write_bytes(small_book())
    return path


@pytest.fixture
def small(shelf: Path) -> Iterator[Visitor]:
    """Return somebody at a page over a folder with the small book in it."""
    put_small_book(shelf)
    somebody = Visitor(make_app(shelf))
    with somebody.client:
        yield somebody


@pytest.fixture(scope="session")
def settled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """Return somebody at a small book that nobody writes in, for costly answers."""
    folder = tmp_path_factory.mktemp("settled")
    put_small_book(folder)
    somebody = Visitor(make_app(folder))
    with somebody.client:
        yield somebody
