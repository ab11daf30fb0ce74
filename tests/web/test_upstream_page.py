"""Where it comes from, on the page: pictures, streams, and a snap that is mended."""

import pytest

from pennyweight.book.book import create_book
from pennyweight.book.changes import putting_all
from pennyweight.web.app import make_app
from tests.answers.made_drainage import second_feeder
from tests.web.conftest import Visitor, words_of

BOOK = "/book/made/from"


@pytest.fixture
def somebody(tmp_path):
    """Return somebody at the page of a made drainage."""
    with create_book(tmp_path / "made.book", "made") as book:
        book.write(putting_all(second_feeder()), who="test", why="Made up")
    found = Visitor(make_app(tmp_path))
    with found.client:
        yield found


def test_the_page_tells_the_feeder_and_what_to_wash_next(somebody):
    page = somebody.wait_for(BOOK).text
    words = words_of(page)
    assert "The gold most likely enters" in words
    assert "Wash next" in words
    assert 'data-picture="streams"' in page
    assert 'data-picture="watermap"' in somebody.wait_for(f"{BOOK}?picture=map").text


def test_a_program_gets_streams_and_sources(somebody):
    somebody.wait_for(BOOK)
    told = somebody.wait_for(f"{BOOK}.json").json()
    assert {one["name"] for one in told["streams"]} >= {"first", "second", "third"}
    assert told["last_gold"]["sample"] == "second-up"


def test_a_picture_that_is_not_there_is_told(somebody):
    answer = somebody.read(f"{BOOK}?picture=globe")
    assert answer.status_code == 404
    assert "globe" in answer.text


def test_a_wrong_snap_is_mended_and_can_be_taken_back(somebody):
    sent = somebody.send(f"{BOOK}/stream", dig="low", stream="none")
    assert sent.status_code == 303
    page = words_of(somebody.wait_for(BOOK).text)
    assert "low: on no stream" in page
    assert "as you said" in page
    somebody.send(f"{BOOK}/stream", dig="low", stream="")
    assert "low: on no stream" not in words_of(somebody.wait_for(BOOK).text)


def test_a_dig_that_is_not_there_is_told(somebody):
    sent = somebody.send(f"{BOOK}/stream", dig="ghost", stream="none")
    assert sent.status_code == 404
    assert "ghost" in sent.text


def test_a_wrong_snap_is_mended_where_the_dig_is_picked(somebody):
    somebody.wait_for(BOOK)
    note = somebody.wait_for(f"{BOOK}/note?dig=low&picture=map")
    assert "read with" in words_of(note.text)
    assert 'action="/book/made/from/stream"' in note.text
    sent = somebody.send(f"{BOOK}/stream", dig="low", stream="none", back="map")
    assert sent.headers["location"].endswith("/from?picture=map")
    note = somebody.wait_for(f"{BOOK}/note?dig=low&picture=map")
    assert "low : on no stream" in words_of(note.text)


def test_a_stream_that_is_picked_tells_its_verdict(somebody):
    told = somebody.wait_for(f"{BOOK}.json").json()["streams"][0]
    note = words_of(somebody.wait_for(f"{BOOK}/note?stream={told['id']}").text)
    assert told["verdict"] in note.lower()
    assert somebody.wait_for(f"{BOOK}/note?stream=ghost").status_code == 404
