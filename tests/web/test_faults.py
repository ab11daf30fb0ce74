"""Whatever goes wrong has one face: a status and a plain sentence."""

import pytest

from pennyweight.errors import (
    CallError,
    ClosedBookError,
    DamagedBookError,
    Refusal,
    RefusedError,
    TooLittleError,
)
from pennyweight.web.faults import PageError, lines_of, status_of
from tests.web.conftest import Visitor

REFUSED = RefusedError([Refusal("digs.csv", 3, "dig", "", "a name")])


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (CallError("x"), 404),
        (TooLittleError("x"), 422),
        (REFUSED, 422),
        (ClosedBookError("x"), 423),
        (DamagedBookError("x"), 500),
        (PageError("x", 409), 409),
        (ZeroDivisionError("x"), 500),
    ],
)
def test_every_error_has_its_status(error: Exception, status: int) -> None:
    assert status_of(error) == status


def test_a_refusal_is_told_row_by_row() -> None:
    (line,) = lines_of(REFUSED)
    assert line == "digs.csv row 3 column dig: found ''; expected a name"


def test_a_missing_book_is_named(small: Visitor) -> None:
    answer = small.read("/book/nowhere/seen")
    assert answer.status_code == 404
    assert "nowhere" in answer.text


def test_the_same_failure_reads_the_same_as_json(small: Visitor) -> None:
    answer = small.read("/book/nowhere/seen", Accept="application/json")
    assert answer.status_code == 404
    told = answer.json()
    assert told["status"] == 404
    assert "nowhere" in told["lines"][0]


def test_an_unknown_address_leads_back_to_the_books(small: Visitor) -> None:
    answer = small.read("/no/such/page")
    assert answer.status_code == 404
    assert 'href="/"' in answer.text


def test_a_fault_of_the_program_says_that_the_record_is_whole(
    small: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        msg = "a made-up fault <b>"
        raise RuntimeError(msg)

    monkeypatch.setattr("pennyweight.web.views_start._show_book", broken)
    answer = small.read("/")
    assert answer.status_code == 500
    assert "a made-up fault &lt;b&gt;" in answer.text
    assert "not touched" in answer.text
    assert "Traceback" not in answer.text


def test_a_form_without_a_file_says_so(small: Visitor) -> None:
    answer = small.send("/bring-in")
    assert answer.status_code == 422
    assert "No file was chosen" in answer.text
