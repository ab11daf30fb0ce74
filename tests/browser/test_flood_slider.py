"""The slider of high water: one flood at a time, by hand or rising."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from pennyweight.book.book import create_book
from pennyweight.book.changes import putting_all
from tests.answers.made_creek import made_log
from tests.browser.conftest import Visit, open_page

pytestmark = pytest.mark.browser

BOOK = "/book/creek/floods"


@pytest.fixture(scope="module")
def creek(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return the address of a page over a book with an elevation model."""
    folder = tmp_path_factory.mktemp("creek")
    with create_book(folder / "creek.book", "Made Creek") as book:
        book.write(putting_all(made_log()), who="test", why="Made up")
    yield from open_page(folder)


def seen(page: Page) -> list[str | None]:
    """Return the floods that are shown, one for the map and one for the profile."""
    shown = page.locator("[data-flood]:not(.ebbed)")
    return [one.get_attribute("data-flood") for one in shown.all()]


def test_the_slider_shows_one_flood_on_map_and_profile(
    visit: Visit, creek: str
) -> None:
    page = visit(creek + BOOK)
    slider = page.locator("#flood")
    slider.focus()
    page.keyboard.press("Home")
    assert seen(page) == ["0", "0"]
    least = page.locator("output").inner_text()
    page.keyboard.press("ArrowRight")
    assert seen(page) == ["1", "1"]
    assert page.locator("output").inner_text() != least
    assert slider.get_attribute("aria-valuetext") == page.locator("output").inner_text()


def test_the_water_rises_to_the_greatest_flood_and_can_be_stopped(
    visit: Visit, creek: str
) -> None:
    page = visit(creek + BOOK)
    rise = page.locator("[data-flood-rise]")
    rise.click()
    expect(rise).to_have_text("Stop")
    expect(page.locator("#flood")).to_have_value(
        page.locator("#flood").get_attribute("max") or ""
    )
    expect(rise).to_have_text("Let it rise")
    rise.click()
    rise.click()
    expect(rise).to_have_text("Let it rise")


def test_who_wants_less_motion_has_the_slider_alone(visit: Visit, creek: str) -> None:
    page = visit(creek + BOOK, phone=True)
    page.emulate_media(reduced_motion="reduce")
    page.reload()
    expect(page.locator("[data-flood-rise]")).to_have_count(0)
    expect(page.locator("#flood")).to_be_visible()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
