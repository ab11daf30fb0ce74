"""A panner's own tests: what a pan finds, what it holds, how the ground grows."""

from typing import Any

import pytest

from pennyweight.records import Log
from pennyweight.sampling.recovery import learn_recoveries
from pennyweight.sampling.volume import measure_basis
from tests.web.conftest import Visitor, words_of

TABLE = "/book/small/seen"


def log_of(visitor: Visitor) -> Log:
    log: Log = visitor.app.state.shelf.desk("small").log
    return log


def add(visitor: Visitor, table: str, **fields: str) -> Any:
    return visitor.send(f"{TABLE}/{table}/row", key="", **fields)


@pytest.mark.parametrize(
    ("table", "label", "one"),
    [
        ("pantests", "Pan tests", "New pan test"),
        ("buckets", "Bucket tests", "New bucket test"),
    ],
)
def test_both_stand_among_the_tables(
    small: Visitor, table: str, label: str, one: str
) -> None:
    page = words_of(small.read(f"{TABLE}/{table}").text)
    assert label in page
    assert one in page
    assert label in words_of(small.wait_for(TABLE).text)


def test_a_pan_test_counts_for_the_recovery(small: Visitor) -> None:
    answer = add(small, "pantests", by="Ann", size_class="all", put_in="50", found="45")
    assert answer.status_code in {200, 303}, answer.text
    tests = log_of(small).pantests
    assert (tests[0].number, tests[0].found) == (1, 45)
    assert learn_recoveries(("all",), tests)["all"].tested == 50


def test_more_grains_than_were_put_in_are_told(small: Visitor) -> None:
    answer = add(small, "pantests", size_class="all", put_in="10", found="12")
    assert answer.status_code == 422
    assert "12 grains were found of 10" in answer.text
    assert log_of(small).pantests == ()


def test_a_bucket_test_gives_swell_and_pan(small: Visitor) -> None:
    """40 l of hole fill 50 l of buckets, ten pans: swell 25 %, 5 l a pan."""
    fields = {"bank_m3": "40", "bank_m3__unit": "l", "loose_m3": "50"}
    answer = add(small, "buckets", **fields, loose_m3__unit="l", pans="10")
    assert answer.status_code in {200, 303}, answer.text
    log = log_of(small)
    basis = measure_basis(log.ground, log.buckets)
    assert basis.swell == pytest.approx(0.25)
    assert basis.bank_per_pan_m3 == pytest.approx(0.004)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"pans": "10"}, "Two of the three"),
        ({"bank_m3": "40", "loose_m3": "30"}, "more room than the hole"),
    ],
)
def test_half_a_bucket_test_is_told(
    small: Visitor, fields: dict[str, str], told: str
) -> None:
    answer = add(small, "buckets", **fields)
    assert answer.status_code == 422
    assert told in answer.text
    assert log_of(small).buckets == ()


def test_the_first_dig_says_that_finds_never_enter_a_grade(visitor: Visitor) -> None:
    answer = visitor.send("/new", name="Upper bar")
    page = words_of(visitor.read(f"{answer.headers['location']}/sample").text)
    assert "never enters a grade per volume" in page


def test_the_table_of_samples_says_so_too(small: Visitor) -> None:
    assert "they enter no grade" in words_of(small.read(f"{TABLE}/samples").text)
