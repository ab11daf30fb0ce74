"""One pan is written in a few taps, and redraws the wall, the map and the next digs."""

import pytest

from pennyweight.records import Dig, Log, Sample
from pennyweight.units import FEET_AND_YARDS, METRIC
from pennyweight.web.onepan import Cut, name_sample, offer_digs, read_pan
from tests.web.conftest import Visitor, words_of

PAGE = "/book/small/next/pan"
DAY = "2026-07-04"

LOG = Log(
    digs=(
        Dig(dig="A", bottom_m=0.9, typed={"bottom_ft": "2.95"}),
        Dig(dig="B"),
    ),
    samples=(
        Sample(sample="A-a", dig="A", top_m=0.2, bottom_m=0.5, pans=2.0),
        Sample(sample="A-b", dig="A", top_m=0.5, bottom_m=0.9, pans=2.0),
    ),
)


def log_of(visitor: Visitor) -> Log:
    log: Log = visitor.app.state.shelf.desk("small").log
    return log


def test_the_dig_that_was_washed_last_is_offered_first() -> None:
    first, second = offer_digs(LOG)
    assert (first.dig, second.dig) == ("A", "B")
    assert first.again == Cut(0.5, 0.9)
    assert first.below.top_m == 0.9
    assert first.below.bottom_m == pytest.approx(1.3)
    assert second.again == Cut(0.0, 0.3048)


def test_a_sample_gets_the_next_free_letter() -> None:
    assert name_sample(LOG, "A") == "A-c"
    full = Log(samples=tuple(Sample(sample=f"A-{c}", dig="A") for c in "abcdefghijklm"))
    assert name_sample(full, "A") == "A-n"
    letters = [chr(code) for code in range(ord("a"), ord("z") + 1)]
    full = Log(samples=tuple(Sample(sample=f"A-{c}", dig="A") for c in letters))
    assert name_sample(full, "A") == "A-p0"


def test_gravel_below_the_dig_makes_it_deeper() -> None:
    form = {"dig": "A", "where": "below", "pans": "1", "colors": "3"}
    pan = read_pan(form, LOG, METRIC, today=DAY)
    assert not pan.errors
    sample, tally, dig = (change.now for change in pan.changes)
    assert isinstance(sample, Sample)
    assert (sample.sample, sample.pans, sample.date) == ("A-c", 1.0, DAY)
    assert tally.colors == 3  # type: ignore[union-attr]
    assert isinstance(dig, Dig)
    assert dig.bottom_m == pytest.approx(1.3)
    assert dig.typed == {}


def test_depths_are_typed_in_the_readers_unit() -> None:
    form = {"dig": "B", "where": "typed", "top": "1", "bottom": "2", "pans": "1"}
    pan = read_pan(form | {"colors": "0"}, LOG, FEET_AND_YARDS, today=DAY)
    sample = pan.changes[0].now
    assert isinstance(sample, Sample)
    assert (sample.top_m, sample.bottom_m) == pytest.approx((0.3048, 0.6096))


@pytest.mark.parametrize(
    ("changed", "field", "told"),
    [
        ({"dig": "C"}, "dig", "Choose the dig"),
        ({"colors": ""}, "colors", "0 if there was none"),
        ({"colors": "2.5"}, "colors", "no whole number"),
        ({"colors": "-1"}, "colors", "not taken"),
        ({"pans": "0"}, "pans", "not taken"),
        ({"where": "typed", "top": "2", "bottom": "1"}, "bottom", "goes nowhere"),
        ({"where": "typed", "top": "deep", "bottom": "1"}, "top", "no number"),
        ({"where": ""}, "where", "how deep"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(
    changed: dict[str, str], field: str, told: str
) -> None:
    form = {"dig": "A", "where": "again", "pans": "1", "colors": "3"} | changed
    pan = read_pan(form, LOG, METRIC, today=DAY)
    assert told in pan.errors[field]
    assert pan.changes == []


def test_a_kept_pan_is_graded_and_the_next_digs_follow(small: Visitor) -> None:
    before = len(log_of(small).samples)
    sent = small.send(PAGE, dig="T2-2", where="again", pans="1", colors="9")
    assert sent.status_code == 303
    assert len(log_of(small).samples) == before + 1
    page = small.wait_for(sent.headers["location"]).text
    assert page.count('role="img"') == 2
    assert "T2-2-b" in words_of(page)
    assert "9 colors" in words_of(page)


def test_more_than_ten_and_another_dig_are_taken(small: Visitor) -> None:
    small.send(
        PAGE, dig="T3-3", other="T1-1", where="again", pans="2", colors="4", more="31"
    )
    (sample,) = [one for one in log_of(small).samples if one.sample == "T1-1-b"]
    assert sample.dig == "T1-1"
    (tally,) = [one for one in log_of(small).tallies if one.sample == "T1-1-b"]
    assert tally.colors == 31


def test_a_wrong_pan_stays_on_the_page_as_typed(small: Visitor) -> None:
    answer = small.send(PAGE, dig="T2-2", where="again", pans="none", colors="3")
    assert answer.status_code == 422
    assert 'value="none"' in answer.text
    assert "no number" in words_of(answer.text)


def test_a_stranger_s_sample_is_not_found(small: Visitor) -> None:
    assert small.wait_for(f"{PAGE}?kept=nobody").status_code == 404


def test_an_empty_book_begins_with_its_first_dig(visitor: Visitor) -> None:
    visitor.send("/new", name="Empty Creek")
    answer = visitor.client.get("/book/empty-creek/next/pan", follow_redirects=False)
    assert answer.status_code == 303
