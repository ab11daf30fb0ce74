"""A folder or an archive goes into the book whole, or not at all with all reasons."""

import io
import zipfile
from typing import Any

import pytest
from starlette.datastructures import UploadFile

from pennyweight.web.views_intake import lay_down
from tests.web.conftest import HERE, Visitor, words_of

DIGS = "dig,line,easting_m,northing_m\nN1,N,500000,5400000\nN2,N,500004,5400000\n"
SAMPLES = "sample,dig,top_m,bottom_m,pans\nN1-a,N1,0.2,0.6,3\n"
WRONG = "sample,dig,top_m,bottom_m,pans\nN1-a,N9,0.9,0.6,-3\n"


def hand_in(visitor: Visitor, files: dict[str, bytes], **more: str) -> Any:
    answer = visitor.client.post(
        "/book/small/seen/intake",
        data={"token": visitor.app.state.token, **more},
        files=[("files", (name, content)) for name, content in files.items()],
        headers={"Origin": HERE},
        follow_redirects=False,
    )
    return visitor.wait_for(answer.headers["location"])


def archive(**files: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as log:
        for name, text in files.items():
            log.writestr(f"log/{name}.csv", text)
    return held.getvalue()


def test_files_of_a_folder_are_taken_in(small: Visitor) -> None:
    files = {"log/digs.csv": DIGS.encode(), "log/samples.csv": SAMPLES.encode()}
    answer = hand_in(small, files)
    assert answer.status_code == 200
    assert "3 added" in words_of(answer.text)
    assert "N2" in small.read("/book/small/seen/digs").text


def test_an_archive_is_taken_in(small: Visitor) -> None:
    answer = hand_in(small, {"log.zip": archive(digs=DIGS, samples=SAMPLES)})
    assert "3 added" in words_of(answer.text)


def test_one_wrong_row_keeps_all_out_and_says_where(small: Visitor) -> None:
    files = {"digs.csv": DIGS.encode(), "samples.csv": WRONG.encode()}
    answer = hand_in(small, files)
    assert answer.status_code == 422
    words = words_of(answer.text)
    assert "Nothing was changed" in words
    assert "samples.csv, row 2" in words
    assert "N2" not in small.read("/book/small/seen/digs").text


def test_good_rows_are_taken_when_that_is_wanted(small: Visitor) -> None:
    files = {"digs.csv": DIGS.encode(), "samples.csv": WRONG.encode()}
    answer = hand_in(small, files, skip_bad="yes")
    assert answer.status_code == 200
    assert "2 added" in words_of(answer.text)
    assert "left out" in words_of(answer.text)


def test_what_came_of_it_can_be_read_again_and_taken_back(small: Visitor) -> None:
    answer = hand_in(small, {"digs.csv": DIGS.encode()})
    again = small.read(str(answer.url))
    assert "2 added" in words_of(again.text)
    batch = again.text.split('name="batch" value="')[1].split('"')[0]
    assert small.send("/book/small/seen/undo", batch=batch).status_code == 303
    assert "N2" not in small.read("/book/small/seen/digs").text


def test_a_known_dig_that_says_something_new_is_shown(small: Visitor) -> None:
    digs = "dig,line,note,easting_m,northing_m\nT1-1,T1,new words,500004,5399985\n"
    answer = hand_in(small, {"digs.csv": digs.encode()})
    words = words_of(answer.text)
    assert "1 changed" in words
    assert "new words" in words


def test_an_intake_that_never_was_is_told(small: Visitor) -> None:
    assert small.wait_for("/book/small/seen/intake/99999").status_code == 404


def test_no_file_is_told(small: Visitor) -> None:
    answer = small.send("/book/small/seen/intake")
    assert answer.status_code == 422


@pytest.mark.parametrize("name", ["../../up.csv", "C:\\x\\up.csv", "a/b/up.csv"])
def test_a_file_is_laid_down_by_the_last_part_of_its_name(
    name: str, tmp_path: Any
) -> None:
    (folder,) = lay_down([UploadFile(io.BytesIO(b"x"), filename=name)], tmp_path)
    assert [path.name for path in folder.iterdir()] == ["up.csv"]


def test_an_empty_log_is_handed_out_and_comes_back(small: Visitor) -> None:
    page = small.read("/book/small/seen/intake").text
    assert "samples.csv" in page
    assert "weighed_mg" in page
    answer = small.read("/book/small/seen/intake/empty.zip")
    assert "empty-field-log.zip" in answer.headers["content-disposition"]
    assert answer.content.startswith(b"PK")
