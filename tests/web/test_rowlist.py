"""Rows are listed with what is odd about them, and by pages."""

from pennyweight.errors import Finding
from pennyweight.records import Dig, Log, Sample
from pennyweight.web.columns import DIGS, SAMPLES
from pennyweight.web.rowlist import doubts_by_row, list_rows, units_of
from pennyweight.web.strip import look_over, unwashed
from tests.web.conftest import small_log

ODD = Finding("dig A, layer 2", "it is odd", "Look again.", "doubt")


def test_a_doubt_is_found_by_the_dig_that_it_names() -> None:
    rows = (Dig(dig="A"), Dig(dig="AB"))
    assert doubts_by_row("digs", rows, [ODD]) == {'["A"]': [ODD]}
    assert doubts_by_row("days", rows, [ODD]) == {}


def test_doubtful_rows_are_picked_out() -> None:
    log = Log(digs=(Dig(dig="A"), Dig(dig="B")))
    found = list_rows(log, DIGS, {}, findings=[ODD], only="doubtful")
    assert [row.key for row in found.rows] == ['["A"]']
    assert found.rows[0].doubts == (ODD,)


def test_digs_without_a_place_are_picked_out() -> None:
    log = Log(digs=(Dig(dig="A", easting_m=1.0, northing_m=1.0), Dig(dig="B")))
    found = list_rows(log, DIGS, {}, only="unplaced")
    assert [row.key for row in found.rows] == ['["B"]']


def test_duplicates_and_blanks_are_picked_out() -> None:
    log = Log(
        samples=(
            Sample(sample="a", dig="A"),
            Sample(sample="b", dig="A", duplicate_of="a"),
            Sample(sample="c", dig="A", blank=True),
        )
    )
    found = list_rows(log, SAMPLES, {}, only="duplicates")
    assert [row.key for row in found.rows] == ['["b"]', '["c"]']


def test_a_long_table_comes_by_pages() -> None:
    log = Log(digs=tuple(Dig(dig=f"D{number}") for number in range(700)))
    first = list_rows(log, DIGS, {})
    last = list_rows(log, DIGS, {}, first=600)
    assert (len(first.rows), first.found, first.of) == (300, 700, 700)
    assert len(last.rows) == 100


def test_units_are_chosen_only_among_those_offered() -> None:
    assert units_of(DIGS, {"bottom_m": "ft"})["bottom_m"] == "ft"
    assert units_of(DIGS, {"bottom_m": "parsec"})["bottom_m"] == "m"


def test_not_washed_is_neither_counted_nor_weighed() -> None:
    log = small_log()
    assert unwashed(log) == {"late"}
    strip = look_over(log, "book", None)
    assert (strip.digs, strip.samples, strip.to_wash) == (9, 10, 1)
    assert look_over(Log(), "book", None).ground == "book"
