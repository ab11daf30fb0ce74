"""A book keeps what it is told, refuses what cannot be, and counts versions."""

import datetime
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from pennyweight.book.book import Book, create_book, open_book
from pennyweight.book.changes import Change, putting, putting_all, removing, renaming
from pennyweight.book.rows import name_of
from pennyweight.errors import CallError, ConflictError, RefusedError
from pennyweight.records import (
    KEYS,
    Attachment,
    Dig,
    Grain,
    Ground,
    Layer,
    Log,
    Rock,
    Sample,
    Tally,
    Weighing,
)

ANN = {"who": "Ann", "why": "typed in camp"}


def small_log() -> Log:
    """Return two digs with what belongs to them."""
    return Log(
        ground=Ground(name="Invented Creek", log_id="log-1", costs={"fixed": 200}),
        digs=(Dig(dig="T1", line="1", easting_m=10.0), Dig(dig="T2", peg="T1")),
        layers=(Layer(dig="T1", top_m=0.0, bottom_m=0.6, typed={"top_ft": "0"}),),
        samples=(
            Sample(sample="S1", dig="T1", pans=4.0, extra={"moon": "full"}),
            Sample(sample="S2", dig="T1", blank=True, duplicate_of="S1"),
            Sample(sample="S3", dig="T2"),
        ),
        tallies=(Tally(sample="S1", size_class="all", colors=0),),
        weighings=(Weighing(weighing="W1", samples=("S1", "S3"), weighed_mg=12.5),),
        grains=(Grain(sample="S1", number=1, long_mm=0.8),),
        rocks=(Rock(number=1, dig="T1", imbricated=False),),
        attachments=(photo(b"light"),),
    )


def photo(content: bytes, dig: str | None = "T1") -> Attachment:
    """Return an attachment of this content."""
    return Attachment(
        file="bank.jpg",
        kind="photo",
        media_type="image/jpeg",
        sha256=sha256(content).hexdigest(),
        content=content,
        dig=dig,
    )


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Open a book that holds the small log."""
    with create_book(tmp_path / "creek.book") as book:
        book.write(putting_all(small_log()), **ANN)
        yield book


def test_a_book_gives_back_the_log_that_was_written(book: Book) -> None:
    assert book.log() == small_log()


def test_a_closed_book_is_one_file_and_opens_with_the_same_log(book: Book) -> None:
    book.close()
    assert [path.name for path in book.path.parent.iterdir()] == ["creek.book"]
    with open_book(book.path, read_only=True) as again:
        assert again.log() == small_log()


def test_writing_the_same_again_makes_no_batch(book: Book) -> None:
    before = book.revision
    assert book.write(putting_all(small_log()), **ANN) is None
    assert book.revision == before


def test_every_write_changes_the_revision(book: Book) -> None:
    before = book.revision
    batch = book.write([putting("digs", Dig(dig="T3"))], **ANN)
    assert book.revision == batch != before


def test_a_change_based_on_an_older_version_is_refused_and_loses_nothing(
    book: Book,
) -> None:
    kept = book.find("digs", ("T1",))
    assert kept is not None
    mine, theirs = Dig(dig="T1", note="mine"), Dig(dig="T1", note="theirs")
    book.write([putting("digs", theirs, based_on=kept.version)], **ANN)
    with pytest.raises(
        ConflictError, match="dig T1: found 'version 2'; expected version 1"
    ):
        book.write([putting("digs", mine, based_on=kept.version)], **ANN)
    assert book.log().digs[0] == theirs


def test_a_new_record_may_demand_that_its_name_is_free(book: Book) -> None:
    with pytest.raises(ConflictError, match="dig T1: found 'version 1'; expected no "):
        book.write([putting("digs", Dig(dig="T1"), based_on=0)], **ANN)


def test_a_change_of_a_removed_record_is_refused(book: Book) -> None:
    book.write(removing(book.log(), "digs", ("T2",)), **ANN)
    with pytest.raises(ConflictError, match="nothing, it has been removed"):
        book.write([putting("digs", Dig(dig="T2"), based_on=1)], **ANN)


def test_one_name_twice_in_a_batch_is_refused(book: Book) -> None:
    twice = [putting("digs", Dig(dig="T9")), putting("digs", Dig(dig="T9", line="2"))]
    with pytest.raises(ConflictError, match="the same name twice"):
        book.write(twice, **ANN)


def test_a_new_name_that_is_taken_is_refused(book: Book) -> None:
    with pytest.raises(ConflictError, match="a name that is there already"):
        book.write([Change(table="digs", key=("T2",), now=Dig(dig="T1"))], **ANN)
    assert book.log() == small_log()


def test_a_sample_of_no_dig_is_refused_and_nothing_is_written(book: Book) -> None:
    stray = Sample(sample="S8", dig="T8")
    changes = [putting("digs", Dig(dig="T7")), putting("samples", stray)]
    with pytest.raises(RefusedError, match="samples column dig: found 'T8'"):
        book.write(changes, **ANN)
    assert book.log() == small_log()


def test_a_weighing_of_an_absent_sample_is_refused(book: Book) -> None:
    weighing = Weighing(weighing="W2", samples=("S9",), weighed_mg=1.0)
    with pytest.raises(RefusedError, match="weighing W2 column samples: found 'S9'"):
        book.write([putting("weighings", weighing)], **ANN)


def test_a_dig_alone_is_not_removed_from_under_its_samples(book: Book) -> None:
    with pytest.raises(RefusedError, match="found 'T1'"):
        book.write([Change(table="digs", key=("T1",), now=None)], **ANN)


def test_removing_a_dig_takes_along_all_that_belongs_to_it(book: Book) -> None:
    book.write(removing(book.log(), "digs", ("T1",)), **ANN)
    left = book.log()
    assert [dig.dig for dig in left.digs] == ["T2"]
    assert left.weighings[0].samples == ("S3",)
    assert left == Log(
        ground=left.ground,
        digs=left.digs,
        samples=small_log().samples[2:],
        weighings=left.weighings,
    )


def test_removing_the_last_sample_of_a_weighing_removes_the_weighing(
    book: Book,
) -> None:
    for sample in ("S1", "S3"):
        book.write(removing(book.log(), "samples", (sample,)), **ANN)
    assert book.log().weighings == ()


def test_removing_one_tally_leaves_its_sample(book: Book) -> None:
    book.write(removing(book.log(), "tallies", ("S1", "all")), **ANN)
    assert not book.log().tallies
    assert len(book.log().samples) == 3


def test_renaming_a_dig_renames_it_wherever_it_is_named(book: Book) -> None:
    book.write(renaming(book.log(), "digs", old="T1", new="A1"), **ANN)
    log = book.log()
    assert [dig.dig for dig in log.digs] == ["A1", "T2"]
    assert log.digs[1].peg == log.layers[0].dig == log.rocks[0].dig == "A1"
    assert [one.dig for one in log.samples] == ["A1", "A1", "T2"]


def test_renaming_a_sample_renames_it_wherever_it_is_named(book: Book) -> None:
    book.write(renaming(book.log(), "samples", old="S1", new="A"), **ANN)
    log = book.log()
    assert log.weighings[0].samples == ("A", "S3")
    assert log.tallies[0].sample == log.grains[0].sample == "A"
    assert log.samples[1].duplicate_of == "A"


def test_two_tops_that_no_tape_tells_apart_are_one_layer(book: Book) -> None:
    book.write([putting("layers", Layer(dig="T1", top_m=1e-5, bottom_m=0.7))], **ANN)
    assert [layer.bottom_m for layer in book.log().layers] == [0.7]


def test_a_number_that_is_not_finite_is_refused_by_name(book: Book) -> None:
    with pytest.raises(ValueError, match="dig T3: elevation_m is nan"):
        book.write([putting("digs", Dig(dig="T3", elevation_m=float("nan")))], **ANN)


def test_a_file_whose_content_is_not_what_it_says_is_refused(book: Book) -> None:
    wrong = replace(photo(b"light"), file="x.jpg", sha256="00")
    with pytest.raises(ValueError, match=r"file x\.jpg: sha256 is 00"):
        book.write([putting("attachments", wrong)], **ANN)


def test_a_date_in_the_table_of_costs_is_kept_as_text(book: Book) -> None:
    costs = {"since": datetime.date(2026, 7, 1), "per_hour": 38}
    book.write([putting("ground", Ground(costs=costs))], **ANN)
    assert book.log().ground.costs == {"since": "2026-07-01", "per_hour": 38}


def test_what_is_neither_text_nor_number_is_refused(book: Book) -> None:
    with pytest.raises(TypeError, match=r"\{1\} is a set; a book keeps text and numb"):
        book.write([putting("ground", Ground(costs={"odd": {1}}))], **ANN)


@pytest.mark.parametrize(
    ("table", "key", "name"),
    [
        ("ground", (), "the ground"),
        ("layers", ("T1", 0.6), "dig T1, layer from 0.60 m"),
        ("days", ("2026-07-01", None), "day 2026-07-01"),
        ("days", ("2026-07-01", "Ann"), "day 2026-07-01 of Ann"),
        ("pantests", (2,), "pan test 2"),
    ],
)
def test_records_are_named_as_the_user_names_them(
    table: str, key: tuple[object, ...], name: str
) -> None:
    assert name_of(table, key) == name


def test_versions_count_the_changes_of_each_record(book: Book) -> None:
    book.write([putting("digs", Dig(dig="T2", line="2"))], **ANN)
    assert book.versions("digs") == {("T1",): 1, ("T2",): 2}


def test_a_ground_of_no_log_speaks_for_this_book(tmp_path: Path) -> None:
    with create_book(tmp_path / "new.book", "Upper bar") as book:
        assert book.name == "Upper bar"
        assert book.log() == Log(ground=Ground(log_id=book.id))


def test_no_record_does_anything_when_it_is_made() -> None:
    """Records are put together slot by slot, which would pass such a thing over."""
    assert not any(hasattr(kind, "__post_init__") for kind, _ in KEYS.values())


def test_a_book_is_never_made_over_another_file(tmp_path: Path) -> None:
    (tmp_path / "creek.book").write_text("mine")
    with pytest.raises(CallError, match="already there"):
        create_book(tmp_path / "creek.book")
    assert (tmp_path / "creek.book").read_text() == "mine"


def test_a_book_needs_a_folder(tmp_path: Path) -> None:
    with pytest.raises(CallError, match="There is no folder"):
        create_book(tmp_path / "nowhere" / "creek.book")
