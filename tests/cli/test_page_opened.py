"""The page is opened on the book that was named, and on nothing else."""

import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from pennyweight.demo import book as demo_book
from tests.cli.conftest import Call, write_small_log

Opened = list[tuple[Path | None, dict[str, Any]]]


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Opened:
    """Return what the page was opened on; the page itself stays shut."""
    calls: Opened = []
    server, shelf = ModuleType("server"), ModuleType("shelf")
    server.serve = lambda book, **how: calls.append((book, how))  # type: ignore[attr-defined]
    shelf.books_folder = lambda: tmp_path / "books"  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "pennyweight.web.server", server)
    monkeypatch.setitem(sys.modules, "pennyweight.web.shelf", shelf)
    return calls


def test_serve_opens_one_book(call: Call, opened: Opened) -> None:
    assert call("serve", "my.book", "--port", "8123", "--no-open").code == 0
    assert opened == [(Path("my.book"), {"port": 8123, "open_browser": False})]


def test_serve_without_a_book_opens_the_shelf(call: Call, opened: Opened) -> None:
    call("serve")
    assert opened == [(None, {"port": None, "open_browser": True})]


def test_no_command_opens_the_shelf(call: Call, opened: Opened) -> None:
    assert call().code == 0
    assert opened == [(None, {"port": None, "open_browser": True})]


def test_ctrl_c_is_the_way_to_stop_the_page(
    call: Call, opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(book: Path | None, **how: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(sys.modules["pennyweight.web.server"], "serve", stop)
    said = call("serve")
    assert (said.code, said.err) == (0, "Stopped; what you saved is in the book.\n")
    assert opened == []


def test_demo_makes_the_invented_ground_once(
    call: Call, opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = []
    monkeypatch.setattr(
        demo_book, "write_demo", lambda path: made.append(write_small_log(path))
    )
    for _ in range(2):
        assert call("demo", "--no-open").code == 0
    (one, _), (two, how) = opened
    assert one == two
    assert one is not None
    assert one.name == "invented-creek.book"
    assert [path.name for path in one.parent.iterdir()] == ["invented-creek.book"]
    assert how == {"port": None, "open_browser": False}
    assert len(made) == 1
