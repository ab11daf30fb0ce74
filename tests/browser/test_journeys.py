"""What people do at the page, from the empty book to the answer, with hand and keys."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit, go_to, settle

pytestmark = pytest.mark.browser

BOOK = "/book/small"


def cell(page: Page, row: int, field: str) -> str:
    return (
        page.locator(f"tbody tr >> nth={row}")
        .locator(f'[data-field="{field}"]')
        .inner_text()
    )


def focused(page: Page) -> str:
    return str(
        page.evaluate(
            "(document.activeElement.textContent || document.activeElement.id).trim()"
        )
    )


def test_a_newcomer_gets_from_nothing_to_a_first_answer(
    visit: Visit, address: str
) -> None:
    page = visit(f"{address}/", refusals=True)
    page.get_by_label("Or begin a new book for a ground called").fill("Upper bar")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("link", name="Begin", exact=True).click()
    page.get_by_label("14 inch").check()
    page.get_by_role("button", name="Keep and go on").click()
    page.get_by_role("link", name="Leave it out").click()
    expect(page.get_by_label("Dig", exact=True)).to_have_value("T1-1")
    page.get_by_label("Depth reached", exact=True).fill("deep")
    page.get_by_role("button", name="Keep and go on").click()
    expect(page.get_by_label("Depth reached", exact=True)).to_be_focused()
    page.get_by_label("Depth reached", exact=True).fill("0,9")
    page.get_by_role("button", name="Keep and go on").click()
    page.get_by_label("From", exact=True).fill("0.5")
    page.get_by_role("button", name="Keep and go on").click()
    expect(page.get_by_label("To", exact=True)).to_have_value("0.9")
    expect(page.get_by_label("Pans", exact=True)).to_have_value("")
    page.get_by_label("Pans", exact=True).fill("4")
    page.get_by_role("button", name="Keep and go on").click()
    for _ in range(7):
        page.get_by_role("button", name="One more: like table salt").click()
    page.get_by_role("button", name="One less: like table salt").click()
    page.get_by_label("None seen: these are all").check()
    page.get_by_role("button", name="Keep and see what it says").click()
    expect(page.locator(".verdict")).to_contain_text("T1-1")
    expect(page.locator(".verdict")).to_contain_text("80")


def test_a_cell_is_typed_into_and_taken_back(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/digs")
    page.locator('tbody tr >> nth=0 >> [data-field="note"]').click()
    page.keyboard.type("red rock")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Kept: dig T1-1")
    assert cell(page, 0, "note") == "red rock"
    page.reload()
    assert cell(page, 0, "note") == "red rock"
    page.locator('tbody tr >> nth=0 >> [data-field="note"]').click()
    page.keyboard.type("blue rock")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take back").click()
    expect(page.locator("#said")).to_contain_text(
        "Took back: Changed dig T1-1: note red rock -> blue rock"
    )
    assert cell(page, 0, "note") == "red rock"


def test_a_wrong_cell_is_told_where_it_stands(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/digs", refusals=True)
    page.locator('tbody tr >> nth=0 >> [data-field="bottom_m"]').click()
    page.keyboard.type("deep")
    page.keyboard.press("Enter")
    expect(page.locator("#wrong")).to_contain_text("deep is not taken here")
    expect(page.locator("td.wrong")).to_have_count(1)
    assert cell(page, 0, "bottom_m") == "deep"
    page.locator("td.wrong").focus()
    page.keyboard.press("Escape")
    assert cell(page, 0, "bottom_m") == "1.2"
    expect(page.locator("#wrong")).to_be_empty()


def test_rows_from_a_spreadsheet_are_pasted(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/digs")
    page.locator('tr[data-new] [data-field="dig"]').click()
    page.evaluate(
        """() => {
            const data = new DataTransfer();
            data.setData("text/plain", "N1\\tN\\tpit\\nN2\\tN\\tpit\\n");
            document.activeElement.dispatchEvent(new ClipboardEvent(
                "paste", {clipboardData: data, bubbles: true, cancelable: true}));
        }"""
    )
    expect(page.locator("tbody tr[data-key]")).to_have_count(11)
    expect(page.locator(".state")).to_contain_text("11 digs")


def test_a_row_is_added_with_the_keyboard_alone(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/digs")
    page.locator('tr[data-new] [data-field="dig"]').focus()
    page.keyboard.type("N1")
    page.keyboard.press("Tab")
    page.keyboard.type("N")
    page.keyboard.press("Enter")
    expect(page.locator("tbody tr[data-key]")).to_have_count(10)
    expect(page.locator("#said")).to_contain_text("Kept: dig N1")
    expect(page.locator('tr[data-new] [data-field="dig"]')).to_be_focused()


def test_tab_goes_over_a_whole_new_row_and_keeps_it(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/layers")
    new = page.locator("tr[data-new]").last
    new.locator("td").first.click()
    for text in ("T1-1", "0.8", "4 ft 2 in"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    # Empty cells are passed over one by one, and the last one keeps the row.
    for _ in range(5):
        page.keyboard.press("Tab")
    expect(page.locator("tbody tr[data-key]")).to_have_count(10)
    expect(page.locator("#said")).to_contain_text("Kept: layer of T1-1 from 0.8 m")
    assert cell(page, 1, "bottom_m") == "1.27"
    expect(page.locator("tr[data-new] td").first).to_be_focused()
    page.keyboard.type("T1-2")
    expect(page.locator("tr[data-new] input")).to_have_value("T1-2")
    # Escape once leaves the cell, twice lets Tab leave the table: nobody is caught.
    for key in ("Escape", "Escape", "Tab"):
        page.keyboard.press(key)
    assert not page.evaluate("document.activeElement.matches('td[data-field]')")


def test_a_new_row_that_is_left_is_kept_or_says_what_it_lacks(
    visit: Visit, address: str
) -> None:
    page = visit(f"{address}{BOOK}/seen/layers", refusals=True)
    page.locator("tr[data-new] td").first.click()
    page.keyboard.type("T1-3")
    page.get_by_role("link", name="Digs", exact=True).click()
    expect(page.locator("#wrong")).to_contain_text("New row, not kept yet: From is")
    expect(page.locator("#said")).to_contain_text("Stayed here")
    expect(page.locator("tr.unkept td").first).to_have_text("T1-3")
    assert page.locator("tr.unkept td.wrong").count() == 2
    page.locator('tr.unkept [data-field="top_m"]').click()
    page.keyboard.type("0.8")
    page.keyboard.press("Tab")
    page.keyboard.type("1.2")
    page.get_by_role("heading", name="Layers").click()
    expect(page.locator("tbody tr[data-key]")).to_have_count(10)
    expect(page.locator("#wrong")).to_be_empty()
    page.locator("tr[data-new] td").first.click()
    page.keyboard.type("T2-1")
    page.keyboard.press("Tab")
    warned: list[str] = []
    page.on("dialog", lambda told: (warned.append(told.type), told.accept()))
    page.reload()
    assert warned == ["beforeunload"]


def test_a_row_in_feet_goes_along_when_one_leaves(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/digs")
    page.get_by_role("button", name="Units: meters").click()
    settle(page)
    page.locator("tr[data-new] td").first.click()
    page.keyboard.type("F1")
    page.locator('tr[data-new] [data-field="bottom_m"]').click()
    page.keyboard.type("3.5")
    page.get_by_role("link", name="Layers", exact=True).click()
    expect(page.locator("h1")).to_have_text("Layers")
    go_to(page, f"{address}{BOOK}/seen/digs?words=F1")
    assert cell(page, 0, "bottom_m") == "3.5"


def test_the_whole_way_is_walked_with_the_keyboard(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/seen/samples")
    page.keyboard.press("Tab")
    assert focused(page) == "To the content"
    page.keyboard.press("Enter")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('td[data-field]')"):
            break
    assert focused(page) == "T1-1-a"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert focused(page) == "T1-2"
    page.keyboard.press("End")
    page.keyboard.press("F2")
    page.keyboard.type("by key")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Kept: sample T1-2-a")
    page.keyboard.press("Control+z")
    expect(page.locator("tbody")).not_to_contain_text("by key")


def test_a_number_is_opened_where_it_stands(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/pans")
    number = page.locator(".verdict .word").first
    number.focus()
    page.keyboard.press("Enter")
    meaning = page.locator(".meaning:popover-open")
    expect(meaning).to_contain_text("per bank volume")
    expect(number).to_have_attribute("aria-expanded", "true")
    page.keyboard.press("Escape")
    expect(meaning).to_have_count(0)
    expect(number).to_have_attribute("aria-expanded", "false")


def box(page: Page) -> list[float]:
    text = page.locator(".picture svg").first.get_attribute("viewBox") or ""
    return [float(one) for one in text.split()]


def test_the_map_comes_closer_and_moves(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run")
    whole = box(page)
    label = page.locator("svg text[data-dig]").first
    before = label.bounding_box()
    picture = page.locator(".picture").first
    picture.hover()
    page.mouse.wheel(0, -400)
    expect(picture).to_have_attribute("data-closer", re.compile(r"^(1\.[2-9]|[2-9])"))
    page.wait_for_timeout(200)
    closer = box(page)
    assert closer[2] < whole[2] * 0.8
    after = label.bounding_box()
    assert before is not None
    assert after is not None
    assert after["height"] == pytest.approx(before["height"], rel=0.05)
    place = picture.bounding_box()
    assert place is not None
    middle = (place["x"] + 200, place["y"] + 200)
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 80, middle[1] + 40, steps=4)
    page.mouse.up()
    moved = box(page)
    assert moved[:2] != closer[:2]
    page.get_by_role("button", name="Show all").click()
    assert box(page) == whole


def test_the_map_is_moved_by_keys(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run")
    whole = box(page)
    page.locator(".picture svg").first.focus()
    page.keyboard.press("+")
    closer = box(page)
    assert closer[2] < whole[2]
    page.keyboard.press("ArrowRight")
    assert box(page)[0] > closer[0]
    page.keyboard.press("0")
    assert box(page) == whole


def test_a_dig_and_a_streak_are_picked_on_the_map(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run")
    page.locator('svg g[data-dig="T2-2"]').first.dispatch_event("click")
    expect(page.locator("#note h2")).to_have_text("Dig T2-2")
    streak = page.locator("svg [data-streak]").first
    name = streak.get_attribute("data-streak")
    streak.dispatch_event("click")
    expect(page.locator("#note h2")).to_contain_text(f"Streak {name}")


def test_what_is_drawn_is_chosen_by_name(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run")
    assert page.locator("svg [data-streak]").count() > 0
    with page.expect_navigation():
        page.get_by_role("checkbox", name="streaks").uncheck()
    settle(page)
    assert page.locator("svg [data-streak]").count() == 0


def test_another_cutoff_is_traced(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/run")
    page.get_by_label("Cutoff").fill("5000")
    page.get_by_role("button", name="Trace anew").click()
    settle(page)
    expect(page.locator(".verdict")).to_contain_text(re.compile("5,000|streak"))
    assert "cutoff=5000" in page.url


def test_units_and_night_turn_at_once(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/pans")
    # The page is sent anew, once what is typed on it is kept: look until it is there.
    paper = page.locator("html")
    expect(paper).to_have_css("background-color", "rgb(251, 247, 238)")
    page.get_by_role("button", name="Light: auto light").click()
    expect(paper).to_have_css("background-color", "rgb(27, 24, 21)")
    page.get_by_role("button", name="Units: meters").click()
    settle(page)
    expect(page.locator(".verdict")).to_contain_text("mg/yd³")


def test_a_price_is_changed_and_its_effect_shown(visit: Visit, address: str) -> None:
    page = visit(f"{address}{BOOK}/worth")
    page.get_by_text("Change price, costs and plant").click()
    page.get_by_label("Price of fine gold").fill("400")
    page.get_by_role("button", name="Weigh it").click()
    settle(page)
    expect(page.locator("[role=status].note")).to_contain_text("With what you changed")


def test_what_leaves_is_shown_and_then_taken(
    visit: Visit, settled: str, tmp_path: Path
) -> None:
    page = visit(f"{settled}{BOOK}/take")
    page.get_by_label("As").select_option(".zip")
    page.get_by_role("button", name="Show what would leave").click()
    expect(page.locator(".verdict")).to_contain_text("cannot tell where")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take it", exact=True).click()
    assert taken.value.suggested_filename == "blurred.zip"


def test_a_folder_is_brought_in(visit: Visit, address: str, tmp_path: Path) -> None:
    log = tmp_path / "log"
    log.mkdir()
    rows = "dig,line,easting_m,northing_m\nN1,N,500000,5400000\n"
    (log / "digs.csv").write_text(rows, encoding="utf-8")
    page = visit(f"{address}{BOOK}/seen/intake")
    page.get_by_label("A folder").set_input_files(log)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.locator(".verdict")).to_contain_text("1 added")


def test_long_work_shows_how_far_it_is_and_stops(
    visit: Visit, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(reading: object, look: object) -> None:
        while True:
            reading.progress(0.25, "counting grains")  # type: ignore[attr-defined]

    monkeypatch.setattr("pennyweight.web.views_pans.judge", slow)
    page = visit(f"{address}{BOOK}/take")
    page.goto(f"{address}{BOOK}/pans")
    expect(page.locator("#progress")).to_contain_text("Counting grains")
    assert page.locator("progress").get_attribute("value") == "0.25"
    page.get_by_role("button", name="Stop").click()
    expect(page.locator("#progress")).to_contain_text("Stopped. Nothing was changed.")
    monkeypatch.undo()
    page.get_by_role("link", name="Work it out again").click()
    settle(page)
    expect(page.locator(".verdict")).to_contain_text("T")


def test_a_second_tab_is_told_what_the_first_one_wrote(
    visit: Visit, address: str
) -> None:
    table = f"{address}{BOOK}/seen/digs"
    first, second = visit(table), visit(table, refusals=True)
    for page, text in ((first, "first"), (second, "second")):
        page.locator('tbody tr >> nth=0 >> [data-field="note"]').click()
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        expect(page.locator("#said")).not_to_be_empty()
    expect(second.locator("#wrong")).to_contain_text("Meanwhile this says first")
    assert cell(second, 0, "note") == "first"


def test_the_other_questions_are_one_step_away(visit: Visit, settled: str) -> None:
    page = visit(f"{settled}{BOOK}/seen")
    for question in ("What does each pan say?", "What next?", "Take it along"):
        page.get_by_role("link", name=question, exact=True).first.click()
        settle(page)
        expect(page.locator('[aria-current="page"]')).to_have_text(question)
    go_to(page, f"{settled}/")
    expect(page.locator("h1")).to_have_text("Which ground?")
