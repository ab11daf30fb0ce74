"""The page in a real browser, with nothing said on the console and nobody called."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect, sync_playwright

from pennyweight.web.app import make_app
from pennyweight.web.server import listen
from tests.web.conftest import put_small_book

ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update"),
    "--disable-sync",
]
DESK = {"width": 1280, "height": 860}
PHONE = {"width": 390, "height": 844}
PATIENCE_MS = 60_000

Visit = Callable[..., Page]


@pytest.fixture(scope="module")
def browser(chromium_path: str) -> Iterator[Browser]:
    """Return Chromium without a screen."""
    with sync_playwright() as player:
        opened = player.chromium.launch(executable_path=chromium_path, args=ARGUMENTS)
        yield opened
        opened.close()


def open_page(folder: Path) -> Iterator[str]:
    """Serve a folder of books; yield the address and stop at the end."""
    door = listen(None)
    address = f"http://127.0.0.1:{door.getsockname()[1]}"
    server = uvicorn.Server(uvicorn.Config(make_app(folder), log_level="error"))
    served = threading.Thread(target=server.run, kwargs={"sockets": [door]})
    served.start()
    while not server.started:
        time.sleep(0.02)
    yield address
    server.should_exit = True
    served.join(20.0)
    door.close()


@pytest.fixture(scope="module")
def settled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return the address of a page over a small book that nobody writes in."""
    folder = tmp_path_factory.mktemp("settled")
    put_small_book(folder)
    yield from open_page(folder)


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """Return the address of a page over a small book and room for more."""
    put_small_book(tmp_path)
    yield from open_page(tmp_path)


@pytest.fixture
def visit(browser: Browser) -> Iterator[Visit]:
    """Return what opens a page; at the end nothing may have gone wrong in any."""
    wrong: list[str] = []
    contexts = []

    def opened(
        address: str,
        *,
        phone: bool = False,
        night: bool = False,
        refusals: bool = False,
    ) -> Page:
        context = browser.new_context(
            viewport=PHONE if phone else DESK,  # type: ignore[arg-type]
            color_scheme="dark" if night else "light",
            has_touch=phone,
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)

        def heard(kind: str, text: str) -> None:
            # A refusal is an answer with a status above 400, which is no fault.
            if kind == "error" and not (refusals and "status of 4" in text):
                wrong.append(text)

        page.on("console", lambda said: heard(said.type, said.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "request",
            lambda asked: (
                None
                if asked.url.startswith(("http://127.0.0.1:", "data:", "blob:"))
                else wrong.append(asked.url)
            ),
        )
        go_to(page, address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


def go_to(page: Page, address: str) -> None:
    """Open an address and wait until its answer is there."""
    page.goto(address)
    settle(page)


def settle(page: Page) -> None:
    """Wait until the answer that is being worked out is there."""
    page.wait_for_load_state("networkidle")
    expect(page.locator("#progress")).to_have_count(0, timeout=PATIENCE_MS)
    page.wait_for_load_state("networkidle")
