"""The record is typed into, pasted into and taken back; nothing is lost on the way."""

import json
from typing import Any

import pytest

from pennyweight.book.book import open_book
from pennyweight.records import Log
from tests.web.conftest import Visitor, words_of

TABLE = "/book/small/seen"


def log_of(visitor: Visitor) -> Log:
    return visitor.app.state.shelf.desk("small").log


def dig(visitor: Visitor, name: str) -> Any:
    return next((one for one in log_of(visitor).digs if one.dig == name), None)


def change(visitor: Visitor, field: str, text: str, **more: str) -> Any:
    fields = {"key": '["T1-1"]', "field": field, "text": text, "was": "", "unit": ""}
    return visitor.ask(f"{TABLE}/digs/cell", **(fields | more))


def test_a_table_shows_every_row(small: Visitor) -> None:
    page = small.read(f"{TABLE}/samples").text
    assert page.count("data-key=") == 10
    assert "T2-2-a" in page


def test_a_cell_is_changed_and_can_be_taken_back(small: Visitor) -> None:
    answer = change(small, "note", "by the red rock")
    assert answer.status_code == 200
    assert dig(small, "T1-1").note == "by the red rock"
    told = answer.json()
    assert "by the red rock" in told["row"]
    undone = small.ask(f"{TABLE}/undo", batch=told["batch"])
    assert undone.status_code == 200
    assert dig(small, "T1-1").note is None


def test_a_cell_in_feet_keeps_what_was_typed(small: Visitor) -> None:
    """4 ft x 0.3048 m = 1.2192 m."""
    answer = change(small, "bottom_m", "4", was="3.937", unit="ft")
    assert answer.status_code == 200
    assert dig(small, "T1-1").bottom_m == pytest.approx(1.2192)
    assert dig(small, "T1-1").typed == {"bottom_ft": "4"}


def test_a_wrong_cell_is_told_and_nothing_is_changed(small: Visitor) -> None:
    answer = change(small, "bottom_m", "deep", was="1.2", unit="m")
    assert answer.status_code == 422
    assert "deep" in answer.json()["errors"]["bottom_m"]
    assert dig(small, "T1-1").bottom_m == 1.2


def test_somebody_who_was_slower_is_told(small: Visitor) -> None:
    change(small, "note", "first")
    answer = change(small, "note", "second")
    assert answer.status_code == 409
    assert answer.json()["now"] == "first"
    assert dig(small, "T1-1").note == "first"


def test_a_row_that_is_gone_is_told(small: Visitor) -> None:
    answer = change(small, "note", "x", key='["T9"]')
    assert answer.status_code == 409
    assert "T9" in answer.json()["lines"][0]


def test_an_unknown_column_is_told(small: Visitor) -> None:
    answer = change(small, "salt", "x")
    assert answer.status_code == 400
    assert "salt" in answer.json()["lines"][0]


def test_a_dig_takes_its_layers_and_samples_to_its_new_name(small: Visitor) -> None:
    answer = change(small, "dig", "Creek-1", was="T1-1")
    assert answer.status_code == 200
    assert dig(small, "T1-1") is None
    log = log_of(small)
    assert [one.top_m for one in log.layers if one.dig == "Creek-1"] == [0.0]
    assert [one.sample for one in log.samples if one.dig == "Creek-1"] == ["T1-1-a"]


def test_a_name_is_given_once(small: Visitor) -> None:
    answer = change(small, "dig", "T1-2", was="T1-1")
    assert answer.status_code == 422
    assert "T1-2" in answer.json()["errors"]["dig"]


def test_a_row_is_added_below_the_others(small: Visitor) -> None:
    answer = small.ask(
        f"{TABLE}/digs/add", dig="T4-1", line="T4", bottom_m="80", bottom_m__unit="cm"
    )
    assert answer.status_code == 200
    assert dig(small, "T4-1").bottom_m == 0.8
    assert answer.json()["key"] == '["T4-1"]'


def test_a_row_without_a_name_is_told(small: Visitor) -> None:
    answer = small.ask(f"{TABLE}/digs/add", line="T4")
    assert answer.status_code == 422
    assert answer.json()["errors"] == {"dig": "Dig is needed."}


def test_a_layer_of_no_dig_is_told(small: Visitor) -> None:
    answer = small.ask(f"{TABLE}/layers/add", dig="T9", top_m="0", bottom_m="1")
    assert answer.status_code == 422
    assert "T9" in json.dumps(answer.json()["errors"])


def test_a_dig_is_removed_with_what_belongs_to_it(small: Visitor) -> None:
    answer = small.send(f"{TABLE}/digs/remove", key='["T1-1"]')
    assert answer.status_code == 303
    log = log_of(small)
    assert dig(small, "T1-1") is None
    assert all(one.dig != "T1-1" for one in (*log.layers, *log.samples))


def test_pasted_rows_go_in_from_the_column_that_was_chosen(small: Visitor) -> None:
    answer = small.ask(f"{TABLE}/digs/paste", field="dig", text="T5-1\tT5\nT5-2\tT5\n")
    assert answer.status_code == 200
    assert dig(small, "T5-2").line == "T5"


def test_pasted_rows_may_bring_their_headings(small: Visitor) -> None:
    text = "line\tdig\tbottom_ft\nT6\tT6-1\t3\n"
    answer = small.ask(f"{TABLE}/digs/paste", field="dig", text=text)
    assert answer.status_code == 200
    assert dig(small, "T6-1").bottom_m == pytest.approx(0.9144)


def test_pasted_rows_change_the_rows_they_lie_on(small: Visitor) -> None:
    keys = json.dumps(['["T1-1"]', '["T1-2"]'])
    small.ask(f"{TABLE}/digs/paste", field="note", keys=keys, text="one\ntwo\n")
    assert [dig(small, name).note for name in ("T1-1", "T1-2")] == ["one", "two"]


def test_one_wrong_pasted_row_keeps_all_out(small: Visitor) -> None:
    text = "T7-1\tT7\tpit\nT7-2\tT7\tcastle\n"
    answer = small.ask(f"{TABLE}/digs/paste", field="dig", text=text)
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["row"] == 2
    assert "castle" in error["said"]
    assert dig(small, "T7-1") is None


def test_pasted_rocks_are_numbered_on(small: Visitor) -> None:
    answer = small.ask(f"{TABLE}/rocks/paste", field="kind", text="float\nboulder\n")
    assert answer.status_code == 200
    assert [rock.number for rock in log_of(small).rocks] == [1, 2]


@pytest.mark.parametrize(
    ("query", "rows"),
    [("only=unwashed", 1), ("only=duplicates", 0), ("words=t2-", 3), ("first=8", 2)],
)
def test_rows_are_found_by_what_they_are(small: Visitor, query: str, rows: int) -> None:
    page = small.read(f"{TABLE}/samples?{query}").text
    assert page.count("data-key=") == rows


def test_a_column_is_read_in_another_unit(small: Visitor) -> None:
    """1.2 m are 3.937 ft."""
    page = small.read(f"{TABLE}/digs?unit.bottom_m=ft").text
    assert ">3.937</td>" in page
    assert ">3.937</td>" in small.read(f"{TABLE}/digs").text


def test_an_unknown_table_is_told(small: Visitor) -> None:
    answer = small.read(f"{TABLE}/spoons")
    assert answer.status_code == 404
    assert "spoons" in answer.text


def test_the_page_of_a_row_shows_all_of_it(small: Visitor) -> None:
    page = small.read(f'{TABLE}/digs/row?key=["T1-1"]').text
    assert 'value="T1-1"' in page
    assert 'name="landmark"' in page


def test_the_page_of_a_row_keeps_what_was_typed(small: Visitor) -> None:
    answer = small.send(
        f"{TABLE}/digs/row", key='["T1-1"]', dig="T1-1", landmark="12 paces to the oak"
    )
    assert answer.status_code == 303
    assert dig(small, "T1-1").landmark == "12 paces to the oak"


def test_the_page_of_a_row_tells_what_is_wrong_beside_the_field(small: Visitor) -> None:
    answer = small.send(f"{TABLE}/digs/row", key="", dig="T8", bottom_m="two")
    assert answer.status_code == 422
    assert 'aria-describedby="bottom_m-error"' in answer.text
    assert 'value="two"' in answer.text


def test_degrees_on_the_page_of_a_dig_place_it(small: Visitor) -> None:
    answer = small.send(
        f"{TABLE}/digs/row", key="", dig="T8", longitude="-123", latitude="48.7542"
    )
    assert answer.status_code == 303
    assert dig(small, "T8").easting_m == pytest.approx(500_000.0, abs=1.0)


def test_the_history_says_what_was_done_and_takes_it_back(small: Visitor) -> None:
    change(small, "note", "x")
    page = small.read(f"{TABLE}/history")
    assert "Changed dig T1-1: note nothing -&gt; x" in words_of(page.text)
    batch = page.text.split('name="batch" value="')[1].split('"')[0]
    assert small.send(f"{TABLE}/undo", batch=batch).status_code == 303
    assert dig(small, "T1-1").note is None
    assert "Taken back" in small.read(f"{TABLE}/history").text


def test_what_cannot_be_taken_back_is_told(small: Visitor) -> None:
    first = change(small, "note", "x").json()["batch"]
    change(small, "note", "y", was="x")
    answer = small.ask(f"{TABLE}/undo", batch=first)
    assert answer.status_code in (409, 422)
    assert dig(small, "T1-1").note == "y"


def test_what_was_typed_is_in_the_file(small: Visitor) -> None:
    change(small, "note", "kept")
    path = small.app.state.shelf.desk("small").path
    with open_book(path, read_only=True) as book:
        assert book.log().digs[0].note == "kept"


def test_what_is_only_looked_at_stays_exact(small: Visitor) -> None:
    small.ask(f"{TABLE}/digs/add", dig="X", easting_m="500000.123456", northing_m="1")
    page = small.read(f'{TABLE}/digs/row?key=["X"]').text
    assert 'value="500000.1"' in page
    small.send(
        f"{TABLE}/digs/row",
        key='["X"]',
        dig="X",
        easting_m="500000.1",
        northing_m="1",
        note="seen",
    )
    assert dig(small, "X").note == "seen"
    assert dig(small, "X").easting_m == 500000.123456


def test_a_taped_dig_moves_only_when_its_tape_does(small: Visitor) -> None:
    taped = {"peg": "T1-1", "toward": "T1-3", "along_m": "2", "across_m": "1"}
    small.send(f"{TABLE}/digs/row", key="", dig="X", **taped)
    assert dig(small, "X").easting_m == pytest.approx(500_006.0)
    small.send(
        f"{TABLE}/digs/row",
        key='["X"]',
        dig="X",
        easting_m="500007",
        northing_m=f"{dig(small, 'X').northing_m:g}",
        **taped,
    )
    assert dig(small, "X").easting_m == 500_007.0
    taped["along_m"] = "3"
    shown = {"easting_m": "500007", "northing_m": "5399984"}
    small.send(f"{TABLE}/digs/row", key='["X"]', dig="X", **shown, **taped)
    assert dig(small, "X").easting_m == pytest.approx(500_007.0)
    assert dig(small, "X").along_m == 3.0


def test_the_sheet_speaks_feet_to_whoever_reads_in_feet(small: Visitor) -> None:
    """1.2 m are 3.937 ft."""
    small.read(f"{TABLE}/digs")
    small.client.cookies.set("units", "feet")
    page = small.read(f"{TABLE}/digs").text
    assert ">3.937</td>" in page
    answer = change(small, "bottom_m", "3.75", was="3.937", unit="ft")
    assert answer.status_code == 200
    history = words_of(small.read(f"{TABLE}/history").text)
    assert "Changed dig T1-1: depth reached 3.937 ft -&gt; 3.75 ft" in history
    added = small.ask(
        f"{TABLE}/layers/add",
        dig="T1-2",
        top_m="3'8\"",
        top_m__unit="ft",
        bottom_m="4 ft 2 in",
        bottom_m__unit="ft",
    ).json()
    assert added["said"] == "Kept: layer of T1-2 from 3'8\"."
    assert ">4 ft 2 in</td>" in added["row"]


def test_a_dig_is_placed_by_its_degrees_in_the_sheet(small: Visitor) -> None:
    page = small.read(f"{TABLE}/digs").text
    assert ">500004.0</td>" not in page
    assert ">500004</td>" in page
    assert ">-122.999946</td>" in page
    answer = small.ask(
        f"{TABLE}/digs/add", dig="X", longitude="-123", latitude="48.7542"
    )
    assert answer.status_code == 200
    assert dig(small, "X").easting_m == pytest.approx(500_000.0, abs=1.0)
    assert ">-123</td>" in answer.json()["row"]


def test_one_degree_waits_for_the_other(small: Visitor) -> None:
    small.ask(f"{TABLE}/digs/add", dig="X")
    first = change(small, "longitude", "-123", key='["X"]')
    assert first.status_code == 200
    assert dig(small, "X").easting_m is None
    assert ">-123</td>" in first.json()["row"]
    second = change(small, "latitude", "48.7542", key='["X"]')
    assert second.status_code == 200
    assert dig(small, "X").easting_m == pytest.approx(500_000.0, abs=1.0)
    assert change(small, "latitude", "95", key='["X"]', was="48.7542").json()[
        "errors"
    ] == {"latitude": "latitude is 95; it lies between -90 and 90 degrees."}
    assert change(small, "latitude", "", key='["X"]', was="48.7542").status_code == 422


def test_degrees_are_pasted_and_pick_one_grid(visitor: Visitor) -> None:
    visitor.send("/new", name="New")
    text = "dig\tlongitude\tlatitude\nA\t-123.1\t48.75\nB\t-119.9\t48.75\n"
    answer = visitor.ask("/book/new/seen/digs/paste", field="dig", text=text)
    assert answer.json()["said"] == "2 rows kept"
    log = visitor.app.state.shelf.desk("new").log
    assert log.ground.crs == "EPSG:32610"
    assert all(one.easting_m is not None for one in log.digs)
    assert log.digs[1].typed == {"longitude": "-119.9", "latitude": "48.75"}


def test_layers_stand_by_dig_and_depth(small: Visitor) -> None:
    small.ask(f"{TABLE}/layers/add", dig="T1-1", top_m="1.0", bottom_m="1.2")
    told = small.ask(f"{TABLE}/layers/add", dig="T1-1", top_m="0.8", bottom_m="1.0")
    assert told.json()["after"] == '["T1-1", 0.0]'
    page = small.read(f"{TABLE}/layers").text
    keys = [
        part.split("&#34;, ")[1].split("]")[0] for part in page.split("data-key=")[1:4]
    ]
    assert keys == ["0.0", "0.8", "1.0"]


def test_the_counts_come_with_every_row(small: Visitor) -> None:
    told = small.ask(
        f"{TABLE}/samples/add", sample="z", dig="T1-1", taken="moss"
    ).json()
    assert told["of"] == 11
    assert "11 samples" in words_of(told["state"])
    assert "2 still to wash" in words_of(told["state"])
    assert "presence and shape" in told["said"]


def test_taking_back_says_what_it_took_back(small: Visitor) -> None:
    batch = change(small, "note", "x").json()["batch"]
    told = small.ask(f"{TABLE}/undo", batch=batch).json()
    assert told["said"] == "Took back: Changed dig T1-1: note nothing -> x"


def test_the_history_comes_thirty_at_a_time(small: Visitor) -> None:
    was = ""
    for number in range(31):
        change(small, "note", str(number), was=was)
        was = str(number)
    first = small.read(f"{TABLE}/history").text
    assert first.count('name="batch"') == 30
    assert "?first=30" in first
    last = small.read(f"{TABLE}/history?first=30").text
    assert last.count('name="batch"') == 2
    assert "?first=0" in last


def test_a_date_is_taken_as_people_write_it(small: Visitor) -> None:
    assert change(small, "date", "12 Aug 2026").status_code == 200
    assert dig(small, "T1-1").date == "2026-08-12"
    asked = change(small, "date", "12.08.2026", was="2026-08-12")
    assert "12 Aug 2026 or 8 Dec 2026" in asked.json()["errors"]["date"]


def test_pasted_finds_are_told_to_enter_no_grade(small: Visitor) -> None:
    text = "sample\tdig\ttaken\nC1\tA1\tcrevice\nC2\tA1\tmoss\n"
    name = small.app.state.shelf.desk("small").log.digs[0].dig
    answer = small.ask(
        f"{TABLE}/samples/paste", field="sample", text=text.replace("A1", name)
    )
    said = answer.json()["said"]
    assert "2 rows kept" in said
    assert "they enter no grade" in said
    assert "2 of these rows" in said
