"""A streak keeps its letter on the page when the record changes."""

from pathlib import Path

from pennyweight.answers.trace import trace_streaks
from pennyweight.book.book import create_book
from pennyweight.book.changes import putting, putting_all
from pennyweight.records import Dig
from pennyweight.web.desk import Desk
from tests.answers.test_trace_streaks import merging_log


def test_the_desk_hands_on_what_streaks_were_called(tmp_path: Path) -> None:
    path = tmp_path / "creek.pennyweight"
    with create_book(path, "Invented Creek") as book:
        book.write(putting_all(merging_log()), who="test", why="set-up")
    desk = Desk(path)
    try:
        first = desk.reading()
        before = trace_streaks(first)
        dig = Dig(dig="far", line="L9", easting_m=140.0, northing_m=0.0)
        desk.book.write([putting("digs", dig)], who="test", why="another dig")
        second = desk.reading()
        assert second.former is first
        assert [one.id for one in second.former_streaks()] == [
            one.id for one in before.streaks
        ]
        dig = Dig(dig="farther", line="L9", easting_m=150.0, northing_m=0.0)
        desk.book.write([putting("digs", dig)], who="test", why="and another")
        # Nobody traced the second reading: the first one's names are handed on.
        assert desk.reading().former is first
    finally:
        desk.close()
