"""The first page lists the books, begins one, brings one in, sets one aside."""

from pathlib import Path

import pytest

from pennyweight.book.book import create_book, open_book
from pennyweight.web.app import make_app
from pennyweight.web.shelf import Shelf, books_folder, file_stem
from tests.web.conftest import HERE, Visitor, put_small_book, words_of


def test_an_empty_shelf_says_how_to_begin(visitor: Visitor) -> None:
    assert "Begin your first book" in visitor.read("/").text


def test_a_new_book_leads_to_the_first_dig(visitor: Visitor, shelf: Path) -> None:
    answer = visitor.send("/new", name="Río Frío, upper bar")
    assert answer.headers["location"] == "/book/rio-frio-upper-bar/first"
    with open_book(shelf / "rio-frio-upper-bar.book", read_only=True) as book:
        assert book.log().ground.name == "Río Frío, upper bar"


def test_two_grounds_of_one_name_are_two_books(visitor: Visitor) -> None:
    visitor.send("/new", name="Bar")
    assert visitor.send("/new", name="Bar").headers["location"] == "/book/bar-2/first"


def test_a_ground_without_a_name_is_told(visitor: Visitor) -> None:
    answer = visitor.send("/new", name="  ")
    assert answer.status_code == 422
    assert "name is empty" in answer.text


def test_the_list_says_what_is_in_each_book(small: Visitor) -> None:
    words = words_of(small.read("/").text)
    assert "Small Creek (invented) 9 digs, 10 samples, 1 still to wash" in words


def test_a_book_that_cannot_be_opened_says_why(visitor: Visitor, shelf: Path) -> None:
    shelf.mkdir()
    (shelf / "torn.book").write_bytes(b"no database at all" * 100)
    page = visitor.read("/")
    assert page.status_code == 200
    assert "torn" in page.text


def test_a_book_from_elsewhere_is_put_on_the_shelf(
    visitor: Visitor, tmp_path: Path
) -> None:
    path = put_small_book(tmp_path / "elsewhere")
    answer = visitor.client.post(
        "/bring-in",
        data={"token": visitor.app.state.token},
        files={"file": ("x.book", path.read_bytes())},
        headers={"Origin": HERE},
        follow_redirects=False,
    )
    assert answer.headers["location"] == "/book/small-creek/seen"


def test_a_file_that_is_no_book_is_told(visitor: Visitor, shelf: Path) -> None:
    answer = visitor.client.post(
        "/bring-in",
        data={"token": visitor.app.state.token},
        files={"file": ("x.book", b"something else")},
        headers={"Origin": HERE},
    )
    assert answer.status_code >= 400
    assert list(shelf.glob("*.book")) == []


def test_one_book_alone_is_opened_at_once(shelf: Path) -> None:
    path = put_small_book(shelf)
    create_book(shelf / "other.book", "Other").close()
    somebody = Visitor(make_app(only=path))
    with somebody.client:
        answer = somebody.client.get("/", follow_redirects=False)
        assert answer.headers["location"] == "/book/small"
        assert somebody.read("/book/other/take").status_code == 404


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Upper bar", "upper-bar"),
        ("../../etc", "etc"),
        ("川", "ground"),
        ("A" * 99, "a" * 60),
    ],
)
def test_a_name_becomes_a_file_name_that_any_disk_takes(name: str, stem: str) -> None:
    assert file_stem(name) == stem


def test_the_folder_of_books_can_be_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PENNYWEIGHT_BOOKS", str(tmp_path))
    assert books_folder() == tmp_path
    monkeypatch.delenv("PENNYWEIGHT_BOOKS")
    assert books_folder() == Path.home() / "pennyweight"


def test_units_and_light_are_remembered(small: Visitor) -> None:
    answer = small.send("/settings", units="feet", back="/book/small/take")
    assert answer.headers["location"] == "/book/small/take"
    assert "units=feet" in answer.headers["set-cookie"]
    small.send("/settings", light="night", back="/")
    page = small.read("/reckon").text
    assert 'data-light="night"' in page
    assert "feet" in page


def test_a_choice_never_leads_to_another_site(small: Visitor) -> None:
    for back in ("//evil.example/x", "http://evil.example/x", "\\\\evil.example"):
        location = small.send("/settings", back=back).headers["location"]
        assert location in ("/", "/x")


def test_a_copy_is_set_aside_and_opened_again(small: Visitor, shelf: Path) -> None:
    assert small.send("/book/small/take/backup").status_code == 303
    (copy,) = Shelf(shelf).backups(shelf / "small.book")
    assert "backed up" in words_of(small.read("/book/small/take").text)
    answer = small.send("/book/small/take/restore", copy=copy.file)
    slug = answer.headers["location"].split("/")[2]
    assert slug.startswith("small-as-of-")
    assert slug in small.read("/").text


def test_a_copy_that_is_not_there_is_told(small: Visitor) -> None:
    answer = small.send("/book/small/take/restore", copy="../small.book")
    assert answer.status_code == 404


def test_the_book_itself_can_be_carried_away(small: Visitor, tmp_path: Path) -> None:
    answer = small.send("/book/small/take/copy")
    (tmp_path / "carried.book").write_bytes(answer.content)
    with open_book(tmp_path / "carried.book", read_only=True) as book:
        assert len(book.log().digs) == 9
