"""Nothing leaves before it was shown, and what leaves is what was shown."""

import io
import json
import os
import zipfile
from datetime import UTC, datetime

import pytest

from pennyweight.web.views_task import is_download
from tests.web.conftest import Visitor, words_of

TAKE = "/book/small/take"


def test_blurred_is_what_stands_first(settled: Visitor) -> None:
    page = settled.read(TAKE).text
    assert 'value="blurred" checked' in page


@pytest.mark.parametrize("kind", [".zip", ".geojson", ".gpkg", ".kml", ".gpx", ".tif"])
def test_what_would_leave_is_shown_first(settled: Visitor, kind: str) -> None:
    answer = settled.wait_for(f"{TAKE}/look?kind={kind}&place=true")
    assert answer.status_code == 200
    words = words_of(answer.text)
    assert "This tells where the ground lies." in words
    assert "Positions true" in words


def test_the_true_file_is_named_for_the_ground(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/file?kind=.geojson&place=true")
    assert "small-creek.geojson" in answer.headers["content-disposition"]
    assert len(json.loads(answer.content)["features"]) > 0


def test_a_blurred_file_gives_no_name_and_no_place_away(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/file?kind=.zip&place=blurred")
    assert "small" not in answer.headers["content-disposition"].lower()
    with zipfile.ZipFile(io.BytesIO(answer.content)) as log:
        held = "".join(
            log.read(name).decode("utf-8", "replace") for name in log.namelist()
        )
    assert "Small Creek" not in held
    assert "500004" not in held


def test_a_field_log_comes_back_whole(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/file?kind=.zip&place=true")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as log:
        digs = next(name for name in log.namelist() if name.endswith("digs.csv"))
        assert len(log.read(digs).decode().strip().splitlines()) == 10


def test_another_kind_is_told(settled: Visitor) -> None:
    answer = settled.read(f"{TAKE}/look?kind=.exe")
    assert answer.status_code == 404
    assert ".exe" in answer.text


def test_the_report_is_a_pdf(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/report.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_the_form_for_the_phone_is_one_file(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/pocket.html")
    assert "attachment" in answer.headers["content-disposition"]
    assert b"Small Creek" in answer.content


def test_field_paper_is_an_archive_of_pdfs(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/field-paper.zip?paper=notebook")
    assert "small-creek-field-paper.zip" in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as paper:
        assert {"day-plan.pdf", "field-sheets.pdf", "before-you-dig.pdf"} <= set(
            paper.namelist()
        )
        assert all(paper.read(one).startswith(b"%PDF") for one in paper.namelist())


def test_another_paper_is_told(settled: Visitor) -> None:
    assert settled.read(f"{TAKE}/field-paper.zip?paper=wall").status_code == 404


def test_the_next_digs_are_waypoints(settled: Visitor) -> None:
    answer = settled.wait_for(f"{TAKE}/next-digs.gpx?days=2")
    assert answer.headers["content-type"].startswith("application/gpx+xml")
    assert answer.content.count(b"<wpt") > 0


def test_next_leads_to_the_paper_and_tells_degrees(settled: Visitor) -> None:
    page = settled.wait_for("/book/small/next?days=2").text
    assert 'href="/book/small/take/field-paper.zip"' in page
    assert 'href="/book/small/take/next-digs.gpx?days=2"' in page
    assert "; 48.7" in words_of(page)


def test_what_is_ready_is_taken_by_itself(settled: Visitor) -> None:
    assert is_download("/book/small/take/field-paper.zip?paper=a4")
    assert is_download("/book/small/take/next-digs.gpx")
    assert not is_download("/book/small/next?days=2")


def test_a_copy_tells_how_much_was_written_since(small: Visitor) -> None:
    small.send(f"{TAKE}/backup")
    assert "since" not in words_of(small.read(TAKE).text).split("To the creek")[0]
    desk = small.app.state.shelf.desk("small")
    for copy in (desk.path.parent / "backups").iterdir():
        os.utime(copy, (1_700_000_000, 1_700_000_000))
    page = words_of(small.read(TAKE).text)
    assert f"backed up Nov {copy_day()}, 1 change since" in page
    assert "since then the record was changed 1 time." in page
    assert "1 change since" in words_of(small.read("/").text)


def copy_day() -> int:
    """Return the day of November 2023 that the copy was set back to."""
    return datetime.fromtimestamp(1_700_000_000, UTC).astimezone().day
