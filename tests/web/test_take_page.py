"""Nothing leaves before it was shown, and what leaves is what was shown."""

import io
import json
import zipfile

import pytest

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
