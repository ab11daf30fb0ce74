"""Every view fits a phone, is read aloud without a gap, by day and by night."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Response

from tests.browser.conftest import Visit

pytestmark = pytest.mark.browser

AXE = Path(__file__).parents[2] / "frontend/node_modules/axe-core/axe.min.js"
BOOK = "/book/small"
VIEWS = (
    "/",
    "/reckon?colors=3&pans=4",
    f"{BOOK}/first",
    f"{BOOK}/first/dig",
    f"{BOOK}/first/pan",
    f"{BOOK}/seen/wash?sample=late",
    f"{BOOK}/seen",
    f"{BOOK}/seen/samples",
    f"{BOOK}/seen/digs/row",
    f"{BOOK}/seen/draw",
    f"{BOOK}/seen/intake",
    f"{BOOK}/seen/history",
    f"{BOOK}/pans",
    f"{BOOK}/pans/line/T2",
    f"{BOOK}/pans/dig/T2-2",
    f"{BOOK}/run",
    f"{BOOK}/run?picture=valley",
    f"{BOOK}/worth",
    f"{BOOK}/next",
    f"{BOOK}/take",
    f"{BOOK}/take/look?kind=.geojson&place=true",
)
#: WCAG 2.2 A and AA.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

#: The least side of what a finger must hit [px]; a link inside a sentence is exempt
#: (WCAG 2.2, 2.5.8), and so is a word that is opened where it stands.
FINGER_PX = 43.5
TOO_SMALL = """
(least) => [...document.querySelectorAll(
    "button, .button, nav a, .kinds a, .state a, .tables a, select, summary," +
    "input:not([type=hidden], [type=checkbox], [type=radio]), .choose label"
)].filter((one) => {
    const box = one.getBoundingClientRect();
    return one.checkVisibility() && box.width > 0 && box.height < least
        && !one.closest(".sheet");
}).map((one) => one.outerHTML.slice(0, 120))
"""


def judge(page: Page) -> list[str]:
    """Return what axe finds wrong, one line each."""
    # The page's own policy lets no script in; the test hands it over by the debugger.
    session = page.context.new_cdp_session(page)
    session.send("Page.setBypassCSP", {"enabled": True})
    page.reload()
    page.wait_for_load_state("networkidle")
    page.add_script_tag(path=str(AXE))
    found: dict[str, Any] = page.evaluate(
        "(rules) => axe.run(document, {runOnly: {type: 'tag', values: rules}})", RULES
    )
    return [
        f"{one['id']}: {node['target']} {node.get('failureSummary', '')}"
        for one in found["violations"]
        for node in one["nodes"][:3]
    ]


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_is_whole_for_everyone(visit: Visit, settled: str, view: str) -> None:
    assert judge(visit(f"{settled}{view}")) == []


@pytest.mark.parametrize("view", VIEWS[::3])
def test_a_view_is_whole_at_night_on_a_phone(
    visit: Visit, settled: str, view: str
) -> None:
    assert judge(visit(f"{settled}{view}", phone=True, night=True)) == []


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_fits_a_phone_and_a_finger(
    visit: Visit, settled: str, view: str
) -> None:
    page = visit(f"{settled}{view}", phone=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(TOO_SMALL, FINGER_PX) == []


def test_on_a_phone_the_picture_comes_before_the_sentence(
    visit: Visit, settled: str
) -> None:
    page = visit(f"{settled}{BOOK}/run", phone=True)
    picture = page.locator(".picture").bounding_box()
    verdict = page.locator(".verdict").bounding_box()
    assert picture is not None
    assert verdict is not None
    assert picture["y"] < verdict["y"]


def test_on_a_phone_the_open_question_is_in_sight(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/take", phone=True)
    open_one = page.locator('[aria-current="page"]').bounding_box()
    assert open_one is not None
    assert open_one["x"] >= 0
    assert open_one["x"] + open_one["width"] <= 390


def test_on_paper_stands_the_answer_without_buttons(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run", night=True)
    page.emulate_media(media="print")
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(paper) == "rgb(255, 255, 255)"
    assert not page.locator(".questions").is_visible()
    assert not page.get_by_role("button", name="Show all").is_visible()
    assert page.locator(".verdict").is_visible()
    assert page.locator(".picture").first.is_visible()


def test_a_first_view_is_light(visit: Visit, settled: str) -> None:
    """Fonts come from this machine once and are kept; the rest is under 300 kB."""
    sizes: dict[str, int] = {}
    page = visit(f"{settled}/")

    def weigh(got: Response) -> None:
        if "/fonts/" not in got.url:
            sizes[got.url] = got.request.sizes()["responseBodySize"]

    page.on("requestfinished", lambda asked: weigh(asked.response()))  # type: ignore[arg-type]
    page.goto(f"{settled}{BOOK}/seen")
    page.wait_for_load_state("networkidle")
    assert 0 < sum(sizes.values()) < 300_000
