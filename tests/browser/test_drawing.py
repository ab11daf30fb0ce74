"""Hand and keys draw on the map, turn the water around, and carry files off and in."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit, settle

pytestmark = pytest.mark.browser

BOOK = "/book/small"


def click_map(page: Page, x: float, y: float) -> None:
    box = page.locator(".picture svg").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * x, box["y"] + box["height"] * y)


def points_of(page: Page) -> list[list[float]]:
    lines = page.locator("#points").input_value().splitlines()
    return [[float(one) for one in line.split(", ")] for line in lines]


def test_a_line_is_drawn_by_hand_moved_and_kept(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/draw")
    for x, y in ((0.3, 0.2), (0.4, 0.4), (0.5, 0.6)):
        click_map(page, x, y)
    before = points_of(page)
    assert len(before) == 3
    expect(page.locator("#measured")).to_contain_text("3 points")
    handle = page.locator(".sketch .handle").nth(1)
    handle.hover()
    page.mouse.down()
    box = handle.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 60.0, box["y"] + 8.0, steps=4)
    page.mouse.up()
    after = points_of(page)
    assert len(after) == 3
    assert after[1][0] > before[1][0] + 2.0
    assert after[0] == before[0]
    page.get_by_role("button", name="Last point off").click()
    assert len(points_of(page)) == 2
    page.get_by_role("button", name="Keep", exact=True).click()
    settle(page)
    expect(page.locator(".drawn li")).to_contain_text("Centerline of the valley")


def test_points_typed_in_degrees_lie_where_those_of_the_grid_do(
    visit: Visit, settled: str
) -> None:
    """The server's own degrees of the pointer, typed, fall under the pointer."""
    page = visit(f"{settled}{BOOK}/seen/draw")
    click_map(page, 0.4, 0.4)
    told = page.locator(".pointer").inner_text()
    north, east = re.findall(r"-?\d+\.\d{6}", told)
    place = page.locator(".sketch .handle").bounding_box()
    page.locator("#points").fill(f"{east}, {north}")
    typed = page.locator(".sketch .handle").bounding_box()
    assert place is not None
    assert typed is not None
    assert abs(place["x"] - typed["x"]) < 2.0
    assert abs(place["y"] - typed["y"]) < 2.0


def test_a_click_begins_a_dig_there(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/draw")
    page.get_by_label("What", exact=True).select_option("dig")
    click_map(page, 0.3, 0.3)
    click_map(page, 0.4, 0.4)
    ((east, _),) = points_of(page)
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator("#easting_m")).to_have_value(f"{east:.2f}")


def test_the_water_is_turned_around_by_keys(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen")
    heads = page.locator('[data-role="flow"]')
    before = heads.get_attribute("d")
    page.get_by_role("button", name="The other way").focus()
    page.keyboard.press("Enter")
    settle(page)
    expect(page.get_by_text("Which way does the water run?")).to_have_count(0)
    assert heads.get_attribute("d") != before


def test_field_paper_comes_with_one_click(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/take")
    with page.expect_download() as taken:
        page.get_by_role("button", name="Field paper").click()
    assert taken.value.suggested_filename == "small-creek-field-paper.zip"


def test_dropped_files_are_put_in_the_form(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/intake")
    page.evaluate(
        """() => {
            const data = new DataTransfer();
            const rows = "dig,easting_m,northing_m\\nN1,500001,5399999\\n";
            data.items.add(new File([rows], "digs.csv"));
            document.body.dispatchEvent(new DragEvent(
                "drop", {dataTransfer: data, bubbles: true, cancelable: true}));
        }"""
    )
    expect(page.locator("#dropped")).to_contain_text("digs.csv")
    page.get_by_role("button", name="Bring it in").click()
    settle(page)
    expect(page.locator(".verdict")).to_contain_text("1 added")
